"""Part pictures: our own drawings as plain geometry, and the one function that writes geometry as SVG.

A picture shows the part from above (power parts from their printed face), its marked end to the left or its pin 1 at
the upper left. The mark is drawn only where the caller knows what is printed on this construction; without a mark the
picture is plain, so that it never says more than the verdict.
"""

import math
from dataclasses import dataclass
from functools import cache
from html import escape
from typing import NamedTuple


class Rect(NamedTuple):
    """A rectangle with rounded corners; x, y is the upper left corner, y points down."""

    x: float
    y: float
    width: float
    height: float
    look: str
    corner: float = 0.0


class Disc(NamedTuple):
    """A filled circle."""

    x: float
    y: float
    radius: float
    look: str


class Outline(NamedTuple):
    """A line through points, closed or open."""

    points: tuple[tuple[float, float], ...]
    look: str
    closed: bool = True


class Word(NamedTuple):
    """One or two characters centred at x, with the baseline at y."""

    x: float
    y: float
    text: str
    look: str


Piece = Rect | Disc | Outline | Word


@dataclass(frozen=True, slots=True)
class Picture:
    """A drawing in its own units: pieces in painting order, the body and the place of pin 1 or the marked end."""

    width: float
    height: float
    pieces: tuple[Piece, ...]
    body: Rect
    first: tuple[float, float]


def svg_of(pieces: tuple[Piece, ...]) -> str:
    """Write pieces as SVG elements; every text is escaped here.

    >>> svg_of((Disc(1, 2.5, 3, "dot"),))
    '<circle cx="1" cy="2.5" r="3" class="dot"/>'
    """
    return "".join(_element(piece) for piece in pieces)


def _element(piece: Piece) -> str:
    look = f'class="{escape(piece.look)}"'
    if isinstance(piece, Rect):
        corner = f' rx="{number(piece.corner)}"' if piece.corner else ""
        place = f'x="{number(piece.x)}" y="{number(piece.y)}"'
        return f'<rect {place} width="{number(piece.width)}" height="{number(piece.height)}"{corner} {look}/>'
    if isinstance(piece, Disc):
        return f'<circle cx="{number(piece.x)}" cy="{number(piece.y)}" r="{number(piece.radius)}" {look}/>'
    if isinstance(piece, Outline):
        return f'<path d="{path_of(piece.points, piece.closed)}" {look}/>'
    return f'<text x="{number(piece.x)}" y="{number(piece.y)}" {look}>{escape(piece.text)}</text>'


def number(value: float) -> str:
    """Return a drawing number with at most two decimals.

    >>> number(2.0), number(1.2345), number(-0.001)
    ('2', '1.23', '0')
    """
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in {"-0", ""} else text


def path_of(points: tuple[tuple[float, float], ...], closed: bool = True) -> str:
    """Return the path text through points.

    >>> path_of(((0, 0), (2, 0), (2, 1)))
    'M0 0L2 0L2 1z'
    """
    return "M" + "L".join(f"{number(x)} {number(y)}" for x, y in points) + ("z" if closed else "")


@cache
def arc_points(
    x: float, y: float, radius: float, from_deg: float, to_deg: float, steps: int = 16
) -> tuple[tuple[float, float], ...]:
    """Return points on an arc; 0 deg points right, 90 deg down (drawing coordinates).

    >>> [(round(px), round(py)) for px, py in arc_points(0, 0, 10, 0, 180, 2)]
    [(10, 0), (0, 10), (-10, 0)]
    """
    turns = [math.radians(from_deg + (to_deg - from_deg) * step / steps) for step in range(steps + 1)]
    return tuple((x + radius * math.cos(turn), y + radius * math.sin(turn)) for turn in turns)


def lead_places(count: int, length: float, margin: float) -> tuple[float, ...]:
    """Return the middles of `count` leads spread evenly over an edge of `length`, `margin` free at both ends.

    >>> lead_places(4, 40.0, 5.0)
    (5.0, 15.0, 25.0, 35.0)
    """
    if count == 1:
        return (length / 2,)
    step = (length - 2 * margin) / (count - 1)
    return tuple(margin + step * place for place in range(count))
