"""readings.csv: what was measured before there was a job, or away from it."""

from dataclasses import dataclass
from pathlib import Path

from reworkkit.model.board import InputFile
from reworkkit.model.measuring import Reading
from reworkkit.model.messages import Finding, message
from reworkkit.model.reading_text import ReadingText, parse_reading, settled_mode
from reworkkit.model.vocabulary import Mode, Severity
from reworkkit.read.column_cells import whole_number
from reworkkit.read.delimited import READING_ROLES, Row, Table, read_table

MODE_WORDS: dict[str, Mode] = {
    **dict.fromkeys(("volts", "volt", "voltage", "v", "v dc", "dcv", "v ac", "acv", "spannung"), Mode.VOLTS),
    **dict.fromkeys(("ohms", "ohm", "resistance", "r", "ω", "widerstand"), Mode.OHMS),
    **dict.fromkeys(("diode", "diode test", "diodentest"), Mode.DIODE),
    **dict.fromkeys(("amps", "amp", "current", "a", "strom"), Mode.AMPS),
    **dict.fromkeys(("continuity", "beep", "beeper", "durchgang"), Mode.CONTINUITY),
    **dict.fromkeys(("celsius", "temperature", "temp", "°c", "temperatur"), Mode.CELSIUS),
    **dict.fromkeys(("look", "seen"), Mode.LOOK),
}
"""How people write what the meter was set to."""

_YES = frozenset({"yes", "y", "x", "1", "true", "swapped", "reversed", "ja", "j", "✓"})
_NO = frozenset({"", "no", "n", "0", "false", "normal", "-", "nein"})
_UNPOWERED = frozenset({"", "-", "none", "unpowered", "off", "no power", "stromlos"})


@dataclass(frozen=True, slots=True)
class ReadingsFile:
    """The readings of a file, each with its physical board (0: every one), the file, and what was noticed."""

    readings: tuple[tuple[int, Reading], ...]
    input_file: InputFile
    findings: tuple[Finding, ...]


def read_readings(path: Path, name: str, encoding: str | None = None) -> ReadingsFile:
    """Return the readings of a delimited file; rows that cannot be read are findings and are left out.

    Needs a column for the point and one for what the meter showed; unit, mode, hold point, leads swapped and copy may
    have their own. Points stay as written. Raises ReworkkitError where the file or a needed column is missing.
    """
    table = read_table(path, name, READING_ROLES, need=("point", "reading"), encoding=encoding)
    findings = list(table.findings)
    readings: list[tuple[int, Reading]] = []
    for row in table.rows:
        if table.cell(row, "point") or table.cell(row, "reading"):
            _take(table, row, readings, findings)
    if "copy" not in table.columns and readings:
        findings.append(_finding(table, None, "readings-for-every-copy", Severity.NOTE))
    return ReadingsFile(tuple(readings), table.input_file("readings"), tuple(findings))


def _take(table: Table, row: Row, readings: list[tuple[int, Reading]], findings: list[Finding]) -> None:
    """Add the reading of a row, or the finding that says why there is none."""
    point = " ".join(table.cell(row, "point").split())
    written = table.cell(row, "reading")
    shown = _shown(written, table.cell(row, "unit"))
    if not point or shown is None:
        findings.append(_finding(table, row, "reading-unreadable", point=point, text=written))
        return
    said = table.cell(row, "mode").casefold()
    if said and said not in MODE_WORDS:
        findings.append(_finding(table, row, "reading-mode-unreadable", point=point, text=said))
        return
    settled = settled_mode(shown, MODE_WORDS.get(said))
    if settled is None:
        findings.append(_finding(table, row, "reading-mode-open", point=point, text=written))
        return
    swapped, copy = table.cell(row, "swapped").casefold(), table.cell(row, "copy")
    number = whole_number(copy) if copy else 0
    if swapped not in _YES | _NO or number is None:
        findings.append(_finding(table, row, "reading-cell-unreadable", point=point, text=swapped if number else copy))
        return
    hold = table.cell(row, "hold_point")
    mode, unit = settled
    reading = Reading(
        point,
        mode,
        shown.form,
        shown.value,
        unit,
        swapped in _YES,
        None if hold.casefold() in _UNPOWERED else hold,
        written,
    )
    readings.append((number, reading))


def _shown(written: str, unit: str) -> ReadingText | None:
    """Return what the meter showed; a unit column counts where the cell has no unit of its own."""
    alone = parse_reading(written)
    if unit and (alone is None or not alone.unit):
        return parse_reading(f"{written} {unit}") or alone
    return alone


def _finding(
    table: Table, row: Row | None, slug: str, severity: Severity = Severity.CHECK, **facts: str
) -> Finding:  # fmt: skip
    where = (table.where(row),) if row else ()
    return Finding(message(slug, **facts) if facts else message(slug, file=table.name), severity, where=where)
