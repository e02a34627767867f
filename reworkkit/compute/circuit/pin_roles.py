"""Which pin of a part plays which part: by the names of the netlist, else by the usual order of its type."""

import re
from collections.abc import Collection
from functools import cache

from reworkkit import tables
from reworkkit.compute.circuit.wiring import Wiring
from reworkkit.model.messages import Message, message
from reworkkit.model.part import Part

_HIGH = frozenset(
    [
        "V+",
        "VCC",
        "VDD",
        "VS",
        "VS+",
        "+VS",
        "AVDD",
        "AVCC",
        "DVDD",
        "DVCC",
        "VP",
        "+V",
        "VCC+",
        "VDD+",
        "+VCC",
        "+VDD",
        "VCCA",
        "VCCB",
        "VDDA",
        "VDDIO",
        "VIO",
        "VBAT",
        "VBB",
        "+5V",
        "5V",
        "+3V3",
        "3V3",
        "+VC",
        "+UC",
    ]
)
LOW_NAMES = frozenset(
    [
        "V-",
        "VSS",
        "GND",
        "VEE",
        "VCC-",
        "VS-",
        "-VS",
        "AVSS",
        "DVSS",
        "AGND",
        "DGND",
        "PGND",
        "-V",
        "VDD-",
        "VSSA",
        "GNDA",
        "EP",
        "EPAD",
        "PAD",
        "VNEG",
        "0V",
    ]
)
PADS = frozenset(["EP", "EPAD", "PAD", "PPAD", "TAB", "THERMAL", "HEATSINK"])
"""How a netlist numbers the pad under a part, or its tab."""
_ALIKE = {"V+": _HIGH, "GND": LOW_NAMES}
_OTHER_ORDER = ("TO-220", "TO-263", "TO-252")
"""Outlines whose few leads have another order than that of eight leads."""


_MAKER = re.compile(r"^(?:LEM|traco(?:power)?|recom|murata|mornsun|tamura|honeywell|allegro)\s+", re.IGNORECASE)
"""Makers whose name people write before type numbers that have blanks of their own: "LEM LA 55-P"."""


def numbers(part: Part) -> tuple[str, ...]:
    """Return what may be the type number, in capitals and without blanks, the maker's name left out."""
    texts = (_MAKER.sub("", text) for text in part.identity.type_numbers)
    return tuple(dict.fromkeys(re.sub(r"\s+", "", text).upper() for text in texts))


def port_names(wiring: Wiring, part: Part) -> dict[str, str]:
    """Return pin number -> name of its port where the type of a controller of as many pins, or more, tells it."""
    most = max((int(pin.number) for pin in wiring.pins(part.ref) if pin.number.isdigit()), default=0)
    package = part.identity.package
    count = max(most, package.pins if package else 0)
    fits = (row for row in tables.rows("controller_pins") if any(map(_compiled(row["pattern"]).match, numbers(part))))
    row = next((row for row in fits if int(row["pins"]) >= count), None)
    return {str(n): name for n, name in enumerate(row["names"].split(), 1) if name != "-"} if row else {}


def row_of(table: str, part: Part, pins: int = 0) -> tables.Row | None:
    """Return the first row of a table whose pattern fits the type number, of that number of pins where it has one.

    Where the outline does not tell the pins, a list may leave out the highest: the row with the fewest more will do.
    """
    wanted = numbers(part)
    found = [row for row in tables.rows(table) if any(_compiled(row["pattern"]).match(number) for number in wanted)]
    exact = [row for row in found if not pins or row["pins"] in ("", "0", str(pins))]
    more = [row for row in found if not exact and not _outline_pins(part) and int(row["pins"]) > max(pins, LEAST_TOLD)]
    return next(iter(exact), None) or min(more, key=lambda row: int(row["pins"]), default=None)


LEAST_TOLD = 5
"""A part with more pins than this in the netlist has so many more that one row of a table tells which they are."""


@cache
def _compiled(pattern: str) -> re.Pattern[str]:
    return re.compile(pattern)


def known_pins(part: Part, wiring: Wiring) -> int:
    """Return how many pins a part has: by its outline's name, else the highest pin number of the netlist."""
    digits = [int(pin.number) for pin in wiring.pins(part.ref) if pin.number.isdigit()]
    return max(_outline_pins(part), *digits, 0)


def _outline_pins(part: Part) -> int:
    ends = re.search(
        r"(?:SOIC|SOP|SO|SSOP|TSSOP|MSOP|VSSOP|DIP|PDIP|SOT-?23|SC-?70|QFN|DFN)-?(\d+)\w?$",
        part.identity.outline.upper(),
    )
    return int(ends[1]) if ends else 0


def is_supply_name(name: str | None) -> bool:
    """Return whether a pin name is that of a positive supply."""
    return plain(name) in _HIGH


def is_low_name(name: str | None) -> bool:
    """Return whether a pin name is that of ground or of a negative supply."""
    return plain(name) in LOW_NAMES


def plain(name: str | None) -> str:
    """Return a pin name in capitals, without blanks and without a number behind a word of several letters."""
    text = re.sub(r"[\s_]", "", name or "").upper()
    return re.sub(r"(?<=[A-Z]{2})\d+$", "", text)


def outlines_of(part: Part) -> tuple[str, ...]:
    """Return the outline of a part and those whose pins are numbered alike: thin SOT-23, and DIP as SOIC.

    Makers give the same chip the same numbers in DIP and SOIC; exceptions are rare (common practice, no source).
    """
    name = part.identity.outline.upper()
    return tuple(
        dict.fromkeys((name, re.sub(r"^TSOT", "SOT", re.sub(r"^(?:P?DIP|H?SOP?)-?(?=8|14|16)", "SOIC-", name))))
    )


def in_order(wiring: Wiring, part: Part, spec: str) -> dict[str, str]:
    """Return role -> node by the pin order of an outline, `SOT-23=GND OUT V+|...`; empty where none fits."""
    found: dict[str, str] = {}
    for name in reversed(outlines_of(part)):
        size = 0
        for one in filter(None, spec.split("|")):
            begins, _, order = one.partition("=")
            if name.startswith(begins) and len(begins) > size:
                size = len(begins)
                found = roles_by_number(wiring, part, order)
    if not found and not part.identity.named_outline and spec:
        found = roles_by_number(wiring, part, spec.split("|")[0].partition("=")[2])
    return found


def roles_by_number(wiring: Wiring, part: Part, order: str) -> dict[str, str]:
    """Return role -> node for pins 1, 2, ... in order; empty where a pin has a number beyond, or none.

    The pad under a part may count as one more pin, at ground.
    """
    roles = order.split()
    found: dict[str, str] = {}
    for pin in wiring.pins(part.ref):
        if pin.number.upper() in PADS or (pin.number == str(len(roles) + 1) and wiring.node(pin) == wiring.ground):
            continue
        if not pin.number.isdigit() or int(pin.number) > len(roles):
            return {}
        if roles[int(pin.number) - 1] not in found:
            found[roles[int(pin.number) - 1]] = wiring.node(pin)
    return found


def by_names(wiring: Wiring, part: Part, wanted: dict[str, frozenset[str]]) -> dict[str, str]:
    """Return role -> node by pin names, letters for numbers, and the pins of board.toml; the rest is left out."""
    stated = {number: plain(name) for name, number in wiring.facts(part.ref).pins.items()}
    found: dict[str, str] = {}
    for pin in wiring.pins(part.ref):
        name = stated.get(pin.number) or plain(pin.name or ("" if pin.number.isdigit() else pin.number))
        for role, names in (wanted | {role: names for role, names in _ALIKE.items() if role not in wanted}).items():
            if name and (name == role or name in names):
                found.setdefault(role, wiring.node(pin))
    return found


def roles_of(
    wiring: Wiring, part: Part, row: tables.Row, names: dict[str, frozenset[str]], telling: Collection[str]
) -> tuple[dict[str, str], tuple[Message, ...]]:
    """Return role -> node by names where they tell all of some roles, else by the usual order of its row, and that."""
    found = by_names(wiring, part, names)
    return (found, ()) if set(telling) <= set(found) else (in_order(wiring, part, row["roles"]), by_type(part))


def listed_roles(wiring: Wiring, part: Part, row: tables.Row) -> tuple[dict[str, str], tuple[Message, ...]]:
    """Return role -> node: by the names that a row lists (`V+=VDD/VCC`), else by the order of its pin numbers.

    A row of 0 pins is of parts that come in one outline only: its order holds whatever that is.
    """
    cells = [cell.partition("=") for cell in row["names"].split()]
    names = {name: role for role, _, others in cells for name in (role, *filter(None, others.split("/")))}
    stated = {number: name for name, number in wiring.facts(part.ref).pins.items()}
    found: dict[str, str] = {}
    for pin in wiring.pins(part.ref):
        name = stated.get(pin.number) or pin.name or ("" if pin.number.isdigit() else pin.number)
        if role := names.get(_letters(name)):
            found.setdefault(role, wiring.node(pin))
    if len(found) > len(("one", "two")):
        return found, ()
    if part.identity.outline.upper().startswith(_OTHER_ORDER) and row.get("pins") != "0":
        return {}, by_type(part)
    ordered = roles_by_number(wiring, part, row["order"])
    return (ordered | found if ordered else {}), by_type(part)


def _letters(name: str) -> str:
    return "".join(letter for letter in name.upper() if letter not in " _~/\\#.{}")


def by_type(part: Part) -> tuple[Message, ...]:
    """Return what is said where the usual order of a type tells the pins."""
    return (message("circuit-role-by-type", ref=part.ref),)


def has_names(wiring: Wiring, part: Part) -> bool:
    """Return whether the netlist or board.toml names the pins of a part."""
    named = [pin for pin in wiring.pins(part.ref) if (pin.name and pin.name != pin.number) or not pin.number.isdigit()]
    return bool(named) or bool(wiring.facts(part.ref).pins)


def figure_of(part: Part, row: tables.Row, column: str) -> float | None:
    """Return the figure that a type number carries behind its pattern, of a cell `A1=20|A2=50`, or its only figure."""
    if "=" not in row[column]:
        return float(row[column])
    pairs = sorted((one.split("=") for one in row[column].split("|")), key=lambda pair: -len(pair[0]))
    for number in numbers(part):
        if match := re.match(row["pattern"], number):
            rest = number[match.end() :]
            for token, value in pairs:
                if rest.startswith(token) or re.match(rf"-?(?:T-)?{re.escape(token)}", rest):
                    return float(value)
                if len(token) > 2 and token in number:
                    return float(value)
    return None
