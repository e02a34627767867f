"""The parts list: rows of any dialect become `PartLine` records; what was odd becomes findings, never a guess."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from reworkkit.errors import ReworkkitError
from reworkkit.model.board import InputFile
from reworkkit.model.designator import natural_key
from reworkkit.model.designator_cell import expand_cell
from reworkkit.model.messages import Finding, NotJudged, message
from reworkkit.model.part import PartLine
from reworkkit.model.values import Where
from reworkkit.model.vocabulary import Severity
from reworkkit.read.column_cells import designator_share
from reworkkit.read.delimited import PARTS_ROLES, PLACEMENT_ROLES, Table, read_table
from reworkkit.read.heading_words import meanings
from reworkkit.read.headings import said_columns
from reworkkit.read.list_duplicates import told_once
from reworkkit.read.list_fit import fit_judge
from reworkkit.read.list_rows import RowReader
from reworkkit.read.named_values import told_apart_by_name


@dataclass(frozen=True, slots=True)
class PartsList:
    """A parts list as read: a line per row (rows without designators too), the file, and what was odd."""

    lines: tuple[PartLine, ...]
    input_file: InputFile
    findings: tuple[Finding, ...] = ()
    not_judged: tuple[NotJudged, ...] = ()

    def places(self) -> dict[str, PartLine]:
        """Return the row that stands for each designator: a designator counts once, alternatives never."""
        found: dict[str, PartLine] = {}
        for line in self.lines:
            if line.alternative_of is None:
                for ref in line.refs:
                    found.setdefault(ref, line)
        return found


def read_parts_list(
    path: Path,
    name: str,
    *,
    columns: Mapping[str, str] | None = None,
    encoding: str | None = None,
    variant: str | None = None,
) -> PartsList:
    """Read a parts list; `columns` and `variant` are the person's answers where the list leaves a question open.

    Raises ReworkkitError where the file is no text, has no column of designators, or names none.
    """
    if unknown := [role for role in columns or {} if role not in (*PARTS_ROLES, *PLACEMENT_ROLES)]:
        known = ", ".join(dict.fromkeys((*PARTS_ROLES, *PLACEMENT_ROLES)))
        raise ReworkkitError("column-role-unknown", role=unknown[0], known=known)
    table = read_table(path, name, PARTS_ROLES, columns=columns, encoding=encoding)
    judge = fit_judge(table, variant)
    reader = RowReader(table, judge)
    lines, doubles = told_once([one for line in reader.lines() for one in told_apart_by_name(line)])
    if not any(line.refs for line in lines):
        heading = table.headings[table.columns["designator"]]
        raise ReworkkitError("list-without-designators", where=(Where(name),), file=name, heading=heading)
    asked = _answers_without_effect(table, columns or {})
    beside = _beside(table, lines)
    findings = (*table.findings, *judge.findings, *reader.findings, *reader.summed(), *doubles, *beside, *asked)
    return PartsList(tuple(lines), table.input_file("parts"), findings, judge.not_judged)


def _answers_without_effect(table: Table, columns: Mapping[str, str]) -> Iterator[Finding]:
    """Yield a finding for each answer about a column of the list that the list does not have."""
    for role, heading in columns.items():
        if role in PARTS_ROLES and role not in said_columns(table.headings, columns, PARTS_ROLES):
            headings = " | ".join(filter(None, table.headings))
            told = message(
                "column-said-not-there", file=table.name, role=role, heading=heading, headings=headings[:200]
            )
            yield Finding(told, Severity.CHECK, (), (Where(table.name, table.heading_line),))


def _beside(table: Table, lines: Sequence[PartLine]) -> Iterator[Finding]:
    """Yield a finding for each further column of designators that names places which no row read here has."""
    known: set[str] = set()
    for index, heading in enumerate(table.headings):
        if index in table.columns.values() or not any(a.role == "designator" and a.rank < 3 for a in meanings(heading)):
            continue
        texts = [text for text in table.distinct(index) if text.strip()]
        if designator_share(0, [[text] for text in texts]) < 0.8:
            continue
        known = known or {ref for line in lines for ref in line.refs}
        lost = sorted({ref for text in texts for ref in expand_cell(text).refs} - known, key=natural_key)
        if lost:
            told = message("list-designators-beside", heading=heading, column=index + 1, refs=" ".join(lost[:10]),
                           count=len(lost))  # fmt: skip
            yield Finding(told, Severity.STOP, tuple(lost), (Where(table.name, table.heading_line),))
