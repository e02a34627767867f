"""Contacts that stand open or closed, and rows of slides of which `role` tells how each stands."""

import re

from reworkkit.compute.circuit.wiring import Wiring
from reworkkit.model.messages import Message, message
from reworkkit.model.part import Part
from reworkkit.model.results import Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

_SLIDE = re.compile(
    r"(?<![\w.])(?:(?:slide|switch|lever|way|pole|no|nr|number|schalter|sw|pos(?:ition)?)\.?\s?)?(\d)\s?(?:is\s|[=:]\s?)?"
    r"(on|off|closed|open|ein|aus)(?![a-z])",
    re.IGNORECASE,
)
"""How one slide of a row of switches stands: `slide 1 on, 2 off`."""
CALLS_SLIDES = re.compile(r"(?<![a-z])(?:slides?|levers?|ways?|poles?|schalter|switch(?:es)?) \d", re.IGNORECASE)
_SEVERAL = re.compile(
    r"(?<![\w.])(\d(?:(?:,| and| und| et| y| e|, and) ?\d)+)( ?(?:is |are |[=:] ?)?(?:on|off|closed|open|ein|aus))",
    re.I,
)
"""Several that stand alike: `levers 1 and 3 off`."""


def contact(part: Part, pair: tuple[str, str], closed: bool, told: Message) -> Element:
    """Return a contact: closed as a link, whose fault is to be open; open as a switch, whose fault is to be closed."""
    if closed:
        return Element("link", part.ref, pair, {"resistance": Band(0.01, 0.05, 0.5, "ohm", BandBasis.TABLE)}, (told,))
    return Element("switch", part.ref, pair, {"resistance": Band(None, None, None, "ohm", BandBasis.TABLE)}, (told,))


def slides(wiring: Wiring, part: Part) -> list[Element]:
    """Return the contacts of a row of switches of which `role` tells how each stands: slide 1 is opposite to itself.

    Of 2 n leads slide k has k and 2 n + 1 - k, as in every body of two rows.
    """
    pins = {pin.number for pin in wiring.pins(part.ref)}
    role = _SEVERAL.sub(_apart, wiring.facts(part.ref).role or "")
    told = {int(slide): state for slide, state in _SLIDE.findall(role)}
    count = max(map(int, filter(str.isdigit, pins)), default=0)
    if len(told) < 2 or count % 2 or max(told) > count // 2:
        return []
    found = []
    for slide, state in told.items():
        ends = wiring.number(part, str(slide)), wiring.number(part, str(count + 1 - slide))
        if ends[0] and ends[1] and ends[0] != ends[1]:
            closed = state.casefold() in ("on", "closed", "ein")
            slug = "circuit-switch-stated-closed" if closed else "circuit-switch-stated-open"
            found.append(contact(part, (ends[0], ends[1]), closed, message(slug, ref=part.ref)))
    return found


def _apart(found: re.Match[str]) -> str:
    return ", ".join(digit + found[2] for digit in re.findall(r"\d", found[1]))
