"""Placement against the pads of the netlist: the side a part sits on, and where it stands."""

from collections.abc import Iterable
from math import hypot
from statistics import median
from typing import NamedTuple

from reworkkit.compute.list_audit.common import folded, in_order, listing, over
from reworkkit.compute.list_audit.sources import Copper, copper_of
from reworkkit.compute.list_audit.values import limit
from reworkkit.model.board import Board
from reworkkit.model.messages import Finding, message
from reworkkit.model.netlist import Placement
from reworkkit.model.vocabulary import Severity, Side


class _Match(NamedTuple):
    """One part with placement and pads: the middle of its pads, half their diagonal, in millimetres."""

    placement: Placement
    x_mm: float
    y_mm: float
    reach_mm: float

    @property
    def offset(self) -> tuple[float, float]:
        return self.placement.x_mm - self.x_mm, self.placement.y_mm - self.y_mm


def audit_positions(board: Board) -> list[Finding]:
    """Return the findings about sides and positions that placement and netlist state differently."""
    copper = copper_of(board)
    if not board.placements or not copper.pads:
        return []
    return [*_sides(board, copper), *_places(board, copper)]


def _sides(board: Board, copper: Copper) -> Iterable[Finding]:
    wrong = []
    for ref, placement in board.placements.items():
        sides = {pad.side for pad in copper.pads.get(ref, ()) if pad.drill_mm is None}
        if len(sides) == 1 and Side.BOTH not in sides and placement.side not in sides:
            wrong.append((placement, next(iter(sides))))
    compared = sum(ref in copper.pads for ref in board.placements)
    if wrong and len(wrong) > compared / 2 and len(wrong) > 2:
        said = message("sides-all-swapped", count=len(wrong), compared=compared)
        yield over(said, Severity.CHECK, [p.ref for p, _ in wrong], [wrong[0][0].where])
    elif wrong:
        text = folded([(p.ref, f"{p.side.value} / {side.value}") for p, side in wrong])
        said = message("side-differs", parts=text, count=len(wrong))
        yield over(said, Severity.CHECK, [p.ref for p, _ in wrong], [p.where for p, _ in wrong])


def _places(board: Board, copper: Copper) -> Iterable[Finding]:
    """Parts outside their own pads, once the files' two origins are brought together by the median offset."""
    matches = [match for ref in board.placements if (match := _match(board.placements[ref], copper)) is not None]
    if len(matches) < 3:
        return
    below = [match for match in matches if match.placement.side is Side.BOTTOM]
    if mirrored := len(below) > 2 and _is_mirrored(below):
        said = message("bottom-mirrored", count=len(below))
        yield over(said, Severity.CHECK, [m.placement.ref for m in below], [below[0].placement.where])
    rest = [match for match in matches if match.placement.side is Side.TOP] if mirrored else matches
    yield from _outside(rest)


def _outside(matches: list[_Match]) -> Iterable[Finding]:
    if not matches:
        return
    dx, dy = (median(values) for values in zip(*(match.offset for match in matches), strict=True))
    outside = []
    for match in matches:
        away = hypot(match.offset[0] - dx, match.offset[1] - dy)
        if away > match.reach_mm + limit("placement_outside_mm"):
            outside.append((match.placement, away))
    if len(outside) > max(2.0, limit("placement_outside_share") * len(matches)):
        said = message("positions-do-not-agree", count=len(outside), compared=len(matches))
        yield over(said, Severity.CHECK, (), [outside[0][0].where])
    elif outside:
        text = listing(f"{p.ref} ({away:.1f} mm)" for p, away in outside)
        said = message("position-differs", parts=text, count=len(outside))
        yield over(said, Severity.CHECK, in_order(p.ref for p, _ in outside), [p.where for p, _ in outside])


def _match(placement: Placement, copper: Copper) -> _Match | None:
    pads = copper.pads.get(placement.ref)
    if not pads:
        return None
    xs, ys = [pad.x_mm for pad in pads], [pad.y_mm for pad in pads]
    reach = hypot(max(xs) - min(xs), max(ys) - min(ys)) / 2
    return _Match(placement, (max(xs) + min(xs)) / 2, (max(ys) + min(ys)) / 2, reach)


def _is_mirrored(below: list[_Match]) -> bool:
    """Bottom parts whose x runs the other way than their pads' (seen from below): the sum is steady, not the gap."""
    gaps = [match.placement.x_mm - match.x_mm for match in below]
    sums = [match.placement.x_mm + match.x_mm for match in below]
    return _spread(sums) < 2.0 < _spread(gaps)


def _spread(values: list[float]) -> float:
    middle = median(values)
    return median(abs(value - middle) for value in values)
