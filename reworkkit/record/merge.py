"""Taking in what another device recorded: the whole text or nothing, each event once, the careful word stands."""

import json
import re
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any, NamedTuple

from reworkkit.errors import ReworkkitError
from reworkkit.model.job import Event
from reworkkit.model.job_view import Actor, JobInfo, Merged
from reworkkit.model.judging import point_key
from reworkkit.model.messages import Finding, message
from reworkkit.model.states import FACETS, careful
from reworkkit.model.steps import EFFECTS
from reworkkit.model.vocabulary import (
    EventKind,
    Evidence,
    Mode,
    OperationKind,
    ReadingForm,
    ReadingVerdict,
    Severity,
    SiteDamage,
)
from reworkkit.record.job_store import JobStore
from reworkkit.record.projection import load

FORMATS = ("reworkkit.page_state/1", "page_state/1", "reworkkit.export/1")
_TIME = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(?:\.\d+)?Z")
MOST_BYTES = 64 * 1024 * 1024


def state_text(source: str) -> str:
    """Return the text of an export: `source` itself where that is copied text, else what is in the file it names."""
    if "{" in source and not Path(source[:250]).is_file():
        return source
    path = Path(source)
    if not path.is_file():
        raise ReworkkitError("no-export-file", file=source)
    if path.stat().st_size > MOST_BYTES:
        raise ReworkkitError("export-too-large", file=path.name)
    return path.read_bytes().decode("utf-8-sig", errors="replace")


class PageState(NamedTuple):
    """What a device hands over; `at_event` is the newest event it knew when its page was made."""

    board_id: str
    job: str
    device: str
    plan: str
    at_event: int
    events: tuple[Event, ...]


def parse_page_state(text: str) -> PageState:
    """Return the events of a file or of copied text; anything cut off or malformed is refused as a whole."""
    start, end = text.find("{"), text.rfind("}")
    try:
        data = json.loads(text[start : end + 1] if start >= 0 else text, parse_constant=_not_json)
    except (ValueError, RecursionError) as error:
        raise ReworkkitError("merge-cut-off") from error
    if not isinstance(data, dict) or data.get("format") not in FORMATS:
        told = data.get("format") if isinstance(data, dict) else None
        if not told:
            raise ReworkkitError("merge-no-format")
        raise ReworkkitError("merge-other-format", format=str(told)[:60])
    if not isinstance(data.get("events"), list):
        raise ReworkkitError("merge-bad-event", number=0, reason="events is not a list")
    device = str(data.get("device") or "unknown")
    events = tuple(_event(n, one, device, data.get("copy")) for n, one in enumerate(data["events"], start=1))
    base = data.get("at_event") if data["format"] != "reworkkit.export/1" else 0
    return PageState(
        str(data.get("board_id") or ""),
        str(data.get("job") or ""),
        device,
        str(data.get("plan") or ""),
        base if isinstance(base, int) else 0,
        events,
    )


def _not_json(constant: str) -> None:
    raise ValueError(constant)


def _event(number: int, data: Any, device: str, default_copy: Any) -> Event:
    try:
        kind = EventKind(data["kind"])
        detail = data.get("detail") or {}
        copy = data.get("copy", default_copy)
        named = isinstance(data["id"], str) and data["id"].strip()
        if not isinstance(detail, dict) or type(copy) is not int or not named or not _TIME.fullmatch(str(data["at"])):
            raise ValueError("id, at, copy or detail")
        undoes, subject = data.get("undoes"), str(data.get("subject") or "")
        _check_detail(kind, detail, undoes)
        return Event(
            0,
            str(data["id"]),
            copy,
            str(data["at"]),
            str(data.get("who") or ""),
            str(data.get("device") or device),
            kind,
            point_key(subject) if kind is EventKind.READING else subject,
            detail,
            str(undoes) if kind is EventKind.UNDO else None,
        )
    except (KeyError, ValueError, TypeError, AttributeError) as error:
        raise ReworkkitError("merge-bad-event", number=number, reason=str(error) or type(error).__name__) from error


def _check_detail(kind: EventKind, detail: dict[str, Any], undoes: Any) -> None:
    """Raise ValueError or KeyError where the facts of an event are not what its kind needs."""
    if kind is EventKind.UNDO and not isinstance(undoes, str):
        raise ValueError("undoes")
    if check := _CHECKS.get(kind):
        check(detail)


def _check_done(detail: dict[str, Any]) -> None:
    if OperationKind(detail["kind"]) is OperationKind.HOLD_POINT:
        raise ValueError("a hold point is never ticked")


def _check_state(detail: dict[str, Any]) -> None:
    FACETS[detail["facet"]](detail["value"])


def _check_found(detail: dict[str, Any]) -> None:
    for facet, value in detail["facets"].items():
        FACETS[facet](value)


def _check_reading(detail: dict[str, Any]) -> None:
    Mode(detail["mode"])
    ReadingForm(detail["form"])
    if not isinstance(detail["unit"], str) or not isinstance(detail["text"], str):
        raise ValueError("unit or text")
    value = detail.get("value")
    if isinstance(value, bool) or not isinstance(value, int | float | None):
        raise ValueError("value")


def _check_proof(detail: dict[str, Any]) -> None:
    Evidence(detail["by"])
    ReadingVerdict(detail.get("verdict", "not_judged"))


def _check_site(detail: dict[str, Any]) -> None:
    SiteDamage(detail["kind"])


def _check_substitute(detail: dict[str, Any]) -> None:
    if not isinstance(detail["candidate"], str):
        raise ValueError("candidate")


def _check_photo(detail: dict[str, Any]) -> None:
    if not isinstance(detail["file"], str) or not isinstance(detail["sha256"], str):
        raise ValueError("file or sha256")


_CHECKS: dict[EventKind, Callable[[dict[str, Any]], None]] = {
    EventKind.DONE: _check_done,
    EventKind.STATE: _check_state,
    EventKind.FOUND: _check_found,
    EventKind.READING: _check_reading,
    EventKind.PROOF: _check_proof,
    EventKind.SITE: _check_site,
    EventKind.SUBSTITUTE: _check_substitute,
    EventKind.PHOTO: _check_photo,
}


def merge(store: JobStore, page: PageState, info: JobInfo, actor: Actor) -> Merged:
    """Take in the events that are new; call it inside one transaction. Doing it again changes nothing."""
    if page.job != info.job_id and page.board_id != info.board_id:
        raise ReworkkitError("merge-other-board", board=info.board_name)
    if wrong := {e.copy for e in page.events if not 0 <= e.copy <= info.copies}:
        raise ReworkkitError("merge-other-copy", copy=min(wrong), copies=info.copies)
    new = _unknown(store, page, same_job=page.job == info.job_id)
    disputes = _disputes(store, page, new)
    kept = store.append(new)
    findings = [_settle(store, dispute, actor) for dispute in disputes]
    plans = {plan for (plan,) in store.connection.execute("SELECT plan_id FROM copy")}
    return Merged(
        new=len(kept),
        known=len(page.events) - len(kept),
        device=page.device,
        other_plan=bool(page.plan) and page.plan not in plans,
        disagreements=tuple(findings),
    )


def _unknown(store: JobStore, page: PageState, same_job: bool) -> list[Event]:
    found, seen = [], set()
    for event in page.events:
        known = store.connection.execute("SELECT 1 FROM event WHERE id = ?", (event.id,)).fetchone()
        foreign = not same_job and event.kind in (EventKind.FOUND, EventKind.SNAPSHOT)
        if not known and not foreign and event.id not in seen:
            seen.add(event.id)
            found.append(event)
    return found


class _Word(NamedTuple):
    value: str
    by_state: bool
    event: str


class _Dispute(NamedTuple):
    copy: int
    subject: str
    what: str
    here: _Word
    there: _Word


def _disputes(store: JobStore, page: PageState, new: list[Event]) -> list[_Dispute]:
    """Return what this job and the device say differently without having known of each other."""
    by_id = {event.id: event for event in page.events}
    theirs: dict[tuple[int, str], list[tuple[Event, Event | None]]] = {}
    for event in new:
        target = _target(store, event, by_id)
        about = target or event
        theirs.setdefault((about.copy, about.subject), []).append((event, target))
    known = {event.id for event in page.events} | {e.undoes for e in page.events if e.undoes}
    disputes = []
    for (copy, subject), events in theirs.items():
        here, there = _words(_concurrent(store, page, copy, subject, known)), _words(events)
        for what in here.keys() & there.keys():
            mine, other = here[what], there[what]
            if mine.value != other.value and (what.startswith("done:") or mine.by_state or other.by_state):
                disputes.append(_Dispute(copy, subject, what, mine, other))
    return sorted(disputes, key=lambda d: (d.copy, d.subject, d.what))


def _target(store: JobStore, event: Event, by_id: dict[str, Event]) -> Event | None:
    if event.kind is not EventKind.UNDO or event.undoes is None:
        return None
    stored = store.events("id = ?", (event.undoes,))
    return stored[0] if stored else by_id.get(event.undoes)


def _concurrent(
    store: JobStore, page: PageState, copy: int, subject: str, known: set[str]
) -> list[tuple[Event, Event | None]]:
    """Return this job's events of a subject that the device cannot have known; clocks are never compared."""
    rows = store.events(
        "seq > ? AND device <> ? AND (copy = ? AND subject = ? OR undoes IN"
        " (SELECT id FROM event AS e WHERE e.copy = ? AND e.subject = ?))",
        (page.at_event, page.device, copy, subject, copy, subject),
    )
    return [(event, _target(store, event, {})) for event in rows if event.id not in known]


def _words(events: Iterable[tuple[Event, Event | None]]) -> dict[str, _Word]:
    """Return the last word of these events on each facet and each step."""
    words: dict[str, _Word] = {}
    for event, target in events:
        if event.kind is EventKind.STATE:
            words[str(event.detail["facet"])] = _Word(str(event.detail["value"]), True, event.id)
        elif event.kind is EventKind.DONE:
            kind = str(event.detail["kind"])
            words[f"done:{kind}"] = _Word("done", False, event.id)
            words |= {facet: _Word(value, False, event.id) for facet, value in EFFECTS.get(kind, {}).items()}
        elif target is not None:
            words = {what: word for what, word in words.items() if word.event != target.id}
            if target.kind is EventKind.DONE:
                words[f"done:{target.detail['kind']}"] = _Word("undone", False, event.id)
    return words


def _settle(store: JobStore, dispute: _Dispute, actor: Actor) -> Finding:
    """Let the careful word stand, by an event like any other, and note the dispute as an open item."""
    what, here, there = dispute.what, dispute.here.value, dispute.there.value
    stands = careful(what.partition(":")[0], here, there)
    said = {"what": what, "here": here, "there": there, "stands": stands}
    events = [*_correction(store, dispute, stands, actor)]
    events.append(_own_event(dispute, "n", EventKind.NOTE, {"disagreement": said}, actor))
    store.append(events)
    text = message(
        "open-disagreement",
        ref=dispute.subject,
        what=what.replace("_", " ").replace(":", " "),
        here=here.replace("_", " "),
        there=there.replace("_", " "),
        stands=stands.replace("_", " "),
    )
    return Finding(text, Severity.CHECK, (dispute.subject,))


def _correction(store: JobStore, dispute: _Dispute, stands: str, actor: Actor) -> list[Event]:
    standing = load(store.connection, dispute.copy, dispute.subject)
    facet, _, kind = dispute.what.partition(":")
    if kind:
        done = standing.steps.get(kind)
        if done is None or stands == "done":
            return []
        return [_own_event(dispute, "u", EventKind.UNDO, {}, actor, undoes=done.event)]
    if standing.state is None or getattr(standing.state, facet) == stands:
        return []
    detail: dict[str, object] = {"facet": facet, "value": stands, "reason": ""}
    return [_own_event(dispute, "s", EventKind.STATE, detail, actor)]


def _own_event(
    dispute: _Dispute, letter: str, kind: EventKind, detail: dict[str, object], actor: Actor, undoes: str | None = None
) -> Event:
    # The id follows from the two events that differ: the same merge on two laptops makes the same event.
    first, second = sorted((dispute.here.event, dispute.there.event))
    name = f"merge-{letter}-{dispute.what}-{first}-{second}"
    return Event(0, name, dispute.copy, actor.at, actor.who, actor.device, kind, dispute.subject, detail, undoes)
