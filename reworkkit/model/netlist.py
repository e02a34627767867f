"""Copper and connections: pads, pins, nets, placements. Millimetres, x right, y up, seen from the top."""

from typing import NamedTuple

from reworkkit.model.values import Where
from reworkkit.model.vocabulary import Side


class Placement(NamedTuple):
    """Where a part sits; rotation counter-clockwise seen from the top, 0 <= r < 360, for both sides."""

    ref: str
    x_mm: float
    y_mm: float
    rotation_deg: float
    side: Side
    where: Where


class Pad(NamedTuple):
    """One land; `drill_mm` is None for a surface pad; `round` only where the file says so."""

    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float
    rotation_deg: float
    drill_mm: float | None
    plated: bool
    side: Side
    round: bool = False


class Pin(NamedTuple):
    """One pin of a part; `net` is None where the netlist says it is connected to nothing."""

    ref: str
    number: str
    name: str | None
    net: str | None
    pads: tuple[Pad, ...]
    where: Where

    @property
    def node(self) -> str:
        """Its net, or `REF.PIN` where it is connected to nothing."""
        return self.net or f"{self.ref}.{self.number}"


class Net(NamedTuple):
    """One net: canonical name, name as written, and its (ref, pin number) pairs in natural order."""

    name: str
    written: str
    pins: tuple[tuple[str, str], ...]
