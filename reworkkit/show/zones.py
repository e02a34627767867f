"""Zones of a board side: figures from left to right, letters from the top down, as on an engineering drawing sheet.

Lettering after ISO 5457 (drawing sheets: letters downwards, numerals from left to right, I and O left out), from
memory. The standard's 50 mm fields are too coarse for a board, so the field length is our own choice. A zone is
written figure first ("4C"), because C4 is a capacitor.
"""

from dataclasses import dataclass
from typing import NamedTuple

LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"
FIELDS_ALONG = 8
SMALLEST_FIELD_MM = 10.0
LARGEST_FIELD_MM = 25.0


class Extent(NamedTuple):
    """A rectangle in millimetres as seen by a person looking at one side; y points up."""

    left_mm: float
    bottom_mm: float
    right_mm: float
    top_mm: float

    @property
    def width_mm(self) -> float:
        """Return the width in millimetres."""
        return self.right_mm - self.left_mm

    @property
    def height_mm(self) -> float:
        """Return the height in millimetres."""
        return self.top_mm - self.bottom_mm


@dataclass(frozen=True, slots=True)
class Grid:
    """The zones of one side as seen: `columns` figures along the edge, `rows` letters down it."""

    extent: Extent
    columns: int
    rows: int


def row_letter(row: int) -> str:
    """Return the letter of a row counted from 0 at the top; I and O do not exist, AA follows Z.

    >>> [row_letter(row) for row in (0, 7, 8, 12, 13, 23, 24)]
    ['A', 'H', 'J', 'N', 'P', 'Z', 'AA']
    """
    rounds, letter = divmod(row, len(LETTERS))
    return (row_letter(rounds - 1) if rounds else "") + LETTERS[letter]


def grid_for(extent: Extent) -> Grid:
    """Return about eight near-square fields along the longer edge, each 10 to 25 mm.

    >>> grid = grid_for(Extent(0, 0, 80, 60))
    >>> grid.columns, grid.rows
    (8, 6)
    """
    longer_mm = max(extent.width_mm, extent.height_mm)
    field_mm = min(max(longer_mm / FIELDS_ALONG, SMALLEST_FIELD_MM), LARGEST_FIELD_MM)
    return Grid(extent, max(1, round(extent.width_mm / field_mm)), max(1, round(extent.height_mm / field_mm)))


def zone_of(grid: Grid, x_mm: float, y_mm: float) -> str:
    """Return the zone of a point as seen from the side of the grid; a point outside takes the nearest zone.

    >>> zone_of(grid_for(Extent(0, 0, 80, 60)), 35.0, 39.0)
    '4C'
    """
    across = _share(x_mm - grid.extent.left_mm, grid.extent.width_mm, grid.columns)
    down = _share(grid.extent.top_mm - y_mm, grid.extent.height_mm, grid.rows)
    return f"{across + 1}{row_letter(down)}"


def third_of(grid: Grid, x_mm: float, y_mm: float) -> tuple[int, int]:
    """Return (across, down), each 0 to 2: in which third of the side a point lies.

    >>> third_of(grid_for(Extent(0, 0, 80, 60)), 5.0, 5.0)
    (0, 2)
    """
    across = _share(x_mm - grid.extent.left_mm, grid.extent.width_mm, 3)
    return across, _share(grid.extent.top_mm - y_mm, grid.extent.height_mm, 3)


def _share(distance: float, whole: float, parts: int) -> int:
    if whole <= 0:
        return 0
    return min(max(int(distance / whole * parts), 0), parts - 1)
