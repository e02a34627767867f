"""The way of the power: the nets a supply reaches, and the parts on and at that way."""

from typing import NamedTuple

from reworkkit.model.designator import natural_key
from reworkkit.model.results import Circuit, Element

_PASSING = ("fuse", "inductor", "link", "diode", "schottky", "mosfet_p", "mosfet_n")
_MAKING = ("regulator", "converter", "boost", "isolated")
GUARDING = ("capacitor_polarised", "zener", "tvs", "tvs_two_way")


class Way(NamedTuple):
    """The nets a supply reaches through passing parts and regulators, and the parts on and at that way."""

    nets: frozenset[str]
    refs: tuple[str, ...]


def parts_on_the_way(circuit: Circuit, supply: str | None) -> Way:
    """Return the way of the power: fuses, series diodes, coils and regulators in turn, and what guards those nets.

    From a supply below ground the current comes back through the diodes the other way.
    """
    nets = {supply} if supply else set()
    below = any(
        e.kind == "supply" and e.ref == supply and (e.parameters["volts"].nominal or 0.0) < 0 for e in circuit.elements
    )
    refs: set[str] = set()
    waiting = [e for e in circuit.elements if e.kind in _PASSING + _MAKING]
    grew = True
    while grew:
        grew = False
        for element in waiting:
            onward = _onward(element, nets, circuit.ground, below=below)
            if onward - nets or (onward and element.ref not in refs):
                nets |= onward
                refs.add(element.ref)
                grew = True
    for element in circuit.elements:
        if element.kind in GUARDING and set(element.nodes) & nets and circuit.ground in element.nodes:
            refs.add(element.ref)
    return Way(frozenset(nets), tuple(sorted(refs - nets, key=natural_key)))


def _onward(element: Element, nets: set[str], ground: str | None, *, below: bool) -> set[str]:
    """Return the nets that power reaches through an element from the nets reached so far."""
    if element.kind in _MAKING:
        outputs = element.nodes[2:] if element.kind == "isolated" else (element.nodes[1], element.nodes[3])
        reached = set(outputs) if element.nodes[0] in nets else set()
    elif element.kind in ("diode", "schottky"):
        first, last = element.nodes[::-1] if below else element.nodes
        reached = {last} if first in nets else set()
    elif element.kind.startswith("mosfet"):
        ends = {element.nodes[0], element.nodes[2]}
        reached = ends if ends & nets and element.kind == "mosfet_p" else set()
    else:
        reached = set(element.nodes) if set(element.nodes) & nets else set()
    return reached - {ground} if ground not in element.nodes or element.kind in _MAKING else set()
