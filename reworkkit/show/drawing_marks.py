"""Marks on part pictures: the sign a maker prints at one end, drawn only where it is known what is printed."""

import re

from reworkkit.show.drawing_parts import COUNTED, SHAPES
from reworkkit.show.drawings import Disc, Outline, Picture, Piece, Rect, Word, arc_points

LIGHT_BODIES = frozenset({"can", "tantalum", "led_leaded", "terminal"})
"""Bodies drawn light: on them the mark is drawn dark."""

SIGNS = (
    ("none", re.compile(r"^no ", re.I)),
    ("shape", re.compile(r"metal tab|shape of|flat face", re.I)),
    ("band", re.compile(r"\bbands?\b|stripe|\bbar\b|mark on the top", re.I)),
    ("bevel", re.compile(r"bevel|chamfer|cut corner", re.I)),
    ("notch", re.compile(r"notch|half.?moon|recess", re.I)),
    ("plus", re.compile(r"plus|\+", re.I)),
    ("flat", re.compile(r"\bflat\b", re.I)),
    ("dot", re.compile(r"\bdot\b|dimple|mark at one corner", re.I)),
    ("groove", re.compile(r"groove|crimp", re.I)),
)


def sign_of(mark: str) -> str:
    """Return the sign drawn for a mark in words, the one named first; `pointer` where no drawing fits the words.

    `shape` means that the outline itself is the mark, `none` that there is none to draw.

    >>> [sign_of(word) for word in ("band round one end", "dot, notch or bevelled edge", "metal tab", "green paint")]
    ['band', 'dot', 'shape', 'pointer']
    """
    found = [(match.start(), sign) for sign, pattern in SIGNS if (match := pattern.search(mark))]
    return min(found, default=(0, "pointer"))[1]


def picture_key(shape: str, pins: int, sign: str | None, reliable: bool = True) -> str:
    """Return the name under which a picture is kept on the page: shape, pins where they count, sign.

    >>> picture_key("soic", 8, "dot"), picture_key("chip", 2, None), picture_key("led_chip", 2, "dot", False)
    ('soic-8-dot', 'chip', 'led_chip-dot-doubt')
    """
    shape = shape if shape in SHAPES else "block"
    counted = (str(pins),) if shape in COUNTED else ("5",) if shape in {"to252", "to263"} and pins >= 5 else ()
    return "-".join((shape, *counted, *((sign,) if sign else ()), *(() if reliable or not sign else ("doubt",))))


def draw_part(shape: str, pins: int, sign: str | None = None, reliable: bool = True) -> Picture:
    """Return the picture of a part; a mark in doubt is drawn dashed with a question mark beside it."""
    plain = SHAPES.get(shape, SHAPES["block"])(pins)
    if sign in {None, "none", "shape"}:
        return plain
    look = "mark" if reliable else "mark doubt"
    if shape in LIGHT_BODIES:
        look += " dark"
    pieces = _mark(plain, shape, sign or "", look)
    doubt: tuple[Piece, ...] = () if reliable else (Word(plain.width - 8, 14, "?", "query"),)
    return Picture(plain.width, plain.height, (*plain.pieces, *pieces, *doubt), plain.body, plain.first)


def _mark(picture: Picture, shape: str, sign: str, look: str) -> tuple[Piece, ...]:
    body = picture.body
    if sign == "band":
        return (_round_band(body, look),) if body.look == "round" else (_band(body, look),)
    if sign == "groove":
        return tuple(Rect(body.x + body.width * share, body.y, 1.5, body.height, look) for share in (0.12, 0.2))
    if sign == "bevel":
        return (Outline(((body.x, body.y), (body.x + 9, body.y), (body.x, body.y + 9)), look),)
    if sign == "flat":
        return (_flat(body, look),)
    if sign == "notch":
        return (_notch(body, shape, look),)
    if sign == "plus":
        x, y = _beside_first(picture)
        return (Word(x, y + 4, "+", f"{look} sign"),)
    if sign == "dot":
        x, y = _inside_first(picture)
        return (Disc(x, y, 3.2, look),)
    return (_pointer(picture, look),)


def _band(body: Rect, look: str) -> Rect:
    return Rect(body.x + body.width * 0.10, body.y, body.width * 0.15, body.height, look)


def _round_band(body: Rect, look: str) -> Outline:
    radius = body.width / 2
    x, y = body.x + radius, body.y + radius
    return Outline(arc_points(x, y, radius, 130, 230), look)


def _flat(body: Rect, look: str) -> Outline:
    radius = body.width / 2
    x, y = body.x + radius, body.y + body.height / 2
    return Outline(arc_points(x, y, radius, 152, 208, 8), look)


def _notch(body: Rect, shape: str, look: str) -> Outline:
    if shape in {"soic", "dip"}:
        return Outline(arc_points(body.x + body.width / 2, body.y, 7, 0, 180, 10), look)
    return Outline(arc_points(body.x, body.y + body.height / 2, 7, -90, 90, 10), look)


def _inside_first(picture: Picture) -> tuple[float, float]:
    body, (x, y) = picture.body, picture.first
    return (
        min(max(x, body.x + 7.5), body.x + body.width - 7.5),
        min(max(y, body.y + 7.5), body.y + body.height - 7.5),
    )


def _beside_first(picture: Picture) -> tuple[float, float]:
    x, y = picture.first
    return max(x - 12, 5.0), max(y - 14, 8.0)


def _pointer(picture: Picture, look: str) -> Outline:
    x, y = picture.first
    return Outline(((x - 3, y), (x - 12, y - 6), (x - 12, y + 6)), look)
