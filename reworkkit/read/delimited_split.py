"""Text cut into rows of cells, one cut for each delimiter that could be meant; the headings decide between them."""

import csv
import io
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import count, pairwise
from typing import NamedTuple

from reworkkit.model.bulk import records
from reworkkit.model.designator import canonical, looks_numbered
from reworkkit.model.messages import Message, message
from reworkkit.read.heading_words import meanings
from reworkkit.read.markup import has_table, table_rows, without_emphasis, without_shaping

DELIMITERS = (",", ";", "\t", "|")
_RARE_DELIMITERS = ("，", "；", "｜", "│", "¦", "^")
_SEP_LINE = re.compile(r'\s*"?sep=(.)"?[,;|\t]*\s*', re.IGNORECASE)
_DASH_CELL = re.compile(r"[\s:=+\-]*")
_LOOK_AHEAD = 40
_MOST_CELL = 8_000_000


class Row(NamedTuple):
    """One row: the line it starts on, and its cells."""

    line: int
    cells: list[str]


@dataclass(frozen=True)
class Split:
    """The rows that one way of cutting gives; `weight` says how table-like they are."""

    delimiter: str
    rows: list[Row]
    assumed: tuple[Message, ...] = ()
    weight: float = 0.0
    odd_quotes: tuple[int, ...] = ()
    """Lines whose quotation marks do not pair up."""

    @property
    def delimiter_text(self) -> str:
        """Return what to put between cells to get the line back."""
        return self.delimiter if len(self.delimiter) == 1 else " "


def best_splits(text: str) -> list[Split]:
    """Return the cuts worth looking at, the most table-like first; a `sep=` line is obeyed."""
    first, _, rest = text.partition("\n")
    if match := _SEP_LINE.fullmatch(first.rstrip("\r")):
        return [_split_at(without_shaping(rest), match[1], 2, 1.0)]
    if has_table(text):
        return [
            Split("html", [Row(line, cells) for line, cells in table_rows(text)], (message("list-html-table"),), 1.0)
        ]
    text = without_shaping(text)
    head = text[:100_000].rpartition("\n")[0] if len(text) > 200_000 else text
    weights = {d: _weight(head, d) for d in DELIMITERS if d in head}
    if not any(weight >= 0.5 for weight in weights.values()):
        weights |= {d: _weight(head, d) for d in _RARE_DELIMITERS if d in head}
    chosen = sorted((d for d in weights if weights[d] > 0), key=lambda d: -weights[d])[:3]
    splits = [_split_at(text, d, 1, weights[d]) for d in chosen]
    strong = chosen and weights[chosen[0]] >= 0.9 and len(text) > 200_000
    if strong:
        return splits[:1]
    aligned = _aligned(text)
    if not splits:
        splits = [Split("lines", [Row(n, [line.strip()]) for n, line in enumerate(text.splitlines(), 1)])]
    return [*splits, *aligned]


def _weight(head: str, delimiter: str) -> float:
    """Return the share of filled lines that have the usual number of delimiters (a rough, cheap look)."""
    counts = [line.count(delimiter) for line in head.splitlines() if line.strip()]
    filled = [n for n in counts if n]
    if not filled:
        return 0.0
    usual = max(set(filled), key=filled.count)
    return max(filled.count(usual) / len(counts), 0.3 * len(filled) / len(counts))


def _split_at(text: str, delimiter: str, first_line: int, weight: float) -> Split:
    csv.field_size_limit(_MOST_CELL)
    try:
        rows = _one_line_rows(text, delimiter, first_line) or list(
            _parsed(io.StringIO(text, newline=""), delimiter, first_line)
        )
    except csv.Error:
        return Split(delimiter, _unquoted_rows(text, delimiter, first_line), (), weight)
    if '"' not in text:
        return Split(delimiter, rows, (), weight)
    odd: list[int] = []
    if (bad := _run_away_quote(rows, text, delimiter, first_line)) is not None:
        rows, odd = _mended_quotes(text, delimiter, first_line, bad)
    mark = re.compile(rf'(?:^|{re.escape(delimiter)})[ ]*"(?:[^"]|"")*"(?!")[ ]*[^\s{re.escape(delimiter)}"]')
    odd += [n for n, line in enumerate(text.split("\n"), first_line) if '"' in line and mark.search(line)]
    return Split(delimiter, rows, (), weight, tuple(sorted(set(odd))))


def _one_line_rows(text: str, delimiter: str, first_line: int) -> list[Row]:
    """The quick way, for text in which no cell runs over lines; empty where one does, or where bars rule the table."""
    if delimiter == "|":
        return []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, skipinitialspace=True)
    cells = list(reader)
    return records(Row, count(first_line), cells) if reader.line_num == len(cells) else []


def _parsed(lines: Iterator[str], delimiter: str, first_line: int) -> Iterator[Row]:
    reader = csv.reader(lines, delimiter=delimiter, skipinitialspace=True)
    line = first_line
    if delimiter == "|":
        for cells in reader:
            if (row := _ruled(cells)) is not None:
                yield Row(line, row)
            line = first_line + reader.line_num
        return
    for cells in reader:
        yield Row(line, cells)
        line = first_line + reader.line_num


def _ruled(cells: list[str]) -> list[str] | None:
    """A table drawn with bars has an empty cell at both ends and a row of dashes; neither is data."""
    if any(cells) and all(_DASH_CELL.fullmatch(cell) for cell in cells):
        return None
    if len(cells) > 2 and not cells[0].strip() and not cells[-1].strip():
        cells = cells[1:-1]
    return [without_emphasis(cell.strip()) for cell in cells]


def _unquoted_rows(text: str, delimiter: str, first_line: int) -> list[Row]:
    rows = (line.split(delimiter) for line in text.splitlines())
    return [Row(n, [cell.strip().strip('"') for cell in row]) for n, row in enumerate(rows, first_line)]


def _run_away_quote(rows: Sequence[Row], text: str, delimiter: str, first_line: int) -> int | None:
    """Return the line of a quote that was opened and swallowed whole rows, or None.

    A cell may run over lines; it swallowed rows when the lines inside it are as wide as the table, or begin as its
    rows do, with a designator where the others have one.
    """
    usual = _usual_cells(rows)
    if usual < 2:
        return None
    lines: list[str] | None = None
    at = _place_column(rows, usual)
    for row, after in zip(rows, [*rows[1:], None], strict=True):
        if any("\n" in cell for cell in row.cells):
            lines = lines if lines is not None else text.splitlines()
            last = after.line - 1 if after else first_line + len(lines) - 1
            inside = lines[row.line - first_line + 1 : last - first_line + 1]
            wide = sum(line.count(delimiter) >= usual - 1 for line in inside[:_LOOK_AHEAD])
            closed = len(row.cells) == usual and '"' in "".join(inside[-1:])
            if (wide and not closed) or any(_is_row_alone(line, delimiter, usual, at) for line in inside):
                return row.line
    return None


def _place_column(rows: Sequence[Row], usual: int) -> int | None:
    """Return the column in which most rows have one numbered designator, if there is one."""
    whole = [row.cells for row in rows[:200] if len(row.cells) == usual]
    shares = [sum(looks_numbered(canonical(cells[i])) for cells in whole) for i in range(usual)] if whole else []
    return shares.index(max(shares)) if shares and 2 * max(shares) >= len(whole) else None


def _is_row_alone(line: str, delimiter: str, usual: int, at: int | None) -> bool:
    """Tell whether a line inside a cell would make a row of its own, with its designator at the right place."""
    if at is None or line.count(delimiter) < usual - 1:
        return False
    cells = line.split(delimiter)
    return looks_numbered(canonical(cells[at].strip(' "'))) and not all(
        looks_numbered(canonical(cell.strip(' "'))) for cell in cells if cell.strip(' "')
    )


def _usual_cells(rows: Sequence[Row]) -> int:
    widths = [len(row.cells) for row in rows[:500] if any(row.cells)]
    return max(sorted(set(widths), reverse=True), key=widths.count) if widths else 0


def _mended_quotes(text: str, delimiter: str, first_line: int, bad: int) -> tuple[list[Row], list[int]]:
    """Read the lines with an open quote without quoting, and the rest as usual; gives up quoting after 50 of them.

    Returns the rows and the lines read so.
    """
    lines = text.splitlines(keepends=True)
    rows: list[Row] = []
    odd: list[int] = []
    start = first_line
    for _ in range(50):
        chunk = "".join(lines[start - first_line : bad - first_line])
        rows += _parsed(io.StringIO(chunk, newline=""), delimiter, start)
        rows += _unquoted_rows(lines[bad - first_line], delimiter, bad)
        odd.append(bad)
        start = bad + 1
        rest = "".join(lines[start - first_line :])
        after = list(_parsed(io.StringIO(rest, newline=""), delimiter, start))
        following = _run_away_quote(after, rest, delimiter, start)
        if following is None:
            return rows + after, odd
        bad = following
    return rows + _unquoted_rows("".join(lines[start - first_line :]), delimiter, start), odd


_GAPS = (re.compile(r"\s{2,}"), re.compile(r"\s+"))


def _aligned(text: str) -> list[Split]:
    """Cut text that is aligned in columns with blanks: at blanks that all lines share, else at every blank."""
    lines = [line.expandtabs().rstrip() for line in text.splitlines()[:20_000]]
    note = message("list-aligned-text")
    found = []
    for at, line in enumerate(lines[:40]):
        if not any(meanings(word) for word in line.split()[:30]):
            continue
        for words in _heading_words(line):
            rows = [Row(n, [lines[n - 1].strip()]) for n in range(1, at + 1)]
            body = [n for n in range(at, len(lines)) if lines[n].strip() and not lines[n].startswith("##")]
            cuts = _cuts(words, [lines[n] for n in body[:500]])
            rows += [Row(n + 1, _sliced(lines[n], cuts)) for n in body]
            found.append(Split("columns", rows, (note,), 0.1))
    plain = [Row(n, line.lstrip("#").split()) for n, line in enumerate(lines, 1)]
    return [*found[:24], Split("blanks", plain, (note,), 0.05)]


def _heading_words(line: str) -> list[list[tuple[int, int]]]:
    """Return start and end of the words of a heading line: those two blanks apart, and those one blank apart."""
    first = len(line) - len(line.lstrip("# "))
    found: list[list[tuple[int, int]]] = []
    for gap in _GAPS:
        edges = [first, *[m.end() for m in gap.finditer(line) if first < m.end() < len(line)], len(line)]
        words = [(start, start + len(line[start:end].rstrip())) for start, end in pairwise(edges)]
        if 2 <= len(words) <= 30 and words not in found:
            found.append(words)
    return found


def _cuts(words: list[tuple[int, int]], lines: list[str]) -> list[int]:
    """Return where columns begin: the last position between two headings that is blank in every line."""
    width = max(words[-1][1], *map(len, lines), 0)
    full = [line.ljust(width) for line in lines]
    cuts = [0]
    for (_, end), (start, _) in pairwise(words):
        blank = [p for p in range(end, start) if all(line[p] == " " for line in full)]
        cuts.append(blank[-1] if blank else start)
    return cuts


def _sliced(line: str, cuts: list[int]) -> list[str]:
    """Cut a line at the columns; a list that runs past its column (its piece ends in a comma) keeps its tail."""
    pieces = [line[a:b] for a, b in pairwise([*cuts, None])]
    cells = [piece.strip() for piece in pieces]
    for n in range(len(cells) - 1):
        while cells[n].endswith(",") and cells[n + 1] and not pieces[n].endswith("  "):
            word, _, rest = cells[n + 1].partition(" ")
            cells[n], cells[n + 1] = f"{cells[n]} {word}", rest.lstrip()
    return cells
