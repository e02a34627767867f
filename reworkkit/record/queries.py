"""What is read back from a job file: head, places, states, steps, operations, hold points, readings."""

import hashlib
import json
from collections.abc import Iterable
from typing import NamedTuple

from reworkkit.model.designator import natural_key
from reworkkit.model.job import PlaceState, SiteRecord, Substitution
from reworkkit.model.job_input import JobPlace
from reworkkit.model.job_view import JobInfo, OperationRow, Progress, Step
from reworkkit.model.judging import point_key
from reworkkit.model.measuring import Check, Reading
from reworkkit.model.vocabulary import Mode, ReadingForm, SiteDamage
from reworkkit.record.codec import check_of, dumps, message_of
from reworkkit.record.job_store import NOT_UNDONE, JobStore
from reworkkit.record.projection import STATE_COLUMNS_OF, state_of_row


def info(store: JobStore) -> JobInfo:
    """Return the head of the job."""
    columns = ", ".join(JobInfo._fields)
    return JobInfo(*store.connection.execute(f"SELECT {columns} FROM job").fetchone())


def copies(store: JobStore) -> dict[int, tuple[str, str]]:
    """Return copy -> (serial, plan id)."""
    rows = store.connection.execute("SELECT copy, serial, plan_id FROM copy ORDER BY copy")
    return {copy: (serial, plan) for copy, serial, plan in rows}


def places(store: JobStore, refs: Iterable[str] | None = None) -> dict[str, JobPlace]:
    """Return the places of the design in natural order, all or those of `refs`."""
    wanted = tuple(refs) if refs is not None else ()
    condition = f" WHERE ref IN ({_marks(wanted)})" if refs is not None else ""
    columns = ", ".join(JobPlace._fields)
    rows = store.connection.execute(f"SELECT {columns} FROM place{condition} ORDER BY rank", wanted)
    return {row[0]: JobPlace(*row) for row in rows}


def refs(store: JobStore) -> frozenset[str]:
    """Return the designators of the design."""
    return frozenset(ref for (ref,) in store.connection.execute("SELECT ref FROM place"))


def point_names(store: JobStore) -> frozenset[str]:
    """Return the names that a reading may use; empty where any name is taken."""
    return frozenset(name for (name,) in store.connection.execute("SELECT name FROM point"))


def point_aliases(store: JobStore) -> dict[str, str]:
    """Return name of a test point -> net or pin it stands for."""
    return dict(store.connection.execute("SELECT name, point FROM point_alias"))


def states(
    store: JobStore, copy: int, *, notable: bool = False, refs: Iterable[str] | None = None
) -> dict[str, PlaceState]:
    """Return the places of one copy with their steps: all, or those of `refs`.

    `notable` gives those that do not stand as they should, without their steps.
    """
    wanted = tuple(refs) if refs is not None else ()
    condition = f" AND {_NOTABLE}" if notable else ""
    if refs is not None:
        condition += f" AND place_state.ref IN ({_marks(wanted)})"
    rows = store.connection.execute(
        f"SELECT {STATE_COLUMNS_OF} FROM place_state LEFT JOIN place USING (ref) WHERE copy = ?{condition}"
        " ORDER BY place.rank",
        (copy, *wanted),
    ).fetchall()
    done = {} if notable else _steps_done(store, copy, wanted)
    return {row[0]: state_of_row(row, done.get(row[0], ())) for row in rows}


def _steps_done(store: JobStore, copy: int, refs: tuple[str, ...]) -> dict[str, list[str]]:
    of_these = f" AND subject IN ({_marks(refs)})" if refs else ""
    done: dict[str, list[str]] = {}
    for subject, kind in store.connection.execute(
        f"SELECT subject, kind FROM step_done WHERE copy = ?{of_these}", (copy, *refs)
    ):
        done.setdefault(subject, []).append(kind)
    return done


def _marks(values: Iterable[object]) -> str:
    return ",".join("?" for _ in values)


def fitted_refs(store: JobStore, copy: int) -> frozenset[str]:
    """Return the places where something is fitted now."""
    rows = store.connection.execute("SELECT ref FROM place_state WHERE copy = ? AND place = 'fitted'", (copy,))
    return frozenset(ref for (ref,) in rows)


_NOTABLE = """(place_state.place = 'not_inspected' OR joint IN ('tacked', 'leg_lifted')
    OR (place_state.place = 'fitted' AND joint = 'none') OR part <> 'good' OR way_round = 'reversed'
    OR fastening = 'finger_tight' OR (place_state.place = 'fitted' AND way_round = 'not_checked' AND polarised = 'yes')
    OR (place_state.place <> 'empty' AND place.fit = 'do_not_fit') OR place.ref IS NULL)"""


def unexpected_refs(store: JobStore, copy: int) -> frozenset[str]:
    """Return the places with a state that the design leaves empty or does not know."""
    rows = store.connection.execute(
        "SELECT place_state.ref FROM place_state LEFT JOIN place USING (ref)"
        " WHERE copy = ? AND (place.ref IS NULL OR place.fit = 'do_not_fit')",
        (copy,),
    )
    return frozenset(ref for (ref,) in rows)


def place_counts(store: JobStore, copy: int) -> dict[str, int]:
    """Return how many places to fit are fitted, empty and not inspected."""
    rows = store.connection.execute(
        "SELECT place_state.place, count(*) FROM place_state JOIN place USING (ref)"
        " WHERE copy = ? AND place.fit = 'fit' GROUP BY 1",
        (copy,),
    )
    return {"fitted": 0, "empty": 0, "not_inspected": 0, **dict(rows)}


def steps(store: JobStore, copy: int, subjects: Iterable[str] | None = None) -> tuple[Step, ...]:
    """Return the steps of the copy's plan in order, of these subjects or of all."""
    wanted = tuple(subjects) if subjects is not None else ()
    condition = f" AND step.subject IN ({','.join('?' * len(wanted))})" if subjects is not None else ""
    rows = store.connection.execute(
        f"""SELECT step.kind, step.subject, step.n, operation.grp, step_done.kind IS NOT NULL
        FROM copy JOIN step USING (plan_id) JOIN operation USING (plan_id, n)
        LEFT JOIN step_done ON step_done.copy = copy.copy AND step_done.subject = step.subject
            AND step_done.kind = step.kind
        WHERE copy.copy = ?{condition} ORDER BY step.n, step.position""",
        (copy, *wanted),
    )
    return tuple(Step(kind, subject, n, group, bool(done)) for kind, subject, n, group, done in rows)


def progress(store: JobStore, copy: int) -> tuple[Progress, ...]:
    """Return per group of the plan how many of its steps are done; hold points are not counted, they are derived."""
    rows = store.connection.execute(
        """SELECT operation.grp, sum(counted.done), sum(counted.total) FROM (
            SELECT plan_id, step.n, count(step_done.kind) AS done, count(*) AS total
            FROM copy JOIN step USING (plan_id)
            LEFT JOIN step_done ON step_done.copy = copy.copy AND step_done.subject = step.subject
                AND step_done.kind = step.kind
            WHERE copy.copy = ? AND step.kind <> 'hold_point' GROUP BY step.n
        ) AS counted JOIN operation USING (plan_id, n) GROUP BY operation.grp ORDER BY min(operation.n)""",
        (copy,),
    )
    return tuple(Progress(*row) for row in rows)


class OpenOperation(NamedTuple):
    """An operation with open steps, in short."""

    n: int
    kind: str
    duration_s: float | None
    subjects: tuple[str, ...]


_OPEN_STEPS = """FROM copy JOIN step USING (plan_id)
    LEFT JOIN step_done
        ON step_done.copy = copy.copy AND step_done.subject = step.subject AND step_done.kind = step.kind
    WHERE copy.copy = ? AND step_done.kind IS NULL"""


def open_operations(store: JobStore, copy: int, limit: int = -1) -> tuple[OpenOperation, ...]:
    """Return the operations with open steps, in order; hold points are always among them, they are never ticked."""
    numbers = store.connection.execute(
        f"SELECT step.n, step.kind, group_concat(step.subject, char(10)) {_OPEN_STEPS}"
        " GROUP BY step.n ORDER BY step.n LIMIT ?",
        (copy, limit),
    ).fetchall()
    times = dict(
        store.connection.execute(
            "SELECT n, duration_s FROM copy JOIN operation USING (plan_id) WHERE copy.copy = ? AND n <= ?",
            (copy, numbers[-1][0] if numbers else 0),
        )
    )
    return tuple(OpenOperation(n, kind, times.get(n), tuple(subjects.split("\n"))) for n, kind, subjects in numbers)


def count_open_operations(store: JobStore, copy: int) -> int:
    """Return how many operations have open steps."""
    return int(store.connection.execute(f"SELECT count(DISTINCT step.n) {_OPEN_STEPS}", (copy,)).fetchone()[0])


def operation(store: JobStore, copy: int, short: OpenOperation) -> OperationRow:
    """Return all that is stored of one operation of the copy's plan."""
    number, kind, group, hold, title, setup, why, alerts, after, duration_s = store.connection.execute(
        """SELECT n, operation.kind, grp, hold_point, title, setup, why, alerts, after, duration_s
        FROM copy JOIN operation USING (plan_id) WHERE copy.copy = ? AND n = ?""",
        (copy, short.n),
    ).fetchone()
    return OperationRow(
        number,
        kind,
        message_of(json.loads(title)),
        group,
        hold,
        json.loads(setup),
        tuple(message_of(one) for one in json.loads(why)),
        tuple((level, message_of(one)) for level, one in json.loads(alerts)),
        tuple(json.loads(after)),
        duration_s,
        short.subjects,
    )


def hold_data(store: JobStore) -> tuple[dict[str, object], ...]:
    """Return the hold points as stored: name, supply, feed, needs, protects, measure, confirm, fitted."""
    rows = store.connection.execute("SELECT data FROM hold_outline ORDER BY rank").fetchall()
    return tuple(json.loads(data) for (data,) in rows)


def checks(store: JobStore, *, purpose: str | None = None) -> tuple[tuple[str, Check], ...]:
    """Return (hold point it belongs to or empty, check) of every stored check, or of one purpose."""
    rows = store.connection.execute(
        "SELECT hold_point, data FROM expected WHERE ? IS NULL OR purpose = ? ORDER BY id", (purpose, purpose)
    )
    return tuple((hold, check_of(json.loads(data))) for hold, data in rows)


def checks_without_power(store: JobStore, points: Iterable[str]) -> tuple[Check, ...]:
    """Return the stored checks at these points that belong to no hold point: bare places and the power stage."""
    wanted = {point_key(point) for point in points}
    if not wanted:
        return ()
    rows = store.connection.execute(
        "SELECT point, data FROM expected WHERE hold_point = '' AND purpose IN ('bare_place', 'power_stage')"
        " ORDER BY id"
    )
    return tuple(check_of(json.loads(data)) for point, data in rows if point_key(point) in wanted)


def supply_points(store: JobStore, subject: str) -> tuple[str, ...]:
    """Return the points to be zero after a discharge: the supply of that hold point, else of all of them."""
    outlines = hold_data(store)
    chosen = [one for one in outlines if one["name"] == subject] or outlines
    return tuple(dict.fromkeys(point_key(str(one["supply"])) for one in chosen if one["supply"]))


def stated_since_plan(store: JobStore, copy: int) -> tuple[str, ...]:
    """Return the places of which something was said after the plan was made that makes work it does not hold."""
    (made,) = store.connection.execute("SELECT coalesce(max(seq), 0) FROM event WHERE kind = 'snapshot'").fetchone()
    stated = store.connection.execute(
        """SELECT ref FROM place_state JOIN event ON event.id = since AND kind = 'state'
        WHERE place_state.copy = ? AND changed > ?
        AND (place = 'empty' OR part IN ('damaged', 'wrong_part') OR way_round = 'reversed')""",
        (copy, made),
    )
    swapped = store.connection.execute(
        f"""SELECT subject FROM event WHERE kind = 'substitute' AND copy = ? AND seq > ?
        AND json_extract(detail, '$.accepted') AND {NOT_UNDONE}""",
        (copy, made),
    )
    return tuple(sorted({ref for (ref,) in (*stated, *swapped)}, key=natural_key))


def readings_now(store: JobStore, copy: int) -> tuple[Reading, ...]:
    """Return the newest reading of each point, mode, stage and direction of the leads."""
    rows = store.connection.execute(
        """SELECT point, mode, form, value, unit, swapped, hold_point, text, seq FROM reading_now
        WHERE copy = ? ORDER BY point, mode, hold_point, swapped""",
        (copy,),
    )
    return tuple(
        Reading(point, Mode(mode), ReadingForm(form), value, unit, bool(swapped), hold or None, text, seq)
        for point, mode, form, value, unit, swapped, hold, text, seq in rows
    )


def all_readings(store: JobStore, copy: int) -> tuple[Reading, ...]:
    """Return every reading of one copy that was not taken back, in order of arrival."""
    return tuple(reading_of(event.subject, event.detail, event.seq) for event in store.standing_events("reading", copy))


def reading_of(point: str, detail: dict[str, object], seq: int | None) -> Reading:
    """Return the reading that the detail of an event holds."""
    value, hold = detail.get("value"), detail.get("hold_point")
    return Reading(
        point,
        Mode(str(detail["mode"])),
        ReadingForm(str(detail["form"])),
        float(value) if isinstance(value, int | float) else None,
        str(detail["unit"]),
        bool(detail.get("leads_swapped")),
        str(hold) if hold else None,
        str(detail["text"]),
        seq,
    )


def substitutions(store: JobStore, copy: int) -> tuple[Substitution, ...]:
    """Return the newest decision on a substitute for each place."""
    newest = {event.subject: event for event in store.standing_events("substitute", copy)}
    return tuple(
        Substitution(
            event.subject,
            str(event.detail["candidate"]),
            str(event.detail.get("reason", "")),
            str(event.detail.get("verdict", "not_judged")),
            bool(event.detail.get("accepted")),
            (),
            event.id,
        )
        for event in newest.values()
    )


def confirmed(store: JobStore, copy: int) -> dict[str, int]:
    """Return hold point -> number of the event that last confirmed its cautions, as they stand now.

    A confirmation of other cautions (of another voltage, say) is none.
    """
    marks = {str(one["name"]): cautions_mark(one.get("cautions")) for one in hold_data(store)}
    events = store.standing_events("confirm", copy)
    return {e.subject: e.seq for e in events if e.detail.get("mark") in (None, marks.get(e.subject))}


def cautions_mark(cautions: object) -> str:
    """Return what tells one set of cautions, figures included, from another."""
    return hashlib.sha256(dumps(cautions or []).encode()).hexdigest()[:16]


def sites(store: JobStore, copy: int) -> tuple[SiteRecord, ...]:
    """Return damage to, and repair of, the board itself."""
    return tuple(
        SiteRecord(e.subject, SiteDamage(str(e.detail["kind"])), str(e.detail.get("text", "")), e.id)
        for e in store.standing_events("site", copy)
    )


def disagreements(store: JobStore, copy: int) -> tuple[tuple[str, str, str, str, str], ...]:
    """Return (subject, what, here, there, stands) of everything two devices say differently."""
    rows = store.connection.execute(
        "SELECT subject, what, here, there, stands FROM disagreement WHERE copy = ? ORDER BY seq", (copy,)
    )
    return tuple(rows.fetchall())


def without_reading(store: JobStore, copy: int) -> tuple[tuple[str, str, str, int], ...]:
    """Return (kind, subject, points, event) of the steps done without a reading that should have come first."""
    rows = store.connection.execute(
        "SELECT kind, subject, without_reading, seq FROM step_done"
        " WHERE copy = ? AND without_reading <> '' ORDER BY seq",
        (copy,),
    )
    return tuple(rows.fetchall())
