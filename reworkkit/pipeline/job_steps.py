"""Which steps a tick is about, and what must be so before it: hold points, discharging, places of the plan."""

from collections.abc import Iterable, Mapping
from typing import NamedTuple

from reworkkit.compute.hold_state import reading_for
from reworkkit.errors import ProblemsError, ReworkkitError
from reworkkit.model.designator_list import in_short
from reworkkit.model.job_view import HoldState, Step, Ticked
from reworkkit.model.judging import is_zero, judge, point_key
from reworkkit.model.messages import Message, message
from reworkkit.model.steps import POWERED_KINDS, expand_refs
from reworkkit.model.vocabulary import Mode, OperationKind, Place, ReadingVerdict
from reworkkit.pipeline.recall import open_rows
from reworkkit.pipeline.unknown_places import not_on_board
from reworkkit.record import queries
from reworkkit.record.job_store import JobStore


class Wanted(NamedTuple):
    """How a tick was asked for: a kind of step, all steps, or something unusual."""

    step: str | None
    all_steps: bool
    anyway: bool


class Choice(NamedTuple):
    """One step to record as done."""

    subject: str
    kind: str
    detail: dict[str, object]


def choices_of(
    store: JobStore, copy: int, holds: tuple[HoldState, ...], wanted: Wanted, written: Iterable[str]
) -> tuple[list[Choice], list[str]]:
    """Return the steps to record for the subjects as written, and the subjects with nothing left to do among others.

    Problems are collected, nothing is half done; that a place is done already is no problem while others are not.
    """
    kind = step_kind(wanted.step)
    subjects = _subjects(store, copy, written)
    steps: dict[str, list[Step]] = {subject: [] for subject in subjects}
    for step in queries.steps(store, copy, subjects):
        steps[step.subject].append(step)
    gates = Gates(store, copy, holds)
    found: list[Choice] = []
    problems: list[ReworkkitError] = []
    for subject, of_subject in steps.items():
        try:
            found += [_choice(gates, step, wanted) for step in _picked(subject, of_subject, kind, wanted)]
        except ReworkkitError as problem:
            problems.append(problem)
    done = [problem for problem in problems if problem.message.slug == "nothing-left"] if found else []
    if len(problems) > len(done):
        raise problems[0] if len(problems) == 1 else ProblemsError(tuple(problems))
    return found, [str(dict(problem.message.facts)["ref"]) for problem in done]


def tick_notices(
    choices: Iterable[Choice], done: Iterable[str], ticked: Iterable[Ticked], unproven: Iterable[str]
) -> tuple[Message, ...]:
    """Return what is to be said of a tick: readings that should have come first, places done before, places unsaid.

    `unproven` are the bare places that were ticked as proven and have no reading that proves them.
    """
    told = [
        message(
            "done-without-reading",
            kind=choice.kind.replace("_", " "),
            ref=choice.subject,
            points=str(choice.detail["without_reading"]),
            point=str(choice.detail["without_reading"]).partition(",")[0],
        )
        for choice in choices
        if choice.detail.get("without_reading")
    ]
    if lacking := in_short(unproven):
        told.append(message("place-not-proven", refs=lacking))
    if before := in_short(done):
        told.append(message("tick-done-before", refs=before))
    inspected = [one for one in ticked if "inspect" in one.kinds and one.state is not None]
    if unsaid := [one.subject for one in inspected if one.state and one.state.place is Place.NOT_INSPECTED]:
        told.append(message("inspected-say", ref=" ".join(unsaid)))
    return tuple(told)


def unproven_places(store: JobStore, copy: int, refs: Iterable[str]) -> tuple[str, ...]:
    """Return the bare places among `refs` of which not every expected probe has been read inside its band."""
    wanted = set(refs)
    checks = [check for _, check in queries.checks(store, purpose="bare_place") if wanted.intersection(check.refs)]
    readings = queries.readings_now(store, copy)
    states = queries.states(store, copy, refs=wanted)
    lacking: dict[str, None] = {}
    for check in (one for one in checks if one.why.slug != "polarity-beep"):
        newer_than = max((states[ref].changed or 0 for ref in check.refs if ref in states), default=0)
        taken = reading_for(check, readings, newer_than)
        if taken is None or judge(check, taken).verdict is not ReadingVerdict.INSIDE:
            lacking |= dict.fromkeys(ref for ref in check.refs if ref in wanted)
    return tuple(lacking)


def check_point(store: JobStore, where: str, anyway: bool) -> None:
    """Refuse a point that no file names; without a netlist any name is taken."""
    names = {point_key(name) for name in queries.point_names(store)}
    if not names or anyway or where == "supply":
        return
    places = queries.refs(store)
    with_pins = {name.rpartition(".")[0] for name in names}
    for end in where.split(" to "):
        ref = end.rpartition(".")[0]
        if end not in names and end not in places and (ref not in places or ref in with_pins):
            import difflib

            near = difflib.get_close_matches(end, [*sorted(names), *places], 3, 0.6)
            if near:
                raise ReworkkitError("unknown-point-near", point=end, near=", ".join(near))
            raise ReworkkitError("unknown-point", point=end)


def step_kind(written: str | None) -> str | None:
    """Return the kind of step as the plan has it; raises ReworkkitError naming the kinds there are."""
    if written is None:
        return None
    kind = written.strip().lower().replace("-", "_").replace(" ", "_")
    kinds = [one.value for one in OperationKind if one is not OperationKind.HOLD_POINT]
    if kind == OperationKind.HOLD_POINT:
        raise ReworkkitError("hold-point-derived", name="")
    if kind not in kinds:
        raise ReworkkitError("unknown-step", step=written, known=", ".join(kinds))
    return kind


def _subjects(store: JobStore, copy: int, written: Iterable[str]) -> list[str]:
    rows = store.connection.execute(
        "SELECT DISTINCT subject FROM copy JOIN step USING (plan_id) WHERE copy = ?", (copy,)
    ).fetchall()
    planned = {subject.casefold(): subject for (subject,) in rows}
    places = queries.refs(store)
    found: list[str] = []
    for name in written:
        if (exact := planned.get(" ".join(name.split()).casefold())) and exact not in places:
            found.append(exact)
            continue
        known, unknown = expand_refs([name], places)
        if unknown:
            raise not_on_board(unknown)
        found += known
    if not found:
        raise ReworkkitError("no-refs-given")
    return list(dict.fromkeys(found))


def _picked(subject: str, steps: list[Step], kind: str | None, wanted: Wanted) -> list[Step]:
    """Return the steps of one subject that the tick is about."""
    if all(step.kind == "hold_point" for step in steps) and steps:
        raise ReworkkitError("hold-point-derived", name=subject)
    steps = [step for step in steps if step.kind != "hold_point"]
    if kind is not None:
        return [_named(subject, steps, kind, wanted.anyway)]
    if not steps:
        raise ReworkkitError("no-step-planned", ref=subject)
    left = [step for step in steps if not step.done]
    if not left:
        raise ReworkkitError("nothing-left", ref=subject, done=_kinds(steps))
    unique = {step.kind: step for step in reversed(left)}
    return list(reversed(unique.values())) if wanted.all_steps else left[:1]


def _named(subject: str, steps: list[Step], kind: str, anyway: bool) -> Step:
    of_kind = [step for step in steps if step.kind == kind]
    left = [step for step in of_kind if not step.done]
    if left:
        return left[0]
    if not anyway:
        slug = "step-done-already" if of_kind else "step-not-planned"
        raise ReworkkitError(slug, ref=subject, step=kind.replace("_", " "), planned=_kinds(steps) or "none")
    return of_kind[0] if of_kind else Step(kind, subject, 0, "", False)


def _kinds(steps: Iterable[Step]) -> str:
    return ", ".join(dict.fromkeys(step.kind.replace("_", " ") for step in steps))


def next_choices(store: JobStore, copy: int, holds: tuple[HoldState, ...], wanted: Wanted) -> list[Choice]:
    """Return the next step of the plan, or all of the next operation; a hold point in the way is said."""
    rows = open_rows(store, copy, holds, 1)
    if not rows:
        raise ReworkkitError("all-done")
    row = rows[0]
    if row.kind == "hold_point":
        name = row.subjects[0]
        hold = next((one for one in holds if one.name == name), None)
        raise ReworkkitError("next-is-hold-point", name=name, points=", ".join(hold.unread if hold else ()) or "-")
    gates = Gates(store, copy, holds)
    subjects = row.subjects if wanted.all_steps else row.subjects[:1]
    found = [_choice(gates, Step(row.kind, subject, row.n, "", False), wanted) for subject in subjects]
    for choice in found:
        if choice.detail.get("without_reading"):
            raise ReworkkitError(
                "next-needs-reading",
                kind=choice.kind.replace("_", " "),
                step=choice.kind,
                ref=choice.subject,
                points=str(choice.detail["without_reading"]),
                point=str(choice.detail["without_reading"]).partition(",")[0],
            )
    return found


def _choice(gates: "Gates", step: Step, wanted: Wanted) -> Choice:
    detail: dict[str, object] = {"kind": step.kind}
    if unread := gates.missing(step):
        detail["without_reading"] = ", ".join(unread)
    elif (closed := gates.closed_before(step)) and not wanted.anyway:
        raise ReworkkitError("behind-hold-point", ref=step.subject, step=step.kind.replace("_", " "), name=closed.name)
    return Choice(step.subject, step.kind, detail)


class Gates:
    """What stands before a step: hold points that are not passed, and readings that must come first."""

    def __init__(self, store: JobStore, copy: int, holds: tuple[HoldState, ...]) -> None:
        self._store = store
        self._copy = copy
        self._holds: Mapping[str, HoldState] = {hold.name: hold for hold in holds}
        self._numbers = {
            subject: n
            for n, subject in store.connection.execute(
                "SELECT n, subject FROM copy JOIN step USING (plan_id) WHERE copy = ? AND kind = 'hold_point'", (copy,)
            )
        }

    def closed_before(self, step: Step) -> HoldState | None:
        """Return the first hold point before this step that is not passed; a step outside the plan has none."""
        before = [name for name, n in sorted(self._numbers.items(), key=lambda item: item[1]) if n < step.n]
        return next(
            (h for name in before if (h := self._holds.get(name)) and not h.passed and name != step.subject), None
        )

    def missing(self, step: Step) -> tuple[str, ...]:
        """Return the points not read where someone can be hurt: power on, or work on stored charge."""
        if step.kind == OperationKind.DISCHARGE:
            return self._not_zero(step.subject)
        if step.kind not in POWERED_KINDS:
            return ()
        closed = self.closed_before(step)
        if closed is None:
            return ()
        return (*closed.unread, *closed.outside) or (closed.name,)

    def _not_zero(self, subject: str) -> tuple[str, ...]:
        """Return the points not read under 2 V since the board was last under power."""
        readings = queries.all_readings(self._store, self._copy)
        powered = max((reading.event or 0 for reading in readings if reading.hold_point), default=0)
        since = [reading for reading in readings if (reading.event or 0) > powered]
        wanted = queries.supply_points(self._store, subject)
        if not wanted:
            return () if any(is_zero(reading) for reading in since) else ("supply rail",)
        newest = {reading.point: reading for reading in since if reading.mode is Mode.VOLTS}
        return tuple(point for point in wanted if point not in newest or not is_zero(newest[point]))
