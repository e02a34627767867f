"""candidates.csv: parts considered as substitutes, with the figures somebody copied from their sheets."""

import re
from dataclasses import dataclass
from pathlib import Path

from reworkkit.model.board import Candidate, InputFile
from reworkkit.model.designator import looks_numbered
from reworkkit.model.designator_cell import expand_cell
from reworkkit.model.messages import Finding, message
from reworkkit.model.quantity import UNITS, parse_quantity
from reworkkit.model.values import Quantity
from reworkkit.model.vocabulary import Severity
from reworkkit.read.delimited import CANDIDATE_ROLES, Row, Table, read_table
from reworkkit.read.heading_words import folded

_OWN_FIELDS = ("part_number", "fits", "kind", "price", "stock")
_UNIT_IN_HEADING = re.compile(r"^(?P<name>.+?)\s*(?:[(\[]\s*(?P<unit>[^)\]]+)[)\]]|/\s*(?P<bare>\S+))$")


@dataclass(frozen=True, slots=True)
class CandidatesFile:
    """The candidates of a file, the file, and what was noticed."""

    candidates: tuple[Candidate, ...]
    input_file: InputFile
    findings: tuple[Finding, ...]


def read_candidates(path: Path, name: str, encoding: str | None = None) -> CandidatesFile:
    """Return the candidates of a delimited file; every column but the named ones is a figure under its heading.

    A figure with its unit, in the cell or in the heading (`Voltage (V)`), is a quantity; anything else stays text.
    Raises ReworkkitError where the file or its column of part numbers is missing.
    """
    table = read_table(path, name, CANDIDATE_ROLES, need=("part_number",), encoding=encoding)
    findings = list(table.findings)
    candidates: list[Candidate] = []
    for row in table.rows:
        if not any(row.cells):
            continue
        if not table.cell(row, "part_number"):
            told = message("candidate-without-number", line=row.line)
            findings.append(Finding(told, Severity.CHECK, where=(table.where(row),)))
            continue
        candidates.append(_candidate(table, row))
    return CandidatesFile(tuple(candidates), table.input_file("candidates"), tuple(findings))


def _candidate(table: Table, row: Row) -> Candidate:
    return Candidate(
        part_number=table.cell(row, "part_number"),
        fits=_fits(table.cell(row, "fits")),
        kind=folded(table.cell(row, "kind")).replace(" ", "_"),
        figures=dict(_figure(heading, cell) for heading, cell in table.others(row, _OWN_FIELDS)),
        price=table.cell(row, "price") or None,
        stock=table.cell(row, "stock") or None,
        where=table.where(row),
    )


def _fits(text: str) -> tuple[str, ...]:
    """Return the designators a cell names, or its text as one key where it names none.

    >>> _fits("C5, C7-C9"), _fits("10 uF 25 V 0805")
    (('C5', 'C7', 'C8', 'C9'), ('10 uF 25 V 0805',))
    """
    cell = expand_cell(text)
    if cell.refs and not cell.unread and all(looks_numbered(ref) for ref in cell.refs):
        return cell.refs
    return (text,) if text else ()


def _figure(heading: str, cell: str) -> tuple[str, Quantity | str]:
    """Return the parameter and its figure.

    >>> _figure("Ripple current (mA)", "850")[0], _figure("Ripple current (mA)", "850")[1].si()
    ('ripple_current', 0.85)
    >>> _figure("Dielectric", "X7R")
    ('dielectric', 'X7R')
    """
    text = cell.strip()
    name, unit = heading, ""
    if found := _UNIT_IN_HEADING.match(heading.strip()):
        written = found["unit"] or found["bare"]
        known = parse_quantity(f"1 {written}")
        if known and known.unit in UNITS:
            name, unit = found["name"], written
    alone = parse_quantity(text)
    if alone and not alone.unit and unit:
        alone = parse_quantity(f"{text} {unit}")
    return folded(name.replace("@", " at ")).replace(" ", "_"), alone if alone and alone.unit else text
