"""Surveys: from the files and the job to the places still to look at, and back into the fitted list and the job."""

import shutil
from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from reworkkit.errors import ReworkkitError
from reworkkit.model.designator import natural_key
from reworkkit.model.survey import CANNOT_SEE, KINDS, Looks, Seen, Survey, TakenIn, kind_of
from reworkkit.model.vocabulary import EventKind, Fit, JointState, PartState, Place
from reworkkit.pipeline.places import begun_folder, find_target, folder_of_list, has_job

if TYPE_CHECKING:
    from reworkkit.model.board import Board, FittedList, FoundState
    from reworkkit.model.difference import Difference
    from reworkkit.model.job import PlaceState, Situation
    from reworkkit.model.job_view import Actor, Merged
    from reworkkit.pipeline.opening import Request

FITTED_NAME = "fitted.csv"
_OTHERS = {"empty": "empty", "fitted": "fitted", "not_inspected": "not looked at"}


@dataclass(frozen=True, slots=True)
class OpenSurvey:
    """A survey and what it rests on: the board, the folder (perhaps not made yet) and the list that is kept there.

    `lone` is the parts list that gets a folder with the first answer; `older` a fitted list that is no longer read
    once the survey has written its own; `copy` the physical board.
    """

    board: "Board"
    difference: "Difference"
    folder: Path
    file: Path
    copy: int
    survey: Survey
    lone: Path | None
    older: str
    job: bool


def open_survey(request: "Request", copy: int | None = None) -> OpenSurvey:
    """Return the survey of a board as far as it is; nothing is written."""
    from reworkkit.compute.situation import situation_of_files
    from reworkkit.pipeline.work import Work
    from reworkkit.read.folder import Answers, read_board

    target = begun_folder(find_target(request.target, Path.cwd()))
    job = has_job(target)
    chosen = _copy_of_job(target, copy) if job else copy or 1
    board = read_board(target, Answers(request.columns, request.encoding))
    situation = _situation(target, chosen) if job else situation_of_files(board, chosen)
    folder = target if target.is_dir() else folder_of_list(target)
    file, older = _list_file(board, folder)
    survey = _survey(board, situation, file, chosen)
    lone = None if target.is_dir() else target
    return OpenSurvey(board, Work(board, situation).difference, folder, file, chosen, survey, lone, older, job)


def _copy_of_job(folder: Path, copy: int | None) -> int:
    from reworkkit.pipeline.job import open_job
    from reworkkit.pipeline.recall import chosen_copy

    return chosen_copy(open_job(folder), copy)


def _situation(folder: Path, copy: int) -> "Situation":
    from reworkkit.pipeline.recall import situation_of_job

    return situation_of_job(folder, copy)


def _list_file(board: "Board", folder: Path) -> tuple[Path, str]:
    """Return the file that the survey keeps, and the name of an older list that it takes the place of."""
    read = next((file.name for file in board.files if file.role == "fitted"), "")
    if read.lower().endswith(".csv"):
        return folder / read, ""
    if board.facts.files.fitted:
        raise ReworkkitError("survey-list-not-csv", file=read)
    return folder / FITTED_NAME, read


# ---- what the fitted list and the job know already


def _survey(board: "Board", situation: "Situation", file: Path, copy: int) -> Survey:
    from reworkkit.compute.survey_route import survey_routes

    routes = survey_routes(board, situation.reworked)
    places = [ref for region in routes[0] for ref in region.refs]
    fitted = board.fitted
    rows = fitted.states if fitted else ()
    numbered = copy > 1 or any(row.copy is not None for row in rows)
    number = copy if numbered else None
    named = set(places)
    own = [row for row in rows if row.copy == number and row.ref in named]
    shared = [row for row in rows if numbered and row.copy is None and row.ref in named]
    inherited = _looks_of_rows(shared) if numbered else {}
    looks = {**inherited, **_with_kept(_looks_of_rows(own), file, number)}
    looks |= {ref: Looks(seen) for ref in places if ref not in looks and (seen := _unnamed(board, fitted, ref))}
    if situation.at_event is not None:
        known = {ref: state for ref, state in situation.states.items() if state.place is not Place.NOT_INSPECTED}
        looks |= {ref: Looks(_seen(known[ref])) for ref in places if ref in known and ref not in looks}
    others = _OTHERS[fitted.others] if fitted and fitted.others_stated else _OTHERS["not_inspected"]
    kept = tuple(row for row in rows if row.copy != number or row.ref not in named)
    return Survey(routes, looks, others, number, inherited, kept)


def _looks_of_rows(rows: "Iterable[FoundState]") -> dict[str, Looks]:
    found: dict[str, list[FoundState]] = {}
    for row in rows:
        found.setdefault(row.ref, []).append(row)
    looks = {}
    for ref, said in found.items():
        facets = {facet: value for row in said for facet, value in row.facets}
        word = ", ".join(dict.fromkeys(row.word for row in said if row.word)) or CANNOT_SEE
        note = "; ".join(dict.fromkeys(row.note for row in said if row.note))
        looks[ref] = Looks(Seen(word, kind_of(facets), note))
    return looks


def _with_kept(rows: dict[str, Looks], file: Path, number: int | None) -> dict[str, Looks]:
    """Return the looks with those that an earlier survey kept; a row changed by hand since settles its place."""
    from reworkkit.read.survey_file import read_kept_looks

    kept: dict[str, dict[int, Seen]] = {}
    for one in read_kept_looks(file, file.name) if file.is_file() else ():
        if one.copy == number:
            kept.setdefault(one.ref, {})[one.look] = one.seen
    looks = dict(rows)
    for ref, seen in kept.items():
        row = rows.get(ref, Looks()).first
        before = Looks(seen.get(0, row), seen.get(1), seen.get(2))
        stands = before.stands
        by_hand = row is not None and stands is not None and row.kind != stands.kind
        looks[ref] = before._replace(third=row) if by_hand else before
    return looks


def _unnamed(board: "Board", fitted: "FittedList | None", ref: str) -> Seen | None:
    """Return what the line `others: ...` says of a place, where somebody wrote one."""
    if fitted is None or not fitted.others_stated or fitted.others == "not_inspected":
        return None
    kind = fitted.others if board.parts[ref].fit is Fit.FIT else "empty"
    return Seen(kind, kind)


def _seen(state: "PlaceState") -> Seen:
    facets = {"place": state.place.value, "part": state.part.value, "way_round": state.way_round.value}
    kind = kind_of(facets)
    return Seen(_word(state) or kind if kind in ("fitted", "empty") else kind, kind, state.note)


def _word(state: "PlaceState") -> str:
    """Return the word of a state that says more than there or empty; else nothing."""
    if state.place is Place.EMPTY:
        parts = {PartState.TEMPORARY_LINK: "link", PartState.REMOVED_ON_PURPOSE: "removed"}
        return parts.get(state.part, "")
    return {JointState.LEG_LIFTED: "leg lifted", JointState.TACKED: "tacked"}.get(state.joint, "")


# ---- keeping it


def prepare(opened: OpenSurvey) -> tuple[OpenSurvey, str]:
    """Make what the first answer needs: the folder of a lone list, a spare copy of a list that a person wrote.

    Return the survey with its folder, and the name of the spare copy where one was made.
    """
    from reworkkit.read.survey_file import kept_by_survey
    from reworkkit.record.new_folder import folder_for

    spare = ""
    if opened.lone is not None:
        folder = folder_for(opened.lone)
        opened = replace(opened, folder=folder, file=folder / opened.file.name, lone=None)
    if opened.file.is_file() and not kept_by_survey(opened.file):
        path = opened.file.with_name(f"{opened.file.name}.before-survey")
        if not path.exists():
            shutil.copyfile(opened.file, path)
            spare = path.name
    return opened, spare


def record_found(opened: OpenSurvey, survey: Survey, actor: "Actor") -> int:
    """Bring the job in step with the list that the survey kept: an event `found` for each place that differs.

    Return how many. What was worked on since stands as the job has it.
    """
    from reworkkit.pipeline.job import make_event, together
    from reworkkit.record.job_store import JOB_FILE, JobStore

    new = _found_in_list(opened, survey)
    with JobStore.open(opened.folder / JOB_FILE, writing=True) as store, store.acting():
        found = store.standing_events("found", opened.copy)
        before: dict[str, object] = {one.subject: (one.detail["facets"], one.detail["note"]) for one in found}
        events = [
            make_event(actor, opened.copy, EventKind.FOUND, ref, {"facets": facets, "note": note})
            for ref, (facets, note) in new.items()
            if before.get(ref) != (facets, note)
        ]
        return len(store.append(together(events)))


def _found_in_list(opened: OpenSurvey, survey: Survey) -> dict[str, tuple[dict[str, str], str]]:
    """Return what the list says now of each place that was looked at, in the way the job stores it."""
    from reworkkit.compute.situation import situation_of_files
    from reworkkit.model.job_input import BeginInput, FoundCopy
    from reworkkit.pipeline.beginning import places_of_board
    from reworkkit.read.folder import read_board
    from reworkkit.record.projection import base_state
    from reworkkit.record.snapshot import facets_data, found_facets

    board = read_board(opened.folder)
    states = situation_of_files(board, opened.copy).states
    looked = [states[ref] for ref in survey.places if ref in states and survey.looks.get(ref, Looks()).stands]
    places = places_of_board(board)
    begun = BeginInput("", "", "", "", 1, places, (), (FoundCopy(opened.copy, tuple(looked)),))
    polarised = {place.ref: place.polarised for place in places}
    base = {one.ref: (facets_data(base_state(one.ref, polarised.get(one.ref, "unknown"))), "") for one in looked}
    return base | found_facets(begun, opened.copy)


# ---- taking in a sheet or a page


def source_bytes(source: str) -> tuple[bytes, str]:
    """Return the bytes of a file, or of the pasted text itself, and the name they are called by."""
    from reworkkit.read.text import read_bytes

    if "{" in source and not Path(source[:250]).is_file():
        return source.encode(), "pasted text"
    path = Path(source)
    if not path.is_file():
        raise ReworkkitError("no-such-file", file=source)
    return read_bytes(path, path.name), path.name


def is_page_state(data: bytes) -> bool:
    """Return whether a file or pasted text is what the page saves, and not a sheet."""
    text = data.decode("utf-8-sig", "replace")
    return text.lstrip().startswith("{") or ('"events"' in text and '"format"' in text)


def take_in(opened: OpenSurvey, data: bytes, name: str) -> TakenIn:
    """Return the survey with what a filled-in sheet, plain lines or the page's file say of its places.

    A place that had no answer takes this one. An answer that differs from the one there is counts as the second
    look: it changes nothing by itself, and shows as a disagreement.
    """
    answers = _answers_of_page(opened, data) if is_page_state(data) else _answers_of_sheet(opened, data, name)
    taken = _taken(opened, answers)
    if not taken.answers and not taken.known:
        raise ReworkkitError("survey-nothing-read", file=name)
    return taken


def with_page(opened: OpenSurvey, data: bytes) -> Survey:
    """Return the survey with what the page's file says of its places, which may be nothing."""
    return _taken(opened, _answers_of_page(opened, data)).survey


def _taken(opened: OpenSurvey, answers: "_Answers") -> TakenIn:
    survey, places = opened.survey, set(opened.survey.places)
    taken = known = 0
    for ref, look, seen in answers:
        if ref in places:
            after = _answered(survey, ref, look, seen)
            taken, known = (taken, known + 1) if after is survey else (taken + 1, known)
            survey = after
    strange = tuple(sorted({ref for ref, _, _ in answers} - set(opened.board.parts), key=natural_key))
    return TakenIn(survey, taken, known, survey.disagreements, strange)


_Answers = list[tuple[str, int, Seen]]


def _answers_of_sheet(opened: OpenSurvey, data: bytes, name: str) -> _Answers:
    from reworkkit.read.survey_file import read_filled_sheet

    kinds = {ref: part.identity.kind for ref, part in opened.board.parts.items()}
    rows = [row for row in read_filled_sheet(data, name, kinds) if row.copy in (None, opened.copy)]
    return [(ref, 0, looks.first) for ref, looks in _looks_of_rows(rows).items() if looks.first]


def _answers_of_page(opened: OpenSurvey, data: bytes) -> _Answers:
    from reworkkit.model.job_input import board_id_of
    from reworkkit.record.merge import parse_page_state

    page = parse_page_state(data.decode("utf-8-sig", "replace"))
    board = opened.board
    if page.board_id != board_id_of(board.name, board.parts):
        raise ReworkkitError("merge-other-board", board=board.name)
    undone = {event.undoes for event in page.events if event.undoes}
    last: dict[tuple[str, int], Seen] = {}
    for event in page.events:
        if event.kind is EventKind.FOUND and event.id not in undone and event.copy == opened.copy:
            facets = event.detail["facets"]
            kind = kind_of(facets) if isinstance(facets, dict) else CANNOT_SEE
            look = 1 if event.detail.get("look") == 2 else 0
            last[(event.subject, look)] = Seen(kind, kind, str(event.detail.get("note") or ""))
    return [(ref, look, seen) for (ref, look), seen in sorted(last.items(), key=lambda one: one[0][1])]


def _answered(survey: Survey, ref: str, look: int, seen: Seen) -> Survey:
    """Return the survey with one answer, or the same survey where it says nothing new."""
    looks = survey.looks.get(ref, Looks())
    if looks[look] is None and (look == 0 or looks.first is not None):
        return survey.answered(ref, look, seen)
    if look == 1 and looks.first is None:
        return survey.answered(ref, 0, seen)
    if seen.kind in (CANNOT_SEE, *(one.kind for one in looks if one)):
        return survey
    return survey.answered(ref, 1, seen) if looks.second is None else survey


def merge_page(request: "Request", opened: OpenSurvey, data: bytes, actor: "Actor") -> "tuple[Merged, OpenSurvey]":
    """Take the page's file into the job, ticks and all; return what that did and the survey as it is then."""
    from reworkkit.pipeline.job import merge

    merged = merge(opened.folder, data.decode("utf-8-sig", "replace"), actor)
    return merged, open_survey(request, opened.copy)


def counts_of(survey: Survey) -> dict[str, int]:
    """Return how many places count as what, by kind; those without an answer under `waiting`."""
    counts = dict.fromkeys((*KINDS, "waiting"), 0)
    for ref in survey.places:
        stands = survey.looks.get(ref, Looks()).stands
        counts[stands.kind if stands else "waiting"] += 1
    return counts
