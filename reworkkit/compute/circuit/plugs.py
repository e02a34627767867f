"""What is plugged in while a board is measured: lines that are held high or low, a link, a two-wire transmitter."""

import re

from reworkkit.compute.circuit import conditions, switches
from reworkkit.compute.circuit.chips import held_at, named_pins
from reworkkit.compute.circuit.conditions import AMPS_PERCENT, stated_amps
from reworkkit.compute.circuit.figures import around, exact
from reworkkit.compute.circuit.slides import contact
from reworkkit.compute.circuit.wiring import Wiring
from reworkkit.model.messages import Message, message
from reworkkit.model.part import Part
from reworkkit.model.results import Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

_HOLDS_OHM = exact(50.0, "ohm")
"""What a line of something plugged in holds a net by; common practice, no source."""
_PASSES = re.compile(
    r"transmitter|two[- ]wire|2[- ]wire|loop|4\s?(?:-|to|\.\.\.?)\s?20\s?mA|"
    r"(?<![a-z])(?:passes|lets through|sinks)(?![a-z])|messumformer|transmetteur|transmisor|trasmettitore",
    re.IGNORECASE,
)
_DRIVES = re.compile(
    r"(?<![a-z])(?:high|low|holds?|held|drives?|driven|host|controller|PLC|logic|PWM|signals?|pulled|toggles?|hoch|tief|"
    r"treibt|steuer\w*|haut|bas|alto|bajo|basso)(?![a-z])",
    re.IGNORECASE,
)
"""Words of something plugged in that gives its lines a level."""
_LOOP_STARTS = Band(0.5, 3.0, 10.0, "V", BandBasis.TABLE)
"""Voltage a two-wire transmitter works from; from memory: most want 8 to 12 V."""


def plug(wiring: Wiring, part: Part) -> list[Element]:
    """Return what stands at a plug: nothing, a contact, a transmitter's current, lines at levels, else who knows.

    Where guesses are allowed, a net whose level `role` seems to tell in words that are not read may be anywhere.
    """
    if conditions.unplugged(wiring, part):
        return switches.contact_outside(wiring, part)
    if found := _wires(wiring, part) or switches.contact_outside(wiring, part) or _transmitter(wiring, part):
        return [*_outside(wiring, part, ()), *found]
    lines = _lines(wiring, part)
    told = {element.nodes[0] for element in lines}
    found = [*_outside(wiring, part, told), *lines]
    untold = [net for net in wiring.nets_of(part.ref) if net not in told and not _has_level(wiring, net)]
    drives = _DRIVES.search(wiring.facts(part.ref).role or "") and not conditions.stated_elsewhere(wiring, part)
    if wiring.guessing and untold and drives:
        found.append(Element("unmodelled", part.ref, tuple(untold), {}))
    return found


_WIRED = re.compile(
    r"(?<![a-z])(?:link(?:ed)?|joined|bridged?|tied|strapped|shorted|jumper(?:ed)?|(?:by|with) a wire|"
    r"wire (?:link|from|between)|brücke|gebrückt|ponté)(?![a-z])",
    re.IGNORECASE,
)
"""What joins two pins; what is only connected, or wired, to two of them is a load or a sensor."""


def _wires(wiring: Wiring, part: Part) -> list[Element]:
    """Return a link for each clause of `role` that joins two nets of a plug, by pins or nets: `2 linked to GND`."""
    named, found = named_pins(wiring, part), []
    for clause in switches.clauses_that_hold(wiring.facts(part.ref).role or ""):
        words = re.findall(r"[+\-]?[\w/.]+", clause)
        nets = list(dict.fromkeys(named[word.upper()] for word in words if word.upper() in named))
        joins = _WIRED.search(clause) and not conditions.stated_ohms(clause)
        if joins and len(nets) == len(("one", "other")):
            told = message("circuit-switch-stated-closed", ref=part.ref)
            found.append(contact(part, (nets[0], nets[1]), True, told))
    return found


def _outside(wiring: Wiring, part: Part, told: set[str] | tuple[()]) -> list[Element]:
    return [Element("external", part.ref, (net,), {}) for net in wiring.nets_of(part.ref) if net not in told]


def _has_level(wiring: Wiring, net: str) -> bool:
    return net == wiring.ground or wiring.is_rail(net) or net in wiring.board.facts.supplies


def _lines(wiring: Wiring, part: Part) -> list[Element]:
    """Return what joins each net that `role` says is held to ground, where low, or to the only rail there is."""
    nets = wiring.nets_of(part.ref)
    levels = {net: level for net, level in held_at(wiring, part).items() if net in nets and level is not None}
    rails = [net for net in nets if wiring.is_positive_rail(net)]
    others = [net for net in wiring.rails if wiring.is_positive_rail(net) and net not in wiring.board.facts.supplies]
    top = next(iter(rails if len(rails) == 1 else others if len(others) == 1 else ()), None)
    ends = {net: top if level else wiring.ground for net, level in levels.items() if not _has_level(wiring, net)}
    return [
        Element("link", part.ref, (net, end), {"resistance": _HOLDS_OHM}, (_told(part, net),))
        for net, end in ends.items()
        if end is not None
    ]


def _told(part: Part, net: str) -> Message:
    return message("circuit-stated-level", ref=part.ref, net=net)


def _transmitter(wiring: Wiring, part: Part) -> list[Element]:
    """Return the current that `role` says a two-wire transmitter passes, from its fed net to the other."""
    role, nets = wiring.facts(part.ref).role or "", wiring.nets_of(part.ref)
    amps = stated_amps(role)
    if not amps or len(nets) != len(("plus", "minus")) or not _PASSES.search(role):
        return []
    low = [net for net in nets if net == wiring.ground or wiring.lone_resistor(net, wiring.ground)]
    if len(low) != 1:
        return []
    high = next(net for net in nets if net != low[0])
    figures = {"current": around(abs(amps), AMPS_PERCENT, "A"), "from_volts": _LOOP_STARTS}
    return [
        Element("load", part.ref, (high, low[0]), figures, (message("circuit-stated-amps", ref=part.ref, net=high),))
    ]
