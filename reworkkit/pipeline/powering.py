"""`powerup`: hold points with figures, how they stand, and what readings outside their bands may mean."""

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from reworkkit.errors import ReworkkitError
from reworkkit.model.answer import Answer
from reworkkit.model.job import Situation
from reworkkit.model.judging import judge
from reworkkit.model.measuring import Check, Reading
from reworkkit.model.vocabulary import Fit, ReadingVerdict, Severity
from reworkkit.pipeline.measured import with_readings
from reworkkit.pipeline.opening import Request, open_work
from reworkkit.pipeline.places import find_target
from reworkkit.pipeline.work import Work

if TYPE_CHECKING:
    from collections.abc import Iterator

    from reworkkit.model.job_view import HoldState
    from reworkkit.model.power import Outside, PowerUp
    from reworkkit.model.results import HoldPoint
    from reworkkit.model.values import Band
    from reworkkit.tables import OwnTables

_CONFIRMED = 1 << 60
HOLD_SHEET = "hold-cards.html"


def powerup(request: Request, name: str | None = None) -> "Answer[PowerUp]":
    """Return the hold points with figures and state, or the one named; ReworkkitError for an unknown name."""
    from reworkkit.compute.power_up import all_symptoms
    from reworkkit.model.power import PowerUp

    work = open_work(request)
    measured, unread = with_readings(work, find_target(request.target, Path.cwd()))
    situation = measured if measured is work.situation else _numbered(measured)
    points = work.hold_points
    states = _states(work, situation, points)
    if name is not None:
        kept = [n for n, point in enumerate(points) if point.outline.name.casefold() == name.casefold()]
        if not kept:
            known = ", ".join(point.outline.name for point in points) or "none"
            raise ReworkkitError("unknown-hold-point", name=name, known=known)
        points, states = (points[kept[0]],), (states[kept[0]],)
    outside = tuple(one for point in points for one in _outside(point, situation, work.board.own_tables))
    result = PowerUp(points, states, outside, all_symptoms(work.board.own_tables))
    board = replace(work.board, findings=(*work.board.findings, *unread))
    return Answer(board, situation, result, request.target)


def hold_sheet_path(request: Request, named: Path | None) -> Path:
    """Return where the printed cards go: the file named, else into the board folder or beside a lone list."""
    if named is not None:
        return named / HOLD_SHEET if named.is_dir() else named
    target = find_target(request.target, Path.cwd())
    return target / HOLD_SHEET if target.is_dir() else target.with_name(f"{target.stem} {HOLD_SHEET}")


def _numbered(situation: Situation) -> Situation:
    """Number readings that no job has numbered: the newest of a point counts."""
    return replace(situation, readings=tuple(replace(r, event=n) for n, r in enumerate(situation.readings, start=1)))


def _states(work: Work, situation: Situation, points: "tuple[HoldPoint, ...]") -> "tuple[HoldState, ...]":
    from reworkkit.compute.hold_state import HoldPlan, hold_states
    from reworkkit.compute.power_up import fitted_now

    plans = [
        HoldPlan(
            point.outline.name,
            point.outline.needs,
            point.outline.confirm,
            point.outline.measure,
            (*point.unpowered, *point.powered),
            point.fitted,
            tuple(finding.message for finding in point.findings if finding.severity is Severity.STOP),
        )
        for point in points
    ]
    confirmed = dict.fromkeys(situation.confirmed, _CONFIRMED)
    fitted = fitted_now(work.board, situation)
    none_there = {ref for ref, part in work.board.parts.items() if part.fit is not Fit.FIT}
    unexpected = none_there | (situation.states.keys() - work.board.parts.keys())
    return hold_states(plans, situation.readings, situation.states, confirmed, fitted, unexpected)


def _outside(point: "HoldPoint", situation: Situation, own: "OwnTables") -> "Iterator[Outside]":
    from reworkkit.compute.hold_state import reading_for
    from reworkkit.compute.power_up import symptoms_of
    from reworkkit.model.power import Outside

    usual = dict(point.usual)
    changed = max(
        (situation.states[ref].changed or 0 for ref in point.outline.needs if ref in situation.states), default=0
    )
    for check in (*point.unpowered, *point.powered):
        reading = reading_for(check, situation.readings, changed)
        if reading is None:
            continue
        judgement = judge(check, reading)
        if judgement.verdict is ReadingVerdict.OUTSIDE:
            yield Outside(point.outline.name, check, judgement, symptoms_of(check, reading, own))
        elif judgement.verdict is ReadingVerdict.INSIDE and _unusual(check, reading, usual):
            yield Outside(point.outline.name, check, judgement, unusual=True)


def _unusual(check: Check, reading: Reading, usual: "dict[str, Band]") -> bool:
    band = usual.get(check.id)
    return band is not None and judge(replace(check, expect=band), reading).verdict is ReadingVerdict.OUTSIDE
