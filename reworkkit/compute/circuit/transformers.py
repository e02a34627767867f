"""Transformers at rest: windings that direct current goes through, where pins or words tell which they are."""

import re
from collections.abc import Iterator, Sequence
from itertools import pairwise

from reworkkit.compute.circuit.parts import unmodelled
from reworkkit.compute.circuit.wiring import Wiring, words_and_notes
from reworkkit.model.part import Part
from reworkkit.model.results import Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

WINDING_OHM = Band(0.01, 0.1, 5.0, "ohm", BandBasis.TABLE)
"""Resistance of a winding of a power transformer; from memory."""
_TAPPED = re.compile(
    r"cent(?:re|er)[ -]?tap|mittel(?:anzapfung|abgriff)|point milieu|presa centrale"
    r"|toma central|middenaftakking|(?<!\d)2\s?[x×]\s?\d+(?:[.,]\d+)?\s?V|\d\s?V?\s?[-–]\s?0\s?V?\s?[-–]\s?\d",
    re.IGNORECASE,
)
_WINDING = re.compile(r"(P(?:RI)?|S(?:EC)?)[ _.-]?(\d*?)[ _.-]?(?:[AB12+-]|CT|IN|OUT|START|END)?", re.IGNORECASE)


def transformer(wiring: Wiring, part: Part) -> list[Element]:
    """Return the windings of a transformer: by pin names such as P1, P2 and S1, S2, or one with a tap by its words."""
    nets = wiring.nets_of(part.ref)
    tapped = len(nets) == len(("start", "tap", "end")) and _TAPPED.search(
        f"{words_and_notes(part)} {wiring.facts(part.ref).role or ''}"
    )
    found = list(_along(part, nets)) if tapped else list(_by_names(wiring, part))
    held = {node for element in found for node in element.nodes}
    return found if held >= set(nets) else [*found, *unmodelled(wiring, part)]


def _along(part: Part, nets: Sequence[str]) -> Iterator[Element]:
    for one, other in pairwise(nets):
        if one != other:
            yield Element("inductor", part.ref, (one, other), {"resistance": WINDING_OHM})


def _by_names(wiring: Wiring, part: Part) -> Iterator[Element]:
    ends: dict[str, list[str]] = {}
    for pin in wiring.pins(part.ref):
        if named := _WINDING.fullmatch((pin.name or pin.number).strip()):
            ends.setdefault(named[1][0].upper(), []).append(wiring.node(pin))
    for nets in ends.values():
        if len(nets) <= len(("start", "tap", "end")):
            yield from _along(part, list(dict.fromkeys(nets)))
