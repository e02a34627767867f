"""Bipolar transistors and relay coils."""

import re

from reworkkit.compute.circuit.figures import around, assumed, default, drop
from reworkkit.compute.circuit.parts import unmodelled
from reworkkit.compute.circuit.wiring import Wiring
from reworkkit.model.messages import message
from reworkkit.model.part import Part
from reworkkit.model.quantity import parse_quantity
from reworkkit.model.results import Element

_PNP = re.compile(r"(?:BC(?:32|55|80|85|86)[0-9]|BC(?:30[789]|327|328|640|638|636|516)|2N(?:3906|2907|4403|5401)|"
                  r"M?MBT(?:3906|2907|4403|5401|A55|A56|A92)|S(?:8550|9012|9015)|SS8550|TIP(?:32|42|12[567])|"
                  r"BD(?:136|138|140)|2SA|2SB|BCP5[123])", re.IGNORECASE)  # fmt: skip
_BUILT_IN = re.compile(r"DT[AC]|PDT|MUN|RN[12]|digital|darlington|TIP1[0-4]|ULN", re.IGNORECASE)
COIL_PERCENT = 12.0
"""Spread of a relay coil with its temperature and make; from memory."""


def bipolar(wiring: Wiring, part: Part) -> list[Element]:
    """Return a transistor with named or stated pins; others, and those with resistors inside, are not modelled.

    The element "unmodelled" stays beside it: what a transistor does beyond the operating point is not known.
    """
    text = f"{part.identity.value.text} {part.identity.part_number} {part.identity.description}"
    nodes = [wiring.by_role(part, role) for role in ("C", "B", "E")]
    if None in nodes or _BUILT_IN.search(text):
        return unmodelled(wiring, part)
    plus = re.search(r"(?<![a-z])pnp", text, re.IGNORECASE) or _PNP.match(part.identity.value.text)
    parameters = {**drop("bipolar_base"), "gain": default("bipolar_gain")}
    told = (assumed("bipolar_gain", part.ref),)
    found = Element("unmodelled", part.ref, tuple(wiring.node(pin) for pin in wiring.pins(part.ref)), {})
    return [Element("pnp" if plus else "npn", part.ref, tuple(n for n in nodes if n), parameters, told), found]


def relay(wiring: Wiring, part: Part) -> list[Element]:
    """Return the coil of a relay whose ohms the list tells, where only its two coil pins are on the netlist."""
    ends = wiring.two_ends(part)
    words = f"{part.identity.value.text} {part.identity.description}"
    ohms = [q for q in (parse_quantity(w, "ohm") for w in _ohm_words(words)) if q and q.unit == "ohm"]
    if ends is None or not ohms:
        return unmodelled(wiring, part)
    coil = around(float(ohms[0].value), COIL_PERCENT, "ohm")
    return [Element("inductor", part.ref, ends, {"resistance": coil}, (message("circuit-coil", ref=part.ref),))]


def _ohm_words(words: str) -> list[str]:
    return re.findall(r"(?<![\w.])\d+(?:\.\d+)?\s?(?:[Rr](?![a-z])|ohm|Ω|k(?:ohm|Ω)?)(?![a-z])", words)
