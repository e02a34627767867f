"""Load switches and protected switches: on while their enable pin is, by type or by their nets."""

import re

from reworkkit import tables
from reworkkit.compute.circuit.chips import between
from reworkkit.compute.circuit.enables import pull_down
from reworkkit.compute.circuit.parts import unmodelled
from reworkkit.compute.circuit.pin_roles import by_names, by_type, in_order, row_of
from reworkkit.compute.circuit.wiring import Wiring, words_and_notes
from reworkkit.model.messages import Message, message
from reworkkit.model.part import Part
from reworkkit.model.results import Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

_NAMES = {
    "IN": frozenset(["IN", "VIN", "INPUT", "VI"]),
    "OUT": frozenset(["OUT", "VOUT", "OUTPUT", "VO"]),
    "EN": frozenset(["EN", "ENABLE", "ON", "EN/UVLO", "ON/OFF", "/EN", "EN#", "~EN", "ENB"]),
}
_WORDS = re.compile(
    r"\be-?fuse\b|electronic fuse|load[- ]switch|power[- ]switch|hot[- ]?swap|high[- ]?side[- ]switch"
    r"|current[- ]limit(?:ed|ing)? switch|elektronische sicherung|lastschalter|fusible [ée]lectr",
    re.IGNORECASE,
)
_FED = frozenset(("linear_regulator", "switching_regulator", "motor", "relay"))
_RESERVOIR_FARAD = 1e-6
"""A capacitor from here on is the reservoir of a net that others draw from; common practice, no source."""
_OF_NO_TYPE: tables.Row = {"active": "high", "on_ohm": "0.01 0.05 0.3"}
"""The row of a switch whose type is not known; from memory."""


def power_switch(wiring: Wiring, part: Part) -> list[Element] | None:
    """Return a load switch or protected switch that is on while its enable pin is; None for other parts.

    An enable pin that the netlist does not have is taken as on, which is told; pins beside these hold nothing, but
    that of the current limit is at a voltage of its own. Where nothing tells the pins, the nets do.
    """
    row = row_of("load_switches", part)
    if row is None and not _WORDS.search(words_and_notes(part)):
        return None
    pins = by_names(wiring, part, _NAMES) if row or wiring.facts(part.ref).pins else {}
    if "V+" in pins and "IN" in pins and "EN" not in pins:
        pins |= {"EN": pins["IN"], "IN": pins["V+"]}
    named = {"IN", "OUT"} <= set(pins)
    pins = pins if named or row is None else in_order(wiring, part, row["roles"])
    if not {"IN", "OUT"} <= set(pins) or pins["IN"] == pins["OUT"]:
        guessed = _by_nets(wiring, part) if wiring.guessing else None
        return guessed or (unmodelled(wiring, part) if row else None)
    return _switch(wiring, part, row or _OF_NO_TYPE, pins, () if named else by_type(part))


def _switch(
    wiring: Wiring, part: Part, row: tables.Row, pins: dict[str, str], told: tuple[Message, ...]
) -> list[Element]:
    low = pins.get("GND", wiring.ground)
    active = -1.0 if row["active"] == "low" else 1.0
    enable = pins.get("EN")
    if enable is None:
        enable, told = (pins["IN"] if active > 0 else low), (*told, message("circuit-enable-on", ref=part.ref))
    least, usual, most = (float(word) for word in row["on_ohm"].split())
    band = Band(least, usual, most, "ohm", BandBasis.TABLE)
    threshold = Band(min(active * 0.4, active * 1.6), active, max(active * 0.4, active * 1.6), "V", BandBasis.TABLE)
    limit = pins.get("ILIM")
    return [
        *between(wiring, part.ref, [pins["IN"]], low),
        Element(
            "load_switch",
            part.ref,
            (pins["IN"], pins["OUT"], enable, low),
            {"resistance": band, "threshold": threshold},
            told,
        ),
        *pull_down(part, enable, low),
        *([Element("unmodelled", part.ref, (limit,), {})] if limit and limit != low else []),
    ]


def _by_nets(wiring: Wiring, part: Part) -> list[Element] | None:
    """Return a switch from the only rail at a part to the only other net that supplies others, taken as on."""
    nets = [net for net in wiring.nets_of(part.ref) if net != wiring.ground]
    feeding = [net for net in nets if net in wiring.board.facts.supplies] or [
        net for net in nets if wiring.is_rail(net)
    ]
    fed = [net for net in nets if net not in feeding and _supplies_others(wiring, net, part)]
    if len(feeding) != 1 or len(fed) != 1:
        return None
    told = message("circuit-switch-by-nets", ref=part.ref, inside=feeding[0], out=fed[0])
    wiring.ask((part.ref,), told, f'[parts] {part.ref} = {{ pins = {{ IN = "1", OUT = "2", EN = "3" }} }}')
    rest = tuple(net for net in nets if net not in (*feeding, *fed))
    made = _switch(wiring, part, _OF_NO_TYPE, {"IN": feeding[0], "OUT": fed[0]}, (told,))
    return [*made, *([Element("unmodelled", part.ref, rest, {})] if rest else [])]


def _supplies_others(wiring: Wiring, net: str, part: Part) -> bool:
    """Return whether a net is one that power is taken from: regulators hang on it, or a reservoir."""
    if net in wiring.board.facts.loads or wiring.is_rail(net):
        return True
    return any(other.identity.kind in _FED or _is_reservoir(other) for other in wiring.parts_on(net, part.ref))


def _is_reservoir(part: Part) -> bool:
    main = part.identity.value.main
    if main is None or main.unit != "F":
        return False
    return part.identity.kind.startswith("capacitor") and float(main.value) >= _RESERVOIR_FARAD
