"""The elements inside a transistor part: one junction transistor, two as a Darlington, resistors beside them."""

from typing import NamedTuple

from reworkkit.compute.circuit.wiring import Wiring
from reworkkit.model.messages import Message
from reworkkit.model.results import INNER, Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

RESISTOR_PERCENT = 30.0
"""Spread of a resistor inside a transistor or an array; from memory."""
ACROSS_FIRST_OHM, ACROSS_SECOND_OHM = 8000.0, 120.0
"""Resistors across the bases of a power Darlington; from memory (TIP120 to TIP127)."""


class Ends(NamedTuple):
    """Nodes of a transistor."""

    collector: str
    base: str
    emitter: str


class Make(NamedTuple):
    """What a transistor is: npn or pnp, small, power or array, its gain, and what is said of it."""

    kind: str
    size: str
    gain: Band
    told: tuple[Message, ...]


def single(wiring: Wiring, ref: str, ends: Ends, make: Make) -> Element:
    """Return one junction transistor."""
    key = {"power": "bipolar_power", "array": "bipolar_array"}.get(make.size, "bipolar_base")
    return Element(make.kind, ref, tuple(ends), {**wiring.drop(key), "gain": make.gain}, make.told)


def darlington(
    wiring: Wiring, ref: str, ends: Ends, make: Make, across: tuple[float, float] | None, unit: str = ""
) -> list[Element]:
    """Return the two transistors of a Darlington, the one that carries the load first, and resistors across them."""
    middle = f"{ref}.base2{unit}{INNER}"
    found = [
        single(wiring, ref, Ends(ends.collector, middle, ends.emitter), make),
        single(wiring, ref, Ends(ends.collector, ends.base, middle), make._replace(size="small", told=())),
    ]
    if across:
        found += [inner(ref, ends.base, middle, across[0]), inner(ref, middle, ends.emitter, across[1])]
    return found


def inner(ref: str, one: str, other: str, ohm: float, percent: float = RESISTOR_PERCENT) -> Element:
    """Return a resistance inside a part; it has no faults of its own."""
    spread = ohm * percent / 100
    band = Band(ohm - spread, ohm, ohm + spread, "ohm", BandBasis.TABLE)
    return Element("inner", ref, (one, other), {"resistance": band})
