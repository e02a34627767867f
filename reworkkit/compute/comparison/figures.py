"""What is known of the original and of a candidate: rows of candidates.csv, the list, board.toml, and the tables.

What somebody wrote beats what the list's text says, and that beats a table; nothing is invented for a candidate.
"""

import math
import re
from collections.abc import Iterable
from functools import cache

from reworkkit import tables
from reworkkit.compute.comparison.amounts import Figure, folded_word, magnitude, number, read_figure
from reworkkit.compute.comparison.cells import (
    cell_for,
    cells_of,
    end_of,
    headings_of,
    spelled,
    text_of,
)
from reworkkit.compute.comparison.rules import asides, rules_for, term
from reworkkit.model.board import Board, Candidate
from reworkkit.model.facts import PartFacts
from reworkkit.model.part import PartIdentity, PartValue
from reworkkit.model.part_value import parse_part_value
from reworkkit.model.quantity import parse_quantity
from reworkkit.model.values import Quantity

Figures = dict[str, Figure]

_MAIN = {
    "ohm": ("resistance", "impedance"),
    "F": ("capacitance",),
    "H": ("inductance",),
    "Hz": ("frequency",),
    "A": ("current", "hold_current"),
    "V": ("zener_voltage", "coil_voltage"),
}
_VOLTS = ("voltage", "drain_voltage", "reverse_voltage", "collector_voltage")
_GDS = ("TO-220", "TO-263", "TO-252", "TO-247", "DPAK", "D2PAK")
_EITHER_SIGN = ("mosfet", "transistor_bipolar")
"""Kinds of either polarity: sheets of P-channel and PNP parts write their ratings with a minus."""
_KIND_WORDS = {
    "tvs_one_way": ("direction", "one-way"),
    "tvs_two_way": ("direction", "two-way"),
}
_CHIP = re.compile(r"(?<!\d)(0201|0402|0603|0805|1206|1210|2010|2512)(?!\d)")
_SAID_BY_KIND = {"mosfet": "channel", "transistor_bipolar": "channel", "tvs": "direction",
                 "capacitor_safety": "safety_class", "relay": "action", "switch": "action"}  # fmt: skip
"""What the words of a kind say beside the kind: `N-channel MOSFET`, `X2 capacitor`."""


def parameters_of(kind: str) -> tuple[str, ...]:
    """Return the parameters a kind is judged by."""
    return tuple(dict.fromkeys(rule.parameter for rule in rules_for(kind)))


def original_figures(board: Board, ref: str, kind: str, rows: Iterable[Candidate]) -> Figures:
    """Return what is known of the part the list names; `rows` are candidates, among them perhaps the original."""
    identity = board.parts[ref].identity
    known = _usual(kind, identity.outline, identity.part_number)
    known |= _of_value(identity.value, kind)
    known |= _of_texts(identity, kind)
    known |= _of_facts(board.facts.parts.get(ref, PartFacts()))
    for row in rows:
        if is_original(identity, row):
            known |= candidate_figures(row, kind, strict=True)
    if _cannot_reach_its_volts(known):
        del known["voltage"]
    return {name: known[name] for name in parameters_of(kind) if name in known}


def _cannot_reach_its_volts(known: Figures) -> bool:
    """Return whether a resistor would burn long before the voltage usual for its size lies across it: a shunt."""
    power, ohm, volts = (known.get(name, Figure("")).high for name in ("power", "resistance", "voltage"))
    return bool(power and ohm and volts) and math.sqrt((power or 0.0) * (ohm or 0.0)) < (volts or 0.0) / 10


def is_original(identity: PartIdentity, row: Candidate) -> bool:
    """Return whether a row of candidates.csv is the part that the list names."""
    names = {folded_word(identity.part_number), folded_word(identity.value.text)} - {""}
    return folded_word(row.part_number) in names


def candidate_figures(row: Candidate, kind: str, *, strict: bool = False) -> Figures:
    """Return the figures of a row under the parameters of the original's kind.

    Where several columns say the same parameter the weakest counts; with `strict`, for the original, the strongest.
    """
    own = cells_of(row)
    value_text = text_of(own.get("value", ""))
    package = text_of(own.get("package", "") or own.get("case", "") or own.get("size", ""))
    known = _usual(kind, package, row.part_number)
    known |= _of_value(parse_part_value(value_text, kind), kind) if value_text else {}
    known |= _of_kind_words(row, kind)
    words = headings_of_kind(kind)
    for parameter in parameters_of(kind):
        unit = term(parameter).unit
        cells = [cell_for(own, heading, parameter, kind) for heading in headings_of(own, parameter, words)]
        written = [_read(parameter, cell, unit, kind) for cell in cells if cell is not None]
        if written:
            read = _one_of(written, kind, parameter, weakest=not strict)
            if read.is_number or not unit or parameter not in known:
                known[parameter] = read
    return {name: known[name] for name in parameters_of(kind) if name in known}


@cache
def headings_of_kind(kind: str) -> frozenset[str]:
    """Return every heading under which a parameter of the kind may stand."""
    return frozenset(word for parameter in parameters_of(kind) for word in term(parameter).words)


def _of_kind_words(row: Candidate, kind: str) -> Figures:
    """Return what a candidate's kind says of it: `tvs_two_way`, or the words `N-channel MOSFET`."""
    if row.kind in _KIND_WORDS:
        name, word = _KIND_WORDS[row.kind]
        return {name: Figure(word)}
    named = next((name for start, name in _SAID_BY_KIND.items() if kind.startswith(start)), "")
    word = spelled(named, row.kind_text) if named else ""
    return {named: Figure(word)} if word else {}


def _read(parameter: str, written: Quantity | Figure | str, unit: str, kind: str) -> Figure:
    """Return one cell as a figure of a parameter; of a range the end that the parameter names."""
    if isinstance(written, Figure):
        return written
    read = read_figure(written, unit)
    if read.low is not None and read.high is not None:
        low, high = end_of(parameter, read.low, read.high)
        read = read._replace(low=low, high=high)
    return magnitude(read) if kind in _EITHER_SIGN and read.unit in ("V", "A") else read


def _one_of(read: list[Figure], kind: str, parameter: str, *, weakest: bool) -> Figure:
    """Return one figure where several columns say the same parameter: a rating by its end; a contradiction as text."""
    numbers = [one for one in read if one.is_number]
    if len({(one.low, one.high) for one in numbers}) < 2:
        return numbers[0] if numbers else read[0]
    direction = next(rule.direction for rule in rules_for(kind) if rule.parameter == parameter)
    if direction in ("at_least", "bears", "at_most"):
        numbers.sort(key=lambda one: one.low or 0.0)
        return numbers[0] if weakest == (direction != "at_most") else numbers[-1]
    return Figure(" / ".join(one.text for one in numbers))


def figures_without_rule(
    row: Candidate, kind: str, identity: PartIdentity, rows: Iterable[Candidate]
) -> tuple[tuple[str, str, str], ...]:
    """Return the numbers of a candidate that no rule of the kind reads and that are not the original's."""
    own = cells_of(row)
    sheet = next((cells_of(one) for one in rows if is_original(identity, one)), {})
    read = {name for parameter in parameters_of(kind) for name in headings_of(own, parameter, headings_of_kind(kind))}
    found = []
    for heading, value in own.items():
        now, was = text_of(value), text_of(sheet.get(heading, ""))
        skipped = heading in read or heading == "rail to rail" or _is_aside(heading)
        if was and not skipped and not _alike(was, now):
            found.append((heading, was, now))
    return tuple(found)


def _is_aside(heading: str) -> bool:
    """Return whether a heading says nothing of what a part does: maker, price, remark."""
    return any(heading == word or heading.startswith(f"{word} ") for word in asides())


def _alike(was: str, now: str) -> bool:
    one, other = parse_quantity(was), parse_quantity(now)
    if one and other and one.unit == other.unit:
        return one.value == other.value
    return folded_word(was) == folded_word(now)


def assumed_figures(row: Candidate, kind: str) -> frozenset[str]:
    """Return the ratings of a candidate that nobody wrote: those usual for a chip resistor of its size."""
    if kind != "resistor":
        return frozenset()
    written = set(cells_of(row))
    values = parse_part_value(text_of(row.figures.get("value", "")), kind)
    stated = {name for name, one in (("power", values.watts), ("voltage", values.volts)) if one}
    names = ("power", "voltage")
    return frozenset(name for name in names if name not in stated and not written & set(term(name).words))


def _of_value(value: PartValue, kind: str) -> Figures:
    found: Figures = {}
    if value.main:
        for name in _MAIN.get(value.main.unit, ()):
            found[name] = number(float(value.main.value), value.main.unit, value.main.text)
    if value.volts:
        found |= {name: number(float(value.volts.value), "V", value.volts.text) for name in _VOLTS}
    if value.watts:
        found["power"] = number(float(value.watts.value), "W", value.watts.text)
    if value.tolerance and value.tolerance.unit == "%":
        found["tolerance"] = number(float(value.tolerance.value), "%", f"{value.tolerance.value} %")
        found["frequency_tolerance"] = found["tolerance"]
    if value.dielectric:
        found["time_class" if kind == "fuse" else "dielectric"] = Figure(value.dielectric)
    return found


def _of_texts(identity: PartIdentity, kind: str) -> Figures:
    """Return what the words of the list say: channel, direction, outline, load capacitance, colour."""
    text = f"{identity.value.text} {identity.description}"
    found: Figures = {}
    named = next((name for start, name in _SAID_BY_KIND.items() if kind.startswith(start)), "")
    if word := spelled(named, text) if named else "":
        found[named] = Figure(word)
    if kind in _KIND_WORDS:
        name, word = _KIND_WORDS[kind]
        found[name] = Figure(word)
    if identity.package or identity.package_text:
        found["package"] = Figure(identity.outline)
    found |= case_figures(identity)
    if load := re.search(r"(\d+(?:[.,]\d+)?)\s*pF", text):
        found["load_capacitance"] = number(float(load[1].replace(",", ".")) * 1e-12, "F", load[0])
    if colour := re.search(r"\b(red|green|blue|yellow|orange|amber|white|infrared)\b", text, re.I):
        found["colour"] = Figure(colour[1].lower())
    return found


def case_figures(identity: PartIdentity) -> Figures:
    """Return height, pins and pitch as the name of a case tells them."""
    if not identity.package:
        return {}
    found = {
        "height": number(identity.package.height_mm, "mm"),
        "positions": number(float(identity.package.pins), ""),
    }
    if identity.package.pitch_mm:
        found["pitch"] = number(identity.package.pitch_mm, "mm")
    return found


def _of_facts(facts: PartFacts) -> Figures:
    """Return what board.toml states of the place: the figures of the part that was there."""
    found: Figures = {}
    for name, quantity in (
        ("power", facts.watts),
        ("forward_voltage", facts.forward),
        ("output_voltage", facts.out),
        ("dropout", facts.dropout),
        ("output_current", facts.amps),
        ("quiescent", facts.quiescent),
        ("height", facts.height),
    ):
        if quantity:
            found[name] = number(float(quantity.value), quantity.unit, quantity.text)
    if facts.pins:
        by_number = sorted(facts.pins.items(), key=lambda pair: (len(pair[1]), pair[1]))
        found["pin_order"] = Figure(" ".join(role for role, _ in by_number))
    return found


def _usual(kind: str, package: str, part_number: str) -> Figures:
    """Return what the packaged tables say of a size or a type number."""
    if kind == "resistor" and (size := _CHIP.search(package)):
        row = next(row for row in tables.rows("chip_ratings") if row["size"] == size[1])
        return {
            "power": number(float(row["power_w"]), "W"),
            "voltage": number(float(row["voltage_v"]), "V"),
        }
    if kind == "mosfet" and any(folded_word(name) in folded_word(package) for name in _GDS):
        return {"pin_order": Figure("G D S")}
    if kind == "relay":
        return {"action": Figure("momentary")}  # a sheet says it where the armature stays
    return _regulator(package, part_number) if kind == "linear_regulator" else {}


def _regulator(package: str, part_number: str) -> Figures:
    row = next((row for row in tables.rows("regulators") if re.match(row["pattern"], part_number, re.I)), None)
    if row is None or row["form"] != "fixed":
        return {}
    found: Figures = {}
    if row["most_in_v"]:
        found["input_max"] = number(float(row["most_in_v"]), "V")
    if row["dropout_high_v"]:
        found["dropout"] = number(float(row["dropout_high_v"]), "V")
    if row["quiescent_high_a"]:
        found["quiescent"] = number(float(row["quiescent_high_a"]), "A")
    if named := re.search(row["suffix"], part_number) if row["suffix"] else None:
        found |= _named_volts(named[1], tenths=row["digits"] != "volts")
    for one in row["pins"].split("|"):
        outline, _, order = one.partition("=")
        if outline and folded_word(package).startswith(folded_word(outline)):
            found["pin_order"] = Figure(order)
    return found


def _named_volts(text: str, tenths: bool) -> Figures:
    """Return the output voltage in a type number: `3.3`, `05`, or two digits that are tenths (`33`, always so)."""
    text = text.replace("-", ".")
    in_tenths = len(text) == 2 and "." not in text and (tenths or text == "33")
    return {"output_voltage": number(float(text) / (10 if in_tenths else 1), "V")}
