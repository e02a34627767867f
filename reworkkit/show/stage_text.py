"""Readings that must agree, as a table: a column for each device, the pins under red and black, a place to write."""

from reworkkit.model.check_sheet import CheckGroup, CheckSheet
from reworkkit.model.designator_list import in_short
from reworkkit.model.measuring import Check
from reworkkit.model.messages import Message, message
from reworkkit.model.values import Band
from reworkkit.show.documents import Document
from reworkkit.show.terminal import Report
from reworkkit.show.texts import band_text, sentence

COLUMNS = 4
"""Devices side by side on 80 columns."""
BLANK = "____"


def print_groups(report: Report, sheet: CheckSheet) -> None:
    """Print the alerts of a sheet, then one table for each set of devices that must agree."""
    for level, alert in sheet.alerts:
        report.screen.line(f"{level.value.upper()}: {report.words(alert)}", level.value, indent=2)
    checks = {check.id: check for check in sheet.checks}
    read = {(key, swapped): text for key, swapped, text in sheet.read}
    said: set[Message] = set()
    for group in sheet.groups:
        report.screen.line()
        report.screen.line(f"{report.words(group.title)}: {in_short(group.devices)}", "heading", indent=2)
        for start in range(0, len(group.devices), COLUMNS):
            columns = range(start, min(start + COLUMNS, len(group.devices)))
            rows = [_cells(report, row, columns, checks, read) for row in group.rows]
            report.screen.table(rows, ("", *(group.devices[n] for n in columns)), widest=30)
        for line in _expected(report, group, checks):
            report.screen.line(line, "quiet", indent=2)
        for note in group.notes:
            if note not in said:
                said.add(note)
                report.screen.line(report.words(note), "quiet", indent=2)


Row = tuple[object, bool, tuple[str, ...]]


def _cells(
    report: Report, row: Row, columns: range, checks: dict[str, Check], read: dict[tuple[str, bool], str]
) -> tuple[str, ...]:
    what, swapped, ids = row
    cells = []
    for n in columns:
        point = checks[ids[n]].point
        red, black = (point.b or "", point.a) if swapped else (point.a, point.b or "")
        pins = f"{red.rpartition('.')[2]}+ {black.rpartition('.')[2]}-"
        cells.append(f"{pins} {read.get((ids[n], swapped), BLANK)}")
    return (report.words(what), *cells)  # type: ignore[arg-type]


def _expected(report: Report, group: CheckGroup, checks: dict[str, Check]) -> list[str]:
    """Return one line for each kind of reading with a figure, where all devices share it."""
    lines = []
    for what, swapped, ids in group.rows:
        expects = {checks[key].swapped if swapped else checks[key].expect for key in ids} - {None}
        band = expects.pop() if len(expects) == 1 else None
        if isinstance(band, Band) and not swapped:
            text = message("stage-expect", what=report.words(what), band=band_text(band))
            lines.append(report.words(text))
    return lines


def group_documents(sheet: CheckSheet, language: str) -> list[Document]:
    """Return the tables as plain data: the check of each device for each kind of reading, and what was read."""
    read = {(key, swapped): text for key, swapped, text in sheet.read}
    return [
        {
            "title": sentence(group.title, language),
            "notes": [sentence(note, language) for note in group.notes],
            "devices": list(group.devices),
            "rows": [
                {
                    "what": sentence(what, language),
                    "swapped": swapped,
                    "checks": list(ids),
                    "read": [read.get((key, swapped)) for key in ids],
                }
                for what, swapped, ids in group.rows
            ],
        }
        for group in sheet.groups
    ]
