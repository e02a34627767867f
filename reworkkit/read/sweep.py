"""The log of an input swept by hand: position (or temperature, or current) and one or two channels."""

import re
from collections.abc import Mapping
from pathlib import Path

from reworkkit.errors import ReworkkitError
from reworkkit.model.messages import Finding, message
from reworkkit.model.quantity import parse_quantity
from reworkkit.model.sweep import Channel, Sweep
from reworkkit.model.values import Where
from reworkkit.model.vocabulary import Severity
from reworkkit.read.delimited import SWEEP_ROLES, Table, read_table
from reworkkit.read.delimited_split import best_splits
from reworkkit.read.headings import meanings
from reworkkit.read.text import decode, read_bytes

ANSWERS = {
    "position": "swept_position",
    "a": "swept_a",
    "b": "swept_b",
    "temperature": "swept_celsius",
    "current": "swept_amperes",
    "time": "swept_seconds",
}
"""The words of `--column` -> roles."""
_UNIT = re.compile(r"^(?P<name>.*?)\s*[\[(]\s*(?P<unit>[^\])]*)[\])]\s*$")
_FEWEST = 5


def read_sweep(path: Path, columns: Mapping[str, str] | None = None, encoding: str | None = None) -> Sweep:
    """Return the log of a delimited file: a heading row, one sample a line, units in the heading or in each cell.

    `columns` answers which column is what (`a`, `b`, `position`, `temperature`, `current`, `time` -> heading). An
    empty cell is a sample that is missing; one that is no number is missing too, and a finding. Raises
    ReworkkitError where no channel is found or fewer than five samples are.
    """
    name = path.name
    said = _with_units(path, name, encoding) | _answers(columns or {})
    table = read_table(path, name, SWEEP_ROLES, need=("swept_a",), columns=said, encoding=encoding)
    findings: list[Finding] = list(table.findings)
    kind, against = _against(table, findings)
    channels = [_channel(table, role, findings) for role in ("swept_a", "swept_b") if role in table.columns]
    if len(table.rows) < _FEWEST:
        raise ReworkkitError("sweep-too-short", where=(Where(name),), file=name, count=len(table.rows), fewest=_FEWEST)
    rows = tuple(row.line for row in table.rows)
    return Sweep(name, kind, against, tuple(channels), rows, tuple(findings))


def _answers(columns: Mapping[str, str]) -> dict[str, str]:
    unknown = [word for word in columns if word.casefold() not in ANSWERS]
    if unknown:
        raise ReworkkitError("sweep-unknown-column", word=unknown[0], known=", ".join(ANSWERS))
    return {ANSWERS[word.casefold()]: heading for word, heading in columns.items()}


def _with_units(path: Path, name: str, encoding: str | None) -> dict[str, str]:
    """Return role -> heading for headings that carry their unit in brackets: `A [V]`."""
    splits = best_splits(decode(read_bytes(path, name), name, encoding).text)
    found: dict[str, str] = {}
    for split in splits[:2]:
        for row in split.rows[:20]:
            for cell in row.cells:
                match = _UNIT.match(cell.strip())
                for alias in meanings(match["name"]) if match else ():
                    if alias.role in SWEEP_ROLES:
                        found.setdefault(alias.role, cell.strip())
    return found


def _against(table: Table, findings: list[Finding]) -> tuple[str, Channel | None]:
    """Return what kind of sweep it is and the column of what was set."""
    for kind, role in (("position", "swept_position"), ("temperature", "swept_celsius"), ("current", "swept_amperes")):
        if role in table.columns:
            return kind, _channel(table, role, findings)
    return "position", None


def _channel(table: Table, role: str, findings: list[Finding]) -> Channel:
    heading = table.headings[table.columns[role]].strip()
    match = _UNIT.match(heading)
    unit = match["unit"].strip() if match else ""
    samples: list[float | None] = []
    for row in table.rows:
        written = table.cell(row, role)
        found = parse_quantity(f"{written} {unit}".strip()) if unit else None
        found = found or parse_quantity(written)
        if written and found is None:
            told = message("sweep-cell-unreadable", text=written, heading=heading)
            findings.append(Finding(told, Severity.CHECK, where=(table.where(row),)))
        samples.append(float(found.value) if found else None)
        unit_read = found.unit if found else ""
        unit = unit or unit_read
    base = parse_quantity(f"1 {unit}") if unit else None
    return Channel(match["name"].strip() if match else heading, base.unit if base else unit, tuple(samples))
