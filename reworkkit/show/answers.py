"""One function for each way an answer is shown; findings of the files and of the result come together here."""

import sys
from typing import TYPE_CHECKING

from reworkkit import __version__
from reworkkit.model.messages import Finding
from reworkkit.model.vocabulary import DiffStatus, PolarityVerdict, Severity
from reworkkit.show import documents, plan_text, spreadsheet
from reworkkit.show.following import after_plan
from reworkkit.show.terminal import Report

if TYPE_CHECKING:
    from pathlib import Path

    from reworkkit.model.answer import Answer, SheetSource
    from reworkkit.model.difference import Difference
    from reworkkit.model.job_view import FinishedRecord
    from reworkkit.model.results import OrientationVerdict, Plan

DIFF_HEADINGS = ("ref", "status", "value", "package", "part_number", "file", "line", "note")


def audit_json(answer: "Answer[tuple[Finding, ...]]", language: str) -> documents.Document:
    """Return `reworkkit.audit/1`."""
    return documents.audit_document(answer.situation, _all(answer, answer.result), language)


def print_audit(answer: "Answer[tuple[Finding, ...]]", language: str, every: bool) -> None:
    """Print the audit, worst first."""
    Report(language, named=answer.named).audit(answer.board, answer.situation, _all(answer, answer.result), every)


def audit_is_open(answer: "Answer[tuple[Finding, ...]]") -> bool:
    """Return whether a finding asks for a look or for a stop."""
    return any(finding.severity is not Severity.NOTE for finding in _all(answer, answer.result))


def diff_json(answer: "Answer[Difference]", language: str) -> documents.Document:
    """Return `reworkkit.diff/1`."""
    result = answer.result
    not_judged = (*answer.board.not_judged, *result.not_judged)
    return documents.diff_document(answer.situation, result, _all(answer, result.findings), not_judged, language)


def print_diff(answer: "Answer[Difference]", language: str) -> None:
    """Print the difference."""
    result = answer.result
    Report(language, named=answer.named).diff(answer.board, answer.situation, result, _all(answer, result.findings))


def print_diff_csv(answer: "Answer[Difference]") -> None:
    """Print the difference as CSV."""
    rows = (item._replace(status=item.status) for item in answer.result.items)
    sys.stdout.write(spreadsheet.table_text(DIFF_HEADINGS, rows))


def diff_is_open(answer: "Answer[Difference]") -> bool:
    """Return whether something is still to do or unexplained."""
    done = (DiffStatus.FITTED, DiffStatus.DO_NOT_FIT, DiffStatus.NOT_A_PART)
    return any(item.status not in done for item in answer.result.items)


def polarity_json(answer: "Answer[tuple[OrientationVerdict, ...]]", language: str) -> documents.Document:
    """Return `reworkkit.polarity/1`."""
    from reworkkit.show.polarity_text import polarity_document

    return polarity_document(answer.situation, answer.result, _all(answer, ()), language)


def print_polarity(answer: "Answer[tuple[OrientationVerdict, ...]]", language: str) -> None:
    """Print the orientation of each polarised part."""
    from reworkkit.show.polarity_text import print_polarity_text

    print_polarity_text(Report(language, named=answer.named), answer.board, answer.situation, answer.result)


def polarity_is_open(answer: "Answer[tuple[OrientationVerdict, ...]]") -> bool:
    """Return whether a part contradicts the circuit or has no note."""
    still_open = (PolarityVerdict.CONTRADICTS, PolarityVerdict.NO_NOTE)
    return any(verdict.verdict in still_open for verdict in answer.result)


def plan_json(answer: "Answer[Plan]", language: str) -> documents.Document:
    """Return `reworkkit.plan/1`."""
    return documents.plan_document(answer.situation, answer.result, _all(answer, answer.result.findings), language)


def print_plan(answer: "Answer[Plan]", language: str) -> None:
    """Print the work order."""
    plan_text.print_plan(Report(language, named=answer.named), answer)


def print_why(answer: "Answer[Plan]", ref: str, language: str) -> None:
    """Print why a part stands where it does in the work order."""
    plan_text.print_why(Report(language, named=answer.named), answer, ref)


def print_what_if(answer: "Answer[tuple[Plan, Plan]]", language: str) -> None:
    """Print what one more rule would change."""
    plan_text.print_what_if(Report(language, named=answer.named), *answer.result)


def sheet_html(source: "SheetSource", language: str) -> str:
    """Return the bench sheet as one HTML file."""
    from reworkkit.show.page import render_sheet
    from reworkkit.show.sheet_build import build_sheet

    sheet = build_sheet(
        source.board,
        source.difference,
        source.verdicts,
        source.plan,
        source.situation,
        language=language,
        version=__version__,
        job_id=source.job_id,
        copy=source.situation.copy,
        marks=source.marks,
        heat=source.heat,
        hold_points=source.hold_points,
        live=source.live,
        functional=source.functional,
        removal=source.removal,
        goods_in=source.goods_in,
        diagnosis=source.diagnosis,
        done=source.done,
        passed=source.passed,
    )
    return render_sheet(sheet)


def record_html(record: "FinishedRecord", language: str) -> str:
    """Return the record of a finished board as one HTML file."""
    from reworkkit.show.record_page import record_html as html

    return html(record, language, __version__)


def print_record_written(path: "Path", language: str) -> None:
    """Print where the record was written."""
    Report(language).say("record-written", path=str(path))


def print_sheet_written(source: "SheetSource", path: "Path", language: str, named: "Path | None" = None) -> None:
    """Print where the bench sheet was written."""
    report = Report(language, named=named)
    report.say("sheet-written", path=str(path))
    report.next_command(after_plan(source.board, source.situation))


def _all(answer: "Answer[object]", own: tuple[Finding, ...]) -> tuple[Finding, ...]:
    return (*answer.board.findings, *own)
