"""The first run at high energy, computed whole: everything a person would else work out with shaking hands.

Specification: warnings stand at the step they belong to, before its figures; a figure that cannot be computed is a
blank and a question, never a guess; nothing here ever says that it is safe to go on.
"""

from collections.abc import Mapping
from dataclasses import fields, replace

from reworkkit.compute.live_run.building import Given
from reworkkit.compute.live_run.charging import closing, precharge
from reworkkit.compute.live_run.curves import curves
from reworkkit.compute.live_run.limiting import limited_supply, series_lamp
from reworkkit.compute.live_run.readying import (
    danger,
    discharge,
    high_energy,
    meter,
    people,
    source,
    switch_off,
    tabs,
)
from reworkkit.compute.live_run.running import abort, raising, soak
from reworkkit.errors import ReworkkitError
from reworkkit.model.board import Board
from reworkkit.model.facts import BoardFacts, HoldPointFacts, LiveFacts
from reworkkit.model.job import Situation
from reworkkit.model.live import LiveRun
from reworkkit.model.messages import NotJudged, message
from reworkkit.model.quantity import format_quantity
from reworkkit.model.results import HoldOutline
from reworkkit.model.values import Quantity

LOADS = ("resistive", "transformer", "converter", "motor")
STEPS = (
    *(people, danger, meter, discharge, source, tabs, series_lamp, limited_supply, precharge, closing, raising),
    *(abort, soak, switch_off),
)
"""In the order of the run; the discharge stands ready before anything is charged."""
_MAY_BE_ZERO = frozenset({"watts", "idle"})
_ANY_SIGN = frozenset({"abort_celsius"})


def plan_live_run(
    live: LiveFacts,
    hold: HoldPointFacts | None = None,
    *,
    confirmed: bool = False,
    lines: Mapping[str, str] | None = None,
    open_questions: tuple[NotJudged, ...] = (),
) -> LiveRun:
    """Return the run for the facts of [live]; `hold` is its hold point, whose limit serves where none is written.

    `confirmed` says whether the record holds the confirmation of that hold point; `lines` where each key was written.
    Time constants from ideal capacitors, times to be read with 20 % of tolerance either way. Raises ReworkkitError for
    a figure that is zero or negative: nothing dangerous may look harmless because of a sign.
    """
    _refuse_unreal(live)
    if live.load is not None and live.load not in LOADS:
        open_questions = (*open_questions, _unknown_load(live.load))
        live = replace(live, load=None)
    limit_a = float(hold.limit.value) if hold and hold.limit else None
    given = Given(live, limit_a)
    steps = tuple(make(given) for make in STEPS)
    stops = tuple(dict.fromkeys(stop for step in steps for stop in step.stops))
    marks = high_energy(given)
    return LiveRun(
        state="stop" if stops else "confirmed" if confirmed else "unconfirmed",
        stops=stops,
        hold_point=hold.name if hold else None,
        high_energy=_high(marks),
        steps=steps,
        curves=curves(given),
        not_judged=(*open_questions, *(question for step in steps for question in step.not_judged)),
        lines=dict(lines or {}),
    )


def _refuse_unreal(live: LiveFacts, facts: BoardFacts | None = None) -> None:
    for one in fields(live):
        written = getattr(live, one.name)
        if not isinstance(written, Quantity) or one.name in _ANY_SIGN:
            continue
        if written.value < 0 or (written.value == 0 and one.name not in _MAY_BE_ZERO):
            at = facts.where(f"live.{one.name}") if facts else None
            where = (at,) if at else ()
            raise ReworkkitError("live-not-real", where=where, key=one.name, written=format_quantity(written))


def live_run_of(board: Board, situation: Situation) -> LiveRun | None:
    """Return the live run of a board, or None where board.toml has no [live]."""
    facts = board.facts
    if facts.live is None:
        return None
    _refuse_unreal(facts.live, facts)
    hold, questions = hold_of_run(facts)
    keys = [one.name for one in fields(facts.live) if getattr(facts.live, one.name) is not None]
    lines = {key: str(facts.where(f"live.{key}") or "") for key in keys}
    confirmed = hold is not None and hold.name in situation.confirmed
    return plan_live_run(facts.live, hold, confirmed=confirmed, lines=lines, open_questions=questions)


def with_cautions(outlines: tuple[HoldOutline, ...], run: LiveRun | None) -> tuple[HoldOutline, ...]:
    """Return the hold points, that of the live run with every warning and caution of the run to be confirmed."""
    if run is None:
        return outlines
    alerts = tuple(dict.fromkeys(alert for step in run.steps for alert in step.alerts))
    return tuple(replace(one, cautions=alerts) if one.name == run.hold_point else one for one in outlines)


def _unknown_load(load: str) -> NotJudged:
    because = message("live-load-unknown", load=load, known=", ".join(LOADS))
    return NotJudged(("load",), message("live-question-load"), because, '[live] load = "resistive"')


def _high(marks: tuple[bool, ...] | None) -> bool | None:
    """Any mark reached: yes. All three known and none reached: no. Else open."""
    if marks is None:
        return None
    return True if any(marks) else False if len(marks) == 3 else None


def hold_of_run(facts: BoardFacts) -> tuple[HoldPointFacts | None, tuple[NotJudged, ...]]:
    """Return the hold point that the live run is: named in [live], or the only one that asks for a confirmation."""
    named = facts.live.hold_point if facts.live else None
    asking = [hold for hold in facts.hold_points if hold.confirm]
    chosen = [hold for hold in facts.hold_points if hold.name == named] if named else asking
    if len(chosen) == 1:
        return chosen[0], ()
    known = ", ".join(hold.name for hold in asking) or "____"
    answer = f'[live] hold_point = "{known}"' if asking else "[[hold_points]] confirm = true"
    question = NotJudged(("hold_point",), message("live-question-hold"), message("live-hold-not-clear"), answer)
    return None, (question,)
