"""Lands of different nets so close together that solder can bridge them."""

import math
from collections.abc import Iterator

from reworkkit.model.board import Board
from reworkkit.model.designator import natural_key
from reworkkit.model.netlist import Pad, Pin
from reworkkit.model.vocabulary import Side

_CELL_MM = 4.0


def close_lands(board: Board, gap_mm: float) -> tuple[tuple[str, str, str], ...]:
    """Return (net, net, where) for lands of two nets with less than `gap_mm` between them, one place per pair of nets.

    Without pad positions, pins next to each other of one part stand for them.
    """
    placed = [(pin, pad) for pin in board.pins.values() if pin.net for pad in pin.pads]
    found: dict[tuple[str, str], str] = {}
    for one, other in _neighbours(placed, gap_mm) if placed else _next_pins(board):
        if one.net and other.net and one.net != other.net:
            low, high = sorted((one, other), key=lambda pin: natural_key(pin.net or ""))
            found.setdefault((low.net or "", high.net or ""), f"{low.ref}.{low.number} to {high.ref}.{high.number}")
    return tuple((*nets, where) for nets, where in sorted(found.items(), key=lambda item: natural_key(item[0][0])))


def _neighbours(placed: list[tuple[Pin, Pad]], gap_mm: float) -> Iterator[tuple[Pin, Pin]]:
    cells: dict[tuple[int, int], list[tuple[Pin, Pad]]] = {}
    for pin, pad in placed:
        width, height = _box(pad)
        for x in range(_cell(pad.x_mm - width - gap_mm), _cell(pad.x_mm + width + gap_mm) + 1):
            for y in range(_cell(pad.y_mm - height - gap_mm), _cell(pad.y_mm + height + gap_mm) + 1):
                for other, other_pad in cells.get((x, y), ()):
                    if other.net != pin.net and _gap(pad, other_pad) < gap_mm and _one_side(pad, other_pad):
                        yield pin, other
                cells.setdefault((x, y), []).append((pin, pad))


def _cell(mm: float) -> int:
    return math.floor(mm / _CELL_MM)


def _box(pad: Pad) -> tuple[float, float]:
    """Return half the width and half the height of the upright box round a pad."""
    turn = math.radians(pad.rotation_deg)
    along, across = abs(math.cos(turn)), abs(math.sin(turn))
    return (pad.width_mm * along + pad.height_mm * across) / 2, (pad.width_mm * across + pad.height_mm * along) / 2


def _gap(one: Pad, other: Pad) -> float:
    (width, height), (other_width, other_height) = _box(one), _box(other)
    x = abs(one.x_mm - other.x_mm) - width - other_width
    y = abs(one.y_mm - other.y_mm) - height - other_height
    return math.hypot(max(x, 0.0), max(y, 0.0))


def _one_side(one: Pad, other: Pad) -> bool:
    return one.side == other.side or Side.BOTH in (one.side, other.side)


def _next_pins(board: Board) -> Iterator[tuple[Pin, Pin]]:
    for (ref, number), pin in board.pins.items():
        after = board.pins.get((ref, str(int(number) + 1))) if number.isdigit() else None
        if after:
            yield pin, after
