"""Protection diodes from the inputs of CMOS chips to their supply: through them a dead rail is fed from elsewhere."""

import re
from collections.abc import Iterator, Sequence

from reworkkit.compute.circuit.pin_roles import numbers, row_of
from reworkkit.compute.circuit.wiring import Wiring, words_of
from reworkkit.model.results import Element

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


def clamps(wiring: Wiring, elements: Sequence[Element]) -> Iterator[Element]:
    """Yield a diode from each input to the chip's supply where a resistor leads to it from somewhere else."""
    made = set()
    for element in elements:
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
