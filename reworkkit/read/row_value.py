"""The value of a row of the parts list, wherever the row has it."""

from dataclasses import replace

from reworkkit.model.part import PartValue
from reworkkit.model.part_value import in_series, is_bare, main_unit, parse_part_value
from reworkkit.model.values import Quantity
from reworkkit.read.colour_bands import of_colours
from reworkkit.read.resistor_numbers import ohm_of_number
from reworkkit.read.row_words import told_apart


def value_of_row(value_text: str, description: str, part_number: str, kind: str) -> PartValue:
    """Take the value cell apart; what it lacks is read from the description, never a bare number.

    Where neither cell has anything, one for all (`RC0805 10K 1%`, under "Part") may hold the value beside other words;
    last come colour bands in words and what a maker's number of a resistor holds. A description that is nothing but
    figures is the value.
    """
    description, _ = told_apart(description)
    if not value_text.strip() and is_bare(description, kind):
        value_text, description = description, ""
    value = _told_value(value_text, description, part_number, kind)
    if value.main is None and main_unit(kind) == "ohm":
        if bands := next(filter(None, map(of_colours, (value_text, description))), None):
            return replace(value, main=bands[0], tolerance=value.tolerance or bands[1])
        held = [ohm_of_number(text) for text in (part_number, value_text, *description.split())]
        return replace(value, main=next(filter(None, (*held, _figure_alone(part_number, kind))), None))
    if value.main is None and kind.startswith("capacitor"):
        bare = (parse_part_value(text, kind).main for text in description.split() if is_bare(text, kind))
        return replace(value, main=next(filter(None, bare), None))
    return value


def _figure_alone(part_number: str, kind: str) -> Quantity | None:
    """Return the ohms of a row whose number of the part is a figure of a series and nothing else: `390`."""
    found = parse_part_value(part_number, kind).main if is_bare(part_number, kind) else None
    return found if found and any(in_series(found.value, series) for series in ("E24", "E96")) else None


def _told_value(value_text: str, description: str, part_number: str, kind: str) -> PartValue:
    """Return the value that the cells tell in figures."""
    value = parse_part_value(value_text, kind)
    if main_unit(kind) is None or not (description or (part_number and not value_text)):
        return value
    if not value_text and not parse_part_value(description, kind, bare_numbers=False).main:
        description = f"{description} {part_number}"
    more = parse_part_value(description, kind, bare_numbers=False)
    if value.main and more.main and value.main.value != more.main.value:
        return value
    merged = (
        value.main or more.main,
        value.tolerance or more.tolerance,
        value.volts or more.volts,
        value.watts or more.watts,
        value.dielectric or more.dielectric,
    )
    return PartValue(*merged, value_text)
