"""Two gates, each at an input of the other: a latch that their other inputs set and clear."""

from collections.abc import Iterator, Sequence

from reworkkit.compute.circuit.figures import exact
from reworkkit.model.results import Element

_PLAIN = frozenset(("invert", "at_least", "pulls_up"))
_NAND, _NOR = 0.0, 1.0
"""How many inputs must be high: 0 stands for all."""


def cross_coupled(elements: Sequence[Element]) -> list[Element]:
    """Return the elements with the rules of latches in place of gates that hold each other.

    A NAND is high while one of its own other inputs is low, else low while one of its partner's is; a NOR the other
    way round. Where no input decides, the latch stays as it was.
    """
    gates = [e for e in elements if e.kind == "gate" and set(e.parameters) == _PLAIN and _figure(e, "invert")]
    partners = {id(one): other for one in gates if (other := _partner(one, gates))}
    return [rule for e in elements for rule in (_rules(e, partners[id(e)]) if id(e) in partners else (e,))]


def _partner(one: Element, gates: Sequence[Element]) -> Element | None:
    """Return the only gate of the same form that has the output of one among its inputs, and the other way round."""
    found = [e for e in gates if e is not one and _holds(e, one) and _holds(one, e) and _form(e) == _form(one)]
    return found[0] if len(found) == 1 and _form(one) in (_NAND, _NOR) else None


def _holds(one: Element, other: Element) -> bool:
    return one.nodes[0] in other.nodes[1:]


def _form(gate: Element) -> float:
    return _figure(gate, "at_least")


def _figure(element: Element, name: str) -> float:
    return element.parameters[name].nominal or 0.0


def _rules(one: Element, other: Element) -> Iterator[Element]:
    """Yield the rules of one output: its own inputs come first, as they force it whatever its partner does."""
    out, active = one.nodes[0], 1.0 if _form(one) == _NOR else -1.0
    for gate, drives in ((one, active < 0), (other, active > 0)):
        for net in gate.nodes[1:]:
            if net not in (out, other.nodes[0]):
                figures = {"drives": exact(float(drives), "1"), "level1": exact(active, "1")}
                yield Element("rule", one.ref, (out, net), {**figures, "pulls_up": one.parameters["pulls_up"]})
