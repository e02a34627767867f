"""The diagnosis on the sections of the third author: healthy boards are left alone, most faults are found first."""

from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from reworkkit.model.answer import Answer
from reworkkit.pipeline.diagnosing import diagnosis_of
from reworkkit.pipeline.opening import Request, open_work
from reworkkit.pipeline.work import Work
from reworkkit.read.readings import read_readings
from reworkkit.show.diagnose_text import diagnose_json
from tests.fault_bench import grade

SECTIONS = ("climate-hub", "preamp-supply", "relay-tower", "series-charger", "valve-bridge")


@cache
def work_of(folder: Path) -> Work:
    """Return the board as it is opened once; its circuit is reckoned once."""
    return open_work(Request(folder))


@pytest.fixture
def grader(tmp_path: Path) -> grade.Grader:
    """Return a grader that asks the diagnosis in this process."""

    def diagnose(folder: Path, rows: list[grade.Row]) -> dict[str, Any]:
        file = tmp_path / "readings.csv"
        file.write_text(grade.readings_csv(rows), encoding="utf-8")
        readings = tuple(reading for _, reading in read_readings(file, file.name).readings)
        opened = work_of(folder)
        work = Work(opened.board, replace(opened.situation, readings=readings))
        return diagnose_json(Answer(work.board, work.situation, diagnosis_of(work, folder), folder), "en")

    return grade.Grader(diagnose)


def test_healthy_boards_are_left_alone(grader: grade.Grader) -> None:
    cases = list(grade.cases("healthy", sections=SECTIONS, per_section=2))
    assert len(cases) == 2 * len(SECTIONS)
    for case in cases:
        assert grader.diagnose(case.folder, grade.rows(case, 13))["verdict"] == "no_fault_seen", case.folder.name


def test_most_single_faults_are_in_the_first_group_at_thirteen_points(grader: grade.Grader) -> None:
    """The goal on all hundred is 80 % (docs/diagnosis.md: what is reached); 25 of them may fall two sigmas below."""
    cases = list(grade.cases("single", sections=SECTIONS))[::4]
    first = sum(grader.judged(c, grader.diagnose(c.folder, grade.rows(c, 13))).rank == 1 for c in cases)
    assert first >= (0.8 - 2 * (0.8 * 0.2 / len(cases)) ** 0.5) * len(cases)
