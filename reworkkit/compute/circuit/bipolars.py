"""Bipolar transistors: plain, Darlington, two in one outline, with resistors inside; arrays of switches to ground."""

import re

from reworkkit import tables
from reworkkit.compute.circuit.feedback import is_loose
from reworkkit.compute.circuit.figures import exact
from reworkkit.compute.circuit.parts import pins_only, unmodelled
from reworkkit.compute.circuit.pin_roles import known_pins, numbers, row_of
from reworkkit.compute.circuit.transistor_cores import (
    ACROSS_FIRST_OHM,
    ACROSS_SECOND_OHM,
    Ends,
    Make,
    darlington,
    inner,
    single,
)
from reworkkit.compute.circuit.wiring import Wiring, words_of
from reworkkit.model.messages import Message, message
from reworkkit.model.part import Part
from reworkkit.model.results import INNER, Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis
from reworkkit.tables.transistors import transistor_type

_DIGITAL = re.compile(r"(?:[PD]?DT|NSVDT|NSB)([ABCD])1([124])([1-5])([A-Z])")
_MANTISSA = {"1": 1.0, "2": 2.2, "4": 4.7}
_ACROSS = {"E": 1.0, "T": None, "Y": 4.7, "X": 2.2, "Z": 10.0, "J": 21.4, "W": 0.47}
"""Resistor across base and emitter against that in series with the base, by the last letter; from memory."""
_DRIVES_OHM = 1e4
"""Resistance of what may drive an input from outside: it turns the switch on and draws next to nothing."""
_DUAL = re.compile(
    r"(?:BC8[45]\d)(?:BS|PN|S|BPN|DW)|MBT\w*DW|MMDT|UMX|IMX|UMT1|IMT1|BCM|DMMT|PMBT\w*(?:YS|VS|DW)|dual", re.I
)
_BOTH = re.compile(r"(?<=\d)B?PN(?![A-Z])|npn[/ +,-]+pnp|complementary", re.I)
"""Two transistors of both kinds in one outline, the npn first."""
_PAIR = (("6", "2", "1"), ("3", "5", "4"))
"""Collector, base and emitter of both transistors in six pins, as nearly all makers number them; from memory."""


def bipolar(wiring: Wiring, part: Part) -> list[Element]:
    """Return the transistors of a part, by pin names, board.toml, the order of its type, or that of its outline.

    The element "unmodelled" stays beside them: what a transistor does beyond the operating point is not known.
    """
    pairs, told = _placed(wiring, part)
    if not pairs:
        wiring.ask(
            (part.ref,),
            message("circuit-no-pins"),
            f'[parts] {part.ref} = {{ pins = {{ B = "1", C = "2", E = "3" }} }}',
        )
        return pins_only(wiring, part)
    kind = _type(part)
    if kind is None:
        wiring.ask((part.ref,), message("circuit-npn-or-pnp"))
        return pins_only(wiring, part)
    if (inside := built_in(part)) is None and _has_resistors(part):
        wiring.ask((part.ref,), message("circuit-built-in"))
        return pins_only(wiring, part)
    found: list[Element] = []
    for number, ends in enumerate(pairs):
        unit = "" if len(pairs) == 1 else str(number + 1)
        if number and _BOTH.search(words_of(part)):
            kind = "pnp" if kind == "npn" else "npn"
        found += _one(wiring, part, ends, kind, told if not number else (), inside, unit)
    return [*found, *pins_only(wiring, part)]


def _one(
    wiring: Wiring,
    part: Part,
    ends: Ends,
    kind: str,
    told: tuple[Message, ...],
    inside: tuple[float, float | None] | None,
    unit: str,
) -> list[Element]:
    row = row_of("bipolar_types", part)
    make = Make(kind, _size(part, row), _gain(wiring, row), (*told, *_told_gain(wiring, part, row)))
    if inside:
        base, (series, across) = f"{part.ref}.base{unit}{INNER}", inside
        own = [inner(part.ref, ends.base, base, series), single(wiring, part.ref, ends._replace(base=base), make)]
        return own + ([inner(part.ref, base, ends.emitter, across)] if across else [])
    form = row["form"] if row else "darlington" if re.search("darlington", words_of(part), re.I) else "plain"
    if form.startswith("darlington"):
        across_both = (ACROSS_FIRST_OHM, ACROSS_SECOND_OHM) if form == "darlington_r" else None
        return darlington(wiring, part.ref, ends, make, across_both, unit)
    return [single(wiring, part.ref, ends, make)]


def _placed(wiring: Wiring, part: Part) -> tuple[list[Ends], tuple[Message, ...]]:
    """Return collector, base and emitter of each transistor, and what was taken for granted to find them."""
    ref, pins = part.ref, {pin.number for pin in wiring.pins(part.ref)}
    names = {(pin.name or pin.number).upper().replace(" ", ""): wiring.node(pin) for pin in wiring.pins(ref)}
    named = [[names.get(f"{role}{n}") for role in "CBE"] for n in (1, 2)]
    if all(node for nodes in named for node in nodes):
        return [Ends(*(node or "" for node in nodes)) for nodes in named], ()
    nodes = [wiring.by_role(part, role) for role in ("C", "B", "E")]
    if all(nodes):
        return [Ends(*(node or "" for node in nodes))], ()
    if known_pins(part, wiring) == len("CBECBE") and (_DUAL.search(words_of(part)) or len(pins) == len("CBECBE")):
        two = [Ends(*(wiring.number(part, n) or f"{ref}.{n}" for n in order)) for order in _PAIR]
        return two, (message("circuit-role-by-type", ref=ref),)
    if not all(number.isdigit() for number in pins) or len(pins) < len("BE"):
        return [], ()
    for order, slug in ((_type_order(wiring, part), "type"), (_outline_order(part), "outline")):
        if order:
            told = message("circuit-role-by-outline", ref=ref, order="C B E", pins=" ".join(order))
            if slug == "type":
                told = message("circuit-order-by-type", ref=ref, order="C B E", pins=" ".join(order))
            return [Ends(*(_at(wiring, part, number) for number in order))], (told,)
    return [], ()


def _at(wiring: Wiring, part: Part, number: str) -> str:
    """Return the node of a pin; the tab (4) stands for the collector's own pin where the netlist lacks that."""
    return (
        wiring.number(part, number) or (wiring.number(part, "4") if number == "2" else None) or f"{part.ref}.{number}"
    )


def _type_order(wiring: Wiring, part: Part) -> tuple[str, str, str] | None:
    """Return the pin numbers of collector, base and emitter by the type number in its outline.

    Where the list names no outline and the number has several, the base is not at ground or on a rail.
    """
    name = part.identity.outline.upper()
    orders: list[tuple[str, str, str]] = []
    for row in tables.rows("bipolar_types"):
        if not row["order"] or not any(re.match(row["pattern"], number) for number in numbers(part)):
            continue
        if not name or name.startswith(tuple(row["outlines"].split("|"))):
            order = row["order"].split()
            c, b, e = (str(order.index(role) + 1) for role in "CBE")
            orders.append((c, b, e))
    fixed = {wiring.ground, *wiring.rails}
    likely = [order for order in orders if wiring.number(part, order[1]) not in fixed]
    return next(iter((*likely, *orders)), None)


_ONLY_SMALL = re.compile(r"[PM]MBT|SMBT|KST\d|MMUN|FMMT|P?BC8[0145]\d|BCW\d|BSR1[3-9]|PDT[AC]\d|MMST|BCX1[79]")
"""Beginnings of numbers of types that are made in SOT-23 and outlines numbered like it only."""


def _outline_order(part: Part) -> tuple[str, str, str] | None:
    name = part.identity.outline.upper()
    if not part.identity.named_outline and any(map(_ONLY_SMALL.match, numbers(part))):
        name = "SOT-23"
    rows = [row for row in tables.rows("bipolar_outlines") if name.startswith(row["outline"])]
    if not rows or name.startswith(("SOT-23-", "SOT-363")):
        return None
    row = max(rows, key=lambda one: len(one["outline"]))
    return row["collector"], row["base"], row["emitter"]


def _type(part: Part) -> str | None:
    """Return npn or pnp by the words of the list or the type number."""
    if kind := transistor_type(part.identity):
        return kind if kind in ("npn", "pnp") else None
    for number in numbers(part):
        if found := _DIGITAL.match(number):
            return "pnp" if found[1] in "AB" else "npn"
    row = row_of("built_in_resistors", part)
    return row["type"] if row else None


def _size(part: Part, row: tables.Row | None) -> str:
    if row:
        return row["size"]
    return (
        "power" if part.identity.outline.upper().startswith(("TO-2", "TO-3", "TO-126", "DPAK", "SOT-223")) else "small"
    )


def _gain(wiring: Wiring, row: tables.Row | None) -> Band:
    if row is None:
        return wiring.default("bipolar_gain")
    return Band(float(row["gain_low"]), float(row["gain"]), float(row["gain_high"]), "1", BandBasis.TABLE)


def _told_gain(wiring: Wiring, part: Part, row: tables.Row | None) -> tuple[Message, ...]:
    if row is None:
        return (wiring.assumed("bipolar_gain", part.ref),)
    band = _gain(wiring, row)
    return (message("circuit-default", ref=part.ref, what="current gain, by its type,", band=band),)


def built_in(part: Part) -> tuple[float, float | None] | None:
    """Return the resistors inside by the type number [ohm]: in series with the base, from base to emitter or None."""
    for number in numbers(part):
        if found := _DIGITAL.match(number):
            _, first, power, letter = found.groups()
            if letter not in _ACROSS:
                return None
            ratio, series = _ACROSS[letter], _MANTISSA[first] * 10 ** int(power)
            return series, None if ratio is None else series * ratio
    if row := row_of("built_in_resistors", part):
        return float(row["series_ohm"]), float(row["across_ohm"]) if row["across_ohm"] else None
    return None


def _has_resistors(part: Part) -> bool:
    """Return whether the number or the words tell of resistors inside whose values are not known."""
    words = re.search(r"digital trans|pre-?bias|built-?in res|bias res|resistor.equipped", words_of(part), re.I)
    return bool(words) or any(
        re.match(r"D{0,2}TC\d|D{0,2}TA\d|P?DT[AC]\d|MUN|RN[12]\d|BCR1|UNR|NSB[AC]", n) for n in numbers(part)
    )


def switch_array(wiring: Wiring, part: Part) -> list[Element] | None:
    """Return the Darlington switches of an array such as ULN2003 that have something on them; None for other parts."""
    row = row_of("switch_arrays", part)
    if row is None:
        return None
    pins = _array_pins(wiring, part, row)
    ground = pins.get("GND")
    if ground is None:
        return unmodelled(wiring, part)
    make = Make("npn", "array", Band(50, 120, 300, "1", BandBasis.TABLE), ())
    found: list[Element] = []
    for number, (entry, out) in enumerate(_channels(row, pins), 1):
        base = f"{part.ref}.base{number}{INNER}"
        found += [
            inner(part.ref, entry, base, float(row["input_ohm"]), 45.0),
            *darlington(wiring, part.ref, Ends(out, base, ground), make, (7200.0, 3000.0), str(number)),
        ]
        if is_loose(wiring, part.ref, entry):
            found.append(_unknown_level(wiring, part, entry, pins.get("COM"), ground))
        if "COM" in pins and pins["COM"] != out:
            found.append(Element("diode", part.ref, (out, pins["COM"]), wiring.drop("silicon_rectifier")))
    return [*found, *pins_only(wiring, part)] if found else unmodelled(wiring, part)


def _unknown_level(wiring: Wiring, part: Part, entry: str, clamp: str | None, ground: str) -> Element:
    """Return what an input that only a plug or nothing reaches may be driven by: the load behind it may be on."""
    rails = [net for net in (clamp, *wiring.rails) if net and wiring.is_positive_rail(net)]
    high = rails[0] if rails else ground
    return Element("driver", part.ref, (entry, high, ground), {"resistance": exact(_DRIVES_OHM, "ohm")})


def _channels(row: tables.Row, pins: dict[str, str]) -> list[tuple[str, str]]:
    """Return input and output of each channel; those with nothing at all on them are left out."""
    count = len(row["channels"].split())
    both = [(pins.get(f"I{n}"), pins.get(f"O{n}"), n) for n in range(1, count + 1)]
    return [(entry, out or f"{pins['ref']}.O{n}") for entry, out, n in both if entry and (out or entry != pins["GND"])]


def _array_pins(wiring: Wiring, part: Part, row: tables.Row) -> dict[str, str]:
    """Return the nodes of inputs I1, outputs O1, COM and GND: by pin number, else by pin names."""
    found = {"ref": part.ref}
    by_number = {"GND": row["ground"], "COM": row["clamp"]}
    for n, channel in enumerate(row["channels"].split(), 1):
        by_number[f"I{n}"], by_number[f"O{n}"] = channel.split(">")
    for pin in wiring.pins(part.ref):
        role = next((role for role, number in by_number.items() if number == pin.number), None)
        if role is None and (named := re.match(r"(I|O|IN|OUT)_?(\d)$|(\d)([BC])$", (pin.name or pin.number).upper())):
            letter = named[1][0] if named[1] else {"B": "I", "C": "O"}[named[4]]
            role = f"{letter}{named[2] or named[3]}"
        elif role is None and (pin.name or pin.number).upper() in ("GND", "E", "COM"):
            role = "COM" if (pin.name or pin.number).upper() == "COM" else "GND"
        if role and pin.net:
            found[role] = pin.net
    return found
