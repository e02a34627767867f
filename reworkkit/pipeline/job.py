"""Recording what was done: one function a command, each one transaction. Neither numpy nor pandas nor `read` here.

Every function takes the board folder and an `Actor` (who, device, time, ids). Nothing that was really done is
refused: what is unusual needs `anyway` with a reason. Where someone can be hurt there is no such way round: the step
is recorded as done without the reading, and stays an open item until the reading is there.
"""

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from reworkkit.errors import ReworkkitError
from reworkkit.model.job import Event
from reworkkit.model.job_view import Actor, Done, HoldState, JobInfo, Merged, Refreshed, Ticked
from reworkkit.model.judging import point_key
from reworkkit.model.messages import message
from reworkkit.model.states import SITE_WORDS, WORDS, facets_of, plain_word
from reworkkit.model.steps import expand_refs
from reworkkit.model.vocabulary import EventKind, JointState
from reworkkit.pipeline.job_steps import (
    Choice,
    Wanted,
    check_point,
    choices_of,
    next_choices,
    tick_notices,
    unproven_places,
)
from reworkkit.pipeline.recall import chosen_copy, holds_of
from reworkkit.pipeline.recall import situation_of_job as situation_of_job
from reworkkit.pipeline.unknown_places import not_on_board
from reworkkit.record import queries
from reworkkit.record.job_store import JOB_FILE, NOT_UNDONE, JobStore

if TYPE_CHECKING:
    from reworkkit.model.job_input import BeginInput


def has_job(folder: Path) -> bool:
    """Return whether the board folder has a job."""
    return (folder / JOB_FILE).exists()


def open_job(folder: Path) -> JobInfo:
    """Return the head of the job; raises ReworkkitError where there is none or its file cannot be used."""
    with JobStore.open(folder / JOB_FILE) as store:
        return queries.info(store)


def begin(folder: Path, begun: "BeginInput", actor: Actor) -> JobInfo:
    """Begin the job of a board; the folder is made where it does not exist. Raises where there is a job already."""
    from reworkkit.record.snapshot import fill

    folder.mkdir(parents=True, exist_ok=True)
    JobStore.create(folder / JOB_FILE, lambda store: fill(store, begun, actor))
    return open_job(folder)


def refresh(folder: Path, begun: "BeginInput", actor: Actor, *, accept: bool = False) -> Refreshed:
    """Return how the inputs differ from what the job has stored; with `accept` they are taken over. Ticks stay."""
    from reworkkit.record import refreshing

    if not accept:
        with JobStore.open(folder / JOB_FILE) as store:
            return refreshing.difference(store, begun, actor)
    with JobStore.open(folder / JOB_FILE, writing=True) as store, store.acting():
        return refreshing.accept(store, begun, actor)


def make_event(
    actor: Actor, copy: int, kind: EventKind, subject: str, detail: dict[str, object], undoes: str | None = None
) -> Event:
    """Return a new event by this actor; its number comes when it is stored."""
    return Event(0, actor.new_id(), copy, actor.at, actor.who, actor.device, kind, subject, detail, undoes)


def together(events: Sequence[Event]) -> list[Event]:
    """Mark the events of one command as one act, so that `undo` takes all of them back."""
    if len(events) > 1:
        for event in events:
            event.detail["act"] = events[0].id
    return list(events)


def with_reason(anyway: bool, reason: str) -> dict[str, object]:
    """Return what an event keeps of `--anyway` and `--reason`; raises where the reason is missing."""
    if anyway and not reason.strip():
        raise ReworkkitError("anyway-needs-reason")
    return {**({"anyway": True} if anyway else {}), **({"reason": reason.strip()} if reason.strip() else {})}


def tick(
    folder: Path,
    refs: Iterable[str],
    actor: Actor,
    *,
    copy: int | None = None,
    step: str | None = None,
    all_steps: bool = False,
    anyway: bool = False,
    reason: str = "",
) -> Done:
    """Record steps as done: of each subject the first open one, the one named by `step`, or all."""
    wanted = Wanted(step, all_steps, anyway)
    return _tick(folder, actor, copy, reason, wanted, tuple(refs))


def tick_next(
    folder: Path,
    actor: Actor,
    *,
    copy: int | None = None,
    all_steps: bool = False,
    anyway: bool = False,
    reason: str = "",
) -> Done:
    """Record the next step of the plan as done; with `all_steps` all of the next operation."""
    return _tick(folder, actor, copy, reason, Wanted(None, all_steps, anyway), None)


def _tick(
    folder: Path, actor: Actor, copy: int | None, reason: str, wanted: Wanted, refs: tuple[str, ...] | None
) -> Done:
    kept = with_reason(wanted.anyway, reason)
    with JobStore.open(folder / JOB_FILE, writing=True) as store, store.acting():
        chosen = chosen_copy(queries.info(store), copy)
        holds = holds_of(store, chosen)
        done: list[str] = []
        if refs is None:
            choices = next_choices(store, chosen, holds, wanted)
        else:
            choices, done = choices_of(store, chosen, holds, wanted, refs)
        events = together([make_event(actor, chosen, EventKind.DONE, c.subject, {**c.detail, **kept}) for c in choices])
        stored = store.append(events)
        ticked = _remaining(store, chosen, choices)
        proven = [choice.subject for choice in choices if choice.kind == "prove_place"]
        unproven = unproven_places(store, chosen, proven) if proven else ()
        return Done(chosen, stored, tick_notices(choices, done, ticked, unproven), ticked)


def _remaining(store: JobStore, copy: int, choices: Iterable[Choice]) -> tuple[Ticked, ...]:
    by_subject: dict[str, list[str]] = {}
    for choice in choices:
        by_subject.setdefault(choice.subject, []).append(choice.kind)
    remain: dict[str, list[str]] = {}
    for step in queries.steps(store, copy, by_subject):
        if not step.done and step.kind != "hold_point":
            remain.setdefault(step.subject, []).append(step.kind)
    states = queries.states(store, copy, refs=by_subject)
    return tuple(
        Ticked(subject, tuple(kinds), tuple(remain.get(subject, ())), states.get(subject))
        for subject, kinds in by_subject.items()
    )


def untick(
    folder: Path,
    refs: Iterable[str],
    actor: Actor,
    *,
    copy: int | None = None,
    step: str | None = None,
    all_steps: bool = False,
) -> Done:
    """Take back steps that were ticked: of each subject the last one, the one named by `step`, or all."""
    with JobStore.open(folder / JOB_FILE, writing=True) as store, store.acting():
        chosen = chosen_copy(queries.info(store), copy)
        undone = []
        for subject in _done_subjects(store, chosen, refs):
            rows = store.connection.execute(
                "SELECT event, kind FROM step_done WHERE copy = ? AND subject = ? AND kind = coalesce(?, kind)"
                " ORDER BY seq DESC",
                (chosen, subject, step),
            ).fetchall()
            if not rows:
                raise ReworkkitError("nothing-to-untick", ref=subject)
            undone += [(subject, event, kind) for event, kind in (rows if all_steps else rows[:1])]
        events = [
            make_event(actor, chosen, EventKind.UNDO, subject, {"kind": kind}, undoes=event)
            for subject, event, kind in undone
        ]
        return Done(chosen, store.append(together(events)))


def _done_subjects(store: JobStore, copy: int, refs: Iterable[str]) -> list[str]:
    rows = store.connection.execute("SELECT DISTINCT subject FROM step_done WHERE copy = ?", (copy,))
    known = {*queries.refs(store), *(subject for (subject,) in rows)}
    subjects, unknown = expand_refs(refs, known)
    if unknown:
        raise not_on_board(unknown)
    return subjects


def undo(folder: Path, actor: Actor, *, copy: int | None = None) -> Done:
    """Take back the last thing that was recorded for this copy, whole; called again, the one before it."""
    with JobStore.open(folder / JOB_FILE, writing=True) as store, store.acting():
        chosen = chosen_copy(queries.info(store), copy)
        # What a merge settled is no entry of a person: taking it back would hide that two devices disagree.
        of_copy = f"+copy = ? AND kind NOT IN ('undo', 'found', 'snapshot') AND id NOT LIKE 'merge-%' AND {NOT_UNDONE}"
        last = store.events(of_copy, (chosen,), newest=1)
        if not last:
            raise ReworkkitError("nothing-to-undo")
        act = last[0].detail.get("act")
        whole = store.events(f"{of_copy} AND json_extract(detail, '$.act') = ?", (chosen, act)) if act else last
        events = [
            make_event(actor, chosen, EventKind.UNDO, event.subject, {"kind": event.kind.value}, undoes=event.id)
            for event in whole
        ]
        store.append(together(events))
        return Done(chosen, whole)


def set_state(
    folder: Path,
    word: str,
    refs: Iterable[str],
    actor: Actor,
    *,
    copy: int | None = None,
    anyway: bool = False,
    reason: str = "",
) -> Done:
    """Record the state of places in the words of the trade: `tacked`, `leg lifted`, `removed`, `land lost`, ..."""
    kept = with_reason(anyway, reason)
    with JobStore.open(folder / JOB_FILE, writing=True) as store, store.acting():
        chosen = chosen_copy(queries.info(store), copy)
        if site := SITE_WORDS.get(plain_word(word)):
            detail = {"kind": site, "text": reason.strip()}
            points = [point_key(point) for point in refs]
            for point in points:
                check_point(store, point, anyway)
            events = [make_event(actor, chosen, EventKind.SITE, point, dict(detail)) for point in points]
            return Done(chosen, store.append(together(events)))
        facets = facets_of(word)
        if facets is None:
            raise ReworkkitError("unknown-state-word", word=word, near=_near_words(word))
        known = _places_to_set(store, refs, anyway, facets)
        events = [
            make_event(actor, chosen, EventKind.STATE, ref, {"facet": f, "value": v, "word": plain_word(word), **kept})
            for ref in known
            for f, v in facets.items()
        ]
        unexplained = facets.get("part") in ("removed_on_purpose", "temporary_link") and not reason.strip()
        notices = [message("explain-removed", ref=known[0])] if unexplained else []
        if any(facets.get(facet) == value for facet, value in _MORE_WORK):
            notices.append(message("plan-older"))
        return Done(chosen, store.append(together(events)), tuple(notices))


_MORE_WORK = (("place", "empty"), ("part", "damaged"), ("part", "wrong_part"), ("way_round", "reversed"))
"""What a person may state that makes work which the plan does not hold."""


def _near_words(word: str) -> str:
    import difflib

    words = [*WORDS, *SITE_WORDS]
    return ", ".join(difflib.get_close_matches(plain_word(word), words, 3, 0.6)) or ", ".join(words)


def _places_to_set(store: JobStore, refs: Iterable[str], anyway: bool, facets: dict[str, str]) -> list[str]:
    places = queries.places(store)
    known, unknown = expand_refs(refs, places)
    if unknown and not anyway:
        raise not_on_board(unknown)
    there = facets.get("place") == "fitted" or facets.get("part") == "temporary_link"
    odd = [ref for ref in known if there and places[ref].fit != "fit"]
    if odd and not anyway:
        raise ReworkkitError("set-do-not-fit", ref=odd[0])
    if not known and not unknown:
        raise ReworkkitError("no-refs-given")
    return [*known, *unknown]


def substitute(
    folder: Path,
    refs: Iterable[str],
    candidate: str,
    reason: str,
    actor: Actor,
    *,
    copy: int | None = None,
    verdict: str = "not_judged",
    accepted: bool = True,
) -> Done:
    """Record that another part than the listed one is used (or was rejected), with the reason."""
    if not reason.strip():
        raise ReworkkitError("reason-needed")
    with JobStore.open(folder / JOB_FILE, writing=True) as store, store.acting():
        chosen = chosen_copy(queries.info(store), copy)
        known, unknown = expand_refs(refs, queries.refs(store))
        if unknown or not known:
            raise not_on_board(unknown or ["-"])
        detail = {"candidate": candidate, "reason": reason.strip(), "verdict": verdict, "accepted": accepted}
        events = [make_event(actor, chosen, EventKind.SUBSTITUTE, ref, dict(detail)) for ref in known]
        notices = (message("substitute-not-judged", part=candidate),) if verdict == "not_judged" else ()
        return Done(chosen, store.append(together(events)), notices)


def confirm(folder: Path, hold_point: str, reason: str, actor: Actor, *, copy: int | None = None) -> Done:
    """Record that the cautions of a hold point were read and are kept; it opens no hold point that is closed."""
    if not reason.strip():
        raise ReworkkitError("reason-needed")
    with JobStore.open(folder / JOB_FILE, writing=True) as store, store.acting():
        chosen = chosen_copy(queries.info(store), copy)
        hold = hold_named(holds_of(store, chosen), hold_point)
        cautions = next(one["cautions"] for one in queries.hold_data(store) if one["name"] == hold.name)
        shown = [text[0] for _, text in cautions] if isinstance(cautions, list) else []
        mark = queries.cautions_mark(cautions)
        detail: dict[str, object] = {"reason": reason.strip(), "cautions": shown, "mark": mark}
        stored = store.append([make_event(actor, chosen, EventKind.CONFIRM, hold.name, detail)])
        after = hold_named(holds_of(store, chosen), hold_point)
        return Done(chosen, stored, after.why)


def hold_named(holds: Iterable[HoldState], name: str) -> HoldState:
    """Return the hold point of this name, whatever its capitals; raises ReworkkitError naming those there are."""
    known = {hold.name.casefold(): hold for hold in holds}
    if hold := known.get(" ".join(name.split()).casefold()):
        return hold
    raise ReworkkitError("unknown-hold-point", name=name, known=", ".join(h.name for h in known.values()) or "none")


def note(
    folder: Path,
    text: str,
    refs: Iterable[str],
    actor: Actor,
    *,
    copy: int | None = None,
    photos: Iterable[Path] = (),
) -> Done:
    """Record a remark on places, points or hold points, or on the board; photographs are kept by name and hash."""
    from reworkkit.record.photo import photo_mark

    marks = [photo_mark(path) for path in photos]
    with JobStore.open(folder / JOB_FILE, writing=True) as store, store.acting():
        chosen = chosen_copy(queries.info(store), copy)
        known, unknown = expand_refs(refs, queries.refs(store))
        named = {hold["name"] for hold in queries.hold_data(store)} | queries.point_names(store) | {"TOP", "BOTTOM"}
        if strange := [one for one in unknown if one not in named]:
            raise not_on_board(strange)
        subjects = [*known, *unknown] or [""]
        events = [make_event(actor, chosen, EventKind.NOTE, one, {"text": text}) for one in subjects if text.strip()]
        events += [
            make_event(actor, chosen, EventKind.PHOTO, one, {"file": name, "sha256": sha256})
            for one in subjects
            for name, sha256 in marks
        ]
        if not events:
            raise ReworkkitError("nothing-to-note")
        return Done(chosen, store.append(together(events)))


def pause(
    folder: Path,
    text: str,
    actor: Actor,
    *,
    copy: int | None = None,
    discharged: bool | None = None,
    iron_off: bool | None = None,
) -> Done:
    """Record that the work is put down: what is tacked or lifted, capacitors and iron, one line for the next time."""
    with JobStore.open(folder / JOB_FILE, writing=True) as store, store.acting():
        chosen = chosen_copy(queries.info(store), copy)
        notable = queries.states(store, chosen, notable=True)
        tacked = [ref for ref, state in notable.items() if state.joint is JointState.TACKED]
        lifted = [ref for ref, state in notable.items() if state.joint is JointState.LEG_LIFTED]
        detail: dict[str, object] = {
            "text": text,
            "tacked": tacked,
            "leg_lifted": lifted,
            "discharged": discharged,
            "iron_off": iron_off,
        }
        stored = store.append([make_event(actor, chosen, EventKind.PAUSE, "", detail)])
        slugs = [*([] if discharged else ["pause-discharge"]), *([] if iron_off else ["pause-iron"])]
        return Done(chosen, stored, tuple(message(slug) for slug in slugs))


def state_text(source: str) -> str:
    """Return the text of an export: copied text as it is, else what is in the file of that name."""
    from reworkkit.record import merge as merging

    return merging.state_text(source)


def merge(folder: Path, text: str, actor: Actor) -> Merged:
    """Take in what the page or another device recorded; anything cut off or malformed is refused as a whole."""
    from reworkkit.record import merge as merging

    page = merging.parse_page_state(text)
    with JobStore.open(folder / JOB_FILE, writing=True) as store, store.acting():
        return merging.merge(store, page, queries.info(store), actor)
