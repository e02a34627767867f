"""What a hold point needs where board.toml names nothing: the parts between the supplies and the rails they reach."""

from collections.abc import Iterable
from dataclasses import replace

from reworkkit.compute.power_up.feeding import is_alternating, supplies_of
from reworkkit.compute.power_up.points import points_of
from reworkkit.compute.power_up.way import GUARDING, parts_on_the_way
from reworkkit.model.board import Board
from reworkkit.model.designator import natural_key
from reworkkit.model.results import Circuit, HoldOutline
from reworkkit.model.values import Source
from reworkkit.model.vocabulary import Honesty

_POWER_KINDS = frozenset(
    ("linear_regulator", "switching_regulator", "mosfet", "common_mode_choke", "module", "diode", "diode_schottky")
)


def with_needs(outlines: tuple[HoldOutline, ...], board: Board, circuit: Circuit) -> tuple[HoldOutline, ...]:
    """Return the outlines, those without needs given the parts on the way from their supplies; the source says so."""
    found = []
    for outline in outlines:
        if outline.needs or not circuit.elements:
            found.append(outline)
            continue
        supplies = supplies_of(board, circuit, outline)
        refs = {*_on_the_way(board, circuit, supplies), *_at_points(board, circuit, outline, supplies)}
        needs = tuple(sorted(refs - set(outline.protects), key=natural_key))
        found.append(replace(outline, needs=needs, source=Source("computed", "way of the power", Honesty.DERIVED)))
    return tuple(found)


def _on_the_way(board: Board, circuit: Circuit, supplies: tuple[str, ...]) -> Iterable[str]:
    """Yield the parts on the way of the power; those of unknown behaviour that belong to it as well."""
    for net in supplies:
        if not is_alternating(board, net):
            way = parts_on_the_way(circuit, net)
            yield from (ref for ref in way.refs if ref in board.parts)
            for e in circuit.elements:
                power = e.ref in board.parts and board.parts[e.ref].identity.kind in _POWER_KINDS
                if e.kind == "unmodelled" and power and way.nets & set(e.nodes):
                    yield e.ref


def _at_points(board: Board, circuit: Circuit, outline: HoldOutline, supplies: tuple[str, ...]) -> Iterable[str]:
    """Yield the polarised and guarding parts at the measured rails: they stand under power there, whatever feeds it."""
    later = frozenset(board.parts) - frozenset(outline.protects)
    nets = {net for _, net in points_of(board, circuit, outline, supplies, later)} if not outline.measure else set()
    for e in circuit.elements:
        if e.kind in GUARDING and set(e.nodes) & nets and circuit.ground in e.nodes and e.ref in board.parts:
            yield e.ref
