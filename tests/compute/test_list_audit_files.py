"""The audit from file to finding: real lists stay quiet, a fault planted in a sound list is named once."""

from pathlib import Path

import pytest

from reworkkit.compute.list_audit import audit_list
from reworkkit.errors import ReworkkitError
from reworkkit.model.board import Board
from reworkkit.model.messages import Finding
from reworkkit.model.vocabulary import Severity
from reworkkit.read.folder import read_board
from reworkkit.show.texts import sentence

# Invented: part of a greenhouse watering controller.
SOUND = """\
Designator,Value,Package,Quantity,Part number
"R1, R2, R3",10k,R 0603,3,
R4,4.7k,R 0603,1,
R5,22k,R 0603,1,
"R6, R7",330R,R 0603,2,
R8,1M,R 0603,1,
R9,4.99k,R 0603,1,
R10,0R,R 0603,1,
"C1, C2, C3, C4",100n,C 0603,4,
C5,1u,C 0805,1,
"C6, C7",22p,C 0603,2,
C8,100u,Radial D6.3 P2.5,1,
D1,1N4148,SOD-123,1,
D2,LED green,LED 0603,1,
Q1,2N7002,SOT-23,1,
U1,MCP1700T-3302,SOT-89,1,MCP1700T-3302E/MB
U2,LM393,SOIC-8,1,
J1,valve plug,Header 1x04 2.54mm,1,
"""

PLANTED = {
    "a value of another class": ("R8,1M,", "R8,100nF,", "value-against-class", "R8"),
    "off the series": ("R5,22k,", "R5,23k,", "value-off-series", "R5"),
    "a decade too much": ('C6, C7",22p,C 0603', 'C6, C7",2200u,C 0603', "value-decade", "C6"),
    "a power of ten": ("R8,1M,", "R8,1.00E+06,", "cell-scientific", "R8"),
    "a date": ("U2,LM393,", "U2,02-Jan,", "cell-date", "U2"),
    "a lost sign": ("C5,1u,", "C5,1?F,", "cell-sign-lost", "C5"),
    "a sheet's error": ("U2,LM393,", "U2,#REF!,", "cell-sheet-error", "U2"),
    "a lost zero": ("R4,4.7k,R 0603", "R4,4.7k,603", "cell-zero-lost", "R4"),
    "swapped columns": ("R4,4.7k,R 0603", "R4,0603,4.7k", "columns-slipped", "R4"),
    "a row slipped by one column": ("R4,4.7k,R 0603,1", "R4,R 0603,1,", "columns-slipped", "R4"),
    "package and value of a transistor swapped": ("Q1,2N7002,SOT-23", "Q1,SOT-23,10k", "columns-slipped", "Q1"),
    "an amplifier in a chip's outline": ("U2,LM393,SOIC-8", "U2,LM393,R 0603", "package-against-kind", "U2"),
    "ohms at a capacitor": ("C5,1u,", "C5,4k7,", "value-against-class", "C5"),
    "microfarads at a resistor": ("R8,1M,", "R8,10uF,", "value-against-class", "R8"),
    "nothing lost but the micro sign": ("C5,1u,", "C5,1\ufffdF,", "cell-sign-lost", "C5"),
    "a package of many leads": ("R4,4.7k,R 0603", "R4,4.7k,SOIC-8", "package-against-kind", "R4"),
    "a package of another class": ("R4,4.7k,R 0603", "R4,4.7k,C 0603", "package-of-other-class", "R4"),
    "a quantity": ('R6, R7",330R,R 0603,2', 'R6, R7",330R,R 0603,3', "list-quantity-differs", "R6"),
    "a place listed twice": ("R4,4.7k,", "R5,4.7k,", "list-designator-twice", "R5"),
    "one part spelt two ways": ("C5,1u,C 0805", "C5,0.1uF,C 0603", "one-part-two-spellings", "C5"),
}


def all_findings(board: Board) -> list[Finding]:
    return [*board.findings, *audit_list(board)]


def board_of(text: str, folder: Path) -> Board:
    (folder / "bom.csv").write_text(text, encoding="utf-8")
    return read_board(folder)


def told(findings: list[Finding]) -> set[tuple[str, tuple[str, ...]]]:
    return {(finding.message.slug, finding.refs) for finding in findings if "look-alike" not in finding.message.slug}


def test_a_sound_list_is_quiet(tmp_path: Path) -> None:
    assert told(all_findings(board_of(SOUND, tmp_path))) == set()


@pytest.mark.parametrize("fault", PLANTED)
def test_a_planted_fault_is_named_once(fault: str, tmp_path: Path) -> None:
    sound, spoilt, slug, ref = PLANTED[fault]
    assert SOUND.count(sound) == 1
    found = [
        f for f in all_findings(board_of(SOUND.replace(sound, spoilt), tmp_path)) if "look-alike" not in f.message.slug
    ]
    assert [(f.message.slug, ref in f.refs) for f in found] == [(slug, True)], [sentence(f.message) for f in found]
    assert str(found[0].where[0]).startswith("bom.csv:")


def test_real_lists_raise_at_most_one_open_finding_in_a_hundred_lines(real_boards: Path, tmp_path: Path) -> None:
    """The lists are taken as sound: whatever the audit leaves open on them counts against it, explained or not."""
    lines, open_findings = 0, []
    for path in sorted((real_boards / "bom").iterdir()):
        try:
            board = read_board(path)
        except ReworkkitError:
            continue
        lines += len(board.lines)
        open_findings += [(path.name, f.message) for f in audit_list(board) if f.severity is not Severity.NOTE]
    assert lines > 1000
    assert len(open_findings) <= lines / 100, open_findings
