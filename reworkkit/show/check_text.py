"""`checks` on a terminal and as JSON: alerts first, then each probe with what to expect and a place for the reading."""

from typing import TYPE_CHECKING

from reworkkit.model.check_sheet import CheckSheet
from reworkkit.model.measuring import Check, Expectation
from reworkkit.model.messages import Message, message
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import Basis, CheckPurpose, Mode, ReadingForm
from reworkkit.show.bare_text import print_bare
from reworkkit.show.documents import Document, band_document, document, finding_document, not_judged_document
from reworkkit.show.stage_text import group_documents, print_groups
from reworkkit.show.terminal import Report
from reworkkit.show.texts import band_text, sentence

if TYPE_CHECKING:
    from reworkkit.model.answer import Answer

TITLES: dict[CheckPurpose, Message] = {
    CheckPurpose.INPUT: message("checks-title-input"),
    CheckPurpose.OUTPUT: message("checks-title-output"),
    CheckPurpose.GOODS_IN: message("checks-title-goods-in"),
    CheckPurpose.BARE_PLACE: message("checks-title-bare-place"),
    CheckPurpose.POWER_STAGE: message("checks-title-power-stage"),
}
MODE_WORDS: dict[Mode, Message] = {
    Mode.VOLTS: message("checks-mode-volts"),
    Mode.OHMS: message("checks-mode-ohms"),
    Mode.DIODE: message("checks-mode-diode"),
    Mode.AMPS: message("checks-mode-amps"),
    Mode.CONTINUITY: message("checks-mode-continuity"),
    Mode.CELSIUS: message("checks-mode-celsius"),
    Mode.LOOK: message("checks-mode-look"),
}
FORM_WORDS: dict[ReadingForm, Message] = {
    ReadingForm.VALUE: message("checks-form-value"),
    ReadingForm.OVER_RANGE: message("checks-form-over-range"),
    ReadingForm.RISING: message("checks-form-rising"),
    ReadingForm.JUMPS: message("checks-form-jumps"),
}


def print_checks(answer: "Answer[tuple[CheckSheet, ...]]", language: str) -> None:
    """Print the probes of each purpose, warnings before the first probe."""
    report = Report(language)
    report.board_line(answer.board, answer.situation)
    for sheet in answer.result:
        _print_sheet(report, sheet)
    goods = all(sheet.purpose is CheckPurpose.GOODS_IN for sheet in answer.result)
    if goods:
        report.say("goods-in-odd", style="quiet")
        report.next_command("reworkkit next" if answer.situation.basis is Basis.JOB else "reworkkit plan")
    else:
        report.next_command("reworkkit reading POINT VALUE")


def _print_sheet(report: Report, sheet: CheckSheet) -> None:
    report.screen.heading(f"{report.words(TITLES[sheet.purpose])} ({len(sheet.checks)})")
    if not sheet.checks:
        report.say("checks-none", indent=2)
    if sheet.groups:
        print_groups(report, sheet)
    elif sheet.purpose is CheckPurpose.BARE_PLACE:
        print_bare(report, sheet)
    else:
        print_probes(report, sheet)
    report.findings(sheet.findings)
    report.not_judged(sheet.not_judged)


def print_probes(report: Report, sheet: CheckSheet) -> None:
    """Print the alerts of a sheet, then each probe with what to expect and a place for the reading."""
    for level, alert in sheet.alerts:
        report.screen.line(f"{level.value.upper()}: {report.words(alert)}", level.value, indent=2)
    rows = [row for number, check in enumerate(sheet.checks, start=1) for row in _rows(report, number, check)]
    report.screen.table(rows)


def _rows(report: Report, number: int, check: Check) -> tuple[tuple[str, str], tuple[str, str]]:
    """Return what to do, and below it how to measure and the place for the reading."""
    expect = expected_words(check.expect, report.language)
    swapped = expected_words(check.swapped, report.language)
    parts = [report.words(MODE_WORDS[check.mode])]
    parts += [report.words(message("checks-expect", expect=expect))] if expect else []
    if swapped and check.swapped != check.expect:
        parts.append(report.words(message("checks-swapped", expect=swapped)))
    parts += [report.words(message("checks-blank"))]
    return (str(number), f"{check.point.text}: {report.words(check.why)}"), ("", "; ".join(parts))


def expected_words(expect: Expectation | None, language: str) -> str:
    """Return what a probe should show, in words; empty where nothing is expected."""
    if expect is None:
        return ""
    return band_text(expect) if isinstance(expect, Band) else sentence(FORM_WORDS[expect], language)


def checks_json(answer: "Answer[tuple[CheckSheet, ...]]", language: str) -> Document:
    """Return `reworkkit.checks/1`: the sheets by purpose, each with its checks."""
    sheets = answer.result
    body = {"sheets": [_sheet_document(sheet, language) for sheet in sheets]}
    findings = [finding for sheet in sheets for finding in sheet.findings]
    open_questions = [question for sheet in sheets for question in sheet.not_judged]
    return document("checks", answer.situation, findings, open_questions, body, language)


def _sheet_document(sheet: CheckSheet, language: str) -> Document:
    return {
        "purpose": sheet.purpose.value,
        "alerts": [{"level": level.value, "sentence": sentence(text, language)} for level, text in sheet.alerts],
        "checks": [check_document(check, language) for check in sheet.checks],
        "groups": group_documents(sheet, language),
        "findings": [finding_document(finding, language) for finding in sheet.findings],
        "not_judged": [not_judged_document(question, language) for question in sheet.not_judged],
    }


def check_document(check: Check, language: str) -> Document:
    """Return one probe as plain data."""
    return {
        "id": check.id,
        "purpose": check.purpose.value,
        "point": check.point.text,
        "mode": check.mode.value,
        "hold_point": check.hold_point,
        "expect": _expect_document(check.expect),
        "swapped": _expect_document(check.swapped),
        "refs": list(check.refs),
        "fitted_digest": check.fitted_digest,
        "why": sentence(check.why, language),
        "cost": check.cost,
    }


def _expect_document(expect: Expectation | None) -> object:
    return band_document(expect) if isinstance(expect, Band) else (expect.value if expect else None)
