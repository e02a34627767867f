"""What the job answers: who acts, what was ticked, how far each copy is, what is open, what a merge did."""

from collections.abc import Callable
from typing import NamedTuple

from reworkkit.model.job import Event, PlaceState, SiteRecord, Situation
from reworkkit.model.measuring import Judgement, Reading
from reworkkit.model.messages import Finding, Message


class Actor(NamedTuple):
    """Who does something, on which device, when (UTC, ISO text), and where new unique ids come from."""

    who: str
    device: str
    at: str
    new_id: Callable[[], str]


class JobInfo(NamedTuple):
    """The head of a job."""

    job_id: str
    board_id: str
    board_name: str
    revision: str
    parts_file: str
    copies: int
    started_at: str
    started_by: str
    alloy_found: str
    alloy_used: str


class Step(NamedTuple):
    """One step of the plan: its stable key (kind, subject), its operation and whether it is done."""

    kind: str
    subject: str
    n: int
    group: str
    done: bool


class OperationRow(NamedTuple):
    """One operation of the plan as stored."""

    n: int
    kind: str
    title: Message
    group: str
    hold_point: str | None
    setup: dict[str, object]
    why: tuple[Message, ...]
    alerts: tuple[tuple[str, Message], ...]
    after: tuple[int, ...]
    duration_s: float | None
    open_subjects: tuple[str, ...]


class HoldState(NamedTuple):
    """A hold point: `open`, `closed` or `not_judged`, why, and the points whose reading is missing or outside."""

    name: str
    state: str
    why: tuple[Message, ...]
    unread: tuple[str, ...] = ()
    outside: tuple[str, ...] = ()
    notices: tuple[Message, ...] = ()
    confirmed: bool = False

    @property
    def passed(self) -> bool:
        """Return whether the work may go on: open, or not to be judged and confirmed by the person."""
        return self.state == "open" or (self.state == "not_judged" and self.confirmed)


class Ticked(NamedTuple):
    """What `tick` recorded for one subject, and the kinds of step that remain for it."""

    subject: str
    kinds: tuple[str, ...]
    remain: tuple[str, ...]
    state: PlaceState | None


class Done(NamedTuple):
    """What a command recorded: the events, what is to be said about them, and for ticks what remains."""

    copy: int
    events: tuple[Event, ...]
    notices: tuple[Message, ...] = ()
    ticked: tuple[Ticked, ...] = ()
    judgements: tuple[Judgement, ...] = ()


class Progress(NamedTuple):
    """How many steps of one group of the plan are done."""

    group: str
    done: int
    total: int


class CopyStatus(NamedTuple):
    """How one physical board stands: open items first, then progress, hold points and what comes next."""

    copy: int
    serial: str
    open_items: tuple[Finding, ...]
    progress: tuple[Progress, ...]
    holds: tuple[HoldState, ...]
    next_operation: OperationRow | None
    pause: Event | None
    readings: tuple[Reading, ...]
    counts: dict[str, int]
    plan_lacks: tuple[str, ...] = ()
    """Places of which something was said after the plan was made that makes work it does not hold."""


class Status(NamedTuple):
    """The answer of `status`; `shared` lists faults that several copies have in common."""

    info: JobInfo
    at_event: int
    copies: tuple[CopyStatus, ...]
    shared: tuple[Finding, ...] = ()


class NextSteps(NamedTuple):
    """The answer of `next` for one copy: the operations that fit into the time, and the pause before."""

    copy: int
    operations: tuple[OperationRow, ...]
    asked_s: float | None
    holds: tuple[HoldState, ...]
    left: int
    pause: Event | None
    plan_lacks: tuple[str, ...] = ()
    """As in `CopyStatus`."""


class Merged(NamedTuple):
    """What a merge did: new events, how many were known, and what two devices disagree on."""

    new: int
    known: int
    device: str
    other_plan: bool
    disagreements: tuple[Finding, ...]


class Refreshed(NamedTuple):
    """The difference between the stored inputs and the files as they are, and whether it was recorded."""

    accepted: bool
    files: tuple[Message, ...]
    places: tuple[Message, ...]
    found: tuple[Message, ...]
    steps_new: tuple[tuple[str, str], ...]
    steps_gone: tuple[tuple[str, str], ...]
    ticks_kept: int
    ticks_lost: tuple[tuple[int, str, str], ...]
    new_readings: int

    @property
    def changed(self) -> bool:
        """Return whether anything differs from what the job has stored."""
        return bool(self.files or self.places or self.found or self.steps_new or self.steps_gone or self.new_readings)


class PhotoRecord(NamedTuple):
    """A photograph named in the record: of what, file name, SHA-256 of its bytes, when and by whom."""

    subject: str
    name: str
    sha256: str
    at: str
    who: str


class PlaceRecord(NamedTuple):
    """One place of the finished board: the design, what is really there, who did it and how it was proven."""

    ref: str
    value: str
    package: str
    part_number: str
    fit: str
    state: PlaceState
    substitute: str
    reason: str
    by: tuple[str, ...]
    proof: str


class FinishedRecord(NamedTuple):
    """The record that goes with one finished board."""

    info: JobInfo
    serial: str
    situation: Situation
    places: tuple[PlaceRecord, ...]
    readings: tuple[tuple[Event, Reading], ...]
    photos: tuple[PhotoRecord, ...]
    sites: tuple[SiteRecord, ...]
    without_reading: tuple[Event, ...]
    open_items: tuple[Finding, ...]
    inputs: tuple[tuple[str, str, str], ...]
