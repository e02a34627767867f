"""Operational amplifiers and comparators: what their outputs follow."""

import re
from typing import NamedTuple

from reworkkit import tables
from reworkkit.compute.circuit.chips import between, driver, level
from reworkkit.compute.circuit.feedback import feedback, is_defined, is_used, stages_of
from reworkkit.compute.circuit.figures import exact, of_cell
from reworkkit.compute.circuit.pin_roles import is_low_name, is_supply_name, known_pins, row_of
from reworkkit.compute.circuit.stages import Stages
from reworkkit.compute.circuit.wiring import Wiring, words_of
from reworkkit.model.messages import Message, message
from reworkkit.model.part import Part
from reworkkit.model.results import INNER, Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

_COMPARES = re.compile(r"comparat(?:or|eur|ore)|comparador|komparator", re.I)
_PUSHES = re.compile(r"push.?pull", re.I)
_UNIT = "([1-4A-D]?)"
_ROLES = (
    ("out", re.compile(rf"V?(?:OUT|OUTPUT|O){_UNIT}|{_UNIT}V?(?:OUT|OUTPUT|O)")),
    ("plus", re.compile(rf"V?IN{_UNIT}[+P]|[+P]V?IN{_UNIT}|V?IN[+P]{_UNIT}|{_UNIT}V?IN[+P]|{_UNIT}I?\+|NONINV{_UNIT}")),
    ("minus", re.compile(rf"V?IN{_UNIT}[-NM]|[-N]V?IN{_UNIT}|V?IN[-NM]{_UNIT}|{_UNIT}V?IN[-N]|{_UNIT}I?-|INV{_UNIT}")),
)
OPEN_LOOP = 1e5
"""Gain of an operational amplifier without feedback; from memory."""


class Unit(NamedTuple):
    """One amplifier of a part: nodes of its output and inputs."""

    out: str
    plus: str
    minus: str
    emitter: str = ""
    """Where an open output pulls to, of a type that has a pin of its own for it."""


class Placed(NamedTuple):
    """The units of a part, its supplies, and whether the type's usual pin numbers told."""

    units: tuple[Unit, ...]
    high: str
    low: str
    by_type: bool


def amplifier(wiring: Wiring, part: Part) -> list[Element] | None:
    """Return the units of an operational amplifier or comparator; None for other parts and where no pins are known.

    A unit whose output works against a change at its inputs, through resistors or through stages, holds both inputs
    alike; one whose output only works along with it compares. Where it does both and the way against is no shorter,
    nothing is said of its output.
    """
    if not amplifies(wiring, part):
        return None
    row = row_of("amplifier_pins", part, known_pins(part, wiring)) or row_of("amplifier_pins", part)
    words = words_of(part)
    placed = _placed(wiring, part, row)
    if placed is None:
        return None
    compares = row["form"] != "opamp" if row else bool(_COMPARES.search(words))
    pushes = row["form"] == "push_pull" if row and compares else not compares or bool(_PUSHES.search(words))
    found: list[Element] = []
    stages = stages_of(wiring)
    for unit in placed.units:
        told = (message("circuit-role-by-type", ref=part.ref),) if placed.by_type and not found else ()
        found += _of_unit(wiring, part, unit, placed, (compares, pushes), row, told, stages)
    return [*between(wiring, part.ref, [placed.high], placed.low), *found]


def amplifies(wiring: Wiring, part: Part) -> bool:
    """Return whether a part is an operational amplifier or a comparator, by type number, kind or words."""
    by_type = row_of("amplifier_pins", part, known_pins(part, wiring)) is not None
    return by_type or part.identity.kind == "opamp" or bool(_COMPARES.search(words_of(part)))


def _of_unit(
    wiring: Wiring,
    part: Part,
    unit: Unit,
    placed: Placed,
    how: tuple[bool, bool],
    row: tables.Row | None,
    told: tuple[Message, ...],
    stages: Stages,
) -> list[Element]:
    compares, pushes = how
    if unit.out == wiring.ground or (not is_used(wiring, unit.out)):
        return []
    plain = [driver(wiring, part.ref, unit.out, placed.high, unit.emitter or placed.low)]
    back, forth = (None, None) if compares else feedback(stages, *unit[:3])
    if compares or (back is None and forth is not None):
        figures = {"pulls_up": exact(float(pushes), "1")}
        outputs = plain if compares else _pushing(wiring, part, unit, placed, row)
        return [*outputs, Element("comparator", part.ref, unit[:3], figures, told)]
    own = {one.out for one in placed.units if one is not unit}
    if back is None and not all(net in own or is_defined(wiring, part.ref, net) for net in (unit.plus, unit.minus)):
        return plain
    if back is not None and forth is not None and forth <= back:
        return plain
    nodes = (placed.high, unit.out, unit.plus, unit.minus, placed.low, placed.low)
    said = message("circuit-follower" if unit.out == unit.minus else "circuit-amplifier", ref=part.ref)
    return [Element("amplifier", part.ref, nodes, _figures(wiring, row), (*told, said))]


def _pushing(wiring: Wiring, part: Part, unit: Unit, placed: Placed, row: tables.Row | None) -> list[Element]:
    """Return the output of an operational amplifier that compares: most types stay a volt below their supply."""
    room = of_cell(row["room_high_v"], "V").nominal if row else 0.0
    if (room or 0.0) < KEEPS_BELOW_V:
        return [driver(wiring, part.ref, unit.out, placed.high, placed.low)]
    top = f"{part.ref}.{unit.out}.top{INNER}"
    below = Element("inner_diode", part.ref, (placed.high, top), wiring.drop("opamp_top"))
    return [below, driver(wiring, part.ref, unit.out, top, placed.low)]


_POWER_OHM = Band(0.1, 0.4, 1.0, "ohm", BandBasis.TABLE)
"""What a power amplifier has between its output and a supply that it has reached; from memory."""
KEEPS_BELOW_V = 0.4
"""An output that comes nearer to its supply than this is taken to reach it."""


def _figures(wiring: Wiring, row: tables.Row | None) -> dict[str, Band]:
    usual = wiring.default("follower_room")
    rooms = [of_cell(row[name], "V") if row else usual for name in ("room_high_v", "room_low_v")]
    sinking = {"sinking": of_cell(row["sinking_v"], "V")} if row and row["sinking_v"] else {}
    return {
        "gain": exact(OPEN_LOOP, "1"),
        "offset": wiring.default("follower_offset"),
        "room_high": rooms[0],
        "room_low": rooms[1],
        **sinking,
        "rail_ohm": wiring.default("follower_rail_ohm"),
        "limit": wiring.default("follower_limit"),
        **({"rail_ohm": _POWER_OHM, "limit": of_cell(row["limit_a"], "A")} if row and row["limit_a"] else {}),
    }


def _placed(wiring: Wiring, part: Part, row: tables.Row | None) -> Placed | None:
    """Return units and supplies by pin names and board.toml, else by the usual numbers of the type; None without."""
    names = _names(wiring, part)
    units = _named_units(names)
    high = next((node for name, node in names.items() if is_supply_name(name)), None)
    low = next((node for name, node in names.items() if is_low_name(name)), None)
    by_type = not units and row is not None
    if row is not None:
        numbered = _numbered_units(wiring, part, row)
        units = numbered if by_type else units
        high = high or wiring.number(part, row["high"])
        if numbered and numbered[0].emitter:
            units = [unit._replace(emitter=numbered[0].emitter) for unit in units]
            low = wiring.number(part, row["low"]) or low
        low = low or wiring.number(part, row["low"])
    rails = sorted((net for net in wiring.nets_of(part.ref) if wiring.is_rail(net)), key=lambda net: level(wiring, net))
    high = high or (rails[-1] if rails else None)
    low = low or (wiring.ground if wiring.ground in wiring.nets_of(part.ref) else None)
    if not units or high is None or low is None or high == low:
        return None
    return Placed(tuple(units), high, low, by_type)


def _names(wiring: Wiring, part: Part) -> dict[str, str]:
    """Return name -> node of the pins that have names; those of board.toml first."""
    stated = {number: name for name, number in wiring.facts(part.ref).pins.items()}
    found: dict[str, str] = {}
    for pin in wiring.pins(part.ref):
        name = stated.get(pin.number) or pin.name or ("" if pin.number.isdigit() else pin.number)
        if name:
            found.setdefault(re.sub(r"[\s_./]", "", name.upper()), wiring.node(pin))
    return found


def _named_units(names: dict[str, str]) -> list[Unit]:
    found: dict[str, dict[str, str]] = {}
    for name, node in names.items():
        if is_supply_name(name) or is_low_name(name):
            continue
        if role := role_of(name):
            found.setdefault(role[1], {})[role[0]] = node
    return [Unit(one["out"], one["plus"], one["minus"]) for _, one in sorted(found.items()) if len(one) == len(_ROLES)]


def role_of(name: str) -> tuple[str, str] | None:
    """Return what a pin of an amplifier is, and of which unit: out, plus or minus, and its number or letter.

    >>> [role_of(name) for name in ("OUT", "IN1+", "1IN-", "+INA", "OUTB")]
    [('out', ''), ('plus', '1'), ('minus', '1'), ('plus', 'A'), ('out', 'B')]
    """
    for role, pattern in _ROLES:
        if match := pattern.fullmatch(name):
            return role, next((group for group in match.groups() if group), "")
    return None


def _numbered_units(wiring: Wiring, part: Part, row: tables.Row) -> list[Unit]:
    found = []
    for order in row["units"].split("|"):
        nodes = [wiring.number(part, number) for number in order.split()]
        if all(nodes):
            found.append(Unit(*(node or "" for node in nodes)))
    return found
