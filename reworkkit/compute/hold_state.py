"""Whether a hold point may open: derived from readings, states and confirmations, never ticked."""

from collections.abc import Collection, Iterable, Mapping
from typing import NamedTuple

from reworkkit.model.designator_list import in_short
from reworkkit.model.job import PlaceState
from reworkkit.model.job_view import HoldState
from reworkkit.model.judging import judge, point_key
from reworkkit.model.measuring import Check, Reading
from reworkkit.model.messages import Message, message
from reworkkit.model.vocabulary import Fastening, JointState, PartState, Place, ReadingVerdict, WayRound


class HoldPlan(NamedTuple):
    """What a hold point asks for: the parts it needs, its checks, and the fitted set its bands hold for."""

    name: str
    needs: tuple[str, ...]
    confirm: bool
    measure: tuple[str, ...]
    checks: tuple[Check, ...]
    fitted: frozenset[str] | None
    stops: tuple[Message, ...] = ()
    """What speaks against power whatever is read: findings of the gravest kind on parts that are fitted then."""


def hold_states(
    plans: Iterable[HoldPlan],
    readings: Iterable[Reading],
    states: Mapping[str, PlaceState],
    confirmed: Mapping[str, int],
    fitted_now: frozenset[str],
    unexpected: Collection[str] = (),
) -> tuple[HoldState, ...]:
    """Return the state of each hold point, in order.

    Open: every check has a reading inside its band that is newer than the last change of any part it needs, the
    cautions are confirmed where that is asked, no stop finding is there and no place forbids it. Not judged: nothing
    forbids it, but there is no check under power to judge by; a confirmation then lets the work go on and the record
    says so. Else closed.
    `states` may leave out places that no hold point needs and that stand as they should. `unexpected` are the places
    where nothing should be. `confirmed` maps a name to the event that confirmed it: like a reading, a confirmation
    is out of date once a needed part has changed.
    """
    readings = tuple(readings)
    found: list[HoldState] = []
    for plan in plans:
        state = _state(plan, readings, states, confirmed.get(plan.name, 0), unexpected)
        first_closed = state.state != "open" and all(one.state == "open" for one in found)
        notices = _other_set(plan, fitted_now) if first_closed else ()
        found.append(state._replace(notices=(*state.notices, *notices)))
    return tuple(found)


def _state(
    plan: HoldPlan,
    readings: tuple[Reading, ...],
    states: Mapping[str, PlaceState],
    confirmed_at: int,
    unexpected: Collection[str],
) -> HoldState:
    forbids = _grouped(states, frozenset(plan.needs), unexpected)
    tacked = [
        state.ref
        for state in states.values()
        if state.joint is JointState.TACKED and state.place is Place.FITTED and state.ref not in plan.needs
    ]
    notices = (message("hold-tacked-elsewhere", refs=in_short(tacked)),) if tacked else ()
    changed = max((states[ref].changed or 0 for ref in plan.needs if ref in states), default=0)
    confirmed = confirmed_at > changed
    unread, outside, open_why = _judged(plan.checks, readings, changed)
    if not plan.checks:
        unread = tuple(point for point in plan.measure if not _was_read(point, plan.name, readings, changed))
    why = [*plan.stops, *forbids]
    if unread:
        why.append(message("hold-unread", points=", ".join(unread)))
    if outside:
        why.append(message("hold-outside", points=", ".join(outside)))
    if plan.confirm and not confirmed:
        why.append(message("hold-unconfirmed", name=plan.name))
    if why:
        return HoldState(plan.name, "closed", tuple(why), unread, outside, notices, confirmed)
    if any(check.hold_point for check in plan.checks) and not open_why:
        return HoldState(plan.name, "open", (), (), (), notices, confirmed)
    open_why = open_why or (message("hold-no-checks", name=plan.name),)
    return HoldState(plan.name, "not_judged", open_why, (), (), notices, confirmed)


def _judged(
    checks: tuple[Check, ...], readings: tuple[Reading, ...], changed: int
) -> tuple[tuple[str, ...], tuple[str, ...], tuple[Message, ...]]:
    unread: dict[str, None] = {}
    outside: dict[str, None] = {}
    not_judged: list[Message] = []
    for check in checks:
        reading = reading_for(check, readings, changed)
        if reading is None:
            unread[check.point.text] = None
            continue
        judgement = judge(check, reading)
        if judgement.verdict is ReadingVerdict.OUTSIDE:
            outside[check.point.text] = None
        elif judgement.verdict is ReadingVerdict.NOT_JUDGED:
            not_judged.append(judgement.message)
    return tuple(unread), tuple(outside), tuple(not_judged)


def _was_read(point: str, name: str, readings: tuple[Reading, ...], changed: int) -> bool:
    wanted = point_key(point)
    return any(r.point == wanted and r.hold_point == name and (r.event or 0) > changed for r in readings)


def reading_for(check: Check, readings: Iterable[Reading], newer_than: int = 0) -> Reading | None:
    """Return the newest reading that answers a check, or None; one with swapped leads only where that is expected."""
    wanted = [
        reading
        for reading in readings
        if reading.point == point_key(check.point.text)
        and reading.mode == check.mode
        and reading.hold_point == check.hold_point
        and (reading.event or 0) > newer_than
        and (not reading.leads_swapped or check.swapped is not None)
    ]
    return max(wanted, key=lambda reading: reading.event or 0, default=None)


def _grouped(
    states: Mapping[str, PlaceState], needs: frozenset[str], unexpected: Collection[str]
) -> tuple[Message, ...]:
    found: dict[str, list[str]] = {}
    for state in states.values():
        if slug := _forbids(state, state.ref in needs, state.ref in unexpected):
            found.setdefault(slug, []).append(state.ref)
    return tuple(message(slug, refs=in_short(refs)) for slug, refs in found.items())


def _forbids(state: PlaceState, needed: bool, unexpected: bool) -> str:
    """Return why a place keeps a hold point closed, by the table of states; empty where it does not."""
    if state.place is Place.FITTED and state.joint is JointState.LEG_LIFTED:
        return "hold-leg-lifted"
    if state.place is Place.FITTED and state.way_round is WayRound.REVERSED:
        return "hold-reversed"
    if unexpected and (state.place is Place.FITTED or state.part is PartState.TEMPORARY_LINK):
        return "hold-unexpected"
    if state.part in (PartState.REMOVED_ON_PURPOSE, PartState.TEMPORARY_LINK) and not state.note:
        return "hold-unexplained"
    return _forbids_needed(state) if needed else ""


def _forbids_needed(state: PlaceState) -> str:
    if state.place is Place.NOT_INSPECTED:
        return "hold-not-inspected"
    if state.place is Place.EMPTY:
        return "" if state.part is PartState.TEMPORARY_LINK else "hold-missing"
    if state.joint in (JointState.TACKED, JointState.NONE):
        return "hold-not-soldered"
    if state.part in (PartState.DAMAGED, PartState.WRONG_PART):
        return "hold-not-good"
    return "hold-finger-tight" if state.fastening is Fastening.FINGER_TIGHT else ""


def _other_set(plan: HoldPlan, fitted_now: frozenset[str]) -> tuple[Message, ...]:
    if plan.fitted is None or plan.fitted == fitted_now:
        return ()
    more, less = fitted_now - plan.fitted, plan.fitted - fitted_now
    return (message("hold-other-set", name=plan.name, more=in_short(more) or "-", less=in_short(less) or "-"),)
