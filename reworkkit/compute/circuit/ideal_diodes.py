"""Controllers that make an ideal diode of a transistor: the gate follows what the transistor drops."""

from reworkkit import tables
from reworkkit.compute.circuit.chips import between
from reworkkit.compute.circuit.figures import exact
from reworkkit.compute.circuit.parts import unmodelled
from reworkkit.compute.circuit.pin_roles import roles_of, row_of
from reworkkit.compute.circuit.wiring import Wiring
from reworkkit.model.part import Part
from reworkkit.model.results import INNER, Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

GAIN = 2000.0
"""Volts at the gate for each volt by which the drop is off; from memory: some ten millivolt turn it from end to end."""
_NAMES = {
    "IN": frozenset(["VIN", "IN"]),
    "SENSE": frozenset(["SENSE", "VOUT", "OUT"]),
    "GATE": frozenset(["GATE", "G"]),
}

_ABOVE_NAMES = {
    "A": frozenset(["A", "ANODE", "IN", "VIN"]),
    "K": frozenset(["K", "CATHODE", "OUT", "VOUT"]),
    "GATE": _NAMES["GATE"],
    "VCAP": frozenset(["VCAP"]),
    "EN": frozenset(["EN", "SHDN"]),
}


def ideal_diode(wiring: Wiring, part: Part) -> list[Element] | None:
    """Return the controller of an ideal diode; None for other parts.

    Its gate pin goes low as far as the transistor drops more than its usual 20 mV from input to sense pin, and up to
    the sense pin where that is above the input (LTC4412 sheet, from memory). A control pin that is not at ground may
    switch it off, so nothing is said then.
    """
    row = row_of("ideal_diodes", part)
    if row is None:
        return None
    if row["channel"] == "n":
        return _above(wiring, part, row)
    pins, told = roles_of(wiring, part, row, _NAMES, _NAMES)
    if not {*_NAMES, "GND"} <= set(pins) or pins.get("CTL", pins["GND"]) != pins["GND"]:
        return unmodelled(wiring, part)
    nodes = (pins["SENSE"], pins["GATE"], pins["SENSE"], pins["IN"], pins["GND"], pins["GND"])
    supplies = between(wiring, part.ref, [pins["IN"], pins["SENSE"]], pins["GND"])
    room = Band(0.0, 0.5, 3.0, "V", BandBasis.TABLE)
    return [*supplies, Element("amplifier", part.ref, nodes, _figures(float(row["drop_v"]), room), told)]


def _above(wiring: Wiring, part: Part, row: tables.Row) -> list[Element]:
    """Return the controller of an N-channel transistor whose source is at the input: a pump lifts its gate above that.

    An enable pin at ground may hold it off, so nothing is said then.
    """
    pins, told = roles_of(wiring, part, row, _ABOVE_NAMES, ("A", "K", "GATE"))
    if not {"A", "K", "GATE", "GND"} <= set(pins) or pins.get("EN") == pins["GND"]:
        return unmodelled(wiring, part)
    pump = pins.get("VCAP") or f"{part.ref}.pump{INNER}"
    lifted = {
        "volts": Band(8.0, 11.0, 14.0, "V", BandBasis.TABLE),
        "follows": exact(0.0, "1/V"),
        "inner": exact(1000.0, "ohm"),
        "limit": exact(0.001, "A"),
        "start": Band(2.5, 3.5, 4.5, "V", BandBasis.TABLE),
        "efficiency": exact(0.5, "1"),
    }
    nodes = (pump, pins["GATE"], pins["A"], pins["K"], pins["A"], pins["A"])
    return [
        *between(wiring, part.ref, [pins["A"]], pins["GND"]),
        Element("isolated", part.ref, (pins["A"], pins["GND"], pump, pins["A"]), lifted),
        Element("amplifier", part.ref, nodes, _figures(-float(row["drop_v"]), exact(0.0, "V")), told),
    ]


def _figures(drop_v: float, room_low: Band) -> dict[str, Band]:
    return {
        "gain": exact(GAIN, "1"),
        "offset": Band(min(drop_v / 2, 2 * drop_v), drop_v, max(drop_v / 2, 2 * drop_v), "V", BandBasis.TABLE),
        "room_high": Band(0.0, 0.01, 0.1, "V", BandBasis.TABLE),
        "room_low": room_low,
        "limit": exact(0.001, "A"),
    }
