"""Recording readings and proofs of orientation, judged against what the job expects."""

from collections.abc import Iterable
from pathlib import Path
from typing import NamedTuple

from reworkkit.errors import ReworkkitError
from reworkkit.model.job_view import Actor, Done, HoldState
from reworkkit.model.judging import is_zero, judge, point_key, point_meant
from reworkkit.model.measuring import Check, Judgement, Reading
from reworkkit.model.messages import Message, message
from reworkkit.model.reading_text import ReadingText, parse_reading
from reworkkit.model.steps import DISCHARGED_V, expand_refs
from reworkkit.model.vocabulary import (
    CheckPurpose,
    EventKind,
    Evidence,
    Mode,
    OperationKind,
    ReadingForm,
    ReadingVerdict,
)
from reworkkit.pipeline.job import hold_named, make_event, with_reason
from reworkkit.pipeline.job_steps import check_point
from reworkkit.pipeline.recall import chosen_copy, holds_of, open_rows
from reworkkit.record import queries
from reworkkit.record.job_store import JOB_FILE, JobStore

_UNITS = {
    Mode.VOLTS: "V",
    Mode.DIODE: "V",
    Mode.OHMS: "ohm",
    Mode.CONTINUITY: "ohm",
    Mode.AMPS: "A",
    Mode.CELSIUS: "C",
    Mode.LOOK: "",
}
_MODES = {"V": Mode.VOLTS, "ohm": Mode.OHMS, "A": Mode.AMPS, "C": Mode.CELSIUS}
_UNDER_POWER = (Mode.VOLTS, Mode.AMPS)


class Probe(NamedTuple):
    """How a reading was taken: mode, leads swapped, and at which hold point (`off` = unpowered, None = not said)."""

    mode: str | None = None
    swapped: bool = False
    at: str | None = None


def reading(
    folder: Path,
    point: str,
    value: str,
    actor: Actor,
    *,
    probe: Probe = Probe(),  # noqa: B008 - an immutable record
    copy: int | None = None,
    anyway: bool = False,
    reason: str = "",
) -> Done:
    """Record what the meter showed at a point and judge it against every expectation there is for it."""
    kept = with_reason(anyway, reason)
    with JobStore.open(folder / JOB_FILE, writing=True) as store, store.acting():
        chosen = chosen_copy(queries.info(store), copy)
        where = point_key(point)
        check_point(store, where, anyway)
        written, where = where, _meant(store, where)
        belonging = [pair for pair in queries.checks(store) if point_key(pair[1].point.text) == where]
        before = holds_of(store, chosen)
        taken = _taken(store, chosen, where, value, probe, [check for _, check in belonging])
        checks = _in_hand(belonging, before)
        detail = {**_detail(taken), **kept, **({"at": written} if written != where else {})}
        stored = store.append([make_event(actor, chosen, EventKind.READING, where, detail)])
        judgements = tuple(judge(check, taken) for check in checks if check.mode == taken.mode)
        notices = (*_reading_notices(taken, judgements), *_what_then(taken, checks, judgements))
        closed = {hold.name for hold in before if not hold.passed}
        opened = [hold.name for hold in holds_of(store, chosen) if hold.passed and hold.name in closed]
        if written != where:
            notices = (message("reading-counts-for", written=written, point=where), *notices)
        notices += tuple(message("hold-opened", name=name) for name in opened)
        return Done(chosen, stored, notices, (), judgements)


def _meant(store: JobStore, where: str) -> str:
    """Return the net or pin that a test point stands for, unless something is expected at the test point itself."""
    aliases = queries.point_aliases(store)
    if where not in aliases and " to " not in where:
        return where
    expected = any(point_key(check.point.text) == where for _, check in queries.checks(store))
    return where if expected else point_meant(where, aliases)


def _in_hand(belonging: list[tuple[str, Check]], holds: tuple[HoldState, ...]) -> list[Check]:
    """Return the checks that a reading taken now is judged by: of no hold point, or of the one in hand, else all.

    What later hold points expect holds for parts that are not fitted yet.
    """
    now = {"", _first_closed(holds)}
    return [check for name, check in belonging if name in now] or [check for _, check in belonging]


def _what_then(taken: Reading, checks: list[Check], judgements: tuple[Judgement, ...]) -> tuple[Message, ...]:
    """Return what follows from a reading outside its band: copper to look at, or faults to be ranked."""
    bad = {one.check_id for one in judgements if one.verdict is ReadingVerdict.OUTSIDE}
    if taken.form is ReadingForm.JUMPS:
        bad |= {one.check_id for one in judgements}
    bare = [check for check in checks if check.id in bad and check.purpose is CheckPurpose.BARE_PLACE]
    if bare:
        return (message("reading-copper-open", pin=taken.point.partition(" to ")[0]),)
    return (message("reading-diagnose"),) if bad and taken.form is not ReadingForm.JUMPS else ()


def _detail(taken: Reading) -> dict[str, object]:
    return {
        "mode": taken.mode.value,
        "form": taken.form.value,
        "value": taken.value,
        "unit": taken.unit,
        "leads_swapped": taken.leads_swapped,
        "hold_point": taken.hold_point,
        "text": taken.text,
    }


def _reading_notices(taken: Reading, judgements: tuple[Judgement, ...]) -> tuple[Message, ...]:
    stage = message("reading-at", stage=taken.hold_point) if taken.hold_point else message("reading-unpowered")
    said = tuple(dict.fromkeys(j.message for j in judgements if j.verdict is not ReadingVerdict.NOT_JUDGED))
    if said:
        return (stage, *said)
    if judgements:
        return (stage, *dict.fromkeys(j.message for j in judgements))
    zero = taken.hold_point is None and is_zero(taken)
    return (stage, message("reading-zero" if zero else "reading-nothing-expected"))


def _taken(store: JobStore, copy: int, where: str, value: str, probe: Probe, checks: list[Check]) -> Reading:
    parsed = parse_reading(value)
    if parsed is None:
        raise ReworkkitError("unreadable-reading", text=value)
    before = {one.mode for one in queries.readings_now(store, copy) if one.point == where}
    mode = _mode(value, parsed, probe.mode, {check.mode for check in checks} or before)
    unit = _UNITS[mode]
    if mode is Mode.AMPS and not parsed.unit and parsed.form is ReadingForm.VALUE:
        raise ReworkkitError("reading-amps-or-milliamps", text=value)
    if parsed.unit and parsed.unit != unit:
        raise ReworkkitError("reading-unit-mode", text=value, unit=parsed.unit, mode=mode.value)
    at = _stage(store, copy, mode, probe.at, checks, parsed.value)
    return Reading(where, mode, parsed.form, parsed.value, unit, probe.swapped, at, " ".join(value.split()))


def _mode(value: str, parsed: ReadingText, written: str | None, expected: set[Mode]) -> Mode:
    """Return the mode: as said, else from the unit, else the only one expected there, or read there before."""
    if written is not None:
        try:
            return Mode(written.strip().lower())
        except ValueError:
            known = ", ".join(mode.value for mode in Mode)
            raise ReworkkitError("unknown-mode", mode=written, known=known) from None
    if mode := _MODES.get(parsed.unit):
        return Mode.CONTINUITY if mode is Mode.OHMS and expected == {Mode.CONTINUITY} else mode
    if len(expected) == 1:
        return expected.pop()
    raise ReworkkitError("which-mode", text=value)


def _stage(
    store: JobStore, copy: int, mode: Mode, at: str | None, checks: Iterable[Check], value: float | None
) -> str | None:
    """Return the hold point a reading belongs to; None = unpowered.

    As said; else ohms, diode and continuity are unpowered; else where the only expectation belongs; else the hold
    point in hand; else amps and what is 2 V or more belong to the first hold point that is not open, for there must
    have been power. Under 2 V at a hold point is "volts first" or a dead rail: that must be said.
    """
    holds = holds_of(store, copy)
    if at is not None:
        return None if at.strip().lower() == "off" else hold_named(holds, at).name
    if mode not in _UNDER_POWER:
        return None
    expected = {check.hold_point for check in checks if check.mode is mode}
    if len(expected) == 1:
        return expected.pop()
    rows = open_rows(store, copy, holds, 1)
    low = mode is Mode.VOLTS and value is not None and abs(value) < DISCHARGED_V
    if rows and rows[0].kind == OperationKind.HOLD_POINT:
        name = rows[0].subjects[0]
        if low and (None in expected or not expected):
            raise ReworkkitError("reading-power-on-or-off", name=name)
        return name
    return None if low else _first_closed(holds)


def _first_closed(holds: tuple[HoldState, ...]) -> str | None:
    names = [hold.name for hold in holds if not hold.passed] or [hold.name for hold in holds[-1:]]
    return names[0] if names else None


def prove(
    folder: Path,
    ref: str,
    value: str | None,
    actor: Actor,
    *,
    evidence: str | None = None,
    swapped: bool = False,
    copy: int | None = None,
    anyway: bool = False,
    reason: str = "",
) -> Done:
    """Record what proves which way round a part sits: a reading, a look at its mark, or the maker's word."""
    kept = with_reason(anyway, reason)
    by = _evidence(value, evidence)
    with JobStore.open(folder / JOB_FILE, writing=True) as store, store.acting():
        chosen = chosen_copy(queries.info(store), copy)
        places = queries.places(store)
        known, unknown = expand_refs([ref], places)
        if unknown or len(known) != 1:
            raise ReworkkitError("unknown-ref", ref=ref)
        if places[known[0]].polarised == "no" and not anyway:
            raise ReworkkitError("not-polarised", ref=known[0])
        checks = [check for _, check in queries.checks(store, purpose="orientation") if known[0] in check.refs]
        judgement = _proof_judgement(checks, value, swapped) if by is Evidence.READING and value else None
        open_too = judgement is not None and _an_open_joint_reads_so_too(judgement)
        verdict = judgement.verdict if judgement and not open_too else ReadingVerdict.NOT_JUDGED
        detail: dict[str, object] = {
            "by": by.value,
            "reading": value or "",
            "swapped": swapped,
            "verdict": verdict.value,
        }
        stored = store.append([make_event(actor, chosen, EventKind.PROOF, known[0], {**detail, **kept})])
        notices = _proof_notices(known[0], by, judgement)
        if open_too:
            notices = (*notices, message("proof-open-too", ref=known[0]))
        return Done(chosen, stored, notices, (), (judgement,) if judgement else ())


def _an_open_joint_reads_so_too(judgement: Judgement) -> bool:
    """Return whether the reading agrees but proves nothing: over-range is what an open joint shows as well."""
    return judgement.verdict is ReadingVerdict.INSIDE and judgement.reading.form is ReadingForm.OVER_RANGE


def _evidence(value: str | None, written: str | None) -> Evidence:
    try:
        by = Evidence(written.strip().lower()) if written else Evidence.READING
    except ValueError:
        raise ReworkkitError("unknown-evidence", evidence=str(written)) from None
    if by is Evidence.READING and not value:
        raise ReworkkitError("proof-needs-reading")
    return by


def _proof_judgement(checks: list[Check], value: str, swapped: bool) -> Judgement | None:
    parsed = parse_reading(value)
    if parsed is None:
        raise ReworkkitError("unreadable-reading", text=value)
    judgements = []
    for check in checks:
        taken = Reading(
            point_key(check.point.text), check.mode, parsed.form, parsed.value, _UNITS[check.mode], swapped, None, value
        )
        if parsed.unit in ("", taken.unit):
            judgements.append(judge(check, taken))
    order = (ReadingVerdict.OUTSIDE, ReadingVerdict.INSIDE, ReadingVerdict.NOT_JUDGED)
    return min(judgements, key=lambda one: order.index(one.verdict), default=None)


def _proof_notices(ref: str, by: Evidence, judgement: Judgement | None) -> tuple[Message, ...]:
    if by is not Evidence.READING:
        return (message("proof-by-look", ref=ref, by=by.value),)
    if judgement is None:
        return (message("proof-not-judged", ref=ref),)
    if judgement.verdict is ReadingVerdict.INSIDE:
        return (judgement.message, message("proof-stands", ref=ref))
    return (judgement.message, message("proof-fails", ref=ref))
