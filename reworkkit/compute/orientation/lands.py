"""Which land of a part a note means: a direction, the pads and where other things stand give one pin, or none."""

import math
from collections.abc import Iterable, Iterator

from reworkkit.compute.orientation.notes import OrientationNote, Toward
from reworkkit.model.board import Board, seen_from
from reworkkit.model.netlist import Pin, Placement
from reworkkit.model.vocabulary import Side

Spot = tuple[float, float]

_OFF_AXIS = 0.5
"""Cosine of 60 degrees: a direction counts when it lies within 60 degrees of the line between two pads (ours)."""

_DIAGONAL = math.sqrt(0.5)
COMPASS: dict[str, Spot] = {
    "n": (0.0, 1.0),
    "e": (1.0, 0.0),
    "s": (0.0, -1.0),
    "w": (-1.0, 0.0),
    "ne": (_DIAGONAL, _DIAGONAL),
    "se": (_DIAGONAL, -_DIAGONAL),
    "sw": (-_DIAGONAL, -_DIAGONAL),
    "nw": (-_DIAGONAL, _DIAGONAL),
}
"""Unit vectors as seen by a person who looks at the side the part sits on, up being north."""


class Lands:
    """The pins of a board by part, and where things stand."""

    def __init__(self, board: Board) -> None:
        self.board = board
        self.by_ref: dict[str, list[Pin]] = {}
        for pin in board.pins.values():
            self.by_ref.setdefault(pin.ref, []).append(pin)

    def pins(self, ref: str) -> list[Pin]:
        """Return the pins of a part, empty without a netlist."""
        return self.by_ref.get(ref, [])

    def meant(self, ref: str, note: OrientationNote) -> Pin | None:
        """Return the pin of `ref` that a note points at, or None where netlist and placement do not tell.

        A net the part is on once wins over geometry; a name stands where its placement or its pads say.
        """
        pins = self.pins(ref)
        match note.toward:
            case Toward.PAD:
                return _only(pin for pin in pins if note.target in (pin.number, pin.name))
            case Toward.NET:
                return self._on_net(pins, note.target) or self._nearest(pins, self._spot_of(note.target))
            case Toward.REF:
                return self._at_point(pins, note.target) or self._nearest(pins, self._spot_of(note.target))
            case Toward.REF_PIN:
                return self._nearest(pins, self._spot_of_pin(note.target))
            case Toward.COMPASS:
                return self._furthest(ref, pins, COMPASS[note.target])
            case _:
                return None

    def _on_net(self, pins: list[Pin], net: str) -> Pin | None:
        return _only(pin for pin in pins if pin.net == net)

    def _at_point(self, pins: list[Pin], name: str) -> Pin | None:
        """Return the pin on the net of a named point of board.toml or of a place with one net, such as a test point."""
        named = self.board.facts.points.get(name)
        nets = {named} if named else {pin.net for pin in self.pins(name)}
        net = next(iter(nets)) if len(nets) == 1 else None
        return self._on_net(pins, net) if net else None

    def _spot_of(self, name: str) -> Spot | None:
        if place := self.board.placements.get(name):
            return place.x_mm, place.y_mm
        return _middle(spot for pin in self.pins(name) if (spot := spot_of_pin(pin)))

    def _spot_of_pin(self, text: str) -> Spot | None:
        ref, _, number = text.rpartition(".")
        pin = self.board.pins.get((ref, number))
        return spot_of_pin(pin) if pin else self._spot_of(ref)

    def _nearest(self, pins: list[Pin], target: Spot | None) -> Pin | None:
        """Return the pin clearly nearest to a spot; distances need no mirror."""
        spots = _spots(pins)
        if target is None or len(spots) < 2:
            return None
        return _clear_winner({pin: -math.dist(spot, target) for pin, spot in spots.items()}, spots)

    def _furthest(self, ref: str, pins: list[Pin], towards: Spot) -> Pin | None:
        """Return the pin clearly furthest in a direction, as seen from the part's side of the board."""
        place = self.board.placements.get(ref)
        side = place.side if place else _side_of(pins)
        spots = _spots(pins)
        if side is None or len(spots) < 2:
            return None
        seen = {pin: seen_from(side, *spot) for pin, spot in spots.items()}
        return _clear_winner({pin: x * towards[0] + y * towards[1] for pin, (x, y) in seen.items()}, spots)


def spot_of_pin(pin: Pin) -> Spot | None:
    """Return the middle of a pin's pads, or None where it has none."""
    return _middle((pad.x_mm, pad.y_mm) for pad in pin.pads)


class Neighbours:
    """Placed parts in cells of 10 mm a side, so that the nearest one is found without looking at all."""

    def __init__(self, placements: Iterable[Placement]) -> None:
        self.cells: dict[tuple[Side, int, int], list[Placement]] = {}
        for place in placements:
            self.cells.setdefault(_cell(place), []).append(place)

    def nearest(self, here: Placement) -> str | None:
        """Return the part nearest to `here` on the same side, within some 50 mm; None where there is none."""
        for reach in range(1, 6):
            away = {one.ref: _apart(one, here) for one in self._around(here, reach) if one.ref != here.ref}
            if away and (reach == 5 or min(away.values()) <= 10 * reach):
                return min(away, key=lambda ref: (away[ref], ref))
        return None

    def _around(self, here: Placement, reach: int) -> Iterator[Placement]:
        side, column, row = _cell(here)
        for x in range(column - reach, column + reach + 1):
            for y in range(row - reach, row + reach + 1):
                yield from self.cells.get((side, x, y), ())


def _apart(one: Placement, other: Placement) -> float:
    return math.hypot(one.x_mm - other.x_mm, one.y_mm - other.y_mm)


def _cell(place: Placement) -> tuple[Side, int, int]:
    return place.side, int(place.x_mm // 10), int(place.y_mm // 10)


def opposite(first: str, second: str) -> bool:
    """Return whether two compass points are more than a right angle apart.

    >>> opposite("n", "s"), opposite("n", "ne"), opposite("n", "e")
    (True, False, False)
    """
    (ax, ay), (bx, by) = COMPASS[first], COMPASS[second]
    return ax * bx + ay * by < -1e-9


def _side_of(pins: list[Pin]) -> Side | None:
    """Return the side of the board a part without placement must sit on: that of its surface pads."""
    sides = {pad.side for pin in pins for pad in pin.pads if pad.drill_mm is None} - {Side.BOTH}
    return next(iter(sides)) if len(sides) == 1 else None


def _spots(pins: list[Pin]) -> dict[Pin, Spot]:
    return {pin: spot for pin in pins if (spot := spot_of_pin(pin))}


def _middle(spots: Iterable[Spot]) -> Spot | None:
    all_spots = list(spots)
    if not all_spots:
        return None
    return sum(x for x, _ in all_spots) / len(all_spots), sum(y for _, y in all_spots) / len(all_spots)


def _only(pins: Iterable[Pin]) -> Pin | None:
    found = list(pins)
    return found[0] if len(found) == 1 else None


def _clear_winner(score: dict[Pin, float], spots: dict[Pin, Spot]) -> Pin | None:
    """Return the pin with the highest score in mm, if it leads the next by half the distance between the two."""
    first, second = sorted(score, key=lambda pin: -score[pin])[:2]
    lead = score[first] - score[second]
    apart = math.dist(spots[first], spots[second])
    return first if apart and lead >= _OFF_AXIS * apart else None
