"""What is open on one physical board: the half-states that are forgotten after weeks, worst first."""

from collections.abc import Collection, Iterable, Mapping

from reworkkit.model.designator_list import in_short
from reworkkit.model.job import PlaceState, SiteRecord
from reworkkit.model.job_input import JobPlace
from reworkkit.model.job_view import HoldState
from reworkkit.model.judging import is_zero, judge, point_key
from reworkkit.model.measuring import Check, Reading
from reworkkit.model.messages import Finding, Message, message
from reworkkit.model.vocabulary import (
    CheckPurpose,
    Fastening,
    JointState,
    PartState,
    Place,
    ReadingForm,
    ReadingVerdict,
    Severity,
    SiteDamage,
    WayRound,
)

Dispute = tuple[str, str, str, str, str]
"""Subject, what, here, there, stands."""

_STOP, _CHECK, _NOTE = Severity.STOP, Severity.CHECK, Severity.NOTE

_SEVERITY = {
    "open-leg-lifted": _STOP,
    "open-reversed": _STOP,
    "open-damaged": _STOP,
    "open-wrong-part": _STOP,
    "open-removed": _CHECK,
    "open-link": _CHECK,
    "open-unexpected": _CHECK,
    "open-tacked": _CHECK,
    "open-placed": _CHECK,
    "open-finger-tight": _CHECK,
    "open-unproven": _CHECK,
    "open-not-inspected": _CHECK,
}
_SITE = {
    SiteDamage.LAND_LOST: "open-land-lost",
    SiteDamage.BARREL_LOST: "open-barrel-lost",
    SiteDamage.TRACK_CUT: "open-track-cut",
    SiteDamage.WIRE_REPAIR: "open-wire-repair",
}
_ONE_BY_ONE = ("open-removed", "open-link")
"""These are said one by one, with their note: each has a reason of its own."""


def open_places(states: Mapping[str, PlaceState], places: Mapping[str, JobPlace]) -> tuple[Finding, ...]:
    """Return the open items of the places, worst first; a place can stand under several."""
    found: dict[str, list[PlaceState]] = {slug: [] for slug in _SEVERITY}
    for ref, state in states.items():
        for slug in _of_place(state, places.get(ref)):
            found[slug].append(state)
    return tuple(finding for slug, held in found.items() if held for finding in _findings(slug, held))


def _findings(slug: str, held: list[PlaceState]) -> list[Finding]:
    if slug in _ONE_BY_ONE:
        return [
            Finding(message(slug, refs=s.ref, count=1, note=s.note or "no reason noted"), _SEVERITY[slug], (s.ref,))
            for s in held
        ]
    refs = tuple(state.ref for state in held)
    return [Finding(message(slug, refs=in_short(refs), count=len(refs)), _SEVERITY[slug], refs)]


def _of_place(state: PlaceState, place: JobPlace | None) -> Iterable[str]:
    if (place is None or place.fit == "do_not_fit") and _something_there(state):
        yield "open-unexpected"
    if state.part is PartState.REMOVED_ON_PURPOSE:
        yield "open-removed"
    elif state.part is PartState.TEMPORARY_LINK:
        yield "open-link"
    if state.place is Place.NOT_INSPECTED:
        if place is not None and place.fit == "fit":
            yield "open-not-inspected"
    elif state.place is Place.FITTED:
        yield from _of_fitted(state, place)


def _something_there(state: PlaceState) -> bool:
    return state.place is Place.FITTED or state.part is PartState.TEMPORARY_LINK


def _of_fitted(state: PlaceState, place: JobPlace | None) -> Iterable[str]:
    joint = {
        JointState.LEG_LIFTED: "open-leg-lifted",
        JointState.TACKED: "open-tacked",
        JointState.NONE: "open-placed",
    }.get(state.joint)
    part = {PartState.DAMAGED: "open-damaged", PartState.WRONG_PART: "open-wrong-part"}.get(state.part)
    if joint == "open-placed" and (part or state.way_round is WayRound.REVERSED):
        joint = None  # A part found damaged, wrong or reversed comes off anyway; nobody said how it is held.
    yield from (slug for slug in (joint, part) if slug)
    if state.way_round is WayRound.REVERSED:
        yield "open-reversed"
    elif state.way_round is WayRound.NOT_CHECKED and place is not None and place.polarised == "yes":
        yield "open-unproven"
    if state.fastening is Fastening.FINGER_TIGHT:
        yield "open-finger-tight"


def open_elsewhere(
    sites: Iterable[SiteRecord],
    disputes: Iterable[Dispute],
    unread: Iterable[tuple[str, str, str]],
    holds: Iterable[HoldState],
) -> tuple[Finding, ...]:
    """Return the open items that are no places: steps without reading, disputes, board damage, hold points."""
    found = [_unread(*one) for one in unread]
    found += [_dispute(*one) for one in disputes]
    for site in sites:
        repaired = site.kind is SiteDamage.WIRE_REPAIR
        text = message(_SITE[site.kind], point=site.point, text=site.text or "no remark")
        found.append(Finding(text, _NOTE if repaired else _CHECK, (site.point,)))
    found += [_hold(state) for state in holds if state.state != "open"]
    return tuple(found)


def still_unread(
    steps: Iterable[tuple[str, str, str, int]], readings: Iterable[Reading]
) -> tuple[tuple[str, str, str], ...]:
    """Return (kind, subject, points) of the steps that were done before their reading and have none since.

    A reading taken later closes the item: for a discharge it must be zero and taken without power. The record keeps
    that the step came first. Each step is (kind, subject, points, event).
    """
    readings = tuple(readings)
    found = []
    for kind, subject, points, event in steps:
        later = [one for one in readings if (one.event or 0) > event]
        if kind == "discharge":
            later = [one for one in later if one.hold_point is None and is_zero(one)]
        read = {one.point for one in later}
        missing = [point for point in points.split(", ") if point_key(point) not in read]
        if kind == "discharge" and "supply rail" in missing and read:
            missing.remove("supply rail")
        if missing:
            found.append((kind, subject, ", ".join(missing)))
    return tuple(found)


def open_readings(
    checks: Iterable[Check], readings: Iterable[Reading], changed: Mapping[str, int], sites: Collection[str] = ()
) -> tuple[Finding, ...]:
    """Return the readings outside what a bare place or the power stage must show; the newest at each point counts.

    One from before the last change of the part it is about (`changed`: place -> event) no longer counts, and a pin
    whose damage is written down (`sites`) is told there.
    """
    found: list[Finding] = []
    by_point: dict[tuple[str, str], Reading] = {}
    for reading in readings:
        if reading.hold_point is None:
            by_point[reading.point, reading.mode] = reading
    for check in checks:
        taken = by_point.get((point_key(check.point.text), check.mode))
        if taken is None or (taken.event or 0) <= max((changed.get(ref, 0) for ref in check.refs), default=0):
            continue
        unproven = check.purpose is CheckPurpose.BARE_PLACE and taken.form is ReadingForm.JUMPS
        if judge(check, taken).verdict is not ReadingVerdict.OUTSIDE and not unproven:
            continue
        if not any(end in sites for end in taken.point.split(" to ")):
            text = message("open-reading-outside", point=taken.point, reading=taken.text)
            found.append(Finding(text, _CHECK, check.refs))
    return tuple(found)


def _unread(kind: str, subject: str, points: str) -> Finding:
    text = message("open-without-reading", kind=kind.replace("_", " "), ref=subject, points=points)
    return Finding(text, _STOP, (subject,))


def _dispute(subject: str, what: str, here: str, there: str, stands: str) -> Finding:
    facts = {"what": what.replace(":", " "), "here": here, "there": there, "stands": stands}
    text = message("open-disagreement", ref=subject, **{k: v.replace("_", " ") for k, v in facts.items()})
    return Finding(text, _CHECK, (subject,))


def _hold(state: HoldState) -> Finding:
    slug = "open-hold-point" if state.state == "closed" else "open-hold-not-judged"
    return Finding(message(slug, name=state.name, count=len(state.why)), _NOTE)


def shared_faults(copies: Mapping[int, Iterable[Finding]]) -> tuple[Finding, ...]:
    """Return the faults that at least two copies have in common, by place and kind of fault."""
    seen: dict[tuple[str, str], list[int]] = {}
    for copy, findings in copies.items():
        for finding in findings:
            for ref in finding.refs if finding.severity is not _NOTE else ():
                seen.setdefault((finding.message.slug, ref), []).append(copy)
    grouped: dict[tuple[str, tuple[int, ...]], list[str]] = {}
    for (slug, ref), on in seen.items():
        if len(on) > 1:
            grouped.setdefault((slug, tuple(dict.fromkeys(on))), []).append(ref)
    return tuple(
        Finding(_shared(slug, on, refs), _CHECK, tuple(refs)) for (slug, on), refs in grouped.items() if len(on) > 1
    )


def _shared(slug: str, on: tuple[int, ...], refs: list[str]) -> Message:
    what = slug.removeprefix("open-").replace("-", " ")
    return message("shared-fault", what=what, refs=in_short(refs), copies=", ".join(map(str, on)))
