"""Placement of the parts: designator, x, y, rotation and side, from any delimited text or a column text with `#` lines.

The unit may stand in a cell, a heading, a line above the headings or nowhere; what had to be assumed is said. All
becomes millimetres with y up, rotation 0 <= r < 360 as the file gives it, seen from the top.
"""

import re
from collections.abc import Collection, Iterable, Mapping
from math import degrees
from pathlib import Path
from typing import NamedTuple

from reworkkit.errors import ReworkkitError
from reworkkit.model.board import InputFile
from reworkkit.model.designator import canonical, natural_key
from reworkkit.model.messages import Finding, Message, message
from reworkkit.model.netlist import Placement
from reworkkit.model.values import Where
from reworkkit.model.vocabulary import Severity, Side
from reworkkit.read.delimited import PLACEMENT_ROLES, Table, read_table
from reworkkit.read.placement_bare import bare_rows
from reworkkit.read.placement_cells import (
    Length,
    Turn,
    length,
    pair,
    plausible_unit,
    rotation,
    side_of,
    side_of_name,
    unit_in,
)
from reworkkit.read.placement_columns import ColumnText, column_text
from reworkkit.read.placement_values import PlacedText
from reworkkit.read.text import TextFile, read_text, visible

UNIT_MM = {"mm": 1.0, "mil": 0.0254, "inch": 25.4, "um": 0.001, "cm": 10.0}
_RADIANS = re.compile(r"\brad(?:ians?)?\b", re.IGNORECASE)
SAME_PLACE_MM = 0.01
SHOWN = 12
_ROLES = (*PLACEMENT_ROLES, "unit")


class PlacementFile(NamedTuple):
    """What one placement file says; a file for one side only holds that side's parts, merging is the caller's."""

    placements: dict[str, Placement]
    input_file: InputFile
    findings: tuple[Finding, ...]
    values: Mapping[str, PlacedText] = {}
    """What the file says of the value of each part, for comparing."""


def read_placement(
    path: Path,
    name: str,
    known_refs: Collection[str] = (),
    *,
    columns: Mapping[str, str] = {},
    encoding: str | None = None,
    units: str | None = None,
    side: Side | None = None,
) -> PlacementFile:
    """Return the placements in `path`, called `name` in findings.

    `units` (`mm`, `mil`, `inch`) overrules what the file says; `side` is for files without a side column; `known_refs`
    tells designators with blanks from values in column texts. Raises ReworkkitError where it is no placement.
    """
    told = _told_unit(units, name)
    sheet = _sheet(path, name, known_refs, columns, encoding)
    return _placements(sheet, name, told, side)


class _Line(NamedTuple):
    """One row: its cells by role, and where it stands."""

    cells: dict[str, str]
    where: Where


class _Sheet(NamedTuple):
    """A placement file as rows by role, whichever way it was written."""

    headings: dict[str, str]
    lines: list[_Line]
    before: tuple[str, ...]
    input_file: InputFile
    findings: tuple[Finding, ...]


def _sheet(
    path: Path, name: str, known_refs: Collection[str], columns: Mapping[str, str], encoding: str | None
) -> _Sheet:
    text = _as_text(path, name, encoding)
    if text and (found := column_text(text.text, known_refs, columns)):
        return _sheet_of_columns(found, text, name)
    if text and not columns and (bare := bare_rows(text.text)):
        told = Finding(message("placement-no-headings"), Severity.CHECK, (), (Where(name, bare.rows[0][0]),))
        return _sheet_of_columns(bare, text, name)._replace(findings=(told,))
    return _sheet_of_table(_table(path, name, columns, encoding))


def _as_text(path: Path, name: str, encoding: str | None) -> TextFile | None:
    """Return the file as text, or None for a spreadsheet, which the delimited reader opens."""
    try:
        return read_text(path, encoding, name)
    except ReworkkitError as problem:
        if problem.message.slug == "file-binary":
            return None
        raise


def _table(path: Path, name: str, columns: Mapping[str, str], encoding: str | None) -> Table:
    """Read with x and y apart, else with both in one cell; the refusal of the first try is the telling one."""
    try:
        return read_table(path, name, _ROLES, need=("designator", "x", "y"), columns=dict(columns), encoding=encoding)
    except ReworkkitError as first:
        try:
            table = read_table(path, name, _ROLES, need=("designator", "xy"), columns=dict(columns), encoding=encoding)
        except ReworkkitError:
            raise first from None
        return table


def _sheet_of_table(table: Table) -> _Sheet:
    lines = []
    for row in table.rows:
        cells = {role: table.cell(row, role) for role in table.columns}
        lines.append(_Line(cells, table.where(row)))
    headings = {role: table.headings[index] for role, index in table.columns.items()}
    return _Sheet(headings, lines, table.before, table.input_file("placement"), table.findings)


def _sheet_of_columns(found: ColumnText, text: TextFile, name: str) -> _Sheet:
    lines = [_Line(cells, Where(name, number)) for number, cells in found.rows]
    input_file = InputFile(name, "placement", text.sha256, text.size, text.assumed)
    return _Sheet(found.headings, lines, found.before, input_file, ())


class _Read(NamedTuple):
    """One row understood as far as numbers go; lengths still in the unit their cell or the file states."""

    ref: str
    x: Length
    y: Length
    line: _Line


def _placements(sheet: _Sheet, name: str, told: str | None, side: Side | None) -> PlacementFile:
    read, bad = _numbers(sheet)
    unit, unit_said, unit_findings = _unit(sheet, read, told, name)
    default, side_said = _default_side(sheet, side, name, bool(read))
    odd = _Odd({}, {})
    every = [_placement(entry, unit, default, sheet, odd) for entry in read]
    findings = [*sheet.findings, *unit_findings, *_unreadable(bad), *odd.findings(), *_twice(every)]
    assumed = [*sheet.input_file.assumed, *unit_said, *side_said]
    if read and "rotation" not in sheet.headings:
        assumed.append(message("placement-no-rotation"))
    if not read and not bad:
        findings.append(Finding(message("placement-empty"), Severity.NOTE, (), (Where(name),)))
    placements: dict[str, Placement] = {}
    for placement in every:
        placements.setdefault(placement.ref, placement)
    ordered = {ref: placements[ref] for ref in sorted(placements, key=natural_key)}
    old = sheet.input_file
    input_file = InputFile(old.name, old.role, old.sha256, old.size, tuple(assumed))
    values = {e.ref: PlacedText(e.line.cells["value"], e.line.where) for e in read if e.line.cells.get("value")}
    return PlacementFile(ordered, input_file, tuple(findings), values)


def _numbers(sheet: _Sheet) -> tuple[list[_Read], list[_Line]]:
    read: list[_Read] = []
    bad: list[_Line] = []
    for line in sheet.lines:
        ref = canonical(visible(line.cells.get("designator", "")))
        x, y = _coordinates(line.cells)
        if not ref and x is None and y is None:
            continue
        if not ref or x is None or y is None:
            bad.append(line)
        else:
            read.append(_Read(ref, x, y, line))
    return read, bad


def _coordinates(cells: Mapping[str, str]) -> tuple[Length | None, Length | None]:
    if "x" in cells and "y" in cells:
        return length(cells["x"]), length(cells["y"])
    return pair(cells.get("xy", ""))


def _told_unit(units: str | None, name: str) -> str | None:
    if units is None:
        return None
    found = unit_in(units.strip(), alone=True)
    if found is None:
        raise ReworkkitError("placement-unit-unknown", where=(Where(name),), unit=units)
    return found


UnitAnswer = tuple[str, tuple[Message, ...], tuple[Finding, ...]]


def _unit(sheet: _Sheet, read: list[_Read], told: str | None, name: str) -> UnitAnswer:
    """Return the unit of cells that state none: the person's word, heading, unit column, lines above, plausibility."""
    if told:
        return told, (message("placement-unit-from-file", unit=told, place="board.toml"),), ()
    for role in ("x", "y", "xy"):
        if unit := unit_in(sheet.headings.get(role, "")):
            return unit, (message("placement-unit-from-file", unit=unit, place=sheet.headings[role]),), ()
    stated = {unit for entry in read if (unit := unit_in(entry.line.cells.get("unit", ""), alone=True))}
    if len(stated) == 1:
        unit = stated.pop()
        return unit, (message("placement-unit-from-file", unit=unit, place=sheet.headings["unit"]),), ()
    for line in sheet.before:
        if unit := unit_in(line, sentence=True):
            return unit, (message("placement-unit-from-file", unit=unit, place=" ".join(line.split())),), ()
    if all(entry.x.unit and entry.y.unit for entry in read):
        return "mm", (), ()
    return _assumed_unit(read, name)


def _assumed_unit(read: list[_Read], name: str) -> UnitAnswer:
    bare = [(entry.x.figure, entry.y.figure) for entry in read if not entry.x.unit]
    choice = plausible_unit(bare, UNIT_MM)
    span, other_span = choice.span(UNIT_MM[choice.unit]), choice.span(UNIT_MM[choice.other])
    if choice.sure:
        return choice.unit, (message("placement-unit-assumed", unit=choice.unit, span=span),), ()
    said = message("placement-unit-unsure", unit=choice.unit, span=span, other=choice.other, other_span=other_span)
    return choice.unit, (), (Finding(said, Severity.CHECK, (), (Where(name),)),)


def _default_side(sheet: _Sheet, side: Side | None, name: str, any_rows: bool) -> tuple[Side, tuple[Message, ...]]:
    """Return the side of rows that state none; a message where it was not told."""
    if side is not None:
        return side, ()
    by_name = next((found for text in (*sheet.before, name) if (found := side_of_name(text))), None)
    if by_name is not None:
        return by_name, () if "side" in sheet.headings else (message("placement-side-by-name", side=by_name.value),)
    if "side" in sheet.headings or not any_rows:
        return Side.TOP, ()
    return Side.TOP, (message("placement-side-assumed", side="top"),)


class _Odd(NamedTuple):
    """Cells that were not understood: word -> places."""

    sides: dict[str, list[Where]]
    rotations: dict[str, list[Where]]

    def findings(self) -> Iterable[Finding]:
        if self.sides:
            places = _flat(self.sides)
            said = message("placement-side-unknown", count=len(places), words=_listing(self.sides))
            yield Finding(said, Severity.CHECK, (), places[:SHOWN])
        if self.rotations:
            places = _flat(self.rotations)
            said = message("placement-rotation-unreadable", count=len(places), words=_listing(self.rotations))
            yield Finding(said, Severity.CHECK, (), places[:SHOWN])


def _flat(groups: Mapping[str, list[Where]]) -> tuple[Where, ...]:
    return tuple(place for places in groups.values() for place in places)


def _placement(entry: _Read, unit: str, default: Side, sheet: _Sheet, odd: _Odd) -> Placement:
    cells, where = entry.line.cells, entry.line.where
    turn_text, side_text = cells.get("rotation", ""), cells.get("side", "")
    turn = rotation(turn_text)
    if turn is not None and _RADIANS.search(sheet.headings.get("rotation", "")):
        turn = Turn(round(degrees(float(turn_text.replace(",", "."))) % 360.0, 2), turn.mirrored)
    if turn is None and turn_text:
        odd.rotations.setdefault(turn_text, []).append(where)
    side = _side(side_text, sheet)
    if side is None and side_text:
        odd.sides.setdefault(side_text, []).append(where)
    if side is None:
        side = Side.BOTTOM if turn is not None and turn.mirrored else default
    x = entry.x.figure * UNIT_MM[entry.x.unit or unit]
    y = entry.y.figure * UNIT_MM[entry.y.unit or unit]
    return Placement(entry.ref, round(x, 6), round(y, 6), turn.degrees if turn else 0.0, side, where)


def _side(text: str, sheet: _Sheet) -> Side | None:
    """Return the side of a cell; bare 0 and 1 are not believed, for both sides have been called either."""
    heading = sheet.headings.get("side", "")
    if not text:
        return Side.TOP if heading and side_of("no", heading) is Side.TOP and side_of("yes", heading) else None
    zero_based = text in ("0", "1") and any(line.cells.get("side") == "0" for line in sheet.lines)
    return None if zero_based and side_of("yes", heading) is None else side_of(text, heading)


def _unreadable(bad: list[_Line]) -> Iterable[Finding]:
    if bad:
        rows = _listing(" ".join(cell for cell in line.cells.values() if cell)[:60] for line in bad)
        said = message("placement-rows-unreadable", count=len(bad), rows=rows)
        yield Finding(said, Severity.CHECK, (), tuple(line.where for line in bad[:SHOWN]))


def _twice(every: list[Placement]) -> Iterable[Finding]:
    first: dict[str, Placement] = {}
    same: list[Placement] = []
    different: list[Placement] = []
    for placement in every:
        before = first.setdefault(placement.ref, placement)
        if before is not placement:
            (same if _at_one_place(before, placement) else different).append(placement)
    if same:
        refs = tuple(dict.fromkeys(placement.ref for placement in same))
        said = message("placement-twice-same", refs=_listing(refs))
        yield Finding(said, Severity.NOTE, refs, tuple(placement.where for placement in same[:SHOWN]))
    if different:
        refs = tuple(dict.fromkeys(placement.ref for placement in different))
        places = tuple(where for p in different[:SHOWN] for where in (first[p.ref].where, p.where))
        yield Finding(message("placement-twice-different", refs=_listing(refs)), Severity.CHECK, refs, places)


def _at_one_place(a: Placement, b: Placement) -> bool:
    near = abs(a.x_mm - b.x_mm) <= SAME_PLACE_MM and abs(a.y_mm - b.y_mm) <= SAME_PLACE_MM
    return near and a.side is b.side


def _listing(items: Iterable[str]) -> str:
    every = list(items)
    return ", ".join([*every[:SHOWN], "..."] if len(every) > SHOWN else every)
