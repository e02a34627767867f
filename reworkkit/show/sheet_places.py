"""Where things are: the views of both sides, the zone of each part, and the places by region."""

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence

from reworkkit.model.board import Board, seen_from
from reworkkit.model.designator import natural_key
from reworkkit.model.difference import Difference, DifferenceItem
from reworkkit.model.netlist import Pad, Placement
from reworkkit.model.vocabulary import DiffStatus, Side
from reworkkit.show.drawings import path_of
from reworkkit.show.sheet import BoardPart, BoardView, Edge, PlaceRow, Region, Spot
from reworkkit.show.sheet_words import FITS, SIDES, STATUSES, THIRDS, Speaker, element_id, package_words
from reworkkit.show.zones import Extent, Grid, grid_for, row_letter, third_of, zone_of

REGION_OF_A_LIST = 20
CROWDED = 400
BARE_PART_MM = 1.0
MARGIN_MM = 2.0
SIDES_SEEN: tuple[Side, ...] = (Side.TOP, Side.BOTTOM)
Point = tuple[float, float]


class Places:
    """Both sides of one board as seen: grids, drawings, and the spot of every placed part."""

    def __init__(self, board: Board, difference: Difference, speaker: Speaker) -> None:
        self.board = board
        self.speaker = speaker
        self.status = {item.ref: item.status for item in difference.items}
        self.pads = pads_by_ref(board)
        self.corners = {
            ref: part_corners(board, place, self.pads.get(ref, ())) for ref, place in board.placements.items()
        }
        used = {place.side for place in board.placements.values()}
        self.grids: dict[Side, Grid] = {side: grid_for(self._extent(side)) for side in SIDES_SEEN if side in used}
        self.spots = {ref: self._spot(place) for ref, place in board.placements.items()}

    def _extent(self, side: Side) -> Extent:
        outline = [seen_from(side, x, y) for x, y in self.board.outline]
        if outline:
            return _bounds(outline, 0.0)
        return _bounds((seen_from(side, x, y) for corners in self.corners.values() for x, y in corners), MARGIN_MM)

    def _spot(self, place: Placement) -> Spot:
        grid = self.grids[place.side]
        x, y = seen_from(place.side, place.x_mm, place.y_mm)
        third = self.speaker.say(THIRDS[third_of(grid, x, y)])
        side = self.speaker.say(SIDES[place.side])
        zone = zone_of(grid, x, y)
        words = self.speaker.text("page-zone", zone=zone, side=side, third=third)
        return Spot(
            place.side.value, zone, words, *_down(grid, x, y), self.speaker.text("page-region", side=side, third=third)
        )

    def view(self, side: Side) -> BoardView:
        """Return the drawing of one side as seen by a person looking at it."""
        grid = self.grids[side]
        extent = grid.extent
        parts = tuple(
            BoardPart(
                ref, path_of(self._seen(side, self.corners[ref])), self.status.get(ref, DiffStatus.NOT_A_PART).value
            )
            for ref in sorted(self.board.placements, key=natural_key)
            if self.board.placements[ref].side is side
        )
        outline = self._seen(side, self.board.outline) or _frame(extent)
        longer = max(extent.width_mm, extent.height_mm)
        letter_mm = longer / 30
        return BoardView(
            side.value,
            self.speaker.say(SIDES[side]),
            extent.width_mm,
            extent.height_mm,
            view_box(extent, 1.8 * letter_mm),
            path_of(outline),
            grid_path(grid),
            edges(grid, letter_mm),
            parts,
            letter_mm,
            longer / 45,
            longer / 13,
            len(parts) > CROWDED,
        )

    def _seen(self, side: Side, points: Iterable[Point]) -> tuple[Point, ...]:
        grid = self.grids[side]
        return tuple(_down(grid, *seen_from(side, x, y)) for x, y in points)

    def regions(self, items: Iterable[DifferenceItem]) -> tuple[Region, ...]:
        """Return all places by region: by side and third of the board, unplaced ones in groups of natural order."""
        groups: dict[str, list[DifferenceItem]] = defaultdict(list)
        loose: list[DifferenceItem] = []
        for item in sorted(items, key=lambda item: natural_key(item.ref)):
            spot = self.spots.get(item.ref)
            (groups[spot.region] if spot else loose).append(item)
        placed = sorted(groups.items(), key=lambda group: self._region_key(group[1][0].ref))
        chunks = [loose[start : start + REGION_OF_A_LIST] for start in range(0, len(loose), REGION_OF_A_LIST)]
        named = [*placed, *((self._list_words(chunk), chunk) for chunk in chunks)]
        return tuple(
            Region(f"region-{n}", words, tuple(map(self._row, rows))) for n, (words, rows) in enumerate(named, 1)
        )

    def _region_key(self, ref: str) -> tuple[bool, int, int]:
        place = self.board.placements[ref]
        across, down = third_of(self.grids[place.side], *seen_from(place.side, place.x_mm, place.y_mm))
        return place.side is Side.BOTTOM, down, across

    def _list_words(self, chunk: list[DifferenceItem]) -> str:
        return self.speaker.text("page-region-list", first=chunk[0].ref, last=chunk[-1].ref)

    def _row(self, item: DifferenceItem) -> PlaceRow:
        spot = self.spots.get(item.ref)
        side = self.speaker.say(SIDES[Side(spot.side)]) if spot else ""
        part = self.board.parts.get(item.ref)
        return PlaceRow(
            item.ref,
            f"place-{element_id(item.ref)}",
            item.value,
            package_words(part.identity if part else None, item.package),
            item.status.value,
            self.speaker.say(STATUSES[item.status]),
            spot.zone if spot else "",
            side,
        )


def unlooked_items(board: Board) -> tuple[DifferenceItem, ...]:
    """Return one item per part of the design, for a board whose difference holds no items."""
    return tuple(
        DifferenceItem(
            ref,
            FITS[part.fit],
            part.identity.value.text,
            part.identity.package_text,
            part.identity.part_number,
            *part.where,
            "",
        )
        for ref, part in board.parts.items()
    )


def pads_by_ref(board: Board) -> dict[str, tuple[Pad, ...]]:
    """Return the pads of each part, from the netlist."""
    pads: dict[str, list[Pad]] = defaultdict(list)
    for (ref, _), pin in board.pins.items():
        pads[ref].extend(pin.pads)
    return {ref: tuple(listed) for ref, listed in pads.items()}


def part_corners(board: Board, place: Placement, known: Sequence[Pad] = ()) -> tuple[Point, ...]:
    """Return the corners of a part on the board: round its pads where known, else its body, else a small square."""
    pads = [(pad.x_mm, pad.y_mm, max(pad.width_mm, pad.height_mm) / 2) for pad in known]
    if pads:
        left, right = min(x - r for x, _, r in pads), max(x + r for x, _, r in pads)
        low, high = min(y - r for _, y, r in pads), max(y + r for _, y, r in pads)
        return (left, low), (right, low), (right, high), (left, high)
    part = board.parts.get(place.ref)
    package = part.identity.package if part else None
    across, up = (package.length_mm / 2, package.width_mm / 2) if package else (BARE_PART_MM / 2, BARE_PART_MM / 2)
    cos, sin = math.cos(math.radians(place.rotation_deg)), math.sin(math.radians(place.rotation_deg))
    return tuple(
        (place.x_mm + x * cos - y * sin, place.y_mm + x * sin + y * cos)
        for x, y in ((-across, -up), (across, -up), (across, up), (-across, up))
    )


def view_box(extent: Extent, margin_mm: float) -> str:
    """Return the view box of a drawing with a margin on all sides, in whole millimetres, never too small.

    >>> view_box(Extent(10, 10, 30, 20), 1.5)
    '-2 -2 24 14'
    """
    margin = math.ceil(margin_mm)
    return f"{-margin} {-margin} {math.ceil(extent.width_mm) + 2 * margin} {math.ceil(extent.height_mm) + 2 * margin}"


def grid_path(grid: Grid) -> str:
    """Return the zone lines of a side as path text, y downwards from the upper left corner.

    >>> grid_path(grid_for(Extent(0, 0, 20, 20)))
    'M10 0L10 20M0 10L20 10'
    """
    width, height = grid.extent.width_mm, grid.extent.height_mm
    across = (width * n / grid.columns for n in range(1, grid.columns))
    down = (height * n / grid.rows for n in range(1, grid.rows))
    lines = [((x, 0.0), (x, height)) for x in across] + [((0.0, y), (width, y)) for y in down]
    return "".join(path_of(line, closed=False) for line in lines)


def edges(grid: Grid, letter_mm: float) -> tuple[Edge, ...]:
    """Return the figures above and below and the letters left and right of a side, just outside it."""
    width, height = grid.extent.width_mm, grid.extent.height_mm
    figures = [(width * (n + 0.5) / grid.columns, str(n + 1)) for n in range(grid.columns)]
    letters = [(height * (n + 0.5) / grid.rows + letter_mm * 0.35, row_letter(n)) for n in range(grid.rows)]
    across = [Edge(x, y, text) for y in (-letter_mm * 0.45, height + letter_mm * 1.15) for x, text in figures]
    down = [Edge(x, y, text) for x in (-letter_mm * 0.85, width + letter_mm * 0.85) for y, text in letters]
    return (*across, *down)


def _down(grid: Grid, x: float, y: float) -> Point:
    return x - grid.extent.left_mm, grid.extent.top_mm - y


def _frame(extent: Extent) -> tuple[Point, ...]:
    return (0.0, 0.0), (extent.width_mm, 0.0), (extent.width_mm, extent.height_mm), (0.0, extent.height_mm)


def _bounds(points: Iterable[Point], margin_mm: float) -> Extent:
    listed = list(points)
    xs, ys = [x for x, _ in listed], [y for _, y in listed]
    return Extent(min(xs) - margin_mm, min(ys) - margin_mm, max(xs) + margin_mm, max(ys) + margin_mm)
