"""A parts list that is no table at all: lines such as `R1 10k`, `3x 10k: R1, R2, R5`, `2 x 100nF (C1, C2)`.

Read only where nearly every line is so, and every place stands once; the caller says that it was read this way.
"""

import re
from collections.abc import Sequence
from typing import NamedTuple

from reworkkit.model.designator import canonical, class_letters, looks_numbered
from reworkkit.model.designator_cell import expand_cell
from reworkkit.read.column_cells import place_share
from reworkkit.read.text import visible

_BULLET = re.compile(r"^\s*(?:[-*•·>]|\[[ xX]\])\s+")
_COUNT = re.compile(r"^(\d{1,3})\s*(?:[x×*]|pcs?\.?|off|st\.|stk\.?)\s*", re.IGNORECASE)
_TRAILING = re.compile(r"^(.*\S)\s*(?:[:=(\[]|\s[-–—>]+)\s*([^:=(\[]+?)\s*[)\]]?\.?$")
_JOINED = re.compile(r"[A-Za-z]{1,4}\d{1,4}[A-Za-z]?[,;]?|[-–&+,]|to|and|und|bis|et|à|y|e|i")


class NoteLine(NamedTuple):
    """One line: where, its designators as written, the count (`3x`), and the words; a title has no designators."""

    line: int
    refs: str
    number: str
    words: str


def note_lines(text: str) -> list[NoteLine] | None:
    """Return the lines of a list written as notes, or None where the text is something else."""
    found: list[NoteLine] = []
    others = 0
    for number, written in enumerate(text.splitlines()[:5000], 1):
        line = _BULLET.sub("", visible(written)).strip()
        if not line or line.startswith(("#", "//")) or set(line) <= set("-=_*~ "):
            continue
        told = _one(line, number)
        if told is not None:
            found.append(told)
        elif len(line) <= 40 and (
            line.endswith(":") or (len(line.split()) <= 3 and not any(c.isdigit() for c in line))
        ):
            found.append(NoteLine(number, "", "", line))
        else:
            others += 1
    parts = [entry.refs for entry in found if entry.refs]
    if len(parts) < 3 or others > max(1, len(parts) // 3) or place_share(0, [[refs] for refs in parts]) < 0.9:
        return None
    return found


def _one(line: str, number: int) -> NoteLine | None:
    count = ""
    if match := _COUNT.match(line):
        count, line = match[1], line[match.end() :]
    words = line.split()
    taken = 0
    while taken < len(words) and _JOINED.fullmatch(words[taken].rstrip(":")):
        if taken and not _goes_on(words[taken - 1], words[taken], words[0]):
            break
        taken += 1
        if words[taken - 1].endswith(":"):
            break
    if taken and taken < len(words) and _places(" ".join(words[:taken]).rstrip(":")):
        rest = " ".join(words[taken:]).lstrip(":-–=> ")
        return NoteLine(number, " ".join(words[:taken]).rstrip(": -–"), count, rest) if rest else None
    if (match := _TRAILING.match(line)) and _places(match[2]):
        return NoteLine(number, match[2], count, match[1].strip(" :-–"))
    return None


def _goes_on(before: str, word: str, first: str) -> bool:
    """`R1 R2 10k`: a list goes on over commas and joining words, or with the letters it began with."""
    if before.endswith((",", ";")) or not looks_numbered(canonical(before)) or not looks_numbered(canonical(word)):
        return True
    return class_letters(word.upper()) == class_letters(first.upper())


def _places(text: str) -> bool:
    found = expand_cell(text)
    return bool(found.refs) and not found.unread and place_share(0, [[text]]) >= 0.9


def rows_of(lines: Sequence[NoteLine]) -> list[tuple[int, list[str]]]:
    """Return the lines as rows of three cells: designators, count, words."""
    return [(entry.line, [entry.refs, entry.number, entry.words]) for entry in lines]
