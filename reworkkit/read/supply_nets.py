"""Supplies of board.toml that have a name of their own, not that of a net: they are taken for the power input's net."""

import re
from collections.abc import Collection, Mapping
from dataclasses import replace

from reworkkit.model.facts import BoardFacts
from reworkkit.model.messages import Finding, message
from reworkkit.model.net_names import is_ground_name
from reworkkit.model.netlist import Pin
from reworkkit.model.part import Part
from reworkkit.model.values import Where
from reworkkit.model.vocabulary import Severity
from reworkkit.read.facts_names import BOARD_FILE

_PLUGS = frozenset(("connector", "terminal", "battery", "battery_holder"))
_INPUT = re.compile(
    r"(?<![a-z])(?:in|input|inlet|supply|psu|power|mains|battery|v_?in|dc|entrada|alimentaci[oó]n|bater[ií]a|eingang|netzteil"
    r"|versorgung|akku|batterie|entrée|alimentation|ingresso|alimentazione|batteria|voeding|ingang|zasilanie)(?![a-z])",
    re.IGNORECASE,
)

_VOLTS = re.compile(r"(?<![\w.,])(\d+(?:[.,]\d+)?)\s?V(?![a-z])", re.IGNORECASE)


def supplies_at_plugs(
    facts: BoardFacts, parts: Mapping[str, Part], pins: Mapping[tuple[str, str], Pin], nets: Collection[str]
) -> tuple[BoardFacts, tuple[Finding, ...]]:
    """Return the facts with the only supply that names no net at the net of the only power input, and that told.

    The power input is the plug that leads to ground and one other net; of several the one that the list gives the
    supply's volts, else calls an input or supply. Where that leaves a doubt the facts stay as they are.
    """
    strange = [name for name in facts.supplies if name not in nets]
    if len(strange) != 1 or not nets:
        return facts, ()
    name = strange[0]
    volts = facts.supplies[name].volts
    plugs = _likely(_plugs(facts, parts, pins), parts, float(volts.value) if volts else 0.0)
    if len(plugs) != 1:
        return facts, ()
    ref, net = next(iter(plugs.items()))
    told = message("facts-supply-at-plug", name=name, net=net, ref=ref)
    where = Where(BOARD_FILE, facts.lines.get(f"supplies.{name}", 0))
    return _renamed(facts, name, net), (Finding(told, Severity.CHECK, (ref,), (where,)),)


def _plugs(facts: BoardFacts, parts: Mapping[str, Part], pins: Mapping[tuple[str, str], Pin]) -> dict[str, str]:
    """Return designator -> net of the plugs without a stated load that lead to ground and one net of no stated use."""
    taken = {*facts.supplies, *facts.rails, *facts.loads}
    found: dict[str, str] = {}
    for ref, part in parts.items():
        if part.identity.kind not in _PLUGS or ref in facts.loads:
            continue
        ends = {pin.net for pin in pins.values() if pin.ref == ref and pin.net}
        live = [net for net in ends if net not in facts.board.ground and not is_ground_name(net)]
        if len(ends) == len(("live", "ground")) and len(live) == 1 and live[0] not in taken:
            found[ref] = live[0]
    return found


def _likely(plugs: Mapping[str, str], parts: Mapping[str, Part], volts: float) -> Mapping[str, str]:
    """Return the plugs of those volts by the list, else those called inputs or supplies, else all."""
    words = {ref: f"{_words(parts[ref])} {net}".replace("_", " ") for ref, net in plugs.items()}
    rated = {ref for ref, text in words.items() if volts in map(_figure, _VOLTS.findall(text))}
    chosen = rated or {ref for ref, text in words.items() if _INPUT.search(text)}
    return {ref: plugs[ref] for ref in plugs if ref in chosen} or plugs


def _figure(text: str) -> float:
    return float(text.replace(",", "."))


def _words(part: Part) -> str:
    notes = " ".join(note.text for note in part.notes)
    return f"{part.identity.value.text} {part.identity.description} {part.identity.part_number} {notes}"


def _renamed(facts: BoardFacts, name: str, net: str) -> BoardFacts:
    supplies = {net if key == name else key: one for key, one in facts.supplies.items()}
    points = tuple(replace(one, supply=_with(one.supply, name, net)) for one in facts.hold_points)
    lines = facts.lines | {f"supplies.{net}": facts.lines.get(f"supplies.{name}", 0)}
    return replace(facts, supplies=supplies, hold_points=points, lines=lines)


def _with(supply: str | None, name: str, net: str) -> str | None:
    """Return the supplies of a hold point with one called otherwise.

    >>> _with("PSU, VBAT", "PSU", "VIN")
    'VIN, VBAT'
    """
    if supply is None:
        return None
    return ", ".join(net if one.strip() == name else one.strip() for one in supply.split(","))
