"""Linear chargers of one lithium cell: a limited current up to the voltage of the full cell."""

from reworkkit.compute.circuit.chips import between, driver, one_input_gate
from reworkkit.compute.circuit.feedback import is_used
from reworkkit.compute.circuit.figures import around, exact
from reworkkit.compute.circuit.parts import current_set, unmodelled
from reworkkit.compute.circuit.pin_roles import roles_of, row_of
from reworkkit.compute.circuit.wiring import Wiring
from reworkkit.model.messages import message
from reworkkit.model.part import Part
from reworkkit.model.results import INNER, Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

_NAMES = {
    "VDD": frozenset(["VDD", "VCC", "IN", "VIN", "V+"]),
    "BAT": frozenset(["BAT", "VBAT", "BATT", "OUT"]),
    "PROG": frozenset(["PROG", "ISET", "RPROG", "IREF"]),
    "STAT": frozenset(["STAT", "CHRG", "CHG", "STAT1"]),
    "CE": frozenset(["CE", "EN"]),
    "GND": frozenset(["GND", "VSS"]),
}
_NEEDED = frozenset(("VDD", "BAT", "PROG", "GND"))
_VOLTS_PERCENT, _AMPS_PERCENT = 1.0, 8.0
_DROPOUT = Band(0.0, 0.05, 0.2, "V", BandBasis.TABLE)
_QUIESCENT = Band(1e-4, 5e-4, 2e-3, "A", BandBasis.TABLE)
"""What it needs above the cell beside what keeps the cell from feeding back, and its own draw; from memory."""
_WORKS_FROM_V = 3.5
_OFF_A = 1e-9
_ONE_WAY = {
    "forward": exact(0.35, "V"),
    "at": exact(0.1, "A"),
    "ideality": exact(1.0, "1"),
    "series": exact(0.02, "ohm"),
}


def charger(wiring: Wiring, part: Part) -> list[Element] | None:
    """Return a charger as a regulator whose limit the resistor at its PROG pin sets; None for other parts.

    Its status output is low while something stands in for the cell: what ends a charge is not in it. Without the
    resistor, or enabled by nothing, it is off. The cell never feeds back through it.
    """
    row = row_of("chargers", part)
    if row is None:
        return None
    pins, told = roles_of(wiring, part, row, _NAMES, _NEEDED)
    if not set(pins) >= _NEEDED or pins["VDD"] == pins["GND"]:
        return unmodelled(wiring, part)
    high, low, cell = pins["VDD"], pins["GND"], pins["BAT"]
    ohm = wiring.lone_resistor(pins["PROG"], low) if pins.get("CE") != low else None
    amps = float(row["set_v"]) / ohm if ohm else _OFF_A
    figures = {
        "volts": around(float(row["volts"]), _VOLTS_PERCENT, "V", BandBasis.TABLE),
        "dropout": _DROPOUT,
        "limit": around(amps, _AMPS_PERCENT, "A", BandBasis.TABLE),
        "quiescent": _QUIESCENT,
    }
    said = (*told, message("circuit-charger", ref=part.ref, volts=f"{row['volts']} V", amps=f"{amps:.3g} A"))
    inside = f"{part.ref}.pass{INNER}"
    return [
        *between(wiring, part.ref, [high], low),
        Element("regulator", part.ref, (high, inside, low, cell), figures, said),
        Element("inner_diode", part.ref, (inside, cell), _ONE_WAY),
        *_status(wiring, part, pins),
        *([current_set(part, pins["PROG"], low, float(row["set_v"]))] if ohm else []),
        Element("unmodelled", part.ref, (pins["PROG"],), {}),
    ]


def _status(wiring: Wiring, part: Part, pins: dict[str, str]) -> list[Element]:
    """Return the status output: an open drain, low while the cell's place draws."""
    out, high, low = pins.get("STAT"), pins["VDD"], pins["GND"]
    if out is None or out in (high, low) or not is_used(wiring, out):
        return []
    charging = pins["BAT"] in wiring.board.facts.loads or wiring.lone_resistor(pins["BAT"], low) is not None
    found = [driver(wiring, part.ref, out, out, low)]
    return [*found, one_input_gate(part.ref, (out, high), (), _WORKS_FROM_V, inverts=True)] if charging else found
