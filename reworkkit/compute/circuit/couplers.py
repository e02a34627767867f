"""Optocouplers: the lamp, and the output that its light drives."""

import re

from reworkkit import tables
from reworkkit.compute.circuit.coupler_outputs import special_output
from reworkkit.compute.circuit.parts import unmodelled
from reworkkit.compute.circuit.pin_roles import numbers
from reworkkit.compute.circuit.wiring import Wiring, words_of
from reworkkit.model.messages import Message, message
from reworkkit.model.part import Part
from reworkkit.model.results import Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

_OTHER_OUTPUT = re.compile(
    r"darlington|triac|thyristor|scr(?![a-z])|logic|gate driver|photovoltaic|mosfet|photo-?relay|solid.state|"
    r"high.speed|isolated amplifier|6N13|4N(?:29|3[0-3])|MOC30|H11B|HCPL-?(?:2601|3120|06|26|45|70|73|78)|PC815|"
    r"ACPL-?[MWT]?\d|TLP(?:127|2[23]6|2361|2345|250|35[0-9]|5[0-9]1|222|172|17[0-9]|759)|PS2[57]02|IL4|S20|ISO7|"
    r"Si8|ADUM|AQ[VYW]|VO(?:14|15|30|63)",
    re.IGNORECASE,
)
_NAMES = {
    "A": frozenset(("A", "ANODE", "AN", "LED+", "IN+", "IF+")),
    "K": frozenset(("K", "CATHODE", "KATHODE", "CAT", "KA", "LED-", "IN-", "IF-")),
    "C": frozenset(("C", "COLLECTOR", "COL", "COLL")),
    "E": frozenset(("E", "EMITTER", "EMIT")),
}
_RATIO = Band(0.5, 1.2, 3.0, "1", BandBasis.TABLE)
"""Current transfer ratio where no type tells it; from memory."""


def optocoupler(wiring: Wiring, part: Part) -> list[Element]:
    """Return the lamps of an optocoupler and its outputs as currents of a ratio times that of the lamp.

    Pins by name, else by the usual order of the type, else of four pins. Outputs of another kind than a transistor
    are known by their numbers, else a question. The element "unmodelled" stands for what an output does beyond the
    operating point.
    """
    if (special := special_output(wiring, part)) is not None:
        return special
    text = words_of(part)
    row = _row(wiring, part)
    units, told = _units(wiring, part, row)
    if not units:
        return unmodelled(wiring, part)
    found: list[Element] = []
    plain = row is not None or not _OTHER_OUTPUT.search(text)
    ratio = _ratio(row) if row else _RATIO
    for anode, cathode, collector, emitter in units:
        both_ways = bool(row and row["ac"])
        for ends in ((anode, cathode), (cathode, anode))[: 2 if both_ways else 1]:
            found.append(Element("led", part.ref, ends, dict(wiring.drop("led_infrared")), told))
            if plain and collector and emitter and collector != emitter:
                said = (message("circuit-coupler-ratio", ref=part.ref, band=ratio),)
                found.append(Element("coupler", part.ref, (collector, emitter), {"ratio": ratio}, said))
    lamps = {node for unit in units for node in unit[:2]}
    rest = tuple(node for node in wiring.nets_of(part.ref) if node not in lamps)
    if not any(e.kind == "coupler" for e in found) and rest:
        wiring.ask((part.ref,), message("circuit-coupler-output"))
    lone = len([e for e in found if e.kind == "led"]) != len([e for e in found if e.kind == "coupler"])
    kept = [e for e in found if e.kind != "coupler"] if lone else found
    return [*kept, Element("unmodelled", part.ref, rest, {})] if rest else kept


def coupler_by_type(wiring: Wiring, part: Part) -> list[Element] | None:
    """Return an optocoupler whose number alone tells that it is one; None for other parts."""
    special = special_output(wiring, part) if part.identity.kind not in _NO_COUPLER else None
    return special or (optocoupler(wiring, part) if _row(wiring, part) else None)


_NO_COUPLER = frozenset(("transistor", "transistor_bipolar", "mosfet", "linear_regulator", "switching_regulator"))
"""Kinds whose short numbers may look like those of couplers."""


Unit = tuple[str, str, str | None, str | None]


def _row(wiring: Wiring, part: Part) -> tables.Row | None:
    pins = {pin.number for pin in wiring.pins(part.ref)}
    named = not all(number.isdigit() for number in pins)
    for row in tables.rows("coupler_types"):
        if any(re.match(row["pattern"], number) for number in numbers(part)):
            used = {n for unit in row["units"].split("|") for n in unit.split()}
            if named or (pins <= used | {"6", "3"} and used & pins):
                return row
    return None


def _ratio(row: tables.Row) -> Band:
    """Return the ratio by its rank, lower where the lamp has little current or age."""
    low, usual, high = (float(row[name]) for name in ("ratio_low", "ratio", "ratio_high"))
    return Band(0.5 * low, usual, high, "1", BandBasis.TABLE)


def _units(wiring: Wiring, part: Part, row: tables.Row | None) -> tuple[list[Unit], tuple[Message, ...]]:
    if named := _named(wiring, part):
        return named, ()
    pins = [pin.number for pin in wiring.pins(part.ref)]
    orders = row["units"] if row else "1 2 4 3" if set(pins) <= set("1234") else ""
    units = []
    for order in filter(None, orders.split("|")):
        anode, cathode, collector, emitter = (wiring.number(part, number) for number in order.split())
        if anode and cathode and anode != cathode:
            units.append((anode, cathode, collector, emitter))
    return units, (message("circuit-role-by-type", ref=part.ref),) if units else ()


def _named(wiring: Wiring, part: Part) -> list[Unit]:
    """Return the units by pin names: A, K, C, E, with a number or letter behind where there are several."""
    stated = {number: name.upper() for name, number in wiring.facts(part.ref).pins.items()}
    found: dict[str, dict[str, str]] = {}
    for pin in wiring.pins(part.ref):
        name = (stated.get(pin.number) or pin.name or pin.number).upper().replace("_", "").replace(" ", "")
        for role, names in _NAMES.items():
            match = re.fullmatch(rf"({'|'.join(map(re.escape, sorted(names, key=len, reverse=True)))})(\d?)", name)
            if match:
                found.setdefault(match[2], {}).setdefault(role, wiring.node(pin))
    return [
        (unit["A"], unit["K"], unit.get("C"), unit.get("E"))
        for _, unit in sorted(found.items())
        if "A" in unit and "K" in unit and unit["A"] != unit["K"]
    ]
