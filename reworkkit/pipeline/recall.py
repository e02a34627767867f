"""What the job remembers: status, next steps, history, export, the situation, the record of a finished board.

Neither numpy nor pandas nor `read` on this path: these commands answer at once.
"""

from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from reworkkit.compute.hold_state import HoldPlan, hold_states
from reworkkit.compute.open_items import (
    open_elsewhere,
    open_places,
    open_readings,
    shared_faults,
    still_unread,
)
from reworkkit.errors import ReworkkitError
from reworkkit.model.designator import natural_key
from reworkkit.model.job import Event, Situation
from reworkkit.model.job_view import CopyStatus, HoldState, JobInfo, NextSteps, OperationRow, Status
from reworkkit.model.messages import Finding, Message, message
from reworkkit.model.steps import expand_refs
from reworkkit.model.vocabulary import Basis, EventKind, Place
from reworkkit.pipeline.unknown_places import not_on_board
from reworkkit.record import queries
from reworkkit.record.codec import message_of
from reworkkit.record.job_store import JOB_FILE, NOT_UNDONE, JobStore
from reworkkit.record.projection import planning_states

if TYPE_CHECKING:
    from reworkkit.model.job_view import FinishedRecord, PlaceRecord


def chosen_copy(info: JobInfo, copy: int | None) -> int:
    """Return the copy that is meant; with several boards it must be said, a tick on the wrong one would be a lie."""
    if copy is None and info.copies > 1:
        raise ReworkkitError("which-copy", copies=info.copies)
    if copy is not None and not 1 <= copy <= info.copies:
        raise ReworkkitError("no-such-copy", copy=copy, copies=info.copies)
    return copy or 1


def asked_copies(info: JobInfo, copy: int | None) -> tuple[int, ...]:
    """Return the copies that a question is about: the one that is named, else all."""
    return (chosen_copy(info, copy),) if copy is not None else tuple(range(1, info.copies + 1))


def holds_of(store: JobStore, copy: int) -> tuple[HoldState, ...]:
    """Return the state of each hold point of one copy."""
    data = queries.hold_data(store)
    if not data:
        return ()
    checks = queries.checks(store, purpose="hold_point")
    plans = [_hold_plan(one, [check for belongs, check in checks if belongs == one["name"]]) for one in data]
    needed = {ref for plan in plans for ref in plan.needs}
    states = queries.states(store, copy, notable=True) | queries.states(store, copy, refs=needed)
    fitted = queries.fitted_refs(store, copy)
    readings, confirmed = queries.readings_now(store, copy), queries.confirmed(store, copy)
    found = hold_states(plans, readings, states, confirmed, fitted, queries.unexpected_refs(store, copy))
    return _bands_in_hand(store, copy, found, {reading.hold_point for reading in readings})


def _bands_in_hand(
    store: JobStore, copy: int, holds: tuple[HoldState, ...], read: set[str | None]
) -> tuple[HoldState, ...]:
    """Leave out that the bands are for another set of parts while steps before the hold point are still to do.

    Bands are made for what will be fitted then; they are told to be another board's where somebody measures already.
    """
    if not any(one.slug == "hold-other-set" for hold in holds for one in hold.notices):
        return holds
    passed = {hold.name for hold in holds if hold.passed}
    rows = queries.open_operations(store, copy, len(holds) + 1)
    coming = next((row for row in rows if row.kind != "hold_point" or not passed.issuperset(row.subjects)), None)
    in_hand = {*read, *(coming.subjects if coming and coming.kind == "hold_point" else ())}
    return tuple(
        hold
        if hold.name in in_hand
        else hold._replace(notices=tuple(one for one in hold.notices if one.slug != "hold-other-set"))
        for hold in holds
    )


def _hold_plan(data: dict[str, Any], checks: Iterable[Any]) -> HoldPlan:
    fitted = data["fitted"]
    return HoldPlan(
        data["name"],
        tuple(data["needs"]),
        bool(data["confirm"]),
        tuple(data["measure"]),
        tuple(checks),
        None if fitted is None else frozenset(fitted),
        tuple(message_of(one) for one in data.get("stops", ())),
    )


def open_rows(
    store: JobStore, copy: int, holds: Iterable[HoldState], limit: int = -1
) -> tuple[queries.OpenOperation, ...]:
    """Return the operations still to do, in order; a hold point that may be passed is not among them."""
    passed = {hold.name for hold in holds if hold.passed}
    rows = queries.open_operations(store, copy, limit + len(passed) if limit >= 0 else -1)
    wanted = [row for row in rows if row.kind != "hold_point" or not passed.issuperset(row.subjects)]
    return tuple(wanted if limit < 0 else wanted[:limit])


def last_pause(store: JobStore, copy: int) -> Event | None:
    """Return the pause that the work is in: the newest event of the copy where that is a pause, else None."""
    newest = store.events(f"+copy = ? AND kind <> 'undo' AND {NOT_UNDONE}", (copy,), newest=1)
    return newest[0] if newest and newest[0].kind is EventKind.PAUSE else None


def status(folder: Path, copy: int | None = None) -> Status:
    """Return how the job stands: open items first, then progress and what comes next, per copy."""
    with JobStore.open(folder / JOB_FILE) as store:
        info = queries.info(store)
        copies = tuple(_copy_status(store, one) for one in asked_copies(info, copy))
        shared = shared_faults({one.copy: one.open_items for one in copies})
        return Status(info, store.at_event(), copies, shared)


def at_event(folder: Path) -> int:
    """Return the number of the newest event of the job."""
    with JobStore.open(folder / JOB_FILE) as store:
        return store.at_event()


def _copy_status(store: JobStore, copy: int) -> CopyStatus:
    holds = holds_of(store, copy)
    rows = open_rows(store, copy, holds, 1)
    return CopyStatus(
        copy,
        queries.copies(store)[copy][0],
        open_items(store, copy, holds),
        queries.progress(store, copy),
        holds,
        queries.operation(store, copy, rows[0]) if rows else None,
        last_pause(store, copy),
        queries.readings_now(store, copy),
        queries.place_counts(store, copy),
        queries.stated_since_plan(store, copy),
    )


def open_items(store: JobStore, copy: int, holds: Iterable[HoldState]) -> tuple[Finding, ...]:
    """Return what is open on one copy, worst first."""
    notable = queries.states(store, copy, notable=True)
    of_places = open_places(notable, queries.places(store, notable))
    sites = queries.sites(store, copy)
    unread = still_unread(queries.without_reading(store, copy), queries.readings_now(store, copy))
    elsewhere = open_elsewhere(sites, queries.disagreements(store, copy), unread, holds)
    of_readings = _open_readings(store, copy, {site.point for site in sites})
    order = ("stop", "check", "note")
    return tuple(sorted((*elsewhere, *of_readings, *of_places), key=lambda finding: order.index(finding.severity)))


def _open_readings(store: JobStore, copy: int, sites: set[str]) -> tuple[Finding, ...]:
    readings = [reading for reading in queries.readings_now(store, copy) if reading.hold_point is None]
    checks = queries.checks_without_power(store, [reading.point for reading in readings])
    states = queries.states(store, copy, refs={ref for check in checks for ref in check.refs}) if checks else {}
    changed = {ref: state.changed or 0 for ref, state in states.items()}
    return open_readings(checks, readings, changed, sites)


def next_operations(folder: Path, copy: int | None = None, minutes: float | None = None) -> tuple[NextSteps, ...]:
    """Return per copy what comes next; with `minutes`, as much as fits, by the hand times of the plan.

    A hold point that is not passed ends the list: what lies behind it waits for its readings.
    """
    with JobStore.open(folder / JOB_FILE) as store:
        return tuple(_next(store, copy, minutes) for copy in asked_copies(queries.info(store), copy))


def _next(store: JobStore, copy: int, minutes: float | None) -> NextSteps:
    holds = holds_of(store, copy)
    chosen: list[queries.OpenOperation] = []
    left_s = (minutes or 0) * 60
    for row in open_rows(store, copy, holds, 1 if minutes is None else -1):
        if chosen and ((row.duration_s or 0) > left_s or chosen[-1].kind == "hold_point"):
            break
        chosen.append(row)
        left_s -= row.duration_s or 0
    rows = [queries.operation(store, copy, row) for row in chosen]
    if any(row.kind == "beep_pads" for row in rows):
        rows = _with_beeps(store, rows)
    rows = [_with_zero(store, row) if row.kind == "discharge" else row for row in rows]
    left = queries.count_open_operations(store, copy) - sum(hold.passed for hold in holds) - len(chosen)
    return NextSteps(
        copy,
        tuple(rows),
        None if minutes is None else minutes * 60,
        holds,
        max(left, 0),
        last_pause(store, copy),
        queries.stated_since_plan(store, copy),
    )


def _with_zero(store: JobStore, row: OperationRow) -> OperationRow:
    """Return a discharge with the points where zero is measured."""
    points = queries.supply_points(store, row.open_subjects[0])
    return row._replace(why=(*row.why, *(message("next-zero", point=point) for point in points)))


def _with_beeps(store: JobStore, rows: list[OperationRow]) -> list[OperationRow]:
    """Return the operations, those that beep bare pads with the pad of each place, on ground where one is."""
    beeps: dict[str, Message] = {}
    for _, check in queries.checks(store, purpose="bare_place"):
        ref = check.refs[0] if check.refs else ""
        if check.why.slug == "polarity-beep" and (ref not in beeps or check.point.b is None):
            beeps[ref] = check.why
    return [
        row._replace(
            why=(*row.why, *(beeps[ref] for ref in sorted(row.open_subjects, key=natural_key) if ref in beeps))
        )
        if row.kind == "beep_pads"
        else row
        for row in rows
    ]


def history(
    folder: Path, refs: Iterable[str] = (), copy: int | None = None, newest: int | None = None
) -> tuple[tuple[Event, bool], ...]:
    """Return (event, was taken back) in order of arrival: of these places, points or steps, else of all."""
    with JobStore.open(folder / JOB_FILE) as store:
        wanted = _history_subjects(store, tuple(refs))
        conditions, values = ["1"], []
        if wanted:
            marks = ",".join("?" * len(wanted))
            conditions.append(
                f"(subject IN ({marks}) OR undoes IN (SELECT id FROM event AS e WHERE e.subject IN ({marks})))"
            )
            values += [*wanted, *wanted]
        if copy is not None:
            conditions.append("copy IN (0, ?)")
            values.append(str(chosen_copy(queries.info(store), copy)))
        events = store.events(" AND ".join(conditions), tuple(values), newest=newest)
        undone = {event_id for (event_id,) in store.connection.execute("SELECT undoes FROM event WHERE undoes <> ''")}
        return tuple((event, event.id in undone) for event in events)


def _history_subjects(store: JobStore, refs: tuple[str, ...]) -> list[str]:
    if not refs:
        return []
    subjects = {subject for (subject,) in store.connection.execute("SELECT DISTINCT subject FROM event")}
    known, unknown = expand_refs(refs, {*queries.refs(store), *subjects})
    exact = {subject.casefold(): subject for subject in subjects}
    for name in (*refs, *unknown):
        if name.casefold() in exact:
            known.append(exact[name.casefold()])
            unknown = [one for one in unknown if one.casefold() != name.casefold()]
    if unknown:
        raise not_on_board(unknown)
    return known


def export(folder: Path) -> dict[str, Any]:
    """Return the whole job as plain data: ticks only as events, so that a lost one would be visible."""
    with JobStore.open(folder / JOB_FILE) as store:
        store.check_whole()
        info = queries.info(store)
        inputs = store.connection.execute("SELECT name, role, sha256, size FROM input_file ORDER BY name")
        return {
            "format": "reworkkit.export/1",
            "basis": Basis.JOB.value,
            "at_event": store.at_event(),
            "board_id": info.board_id,
            "job": info.job_id,
            "device": "",
            "head": info._asdict(),
            "copies": [{"copy": n, "serial": s, "plan": plan} for n, (s, plan) in queries.copies(store).items()],
            "inputs": [dict(zip(("name", "role", "sha256", "size"), row, strict=True)) for row in inputs],
            "places": [place._asdict() for place in queries.places(store).values()],
            "events": [event.as_data() for event in store.events()],
            "findings": [],
            "not_judged": [],
        }


def situation_of_job(folder: Path, copy: int | None = 1) -> Situation:
    """Return how one copy stands now, by the job."""
    with JobStore.open(folder / JOB_FILE) as store:
        return _situation(store, chosen_copy(queries.info(store), copy))


def planning_situation(folder: Path, found: Situation) -> Situation:
    """Return what a plan that keeps its ticks is made from: the states found, and what was stated about them since."""
    with JobStore.open(folder / JOB_FILE) as store:
        info = queries.info(store)
        chosen = chosen_copy(info, found.copy if info.copies >= found.copy else None)
        return replace(_situation(store, chosen), states=planning_states(store.connection, chosen, found.states))


def _situation(store: JobStore, copy: int) -> Situation:
    states = queries.states(store, copy)
    return Situation(
        copy,
        Basis.JOB,
        store.at_event(),
        states,
        queries.all_readings(store, copy),
        queries.substitutions(store, copy),
        frozenset(one.name for one in holds_of(store, copy) if one.confirmed),
        frozenset(ref for ref, state in states.items() if state.changed is not None),
        queries.sites(store, copy),
        looked=any(state.place is not Place.NOT_INSPECTED for state in states.values()),
    )


def cautions_of(folder: Path, hold_point: str) -> list[object]:
    """Return what a confirmation of a hold point confirms, as the job keeps it."""
    with JobStore.open(folder / JOB_FILE) as store:
        found = [one.get("cautions") for one in queries.hold_data(store) if one["name"] == hold_point]
    return found[0] if found and isinstance(found[0], list) else []


def hold_points_now(folder: Path, copy: int | None = 1) -> tuple[HoldState, ...]:
    """Return the state of each hold point of one copy, with why it is closed."""
    with JobStore.open(folder / JOB_FILE) as store:
        return holds_of(store, chosen_copy(queries.info(store), copy))


def steps_done(folder: Path, copy: int | None = 1) -> frozenset[tuple[str, str]]:
    """Return the steps of one copy's plan that are done, (kind, subject), also those of the whole board."""
    with JobStore.open(folder / JOB_FILE) as store:
        steps = queries.steps(store, chosen_copy(queries.info(store), copy))
        return frozenset((step.kind, step.subject) for step in steps if step.done)


def finished_record(folder: Path, copy: int | None = 1) -> "FinishedRecord":
    """Return the record that goes with one finished board: what is fitted, by whom, proven how, measured, replaced."""
    from reworkkit.model.job_view import FinishedRecord, PhotoRecord

    with JobStore.open(folder / JOB_FILE) as store:
        info = queries.info(store)
        chosen = chosen_copy(info, copy)
        readings = store.standing_events("reading", chosen)
        photos = store.standing_events("photo", chosen)
        inputs = store.connection.execute("SELECT name, role, sha256 FROM input_file ORDER BY name").fetchall()
        done = store.events("kind = 'done' AND copy = ?", (chosen,))
        return FinishedRecord(
            info=info,
            serial=queries.copies(store)[chosen][0],
            situation=_situation(store, chosen),
            places=_place_records(store, chosen),
            readings=tuple((e, queries.reading_of(e.subject, e.detail, e.seq)) for e in readings),
            photos=tuple(
                PhotoRecord(e.subject, str(e.detail["file"]), str(e.detail["sha256"]), e.at, e.who) for e in photos
            ),
            sites=queries.sites(store, chosen),
            without_reading=tuple(event for event in done if event.detail.get("without_reading")),
            open_items=open_items(store, chosen, holds_of(store, chosen)),
            inputs=tuple((name, role, sha) for name, role, sha in inputs),
        )


def _place_records(store: JobStore, copy: int) -> "tuple[PlaceRecord, ...]":
    from reworkkit.model.job_input import JobPlace
    from reworkkit.model.job_view import PlaceRecord

    places, used = queries.places(store), {s.ref: s for s in queries.substitutions(store, copy) if s.accepted}
    by: dict[str, dict[str, None]] = {}
    for event in store.events(f"kind IN ('done', 'state') AND copy = ? AND {NOT_UNDONE}", (copy,)):
        by.setdefault(event.subject, {})[event.who] = None
    proofs = {event.subject: event for event in store.standing_events("proof", copy)}
    records = []
    for ref, state in queries.states(store, copy).items():
        place, proof, substitute = places.get(ref, JobPlace(ref)), proofs.get(ref), used.get(ref)
        records.append(
            PlaceRecord(
                ref,
                place.value,
                place.package,
                place.part_number,
                place.fit,
                state,
                substitute.candidate if substitute else "",
                substitute.reason if substitute else "",
                tuple(by.get(ref, {})),
                _proof_text(proof),
            )
        )
    return tuple(records)


def _proof_text(proof: Event | None) -> str:
    if proof is None:
        return ""
    facts = (proof.detail.get("by"), proof.detail.get("reading"), proof.detail.get("verdict"))
    return " ".join(str(fact) for fact in facts if fact)
