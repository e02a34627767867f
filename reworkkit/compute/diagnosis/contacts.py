"""Contacts: which stand as nobody knows, and how they fail."""

from collections.abc import Collection, Iterator, Sequence
from typing import TYPE_CHECKING

from reworkkit.compute.diagnosis.comparators import Deciding
from reworkkit.compute.diagnosis.reach import THROUGH, firm_nets
from reworkkit.compute.formulas.closure import closure
from reworkkit.compute.formulas.network.template import Template, steering_of
from reworkkit.model.results import INNER, Circuit, Element

if TYPE_CHECKING:
    from reworkkit.compute.diagnosis.hypotheses import Maker
    from reworkkit.compute.diagnosis.hypothesis import Hypothesis

_STEERED = frozenset(("npn", "pnp", "mosfet_n", "mosfet_p"))
"""Transistors: their second node steers the other two."""
_THROUGH = THROUGH | {"zener", "inner_diode"}


def undecided(
    circuit: Circuit, known: Sequence[Deciding], fitted: frozenset[str] | None = None, held: Collection[str] = ()
) -> frozenset[str]:
    """Return the nets at contacts that a chip of unknown level, a plug or a part of unknown behaviour may move.

    `known` are the outputs that follow their inputs. From each coil, lamp or gate of a thyristor the way goes through
    resistors, junctions and transistors towards what steers them, no further than ground and what is fed firmly. With
    them the returns of isolated sides that nothing joins to ground: where those float nobody knows.
    """
    floating = frozenset(node for e in circuit.elements if e.kind == "floating" for node in e.nodes)
    steered = [e for e in circuit.elements if e.kind in ("contact", "thyristor", "thyristor_p")]
    if not steered:
        return floating
    firm = firm_nets(circuit.elements, circuit.ground or "")
    open_ = _open_ends(circuit, known, fitted, held)
    loose = [e for e in steered if _way_back(circuit, e, firm) & open_]
    return floating | frozenset(node for e in loose for node in _switched(e) if not node.endswith(INNER)) - firm


def _switched(element: Element) -> tuple[str, ...]:
    return element.nodes if element.kind == "contact" else element.nodes[:3:2]


def _open_ends(
    circuit: Circuit, known: Sequence[Deciding], fitted: frozenset[str] | None, held: Collection[str]
) -> set[str]:
    """Return the nets that something of unknown level may hold; what is not `fitted` holds none."""
    decided = {(one.ref, one.out) for one in known}
    own = {(e.ref, node) for e in circuit.elements if e.kind not in ("unmodelled", "external") for node in e.nodes}
    there = [e for e in circuit.elements if fitted is None or e.ref in fitted]
    found = {e.nodes[0] for e in there if e.kind == "driver" and (e.ref, e.nodes[0]) not in decided}
    strange = (e for e in there if e.kind in ("unmodelled", "external"))
    stated = {node for e in circuit.elements if e.kind in ("load", "inductor") and not e.ref for node in e.nodes}
    told = ((e, node) for e in strange for node in e.nodes if not (e.kind == "external" and node in stated))
    return (found | {node for e, node in told if (e.ref, node) not in own}).difference(held)


def _way_back(circuit: Circuit, one: Element, held: set[str]) -> set[str]:
    mine = (e for e in circuit.elements if e.ref == one.ref and e.kind in ("inductor", "led"))
    nets = {node for e in mine for node in e.nodes} if one.kind == "contact" else {one.nodes[1]}

    def onward(near: set[str]) -> set[str]:
        further: set[str] = set()
        for e in circuit.elements:
            if e.kind in _STEERED and {e.nodes[0], e.nodes[2]} & near:
                further.add(e.nodes[1])
            elif e.kind in _THROUGH and set(e.nodes) & near:
                further |= set(e.nodes)
            elif e.kind == "coupler" and set(e.nodes) & near:
                lamps = (one for one in circuit.elements if one.ref == e.ref and one.kind == "led")
                further |= {node for lamp in lamps for node in lamp.nodes}
        return further - held

    return closure(nets - held, onward)


def faults(maker: "Maker", element: Element) -> Iterator["Hypothesis"]:
    """Yield the faults of the contacts of a part: one of them welded, one of them not making.

    They are asked for at the first contact, and stand for each of them in turn.
    """
    template = maker.template
    every = [n for n, e in enumerate(template.elements) if e.kind == "contact" and e.ref == element.ref]
    if template.elements[every[0]] is not element:
        return
    nets = tuple(dict.fromkeys(node for n in every for node in template.elements[n].nodes))
    joined = [(n, template.bridge(*_ends(template, n))) for n in every]
    welded = [((column, 1 / ohm),) for _, column in joined if column is not None for ohm in _sizes(maker)]
    by_lamp = template.elements[steering_of(template, every[0])].kind == "led"
    kinds = ("out_closed", "out_open") if by_lamp else (None, None)
    yield from maker.hypothesis("contact_welded", element, nets, welded, kinds[0], continuous=False)
    dead = [((maker.column(n, "fitted"), 0.0),) for n in every]
    yield from maker.hypothesis("contact_open", element, nets, dead, kinds[1], continuous=False)


def _ends(template: Template, n: int) -> tuple[str, str]:
    one, other = template.elements[n].nodes
    return one, other


def _sizes(maker: "Maker") -> tuple[float, ...]:
    return maker.priors.row("contact_welded").sizes
