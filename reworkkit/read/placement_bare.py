"""A placement without headings: `R1 10.16 5.08 90 10k R0603`, a row for each part, as small exporters write it."""

import re

from reworkkit.model.designator import canonical, looks_numbered
from reworkkit.read.placement_cells import side_of
from reworkkit.read.placement_columns import ColumnText

_CUT = re.compile(r"\s*[,;\t]\s*|\s+")
_FIGURE = re.compile(r"[-+]?\d+(?:[.,]\d+)?(?:mm|mil|in)?")
_EXACT = re.compile(r"[-+]?\d+[.,]\d+(?:mm|mil|in)?|[-+]?\d+(?:mm|mil|in)")
_HEADS = re.compile(r"(?:\b|pos|_)x(?:\b|pos|_).*(?:\b|pos|_)y(?:\b|pos|_)", re.IGNORECASE)
_TURN = re.compile(r"m?r?[-+]?\d{1,3}(?:[.,]\d+)?", re.IGNORECASE)


def bare_rows(text: str) -> ColumnText | None:
    """Return the rows of a file whose every line is a designator with coordinates; None for anything else."""
    rows: list[tuple[int, dict[str, str]]] = []
    others = 0
    before: list[str] = []
    for number, line in enumerate(text.splitlines(), 1):
        if not line.strip() or line.lstrip().startswith(("#", ";", "//", "*")):
            before.append(line)
            continue
        cells = _row(line)
        if cells is None and not rows:
            return None
        if cells is None:
            others += 1
        else:
            rows.append((number, cells))
    if len(rows) < 2 or 5 * others > len(rows) or any(_HEADS.search(line) for line in before):
        return None
    headings = {role: "" for _, cells in rows for role in cells}
    return ColumnText(headings, rows, tuple(before))


def _row(line: str) -> dict[str, str] | None:
    words = [word.strip('"') for word in _CUT.split(line.strip()) if word.strip('"')]
    if len(words) < 3 or not looks_numbered(canonical(words[0])):
        return None
    at = next(
        (n for n in range(1, len(words) - 1) if _EXACT.fullmatch(words[n]) and _FIGURE.fullmatch(words[n + 1])), None
    )
    if at is None:
        return None
    cells = {"designator": words[0], "x": words[at], "y": words[at + 1]}
    behind = words[at + 2 :]
    if behind and _TURN.fullmatch(behind[0]):
        cells["rotation"] = behind[0]
        behind = behind[1:]
    sides = [word for word in behind if side_of(word) is not None and not word.isdigit()]
    if sides:
        cells["side"] = sides[-1] if sides[-1] == behind[-1] else sides[0]
    return cells
