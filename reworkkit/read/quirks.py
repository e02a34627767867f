"""Named oddities of real lists: what gives each away, and the one repair it allows. None names a file.

A quirk has a slug (its finding), a match, a repair and the name of the test that shows it. Rows of the usual width
with a filled first cell never come here, so a clean list costs nothing.
"""

import re
from collections.abc import Callable
from typing import NamedTuple

from reworkkit.model.designator import canonical, looks_numbered
from reworkkit.model.designator_cell import expand_cell
from reworkkit.read.delimited_split import Row

_RULE = re.compile(r"[\s\-=_+*:.~]{2,}")
_WHOLE = re.compile(r"\s*\d{1,6}\s*")
_AFTER_COMMA = re.compile(r"\s?\d{1,4}\s?[a-zA-ZµμΩ%]{0,4}(?:\s.*)?")
_TOTAL = re.compile(
    r"(?:grand |sub)?-?(?:totals?|sum|summe|gesamt\w*|suma|celkem|somme|totale|totaal|итого|всего|合計|合计|总计)\b.*"
    r"|(?:component|part|item|line)s? ?(?:count|groups|total).*|end(?: of (?:list|file|bom))?|# ?parts?:.*",
    re.IGNORECASE,
)


class RowContext(NamedTuple):
    """What a quirk may look at beside the row: headings, where designators and quantity stand, the heading row."""

    headings: tuple[str, ...]
    designator: int | None
    quantity: int | None
    heading: list[str]


class Quirk(NamedTuple):
    """One oddity; `repair` returns the cells mended, an empty list for a row that is no data."""

    slug: str
    match: Callable[[list[str], int, RowContext], bool]
    repair: Callable[[list[str], int, RowContext], list[str]]
    test: str


def mended(row: Row, width: int, context: RowContext) -> tuple[Row, str]:
    """Return the row with the first matching quirk repaired, and the slug of that quirk (empty: nothing to tell)."""
    cells = row.cells
    while len(cells) > width and not cells[-1].strip():
        cells = cells[:-1]
    for quirk in ROW_QUIRKS:
        if quirk.match(cells, width, context):
            return Row(row.line, quirk.repair(cells, width, context)), quirk.slug
    return Row(row.line, cells), "list-row-long" if len(cells) > width else ""


def _drop(cells: list[str], width: int, context: RowContext) -> list[str]:
    return []


def _is_heading_again(cells: list[str], width: int, context: RowContext) -> bool:
    first = [cell.strip().casefold() for cell in context.heading]
    return [cell.strip().casefold() for cell in cells] == first[: len(cells)] and len(cells) > 1


def _is_rule(cells: list[str], width: int, context: RowContext) -> bool:
    filled = [cell for cell in cells if cell.strip()]
    return bool(filled) and all(_RULE.fullmatch(cell) for cell in filled)


def _is_remark(cells: list[str], width: int, context: RowContext) -> bool:
    first = next((cell.strip() for cell in cells if cell.strip()), "")
    at = context.designator
    refs = cells[at].strip() if at is not None and at < len(cells) else ""
    return first.startswith(("#", "//", "--")) and not (refs and refs != first and expand_cell(refs).refs)


def _surplus_refs(cells: list[str], width: int, context: RowContext) -> bool:
    """`R1,R2,R3` without quotes in a comma file: the surplus cells are all designators, side by side."""
    at, surplus = context.designator, len(cells) - width
    if at is None or surplus <= 0 or at + surplus >= len(cells):
        return False
    run = [cell for cell in cells[at : at + surplus + 1] if cell.strip()]
    if not run or not looks_numbered(canonical(run[0])):
        return False
    lone = [canonical(cell) for cell in run[1:] if not expand_cell(f"R1, {cell}").remark]
    return all(map(looks_numbered, lone))


def _join_refs(cells: list[str], width: int, context: RowContext) -> list[str]:
    at, surplus = context.designator or 0, len(cells) - width
    return [*cells[:at], ", ".join(cells[at : at + surplus + 1]), *cells[at + surplus + 1 :]]


def _decimal_places(cells: list[str], width: int) -> list[int]:
    if len(cells) - width != 1:
        return []
    return [i for i in range(len(cells) - 1) if _WHOLE.fullmatch(cells[i]) and _AFTER_COMMA.fullmatch(cells[i + 1])]


def _is_decimal_comma(cells: list[str], width: int, context: RowContext) -> bool:
    """`2,2k` without quotes in a comma file: only one place where two cells make one figure."""
    places = [i for i in _decimal_places(cells, width) if i != context.quantity]
    return len(places) == 1 and bool(re.search(r"[a-zA-ZµμΩ%]", cells[places[0] + 1]))


def _join_decimal(cells: list[str], width: int, context: RowContext) -> list[str]:
    at = next(i for i in _decimal_places(cells, width) if i != context.quantity)
    return [*cells[:at], f"{cells[at].strip()},{cells[at + 1].strip()}", *cells[at + 2 :]]


ROW_QUIRKS: tuple[Quirk, ...] = (
    Quirk("list-heading-again", _is_heading_again, _drop, "test_headings_repeated_on_every_page"),
    Quirk("list-rule-row", _is_rule, _drop, "test_rules_between_rows"),
    Quirk("list-remark-row", _is_remark, _drop, "test_remark_rows"),
    Quirk("list-refs-spilled", _surplus_refs, _join_refs, "test_designators_without_quotes"),
    Quirk("list-decimal-comma", _is_decimal_comma, _join_decimal, "test_decimal_comma_without_quotes"),
)


def is_total(text: str) -> bool:
    """Tell whether a cell opens a row of totals or another row about the list itself.

    >>> is_total("Total"), is_total("Component Count:"), is_total("TOTEM1")
    (True, True, False)
    """
    return bool(_TOTAL.fullmatch(text.strip()))


def is_sub_title(filled: list[str], width: int) -> bool:
    """Tell whether a row is a title between groups: one filled cell that is no numbered designator, in a wide table.

    >>> is_sub_title(["RESISTORS"], 6), is_sub_title(["R12"], 6), is_sub_title(["OLED"], 1)
    (True, False, False)
    """
    return (
        len(filled) == 1
        and width >= 3
        and not any(looks_numbered(canonical(p)) for p in re.split(r"[,;\s-]+", filled[0]))
    )
