"""An answer: a result with the board and the situation it holds for."""

from pathlib import Path
from typing import Generic, NamedTuple, TypeVar

from reworkkit.model.board import Board
from reworkkit.model.check_sheet import CheckSheet
from reworkkit.model.diagnosis import Diagnosis
from reworkkit.model.difference import Difference
from reworkkit.model.job import Situation
from reworkkit.model.live import LiveRun
from reworkkit.model.removal import DesolderPlan
from reworkkit.model.results import HeatDemand, HoldPoint, OrientationVerdict, Plan

Result = TypeVar("Result", covariant=True)


class Answer(NamedTuple, Generic[Result]):
    """A result together with the board and the situation it holds for."""

    board: Board
    situation: Situation
    result: Result
    named: Path | None = None
    """The board as it was typed; None where it was found from the folder one is in."""


class SheetSource(NamedTuple):
    """Everything a bench sheet is made from; `job_id` is None where there is no job."""

    board: Board
    situation: Situation
    difference: Difference
    verdicts: tuple[OrientationVerdict, ...]
    plan: Plan
    marks: dict[str, tuple[str, ...]]
    heat: dict[str, HeatDemand]
    hold_points: tuple[HoldPoint, ...]
    job_id: str | None
    live: LiveRun | None = None
    functional: tuple[CheckSheet, ...] = ()
    removal: DesolderPlan | None = None
    goods_in: CheckSheet | None = None
    diagnosis: Diagnosis | None = None
    done: frozenset[tuple[str, str]] = frozenset()
    """Steps that the job has as done, (kind, subject); also those of the whole board."""
    passed: frozenset[str] = frozenset()
    """Hold points that are open in the job, or confirmed where they cannot be judged."""
