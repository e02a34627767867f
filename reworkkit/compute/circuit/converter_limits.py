"""What a converter makes at most when nothing comes back to its feedback pin: its switch gives way, or its load."""

from reworkkit import tables
from reworkkit.compute.circuit.regulator_pins import Pins
from reworkkit.compute.circuit.regulator_types import figure
from reworkkit.compute.circuit.wiring import Wiring
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

SWITCH_V = 22.0
"""What the switch of a step-up converter stands at least; from memory, over the common types."""
ABOVE = 1.2
"""A converter always makes more than so many times what it is to make (a guess)."""


def highest(wiring: Wiring, row: tables.Row | None, pins: Pins, volts: Band, out: str) -> Band | None:
    """Return what the switch of a step-up converter stands [V]; None where its output is not foreseen.

    The limit of its input with an output pin of its own, else more; always more than what it is to make.
    """
    meant = _meant(wiring, pins, out, wiring.ground, volts)
    if not meant or pins.nodes.get("GND") != wiring.ground:
        return None
    limit, own = figure(row, "most_in_v") or SWITCH_V, pins.nodes.get("OUT") == out
    least = max(limit if own else max(limit, SWITCH_V), ABOVE * meant)
    return Band(least, (1.1 if own else 1.35) * least, (1.3 if own else 2.0) * least, "V", BandBasis.TABLE)


def farthest(wiring: Wiring, row: tables.Row | None, pins: Pins, volts: Band) -> Band | None:
    """Return what a converter whose ground pin is its output makes at most [V]; None for others.

    Anything from a little more than it is to make up to the limit of its switch, which has input and output across it.
    """
    low = pins.nodes.get("GND")
    if low is None or low == wiring.ground or not (meant := _meant(wiring, pins, wiring.ground, low, volts)):
        return None
    least, limit = ABOVE * meant, max(figure(row, "most_in_v") or SWITCH_V, 2 * meant)
    return Band(least, (least + limit) / 2, limit, "V", BandBasis.TABLE)


def _meant(wiring: Wiring, pins: Pins, high: str, low: str, volts: Band) -> float:
    """Return what a converter is to make [V]: what it holds, times its divider where the feedback pin has one."""
    feedback, held = pins.nodes.get("FB"), abs(volts.nominal or 0.0)
    if not feedback or feedback == high:
        return held
    top, bottom = (wiring.lone_resistor(feedback, net) for net in (high, low))
    return held * (1 + top / bottom) if top and bottom else 0.0
