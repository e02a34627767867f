"""Lands: pads and drills of the netlist, or what the package usually has."""

import math
from typing import NamedTuple

from reworkkit.model.designator import natural_key
from reworkkit.model.messages import Message, message
from reworkkit.model.netlist import Pad, Pin, Placement
from reworkkit.model.part import Package, Part
from reworkkit.model.vocabulary import JointKind, Mount, Side

SMALLEST_TAB_MM2 = 5.0
ROW_MM = 5.2
"""Pins of one net this near each other share the heat."""


class Land(NamedTuple):
    """One land: kind, size, drill, net and place; `pin` is empty where only the package is known."""

    ref: str
    pin: str
    kind: JointKind
    area_mm2: float
    hole_mm: float | None
    net: str | None
    x_mm: float | None
    y_mm: float | None
    side: Side
    assumed: tuple[Message, ...]


def lands_of(part: Part, pins: tuple[Pin, ...], placed: Placement | None) -> tuple[Land, ...]:
    """Return the lands of a part in natural order of its pins; one typical land where the netlist has no pads.

    Nothing where neither pads nor package are known: then only the class of the kind is left.
    """
    side = placed.side if placed else Side.TOP
    found = [(pin, pad) for pin in pins for pad in pin.pads]
    if not found:
        return (_from_package(part, part.identity.package, side),) if part.identity.package else ()
    areas = sorted(_area(pad) for _, pad in found)
    median = areas[(len(areas) - 1) // 2]
    lands = [_from_pad(part, pin, pad, median, placed is not None, side) for pin, pad in found]
    return tuple(sorted(lands, key=lambda land: natural_key(land.pin)))


def row_of(land: Land, lands: tuple[Land, ...]) -> tuple[int, float | None]:
    """Return how many plated holes of the same net and part stand close by, and how far they are on the mean."""
    if land.kind is not JointKind.HOLE or land.net is None or land.x_mm is None or land.y_mm is None:
        return 0, None
    near = [
        distance
        for other in lands
        if other is not land
        and other.net == land.net
        and other.x_mm is not None
        and other.y_mm is not None
        and 0.0 < (distance := math.hypot(other.x_mm - land.x_mm, other.y_mm - land.y_mm)) <= ROW_MM
    ]
    return len(near), sum(near) / len(near) if near else None


def _area(pad: Pad) -> float:
    full = pad.width_mm * (pad.height_mm or pad.width_mm)
    return full * math.pi / 4 if pad.round or not pad.height_mm else full


def _from_pad(part: Part, pin: Pin, pad: Pad, median: float, placed: bool, side: Side) -> Land:
    area = _area(pad)
    own = side if placed else (pad.side if pad.side is not Side.BOTH else Side.TOP)
    kind = JointKind.HOLE if pad.drill_mm else _surface_kind(part.identity.package, area, median)
    assumed: tuple[Message, ...] = ()
    if area <= 0:
        area = _usual_area(part.identity.package)
        assumed = (message("heat-land-from-package", pin=f"{part.ref}.{pin.number}"),)
    return Land(part.ref, pin.number, kind, area, pad.drill_mm, pin.net, pad.x_mm, pad.y_mm, own, assumed)


def _surface_kind(package: Package | None, area: float, median: float) -> JointKind:
    if package is not None and package.hidden_pads and area > 1.8 * median:
        return JointKind.HIDDEN
    if package is not None and package.tab and area >= max(package.tab[0] * package.tab[1] / 2, SMALLEST_TAB_MM2):
        return JointKind.TAB
    return JointKind.PAD


def _usual_area(package: Package | None) -> float:
    """Return a usual land area [mm2]: half as long as the body for two pins, else by pitch."""
    if package is None:
        return 1.5
    if package.mount is Mount.THROUGH_HOLE:
        return 3.0
    if package.pins <= 2:
        return max(package.width_mm, 0.5) * max(0.35 * package.length_mm, 0.4)
    return 0.55 * (package.pitch_mm or 1.0) * 1.6


def _from_package(part: Part, package: Package, side: Side) -> Land:
    """Return the heaviest land the package has; the net is not known."""
    assumed = (message("heat-land-from-package", pin=f"{part.ref}: {package.name}"),)
    area, hole, kind = _usual_area(package), None, JointKind.PAD
    if package.mount is Mount.THROUGH_HOLE:
        kind = JointKind.HOLE
        hole = 2.0 * math.sqrt((package.lead_mm2 or 0.4) / math.pi) + 0.3
        area = math.pi / 4 * ((hole + 0.8) ** 2 - hole**2)
    elif package.tab:
        kind, area = JointKind.TAB, 1.3 * package.tab[0] * package.tab[1]
    elif package.hidden_pads:
        kind, area = JointKind.HIDDEN, 0.4 * package.length_mm * package.width_mm
    return Land(part.ref, "", kind, area, hole, None, None, None, side, assumed)
