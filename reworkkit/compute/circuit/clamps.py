"""Diodes that chips have inside: inputs of CMOS chips to their supply, through which a dead rail is fed from elsewhere,
and the substrate of regulators, which holds a dead rail near ground where the other rail of a split supply pulls at it.
"""

import re
from collections.abc import Iterator, Sequence

from reworkkit.compute.circuit.figures import exact
from reworkkit.compute.circuit.pin_roles import numbers, row_of
from reworkkit.compute.circuit.wiring import Wiring, words_of
from reworkkit.model.results import Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

_LOGIC = re.compile(
    r"(?:SN|MC|MM|M|TC|CD|DM)?(?:54|74)(?:HCT?|ACT?|C)\d|(?:CD|HEF|HCF|MC1|TC|BU|UTC|F)4[05](?!49|50)\d\d"
    r"|4[05](?!49|50)\d\d[BUP]",
    re.I,
)
"""Families with a diode to their supply; those that stand more than it (LVC, AHC, 4049, 4050) have none."""
_RAIL_TO_RAIL_V = 0.15
"""An amplifier that comes this near its upper supply is made in CMOS, as a rule; from memory."""
_BOARDS = frozenset(("microcontroller",))
_TOLERANT = re.compile(r"STM32|GD32|CH32|LPC\d|(?:blue|black)\s?pill|nucleo", re.IGNORECASE)
"""Controllers many of whose inputs stand more than their supply; from memory."""

SUBSTRATE = {
    "forward": Band(0.45, 0.6, 0.75, "V", BandBasis.TABLE),
    "at": exact(1e-3, "A"),
    "ideality": exact(1.5, "1"),
    "series": exact(5.0, "ohm"),
}
"""The most negative node of a chip is its substrate: what is drawn below it conducts; from memory."""


def clamps(wiring: Wiring, elements: Sequence[Element]) -> Iterator[Element]:
    """Yield a diode from each input to the chip's supply where a resistor leads to it from somewhere else.

    Also one between the output of each regulator that stands on ground and ground.
    """
    made = set()
    for element in elements:
        if element.kind == "regulator" and element.nodes[2] == wiring.ground:
            below = (element.parameters["volts"].nominal or 0.0) < 0
            ends = (element.nodes[1], wiring.ground) if below else (wiring.ground, element.nodes[1])
            yield Element("inner_diode", element.ref, ends, SUBSTRATE)
        for signal, high in _inputs(wiring, element):
            if (element.ref, signal) not in made and _fed_elsewhere(wiring, signal, high):
                made.add((element.ref, signal))
                yield Element("inner_diode", element.ref, (signal, high), wiring.drop("esd_diode"))


def _inputs(wiring: Wiring, element: Element) -> list[tuple[str, str]]:
    """Return the signals of an element that have such a diode, each with the supply it leads to."""
    part = wiring.board.parts.get(element.ref)
    if part is None:
        return []
    if element.kind == "amplifier" and row_of("amplifier_pins", part):
        room = element.parameters["room_high"].nominal or 0.0
        high, _, plus, minus, *_ = element.nodes
        return [(plus, high), (minus, high)] if room <= _RAIL_TO_RAIL_V else []
    if element.kind == "ic" and part.identity.kind in _BOARDS and not _TOLERANT.search(words_of(part)):
        return [(net, element.nodes[0]) for net in wiring.nets_of(part.ref) if not wiring.is_rail(net)]
    if element.kind != "driver":
        return []
    is_cmos = part.identity.kind in _BOARDS or any(_LOGIC.match(number) for number in numbers(part))
    return [(element.nodes[0], element.nodes[1])] if is_cmos else []


def _fed_elsewhere(wiring: Wiring, signal: str, high: str) -> bool:
    if signal in (wiring.ground, high) or wiring.is_rail(signal):
        return False
    resistors = [part for part in wiring.parts_on(signal) if part.identity.kind == "resistor"]
    return any(set(wiring.nets_of(part.ref)) - {signal, high, wiring.ground} for part in resistors)
