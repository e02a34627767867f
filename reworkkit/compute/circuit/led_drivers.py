"""LED drivers that switch the lower end of a string and hold its current by a resistor at its top."""

from reworkkit.compute.circuit.chips import between
from reworkkit.compute.circuit.figures import around, exact
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
    "SW": frozenset(["SW", "LX", "DRAIN"]),
    "SENSE": frozenset(["SENSE", "CSN", "ISENSE", "SET", "CS"]),
    "IN": frozenset(["IN", "VIN", "VCC", "VDD"]),
    "DIM": frozenset(["DIM", "ADJ", "CTRL"]),
}
_STARTS_V = 5.0
"""Supply from which such a driver works; 6 to 8 V of most (makers' sheets, from memory)."""
_EFFICIENCY = (0.8, 0.9, 0.97)
_IDLE_A = (1e-4, 3e-4, 1e-3)


def led_driver(wiring: Wiring, part: Part) -> list[Element] | None:
    """Return a driver as a source from its supply to its switched pin: sense voltage over resistor; None for others.

    It gives that current while the string needs less than the supply, and draws power for it. A dimming pin at ground
    turns it off.
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
    off = pins.get("DIM") == wiring.ground
    amps = 1e-9 if off else float(row["sense_v"]) / ohm
    figures = {
        "volts": exact(1.0, "1"),
        "follows": exact(1.0, "1"),
        "inner": exact(0.1, "ohm"),
        "limit": around(amps, 5, "A", BandBasis.TABLE),
        "start": around(_STARTS_V, 20, "V", BandBasis.TABLE),
        "efficiency": Band(*_EFFICIENCY, "1", BandBasis.TABLE),
    }
    said = (*told, message("circuit-led-driver", ref=part.ref, amps=f"{amps:.3g} A"))
    return [
        *between(wiring, part.ref, [pins["IN"]], pins["GND"]),
        Element("isolated", part.ref, (pins["IN"], pins["GND"], pins["IN"], pins["SW"]), figures, said),
        *own_draw(wiring, part.ref, pins["IN"], pins["GND"], Band(*_IDLE_A, "A", BandBasis.TABLE)),
    ]
