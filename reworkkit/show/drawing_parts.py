"""The part pictures themselves: one small function for each outline, in units of about a tenth of the picture.

Lead counts and the place of pin 1 follow the trade's convention for the view from above: pin 1 at the upper left,
counted against the clock (JEDEC outlines, from memory). Three-leaded power parts are seen from the printed face,
leads down, counted from the left.
"""

from collections.abc import Callable

from reworkkit.show.drawings import Disc, Outline, Picture, Piece, Rect, arc_points, lead_places

MOST_LEADS_DRAWN = 64
Draw = Callable[[int], Picture]


def _two_ended(body: Rect, ends: tuple[Piece, ...], over: tuple[Piece, ...] = (), width: float = 100) -> Picture:
    middle = body.y + body.height / 2
    return Picture(width, 60, (*ends, body, *over), body, (body.x, middle))


def chip(_pins: int) -> Picture:
    """Draw a chip with metal end caps."""
    caps = (Rect(16, 14, 14, 32, "metal", 2), Rect(70, 14, 14, 32, "metal", 2))
    return _two_ended(Rect(28, 14, 44, 32, "body"), caps)


def led_chip(_pins: int) -> Picture:
    """Draw a chip lamp: end caps and a round lens."""
    caps = (Rect(14, 16, 14, 28, "metal", 2), Rect(72, 16, 14, 28, "metal", 2))
    return _two_ended(Rect(26, 14, 48, 32, "body", 2), caps, (Disc(50, 30, 11, "lens"),))


def melf(_pins: int) -> Picture:
    """Draw a cylinder with metal caps."""
    caps = (Rect(10, 14, 18, 32, "metal", 9), Rect(72, 14, 18, 32, "metal", 9))
    return _two_ended(Rect(22, 15, 56, 30, "body", 3), caps)


def sma(_pins: int) -> Picture:
    """Draw a moulded diode body with leads folded under at both ends."""
    leads = (Rect(6, 22, 16, 16, "metal"), Rect(78, 22, 16, 16, "metal"))
    return _two_ended(Rect(18, 10, 64, 40, "body", 3), leads)


def sod(_pins: int) -> Picture:
    """Draw a small diode body with two flat leads."""
    leads = (Rect(6, 25, 20, 10, "metal"), Rect(74, 25, 20, 10, "metal"))
    return _two_ended(Rect(24, 15, 52, 30, "body", 2), leads)


def tantalum(_pins: int) -> Picture:
    """Draw a moulded tantalum capacitor with its tabs."""
    leads = (Rect(9, 20, 12, 20, "metal"), Rect(79, 20, 12, 20, "metal"))
    return _two_ended(Rect(18, 10, 64, 40, "body light", 2), leads)


def polymer(_pins: int) -> Picture:
    """Draw a moulded rectangular polymer capacitor with its tabs."""
    leads = (Rect(5, 16, 12, 28, "metal"), Rect(83, 16, 12, 28, "metal"))
    return _two_ended(Rect(14, 8, 72, 44, "body", 2), leads)


def can(_pins: int) -> Picture:
    """Draw a surface-mount aluminium can on its square base; corners plain, since they too are a mark."""
    body = Rect(26, 6, 48, 48, "base", 2)
    leads = (Rect(16, 25, 14, 10, "metal"), Rect(70, 25, 14, 10, "metal"))
    return Picture(100, 60, (*leads, body, Disc(50, 30, 22, "can")), Rect(28, 8, 44, 44, "round"), (28, 30))


def radial(_pins: int) -> Picture:
    """Draw an upright can from above with its two lead places."""
    pieces = (Disc(50, 30, 25, "body"), Disc(41, 30, 3, "hole"), Disc(59, 30, 3, "hole"))
    return Picture(100, 60, pieces, Rect(25, 5, 50, 50, "round"), (25, 30))


def led_leaded(_pins: int) -> Picture:
    """Draw an upright round lamp from above with its two lead places."""
    pieces = (Disc(50, 30, 24, "lens"), Disc(40, 30, 3, "hole"), Disc(60, 30, 3, "hole"))
    return Picture(100, 60, pieces, Rect(26, 6, 48, 48, "round"), (26, 30))


def axial(_pins: int) -> Picture:
    """Draw a part lying on its two wires."""
    wires = (Outline(((4, 30), (26, 30)), "wire", False), Outline(((74, 30), (96, 30)), "wire", False))
    return _two_ended(Rect(26, 17, 48, 26, "body", 5), wires)


def box(_pins: int) -> Picture:
    """Draw a boxed part on two wires: film capacitor, relay coil end, fuse holder."""
    body = Rect(14, 14, 72, 32, "body light", 2)
    return _two_ended(body, (), (Disc(24, 30, 3, "hole"), Disc(76, 30, 3, "hole")))


def inductor(_pins: int) -> Picture:
    """Draw a shielded inductor with two end pads."""
    ends = (Rect(20, 16, 12, 28, "metal"), Rect(68, 16, 12, 28, "metal"))
    return _two_ended(Rect(24, 6, 52, 48, "body", 9), ends, (Disc(50, 30, 15, "ring"),))


def crystal(pins: int) -> Picture:
    """Draw a crystal: an oblong can on two wires, or a lid over four pads."""
    if pins >= 4:
        pads = tuple(Rect(x, y, 18, 12, "metal") for x in (16, 66) for y in (8, 40))
        return Picture(100, 60, (*pads, Rect(22, 11, 56, 38, "can", 4)), Rect(22, 11, 56, 38, "can", 4), (26, 15))
    body = Rect(10, 16, 80, 28, "can", 14)
    return Picture(100, 60, (body, Disc(32, 30, 3, "hole"), Disc(68, 30, 3, "hole")), body, (10, 30))


def _three_lead(body: Rect, leads: int, tab: Rect | None, lead_width: float) -> Picture:
    places = lead_places(leads, body.width, 4 + lead_width / 2)
    legs = tuple(
        Rect(body.x + place - lead_width / 2, body.y + body.height - 2, lead_width, 14, "metal") for place in places
    )
    pieces: tuple[Piece, ...] = (*((tab,) if tab else ()), *legs, body)
    return Picture(100, 70, pieces, body, (body.x + places[0], body.y + body.height))


def sot23(pins: int) -> Picture:
    """Draw a small body with leads on its two long sides: two down and one up, or three down and two or three up."""
    below = 2 if pins <= 4 else min(-(-pins // 2), 6)
    above = min(max(1, pins - below), 6)
    body = Rect(24, 20, 52, 26, "body", 2)
    down = lead_places(below, 52, 9)
    up = lead_places(above, 52, 9)
    legs = tuple(Rect(24 + place - 5, 44, 10, 14, "metal") for place in down)
    heads = tuple(Rect(24 + place - 5, 8, 10, 14, "metal") for place in up)
    return Picture(100, 66, (*legs, *heads, body), body, (24 + down[0], 46))


def sot89(_pins: int) -> Picture:
    """Draw a small power body: a tab above, three leads below."""
    return _three_lead(Rect(28, 18, 44, 28, "body", 2), 3, Rect(40, 8, 20, 14, "metal"), 8)


def sot223(_pins: int) -> Picture:
    """Draw a body with one wide tab above and three leads below."""
    return _three_lead(Rect(20, 22, 60, 30, "body", 2), 3, Rect(32, 8, 36, 18, "metal"), 10)


def to252(pins: int) -> Picture:
    """Draw a tabbed surface-mount power body; the middle lead is cut short when there are three pins."""
    return _tabbed(Rect(24, 18, 52, 34, "body", 2), Rect(28, 6, 44, 16, "metal"), pins)


def to263(pins: int) -> Picture:
    """Draw a large tabbed surface-mount power body."""
    return _tabbed(Rect(16, 16, 68, 38, "body", 2), Rect(18, 3, 64, 18, "metal"), pins)


def _tabbed(body: Rect, tab: Rect, pins: int) -> Picture:
    legs = 5 if pins >= 5 else 3
    picture = _three_lead(body, legs, tab, 6)
    if legs == 5:
        return picture
    short = picture.pieces[2]
    assert isinstance(short, Rect)
    pieces = tuple(piece._replace(height=7) if piece is short else piece for piece in picture.pieces)
    return Picture(picture.width, picture.height, pieces, picture.body, picture.first)


def to92(_pins: int) -> Picture:
    """Draw a small leaded body from above, flat side down, with its three lead places."""
    dome = Outline(((28, 44), *arc_points(50, 34, 24, 155, 385, 18), (72, 44)), "body")
    holes = tuple(Disc(x, 36, 2.5, "hole") for x in (37, 50, 63))
    return Picture(100, 60, (dome, *holes), Rect(28, 10, 44, 34, "body"), (37, 44))


def to220(pins: int) -> Picture:
    """Draw a power part from its printed face: tab with hole above, leads below."""
    return _upright(Rect(24, 28, 52, 34, "body", 1), Rect(24, 4, 52, 26, "metal", 2), Disc(50, 15, 7, "hole"), pins)


def to247(pins: int) -> Picture:
    """Draw a large power part from its printed face: hole through the body, leads below."""
    return _upright(Rect(18, 4, 64, 58, "body", 2), None, Disc(50, 17, 7, "hole"), pins)


def _upright(body: Rect, tab: Rect | None, hole: Disc, pins: int) -> Picture:
    count = min(max(pins, 2), 7)
    places = lead_places(count, body.width, 10)
    foot = body.y + body.height
    legs = tuple(Rect(body.x + place - 2.5, foot - 1, 5, 26, "metal") for place in places)
    pieces: tuple[Piece, ...] = (*legs, *((tab,) if tab else ()), body, hole)
    return Picture(100, 90, pieces, body, (body.x + places[0], foot + 20))


def sensor4(pins: int) -> Picture:
    """Draw a flat leaded sensor from its printed face: a small body, its leads in one row below."""
    body = Rect(26, 10, 48, 30, "body", 2)
    places = lead_places(min(max(pins, 3), 8), 48, 7)
    legs = tuple(Rect(26 + place - 2, 39, 4, 34, "metal") for place in places)
    return Picture(100, 80, (*legs, body), body, (26 + places[0], 66))


def soic(pins: int) -> Picture:
    """Draw a body with leads on its left and right sides, half of the pins on each."""
    side = max(1, min(pins, MOST_LEADS_DRAWN) // 2)
    height = max(60.0, 10 + side * 8.0)
    body = Rect(28, 6, 44, height - 12, "body", 2)
    places = lead_places(side, body.height, 6)
    left = tuple(Rect(14, 6 + place - 2, 16, 4, "metal") for place in places)
    right = tuple(Rect(70, 6 + place - 2, 16, 4, "metal") for place in places)
    return Picture(100, height, (*left, *right, body), body, (28, 6 + places[0]))


def dip(pins: int) -> Picture:
    """Draw a leaded body from above: wider leads, half of the pins on each side."""
    side = max(1, min(pins, 40) // 2)
    height = max(60.0, 12 + side * 11.0)
    body = Rect(26, 5, 48, height - 10, "body", 2)
    places = lead_places(side, body.height, 7)
    left = tuple(Rect(16, 5 + place - 3.5, 12, 7, "metal", 1) for place in places)
    right = tuple(Rect(72, 5 + place - 3.5, 12, 7, "metal", 1) for place in places)
    return Picture(100, height, (*left, *right, body), body, (26, 5 + places[0]))


def qfp(pins: int) -> Picture:
    """Draw a square body with leads on all four sides, a quarter of the pins on each."""
    return _four_sided(pins, Rect(20, 20, 60, 60, "body", 2), 12)


def qfn(pins: int) -> Picture:
    """Draw a square body whose pads lie under its edges."""
    return _four_sided(pins, Rect(16, 16, 68, 68, "body", 2), 4)


def _four_sided(pins: int, body: Rect, reach: float) -> Picture:
    side = max(1, min(pins, MOST_LEADS_DRAWN) // 4)
    places = lead_places(side, body.width, 8)
    wide = min(5.0, 0.55 * (body.width - 16) / max(side - 1, 1))
    left, right, top, bottom = body.x, body.x + body.width, body.y, body.y + body.height
    leads = [Rect(left - reach, top + p - wide / 2, reach + 3, wide, "metal") for p in places]
    leads += [Rect(left + p - wide / 2, bottom - 3, wide, reach + 3, "metal") for p in places]
    leads += [Rect(right - 3, top + p - wide / 2, reach + 3, wide, "metal") for p in places]
    leads += [Rect(left + p - wide / 2, top - reach, wide, reach + 3, "metal") for p in places]
    return Picture(100, 100, (*leads, body), body, (left, top + places[0]))


def header(pins: int) -> Picture:
    """Draw a row of pins in a strip; from 21 pins on, or even counts above 9, two rows."""
    rows = 2 if pins > 9 and pins % 2 == 0 else 1
    count = min(max(pins // rows, 1), 20)
    body = Rect(8, 18 if rows == 1 else 10, 84, 24 if rows == 1 else 40, "body", 1)
    places = lead_places(count, 84, 84 / count / 2)
    size = min(10.0, 84 / count * 0.55)
    heights = (30.0,) if rows == 1 else (20.0, 40.0)
    pins_drawn = tuple(Rect(8 + p - size / 2, y - size / 2, size, size, "metal") for y in heights for p in places)
    return Picture(100, 60, (body, *pins_drawn), body, (8 + places[0], heights[0]))


def terminal(pins: int) -> Picture:
    """Draw a screw terminal block from above."""
    count = min(max(pins, 2), 12)
    body = Rect(6, 8, 88, 44, "body light", 2)
    places = lead_places(count, 88, 88 / count / 2)
    size = min(12.0, 88 / count * 0.38)
    screws = tuple(Disc(6 + p, 24, size, "metal") for p in places)
    slots = tuple(Outline(((6 + p - size * 0.7, 24), (6 + p + size * 0.7, 24)), "slot", False) for p in places)
    return Picture(100, 60, (body, *screws, *slots), body, (6 + places[0], 24))


def block(_pins: int) -> Picture:
    """Draw a plain block for an outline that is not known."""
    body = Rect(20, 10, 60, 40, "unknown", 3)
    return Picture(100, 60, (body,), body, (20, 30))


SHAPES: dict[str, Draw] = {
    "chip": chip,
    "led_chip": led_chip,
    "melf": melf,
    "sma": sma,
    "sod": sod,
    "tantalum": tantalum,
    "polymer": polymer,
    "can": can,
    "radial": radial,
    "led_leaded": led_leaded,
    "axial": axial,
    "box": box,
    "inductor": inductor,
    "crystal": crystal,
    "sot23": sot23,
    "sot89": sot89,
    "sot223": sot223,
    "to92": to92,
    "to220": to220,
    "to247": to247,
    "to252": to252,
    "to263": to263,
    "sensor4": sensor4,
    "soic": soic,
    "dip": dip,
    "qfp": qfp,
    "qfn": qfn,
    "header": header,
    "terminal": terminal,
    "block": block,
}
COUNTED = frozenset(
    {"sot23", "soic", "dip", "qfp", "qfn", "header", "terminal", "to220", "to247", "sensor4", "crystal"}
)
"""Shapes whose drawing depends on the number of pins (to252 and to263 only on five or more)."""
