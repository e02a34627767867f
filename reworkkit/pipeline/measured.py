"""readings.csv of a board folder: what was measured before there was a job, or away from it."""

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from reworkkit.model.vocabulary import Basis, Severity
from reworkkit.pipeline.work import Work

if TYPE_CHECKING:
    from reworkkit.model.board import Board
    from reworkkit.model.job import Situation
    from reworkkit.model.messages import Finding
    from reworkkit.read.readings import ReadingsFile


def readings_file(board: "Board", target: Path) -> "ReadingsFile | None":
    """Return the readings that lie in the board folder, or None; a lone list has no neighbours."""
    from reworkkit.read.folder import LIST_SUFFIXES
    from reworkkit.read.readings import read_readings

    named = board.facts.files.readings
    names = (named,) if named else tuple(f"readings{suffix}" for suffix in LIST_SUFFIXES)
    name = next((one for one in names if target.is_dir() and (target / one).is_file()), None)
    return read_readings(target / name, name) if name else None


def with_readings(work: Work, target: Path) -> "tuple[Situation, tuple[Finding, ...]]":
    """Return the situation with the rows of the file where there is no job, and the rows that could not be read.

    In a job the rows are events since `begin` and count no further.
    """
    situation = work.situation
    file = None if situation.basis is Basis.JOB else readings_file(work.board, target)
    if file is None:
        return situation, ()
    mine = tuple(reading for copy, reading in file.readings if copy in (0, situation.copy))
    return replace(situation, readings=mine), unread(file)


def unread(file: "ReadingsFile") -> "tuple[Finding, ...]":
    """Return what was left out of a file or asks for a look, without the note on how it counts for several boards."""
    return tuple(finding for finding in file.findings if finding.severity is not Severity.NOTE)
