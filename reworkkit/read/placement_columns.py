"""Placement as text in columns parted by blanks, with `#` lines above: values in the middle may hold blanks.

The columns before the free text are taken from the left of a row, those behind it from the right, so that neither
blanks nor commas in a value matter.
"""

import re
from collections.abc import Collection, Mapping, Sequence
from typing import NamedTuple

from reworkkit.model.designator import canonical
from reworkkit.read.heading_words import folded, meanings

_ROLES = ("designator", "x", "y", "rotation", "side")
_FREE = ("value", "package", "description", "part_number", "note")
_DELIMITERS = re.compile(r"[,;\t|]")
_MOST_WORDS = 6
_HEADING_SEARCH = 80


class ColumnText(NamedTuple):
    """Headings by role, rows as (line, cells by role), and the lines above the headings."""

    headings: dict[str, str]
    rows: list[tuple[int, dict[str, str]]]
    before: tuple[str, ...]


class _Layout(NamedTuple):
    """Which role each column has, those at the left of the free text and those at its right."""

    left: tuple[str | None, ...]
    right: tuple[str | None, ...]
    middle: tuple[str, ...]
    """The roles of the free text between them: told apart only where a row has a word for each heading."""
    ref_end: int
    """Column at which the heading after the designator starts; 0 where the designator does not stand first."""


def column_text(text: str, known_refs: Collection[str], columns: Mapping[str, str]) -> ColumnText | None:
    """Return the rows of a column text, or None where no line heads designator, x and y parted by blanks."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    for at, line in enumerate(lines[:_HEADING_SEARCH]):
        if _DELIMITERS.search(line.strip()) or len(line.split()) < 3:
            continue
        if roles := _roles(line.lstrip("# \t").split(), columns):
            layout = _layout(line, roles)
            known = {canonical(ref) for ref in known_refs}
            rows = [(n, _cells(row, layout, known)) for n, row in enumerate(lines[at + 1 :], at + 2) if _is_row(row)]
            words = line.lstrip("# \t").split()
            headings = {role: words[index] for index, role in enumerate(roles) if role in _ROLES}
            return ColumnText(headings, rows, tuple(text for text in lines[:at] if text.strip()))
    return None


def _is_row(line: str) -> bool:
    return bool(line.strip()) and not line.lstrip().startswith("#") and not set(line.strip()) <= set("-=+ ")


def _roles(words: Sequence[str], columns: Mapping[str, str]) -> list[str] | None:
    """Return the role of each heading (the first that is free), or None where designator, x or y is missing."""
    told = {folded(heading): role for role, heading in columns.items()}
    roles: list[str] = []
    for word in words:
        fits = [told[folded(word)]] if folded(word) in told else [alias.role for alias in meanings(word)]
        free = [role for role in fits if role in (*_ROLES, *_FREE) and role not in roles]
        roles.append(free[0] if free else "")
    return roles if {"designator", "x", "y"} <= set(roles) else None


def _layout(line: str, roles: list[str]) -> _Layout:
    free = [index for index, role in enumerate(roles) if role not in _ROLES]
    first, last = (free[0], free[-1] + 1) if free else (len(roles), len(roles))
    starts = [match.start() for match in re.finditer(r"\S+", line)]
    offset = len(starts) - len(roles)
    ref_end = starts[1 + offset] if roles[0] == "designator" and len(starts) > 1 + offset else 0
    return _Layout(tuple(roles[:first]), tuple(roles[last:]), tuple(roles[first:last]), ref_end)


def _cells(line: str, layout: _Layout, known: Collection[str]) -> dict[str, str]:
    """Return the cells by role; words too few leave cells out, and the row is then reported as unreadable."""
    words = line.split()
    if layout.ref_end:
        ref, words = _designator(line, words, layout, known)
        words = [ref, *words]
    cells = {role: word for role, word in zip(layout.left, words, strict=False) if role}
    behind = words[-len(layout.right) :] if layout.right else []
    if len(behind) == len(layout.right) and len(words) > len(layout.left):
        cells |= {role: word for role, word in zip(layout.right, behind, strict=True) if role}
    free = words[len(layout.left) : len(words) - len(layout.right)]
    if len(free) == len(layout.middle):
        cells |= {role: word for role, word in zip(layout.middle, free, strict=True) if role}
    return cells


def _designator(line: str, words: list[str], layout: _Layout, known: Collection[str]) -> tuple[str, list[str]]:
    """Return the designator and the words behind it: the longest known one, else what stands in its column."""
    for count in range(min(_MOST_WORDS, len(words) - 1), 0, -1):
        if canonical("".join(words[:count])) in known:
            return " ".join(words[:count]), words[count:]
    column = line[: layout.ref_end]
    if column.strip() and column.endswith(" ") and not line[layout.ref_end : layout.ref_end + 1].isspace():
        return column.strip(), line[layout.ref_end :].split()
    return words[0], words[1:]
