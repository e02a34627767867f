"""Parts and sections: what the sets of sections are written in.

A line of a section's `text` is: ref kind nets | value | package | description. The order of the nets is the one of
`ROLES`.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Any

from tests.fault_bench.figures import BenchSet, Figures, Pins

ROLES = {
    "resistor": ("1", "2"),
    "fuse": ("1", "2"),
    "coil": ("1", "2"),
    "bead": ("1", "2"),
    "two_way": ("1", "2"),
    "ceramic": ("1", "2"),
    "elko": ("+", "-"),
    "diode": ("A", "K"),
    "led": ("A", "K"),
    "zener": ("A", "K"),
    "fixed": ("IN", "OUT", "GND"),
    "enabled": ("IN", "OUT", "GND", "EN"),
    "adjustable": ("IN", "OUT", "ADJ"),
    "npn": ("B", "C", "E"),
    "pnp": ("B", "C", "E"),
    "nmos": ("G", "D", "S"),
    "pmos": ("G", "D", "S"),
    "opamp": ("OUT", "IN-", "IN+", "V-", "V+"),
    "comparator": ("OUT", "IN-", "IN+", "V-", "V+"),
    "opto": ("A", "K", "E", "C"),
    "dual": ("A", "K", "M"),
    "load": ("VDD", "GND"),
    "shunt": ("K", "REF", "A"),
    "plug": ("1", "2"),
}
REGULATING = frozenset({"fixed", "enabled", "adjustable"})
MANY_PINS = REGULATING | {"npn", "pnp", "nmos", "pmos", "opamp", "comparator", "opto", "dual", "load", "shunt"}
TWO_LEADS = frozenset(ROLES) - MANY_PINS - {"plug"}
_DIODE_PINS = {"A": "2", "K": "1", "+": "1", "-": "2"}


@dataclass(frozen=True)
class Part:
    """One part; `nets` in the order of its kind's roles; `pins` role -> number."""

    ref: str
    kind: str
    nets: tuple[str, ...]
    value: str
    package: str
    description: str
    pins: Pins

    @property
    def roles(self) -> dict[str, str]:
        """Role -> net."""
        return dict(zip(ROLES[self.kind], self.nets, strict=True))


@dataclass(frozen=True)
class Section:
    """One section. `loads` part -> (ampere, tolerance in percent); `points` in the order they are probed."""

    bench: BenchSet = field(repr=False)
    name: str
    title: str
    supply_v: float
    limit_a: float
    rails: dict[str, str]
    loads: dict[str, tuple[float, float]]
    points: tuple[str, ...]
    text: str = field(repr=False)
    supply_net: str = "VIN"
    meter: str = "bench"
    supply_percent: float = 1.0
    resistive: frozenset[str] = frozenset()
    """Loads whose current follows the voltage like that of a resistor."""

    @cached_property
    def parts(self) -> tuple[Part, ...]:
        """The parts of its text."""
        found = []
        for line in self.text.strip().splitlines():
            head, value, package, description = (cell.strip() for cell in line.split("|"))
            ref, kind, *nets = head.split()
            pins = _pins(kind, value, self.bench.figures)
            found.append(Part(ref, kind, tuple(nets), value, package, description, pins))
        return tuple(found)

    @property
    def folder(self) -> Path:
        """Its board folder."""
        return self.bench.folder / "board_folders" / self.name

    @property
    def cases(self) -> Path:
        """The file of its stored cases."""
        return self.bench.folder / "cases" / f"{self.name}.json"

    def part(self, ref: str) -> Part:
        """Return a part by designator."""
        return next(part for part in self.parts if part.ref == ref)


def _pins(kind: str, value: str, figures: Figures) -> Pins:
    tables: dict[str, Mapping[str, Any]] = dict.fromkeys(REGULATING, figures.regulators)
    tables |= dict.fromkeys(("npn", "pnp"), figures.bipolars) | dict.fromkeys(("nmos", "pmos"), figures.fields)
    tables |= {"opamp": figures.amplifiers, "comparator": figures.comparators}
    if kind in tables:
        return dict(tables[kind][value].pins)
    return figures.pins.get(kind) or {role: _DIODE_PINS.get(role, role) for role in ROLES[kind]}
