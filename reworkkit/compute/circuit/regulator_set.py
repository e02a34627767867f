"""Linear regulators with a set pin: a known current flows out of it, and the output stands where the pin does."""

from reworkkit import tables
from reworkkit.compute.circuit.figures import around, stated
from reworkkit.compute.circuit.regulator_pins import Pins
from reworkkit.compute.circuit.regulator_types import figure
from reworkkit.compute.circuit.wiring import Wiring
from reworkkit.model.messages import Message
from reworkkit.model.part import Part
from reworkkit.model.results import Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

OFFSET_V = 0.003
"""What lies between set pin and output; from memory: 2 mV."""


def by_set_pin(
    wiring: Wiring, part: Part, row: tables.Row, pins: Pins, common_figures: tuple[dict[str, Band], list[Message]]
) -> Element | None:
    """Return a regulator whose output follows its set pin; None where that pin is not known.

    A stated output counts instead of the current and what it flows through.
    """
    figures, told = common_figures
    amps, percent = figure(row, "quiescent_a"), figure(row, "tolerance_percent")
    set_pin = wiring.by_role(part, "SET") or pins.nodes.get("ADJ")
    if amps is None or percent is None or set_pin is None:
        return None
    said = stated(wiring.facts(part.ref).out, percent)
    common = wiring.ground if said else set_pin
    volts = said or Band(-OFFSET_V, 0.0, OFFSET_V, "V", BandBasis.TABLE)
    parameters = {"volts": volts, **figures, "quiescent": around(amps, percent, "A", BandBasis.TABLE)}
    nodes = (pins.nodes["IN"], pins.nodes["OUT"], common, pins.nodes["OUT"])
    return Element("regulator", part.ref, nodes, parameters, (*pins.told, *told))
