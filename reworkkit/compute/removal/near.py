"""What stands in the hot zone: by the computed warmth of the board, and by the reach of a hot-air nozzle."""

import math

from reworkkit.model.board import Board
from reworkkit.model.designator import natural_key
from reworkkit.model.removal import Neighbour
from reworkkit.model.results import Neighbourhood
from reworkkit.model.vocabulary import Side
from reworkkit.tables import rows

NOZZLE_MM = 10.0
"""Round the lands of a part that hot air takes off: common practice, no source."""


def hot_zone(board: Board, ref: str, near: Neighbourhood | None, air: bool) -> tuple[Neighbour, ...]:
    """Return the neighbours that get hot, in natural order; `air` adds all within reach of the nozzle."""
    peaks: dict[str, float | None] = dict(near.hot) if near is not None else {}
    if air:
        for other in _within(board, ref):
            peaks.setdefault(other, None)
    return tuple(Neighbour(o, peaks[o], _sensitive(board, o)) for o in sorted(peaks, key=natural_key))


def _within(board: Board, ref: str) -> list[str]:
    spots, side = _spots(board), _side(board, ref)
    own = spots.get(ref, [])
    return [
        other
        for other, theirs in spots.items()
        if other != ref
        and _side(board, other) in (side, None)
        and any(math.dist(a, b) <= NOZZLE_MM for a in own for b in theirs)
    ]


def _spots(board: Board) -> dict[str, list[tuple[float, float]]]:
    found: dict[str, list[tuple[float, float]]] = {}
    for pin in board.pins.values():
        part = board.parts.get(pin.ref)
        if part is not None and part.fit == "fit" and part.identity.kind != "test_point":
            found.setdefault(pin.ref, []).extend((pad.x_mm, pad.y_mm) for pad in pin.pads)
    return found


def _side(board: Board, ref: str) -> Side | None:
    placed = board.placements.get(ref)
    return placed.side if placed else None


def _sensitive(board: Board, ref: str) -> bool:
    said = board.facts.parts.get(ref)
    if said is not None and said.heat_sensitive is not None:
        return said.heat_sensitive
    kind = board.parts[ref].identity.kind if ref in board.parts else "unknown"
    return any(row["key"] == kind and row["heat_sensitive"] == "yes" for row in rows("part_kinds"))
