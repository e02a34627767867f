"""The printable record that goes with a finished board: one HTML file, no script, complete on paper."""

from collections.abc import Callable, Iterable
from typing import NamedTuple

from reworkkit.model.job import Event
from reworkkit.model.job_view import FinishedRecord, PlaceRecord
from reworkkit.model.measuring import Reading
from reworkkit.model.messages import message
from reworkkit.model.vocabulary import Place
from reworkkit.show.page import STYLES, environment, laid_in
from reworkkit.show.texts import sentence

TEMPLATE = "board-record.html.j2"
Rows = tuple[tuple[str, ...], ...]
Table = tuple[str, tuple[str, ...], Rows]
"""Title, headings, rows."""


class RecordPage(NamedTuple):
    """All that the record shows, as plain data: headings and rows of text."""

    language: str
    version: str
    name: str
    facts: tuple[tuple[str, str], ...]
    open_items: tuple[str, ...]
    tables: tuple[Table, ...]


def record_html(record: FinishedRecord, language: str, version: str) -> str:
    """Return the record of a finished board as one HTML page. Equal records give the same bytes."""
    page = record_page(record, language, version)
    return environment().get_template(TEMPLATE).render(page=page, say=_words(language), style=laid_in(*STYLES))


Say = Callable[[str], str]


def _words(language: str) -> Say:
    return lambda slug: sentence(message(slug), language)


def record_page(record: FinishedRecord, language: str, version: str) -> RecordPage:
    """Return the plain data of the page."""
    say = _words(language)
    info = record.info
    facts = (
        (say("record-board"), info.board_name),
        (say("record-revision"), info.revision or "-"),
        (say("record-copy"), str(record.situation.copy)),
        (say("record-serial"), record.serial or "-"),
        (say("record-job"), info.job_id),
        (say("record-begun"), f"{info.started_at} {info.started_by}"),
        (say("record-alloy-found"), info.alloy_found or say("record-not-stated")),
        (say("record-alloy-used"), info.alloy_used or say("record-not-stated")),
    )
    open_items = tuple(sentence(item.message, language) for item in record.open_items)
    return RecordPage(language, version, info.board_name, facts, open_items, tuple(_tables(record, say)))


def _tables(record: FinishedRecord, say: Say) -> Iterable[Table]:
    yield (
        say("record-places"),
        *_filled_columns(PLACE_HEADINGS, [_place_row(one) for one in record.places if _worth_a_row(one)]),
    )
    headings = ("point", "reading", "meter on", "leads", "stage", "at", "by")
    yield say("record-readings"), *_filled_columns(headings, _readings(record.readings))
    unread = tuple(
        (event.subject, str(event.detail.get("kind", "")), event.at, event.who) for event in record.without_reading
    )
    yield say("record-without-reading"), ("subject", "step", "at", "by"), unread
    photos = tuple((photo.subject or "-", photo.name, photo.sha256, photo.at, photo.who) for photo in record.photos)
    yield say("record-photographs"), ("of", "file", "sha-256", "at", "by"), photos
    sites = tuple((site.point, site.kind.value.replace("_", " "), site.text) for site in record.sites)
    yield say("record-repairs"), ("point", "what", "remark"), sites
    yield say("record-inputs"), ("file", "role", "sha-256"), record.inputs


PLACE_HEADINGS = (
    "place",
    "value",
    "package",
    "part number",
    "state",
    "way round",
    "made by",
    "worked on by",
    "proof",
    "substitute",
    "remark",
)


def _worth_a_row(place: PlaceRecord) -> bool:
    """Bare copper (test pads, holes, fiducials) has a row only where somebody did or wrote something there."""
    return place.fit != "not_a_part" or place.state.place is not Place.EMPTY or bool(place.by or place.state.note)


def _place_row(place: PlaceRecord) -> tuple[str, ...]:
    state = place.state
    told = (state.place.value, state.joint.value, state.part.value, state.fastening.value)
    left_empty = (place.fit,) if place.fit == "do_not_fit" else ()
    words = [word.replace("_", " ") for word in (*told, *left_empty) if word not in ("none", "good")]
    of_part = (state.way_round, state.made_by) if state.place is not Place.EMPTY else ()
    of_part_words = [facet.value.replace("_", " ") for facet in of_part] or ["", ""]
    substitute = f"{place.substitute}: {place.reason}" if place.substitute else ""
    return (
        *(place.ref, place.value, place.package, place.part_number, ", ".join(words)),
        *of_part_words,
        *(", ".join(place.by), place.proof, substitute, state.note),
    )


def _filled_columns(headings: tuple[str, ...], rows: list[tuple[str, ...]]) -> tuple[tuple[str, ...], Rows]:
    """Return headings and rows without the columns that are empty throughout: paper is narrow."""
    kept = [n for n in range(len(headings)) if any(row[n] for row in rows)]
    return tuple(headings[n] for n in kept), tuple(tuple(row[n] for n in kept) for row in rows)


def _readings(readings: Iterable[tuple[Event, Reading]]) -> list[tuple[str, ...]]:
    return [
        (
            *(reading.point, reading.text, reading.mode.value, "swapped" if reading.leads_swapped else ""),
            *(reading.hold_point or "unpowered", event.at, event.who),
        )
        for event, reading in readings
    ]
