"""Protectors of one cell: two outputs that hold both transistors on while the cell is well."""

from dataclasses import replace

from reworkkit.compute.circuit.chips import between, driver, one_input_gate
from reworkkit.compute.circuit.feedback import is_used
from reworkkit.compute.circuit.figures import exact
from reworkkit.compute.circuit.own_draw import own_draw
from reworkkit.compute.circuit.parts import unmodelled
from reworkkit.compute.circuit.pin_roles import roles_of, row_of
from reworkkit.compute.circuit.wiring import Wiring
from reworkkit.model.messages import message
from reworkkit.model.part import Part
from reworkkit.model.results import Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

_NAMES = {
    "DO": frozenset(["DO", "OD", "DOUT", "DISCHARGE"]),
    "CO": frozenset(["CO", "OC", "COUT", "CHARGE"]),
    "CS": frozenset(["CS", "VM", "CSI", "V-", "VMINUS"]),
    "V+": frozenset(["VCC", "VDD", "BAT", "V+"]),
    "GND": frozenset(["GND", "VSS"]),
}
_DRAW = Band(1e-7, 3e-6, 1e-5, "A", BandBasis.TABLE)
"""Own current; from memory (DW01A: 3 microampere)."""


def protector(wiring: Wiring, part: Part) -> list[Element] | None:
    """Return a protector of one cell: both outputs high while its cell is above the limit; None for other parts.

    They begin high: one that has cut off has no supply of its own, and would stay so. What it does after too much
    current, and that it may have to be woken by a charger, is not in it.
    """
    row = row_of("cell_protectors", part)
    if row is None:
        return None
    pins, by_order = roles_of(wiring, part, row, _NAMES, ("DO", "CO", "V+", "GND"))
    if not {"DO", "CO", "V+", "GND"} <= set(pins) or pins["V+"] == pins["GND"]:
        return unmodelled(wiring, part)
    high, low = pins["V+"], pins["GND"]
    told = (*by_order, message("circuit-cell", ref=part.ref))
    least = float(row["least_v"])
    found = [*between(wiring, part.ref, [high], low), *own_draw(wiring, part.ref, high, low, _DRAW)]
    for out in dict.fromkeys((pins["DO"], pins["CO"])):
        if out not in (high, low) and is_used(wiring, out):
            pin = driver(wiring, part.ref, out, high, low, "driver_slow")
            found += [replace(pin, parameters={**pin.parameters, "begins": exact(1.0, "1")})]
            found += [one_input_gate(part.ref, (out, high), told, least, pulls_up=True)]
    return found
