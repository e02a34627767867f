"""What the makers of elements need to know: pins, nets, rails, and where to put questions and findings."""

import re
from collections.abc import Mapping
from functools import cached_property
from types import MappingProxyType

from reworkkit.compute.circuit.figures import Figures
from reworkkit.model.board import Board
from reworkkit.model.designator import natural_key
from reworkkit.model.facts import PartFacts
from reworkkit.model.messages import Finding, Message, NotJudged, message
from reworkkit.model.netlist import Pin
from reworkkit.model.part import Part
from reworkkit.model.results import Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import Fit

_CHIP_KINDS = (
    "ic opamp microcontroller magnetic_current_sensor magnetic_sensor temperature_sensor sensor"
    " oscillator module display microphone"
)
CHIPS = frozenset(_CHIP_KINDS.split())
EXTERNAL = frozenset(("connector", "terminal", "battery", "battery_holder", "motor", "speaker"))
MOST_SERIES_OHM = 10
"""A resistor up to here stands in the way of a supply without holding it up; from memory."""
_PASSES = ("resistor", "inductor", "ferrite_bead", "jumper", "net_tie", "fuse", "solder_jumper")
_ROLE_NAMES = {
    "anode": ("A", "ANODE", "AN"),
    "cathode": ("K", "C", "CATHODE", "KATHODE", "CA"),
    "plus": ("+", "P", "POS", "PLUS"),
    "minus": ("-", "N", "NEG", "MINUS"),
    "gate": ("G", "GATE"),
    "drain": ("D", "DRAIN"),
    "source": ("S", "SOURCE"),
    "IN": ("IN", "VIN", "INPUT", "VI", "PVIN", "AVIN", "V_IN", "+VIN", "VIN+", "I", "SUPPLY"),
    "OUT": ("OUT", "VOUT", "OUTPUT", "VO", "V_OUT", "+VOUT", "VOUT+", "O"),
    "GND": ("GND", "VSS", "GROUND", "COMMON", "COM", "PGND", "AGND", "GND/TAB", "GND/ADJ", "0V", "G"),
    "ADJ": ("ADJ", "ADJUST", "ADJ/GND"),
    "SW": ("SW", "LX", "SWITCH", "PH", "PHASE", "VSW", "SWE"),
    "FB": ("FB", "FEEDBACK", "VFB", "SENSE", "VSENSE", "VSNS", "FBK", "CIN-", "CII", "INV"),
    "LIM": ("LIM", "LIMIT", "LIMITING", "CURRENTLIMIT", "ILIM"),
    "REF": ("REF", "R", "VREF", "REFERENCE"),
    "EN": ("EN", "ENABLE", "ON", "SHDN", "ON/OFF", "CE", "RUN", "ENA", "EN/UVLO", "SHUTDOWN", "INH"),
}


def words_of(part: Part) -> str:
    """Return value, part number and description of a part: lists put their words into any of them."""
    identity = part.identity
    return " ".join(dict.fromkeys((identity.value.text, identity.part_number, identity.description)))


def words_and_notes(part: Part) -> str:
    """Return the words of a part and what the list notes of it: some lists describe parts under "remark"."""
    return " ".join((words_of(part), *(note.text for note in part.notes if note.source == "list")))


def number_of(part: Part) -> str:
    """Return the type number of a part, else its value, else the first that stands in its description."""
    identity = part.identity
    return next(iter(identity.type_numbers), identity.description.strip())


class Wiring:
    """The board seen by its nets; collects questions and findings on the way.

    `drawing`: the parts whose own draw their type tells. `guessing`: parts of unknown type are what only they can be.
    `made`: the elements of the other parts, for parts that are told by what is around them.
    """

    def __init__(
        self,
        board: Board,
        ground: str,
        rails: dict[str, tuple[Band, tuple[Message, ...]]],
        cathodes: Mapping[str, str] = MappingProxyType({}),
        guessing: bool = False,
    ) -> None:
        self.board = board
        self.cathodes = cathodes
        self.guessing = guessing
        self.ground = ground
        self.rails = rails
        self.not_judged: list[NotJudged] = []
        self.findings: list[Finding] = []
        self.made: list[Element] = []
        self.drawing: set[str] = set()
        figures = Figures(board.own_tables)
        self.default, self.figure, self.assumed = figures.default, figures.figure, figures.assumed
        self.of_value, self.drop, self.pinouts = figures.of_value, figures.drop, figures.pinouts

    def ask(self, about: tuple[str, ...], because: Message, answer: str | None = None) -> None:
        """Note a question that stays open."""
        self.not_judged.append(NotJudged(about, message("circuit-question"), because, answer))

    @cached_property
    def _pins(self) -> dict[str, list[Pin]]:
        found: dict[str, list[Pin]] = {}
        for pin in self.board.pins.values():
            found.setdefault(pin.ref, []).append(pin)
        return {ref: sorted(pins, key=lambda pin: natural_key(pin.number)) for ref, pins in found.items()}

    def pins(self, ref: str) -> list[Pin]:
        """Return the pins of a part in natural order of their numbers."""
        return self._pins.get(ref, [])

    def facts(self, ref: str) -> PartFacts:
        """Return what board.toml says of a part."""
        return self.board.facts.parts.get(ref) or PartFacts()

    def node(self, pin: Pin) -> str:
        """Return the node of a pin: its net, or `REF.PIN` where it is connected to nothing."""
        return pin.node

    def nets_of(self, ref: str) -> list[str]:
        """Return the nodes of a part, each once, in the order of its pins."""
        return list(dict.fromkeys(self.node(pin) for pin in self.pins(ref)))

    def is_rail(self, net: str) -> bool:
        """Return whether a net is a rail: stated, or named as one."""
        return net in self.rails and net not in self.board.facts.nets

    def chips_on(self, net: str) -> list[str]:
        """Return the integrated circuits that are to be fitted and have a pin on a net."""
        return [part.ref for part in self.parts_on(net) if part.identity.kind in CHIPS and part.fit is Fit.FIT]

    def parts_on(self, net: str, *without: str) -> list[Part]:
        """Return the parts that have a pin on a net, each once, in the order of the netlist; some left out."""
        pins = self.board.nets[net].pins if net in self.board.nets else ()
        refs = dict.fromkeys(ref for ref, _ in pins if ref not in without)
        return [self.board.parts[ref] for ref in refs if ref in self.board.parts]

    def between(self, one: str, other: str) -> list[Part]:
        """Return the parts that have pins on both nets."""
        far = {part.ref for part in self.parts_on(other)}
        return [part for part in self.parts_on(one) if part.ref in far]

    def lone_resistor(self, one: str, other: str) -> float | None:
        """Return the ohms of the only resistor between two nets; None where there is none, or more than one."""
        mains = [part.identity.value.main for part in self.between(one, other) if part.identity.kind == "resistor"]
        return float(mains[0].value) if len(mains) == 1 and mains[0] and mains[0].unit == "ohm" else None

    def joined(self, one: str, other: str) -> bool:
        """Return whether a two-pin part that passes direct current joins two nets."""
        return any(part.identity.kind in _PASSES for part in self.between(one, other))

    def two_ends(self, part: Part) -> tuple[str, str] | None:
        """Return the two nodes of a two-pin part in the order of its pins, or None."""
        nodes = self.nets_of(part.ref)
        if len(nodes) == 2:
            return nodes[0], nodes[1]
        return None

    def by_role(self, part: Part, role: str) -> str | None:
        """Return the node of a role: by `pins` of board.toml, else by the pin's name or number in letters."""
        stated = {name.upper(): number for name, number in self.facts(part.ref).pins.items()}
        for name in _ROLE_NAMES.get(role, (role,)):
            if name in stated:
                pin = self.board.pins.get((part.ref, stated[name]))
                return self.node(pin) if pin else None
        for pin in self.pins(part.ref):
            if _plain(pin.name or pin.number) in _ROLE_NAMES.get(role, (role,)):
                return self.node(pin)
        return None

    def number(self, part: Part, number: str) -> str | None:
        """Return the node of a pin number, or None."""
        pin = self.board.pins.get((part.ref, number))
        return self.node(pin) if pin else None

    def is_positive_rail(self, net: str) -> bool:
        """Return whether a net is a rail above ground."""
        return self.is_rail(net) and (self.rails[net][0].nominal or 0.0) > 0

    def is_negative_rail(self, net: str) -> bool:
        """Return whether a net is a rail below ground."""
        return net in self.rails and (self.rails[net][0].nominal or 0.0) < 0


def _plain(name: str) -> str:
    bare = re.sub(r"[~{}#]", "", name.upper()).lstrip("/")
    return re.sub(r"\d+$", "", bare) or bare
