"""The fitted list: what is on the board as found, in the many ways people write it down.

A table with headings, a table without, or plain lines: designators alone, `R4 missing`, `D3: tacked (cathode cool)`,
`all resistors except R4`, `others: not looked at`. A word nobody knows becomes `not inspected` and a finding.
"""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from reworkkit.errors import ReworkkitError
from reworkkit.model.board import FittedList, FoundState, InputFile
from reworkkit.model.designator import canonical
from reworkkit.model.messages import Finding, message
from reworkkit.model.vocabulary import Severity
from reworkkit.read.delimited import FITTED_ROLES, Table, read_table, table_of_text
from reworkkit.read.fitted_lines import Statement, lines_of, statement_of_row
from reworkkit.read.fitted_states import is_state, settled
from reworkkit.read.spreadsheet import is_spreadsheet
from reworkkit.read.text import decode, read_bytes

_CLAUSE = re.compile(r"[,;.]|\band\b")


@dataclass(frozen=True, slots=True)
class FittedFile:
    """A fitted list as read: its statements, the file, and what was odd."""

    fitted: FittedList
    input_file: InputFile
    findings: tuple[Finding, ...] = ()


def read_fitted_list(path: Path, name: str, refs: Mapping[str, str], *, encoding: str | None = None) -> FittedFile:
    """Read a fitted list; `refs` maps each designator of the board to its part kind (`resistor`), for `all resistors`.

    Designators the board does not have are kept: they become unexpected places. Raises ReworkkitError only for
    files that are no text.
    """
    data = _bytes(path, name)
    if is_spreadsheet(data):
        table = read_table(path, name, FITTED_ROLES)
        return _file(_table_statements(table, refs), refs, table.input_file("fitted"), table.findings)
    file = decode(data, name, encoding)
    found = table_of_text(file, name, FITTED_ROLES, need=("designator",))
    if found is not None and _is_table(found):
        return _file(_table_statements(found, refs), refs, found.input_file("fitted"), found.findings)
    input_file = InputFile(name, "fitted", file.sha256, file.size, file.assumed)
    return _file(lines_of(file.text, name, refs), refs, input_file, ())


def _bytes(path: Path, name: str) -> bytes:
    try:
        return read_bytes(path, name)
    except ReworkkitError as problem:
        if problem.message.slug == "file-empty":
            raise ReworkkitError("fitted-empty", where=problem.where, file=name) from None
        raise


def _is_table(table: Table) -> bool:
    """A heading row with rows below it makes a table; `all parts fitted` and lines of designators do not."""
    return table.heading_line > 0 and (bool(table.rows) or table.delimiter not in ("blanks", "columns"))


def _table_statements(table: Table, refs: Mapping[str, str]) -> Iterable[Statement]:
    for row in table.rows:
        known = [table.cell(row, role) for role in FITTED_ROLES]
        more = "; ".join(text for _, text in table.others(row, FITTED_ROLES))
        yield statement_of_row(known, more, table.where(row), refs, "state" in table.columns)


def _file(
    statements: Iterable[Statement], refs: Mapping[str, str], input_file: InputFile, findings: tuple[Finding, ...]
) -> FittedFile:
    statements = tuple(statements)
    states, others, more = settled(statements, refs)
    beside = tuple(_statements_in_remarks(statements, refs))
    told = {state.ref for state in states}
    unseen = (("place", "not_inspected"),)
    states += [FoundState(f.refs[0], "?", unseen, "", None, f.where[0]) for f in beside if f.refs[0] not in told]
    unread = bool(statements) and not states
    fitted = FittedList(tuple(states), others or ("not_inspected" if unread else "empty"), others is not None)
    return FittedFile(fitted, input_file, (*findings, *more, *beside))


def _statements_in_remarks(statements: Iterable[Statement], refs: Mapping[str, str]) -> Iterable[Finding]:
    """Yield a finding for each remark that says how another place stands: `D1 reversed, R1 burnt` says two things."""
    for one in statements:
        for clause in _CLAUSE.split(one.note):
            ref, _, rest = clause.strip().partition(" ")
            other = canonical(ref.strip(":,"))
            if other in refs and other not in one.refs and is_state(rest.strip(" !?.:")):
                said = message("fitted-remark-names-place", ref=other, line=one.where.line, clause=clause.strip())
                yield Finding(said, Severity.CHECK, (other,), (one.where,))
