"""How a part lies on its lands: which way a pad is from the middle, in words, and the part's picture turned so."""

import math
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from reworkkit.model.board import Board, seen_from
from reworkkit.model.netlist import Pad
from reworkkit.model.results import OrientationVerdict
from reworkkit.model.vocabulary import PolarityVerdict, Side
from reworkkit.show.drawings import Disc, Outline, Picture, Piece, number
from reworkkit.show.sheet import Edge, Way
from reworkkit.show.sheet_words import DIRECTIONS, Speaker

Angles = Mapping[tuple[str, str], float]
"""(ref, pin) -> where the pad lies from the middle of the part's other pads, as seen: 0 = right, 90 = up [deg]."""

NOT_FROM_ABOVE = frozenset({"to220", "to247", "sensor4", "block"})
"""Pictures of the printed face of a standing part, or of nothing known: they cannot lie on a land."""

SIGNS = {"plus": "+", "minus": "−", "anode": "A", "cathode": "K"}
FARTHEST_OFF_DEG = 30.0
"""A chip whose pin 1 lies further off than this from every quarter turn of its picture is not drawn turned."""


class Anchor(NamedTuple):
    """One end of a part: its role and the pin the circuit wants there."""

    role: str
    pin: str


def pad_angles(board: Board, refs: Sequence[str]) -> dict[tuple[str, str], float]:
    """Return for each pin of the parts named where its pad lies from the middle of the others [deg]."""
    wanted = set(refs)
    pins: dict[str, dict[str, tuple[Pad, ...]]] = {}
    for (ref, pin_number), pin in board.pins.items():
        if ref in wanted and pin.pads:
            pins.setdefault(ref, {})[pin_number] = pin.pads
    return {
        (ref, pin_number): angle
        for ref, numbered in pins.items()
        if ref in board.placements
        for pin_number, angle in _angles(board.placements[ref].side, numbered).items()
    }


def _angles(side: Side, pins: Mapping[str, tuple[Pad, ...]]) -> dict[str, float]:
    middles = {pin: _middle(side, pads) for pin, pads in pins.items()}
    found: dict[str, float] = {}
    for pin, (x, y) in middles.items():
        others = [middle for other, middle in middles.items() if other != pin]
        if not others:
            continue
        away_x = x - sum(ox for ox, _ in others) / len(others)
        away_y = y - sum(oy for _, oy in others) / len(others)
        if math.hypot(away_x, away_y) > 0:
            found[pin] = math.degrees(math.atan2(away_y, away_x))
    return found


def _middle(side: Side, pads: tuple[Pad, ...]) -> tuple[float, float]:
    x = sum(pad.x_mm for pad in pads) / len(pads)
    return seen_from(side, x, sum(pad.y_mm for pad in pads) / len(pads))


def direction_words(angle_deg: float, speaker: Speaker) -> str:
    """Return a direction as seen, in words."""
    return speaker.say(DIRECTIONS[eighth_of_turn(angle_deg)])


def eighth_of_turn(angle_deg: float) -> int:
    """Return the nearest eighth of a turn of a direction, counted from the right, counter-clockwise.

    >>> eighth_of_turn(0), eighth_of_turn(90), eighth_of_turn(-178), eighth_of_turn(-45)
    (0, 2, 4, 7)
    """
    return round(angle_deg / 45) % 8


def has_marked_end(verdict: OrientationVerdict) -> bool:
    """Return whether the mark can be relied on and the circuit says where its end goes."""
    mark = verdict.mark
    return mark is not None and mark.reliable and _marked(verdict) is not None


def _marked(verdict: OrientationVerdict) -> Anchor | None:
    needs = verdict.needs
    terminal = verdict.mark.terminal if verdict.mark else ""
    if terminal in needs:
        return Anchor(terminal, needs[terminal][0])
    if "pin_1" in needs:
        return Anchor("pin_1", needs["pin_1"][0])
    if terminal == "pin_1" and any(pin == "1" for pin, _ in needs.values()):
        return Anchor("pin_1", "1")
    return None


def may_lie(verdict: OrientationVerdict | None, shape: str) -> bool:
    """Return whether a part may be drawn as it must lie: the papers do not contradict, and it is seen from above."""
    if verdict is None or not verdict.needs or shape in NOT_FROM_ABOVE:
        return False
    return verdict.verdict not in {PolarityVerdict.NOT_POLARISED, PolarityVerdict.CONTRADICTS}


def lying(key: str, picture: Picture, verdict: OrientationVerdict, angles: Angles) -> Way | None:
    """Return the part as it must lie on its lands, its ends named; None where the lands do not tell.

    A part whose mark is not reliable comes without the mark in its picture: then only the lands are named.
    """
    ends = [Anchor(role, pin) for role, (pin, _) in verdict.needs.items() if role in SIGNS]
    first = _marked(verdict)
    if first is None and len(ends) == 2:
        first = ends[0]
    if first is None or (verdict.ref, first.pin) not in angles:
        return None
    two_ended = first.role in SIGNS and len(ends) == 2
    turn = _turn(picture, angles[verdict.ref, first.pin], two_ended)
    if turn is None:
        return None
    others = [end for end in ends if two_ended and end.pin != first.pin]
    return _drawn(key, picture, turn, SIGNS.get(first.role, "1"), *(SIGNS[end.role] for end in others))


def _turn(picture: Picture, angle_deg: float, two_ended: bool) -> int | None:
    """Return by how much the picture is turned, clockwise as SVG counts [deg]."""
    x, y = _from_middle(picture)
    own = math.degrees(math.atan2(-y, x))
    step = 45 if two_ended else 90
    turn = round((angle_deg - own) / step) * step
    off = (angle_deg - own - turn + 180) % 360 - 180
    return None if not two_ended and abs(off) > FARTHEST_OFF_DEG else -turn % 360


def _from_middle(picture: Picture) -> tuple[float, float]:
    body, (x, y) = picture.body, picture.first
    return x - (body.x + body.width / 2), y - (body.y + body.height / 2)


def _drawn(key: str, picture: Picture, turn: int, first: str, *others: str) -> Way:
    letter = max(picture.width, picture.height) * 0.24
    ends = []
    for sign, (x, y) in zip((first, *others), _beside(picture, bool(others)), strict=False):
        right, down = _turned(x, y, turn)
        ends.append(Edge(right, down + letter * 0.36, sign))
    across, up = picture.width / 2 + (letter if others else 20), picture.height / 2 + (4 if others else 20)
    across, up = (across, up) if turn % 180 == 0 else (up, across) if turn % 90 == 0 else (across, across)
    box = " ".join(number(figure) for figure in (-across, -up, 2 * across, 2 * up))
    width, height = picture.width, picture.height
    return Way(key, box, -width / 2, -height / 2, width, height, turn, letter, tuple(ends))


def _beside(picture: Picture, two_ended: bool) -> tuple[tuple[float, float], ...]:
    """Return where the names of the ends stand, from the middle of the picture that is not turned."""
    if two_ended:
        reach = picture.width / 2 - min(map(_left_edge, picture.pieces)) + 13
        return (-reach, 0.0), (reach, 0.0)
    (x, y), body = picture.first, picture.body
    below = x > body.x + 1 and y >= body.y + body.height
    x, y = x - picture.width / 2, y - picture.height / 2
    return (
        ((x, y + 30),) if below else ((body.x - picture.width / 2 - (28 if picture.first[0] <= body.x + 1 else 14), y),)
    )


def _left_edge(piece: Piece) -> float:
    if isinstance(piece, Outline):
        return min(x for x, _ in piece.points)
    return piece.x - piece.radius if isinstance(piece, Disc) else piece.x


def _turned(x: float, y: float, turn: int) -> tuple[float, float]:
    cos, sin = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    return x * cos - y * sin, x * sin + y * cos
