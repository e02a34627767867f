"""The one reader for delimited text: parts, fitted, placement, candidates, stock and readings all pass through it.

It finds encoding, delimiter and heading row by what they say, repairs rows where only one reading is possible, and
says what it assumed. Nothing is dropped without a word: what cannot be repaired is a finding with its line.
"""

import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path

from reworkkit.errors import ReworkkitError
from reworkkit.model.board import InputFile
from reworkkit.model.messages import Finding, Message, message
from reworkkit.model.values import Where
from reworkkit.model.vocabulary import Severity
from reworkkit.read.column_cells import designator_share, place_share, value_share
from reworkkit.read.delimited_split import Row, Split, best_splits
from reworkkit.read.heading_words import folded, heading_cells, meanings, roles_in
from reworkkit.read.headings import Columns, find_columns
from reworkkit.read.list_body import joined, padded, rows_mended, stacked, usual_width, without_second_heading
from reworkkit.read.list_notes import NoteLine, note_lines, rows_of
from reworkkit.read.quirks import RowContext
from reworkkit.read.spreadsheet import is_spreadsheet, read_spreadsheet
from reworkkit.read.text import TextFile, decode, read_bytes, visible

PARTS_ROLES = [
    "designator",
    "quantity",
    "value",
    "package",
    "description",
    "part_number",
    "manufacturer",
    "note",
    "purpose",
    "not_fitted",
    "fitted_flag",
    "side",
]
FITTED_ROLES = ["designator", "state", "note", "copy"]
PLACEMENT_ROLES = ["designator", "value", "package", "x", "y", "xy", "rotation", "side"]
CANDIDATE_ROLES = [
    "part_number",
    "fits",
    "kind",
    "price",
    "stock",
    "value",
    "package",
    "description",
    "manufacturer",
    "note",
]
STOCK_ROLES = ["part_number", "value", "package", "stock", "location", "description", "manufacturer", "note"]
READING_ROLES = ["point", "reading", "unit", "mode", "hold_point", "swapped", "note", "copy"]

SWEEP_ROLES = ["swept_position", "swept_a", "swept_b", "swept_celsius", "swept_amperes", "swept_seconds"]

_HEADING_SEARCH = 80
_WIDE_GAP = re.compile(r"\s{2,}")


@dataclass(frozen=True)
class Table:
    """A delimited file as rows under headings; `columns` maps each role found to its column."""

    name: str
    headings: tuple[str, ...]
    columns: dict[str, int]
    rows: list[Row]
    before: tuple[str, ...]
    """The lines above the headings, as text: date, units, remarks."""
    heading_line: int
    delimiter: str
    """`,` `;` tab `|`, `columns` for aligned text, `sheet` for a spreadsheet."""
    file: TextFile
    assumed: tuple[Message, ...] = ()
    findings: tuple[Finding, ...] = field(default=())

    def cell(self, row: Row, role: str) -> str:
        """Return the cell of a row under a role; empty where there is no such column."""
        index = self.columns.get(role)
        return row.cells[index].strip() if index is not None and index < len(row.cells) else ""

    def where(self, row: Row) -> Where:
        """Return the place of a row in its file."""
        return Where(self.name, row.line)

    def others(self, row: Row, taken: Collection[str]) -> tuple[tuple[str, str], ...]:
        """Return (heading, text) of every filled cell whose role is not in `taken`."""
        used = {self.columns[role] for role in taken if role in self.columns}
        return tuple((self.headings[i], c) for i, c in enumerate(row.cells) if i not in used and c.strip())

    def input_file(self, role: str) -> InputFile:
        """Return the record of the file, with what was assumed to read it."""
        return InputFile(self.name, role, self.file.sha256, self.file.size, self.assumed)

    @cached_property
    def by_column(self) -> list[list[str]]:
        """Return the cells column by column, as written."""
        return [list(column) for column in zip(*[cells for _, cells in self.rows], strict=True)] or [
            [] for _ in self.headings
        ]

    def stripped(self, index: int) -> Sequence[str]:
        """Return a whole column as text without blanks at the ends."""
        column = self.by_column[index]
        return column if all(text == text.strip() for text in self.distinct(index)) else list(map(str.strip, column))

    def distinct(self, index: int) -> list[str]:
        """Return each text of a column once, in order of appearance."""
        if index not in self._distinct:
            self._distinct[index] = list(dict.fromkeys(self.by_column[index]))
        return self._distinct[index]

    @cached_property
    def _distinct(self) -> dict[int, list[str]]:
        return {}


def read_table(
    path: Path,
    name: str,
    wanted: Sequence[str],
    *,
    need: Collection[str] = ("designator",),
    columns: Mapping[str, str] | None = None,
    encoding: str | None = None,
) -> Table:
    """Read a delimited file or spreadsheet; `wanted` are the roles its columns may have, `need` those it must have.

    `columns` is the person's answer where a heading is not understood (role -> heading, or number of the column).
    Raises ReworkkitError for files that are no text, and where a needed column is not found.
    """
    data = read_bytes(path, name)
    if is_spreadsheet(data):
        splits, file = read_spreadsheet(data, name)
    else:
        file = decode(data, name, encoding)
        splits = best_splits(file.text)
    return _best_table(splits, file, name, wanted, set(need), dict(columns or {}))


def table_of_text(file: TextFile, name: str, wanted: Sequence[str], *, need: Collection[str] = ()) -> Table | None:
    """Return the table in a text already read, or None where no heading row is found."""
    try:
        return _best_table(best_splits(file.text), file, name, wanted, set(need), {})
    except ReworkkitError:
        return None


def _best_table(
    splits: Sequence[Split], file: TextFile, name: str, wanted: Sequence[str], need: set[str], said: dict[str, str]
) -> Table:
    scored = []
    for split in splits:
        at, score = _heading_row(split, wanted, said, need)
        scored.append((score, split, at))
    scored.sort(key=lambda entry: (entry[1].delimiter in ("columns", "blanks"), -entry[0]))
    for score, split, at in scored:
        row = at if score > 0 else _uniform(split)
        if row >= 0:
            table = _table(split, row, file, name, wanted, said)
            if need <= table.columns.keys():
                return table
    for _, split, _ in scored:
        if "designator" in need and (bare := _without_headings(split, file, name, said, wanted)):
            return bare
    if "designator" in need and "quantity" in wanted and not said and (lines := note_lines(file.text)):
        return _of_notes(lines, file, name)
    raise _refusal(scored, name, wanted, need, said)


def _uniform(split: Split) -> int:
    """Return the first row of a table of one width, cut by a plain delimiter, as headings may be; else -1."""
    rows = [row for row in split.rows if any(cell.strip() for cell in row.cells)]
    plain = split.delimiter not in ("columns", "blanks", "lines")
    alike = len(rows) > 3 and len({len(row.cells) for row in rows}) == 1 and len(rows[0].cells) > 1
    return split.rows.index(rows[0]) if plain and alike else -1


def _of_notes(lines: Sequence[NoteLine], file: TextFile, name: str) -> Table:
    rows = [Row(line, cells) for line, cells in rows_of(lines)]
    told = Finding(message("list-read-as-notes"), Severity.CHECK, (), (Where(name, lines[0].line),))
    columns = {"designator": 0, "quantity": 1, "value": 2}
    headings = ("designators", "quantity", "words")
    return Table(name, headings, columns, rows, (), 0, "lines", file, file.assumed, (told,))


def _heading_row(split: Split, wanted: Sequence[str], said: Mapping[str, str], need: set[str]) -> tuple[int, float]:
    """Return the row that reads most like headings, and how much it does; rows further down need to do better."""
    best, best_score = -1, 0.0
    told = {folded(heading) for heading in said.values()}
    for at, row in enumerate(split.rows[:_HEADING_SEARCH]):
        filled = [cell for cell in row.cells if cell.strip()]
        if not filled or (split.delimiter == "lines" and _is_aligned_row(filled[0])):
            continue
        named = sum(folded(cell) in told for cell in filled)
        roles = roles_in(filled, wanted)
        known = heading_cells(filled, wanted)
        # A row of candidates has a column for every figure of a sheet, and most of them are no role.
        strange = 3 * known < len(filled) and not ("fits" in roles and need <= roles)
        if not named and (not roles or (len(filled) > 1 and known < 2) or strange):
            continue
        score = (
            0.2 * known
            + 2.0 * min(len(roles), known)
            + 3.0 * named
            + 3.0 * ("designator" in roles or named > 0)
            + 2.0 * (need <= roles)
        )
        if score > best_score:
            best, best_score = at, score
    if best < 0:
        return best, 0.0
    filled_cells = sum(bool(cell.strip()) for cell in split.rows[best].cells)
    under = [row for row in split.rows[best + 1 : best + 30] if any(row.cells)]
    wide = sum(len(row.cells) >= filled_cells for row in under) / max(len(under), 1) if filled_cells > 1 else 0.0
    return best, best_score + 2.0 * wide + (1.5 if split.delimiter not in ("columns", "blanks") else 0.0)


def _is_aligned_row(line: str) -> bool:
    """Return whether a whole line holds several headings that wide gaps part: it is no single heading."""
    return sum(bool(meanings(piece)) for piece in _WIDE_GAP.split(line)) > 1


def _table(split: Split, at: int, file: TextFile, name: str, wanted: Sequence[str], said: Mapping[str, str]) -> Table:
    heading = split.rows[at]
    headings = [visible(cell).lstrip("#").strip() if i == 0 and visible(cell)[1:].strip() else visible(cell)
                for i, cell in enumerate(heading.cells)]  # fmt: skip
    headings, body, side_by_side = stacked(headings, split.rows[at + 1 :])
    width = usual_width(headings, body)
    headings += [""] * (width - len(headings))
    found = find_columns(headings, [row.cells for row in body[:400]], wanted, said)
    columns = found.roles
    body = without_second_heading(heading, body, columns.get("designator"))
    context = RowContext(tuple(headings), columns.get("designator"), columns.get("quantity"), heading.cells)
    rows, findings = rows_mended(body, width, context, name)
    widths = {len(cells) for _, cells in rows}
    headings_full = (*headings, *[""] * (max(widths, default=0) - width))
    if len(widths) > 1:
        rows = [r if len(r.cells) == len(headings_full) else padded(r, len(headings_full)) for r in rows]
    if found.more_designators:
        rows = joined(rows, columns["designator"], found.more_designators)
        findings = (*findings, _joined_finding(headings, found, Where(name, heading.line)))
    if side_by_side:
        findings = (*findings, Finding(message("list-tables-stacked"), Severity.NOTE, (), (Where(name, heading.line),)))
    if odd := [n for n in split.odd_quotes if n > heading.line]:
        told = message("list-quotes-open", count=len(odd))
        findings = (*findings, Finding(told, Severity.CHECK, (), tuple(Where(name, n) for n in odd[:20])))
    assumed = (*file.assumed, *split.assumed, *_column_messages(found, headings))
    before = tuple(text for row in split.rows[:at] if (text := split.delimiter_text.join(row.cells).strip()))
    return Table(name, headings_full, columns, rows, before, heading.line, split.delimiter, file, assumed, findings)


def _joined_finding(headings: Sequence[str], found: Columns, where: Where) -> Finding:
    names = [headings[i] or f"column {i + 1}" for i in (found.roles["designator"], *found.more_designators)]
    return Finding(message("list-designators-joined", headings=" | ".join(names)), Severity.NOTE, (), (where,))


def _column_messages(found: Columns, headings: Sequence[str]) -> tuple[Message, ...]:
    told = []
    for role, heading in found.by_cells.items():
        told.append(message("list-column-by-cells", role=role, heading=heading or "(no heading)"))
    return tuple(told)


def _without_headings(
    split: Split, file: TextFile, name: str, said: Mapping[str, str], wanted: Sequence[str]
) -> Table | None:
    """A list with no heading row that is known: read only where one column is designators from first row to last.

    One row above the first may hold headings that nobody knows.
    """
    rows = [
        row
        for row in split.rows
        if sum(bool(c.strip()) for c in row.cells) > 1 or (len(row.cells) == 1 and any(row.cells))
    ]
    if len(rows) < 3 or len(rows[0].cells) < 2:
        return None
    width = max(len(row.cells) for row in rows)
    column, headed = _bare_column(rows, width, said.get("designator", ""), 2 if "quantity" in wanted else 1)
    if column is None:
        return None
    headings = [f"column {n + 1}" for n in range(width)]
    if headed:
        headings = [visible(cell) or headings[n] for n, cell in enumerate(padded(rows[0], width).cells)]
    found = {"designator": column} | {r: int(h) - 1 for r, h in said.items() if h.isdigit() and 0 < int(h) <= width}
    notes = [message("list-no-headings", column=column + 1)]
    body = [padded(row, width) for row in rows[headed:]]
    cells = [row.cells for row in body]
    if "value" in wanted and "value" not in found and not said:
        shares = [(value_share(i, column, cells), -i) for i in range(width) if i not in found.values()]
        share, index = max(shares, default=(0.0, 0))
        if share >= 0.6:
            found["value"] = -index
            notes.append(message("list-column-by-cells", role="value", heading=headings[-index]))
    assumed = (*file.assumed, *split.assumed, *notes)
    return Table(name, tuple(headings), found, body, (), rows[0].line * headed, split.delimiter, file, assumed)


def _bare_column(rows: Sequence[Row], width: int, answer: str, starts: int) -> tuple[int | None, int]:
    """Return the column of designators, and 1 where the first row stands above them as headings."""
    if answer.isdigit() and 0 < int(answer) <= width:
        return int(answer) - 1, 0
    for headed in range(starts):
        body = [row.cells for row in rows[headed:]]
        fits = [i for i in range(width) if designator_share(i, body) >= 0.8 and designator_share(i, body[:1]) == 1]
        places = fits if len(fits) == 1 and not headed else [i for i in fits if place_share(i, body) >= 0.85]
        if len(places) == 1:
            return places[0], headed
    return None, 0


def _refusal(
    scored: Sequence[tuple[float, Split, int]],
    name: str,
    wanted: Sequence[str],
    need: set[str],
    said: Mapping[str, str],
) -> ReworkkitError:
    """Say which headings were seen, and the exact line that would answer."""
    split, at = _likeliest_headings(scored)
    row = split.rows[at] if split.rows else Row(0, [])
    headings = [visible(cell) for cell in row.cells if visible(cell)]
    where = (Where(name, row.line),)
    found = find_columns(row.cells, [r.cells for r in split.rows[at + 1 : at + 400]], wanted, said).roles
    missing = next((role for role in wanted if role in need and role not in found), "designator")
    if missing in said:
        return ReworkkitError(
            "column-not-there",
            where=where,
            file=name,
            role=missing,
            heading=said[missing],
            headings=" | ".join(headings),
        )
    body = [r.cells for r in split.rows[at + 1 :]]
    likely = max(range(len(row.cells)), key=lambda i: designator_share(i, body), default=0)
    sure = missing == "designator" and row.cells and designator_share(likely, body) >= 0.5
    answer = (visible(row.cells[likely]) or str(likely + 1)) if sure else "NAME"
    quoted = f'"{answer}"' if re.search(r"[^\w.+-]", answer) else answer
    return ReworkkitError(
        "column-not-found",
        where=where,
        file=name,
        role=missing,
        headings=" | ".join(headings) or "none",
        answer=f"--column {missing}={quoted}",
    )


def _likeliest_headings(scored: Sequence[tuple[float, Split, int]]) -> tuple[Split, int]:
    for score, split, at in scored:
        if score > 0 and at >= 0:
            return split, at
    split = max((entry[1] for entry in scored), key=lambda s: (s.weight, len(s.rows)), default=Split("", [], ()))
    widths = [sum(bool(c.strip()) for c in row.cells) for row in split.rows[:_HEADING_SEARCH]]
    usual = max(set(widths), key=widths.count) if widths else 0
    at = next((n for n, w in enumerate(widths) if w and w >= usual), 0)
    return split, at


__all__ = [
    "CANDIDATE_ROLES",
    "FITTED_ROLES",
    "PARTS_ROLES",
    "PLACEMENT_ROLES",
    "READING_ROLES",
    "STOCK_ROLES",
    "Row",
    "Table",
    "meanings",
    "read_table",
    "table_of_text",
]
