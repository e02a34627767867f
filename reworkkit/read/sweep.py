"""The log of an input swept by hand: position (or temperature, or current) and one or two channels."""

import re
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from reworkkit.errors import ReworkkitError
from reworkkit.model.messages import Finding, message
from reworkkit.model.quantity import parse_quantity
from reworkkit.model.sweep import Channel, Sweep, SweepFacts
from reworkkit.model.values import Where
from reworkkit.model.vocabulary import Severity
from reworkkit.read.delimited import SWEEP_ROLES, Table, read_table
from reworkkit.read.delimited_split import best_splits
from reworkkit.read.heading_words import meanings
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
_BARE_UNIT = re.compile(r"^(?P<name>.*\S)\s+(?P<unit>V|mV|µV|uV|%|s|ms|mm|°|deg|°C|degC|ohm|kohm|mA|digits|counts)$")
"""A unit behind a heading without brackets; A alone is a channel more often than amperes."""
_NUMBERED = re.compile(
    r"(?:voltage|volts|spannung|tension|tensión|channel|kanal|canal|ch|chan|adc|ain|input|eingang|sensor|track|spur|signal"
    r"|pot|poti|output|pedal|lane)[ ._-]*(?P<which>[ab12])",
    re.IGNORECASE,
)
_DECIMAL = re.compile(r"[-+]?(?:0,\d+|\d+,(?:\d{1,2}|\d{4,})) ?\S*")
_FEWEST = 5


def read_sweep(path: Path, columns: Mapping[str, str] | None = None, encoding: str | None = None) -> Sweep:
    """Return the log of a delimited file: a heading row, one sample a line, units in the heading or in each cell.

    `columns` answers which column is what (`a`, `b`, `position`, `temperature`, `current`, `time` -> heading). An
    empty cell is a sample that is missing; one that is no number is missing too, and a finding. Raises
    ReworkkitError where no channel is found or fewer than five samples are.
    """
    name = path.name
    said = _with_units(path, name, encoding) | _answers(columns or {})
    try:
        table = read_table(path, name, SWEEP_ROLES, need=("swept_a",), columns=said, encoding=encoding)
    except ReworkkitError as problem:
        if problem.message.slug != "column-not-found":
            raise
        seen = str(problem.message.fact("headings"))
        raise ReworkkitError("sweep-no-channel", where=problem.where, file=name, seen=seen) from None
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
    """Return role -> heading for headings that carry their unit or a number: `A [V]`, `adc 1`."""
    splits = best_splits(decode(read_bytes(path, name), name, encoding).text)
    found: dict[str, str] = {}
    for split in splits[:2]:
        for row in split.rows[:20]:
            for cell in row.cells:
                plain, _ = _name_and_unit(cell.strip())
                if numbered := _NUMBERED.fullmatch(plain):
                    role = "swept_a" if numbered["which"] in "aA1" else "swept_b"
                    found.setdefault(role, cell.strip())
                for alias in meanings(plain) if plain != cell.strip() else ():
                    if alias.role in SWEEP_ROLES:
                        found.setdefault(alias.role, cell.strip())
    return found


def _name_and_unit(heading: str) -> tuple[str, str]:
    """Return a heading without its unit, and the unit.

    >>> _name_and_unit("A [V]"), _name_and_unit("Weg %"), _name_and_unit("CH A")
    (('A', 'V'), ('Weg', '%'), ('CH A', ''))
    """
    match = _UNIT.match(heading) or _BARE_UNIT.match(heading)
    return (match["name"].strip(), match["unit"].strip()) if match else (heading, "")


def _against(table: Table, findings: list[Finding]) -> tuple[str, Channel | None]:
    """Return what kind of sweep it is and the column of what was set."""
    for kind, role in (("position", "swept_position"), ("temperature", "swept_celsius"), ("current", "swept_amperes")):
        if role in table.columns:
            return kind, _channel(table, role, findings)
    return "position", None


def _channel(table: Table, role: str, findings: list[Finding]) -> Channel:
    heading = table.headings[table.columns[role]].strip()
    heading, unit = _name_and_unit(heading)
    comma = _comma_is_decimal(table)
    samples: list[float | None] = []
    unread: list[Where] = []
    for row in table.rows:
        written = table.cell(row, role)
        plain = written.replace(",", ".") if comma else written
        found = (parse_quantity(f"{plain} {unit}") if unit else None) or parse_quantity(plain)
        if written and found is None:
            unread.append(table.where(row))
        samples.append(float(found.value) if found else None)
        unit = unit or (found.unit if found else "")
    if unread:
        told = message("sweep-cells-unreadable", count=len(unread), heading=heading)
        findings.append(Finding(told, Severity.CHECK, where=tuple(unread[:5])))
    base = parse_quantity(f"1 {unit}") if unit else None
    return Channel(heading, base.unit if base else unit, tuple(samples))


def _comma_is_decimal(table: Table) -> bool:
    """Return whether commas are decimal signs: one cell says so that cannot be thousands, and none has a point.

    `0,612` and `4,5` cannot be thousands; `1,018` alone could be either.
    """
    cells = [cell for column in table.by_column for cell in column]
    if table.delimiter == "," or any("." in cell for cell in cells):
        return False
    return any(_DECIMAL.fullmatch(cell.strip()) for cell in cells)


_FACTS = {
    "supply": ("supply_v", "V", "5V"),
    "ratio": ("ratio_percent", "", "0.5"),
    "zero": ("zero_v", "V", "2.5V"),
    "beta": ("beta_k", "K", "3950"),
    "r25": ("r25_ohm", "ohm", "10k"),
}


def sweep_facts(written: Mapping[str, str | None]) -> SweepFacts:
    """Return the options of `input-check` as figures; raises ReworkkitError for one that cannot be read.

    >>> sweep_facts({"supply": "5V", "ratio": "0.5", "beta": None})
    SweepFacts(supply_v=5.0, ratio_percent=50.0, zero_v=None, beta_k=None, r25_ohm=None, table=None)
    """
    found: dict[str, float] = {}
    for option, text in written.items():
        if text is None:
            continue
        field, unit, example = _FACTS[option]
        read = parse_quantity(text) if unit in ("", "K") else parse_quantity(text, unit)
        if read is None or read.unit not in ("", unit) or (unit == "V" and not read.unit):
            raise ReworkkitError("sweep-fact-value", option=f"--{option}", written=text, example=example)
        found[field] = float(read.value) * (100 if option == "ratio" else 1)
    return replace(SweepFacts(), **found)  # type: ignore[arg-type]
