"""What a survey left behind: the rows of its looks in the fitted list, and sheets that somebody filled in."""

import csv
import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import NamedTuple

from reworkkit.model.board import FoundState
from reworkkit.model.designator import canonical
from reworkkit.model.survey import LOOKS, MARK, Seen, kind_of
from reworkkit.read.delimited import FITTED_ROLES, table_of_text
from reworkkit.read.fitted_lines import Statement, lines_of, statement_of_row
from reworkkit.read.fitted_states import settled, states_in
from reworkkit.read.spreadsheet import is_spreadsheet
from reworkkit.read.text import decode, read_bytes

_KEPT = re.compile(rf"#\s*({'|'.join(LOOKS)}) look:\s*(\S.*)")


class KeptLook(NamedTuple):
    """One look at one place, kept in a row of the fitted list that starts with `#`."""

    ref: str
    look: int
    seen: Seen
    copy: int | None


def kept_by_survey(path: Path) -> bool:
    """Return whether a fitted list was written by a survey, so that it may be written anew."""
    return MARK in read_bytes(path, path.name).decode("utf-8", errors="replace")


def read_kept_looks(path: Path, name: str) -> tuple[KeptLook, ...]:
    """Return the looks that an earlier survey kept in the fitted list; other rows and files have none."""
    data = read_bytes(path, name)
    if is_spreadsheet(data):
        return ()
    lines = [line for line in decode(data, name).text.splitlines() if line.lstrip('"').startswith("#")]
    # A spreadsheet may have saved the list with its own delimiter.
    delimiter = max(",;\t", key=lambda mark: sum(line.count(mark) for line in lines))
    return tuple(kept for row in csv.reader(lines, delimiter=delimiter) if (kept := _kept(row)))


def _kept(row: list[str]) -> KeptLook | None:
    match = _KEPT.fullmatch(row[0].strip()) if row else None
    if match is None or len(row) < 2:
        return None
    word, note, copy = (*row[1:], "", "")[:3]
    number = int(copy) if copy.strip().isdigit() else None
    return KeptLook(canonical(match[2]), LOOKS.index(match[1]), Seen(word.strip(), kind_of_word(word), note), number)


def kind_of_word(word: str) -> str:
    """Return what a state word counts as in a survey; a word nobody knows counts as not inspected."""
    pairs = states_in(word)
    return kind_of({facet: value for one in pairs for facet, value in one}) if pairs else "not inspected"


def read_filled_sheet(data: bytes, name: str, refs: Mapping[str, str]) -> tuple[FoundState, ...]:
    """Return what a filled-in survey sheet (a table) or plain lines say; rows without a state say nothing.

    Columns other than designator, state, note and copy are there for the person and not taken in.
    """
    file = decode(data, name)
    table = table_of_text(file, name, FITTED_ROLES, need=("designator",))
    if table is None or table.heading_line == 0:
        statements: Iterator[Statement] = lines_of(file.text, name, refs)
    else:
        rows = ([table.cell(row, role) for role in FITTED_ROLES] for row in table.rows)
        places = (table.where(row) for row in table.rows)
        has_state = "state" in table.columns
        statements = (
            statement_of_row(cells, "", where, refs, has_state) for cells, where in zip(rows, places, strict=True)
        )
    told = [one for one in statements if one.others or (one.state.strip() and states_in(one.state))]
    return tuple(settled(told, {})[0])
