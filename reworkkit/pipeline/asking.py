"""One function a question. This is the public API: each takes a Request and returns an Answer."""

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from reworkkit.errors import ReworkkitError
from reworkkit.model.answer import Answer, SheetSource
from reworkkit.model.designator import canonical
from reworkkit.model.vocabulary import Severity
from reworkkit.pipeline.files import sheet_path
from reworkkit.pipeline.opening import Request, open_work
from reworkkit.pipeline.places import find_target, has_job
from reworkkit.pipeline.work import Work

if TYPE_CHECKING:
    from reworkkit.model.difference import Difference
    from reworkkit.model.live import LiveRun
    from reworkkit.model.messages import Finding
    from reworkkit.model.results import OrientationVerdict, Plan


def _worst_first(finding: "Finding") -> int:
    return list(Severity).index(finding.severity)


def audit(request: Request) -> "Answer[tuple[Finding, ...]]":
    """Return what is doubtful in the papers, worst first."""
    from reworkkit.pipeline.measured import readings_file, unread

    work = open_work(request)
    measured = readings_file(work.board, find_target(request.target, Path.cwd()))
    findings = sorted((*work.audit, *(unread(measured) if measured else ())), key=_worst_first)
    return Answer(work.board, work.situation, tuple(findings), request.target)


def diff(request: Request) -> "Answer[Difference]":
    """Return what is missing, to replace, to turn, not inspected and unexpected."""
    work = open_work(request)
    return Answer(work.board, work.situation, work.difference, request.target)


def polarity(request: Request) -> "Answer[tuple[OrientationVerdict, ...]]":
    """Return which way round each polarised part goes, as far as it is known."""
    work = open_work(request)
    return Answer(work.board, work.situation, work.verdicts, request.target)


def plan(request: Request) -> "Answer[Plan]":
    """Return the work order for what is still to do."""
    work = open_work(request)
    return Answer(work.board, work.situation, work.plan, request.target)


def plan_why(request: Request, ref: str) -> "tuple[Answer[Plan], str]":
    """Return the work order and the canonical designator asked about; raises ReworkkitError for an unknown one."""
    answer = plan(request)
    wanted = canonical(ref)
    if wanted not in answer.board.parts:
        raise ReworkkitError("unknown-ref", ref=wanted)
    return answer, wanted


def plan_what_if(request: Request, rule: str) -> "Answer[tuple[Plan, Plan]]":
    """Return the work order as it is and as it would be with one more rule."""
    work = open_work(request)
    order = work.board.facts.order
    facts = replace(work.board.facts, order=replace(order, rules=(*order.rules, rule)))
    other = Work(replace(work.board, facts=facts), work.situation)
    return Answer(work.board, work.situation, (work.plan, other.plan))


def report(request: Request, output: Path | None = None) -> tuple[SheetSource, Path]:
    """Return everything a bench sheet shows, and where the sheet goes."""
    from reworkkit.pipeline.diagnosing import page_diagnosis

    target = find_target(request.target, Path.cwd())
    work = open_work(request)
    source = SheetSource(
        work.board,
        work.situation,
        work.difference,
        work.verdicts,
        work.plan,
        work.marks,
        work.heat,
        work.hold_points,
        _job_id(target),
        _live_run(work, request),
        work.functional,
        work.removal,
        work.goods_in,
        page_diagnosis(work, target),
        *_done_and_passed(target, work.situation.copy),
    )
    return source, sheet_path(target, output)


def _live_run(work: Work, request: Request) -> "LiveRun | None":
    from reworkkit.pipeline.live import as_confirmed

    return as_confirmed(work.live_run, request) if work.live_run else None


def _done_and_passed(target: Path, copy: int) -> tuple[frozenset[tuple[str, str]], frozenset[str]]:
    if not has_job(target):
        return frozenset(), frozenset()
    from reworkkit.pipeline.recall import hold_points_now, steps_done

    return steps_done(target, copy), frozenset(hold.name for hold in hold_points_now(target, copy) if hold.passed)


def _job_id(target: Path) -> str | None:
    if not has_job(target):
        return None
    from reworkkit.pipeline.job import open_job

    return open_job(target).job_id
