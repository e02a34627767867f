"""The parts list: rows of any dialect become `PartLine` records; what was odd becomes findings, never a guess."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from reworkkit.errors import ReworkkitError
from reworkkit.model.board import InputFile
from reworkkit.model.messages import Finding, NotJudged
from reworkkit.model.part import PartLine
from reworkkit.model.values import Where
from reworkkit.read.delimited import PARTS_ROLES, read_table
from reworkkit.read.list_duplicates import told_once
from reworkkit.read.list_fit import fit_judge
from reworkkit.read.list_rows import RowReader


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
    table = read_table(path, name, PARTS_ROLES, columns=columns, encoding=encoding)
    judge = fit_judge(table, variant)
    reader = RowReader(table, judge)
    lines, doubles = told_once(reader.lines())
    if not any(line.refs for line in lines):
        heading = table.headings[table.columns["designator"]]
        raise ReworkkitError("list-without-designators", where=(Where(name),), file=name, heading=heading)
    findings = (*table.findings, *judge.findings, *reader.findings, *reader.summed(), *doubles)
    return PartsList(tuple(lines), table.input_file("parts"), findings, judge.not_judged)
