"""Controllers that make an ideal diode of a P-channel transistor: the gate follows what the transistor drops."""

from reworkkit.compute.circuit.chips import between
from reworkkit.compute.circuit.figures import exact
from reworkkit.compute.circuit.parts import unmodelled
from reworkkit.compute.circuit.pin_roles import roles_of, row_of
from reworkkit.compute.circuit.wiring import Wiring
from reworkkit.model.part import Part
from reworkkit.model.results import Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

GAIN = 2000.0
"""Volts at the gate for each volt by which the drop is off; from memory: some ten millivolt turn it from end to end."""
_NAMES = {
    "IN": frozenset(["VIN", "IN"]),
    "SENSE": frozenset(["SENSE", "VOUT", "OUT"]),
    "GATE": frozenset(["GATE", "G"]),
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
    pins, told = roles_of(wiring, part, row, _NAMES, _NAMES)
    if not {*_NAMES, "GND"} <= set(pins) or pins.get("CTL", pins["GND"]) != pins["GND"]:
        return unmodelled(wiring, part)
    drop = float(row["drop_v"])
    figures = {
        "gain": exact(GAIN, "1"),
        "offset": Band(drop / 2, drop, 2 * drop, "V", BandBasis.TABLE),
        "room_high": Band(0.0, 0.01, 0.1, "V", BandBasis.TABLE),
        "room_low": Band(0.0, 0.5, 3.0, "V", BandBasis.TABLE),
        "limit": exact(0.001, "A"),
    }
    nodes = (pins["SENSE"], pins["GATE"], pins["SENSE"], pins["IN"], pins["GND"], pins["GND"])
    supplies = between(wiring, part.ref, [pins["IN"], pins["SENSE"]], pins["GND"])
    return [*supplies, Element("amplifier", part.ref, nodes, figures, told)]
