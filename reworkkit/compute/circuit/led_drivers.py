"""LED drivers: those that switch the lower end of a string and sense its current at its top, and fixed currents."""

from collections.abc import Collection

from reworkkit import tables
from reworkkit.compute.circuit.chips import between
from reworkkit.compute.circuit.enables import level
from reworkkit.compute.circuit.feedback import others_on
from reworkkit.compute.circuit.figures import around, exact
from reworkkit.compute.circuit.own_draw import own_draw
from reworkkit.compute.circuit.parts import current_set, unmodelled
from reworkkit.compute.circuit.pin_roles import figure_of, roles_of, row_of
from reworkkit.compute.circuit.wiring import EXTERNAL, Wiring
from reworkkit.model.messages import message
from reworkkit.model.part import Part
from reworkkit.model.results import Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

_NAMES = {
    "SW": frozenset(["SW", "LX", "DRAIN"]),
    "SENSE": frozenset(["SENSE", "CSN", "ISENSE", "SET", "CS"]),
    "IN": frozenset(["IN", "VIN", "VCC", "VDD"]),
    "DIM": frozenset(["DIM", "ADJ", "CTRL"]),
}
_SINK_NAMES = {
    "IN": frozenset(["IN", "A", "ANODE", "+", "V+"]),
    "OUT": frozenset(["OUT", "K", "C", "CATHODE", "-", "LED", "V-"]),
    "SET": frozenset(["SET", "R", "RSET"]),
    "GND": frozenset(["GND", "VSS"]),
    "VDD": frozenset(["VDD", "VCC", "VIN"]),
}
_SINK_PERCENT = 6.0
_STARTS_V = 5.0
"""Supply from which such a driver works; 6 to 8 V of most (makers' sheets, from memory)."""
_EFFICIENCY = (0.8, 0.9, 0.97)
_IDLE_A = (1e-4, 3e-4, 1e-3)
_DIMMED = 0.05, 0.55, 1.05
"""Shares of its full current that a driver gives whose dimming pin something sets."""
_BY_LEVEL_PERCENT = 15.0
"""How far its current is off where the level of the dimming pin tells it: that level is off as well."""
_OF_UNKNOWN_LEVEL = frozenset(("microcontroller", "module", "ic", "unknown"))
"""What may pulse a dimming pin."""


def led_driver(wiring: Wiring, part: Part) -> list[Element] | None:
    """Return a driver as a source from its supply to its switched pin: sense voltage over resistor; None for others.

    It gives that current while the string needs less than the supply, and draws power for it. A dimming pin at ground
    turns it off; one that something sets takes the current down: in proportion where the diagnosis can tell its level,
    else nobody knows how far.
    """
    row = row_of("led_drivers", part)
    if row is None:
        return None
    pins, told = roles_of(wiring, part, row, _NAMES, ("SW", "SENSE", "IN", "GND"))
    if not {"SW", "SENSE", "IN", "GND"} <= set(pins):
        return unmodelled(wiring, part)
    ohm = wiring.lone_resistor(pins["IN"], pins["SENSE"])
    if not ohm:
        return unmodelled(wiring, part)
    dim = pins.get("DIM")
    off = dim == wiring.ground
    amps = 1e-9 if off else float(row["sense_v"]) / ohm
    steering = _steering(wiring, part, dim, pins["IN"]) if dim and not off else set()
    told_by_level = wiring.guessing and not steering & _OF_UNKNOWN_LEVEL
    figures = {
        "volts": exact(1.0, "1"),
        "follows": exact(1.0, "1"),
        "inner": exact(0.1, "ohm"),
        "limit": _limit(amps, steering, told_by_level),
        "start": around(_STARTS_V, 20, "V", BandBasis.TABLE),
        "efficiency": Band(*_EFFICIENCY, "1", BandBasis.TABLE),
    }
    said = (*told, message("circuit-led-driver", ref=part.ref, amps=f"{amps:.3g} A"))
    return [
        *between(wiring, part.ref, [pins["IN"]], pins["GND"]),
        Element("isolated", part.ref, (pins["IN"], pins["GND"], pins["IN"], pins["SW"]), figures, said),
        *([] if off else [current_set(part, pins["IN"], pins["SENSE"], float(row["sense_v"]))]),
        *own_draw(wiring, part.ref, pins["IN"], pins["GND"], Band(*_IDLE_A, "A", BandBasis.TABLE)),
        *(_dimming(part, pins, row, told_by_level) if dim and not off else []),
    ]


def _limit(amps: float, steering: Collection[str], told_by_level: bool) -> Band:
    """Return the current at most: all of it, less where something holds the dimming pin at a level nobody tells."""
    if told_by_level or not steering:
        return around(amps, _BY_LEVEL_PERCENT if steering else 5, "A", BandBasis.TABLE)
    least, usual, most = _DIMMED
    return Band(least * amps, usual * amps, most * amps, "A", BandBasis.TABLE)


def _steering(wiring: Wiring, part: Part, dim: str, supply: str) -> set[str]:
    """Return the kinds that may hold a dimming pin between ground and where it stands when it is open."""
    kinds = {other.identity.kind for other in others_on(wiring, part.ref, dim)}
    others = {kind for kind in kinds if not kind.startswith("capacitor") and kind not in (*EXTERNAL, "test_point")}
    return others if level(wiring, part, dim, supply) is None else set()


_DIM_OHM = Band(2e5, 1.5e6, 5e6, "ohm", BandBasis.TABLE)
_DIM_BELOW = Band(0.3, 0.4, 0.6, "V", BandBasis.TABLE)
"""What lifts the dimming pin inside, and where the driver is off; from memory over the common types."""


def _dimming(part: Part, pins: dict[str, str], row: tables.Row, told_by_level: bool) -> list[Element]:
    """Return the dimming pin: lifted to a level of its own inside, and off when it is pulled low."""
    level = {
        "forward": around(float(row["dim_v"]), 8, "V", BandBasis.TABLE),
        "at": exact(1e-5, "A"),
        "ideality": exact(1.0, "1"),
        "series": exact(2e4, "ohm"),
    }
    dim, low = pins["DIM"], pins["GND"]
    full = {"full": exact(float(row["full_v"]), "V")} if told_by_level else {}
    return [
        Element("inner", part.ref, (pins["IN"], dim), {"resistance": _DIM_OHM}),
        Element("inner_diode", part.ref, (dim, low), level),
        Element("enable", part.ref, (dim, low), {"threshold": _DIM_BELOW} | full),
    ]


def current_sink(wiring: Wiring, part: Part) -> list[Element] | None:
    """Return a part that lets a fixed current through, as a draw between its two pins; None for others."""
    row = row_of("current_sinks", part)
    if row is None:
        return None
    pins, told = roles_of(wiring, part, row, _SINK_NAMES, ("OUT",))
    amps = _set_current(wiring, pins, float(row["set_v"])) if row["set_v"] else figure_of(part, row, "amps")
    if amps is None:
        return None if not row["set_v"] else unmodelled(wiring, part)
    ends = (pins.get("OUT"), pins.get("GND")) if "VDD" in pins else (pins.get("IN"), pins.get("SET") or pins.get("OUT"))
    if not all(ends):
        return unmodelled(wiring, part)
    high, low = (end or "" for end in ends)
    figures = {
        "current": around(amps, _SINK_PERCENT, "A", BandBasis.TABLE),
        "from_volts": exact(float(row["from_v"]), "V"),
    }
    said = (*told, message("circuit-led-driver", ref=part.ref, amps=f"{amps:.3g} A"))
    supply = between(wiring, part.ref, [pins["VDD"]], low) if "VDD" in pins else []
    by = [current_set(part, pins["SET"], pins["OUT"], float(row["set_v"]))] if row["set_v"] else []
    return [*supply, Element("load", part.ref, (high, low), figures, said), *by]


def _set_current(wiring: Wiring, pins: dict[str, str], volts: float) -> float | None:
    """Return the current that a resistor between SET and OUT sets; it all flows through that resistor."""
    ohm = wiring.lone_resistor(pins["SET"], pins["OUT"]) if {"SET", "OUT"} <= set(pins) else None
    return volts / ohm if ohm else None
