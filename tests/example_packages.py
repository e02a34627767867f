"""Land patterns of the example boards: body and pads of each package, seen from the top at rotation 0.

Bodies follow the trade's package names (JEDEC, EIA); lands are common practice. Two-pin parts have pin 1 on the left;
pin 1 is the cathode of a diode and the plus of a capacitor. Integrated circuits have pin 1 in the upper left.
"""

from typing import NamedTuple


class Land(NamedTuple):
    """One pad: pin number, centre, size and hole (0 = surface pad), in millimetres."""

    pin: str
    x: float
    y: float
    width: float
    height: float
    hole: float = 0.0
    plated: bool = True


class Outline(NamedTuple):
    """Body length along x, width along y, and the lands."""

    length: float
    width: float
    lands: tuple[Land, ...]


def two_pads(length: float, width: float, at: float, pad: tuple[float, float]) -> Outline:
    """Return a surface part with pin 1 at -at and pin 2 at +at."""
    return Outline(length, width, (Land("1", -at, 0, *pad), Land("2", at, 0, *pad)))


def two_leads(
    length: float, width: float, pitch: float, hole: float, pad: float, names: tuple[str, str] = ("1", "2")
) -> Outline:
    """Return a leaded part with two holes."""
    left, right = names
    return Outline(
        length, width, (Land(left, -pitch / 2, 0, pad, pad, hole), Land(right, pitch / 2, 0, pad, pad, hole))
    )


def in_line(pins: int, pitch: float, body: tuple[float, float], hole: float, pad: float, y: float = 0.0) -> Outline:
    """Return one row of holes along x, pin 1 on the left."""
    first = -(pins - 1) * pitch / 2
    return Outline(*body, tuple(Land(str(i + 1), first + i * pitch, y, pad, pad, hole) for i in range(pins)))


def dual_row(
    pins: int, pitch: float, span: float, body: tuple[float, float], pad: tuple[float, float], hole: float = 0.0
) -> Outline:
    """Return two columns of pins, pin 1 in the upper left, counted down the left and up the right."""
    half = pins // 2
    top = (half - 1) * pitch / 2
    left = [Land(str(i + 1), -span / 2, top - i * pitch, *pad, hole) for i in range(half)]
    right = [Land(str(half + i + 1), span / 2, i * pitch - top, *pad, hole) for i in range(half)]
    return Outline(*body, tuple(left + right))


def quad(pins: int, pitch: float, span: float, body: float, pad: tuple[float, float]) -> Outline:
    """Return pins on four sides, pin 1 at the top of the left side, counted counter-clockwise."""
    side = pins // 4
    first = (side - 1) * pitch / 2
    long, short = pad
    lands = []
    for i in range(side):
        along = first - i * pitch
        lands += [
            Land(str(i + 1), -span / 2, along, long, short),
            Land(str(i + 1 + side), -along, -span / 2, short, long),
        ]
        lands += [Land(str(i + 1 + 2 * side), span / 2, -along, long, short)]
        lands += [Land(str(i + 1 + 3 * side), along, span / 2, short, long)]
    return Outline(body, body, tuple(sorted(lands, key=lambda land: int(land.pin))))


def tab_left_leads(pins: int, pitch: float, drop_centre: bool) -> Outline:
    """Return a TO-263: leads on the left, the tab's land on the right with the number of the centre lead."""
    top = (pins - 1) * pitch / 2
    centre = str((pins + 1) // 2)
    leads = [Land(str(i + 1), -7.6, top - i * pitch, 3.0, 1.1) for i in range(pins)]
    kept = [lead for lead in leads if not (drop_centre and lead.pin == centre)]
    return Outline(10.0, 10.0, (*kept, Land(centre, 2.2, 0, 9.2, 9.9)))


CHIP = {
    "0603": two_pads(1.6, 0.8, 0.8, (0.9, 0.95)),
    "0805": two_pads(2.0, 1.25, 0.95, (1.0, 1.4)),
    "2410": two_pads(6.1, 2.5, 2.8, (1.9, 2.8)),
    "2512": two_pads(6.35, 3.2, 2.9, (1.5, 3.4)),
    "LED 0805": two_pads(2.0, 1.25, 1.0, (1.1, 1.3)),
}
MOULDED = {
    "SMA": two_pads(4.3, 2.6, 2.0, (2.2, 1.8)),
    "SMC": two_pads(6.9, 5.9, 3.4, (2.6, 3.3)),
    "SOD-123": two_pads(2.7, 1.6, 1.65, (0.9, 1.2)),
    "MiniMELF": two_pads(3.6, 1.4, 1.75, (1.3, 1.6)),
    "3528-21": two_pads(3.5, 2.8, 1.5, (1.9, 2.4)),
    "7343-31": two_pads(7.3, 4.3, 3.1, (2.5, 2.6)),
    "Can 8x10.5": two_pads(8.3, 8.3, 3.4, (4.0, 2.0)),
    "Inductor 12x12x6": two_pads(12.0, 12.0, 5.0, (2.9, 5.4)),
    "SOT-23": Outline(
        2.9, 2.6, (Land("1", -0.95, -1.1, 0.8, 0.9), Land("2", 0.95, -1.1, 0.8, 0.9), Land("3", 0, 1.1, 0.8, 0.9))
    ),
    "SOT-223": Outline(
        3.5,
        6.5,
        (*(Land(str(i + 1), -3.15, 2.3 - 2.3 * i, 2.0, 1.2) for i in range(3)), Land("4", 3.15, 0, 2.0, 3.6)),
    ),
    "TO-263": tab_left_leads(3, 2.54, drop_centre=True),
    "TO-263-5": tab_left_leads(5, 1.7, drop_centre=False),
    "LQFP-32 7x7": quad(32, 0.8, 8.5, 7.0, (1.5, 0.5)),
    "SOIC-20W": dual_row(20, 1.27, 9.4, (7.5, 12.8), (1.9, 0.6)),
    "Tactile switch SMD 6x6": Outline(
        6.2, 6.2, tuple(Land(pin, x, y, 1.6, 1.4) for pin, x in (("1", -4.0), ("2", 4.0)) for y in (2.25, -2.25))
    ),
}
LEADED = {
    "Radial D10": two_leads(10.0, 10.0, 5.0, 1.0, 2.0),
    "Radial D6.3": two_leads(6.3, 6.3, 2.5, 0.8, 1.6),
    "Snap-in D25": two_leads(25.0, 25.0, 10.0, 2.0, 4.0),
    "Film box P15": two_leads(18.0, 7.0, 15.0, 1.0, 2.2),
    "HC-49/4H": two_leads(11.05, 4.65, 4.88, 0.8, 1.5),
    "LED 3mm": two_leads(3.8, 3.8, 2.54, 0.9, 1.8, ("K", "A")),
    "DO-35": two_leads(4.0, 2.0, 7.62, 0.8, 1.6),
    "DO-41": two_leads(5.2, 2.7, 10.16, 1.1, 2.2),
    "R axial 0414": two_leads(14.0, 5.0, 20.32, 1.0, 2.0),
    "Cement 48x9": two_leads(48.0, 9.5, 53.34, 1.2, 2.6),
    "Fuse holder 6.3x32": two_leads(35.0, 10.0, 32.0, 1.6, 3.4),
    "Link 21": two_leads(21.0, 1.8, 21.0, 1.8, 3.0),
    "Terminal 5.08 2-way": in_line(2, 5.08, (10.2, 10.0), 1.3, 2.6),
    "Terminal 5.08 4-way": in_line(4, 5.08, (20.3, 10.0), 1.3, 2.6),
    "Terminal 5.08 8-way": in_line(8, 5.08, (40.6, 10.0), 1.3, 2.6),
    "Terminal 7.62 2-way": in_line(2, 7.62, (15.3, 12.0), 1.6, 3.4),
    "Terminal 3.5 2-way": in_line(2, 3.5, (7.6, 7.0), 1.2, 2.4),
    "Pin header 1x5 2.54": in_line(5, 2.54, (12.7, 2.54), 1.0, 1.7),
    "Header 1x4 2.5": in_line(4, 2.5, (12.4, 5.8), 0.9, 1.6),
    "SIP-4 current sensor": in_line(4, 2.54, (16.0, 10.0), 1.0, 1.8, y=-3.8),
    "TO-220": in_line(3, 2.54, (10.0, 4.5), 1.1, 1.8),
    "TO-220AC": two_leads(10.0, 4.5, 5.08, 1.1, 2.0),
    "TO-247": in_line(3, 5.45, (15.9, 5.1), 1.5, 3.0),
    "TO-92": in_line(3, 2.54, (6.4, 4.0), 0.8, 1.5),
    "DIP-4": dual_row(4, 2.54, 7.62, (6.4, 4.6), (1.6, 1.6), 0.8),
    "DIP-8": dual_row(8, 2.54, 7.62, (6.4, 9.3), (1.6, 1.6), 0.8),
    "Relay 28x13": Outline(
        29.0,
        13.0,
        (
            Land("1", -12.5, 3.75, 2.4, 2.4, 1.3),
            Land("2", -12.5, -3.75, 2.4, 2.4, 1.3),
            Land("3", 7.5, 3.75, 3.0, 3.0, 1.6),
            Land("4", 7.5, -3.75, 3.0, 3.0, 1.6),
        ),
    ),
}
BARE = {
    "Test pad 1.5": Outline(1.5, 1.5, (Land("1", 0, 0, 1.5, 1.5),)),
    "Hole 3.2": Outline(6.0, 6.0, (Land("1", 0, 0, 3.2, 3.2, 3.2, plated=False),)),
    "Fiducial 1": Outline(2.0, 2.0, ()),
}
OUTLINES: dict[str, Outline] = CHIP | MOULDED | LEADED | BARE
