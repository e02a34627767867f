"""Speed of the diagnosis in CPU time, one thread of the linear algebra: `python -m tests.bench_diagnosis`."""

import os
import time

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from collections.abc import Callable
from pathlib import Path

import numpy as np

from reworkkit.compute.circuit import derive_circuit
from reworkkit.compute.diagnosis import Stage, diagnose, engine_of, prepare
from reworkkit.compute.diagnosis.diagnose import next_checks
from reworkkit.compute.diagnosis.groups import groups
from reworkkit.compute.formulas.network import solve_near
from reworkkit.model.measuring import Reading
from reworkkit.model.vocabulary import Mode, ReadingForm
from reworkkit.read.folder import read_board
from tests.bench_heat import Timing

ROOT = Path(__file__).resolve().parents[1]
STAGE = Stage("logic rails", "VIN_RAW", 0.5, None)
READINGS = (("VIN_F", 23.9, "V"), ("+24V", 23.5, "V"), ("+3V3", 0.1, "V"), ("supply", 0.02, "A"))


def least(action: Callable[[], object], rounds: int = 3) -> float:
    """Return the least CPU time of a few rounds [s]."""
    found = []
    for _ in range(rounds):
        start = time.process_time()
        action()
        found.append(time.process_time() - start)
    return min(found)


def measure() -> list[Timing]:
    """Return the rows of the table: the example board with 44 nets, one reading off."""
    board = read_board(ROOT / "example_boards" / "greenhouse-valves")
    circuit = derive_circuit(board)
    readings = [
        Reading(point, Mode.AMPS if unit == "A" else Mode.VOLTS, ReadingForm.VALUE, value, unit, False, "logic rails",
                f"{value} {unit}") for point, value, unit in READINGS
    ]  # fmt: skip
    dictionary = prepare(board, circuit, STAGE)
    rows = np.resize(dictionary.rows, (1000, dictionary.rows.shape[1]))
    engine, _ = engine_of(board, circuit, dictionary, readings)
    engine.shares  # noqa: B018 - weighed before the clock starts: it is the next check that is timed
    return [
        Timing(
            "1,000 hypotheses, 44 nets, plain steps",
            least(lambda: solve_near(dictionary.template, rows, dictionary.states[:1])),
            0.5,
        ),
        Timing("all single faults of 44 nets, prepared", least(lambda: prepare(board, circuit, STAGE)), 3.0),
        Timing("next check, 44 nets", least(lambda: next_checks(engine, board, groups(engine))), 1.0),
        Timing("diagnose, 44 nets, all of it", least(lambda: diagnose(board, circuit, readings, STAGE), 1), None),
    ]


if __name__ == "__main__":
    for row in measure():
        print(f"{row.what:<42} {row.seconds:6.3f} s" + (f"  goal {row.goal_s:g} s" if row.goal_s else ""))
