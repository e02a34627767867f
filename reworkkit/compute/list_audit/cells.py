"""Cells that a spreadsheet, an encoding or a slipped column has spoilt, with the likely original where there is one."""

import re
from collections.abc import Callable, Iterable
from typing import NamedTuple

from reworkkit.compute.list_audit.common import folded, over
from reworkkit.model.board import Board
from reworkkit.model.messages import Finding, Message, message
from reworkkit.model.part import PartLine
from reworkkit.model.vocabulary import Severity

_MONTHS = "jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec"
_ENDS = "(?:uary|ruary|ch|il|e|y|ust|tember|ober|ember)?"
_SCIENTIFIC = re.compile(r"\d(?:[.,]\d+)?E[+-]\d{2,3}")
_DATE = re.compile(
    rf"\d{{1,2}}[-. ](?:{_MONTHS}){_ENDS}(?:[-. ]\d{{2,4}})?|(?:{_MONTHS}){_ENDS}[- .]\d{{2,4}}|"
    r"(?:19|20)\d\d-(?:0\d|1[0-2])-[0-3]\d(?:[ T]\d\d:\d\d(?::\d\d)?)?|"
    r"\d{1,2}/\d{1,2}/(?:\d\d){1,2}|\d{1,2}\.\d{1,2}\.\d{4}",
    re.IGNORECASE,
)
_SHEET_ERROR = re.compile(r"#(?:NAME\?|REF!|VALUE!|N/A|DIV/0!|NULL!|NUM!)|#{4,}")
_LOST_SIGN = re.compile(r"\ufffd|Âµ|Î[©¼]|â„¦|(?<=\d)\s?\?\s?(?=[FHVAWs]?\b|$)")
_CHIP_WITHOUT_ZERO = re.compile(r"(?:[RCL]_?)?(201|402|603|805)")
_CHIP_SIZES = frozenset({"0201", "0402", "0603", "0805", "1206", "1210", "1812", "2010", "2512"})
_PACKAGE_LIKE = re.compile(
    r"(?:[RCLD][ _-]?|LED[ _-]?|SMD[ _-]?)?(?:0201|0402|0603|0805|1206|1210|1812|2010|2512)|"
    r"(?:SOT|SOIC|SOD|SO|TSSOP|SSOP|MSOP|QFN|DFN|LQFP|TQFP|TO|DO|DIP|DPAK|SM[ABC])[ _-]?\d*(?:-\d+)?",
    re.IGNORECASE,
)
_VALUE_LIKE = re.compile(
    r"\d+(?:[.,]\d+)?\s*(?:[pnuµμmkKMGR]|ohm|Ω)?\s*(?:F|H|ohm|Ω|R)?|\d+[RKkMpnu]\d+", re.IGNORECASE
)


class _Cell(NamedTuple):
    """One cell of a row: which column it stands in, in words of the record."""

    column: str
    text: str


class _Fault(NamedTuple):
    """A kind of spoilt cell: which columns it is looked for in, how it is seen, and what it makes."""

    columns: tuple[str, ...]
    likely: Callable[[str], str | None]
    """Return the likely original (or an empty text) for a spoilt cell, None for a sound one."""
    say: Callable[[str, int], Message]
    severity: Severity


def audit_cells(board: Board) -> list[Finding]:
    """Return one finding for each way in which cells were spoilt, with the cells and their likely originals."""
    return [*_slipped(board), *(finding for fault in _FAULTS for finding in _look(board, fault))]


def _look(board: Board, fault: _Fault) -> Iterable[Finding]:
    seen: list[tuple[str, str]] = []
    lines: list[PartLine] = []
    for line in board.lines:
        for cell in _cells(line):
            if cell.column in fault.columns and cell.text and (likely := fault.likely(cell.text)) is not None:
                what = f"{cell.text} -> {likely}?" if likely else cell.text
                seen.extend((ref, what) for ref in line.refs or (str(line.where),))
                lines.append(line)
                break
    if lines:
        refs = [ref for line in lines for ref in line.refs]
        yield over(fault.say(folded(seen), len(lines)), fault.severity, refs, [line.where for line in lines])


def _cells(line: PartLine) -> tuple[_Cell, ...]:
    return (
        _Cell("refs", line.refs_text.strip()),
        _Cell("value", line.value_text.strip()),
        _Cell("package", line.package_text.strip()),
        _Cell("part_number", line.part_number.strip()),
        _Cell("description", line.description.strip()),
    )


def _whole(pattern: re.Pattern[str]) -> Callable[[str], str | None]:
    return lambda text: "" if pattern.fullmatch(text) else None


def _date(text: str) -> str | None:
    """Return the designator, size or number a date was made of, where day and month give one back.

    >>> _date("02-Jan"), _date("10k")
    ('', None)
    """
    return "" if _DATE.fullmatch(text) else None


def _scientific(text: str) -> str | None:
    """Return the plain figure behind 1E+03 in a value or part number.

    >>> _scientific("1.00E+03"), _scientific("1N4148")
    ('1000', None)
    """
    if not _SCIENTIFIC.fullmatch(text):
        return None
    figure = float(text.replace(",", "."))
    return f"{figure:.0f}" if 1 <= figure < 1e7 else ""


def _lost_sign(text: str) -> str | None:
    """Return the text with the lost sign as a micro sign before F or H, as an ohm sign at the end.

    >>> _lost_sign("10?F"), _lost_sign("4k7?"), _lost_sign("100nF")
    ('10µF', '', None)
    """
    match = _LOST_SIGN.search(text)
    if match is None:
        return None
    after = text[match.end() : match.end() + 1]
    if after in ("F", "H") and match[0].strip() in ("?", "\ufffd"):
        return text[: match.start()] + "µ" + text[match.end() :]
    return ""


def _without_zero(text: str) -> str | None:
    match = _CHIP_WITHOUT_ZERO.fullmatch(text)
    return f"{text[: match.start(1)]}0{match[1]}" if match else None


_FAULTS = (
    _Fault(
        ("value", "package", "part_number"),
        _whole(_SHEET_ERROR),
        lambda cells, count: message("cell-sheet-error", cells=cells, count=count),
        Severity.CHECK,
    ),
    _Fault(
        ("value", "part_number"),
        _scientific,
        lambda cells, count: message("cell-scientific", cells=cells, count=count),
        Severity.CHECK,
    ),
    _Fault(
        ("refs", "value", "package", "part_number"),
        _date,
        lambda cells, count: message("cell-date", cells=cells, count=count),
        Severity.CHECK,
    ),
    _Fault(
        ("value",),
        _lost_sign,
        lambda cells, count: message("cell-sign-lost", cells=cells, count=count),
        Severity.CHECK,
    ),
    _Fault(
        ("package",),
        _without_zero,
        lambda cells, count: message("cell-zero-lost", cells=cells, count=count),
        Severity.NOTE,
    ),
)


def _slipped(board: Board) -> Iterable[Finding]:
    """Rows whose value stands under package and whose package stands under value, or whose value is a designator."""
    rows = [line for line in board.lines if line.refs and (_swapped(line) or _holds_designator(line, board))]
    if rows:
        cells = "; ".join(f"{line.where.line}: {line.value_text} | {line.package_text}" for line in rows[:20])
        said = message("columns-slipped", rows=cells, count=len(rows))
        yield over(said, Severity.CHECK, [r for line in rows for r in line.refs], [line.where for line in rows])


def _swapped(line: PartLine) -> bool:
    value, package = line.value_text.strip(), line.package_text.strip()
    return bool(_PACKAGE_LIKE.fullmatch(value) and _VALUE_LIKE.fullmatch(package)) and package not in _CHIP_SIZES


def _holds_designator(line: PartLine, board: Board) -> bool:
    """A value that names another place of this list, in a row whose own class of part has figures as values."""
    value = line.value_text.strip().upper()
    return value in board.parts and value not in line.refs and line.refs[0][:1] in "RCL" and value[:1] in "RCL"
