"""`diagnose`: the readings of one powered stage, and which faults explain all of them."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from reworkkit.model.answer import Answer
from reworkkit.model.designator import natural_key
from reworkkit.model.job import PlaceState, Situation
from reworkkit.model.measuring import Reading
from reworkkit.model.messages import Finding, Message, NotJudged, message
from reworkkit.model.vocabulary import Basis, EventKind, JointState, Mode, PartState, Place, Severity, WayRound
from reworkkit.pipeline.measured import with_readings
from reworkkit.pipeline.opening import Request, open_work
from reworkkit.pipeline.places import find_target
from reworkkit.pipeline.work import Work

if TYPE_CHECKING:
    from reworkkit.compute.diagnosis import Known, Stage
    from reworkkit.model.board import Board
    from reworkkit.model.diagnosis import Diagnosis

_UNDER_POWER = (Mode.VOLTS, Mode.AMPS)
EVENTS_BACK = 500
"""How far back in the log the times of the readings are looked for."""
POWERED_LEAST_V = 0.1
"""Up to this a reading in volts may be a "volts first" check of the board that is off."""

ALIVE_V = 1.0
"""A net that reads this much, of the sign of its supply, is fed."""
NEAR = 0.1
"""A net is at the voltage of its supply within this share of it."""


def diagnose(request: Request) -> "Answer[Diagnosis]":
    """Return which faults explain the readings of the stage that was powered last, and what to measure next."""
    work = open_work(request)
    target = find_target(request.target, Path.cwd())
    situation, unread = with_readings(work, target)
    result = diagnosis_of(Work(work.board, situation), target)
    return Answer(work.board, situation, replace(result, findings=(*unread, *result.findings)), request.target)


def diagnosis_of(work: Work, target: Path | None) -> "Diagnosis":
    """Return the diagnosis of a situation's readings; `target` is the board folder, for its own table of priors."""
    from reworkkit import tables
    from reworkkit.compute import diagnosis

    fresh, stale = _fresh(work.situation)
    name = _stage_name(work, fresh)
    off = read_when_off(fresh)
    used = [reading for n, reading in enumerate(fresh) if n not in off and _of_stage(reading, name)]
    folder = target if target is not None and target.is_dir() else None
    priors = diagnosis.Priors(tables.rows_for("priors", folder), work.situation)
    on = _supplies_on(work, name, used)
    stage = _stage(work, name, on)._replace(known=tuple(_known(work.board, work.situation, folder)))
    found = diagnosis.diagnose(work.board, work.guessed_circuit, used, stage, priors, _how_long(used, folder))
    told = (*diagnosis.reading_twice(used), *stale, *found.findings)
    return replace(found, findings=told, not_judged=(*found.not_judged, *_without_volts(work, on)))


def page_diagnosis(work: Work, target: Path) -> "Diagnosis | None":
    """Return the diagnosis for the page; None where nothing was measured under power."""
    situation, _ = with_readings(work, target)
    if not any(one.mode in _UNDER_POWER and one.hold_point for one in situation.readings):
        return None
    return diagnosis_of(Work(work.board, situation), target)


def _fresh(situation: Situation) -> tuple[list[Reading], list[Finding]]:
    """Return the readings since the last change of any part, and a finding for those before it."""
    changes = {ref: state.changed for ref, state in situation.states.items() if state.changed}
    if not changes:
        return list(situation.readings), []
    ref, last = max(changes.items(), key=lambda item: item[1])
    fresh = [reading for reading in situation.readings if (reading.event or 0) > last]
    old = len(situation.readings) - len(fresh)
    told = message("diagnose-stale", count=old, ref=ref)
    return fresh, [Finding(told, Severity.NOTE, (ref,))] if old else []


def _stage_name(work: Work, readings: Sequence[Reading]) -> str | None:
    """Return the hold point that was powered last, or the only one there is."""
    named = [reading.hold_point for reading in readings if reading.hold_point and reading.mode in _UNDER_POWER]
    if named:
        return named[-1]
    points = work.board.facts.hold_points
    return points[0].name if len(points) == 1 else None


def _of_stage(reading: Reading, name: str | None) -> bool:
    if reading.mode not in _UNDER_POWER or reading.hold_point is None:
        return True
    return name is not None and reading.hold_point.casefold() == name.casefold()


def read_when_off(readings: Sequence[Reading]) -> set[int]:
    """Return which readings in volts are "volts first" checks of the board that is off: about nothing, and no more.

    Under power a point may read nothing as well: what tells is that something else was read under power, and that the
    point itself was not found alive.
    """
    loose = [(n, one) for n, one in enumerate(readings) if one.mode in _UNDER_POWER and one.hold_point is None]
    alive = {one.point for _, one in loose if one.mode is Mode.VOLTS and not _about_nothing(one)}
    powered = bool(alive) or any(one.mode is Mode.AMPS for _, one in loose)
    low = [(n, one) for n, one in loose if one.mode is Mode.VOLTS and _about_nothing(one)]
    return {n for n, one in low if not powered or one.point in alive}


def _about_nothing(reading: Reading) -> bool:
    return reading.value is not None and abs(reading.value) <= POWERED_LEAST_V


def _stage(work: Work, name: str | None, supplies: Sequence[str]) -> "Stage":
    from reworkkit.compute.diagnosis import Stage

    facts = work.board.facts
    point = next((one for one in facts.hold_points if name and one.name.casefold() == name.casefold()), None)
    stated_on = (net for net in supplies if net in facts.supplies and net in work.board.nets)
    on = [net for net in stated_on if facts.supplies[net].volts is not None]
    stated = facts.supplies[on[0]] if on else None
    limit = (point.limit if point else None) or (stated.limit if stated else None)
    fitted = _connected(work) if work.situation.looked else None
    known = on[0] if on else None
    named = point.name if point else name
    return Stage(named, known, float(limit.value) if limit else None, fitted, beside=tuple(on[1:]))


def _without_volts(work: Work, supplies: Sequence[str]) -> "Iterator[NotJudged]":
    """Yield the supplies that were on but have no stated voltage, or no net: left out, so what they feed looks dead."""
    facts = work.board.facts.supplies
    for net in supplies:
        if net in facts and work.board.nets and net not in work.board.nets:
            yield NotJudged((net,), message("diagnose-question"), message("circuit-supply-no-net", net=net))
        elif facts and (net not in facts or facts[net].volts is None):
            because = message("diagnose-supply-volts", net=net)
            yield NotJudged((net,), message("diagnose-question"), because, f'[supplies] "{net}" = "12 V, limit 0.5 A"')


def _supplies_on(work: Work, name: str | None, readings: Sequence[Reading]) -> tuple[str, ...]:
    """Return the supplies that were on: of the hold point, else those that nothing tells apart, else the first.

    Where several could feed one net, those are on whose current or voltage was read: the readings tell. So they do of
    one that the hold point does not name.
    """
    from reworkkit.compute.power_up import supplies_of
    from reworkkit.model.results import HoldOutline

    known = (one for one in work.outlines if name and one.name.casefold() == name.casefold())
    outline = next(known, None) or HoldOutline(name or "", None, None, None, (), (), (), False)
    told = supplies_of(work.board, work.circuit, outline)
    read = _supplies_read(work, readings)
    return tuple(dict.fromkeys((*told, *read))) or tuple(work.board.facts.supplies)[:1]


def _supplies_read(work: Work, readings: Sequence[Reading]) -> tuple[str, ...]:
    """Return the supplies whose own current was read, or that were read at about what they are stated to give.

    So was one where a net is alive that no other supply could feed.
    """
    from reworkkit.compute.diagnosis import fed_by_one

    facts = work.board.facts
    alone = fed_by_one(work.circuit)

    def is_on(net: str) -> bool:
        stated = facts.supplies[net].volts
        volts = float(stated.value) if stated else 0.0
        own = [one for one in readings if facts.points.get(one.point, one.point) == net and one.value is not None]
        near = [one for one in own if one.mode is Mode.VOLTS and abs((one.value or 0.0) - volts) < NEAR * abs(volts)]
        fed = [one for one in readings if facts.points.get(one.point, one.point) in alone.get(net, ())]
        alive = [one for one in fed if one.mode is Mode.VOLTS and (one.value or 0.0) * volts > ALIVE_V * abs(volts)]
        return bool(near or alive) or any(one.mode is Mode.AMPS for one in own)

    first = [one for one in readings if one.mode is Mode.AMPS and one.point == "supply"]
    return tuple(net for n, net in enumerate(facts.supplies) if is_on(net) or (n == 0 and first))


def _known(board: "Board", situation: Situation, folder: Path | None) -> "Iterator[Known]":
    """Yield the faults that the fitted list or the job states of parts that are in the circuit, with where it is said.

    What is not fitted and what has a leg lifted is out of the circuit already.
    """
    from reworkkit.compute.diagnosis import Known

    for ref in sorted(board.parts, key=natural_key):
        state = situation.states.get(ref)
        if state is None or state.place is not Place.FITTED or state.joint is JointState.LEG_LIFTED:
            continue
        where = _said_where(board, situation, state, folder)
        if state.part is PartState.WRONG_PART:
            yield Known(ref, "wrong_part", message("known-wrong-part", ref=ref, where=where))
        if state.way_round is WayRound.REVERSED:
            yield Known(ref, "reversed", message("known-reversed", ref=ref, where=where))
        if state.part is PartState.DAMAGED:
            yield Known(ref, "damaged", message("known-damaged", ref=ref, where=where))
        if state.joint is JointState.TACKED:
            yield Known(ref, "tacked", message("known-tacked", ref=ref, where=where))


def _said_where(board: "Board", situation: Situation, state: PlaceState, folder: Path | None) -> str:
    """Return the line of the fitted list that says how a place stands, or the event of the job that changed it."""
    if situation.basis is Basis.JOB and folder is not None:
        from reworkkit.pipeline.recall import history

        told = next((event for event, _ in history(folder, [state.ref]) if event.id == state.since), None)
        if told is not None and told.kind is not EventKind.FOUND:
            return f"event {told.seq}"
    said = [one for one in board.fitted.states if one.ref == state.ref] if board.fitted else []
    mine = [one for one in said if one.copy in (None, situation.copy)]
    return str(mine[-1].where) if mine else "job"


def _connected(work: Work) -> frozenset[str]:
    """Return the places where something is connected, be it the right part or not: a wrong part carries current too."""
    return frozenset(
        ref
        for ref, state in work.situation.states.items()
        if ref in work.board.parts
        and (
            (state.place is Place.FITTED and state.joint is not JointState.LEG_LIFTED)
            or state.part is PartState.TEMPORARY_LINK
        )
    )


def _how_long(readings: Sequence[Reading], folder: Path | None) -> Message | None:
    """Return what the log says of how long the board was powered so: from its first to its last powered reading."""
    events = {reading.event for reading in readings if reading.mode in _UNDER_POWER and reading.event}
    if not events or folder is None:
        return None
    from reworkkit.pipeline.recall import history

    times = [
        datetime.fromisoformat(event.at) for event, _ in history(folder, newest=EVENTS_BACK) if event.seq in events
    ]
    minutes = round((max(times) - min(times)).total_seconds() / 60) if times else 0
    if len(times) < len(events) or minutes < 1:
        return message("diagnose-how-long", count=len(events))
    return message("diagnose-how-long-minutes", count=len(events), minutes=minutes)
