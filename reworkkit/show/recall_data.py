"""JSON and CSV of the job commands: the same facts and words as the terminal."""

from collections.abc import Iterable
from typing import Any

from reworkkit.model.job import Event, PlaceState
from reworkkit.model.job_view import (
    CopyStatus,
    Done,
    FinishedRecord,
    HoldState,
    Merged,
    NextSteps,
    OperationRow,
    PlaceRecord,
    Refreshed,
    Status,
)
from reworkkit.model.measuring import Reading
from reworkkit.model.messages import Finding
from reworkkit.show.documents import finding_document
from reworkkit.show.recall import Words
from reworkkit.show.spreadsheet import table_text

Document = dict[str, Any]


def _framed(command: str, at_event: int | None, body: Document, findings: Iterable[Finding], language: str) -> Document:
    return {
        "format": f"reworkkit.{command}/1",
        "basis": "job",
        "at_event": at_event,
        **body,
        "findings": [finding_document(one, language) for one in findings],
        "not_judged": [],
    }


def status_data(status: Status, language: str = "en") -> Document:
    """Return `reworkkit.status/1`; the findings are the faults that several boards share."""
    words = Words(language)
    body = {
        "board": status.info.board_name,
        "job": status.info.job_id,
        "copies": [_copy_data(one, words) for one in status.copies],
    }
    return _framed("status", status.at_event, body, status.shared, language)


def _copy_data(one: CopyStatus, words: Words) -> Document:
    return {
        "copy": one.copy,
        "serial": one.serial,
        "counts": one.counts,
        "open_items": [finding_document(item, words.language) for item in one.open_items],
        "progress": [group._asdict() for group in one.progress],
        "hold_points": [_hold_data(hold, words) for hold in one.holds],
        "next": _operation_data(one.next_operation, words) if one.next_operation else None,
        "plan_lacks": list(one.plan_lacks),
        "pause": one.pause.as_data() if one.pause else None,
        "readings": [reading_document(reading) for reading in one.readings],
    }


def _hold_data(hold: HoldState, words: Words) -> Document:
    return {
        "name": hold.name,
        "state": hold.state,
        "why": [words.of(why) for why in hold.why],
        "unread": list(hold.unread),
        "outside": list(hold.outside),
        "confirmed": hold.confirmed,
        "notices": [words.of(notice) for notice in hold.notices],
    }


def _operation_data(row: OperationRow, words: Words) -> Document:
    return {
        "n": row.n,
        "kind": row.kind,
        "group": row.group,
        "title": words.of(row.title),
        "steps": [{"kind": row.kind, "subject": subject} for subject in row.open_subjects],
        "setup": row.setup,
        "why": [words.of(why) for why in row.why],
        "alerts": [{"level": level, "sentence": words.of(text)} for level, text in row.alerts],
        "after": list(row.after),
        "hold_point": row.hold_point,
        "duration_s": row.duration_s,
    }


def next_data(steps: Iterable[NextSteps], at_event: int | None, language: str = "en") -> Document:
    """Return `reworkkit.next/1`."""
    words = Words(language)
    copies = [
        {
            "copy": one.copy,
            "operations": [_operation_data(row, words) for row in one.operations],
            "minutes": None if one.asked_s is None else one.asked_s / 60,
            "left": one.left,
            "hold_points": [_hold_data(hold, words) for hold in one.holds],
        }
        for one in steps
    ]
    return _framed("next", at_event, {"copies": copies}, (), language)


def history_data(events: Iterable[tuple[Event, bool]], language: str = "en") -> Document:
    """Return `reworkkit.history/1`."""
    listed = [{**event.as_data(), "taken_back": undone} for event, undone in events]
    newest = listed[-1]["seq"] if listed else None
    return _framed("history", newest, {"events": listed}, (), language)


def reading_document(reading: Reading) -> Document:
    """Return a reading as plain data."""
    return {"point": reading.point, **reading.as_data(), "event": reading.event}


def done_data(command: str, done: Done, language: str = "en") -> Document:
    """Return `reworkkit.<command>/1` of a command that records."""
    words = Words(language)
    body = {
        "copy": done.copy,
        "events": [event.as_data() for event in done.events],
        "ticked": [
            {"subject": one.subject, "done": list(one.kinds), "remain": list(one.remain), "state": _state(one.state)}
            for one in done.ticked
        ],
        "judgements": [
            {"check": one.check_id, "verdict": one.verdict.value, "sentence": words.of(one.message)}
            for one in done.judgements
        ],
        "notices": [words.of(notice) for notice in done.notices],
    }
    return _framed(command, done.events[-1].seq if done.events else None, body, (), language)


def merged_data(merged: Merged, language: str = "en") -> Document:
    """Return `reworkkit.merge/1`; the findings are what two devices disagree on."""
    body = {"new": merged.new, "known": merged.known, "device": merged.device, "other_plan": merged.other_plan}
    return _framed("merge", None, body, merged.disagreements, language)


def refreshed_data(found: Refreshed, language: str = "en") -> Document:
    """Return `reworkkit.refresh/1`."""
    words = Words(language)
    steps = {"steps_new": found.steps_new, "steps_gone": found.steps_gone}
    body = {
        "accepted": found.accepted,
        "changes": [words.of(one) for one in (*found.files, *found.places, *found.found)],
        **{name: [{"kind": kind, "subject": subject} for kind, subject in pairs] for name, pairs in steps.items()},
        "ticks_kept": found.ticks_kept,
        "ticks_lost": [{"copy": copy, "kind": kind, "subject": subject} for copy, kind, subject in found.ticks_lost],
        "new_readings": found.new_readings,
    }
    return _framed("refresh", None, body, (), language)


def _state(state: PlaceState | None) -> Document | None:
    if state is None:
        return None
    facets = ("place", "joint", "part", "way_round", "fastening", "made_by")
    return {**{facet: getattr(state, facet).value for facet in facets}, "note": state.note}


RECORD_HEADINGS = (
    *("ref", "fit", "value", "package", "part_number", "substitute", "substitute_reason"),
    *("place", "joint", "part", "way_round", "fastening", "made_by", "by", "proof", "note"),
)


def record_rows(record: FinishedRecord) -> list[tuple[str, ...]]:
    """Return one row a place of the finished board, under RECORD_HEADINGS."""
    return [_record_row(place) for place in record.places]


def _record_row(place: PlaceRecord) -> tuple[str, ...]:
    state = place.state
    facets = (state.place, state.joint, state.part, state.way_round, state.fastening, state.made_by)
    return (
        *(place.ref, place.fit, place.value, place.package, place.part_number, place.substitute, place.reason),
        *(facet.value for facet in facets),
        *(", ".join(place.by), place.proof, state.note),
    )


def record_csv(record: FinishedRecord) -> str:
    """Return the places of the finished board as CSV that is safe to open in a spreadsheet."""
    return table_text(RECORD_HEADINGS, record_rows(record))


def record_data(record: FinishedRecord, language: str = "en") -> Document:
    """Return `reworkkit.record/1`: the record that goes with one finished board."""
    info = record.info
    body = {
        "board": {"name": info.board_name, "revision": info.revision, "job": info.job_id, "id": info.board_id},
        "copy": record.situation.copy,
        "serial": record.serial,
        "started": {"at": info.started_at, "by": info.started_by},
        "alloy": {"found": info.alloy_found or None, "used": info.alloy_used or None},
        "places": [dict(zip(RECORD_HEADINGS, row, strict=True)) for row in record_rows(record)],
        "readings": [
            {**reading_document(reading), "at": event.at, "who": event.who} for event, reading in record.readings
        ],
        "photographs": [photo._asdict() for photo in record.photos],
        "board_repairs": [{"point": site.point, "kind": site.kind.value, "text": site.text} for site in record.sites],
        "done_without_reading": [event.as_data() for event in record.without_reading],
        "inputs": [{"name": name, "role": role, "sha256": sha256} for name, role, sha256 in record.inputs],
    }
    return _framed("record", record.situation.at_event, body, record.open_items, language)
