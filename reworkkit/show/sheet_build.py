"""Builds the bench sheet from the records: board, difference, verdicts, plan, situation."""

from collections.abc import Mapping
from itertools import pairwise

from reworkkit.model.board import Board, InputFile
from reworkkit.model.check_sheet import CheckSheet
from reworkkit.model.diagnosis import Diagnosis
from reworkkit.model.difference import Counts, Difference
from reworkkit.model.job import Situation
from reworkkit.model.job_input import board_id_of
from reworkkit.model.live import LiveRun
from reworkkit.model.messages import Finding, Message, NotJudged
from reworkkit.model.removal import DesolderPlan
from reworkkit.model.results import Conflict, HeatDemand, HoldPoint, OrientationVerdict, Plan
from reworkkit.model.states import facets_of
from reworkkit.model.vocabulary import Severity, Side
from reworkkit.show.check_text import TITLES, expected_words
from reworkkit.show.diagnose_sheet import diagnosis_card
from reworkkit.show.live_sheet import live_sheet
from reworkkit.show.sheet import (
    ConflictCard,
    Count,
    FindingLine,
    FunctionCard,
    FunctionRow,
    OpenQuestion,
    OperationCard,
    Sheet,
    SheetFile,
    Stretch,
    SurveyWord,
    WayOut,
)
from reworkkit.show.sheet_alerts import first_alerts
from reworkkit.show.sheet_holds import HoldCards
from reworkkit.show.sheet_places import Places, unlooked_items
from reworkkit.show.sheet_removal import Removals
from reworkkit.show.sheet_steps import StepMaker
from reworkkit.show.sheet_words import BASES, MODES, SEVERITIES, STATUSES, SURVEY_WORDS, Speaker, ref_list
from reworkkit.show.texts import area, sentence

DIGEST_SHOWN = 12
SCRIPT_PREFIX = "page-script-"
_ORDER = {Severity.STOP: 0, Severity.CHECK: 1, Severity.NOTE: 2}


def build_sheet(
    board: Board,
    difference: Difference,
    verdicts: tuple[OrientationVerdict, ...],
    plan: Plan,
    situation: Situation,
    *,
    language: str,
    version: str,
    job_id: str | None,
    copy: int,
    marks: Mapping[str, tuple[str, ...]] = {},
    heat: Mapping[str, HeatDemand] = {},
    hold_points: tuple[HoldPoint, ...] = (),
    live: LiveRun | None = None,
    functional: tuple[CheckSheet, ...] = (),
    removal: DesolderPlan | None = None,
    goods_in: CheckSheet | None = None,
    diagnosis: Diagnosis | None = None,
    done: frozenset[tuple[str, str]] = frozenset(),
    passed: frozenset[str] = frozenset(),
) -> Sheet:
    """Return the sheet of one copy of a board. `marks` is what is printed on each part, `heat` the demand per part."""
    speaker = Speaker(language)
    places = Places(board, difference, speaker)
    removals = Removals(removal, speaker)
    maker = StepMaker(board, difference, verdicts, situation, places, marks, heat, speaker, removals, hold_points, done)
    holds = HoldCards(board.facts.hold_points, hold_points, situation.confirmed, speaker, live, maker.known, passed)
    operations = maker.cards(plan, holds)
    unjudged = (*board.not_judged, *difference.not_judged, *plan.not_judged, *_questions(verdicts))
    return Sheet(
        language=language,
        version=version,
        name=board.name,
        revision=board.revision or "",
        copy=copy,
        job_id=job_id or "",
        at_event=situation.at_event or 0,
        board_id=board_id_of(board.name, board.parts),
        plan_id=plan.id,
        basis=_basis(situation, speaker),
        looked=situation.looked,
        counts=_counts(difference.counts, speaker),
        files=tuple(_file(file, speaker) for file in board.files),
        alerts=first_alerts(plan, hold_points, live, speaker),
        findings=_findings((*board.findings, *difference.findings, *plan.findings), speaker),
        conflicts=tuple(_conflict(conflict, speaker) for conflict in plan.conflicts),
        in_hand=_in_hand(operations),
        route=_route(operations),
        operations=operations,
        holds=holds.rest(),
        optimality=speaker.say(plan.optimality),
        regions=places.regions(difference.items or unlooked_items(board)),
        views=tuple(places.view(side) for side in (Side.TOP, Side.BOTTOM) if side in places.grids),
        legend=_legend(places, speaker),
        not_judged=_folded(unjudged, speaker),
        pictures=tuple(sorted(maker.pictures.items())),
        script_texts=_script_texts(language),
        state_words=tuple(
            SurveyWord(state, speaker.say(words), key, tuple((facets_of(state) or {}).items()))
            for state, words, key in SURVEY_WORDS
        ),
        live=live_sheet(live, board.name, board.revision or "", language) if live else None,
        functional=tuple(_function_card(one, speaker) for one in functional if one.checks and situation.looked),
        diagnosis=diagnosis_card(diagnosis, language) if diagnosis else None,
        goods_in=_function_card(goods_in, speaker) if goods_in and goods_in.checks and situation.looked else None,
    )


def _legend(places: Places, speaker: Speaker) -> tuple[tuple[str, str], ...]:
    used = {places.status.get(ref) for ref in places.spots}
    return tuple((status.value, speaker.say(words)) for status, words in STATUSES.items() if status in used)


def _basis(situation: Situation, speaker: Speaker) -> str:
    words = speaker.say(BASES[situation.basis])
    return words if situation.at_event is None else speaker.text("page-basis-at", basis=words, event=situation.at_event)


def _counts(counts: Counts, speaker: Speaker) -> tuple[Count, ...]:
    rows = (
        (Message("page-count-to-fit"), counts.to_fit, "all"),
        (Message("page-count-fitted"), counts.fitted, "fitted"),
        (Message("page-count-missing"), counts.missing, "missing"),
        (Message("page-count-to-replace"), counts.to_replace, "to_replace"),
        (Message("page-count-to-turn"), counts.to_turn, "to_turn"),
        (Message("page-count-not-inspected"), counts.not_inspected, "not_inspected"),
        (Message("page-count-unexpected"), counts.unexpected, "unexpected"),
        (Message("page-count-do-not-fit"), counts.do_not_fit, "do_not_fit"),
        (Message("page-count-not-parts"), counts.not_parts, "not_a_part"),
    )
    return tuple(Count(speaker.say(words), count, look) for words, count, look in rows if count or look == "all")


def _file(file: InputFile, speaker: Speaker) -> SheetFile:
    return SheetFile(file.name, file.role, file.sha256[:DIGEST_SHOWN], speaker.all(file.assumed))


def _function_card(sheet: CheckSheet, speaker: Speaker) -> FunctionCard:
    rows = tuple(
        FunctionRow(
            check.point.text,
            speaker.say(check.why),
            speaker.say(MODES[check.mode]),
            expected_words(check.expect, speaker.language),
        )
        for check in sheet.checks
    )
    return FunctionCard(sheet.purpose.value, speaker.say(TITLES[sheet.purpose]), speaker.alerts(sheet.alerts), rows)


def _in_hand(operations: tuple[OperationCard, ...]) -> OperationCard | None:
    """Return the operation in hand: the first with an open step, or a hold point between it and the last tick."""
    ticked = max((n for n, card in enumerate(operations) if any(step.done for step in card.steps)), default=-1)
    is_open = [
        not all(step.done for step in card.steps)
        if card.steps
        else n > ticked and not all(h.passed for h in card.holds)
        for n, card in enumerate(operations)
    ]
    return next((card for card, left in zip(operations, is_open, strict=True) if left), None)


def _route(operations: tuple[OperationCard, ...]) -> tuple[Stretch, ...]:
    starts = [n for n, card in enumerate(operations) if card.group or n == 0]
    runs = [operations[a:b] for a, b in pairwise((*starts, len(operations)))]
    return tuple(
        Stretch(run[0].group or run[0].title, run[0].key, _numbers(run[0].number, run[-1].number)) for run in runs
    )


def _numbers(first: int, last: int) -> str:
    return str(first) if first == last else f"{first}–{last}"


def _findings(findings: tuple[Finding, ...], speaker: Speaker) -> tuple[FindingLine, ...]:
    lines = [
        FindingLine(
            finding.severity.value,
            speaker.say(SEVERITIES[finding.severity]),
            speaker.say(finding.message),
            ", ".join(str(where) for where in finding.where),
            sentence(finding.message, speaker.language, "cure"),
        )
        for finding in sorted(findings, key=lambda finding: _ORDER[finding.severity])
    ]
    return tuple(dict.fromkeys(lines))


def _conflict(conflict: Conflict, speaker: Speaker) -> ConflictCard:
    ways = tuple(
        WayOut(speaker.say(way), speaker.say(price), n == conflict.recommended)
        for n, (way, price) in enumerate(conflict.ways_out)
    )
    return ConflictCard(speaker.all(conflict.constraints), ", ".join(str(n) for n in conflict.operations), ways)


def _questions(verdicts: tuple[OrientationVerdict, ...]) -> tuple[NotJudged, ...]:
    return tuple(verdict.question for verdict in verdicts if verdict.question)


def _folded(unjudged: tuple[NotJudged, ...], speaker: Speaker) -> tuple[OpenQuestion, ...]:
    causes: dict[str, list[NotJudged]] = {}
    for each in dict.fromkeys(unjudged):
        causes.setdefault(each.because.slug, []).append(each)
    return tuple(_open_question(group, speaker) for group in causes.values())


def _open_question(group: list[NotJudged], speaker: Speaker) -> OpenQuestion:
    first, alike = group[0], len({each.because for each in group}) == 1
    because = speaker.say(first.because)
    return OpenQuestion(
        speaker.say(first.question) if len(group) == 1 else speaker.text("page-answers-wait", count=len(group)),
        ref_list(about for each in group for about in each.about),
        because if alike else speaker.text("page-for-instance", text=because),
        tuple(dict.fromkeys(each.answer for each in group if each.answer)),
    )


def _script_texts(language: str) -> tuple[tuple[str, str], ...]:
    texts = {**area("en", "page"), **area(language, "page")}
    return tuple(
        (slug.removeprefix(SCRIPT_PREFIX), entry["sentence"])
        for slug, entry in texts.items()
        if slug.startswith(SCRIPT_PREFIX)
    )
