"""Amplifiers of a shunt's drop, magnetic and temperature sensors."""

import re

from reworkkit import tables
from reworkkit.compute.circuit.chips import between, driver, one_input_gate
from reworkkit.compute.circuit.conditions import CELSIUS_SPREAD, stated_celsius
from reworkkit.compute.circuit.figures import around, exact, of_cell
from reworkkit.compute.circuit.own_draw import own_draw
from reworkkit.compute.circuit.parts import unmodelled
from reworkkit.compute.circuit.pin_roles import (
    figure_of,
    roles_of,
    row_of,
)
from reworkkit.compute.circuit.transistor_cores import inner
from reworkkit.compute.circuit.wiring import Wiring
from reworkkit.model.messages import Message, message
from reworkkit.model.part import Part
from reworkkit.model.results import INNER, Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

_SENSE_NAMES = {
    "OUT": frozenset(["OUT", "VOUT", "VO"]),
    "IN+": frozenset(["IN+", "+IN", "VIN+", "INP", "RS+", "+VIN", "SENSE+", "IP", "VINP"]),
    "IN-": frozenset(["IN-", "-IN", "VIN-", "INN", "RS-", "-VIN", "SENSE-", "VINN"]),
    "REF": frozenset(["REF", "REF1", "VREF", "REF2"]),
    "CMPOUT": frozenset(["CMPOUT", "ALERT"]),
}
_OUT_NAMES = frozenset(["OUT", "VOUT", "VIOUT"])
_SHUNT_NAMES = {
    "V+": frozenset(["+", "V+", "K", "CATHODE", "OUT"]),
    "GND": frozenset(["-", "V-", "A", "ANODE", "GND"]),
}
_GAIN_PERCENT, _OFFSET_V = 1.5, 5e-4
"""Spread of a gain, offset at a shunt amplifier's input; from memory."""
VARIANTS = {"variants": exact(1.0, "1")}
"""Tells that the same family has other gains, so that another one may be fitted."""
_DIVIDER_OHM, _REFERENCE_OHM = 50e3, 32e3
_SINKS_OHM = 20e3
"""What a voltage sensor's output takes to ground: these sink some ten microampere, no more; from memory."""
_SWITCH_ALIVE_V = 2.0
"""Supply from which a Hall switch is taken to work; from memory: most are made for 2.5 V or more."""


def sense_amplifier(wiring: Wiring, part: Part) -> list[Element] | None:
    """Return an amplifier of a shunt's drop: reference + gain x difference; None for other parts."""
    row = row_of("sense_amplifiers", part)
    if row is None:
        return None
    pins, by_order = roles_of(wiring, part, row, _SENSE_NAMES, ("OUT", "IN+", "IN-"))
    if "IN+" in pins and "V+" not in pins and (row["siemens"] or "V+" not in (row["roles"] or "V+")):
        pins = {"V+": pins["IN+"], "GND": wiring.ground} | pins
    gain = _into_load(wiring, row, pins) if row["siemens"] else figure_of(part, row, "gains")
    inside = pins.get("SENSE", pins.get("OUT")) == pins.get("OUT") and pins.get("A1") == pins.get("A2")
    if gain is None or not inside or not {"OUT", "IN+", "IN-", "V+", "GND"} <= set(pins):
        return unmodelled(wiring, part)
    low = pins["GND"]
    reference, halves = reference_node(wiring, part, pins)
    nodes = (pins["V+"], pins["OUT"], pins["IN+"], pins["IN-"], low, reference)
    told = (*by_order, message("circuit-gain", ref=part.ref, gain=gain))
    figures = output_figures(gain_band(gain), _OFFSET_V) | (VARIANTS if "|" in row["gains"] else {})
    return [
        *between(wiring, part.ref, [pins["V+"]], low),
        *halves,
        Element("amplifier", part.ref, nodes, figures, told),
        *(gain_set(part, pins, float(row["siemens"])) if row["siemens"] else ()),
        *(Element("unmodelled", part.ref, (pins[role],), {}) for role in ("CMPOUT",) if role in pins),
    ]


def gain_set(part: Part, pins: dict[str, str], siemens: float) -> list[Element]:
    """Return what tells that the resistor from the output to ground sets the gain."""
    return [Element("gain_set", part.ref, (pins["OUT"], pins["GND"]), {"siemens": exact(siemens, "S")})]


def reference_node(wiring: Wiring, part: Part, pins: dict[str, str]) -> tuple[str, list[Element]]:
    """Return the node an output stands above: ground, a reference pin, or the middle of two."""
    named = (wiring.node(pin) for pin in wiring.pins(part.ref) if (pin.name or "").upper().startswith("REF"))
    ends = list(dict.fromkeys([*named, *(pins[role] for role in ("REF", "REF2") if role in pins)]))
    if len(ends) < len(("one", "other")):
        return (ends or [pins["GND"]])[0], []
    middle = f"{part.ref}.reference{INNER}"
    return middle, [inner(part.ref, end, middle, _REFERENCE_OHM, 0.5) for end in ends]


def _into_load(wiring: Wiring, row: tables.Row, pins: dict[str, str]) -> float | None:
    """Return the gain of an amplifier whose output is a current: by the one resistor from there to ground."""
    if not {"OUT", "GND"} <= set(pins):
        return None
    ohm = wiring.lone_resistor(pins["OUT"], pins["GND"])
    return None if ohm is None else float(row["siemens"]) * ohm


def magnetic_sensor(wiring: Wiring, part: Part) -> list[Element] | None:
    """Return a linear magnetic sensor without a field at it: its output at a share of its supply."""
    row = row_of("magnetic_levels", part)
    if row is None:
        return None
    pins, by_order = _three(wiring, part, row)
    if not pins:
        return unmodelled(wiring, part)
    low, share, high = (float(row[name]) for name in ("share_low", "share", "share_high"))
    zero, found = share_node(part, pins, share)
    nodes = (pins["V+"], pins["OUT"], pins["GND"], pins["GND"], pins["GND"], zero)
    told = (*by_order, message("circuit-sensor", ref=part.ref, share=share))
    figures = output_figures(gain_band(1.0), (high - low) / 2 * 5.0)
    return [
        *between(wiring, part.ref, [pins["V+"]], pins["GND"]),
        *found,
        Element("amplifier", part.ref, nodes, figures, told),
    ]


def voltage_sensor(wiring: Wiring, part: Part) -> list[Element] | None:
    """Return a sensor that holds its output at a voltage of its own: of temperature in a room, of no magnetic field."""
    row = row_of("voltage_sensors", part)
    if row is None:
        return None
    pins, by_order = _three(wiring, part, row)
    if not pins:
        return unmodelled(wiring, part)
    low, volts, high, room = (float(row[name]) for name in ("volts_low", "volts", "volts_high", "room_high_v"))
    if (celsius := stated_celsius(wiring.facts(part.ref).role or "")) is not None:
        low, volts, high = _at_celsius(celsius, low, high)
    parameters = {
        "volts": Band(low, volts, high, "V", BandBasis.TABLE),
        "dropout": Band(0.02, room, 2 * room, "V", BandBasis.TABLE),
        "limit": Band(0.001, 0.005, 0.02, "A", BandBasis.TABLE),
        "quiescent": Band(1e-5, 1e-4, 3e-3, "A", BandBasis.TABLE),
    }
    told = (*by_order, message("circuit-sensor-volts", ref=part.ref, low=low, high=high))
    return [
        Element("regulator", part.ref, (pins["V+"], pins["OUT"], pins["GND"], pins["OUT"]), parameters, told),
        inner(part.ref, pins["OUT"], pins["GND"], _SINKS_OHM, 100.0),
    ]


_TABLE_C = (10.0, 40.0)
"""Degrees at which the table has its lowest and highest volts, less 2 for the sensor's own error."""


def _at_celsius(celsius: float, low: float, high: float) -> tuple[float, float, float]:
    """Return lowest, usual and highest volts of a sensor at a temperature, by the line through the table's ends."""
    slope = (high - low) / (_TABLE_C[1] - _TABLE_C[0] + 2 * CELSIUS_SPREAD)
    at = low + slope * (celsius - _TABLE_C[0] + CELSIUS_SPREAD)
    return at - CELSIUS_SPREAD * slope, at, at + CELSIUS_SPREAD * slope


def magnetic_switch(wiring: Wiring, part: Part) -> list[Element] | None:
    """Return a Hall switch: its output, which only pulls low, is off unless a magnet is there; None for other parts.

    A latch may stand either way, so that nothing is said of its output.
    """
    row = row_of("magnetic_switches", part)
    if row is None:
        return None
    pins, by_order = _three(wiring, part, row)
    if not pins:
        return unmodelled(wiring, part)
    found = between(wiring, part.ref, [pins["V+"]], pins["GND"])
    found += own_draw(wiring, part.ref, pins["V+"], pins["GND"], of_cell(row["draw_ma"], "A", 1e-3))
    if pins["OUT"] in (pins["V+"], pins["GND"]):
        return found
    output = driver(wiring, part.ref, pins["OUT"], pins["V+"], pins["GND"])
    if row["form"] == "latch":
        return [*found, output]
    pushes = row["form"] == "push"
    there = _magnet(wiring.facts(part.ref).role or "")
    alive, told = (pins["OUT"], pins["V+"]), (*by_order, message("circuit-magnetic-switch", ref=part.ref))
    gate = one_input_gate(
        part.ref, alive, told, _SWITCH_ALIVE_V, inverts=bool(there), pulls_up=pushes, outside=there is None
    )
    return [*found, output, gate]


_MAGNET = re.compile(
    r"magnet|aimant|imán|calamita|(?:output|ausgang|sortie|uscita|salida)\s(?:is\s)?low", re.IGNORECASE
)
_NO_MAGNET = re.compile(
    r"(?:no|without|kein|ohne|sans|senza|sin|geen|zonder|bez)\s(?:a\s)?(?:magnet|aimant|imán|calamita)"
    r"|away|removed|far from",
    re.IGNORECASE,
)


def _magnet(role: str) -> bool | None:
    """Return whether `role` says that a magnet is at a Hall switch; None where it says nothing of one.

    >>> _magnet("magnet in front: output low"), _magnet("no magnet"), _magnet("lid sensor")
    (True, False, None)
    """
    if _NO_MAGNET.search(role):
        return False
    return True if _MAGNET.search(role) else None


def thermal_shunt(wiring: Wiring, part: Part) -> list[Element] | None:
    """Return a sensor that holds 10 mV per kelvin across itself, as LM335; None for other parts.

    Pins by name, else plus and minus by the usual order of its type; its adjustment pin is not reckoned.
    """
    row = row_of("thermal_shunts", part)
    if row is None:
        return None
    pins, by_order = roles_of(wiring, part, row, _SHUNT_NAMES, _SHUNT_NAMES)
    if not {"V+", "GND"} <= set(pins) or pins["V+"] == pins["GND"]:
        return unmodelled(wiring, part)
    low, usual, high = (float(word) for word in row["volts"].split())
    parameters = {
        **wiring.drop("zener_forward"),
        "breakdown": Band(low, usual, high, "V", BandBasis.TABLE),
        "breakdown_at": exact(1e-3, "A"),
        "slope": exact(0.6, "ohm"),
        "knee": exact(0.004, "V"),
    }
    told = (*by_order, message("circuit-sensor-volts", ref=part.ref, low=low, high=high))
    return [Element("zener", part.ref, (pins["GND"], pins["V+"]), parameters, told)]


def _three(wiring: Wiring, part: Part, row: tables.Row) -> tuple[dict[str, str], tuple[Message, ...]]:
    """Return the nodes of output, supply and ground, and what tells them; none where they are not all known."""
    needed = ("OUT", "V+", "GND")
    found, by_order = roles_of(wiring, part, row, {"OUT": _OUT_NAMES}, needed)
    return (found if set(needed) <= set(found) else {}), by_order


def share_node(part: Part, pins: dict[str, str], share: float) -> tuple[str, list[Element]]:
    """Return the inner node that stands at a share of the supply, and the divider that makes it."""
    node = f"{part.ref}.zero{INNER}"
    return node, [
        inner(part.ref, pins["V+"], node, _DIVIDER_OHM * (1 - share), 0.0),
        inner(part.ref, node, pins["GND"], _DIVIDER_OHM * share, 0.0),
    ]


def gain_band(low: float, nominal: float | None = None, high: float | None = None) -> Band:
    """Return the gain of one figure with its spread, or of three."""
    if nominal is None:
        return around(low, _GAIN_PERCENT, "1", BandBasis.TABLE)
    return Band(low, nominal, high, "1", BandBasis.TABLE)


def output_figures(gain: Band, offset_v: float) -> dict[str, Band]:
    """Return the figures of an output that comes near both its supplies."""
    return {
        "gain": gain,
        "offset": Band(-offset_v, 0.0, offset_v, "V", BandBasis.TABLE),
        "room_high": Band(0.005, 0.03, 0.3, "V", BandBasis.TABLE),
        "room_low": Band(0.0, 0.01, 0.05, "V", BandBasis.TABLE),
        "limit": exact(0.01, "A"),
    }
