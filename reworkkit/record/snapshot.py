"""What a job is begun with, and what has changed in it since: places, plans, hold points, checks, input files."""

import hashlib
from collections.abc import Iterable
from typing import Any

from reworkkit.model.designator import natural_key
from reworkkit.model.job import Event, PlaceState
from reworkkit.model.job_input import BeginInput
from reworkkit.model.job_view import Actor
from reworkkit.model.judging import point_key, point_meant
from reworkkit.model.results import HoldOutline, HoldPoint, Operation
from reworkkit.model.vocabulary import EventKind, Severity
from reworkkit.record.codec import band_data, check_data, dumps, message_data
from reworkkit.record.job_store import JobStore
from reworkkit.record.projection import base_state, refold, state_row


def fill(store: JobStore, begun: BeginInput, actor: Actor) -> None:
    """Write the first rows of a job: head, copies, design, plans, snapshot, states found, readings taken before."""
    head = (
        1,
        actor.new_id(),
        begun.board_id,
        begun.board_name,
        begun.revision,
        begun.parts_file,
        begun.copies,
        actor.at,
        actor.who,
        begun.alloy_found,
        begun.alloy_used,
    )
    store.connection.execute(f"INSERT INTO job VALUES ({', '.join('?' * len(head))})", head)
    serials = dict(enumerate(begun.serials, start=1))
    store.connection.executemany(
        "INSERT INTO copy VALUES (?, ?, '')", [(copy, serials.get(copy, "")) for copy in range(1, begun.copies + 1)]
    )
    write_design(store, begun)
    store.append([snapshot_event(begun, actor)])
    for copy in range(1, begun.copies + 1):
        store.append(found_events(found_of(begun, copy).values(), begun, copy, actor))
    store.append(reading_events(begun, actor))


def write_design(store: JobStore, begun: BeginInput) -> None:
    """Write, or write anew, all that comes from the inputs; the log and what hangs on it stay."""
    before = dict(store.connection.execute("SELECT ref, polarised FROM place"))
    for table in ("place", "operation", "step", "hold_outline", "expected", "input_file", "point", "point_alias"):
        store.connection.execute(f"DELETE FROM {table}")
    _write_places(store, begun, before)
    _write_plans(store, begun)
    _write_hold_points(store, begun)
    store.connection.executemany(
        "INSERT INTO input_file VALUES (?, ?, ?, ?)", [(f.name, f.role, f.sha256, f.size) for f in begun.inputs]
    )
    store.connection.executemany("INSERT OR IGNORE INTO point VALUES (?)", [(name,) for name in begun.points])
    store.connection.executemany("INSERT OR IGNORE INTO point_alias VALUES (?, ?)", begun.aliases)
    store.connection.execute("UPDATE job SET alloy_found = ?, alloy_used = ?", (begun.alloy_found, begun.alloy_used))


def _write_places(store: JobStore, begun: BeginInput, before: dict[str, str]) -> None:
    ordered = sorted(begun.places, key=lambda place: natural_key(place.ref))
    store.connection.executemany(
        "INSERT INTO place (rank, ref, kind, polarised, value, package, part_number, fit)"
        " VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
        [(rank, *place) for rank, place in enumerate(ordered)],
    )
    copies = [copy for (copy,) in store.connection.execute("SELECT copy FROM copy").fetchall()]
    changed = [place for place in ordered if before.get(place.ref) != place.polarised]
    if not before:
        rows = [(copy, *state_row(base_state(p.ref, p.polarised))) for copy in copies for p in changed]
        store.connection.executemany(f"INSERT INTO place_state VALUES ({', '.join('?' * 11)})", rows)
        return
    gone = before.keys() - {place.ref for place in ordered}
    for copy in copies:
        for ref in (*(place.ref for place in changed), *gone):
            refold(store.connection, copy, ref)


def _write_plans(store: JobStore, begun: BeginInput) -> None:
    plans = {plan.copy: plan for plan in begun.plans}
    for plan_id, operations in {plan.plan_id: plan.operations for plan in begun.plans}.items():
        store.connection.executemany(
            "INSERT INTO operation VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            [_operation_row(plan_id, operation) for operation in operations],
        )
        store.connection.executemany(
            "INSERT INTO step VALUES (?, ?, ?, ?, ?)",
            [(plan_id, o.n, position, *step) for o in operations for position, step in enumerate(o.steps)],
        )
    for copy in range(1, begun.copies + 1):
        plan = plans.get(copy) or plans.get(0)
        store.connection.execute("UPDATE copy SET plan_id = ? WHERE copy = ?", (plan.plan_id if plan else "", copy))


def _operation_row(plan_id: str, operation: Operation) -> tuple[object, ...]:
    return (
        plan_id,
        operation.n,
        operation.kind,
        operation.group,
        operation.hold_point,
        dumps(message_data(operation.title)),
        dumps(operation.setup._asdict()),
        dumps([message_data(one) for one in operation.why]),
        dumps([[level, message_data(one)] for level, one in operation.alerts]),
        dumps(list(operation.after)),
        operation.duration_s,
    )


def _write_hold_points(store: JobStore, begun: BeginInput) -> None:
    figures = {hold.outline.name: hold for hold in begun.hold_points}
    outlines = {o.name: o for o in begun.outlines}
    outlines |= {h.outline.name: h.outline for h in begun.hold_points if h.outline.name not in outlines}
    store.connection.executemany(
        "INSERT INTO hold_outline VALUES (?, ?, ?)",
        [(o.name, rank, dumps(_hold_data(o, figures.get(o.name)))) for rank, o in enumerate(outlines.values())],
    )
    checks = {check.id: ("", check) for check in begun.checks}
    for hold in begun.hold_points:
        checks |= {check.id: (hold.outline.name, check) for check in (*hold.unpowered, *hold.powered)}
    store.connection.executemany(
        "INSERT INTO expected VALUES (?, ?, ?, ?, ?, ?)",
        [
            (c.id, belongs, c.purpose.value, c.point.text, c.mode.value, dumps(check_data(c)))
            for belongs, c in checks.values()
        ],
    )


def _hold_data(outline: HoldOutline, figures: HoldPoint | None) -> dict[str, Any]:
    return {
        "name": outline.name,
        "supply": outline.supply,
        "feed": outline.feed,
        "limit": band_data(figures.limit_a) if figures and figures.limit_a else None,
        "needs": list(outline.needs),
        "protects": list(outline.protects),
        "measure": list(outline.measure),
        "confirm": outline.confirm,
        "fitted": sorted(figures.fitted, key=natural_key) if figures else None,
        "stops": [message_data(f.message) for f in figures.findings if f.severity is Severity.STOP] if figures else [],
        "cautions": [
            [level.value, message_data(one)]
            for level, one in (*outline.cautions, *(figures.cautions if figures else ()))
        ],
    }


def snapshot_event(begun: BeginInput, actor: Actor) -> Event:
    """Return the event that says which inputs and which plan the job rests on from here."""
    plan_id = next((plan.plan_id for plan in begun.plans), "")
    inputs = {f.name: f.sha256 for f in begun.inputs}
    return _event(actor, 0, EventKind.SNAPSHOT, plan_id, {"inputs": inputs})


def _event(actor: Actor, copy: int, kind: EventKind, subject: str, detail: dict[str, object]) -> Event:
    return Event(0, actor.new_id(), copy, actor.at, actor.who, actor.device, kind, subject, detail)


def found_of(begun: BeginInput, copy: int) -> dict[str, PlaceState]:
    """Return the states found on one copy, by place."""
    found = {one.copy: one.states for one in begun.found}
    return {state.ref: state for state in found.get(copy, found.get(0, ()))}


def facets_data(state: PlaceState) -> dict[str, str]:
    """Return the six facets of a place as plain data."""
    _, place, joint, part, way, fastening, made_by, *_ = state_row(state)
    names = ("place", "joint", "part", "way_round", "fastening", "made_by")
    return dict(zip(names, (place, joint, part, way, fastening, made_by), strict=True))


def found_facets(begun: BeginInput, copy: int) -> dict[str, tuple[dict[str, str], str]]:
    """Return ref -> (facets, note) of all that was found on a copy; a part that is not polarised needs no way round."""
    polarised = {place.ref: place.polarised for place in begun.places}
    found = {}
    for ref, state in found_of(begun, copy).items():
        facets = facets_data(state)
        base = facets_data(base_state(ref, polarised.get(ref, "unknown")))
        if facets["way_round"] == "not_checked":
            facets["way_round"] = base["way_round"]
        if facets != base or state.note:
            found[ref] = (facets, state.note)
    return found


def found_events(states: Iterable[PlaceState], begun: BeginInput, copy: int, actor: Actor) -> list[Event]:
    """Return an event for each place that was found in another state than "nobody has looked"."""
    wanted = {state.ref for state in states}
    return [
        _event(actor, copy, EventKind.FOUND, ref, {"facets": facets, "note": note})
        for ref, (facets, note) in found_facets(begun, copy).items()
        if ref in wanted
    ]


def reading_events(begun: BeginInput, actor: Actor) -> list[Event]:
    """Return the readings of readings.csv as events; their id is that of the row's text, so a row counts once."""
    events = []
    for wanted, reading in begun.readings:
        for copy in (wanted,) if wanted else range(1, begun.copies + 1):
            detail = reading.as_data()
            point = point_key(reading.point)
            text = dumps([copy, point, detail])
            digest = hashlib.sha256(text.encode()).hexdigest()[:24]
            event = _event(actor, copy, EventKind.READING, point_meant(point, dict(begun.aliases)), detail)
            events.append(Event(0, f"row-{digest}", *_tail(event)))
    return events


def _tail(event: Event) -> tuple[Any, ...]:
    return (event.copy, event.at, event.who, event.device, event.kind, event.subject, event.detail)
