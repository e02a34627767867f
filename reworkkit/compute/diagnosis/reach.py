"""Which nets have a level of their own, and what carries a level on."""

from collections.abc import Sequence

from reworkkit.compute.formulas.closure import closure
from reworkkit.compute.formulas.network.template import is_wound
from reworkkit.model.board import Board
from reworkkit.model.results import Circuit, Element

THROUGH = frozenset(("resistor", "inner", "inductor", "fuse", "link", "diode", "schottky", "led"))
"""Elements that carry a level on from one end to the other."""


def touched(board: Board) -> frozenset[str]:
    """Return what a probe can touch as board.toml says: points, rails, supplies; nothing where it names no point."""
    if not board.facts.points:
        return frozenset()
    return frozenset((*board.facts.points.values(), *board.facts.rails, *board.facts.supplies))


def fixed_nets(circuit: Circuit) -> set[str]:
    """Return ground, the rails and the nets of the supplies."""
    return {e.nodes[0] for e in circuit.elements if e.kind in ("rail", "supply")} | {circuit.ground or ""}


MOSFETS = frozenset(("mosfet_n", "mosfet_p"))
_STIFF = frozenset(("fuse", "link"))
_ONE_WAY = frozenset(("diode", "schottky"))
_GIVING = frozenset(("regulator", "converter", "boost"))


def _is_stiff(element: Element) -> bool:
    return element.kind in _STIFF or is_wound(element)


def firm_nets(elements: Sequence[Element], ground: str) -> set[str]:
    """Return the nets that nothing small moves: the fixed ones, outputs of regulators and bricks, and what these feed.

    They feed through fuses, links, coils of few ohms, and the diodes that lead from them, those in MOSFETs too.
    """
    fixed = {e.nodes[0] for e in elements if e.kind in ("rail", "supply")} | {ground}
    made = {e.nodes[1] for e in elements if e.kind in _GIVING}
    made |= {node for e in elements if e.kind == "isolated" for node in e.nodes[2:]} - {ground}
    above = [e for e in elements if ground not in e.nodes]
    ways = [e.nodes[:2] for e in above if e.kind in _ONE_WAY or _is_stiff(e)]
    ways += [e.nodes[1::-1] for e in above if _is_stiff(e)]
    ways += [e.nodes[:: 2 if e.kind == "mosfet_p" else -2] for e in above if e.kind in MOSFETS]
    return fixed | closure(fixed - {ground} | made, lambda near: {other for one, other in ways if one in near})


def fed_by_one(circuit: Circuit) -> dict[str, set[str]]:
    """Return for each supply the nets beyond it that it alone reaches, through resistors, junctions and regulators."""
    supplies = {e.nodes[0] for e in circuit.elements if e.kind == "supply"}
    ends = supplies | {circuit.ground or ""}
    ways = [set(e.nodes[:2]) for e in circuit.elements if e.kind in THROUGH or e.kind in _GIVING]

    def beyond(near: set[str]) -> set[str]:
        return {node for way in ways if way & near for node in way} - ends

    reached = {net: closure(beyond({net}), beyond) for net in supplies}
    return {
        net: own.difference(*(far for other, far in reached.items() if other != net)) for net, own in reached.items()
    }
