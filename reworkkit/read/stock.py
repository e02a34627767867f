"""stock.csv: what lies in the drawers."""

from dataclasses import dataclass
from pathlib import Path

from reworkkit.model.board import InputFile
from reworkkit.model.messages import Finding, message
from reworkkit.model.part import StockLine
from reworkkit.model.vocabulary import Severity
from reworkkit.read.column_cells import whole_number
from reworkkit.read.delimited import STOCK_ROLES, Row, Table, read_table


@dataclass(frozen=True, slots=True)
class StockFile:
    """The rows of a stock list, the file, and what was noticed."""

    lines: tuple[StockLine, ...]
    input_file: InputFile
    findings: tuple[Finding, ...]


def read_stock(path: Path, name: str, encoding: str | None = None) -> StockFile:
    """Return the rows of a stock list; a count that is no whole number is a finding and stays open (None).

    Needs a column of counts. Raises ReworkkitError where the file or that column is missing.
    """
    table = read_table(path, name, STOCK_ROLES, need=("stock",), encoding=encoding)
    findings = list(table.findings)
    lines = [_line(table, row, findings) for row in table.rows if any(row.cells)]
    return StockFile(tuple(lines), table.input_file("stock"), tuple(findings))


def _line(table: Table, row: Row, findings: list[Finding]) -> StockLine:
    written = table.cell(row, "stock")
    count = whole_number(written) if written else None
    named = table.cell(row, "part_number") or table.cell(row, "value") or table.cell(row, "description")
    if written and count is None:
        told = message("stock-count-unreadable", part=named, text=written)
        findings.append(Finding(told, Severity.CHECK, where=(table.where(row),)))
    if not named:
        told = message("stock-without-name", line=row.line)
        findings.append(Finding(told, Severity.CHECK, where=(table.where(row),)))
    return StockLine(
        table.cell(row, "part_number"),
        table.cell(row, "value"),
        table.cell(row, "package"),
        table.cell(row, "description"),
        count,
        table.cell(row, "location"),
        table.cell(row, "note"),
        table.where(row),
    )
