"""Small boards for the tests of the diagnosis: their files, what they read as, and what a fault does to them."""

from collections.abc import Mapping
from functools import cache
from pathlib import Path

import numpy as np

from reworkkit.compute.circuit import derive_circuit
from reworkkit.compute.diagnosis.dictionary import Dictionary
from reworkkit.model.board import Board
from reworkkit.model.diagnosis import Diagnosis
from reworkkit.model.measuring import Reading
from reworkkit.model.results import Circuit
from reworkkit.model.vocabulary import Mode, ReadingForm
from reworkkit.read.folder import read_board

UNITS = {Mode.VOLTS: "V", Mode.AMPS: "A", Mode.OHMS: "ohm"}


def written(folder: Path, files: Mapping[str, str]) -> Path:
    """Write the files of a board into a folder and return it."""
    for name, text in files.items():
        (folder / name).write_text(text, encoding="utf-8")
    return folder


@cache
def opened(folder: Path) -> tuple[Board, Circuit]:
    """Return board and circuit of a folder, read once."""
    board = read_board(folder)
    return board, derive_circuit(board)


def reading(point: str, value: float | None, mode: Mode = Mode.VOLTS, hold_point: str | None = None) -> Reading:
    """Return a reading; None is over range."""
    form = ReadingForm.OVER_RANGE if value is None else ReadingForm.VALUE
    text = "OL" if value is None else f"{value:g} {UNITS[mode]}"
    return Reading(point, mode, form, value, UNITS[mode], False, hold_point, text)


def first_faults(found: Diagnosis) -> set[tuple[str, str]]:
    """Return designator and kind of the faults of the first group."""
    return {(fault.ref, fault.kind) for fault in found.groups[0].faults}


def volts_under(dictionary: Dictionary, ref: str = "", kind: str = "none") -> dict[str, float]:
    """Return the voltage of every node under a fault, at its first size; under none by default."""
    faults = [h.fault for h in dictionary.catalogue.hypotheses]
    place = next(n for n, fault in enumerate(faults) if (fault.ref, fault.kind) == (ref, kind))
    row = int(np.flatnonzero(dictionary.owner == place)[0])
    return {node: float(dictionary.states[row, n]) for n, node in enumerate(dictionary.template.nodes)}
