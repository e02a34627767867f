"""The way through a survey: regions of the board in reading order, and a second way that meets them differently."""

from collections.abc import Collection

from reworkkit.model.board import Board, seen_from
from reworkkit.model.designator import natural_key
from reworkkit.model.netlist import Placement
from reworkkit.model.survey import Region
from reworkkit.model.vocabulary import Fit, Side

GROUP_OF_A_LIST = 20
"""Places without a position are asked about in groups of so many, in natural order."""
STRIP_MM = 10.0
"""Within a region the eye goes along strips of this width (own choice)."""

Box = tuple[float, float, float, float]


def survey_routes(board: Board, leave_out: Collection[str] = ()) -> tuple[tuple[Region, ...], tuple[Region, ...]]:
    """Return the regions of the first and of the second look; both name the same places, each once.

    The first look reads a side like a page: thirds from the upper left, strips along it. The second begins at the
    other end and goes in columns, the back before the front; a place that was overlooked once gets other neighbours
    before it. What has no position comes last, in natural order, and the second time backwards.
    """
    refs = [ref for ref, part in board.parts.items() if part.fit is not Fit.NOT_A_PART and ref not in leave_out]
    refs.sort(key=natural_key)
    placed = [ref for ref in refs if ref in board.placements]
    loose = [ref for ref in refs if ref not in board.placements]
    regions = [*_placed(board, placed), *_groups(loose)]
    other_way = regions[::-1]
    other_way.sort(key=_second_key)
    return tuple(_first(board, one) for one in regions), tuple(_second(board, one) for one in other_way)


def _groups(refs: list[str]) -> list[Region]:
    chunks = [refs[start : start + GROUP_OF_A_LIST] for start in range(0, len(refs), GROUP_OF_A_LIST)]
    return [Region(None, 0, 0, tuple(chunk)) for chunk in chunks]


def _placed(board: Board, refs: list[str]) -> list[Region]:
    boxes = {side: _box(board, side) for side in (Side.TOP, Side.BOTTOM)}
    found: dict[tuple[Side, int, int], list[str]] = {}
    for ref in refs:
        place = board.placements[ref]
        left, bottom, right, top = boxes[place.side]
        x, y = _seen(place)
        found.setdefault((place.side, _third(top - y, top - bottom), _third(x - left, right - left)), []).append(ref)
    ordered = sorted(found.items(), key=lambda item: (item[0][0] is Side.BOTTOM, item[0][1], item[0][2]))
    return [Region(side, across, down, tuple(refs)) for (side, down, across), refs in ordered]


def _box(board: Board, side: Side) -> Box:
    """Return left, bottom, right and top of a side as seen: the outline, or else the positions of its parts."""
    points = [seen_from(side, x, y) for x, y in board.outline]
    points = points or [_seen(place) for place in board.placements.values() if place.side is side] or [(0.0, 0.0)]
    xs, ys = zip(*points, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def _seen(place: Placement) -> tuple[float, float]:
    return seen_from(place.side, place.x_mm, place.y_mm)


def _third(distance_mm: float, whole_mm: float) -> int:
    return min(max(int(distance_mm / whole_mm * 3), 0), 2) if whole_mm > 0 else 0


def _first(board: Board, region: Region) -> Region:
    if region.side is None:
        return region
    seen = {ref: _seen(board.placements[ref]) for ref in region.refs}
    refs = sorted(region.refs, key=lambda ref: (-(seen[ref][1] // STRIP_MM), seen[ref][0], natural_key(ref)))
    return region._replace(refs=tuple(refs))


def _second(board: Board, region: Region) -> Region:
    if region.side is None:
        return region._replace(refs=region.refs[::-1])
    seen = {ref: _seen(board.placements[ref]) for ref in region.refs}
    refs = sorted(region.refs, key=lambda ref: (-(seen[ref][0] // STRIP_MM), seen[ref][1], natural_key(ref)))
    return region._replace(refs=tuple(refs))


def _second_key(region: Region) -> tuple[bool, bool, int, int]:
    """The back first, then columns of thirds from the right, each from below; what has no position last."""
    return region.side is None, region.side is Side.TOP, -region.across, -region.down
