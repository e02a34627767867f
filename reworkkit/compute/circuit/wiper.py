"""Where the wiper of a potentiometer stands, as the list or `role` of [parts] tells it."""

import re

from reworkkit.compute.circuit.wiring import Wiring, words_of
from reworkkit.model.part import Part
from reworkkit.model.part_value import parse_part_value

_PLACE = re.compile(
    r"(?<!\w)(?:at|set(?: to)?|auf|bei|position|à|al?|em|op|na|på)\s?(\d{1,3})\s?(?:%|percent|prozent)"
    r"|(\d{1,3})\s?% (?:travel|position|of travel)",
    re.IGNORECASE,
)
_OF_VOLTS = re.compile(r"% of (?:the )?(?:voltage|volts)(?: (?:on|at|of) (?:pin|lead|end) (\d))?", re.IGNORECASE)
"""A place told by what the wiper divides: near the end that is named the more the nearer."""
_FROM = re.compile(
    r"%[ ,]*(?:(?:of (?:the )?(?:track|travel|way)|counted|measured|seen|gezählt|gerechnet|compté|contad?to)[ ,]*)?"
    r"(?:from|off|von|ab|depuis|desde|da(?:l)?) (?:the )?((?:pin|lead|end|broche) \d|[\w+./-]+)",
    re.IGNORECASE,
)
"""The end that a share is counted from."""
_MIDDLE = re.compile(
    r"mid(?:dle|[- ]?(?:travel|position|point|way|scale))?(?![a-z])|"
    r"cent(?:re|er)(?:d|red)?(?![a-z])|half(?:[ -]?way)?(?![a-z])|mitte|milieu|mi-?course|(?<!\w)(?:al?|no|en) (?:el )?"
    r"(?:centro|medio|meio|mitad|metà|metade)(?!\w)|halverwege|in het midden|w połowie|pośrodku",
    re.IGNORECASE,
)
_OHMS = r"(?P<ohms>\d+(?:[.,]\d+)?\s?[kM]?\d*)\s?(?:ohms?|Ω)?"
_LEFT = r"(?:(?:are|is|left|remains?|remaining)\s){0,3}"
_WIPER = r"(?:the )?(?:wiper|slider|schleifer|curseur|cursore?|loper|suwak)"
_BETWEEN = r"\s(?:to|and|und|et|y|e|en|-|gegen|nach|vers|à|a|naar|do|i)\s(?:the )?"
_END = r"(?P<end>(?:pin|lead|end|broche)\s\d|[\w+./-]+)"
_MEASURED = tuple(
    re.compile(pattern, re.IGNORECASE)
    for pattern in (
        rf"(?<![\w.]){_OHMS}\s{_LEFT}(?:from|between|zwischen|entre|von|de|tra|tussen|od)\s{_WIPER}{_BETWEEN}{_END}",
        rf"(?<![\w.]){_OHMS}\s{_LEFT}(?:from|between|zwischen|entre|von|de|tra|tussen|od)\s{_END}{_BETWEEN}{_WIPER}",
        rf"{_WIPER}{_BETWEEN}{_END}\s?(?:=|:|is|reads|measures)?\s?{_OHMS}",
        rf"(?<![\w.]){_OHMS}\sto\s{_END}",
    )
)
"""Ohms that were measured from the wiper to an end, in the ways people tell it."""
_BETWEEN_PINS = re.compile(
    rf"(?<![\w.]){_OHMS}\s{_LEFT}(?:from|between|zwischen|entre|von|tra)\s(?:pin )?(\d){_BETWEEN}(?:pin )?(\d)(?!\w)",
    re.I,
)
_GROUND = frozenset(("ground", "gnd", "0v", "masse", "minus", "massa", "masa", "terre", "erde"))


def place_of_wiper(wiring: Wiring, part: Part, track_ohm: float, ends: tuple[str, str]) -> float | None:
    """Return the share of the track before the wiper where the list or `role` of [parts] states it, else None.

    `ends` are the nets of the first and the last lead. Ohms to one end go before percent.
    """
    role = wiring.facts(part.ref).role or ""
    words = f"{role} | {words_of(part)}"
    if (measured := _by_ohms(wiring, part, role, track_ohm, ends)) is not None:
        return measured
    if found := _PLACE.search(words):
        share = float(found[1] or found[2]) / 100
        if share > 1:
            return None
        if (end := _FROM.search(words)) and _is_first(wiring, part, end[1], ends) is False:
            return 1 - share
        first = _OF_VOLTS.search(words)
        return share if first is None or first[1] != "1" else 1 - share
    return 0.5 if _MIDDLE.search(words) else None


def _by_ohms(wiring: Wiring, part: Part, words: str, track_ohm: float, ends: tuple[str, str]) -> float | None:
    """Return the share of the track before the wiper by the ohms from it to an end of it."""
    wiper = {wiring.node(pin) for pin in wiring.pins(part.ref)} - set(ends)
    for found in _BETWEEN_PINS.finditer(words):
        nets = [wiring.number(part, found[n]) for n in (2, 3)]
        far = [net for net in nets if net in ends]
        share = _share_of(found["ohms"], track_ohm)
        if len(far) == 1 and set(nets) - {far[0]} <= wiper and 0 <= share <= 1 and ends[0] != ends[1]:
            return share if far[0] == ends[0] else 1 - share
    for pattern in _MEASURED:
        for found in pattern.finditer(words):
            first = _is_first(wiring, part, found["end"], ends)
            share = _share_of(found["ohms"], track_ohm)
            if first is not None and 0 <= share <= 1:
                return share if first else 1 - share
    return None


def _share_of(written: str, track_ohm: float) -> float:
    """Return the share of a track that written ohms are; beyond 1 where they are no figure."""
    ohms = parse_part_value(written.replace(" ", ""), "resistor").main
    return float(ohms.value) / track_ohm if ohms else 2.0


def _is_first(wiring: Wiring, part: Part, said: str, ends: tuple[str, str]) -> bool | None:
    """Return whether an end that is named is the first; None where it is neither or both."""
    word, _, number = (f"pin {said}" if said.isdigit() else said).casefold().partition(" ")
    net = wiring.number(part, number) if number else wiring.ground if word in _GROUND else None
    mine = [end == net if net else end.casefold() == word for end in ends]
    return mine[0] if mine.count(True) == 1 else None
