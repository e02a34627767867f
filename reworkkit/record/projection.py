"""From events to how things stand: one fold, used for each new event and to rebuild everything."""

import json
import sqlite3
from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import NamedTuple

from reworkkit.model.job import Event, PlaceState
from reworkkit.model.states import with_facet
from reworkkit.model.steps import EFFECTS, KEPT_STEPS
from reworkkit.model.vocabulary import (
    EventKind,
    Fastening,
    JointState,
    MadeBy,
    PartState,
    Place,
    WayRound,
)

ReadingKey = tuple[str, str, bool]
"""Mode, hold point (empty = unpowered), leads swapped."""


class StepDone(NamedTuple):
    """A step that is done: by which event, and the points that were not read first."""

    event: str
    seq: int
    without_reading: str


class Standing:
    """How one subject of one copy stands: its place, its steps, its readings, its disagreements."""

    def __init__(self, state: PlaceState | None) -> None:
        self.state = state
        self.steps: dict[str, StepDone] = {}
        self.readings: dict[ReadingKey, tuple[str, float | None, str, str, int]] = {}
        self.disagreements: dict[str, tuple[str, str, str, int]] = {}

    def add(self, event: Event, undone: bool = False) -> None:
        """Take in one event of this subject; an event that was taken back only settles what it was about."""
        self._settle(event)
        if undone:
            return
        self._reopen(event)
        if event.kind is EventKind.DONE:
            without = str(event.detail.get("without_reading", ""))
            self.steps[str(event.detail["kind"])] = StepDone(event.id, event.seq, without)
        elif event.kind is EventKind.READING:
            self._read(event)
        elif isinstance(dispute := event.detail.get("disagreement"), dict):
            said = (str(dispute["here"]), str(dispute["there"]), str(dispute["stands"]), event.seq)
            self.disagreements[str(dispute["what"])] = said
        if self.state is None and event.kind in (EventKind.FOUND, EventKind.STATE):
            # A place that the list does not name: something is there, and that must show.
            self.state = base_state(event.subject, "unknown")
        if self.state is not None:
            self.state = place_after(self.state, event)

    def _reopen(self, event: Event) -> None:
        if self.state is None or not _starts_again(event):
            return
        kept = KEPT_STEPS | ({"desolder"} if event.kind is EventKind.DONE else set())
        self.steps = {kind: done for kind, done in self.steps.items() if kind in kept}
        self.state = replace(self.state, steps_done=self.state.steps_done & kept)

    def _settle(self, event: Event) -> None:
        if event.kind is EventKind.DONE:
            self.disagreements.pop(f"done:{event.detail['kind']}", None)
        elif event.kind is EventKind.STATE:
            self.disagreements.pop(str(event.detail["facet"]), None)

    def _read(self, event: Event) -> None:
        detail = event.detail
        key = (str(detail["mode"]), str(detail.get("hold_point") or ""), bool(detail.get("leads_swapped")))
        value = detail.get("value")
        number = float(value) if isinstance(value, int | float) else None
        self.readings[key] = (str(detail["form"]), number, str(detail["unit"]), str(detail["text"]), event.seq)


def _starts_again(event: Event) -> bool:
    """Return whether the part of a place came off or is no good, so that what was done to it must be done again."""
    if event.kind is EventKind.DONE:
        return event.detail["kind"] == "desolder"
    if event.kind is not EventKind.STATE:
        return False
    said = (event.detail["facet"], event.detail["value"])
    return said in (("place", "empty"), ("part", "damaged"), ("part", "wrong_part"), ("way_round", "reversed"))


def base_state(ref: str, polarised: str) -> PlaceState:
    """Return a place of which nothing is known yet.

    >>> base_state("R1", "no").way_round
    <WayRound.NOT_NEEDED: 'not_needed'>
    """
    return PlaceState(ref, way_round=WayRound.NOT_NEEDED if polarised == "no" else WayRound.NOT_CHECKED)


def place_after(state: PlaceState, event: Event) -> PlaceState:
    """Return how a place stands after one event about it."""
    after = _facets_after(state, event)
    return after if event.kind is EventKind.FOUND else _another_part(state, after)


def _another_part(before: PlaceState, after: PlaceState) -> PlaceState:
    """What was known of a part goes with it: an empty place has no way round, a filled one no part taken off."""
    if before.place is not Place.EMPTY and after.place is Place.EMPTY:
        way = after.way_round if after.way_round is WayRound.NOT_NEEDED else WayRound.NOT_CHECKED
        return replace(after, way_round=way, fastening=Fastening.NONE)
    gone = after.part in (PartState.REMOVED_ON_PURPOSE, PartState.TEMPORARY_LINK)
    return replace(after, part=PartState.GOOD) if gone and after.place is Place.FITTED else after


def _facets_after(state: PlaceState, event: Event) -> PlaceState:
    if event.kind is EventKind.FOUND:
        return _found(state, event)
    if event.kind is EventKind.NOTE:
        text = str(event.detail.get("text", ""))
        return replace(state, note=text) if text else state
    if event.kind is EventKind.DONE:
        return _after_step(state, event)
    if event.kind is EventKind.STATE:
        return _after_word(state, event)
    if event.kind is EventKind.PROOF:
        return _after_proof(state, event)
    if event.kind is EventKind.SUBSTITUTE and event.detail.get("accepted"):
        return replace(state, changed=event.seq)
    return state


def _found(state: PlaceState, event: Event) -> PlaceState:
    if state.changed is not None:
        return state
    facets = event.detail.get("facets")
    for facet, value in facets.items() if isinstance(facets, dict) else ():
        state = with_facet(state, facet, value)
    return replace(state, note=str(event.detail.get("note", "")), since=event.id)


def _after_step(state: PlaceState, event: Event) -> PlaceState:
    kind = str(event.detail["kind"])
    effects = EFFECTS.get(kind, {})
    for facet, value in effects.items():
        state = with_facet(state, facet, value)
    if kind == "desolder" and state.part is not PartState.REMOVED_ON_PURPOSE:
        state = replace(state, part=PartState.GOOD)
    if kind == "fit" and event.detail.get("joint") == "soldered":
        state = replace(state, joint=JointState.SOLDERED)
    if kind in ("desolder", "fit") and state.way_round is not WayRound.NOT_NEEDED:
        state = replace(state, way_round=WayRound.NOT_CHECKED)
    done = state.steps_done | {kind}
    return replace(state, steps_done=done, **_stamp(state, event, bool(effects)))  # type: ignore[arg-type]


def _stamp(state: PlaceState, event: Event, changed: bool) -> dict[str, object]:
    return {"since": event.id, "changed": event.seq} if changed else {}


def _after_word(state: PlaceState, event: Event) -> PlaceState:
    facet, reason = str(event.detail["facet"]), str(event.detail.get("reason") or "")
    state = with_facet(state, facet, str(event.detail["value"]))
    note = reason or ("" if facet == "part" else state.note)
    return replace(state, note=note, since=event.id, changed=event.seq)


def _after_proof(state: PlaceState, event: Event) -> PlaceState:
    by, verdict = event.detail.get("by"), event.detail.get("verdict")
    if by == "reading":
        way = {"inside": WayRound.MEASURED, "outside": WayRound.NOT_CHECKED}.get(str(verdict))
    else:
        way = WayRound.SEEN
    if way is None or (way is WayRound.SEEN and state.way_round is WayRound.MEASURED):
        return state
    return replace(state, way_round=way, since=event.id)


STATE_COLUMNS = "ref, place, joint, part, way_round, fastening, made_by, note, since, changed"

STATE_COLUMNS_OF = ", ".join(f"place_state.{column}" for column in STATE_COLUMNS.split(", "))
"""The same for a query over several tables."""

StateRow = tuple[str, str, str, str, str, str, str, str, str | None, int | None]


def state_of_row(row: StateRow, steps: Iterable[str] = ()) -> PlaceState:
    """Return the place that a row of `place_state` (columns STATE_COLUMNS) holds, with the steps done there."""
    ref, place, joint, part, way, fastening, made_by, note, since, changed = row
    return PlaceState(
        ref,
        Place(place),
        JointState(joint),
        PartState(part),
        WayRound(way),
        Fastening(fastening),
        MadeBy(made_by),
        frozenset(steps),
        note,
        since,
        changed,
    )


def load(connection: sqlite3.Connection, copy: int, subject: str) -> Standing:
    """Return how a subject stands according to the derived tables."""
    row = connection.execute(
        f"SELECT {STATE_COLUMNS} FROM place_state WHERE copy = ? AND ref = ?", (copy, subject)
    ).fetchone()
    steps = connection.execute(
        "SELECT kind, event, seq, without_reading FROM step_done WHERE copy = ? AND subject = ?", (copy, subject)
    ).fetchall()
    standing = Standing(state_of_row(row, [kind for kind, *_ in steps]) if row else None)
    standing.steps = {kind: StepDone(*rest) for kind, *rest in steps}
    for mode, hold, swapped, *rest in connection.execute(
        "SELECT mode, hold_point, swapped, form, value, unit, text, seq FROM reading_now WHERE copy = ? AND point = ?",
        (copy, subject),
    ):
        standing.readings[mode, hold, bool(swapped)] = (rest[0], rest[1], rest[2], rest[3], rest[4])
    for what, here, there, stands, seq in connection.execute(
        "SELECT what, here, there, stands, seq FROM disagreement WHERE copy = ? AND subject = ?", (copy, subject)
    ):
        standing.disagreements[what] = (here, there, stands, seq)
    return standing


def save(connection: sqlite3.Connection, copy: int, subject: str, standing: Standing) -> None:
    """Write how a subject stands into the derived tables."""
    key = (copy, subject)
    for table, column in (("step_done", "subject"), ("reading_now", "point"), ("disagreement", "subject")):
        connection.execute(f"DELETE FROM {table} WHERE copy = ? AND {column} = ?", key)
    connection.executemany(
        "INSERT INTO step_done VALUES (?, ?, ?, ?, ?, ?)",
        [(*key, kind, *done) for kind, done in standing.steps.items()],
    )
    connection.executemany(
        "INSERT INTO reading_now VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        [(*key, mode, hold, int(swapped), *rest) for (mode, hold, swapped), rest in standing.readings.items()],
    )
    connection.executemany(
        "INSERT INTO disagreement VALUES (?, ?, ?, ?, ?, ?, ?)",
        [(*key, what, *rest) for what, rest in standing.disagreements.items()],
    )
    if standing.state is None:
        connection.execute("DELETE FROM place_state WHERE copy = ? AND ref = ?", key)
    else:
        connection.execute(
            "INSERT OR REPLACE INTO place_state VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            (copy, *state_row(standing.state)),
        )


def state_row(state: PlaceState) -> StateRow:
    """Return the columns of `place_state` (STATE_COLUMNS) for one place."""
    facets = (state.place, state.joint, state.part, state.way_round, state.fastening, state.made_by)
    place, joint, part, way, fastening, made_by = (facet.value for facet in facets)
    return (state.ref, place, joint, part, way, fastening, made_by, state.note, state.since, state.changed)


EVENT_COLUMNS = "seq, id, copy, at, who, device, kind, subject, detail, undoes"


def event_of_row(row: tuple[int, str, int, str, str, str, str, str, str, str | None]) -> Event:
    """Return the event that a row (columns EVENT_COLUMNS) holds."""
    seq, event_id, copy, at, who, device, kind, subject, detail, undoes = row
    return Event(seq, event_id, copy, at, who, device, EventKind(kind), subject, json.loads(detail), undoes)


def take_in(connection: sqlite3.Connection, event: Event) -> None:
    """Bring the derived tables up to date with one event that has just been added to the log."""
    if event.kind is EventKind.UNDO:
        target = connection.execute("SELECT copy, subject FROM event WHERE id = ?", (event.undoes,)).fetchone()
        if target:
            refold(connection, *target)
        return
    undone = connection.execute("SELECT 1 FROM event WHERE undoes = ?", (event.id,)).fetchone()
    standing = load(connection, event.copy, event.subject)
    standing.add(event, bool(undone))
    save(connection, event.copy, event.subject, standing)


def refold(connection: sqlite3.Connection, copy: int, subject: str) -> None:
    """Fold one subject anew from all its events."""
    save(connection, copy, subject, folded(connection, copy, subject))


def folded(connection: sqlite3.Connection, copy: int, subject: str) -> Standing:
    """Return how a subject stands according to the log alone."""
    row = connection.execute("SELECT polarised FROM place WHERE ref = ?", (subject,)).fetchone()
    standing = Standing(base_state(subject, row[0]) if row else None)
    rows = connection.execute(
        f"""SELECT {EVENT_COLUMNS}, EXISTS (SELECT 1 FROM event AS u WHERE u.undoes = event.id)
        FROM event WHERE copy = ? AND subject = ? AND kind <> 'undo' ORDER BY seq""",
        (copy, subject),
    ).fetchall()
    for *columns, undone in rows:
        standing.add(event_of_row(tuple(columns)), bool(undone))
    return standing


def rebuild(connection: sqlite3.Connection) -> None:
    """Throw the derived tables away and make them again from the log."""
    for table in ("place_state", "step_done", "reading_now", "disagreement"):
        connection.execute(f"DELETE FROM {table}")
    pairs = connection.execute(
        "SELECT copy.copy, place.ref FROM copy, place UNION SELECT copy, subject FROM event"
    ).fetchall()
    for copy, subject in pairs:
        refold(connection, copy, subject)


def planning_states(
    connection: sqlite3.Connection, copy: int, found: Mapping[str, PlaceState]
) -> dict[str, PlaceState]:
    """Return the places as found, with what was stated about them since, but without the effect of any tick.

    A plan made from these states holds every step that is already done, so that its tick still applies.
    """
    states = dict(found)
    rows = connection.execute(
        f"""SELECT {EVENT_COLUMNS} FROM event WHERE copy = ? AND kind = 'state'
        AND NOT EXISTS (SELECT 1 FROM event AS u WHERE u.undoes = event.id) ORDER BY seq""",
        (copy,),
    ).fetchall()
    for event in map(event_of_row, rows):
        states[event.subject] = place_after(states.get(event.subject, PlaceState(event.subject)), event)
    return states
