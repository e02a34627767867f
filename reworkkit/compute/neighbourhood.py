"""What stands near each part: what gets warm with it, whose joints it hides, and its region of the board."""

import math
from collections.abc import Mapping
from itertools import pairwise
from typing import NamedTuple

from reworkkit.model.board import Board, seen_from
from reworkkit.model.designator import natural_key
from reworkkit.model.messages import Finding, message
from reworkkit.model.part import Part
from reworkkit.model.results import HeatDemand, Neighbourhood
from reworkkit.model.vocabulary import Fit, Severity, Side
from reworkkit.tables import cell_number, rows_with, source

HOT_AIR_MM = 10.0
"""Round the body of a part that needs hot air: common practice, no source."""
FLOWS_C = 180.0
"""A neighbour's joints may move from here on."""
ACCESS_SLOPE = 1.0
"""A body this much higher than it is far away keeps an iron off (45 degrees, common practice)."""
REACH_MM = 25.0
LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"
FIELDS_ALONG, SMALLEST_FIELD_MM, LARGEST_FIELD_MM = 8, 10.0, 25.0


class _Body(NamedTuple):
    ref: str
    side: Side
    x_mm: float
    y_mm: float
    half_x_mm: float
    half_y_mm: float
    height_mm: float
    points: tuple[tuple[float, float], ...]


def neighbourhoods(board: Board, demands: Mapping[str, HeatDemand] | None = None) -> dict[str, Neighbourhood]:
    """Return the neighbourhood of every placed part; `demands` is the joint of each part that asks most;
    without it nothing is named hot.

    `hot` names parts whose joints reach 180 C, and heat-sensitive ones that pass their own limit, with the computed
    temperature of the board there at the end of the dwell (an upper bound for the body).
    """
    bodies = _bodies(board)
    grid = _Zones.of(board, bodies)
    near = _near(bodies)
    found = {}
    for ref, body in bodies.items():
        hot = _hot(board, body, (demands or {}).get(ref), near[ref])
        hides = tuple(other.ref for other, _ in near[ref] if _hides(body, other))
        found[ref] = Neighbourhood(ref, hot, hides, grid.zone(body))
    return found


def warm_findings(board: Board, found: dict[str, Neighbourhood]) -> tuple[Finding, ...]:
    """Return a note for every heat-sensitive part that a neighbour's soldering warms past its limit."""
    notes = []
    for ref in sorted(found, key=natural_key):
        for other, peak_c in found[ref].hot:
            limit = sensitive_limit(board, board.parts[other])
            if limit is not None and peak_c >= limit:
                text = message("heat-warms-neighbour", ref=ref, other=other, peak=round(peak_c, -1), limit=limit)
                notes.append(Finding(text, Severity.NOTE, (ref, other), source=source("practice")))
    return tuple(notes)


def sensitive_limit(board: Board, part: Part) -> float | None:
    """Return how warm the body [C] of a heat-sensitive part may get: board.toml, else the kind's row, else None."""
    said = board.facts.parts.get(part.ref)
    if said is not None and said.body_limit is not None:
        return float(said.body_limit.value)
    words = part.identity.kind.replace("_", " ").lower().split()
    limits = [
        cell_number("heat_limits", row, "body_c")
        for row in rows_with("heat_limits", board.own_tables)
        if row["rule"] == "kind" and row["body_c"] and all(word in words for word in row["subject"].split())
    ]
    return min(limits) if limits else None


def _bodies(board: Board) -> dict[str, _Body]:
    lands: dict[str, list[tuple[float, float]]] = {}
    for pin in board.pins.values():
        lands.setdefault(pin.ref, []).extend((pad.x_mm, pad.y_mm) for pad in pin.pads)
    found = {}
    for ref, part in board.parts.items():
        if part.fit is not Fit.NOT_A_PART and (body := _body(board, part, lands.get(ref, []))) is not None:
            found[ref] = body
    return found


def _body(board: Board, part: Part, lands: list[tuple[float, float]]) -> _Body | None:
    placed, package = board.placements.get(part.ref), part.identity.package
    if placed is not None:
        side, x, y = placed.side, placed.x_mm, placed.y_mm
    elif lands:
        side = Side.TOP
        x, y = (sum(p[axis] for p in lands) / len(lands) for axis in (0, 1))
    else:
        return None
    half_x, half_y = (package.length_mm / 2, package.width_mm / 2) if package else (0.0, 0.0)
    if placed is not None and round(placed.rotation_deg / 90) % 2:
        half_x, half_y = half_y, half_x
    said = board.facts.parts.get(part.ref)
    height = float(said.height.value) if said and said.height else package.height_mm if package else 0.0
    return _Body(part.ref, side, x, y, half_x, half_y, height, tuple(lands) or ((x, y),))


def _near(bodies: dict[str, _Body]) -> dict[str, tuple[tuple[_Body, float], ...]]:
    """Return for every body the others within reach and the distance between their joints, by natural order."""
    cells: dict[tuple[int, int], list[_Body]] = {}
    for body in bodies.values():
        cells.setdefault((int(body.x_mm // REACH_MM), int(body.y_mm // REACH_MM)), []).append(body)
    found = {}
    for ref, body in bodies.items():
        column, row = int(body.x_mm // REACH_MM), int(body.y_mm // REACH_MM)
        around = [o for i in (-1, 0, 1) for j in (-1, 0, 1) for o in cells.get((column + i, row + j), ())]
        pairs = [(other, _between(body, other)) for other in around if other is not body]
        found[ref] = tuple(sorted((p for p in pairs if p[1] <= REACH_MM), key=lambda p: natural_key(p[0].ref)))
    return found


def _between(one: _Body, other: _Body) -> float:
    return min(math.dist(a, b) for a in one.points for b in other.points)


def _hot(
    board: Board, body: _Body, demand: HeatDemand | None, near: tuple[tuple[_Body, float], ...]
) -> tuple[tuple[str, float], ...]:
    if demand is None or not demand.warms_mm_c:
        return ()
    air = demand.remedy is not None and demand.remedy.slug == "heat-remedy-hidden"
    centre = _heated(board, body, demand)
    found = []
    for other, _ in near:
        distance = min(math.dist(centre, point) for point in other.points)
        peak = _warm(demand.warms_mm_c, distance)
        limit = sensitive_limit(board, board.parts[other.ref])
        blown = air and other.side is body.side and _gap(body, other) <= HOT_AIR_MM
        if blown or peak >= min(FLOWS_C, limit if limit is not None else FLOWS_C):
            found.append((other.ref, max(peak, FLOWS_C) if blown else peak))
    return tuple(found)


def _heated(board: Board, body: _Body, demand: HeatDemand) -> tuple[float, float]:
    """Return the middle of the land that asks most: the largest of its pin."""
    pin = board.pins.get((body.ref, demand.pin or ""))
    if pin is None or not pin.pads:
        return body.x_mm, body.y_mm
    largest = max(pin.pads, key=lambda pad: pad.width_mm * max(pad.height_mm, pad.width_mm / 2))
    return largest.x_mm, largest.y_mm


def _warm(profile: tuple[tuple[float, float], ...], distance: float) -> float:
    """Return the temperature at a distance, straight between the distances computed, falling beyond the last."""
    if distance <= profile[0][0]:
        return profile[0][1]
    for (a, warm_a), (b, warm_b) in pairwise(profile):
        if distance <= b:
            return warm_a + (warm_b - warm_a) * (distance - a) / (b - a)
    return profile[-1][1]


def _gap(one: _Body, other: _Body) -> float:
    """Return the clear distance [mm] between two bodies, 0 where they overlap."""
    across = max(abs(one.x_mm - other.x_mm) - one.half_x_mm - other.half_x_mm, 0.0)
    along = max(abs(one.y_mm - other.y_mm) - one.half_y_mm - other.half_y_mm, 0.0)
    return math.hypot(across, along)


def _hides(body: _Body, other: _Body) -> bool:
    """A body hides joints that lie under it, or so close beside it that an iron cannot lean in."""
    if body.side is not other.side or body.height_mm <= other.height_mm:
        return False
    for x, y in other.points:
        across = max(abs(x - body.x_mm) - body.half_x_mm, 0.0)
        along = max(abs(y - body.y_mm) - body.half_y_mm, 0.0)
        if math.hypot(across, along) * ACCESS_SLOPE < min(body.height_mm, 3.0) * 0.5:
            return True
    return False


class _Zones(NamedTuple):
    """Zones as on a drawing sheet: figures from the left, letters from the top, as seen from the part's side."""

    left: float
    bottom: float
    right: float
    top: float

    @classmethod
    def of(cls, board: Board, bodies: dict[str, _Body]) -> "_Zones":
        """Return the zones of a board by its outline, or else by its parts."""
        points = list(board.outline) or [(b.x_mm, b.y_mm) for b in bodies.values()] or [(0.0, 0.0)]
        xs, ys = [x for x, _ in points], [y for _, y in points]
        return cls(min(xs), min(ys), max(xs), max(ys))

    def zone(self, body: _Body) -> str:
        """Return the zone of a part, figure first."""
        width, height = self.right - self.left, self.top - self.bottom
        field = min(max(max(width, height) / FIELDS_ALONG, SMALLEST_FIELD_MM), LARGEST_FIELD_MM)
        columns, lines = max(1, round(width / field)), max(1, round(height / field))
        x, _ = seen_from(body.side, body.x_mm, body.y_mm)
        left, _ = seen_from(body.side, self.left if body.side is Side.TOP else self.right, 0.0)
        column = _share(x - left, width, columns)
        line = _share(self.top - body.y_mm, height, lines)
        return f"{column + 1}{_letter(line)}"


def _share(distance: float, whole: float, parts: int) -> int:
    return min(max(int(distance / whole * parts), 0), parts - 1) if whole > 0 else 0


def _letter(row: int) -> str:
    rounds, letter = divmod(row, len(LETTERS))
    return (_letter(rounds - 1) if rounds else "") + LETTERS[letter]
