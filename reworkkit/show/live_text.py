"""The live run on a terminal and as JSON: reasons to stop first, then each step, its warnings before its figures."""

from typing import TYPE_CHECKING

from reworkkit.model.live import LiveCurve, LiveFigure, LiveRun, LiveStep, LiveTable
from reworkkit.model.messages import Message, NotJudged, message
from reworkkit.model.vocabulary import AlertLevel
from reworkkit.show.curves import text_chart
from reworkkit.show.documents import Document, document, not_judged_document
from reworkkit.show.terminal import Report
from reworkkit.show.texts import sentence

if TYPE_CHECKING:
    from reworkkit.model.answer import Answer


def print_live(answer: "Answer[LiveRun]", language: str) -> None:
    """Print the run: nothing of it can be read before its first warnings and its reasons to stop."""
    report, run = Report(language), answer.result
    if answer.board.files:
        report.board_line(answer.board, answer.situation)
    else:
        report.say("live-alone", style="heading")
    report.say("live-title", style="heading")
    _print_state(report, run)
    for number, step in enumerate(run.steps, start=1):
        _print_step(report, number, step, run)
    if run.curves:
        report.screen.heading(report.words(message("live-curve-heading")))
        for curve in run.curves:
            _print_curve(report, curve)
    _print_answers(report, run)
    report.next_command("reworkkit liverun --sheet")


def _print_state(report: Report, run: LiveRun) -> None:
    report.screen.line(report.words(high_words(run)), "warning")
    if run.stops:
        report.screen.line(report.words(message("live-stop-heading", count=len(run.stops))), "warning")
        for stop in run.stops:
            report.screen.line(f"- {report.words(stop)}", "warning", indent=2)
    report.screen.line(report.words(confirm_words(run)), "" if run.state == "confirmed" else "caution")


def high_words(run: LiveRun) -> Message:
    """Return the sentence that says whether this is high energy; what is not known counts as high."""
    if run.high_energy is None:
        return message("live-high-open")
    return message("live-high") if run.high_energy else message("live-low")


def confirm_words(run: LiveRun) -> Message:
    """Return the sentence that says whether the warnings were confirmed, or how to."""
    if run.hold_point is None:
        return message("live-no-hold-point")
    if run.state == "confirmed":
        return message("live-is-confirmed", name=run.hold_point)
    return message("live-not-confirmed", name=run.hold_point)


def _print_step(report: Report, number: int, step: LiveStep, run: LiveRun) -> None:
    screen = report.screen
    screen.heading(f"{number}  {report.words(step.title)}")
    for level in AlertLevel:
        for alert in (text for of, text in step.alerts if of is level):
            screen.line(f"{level.value.upper()}: {report.words(alert)}", level.value, indent=3)
    for stop in step.stops:
        screen.line(f"{report.words(message('live-stop-word'))}: {report.words(stop)}", "warning", indent=3)
    for figure in step.figures:
        screen.line(report.words(figure.words), indent=3)
    for question in open_questions(step.not_judged, report.language):
        screen.line(question, "caution", indent=3)
    if origin := origin_of(step.figures, run):
        screen.line(report.words(message("live-from", lines=origin)), "quiet", indent=3)
    for todo in step.todo:
        screen.line(report.words(todo), indent=3)
    if step.table:
        _print_table(report, step.table)
    for blank in step.blanks:
        screen.line(f"[ ] {report.words(blank)}", indent=3)


def open_questions(questions: tuple[NotJudged, ...], language: str) -> tuple[str, ...]:
    """Return one line a question that stays open, with the keys that would answer it."""
    keys: dict[str, list[str]] = {}
    for one in questions:
        keys.setdefault(sentence(one.question, language), []).extend(one.about)
    return tuple(
        sentence(message("live-not-judged", question=asked, keys=", ".join(dict.fromkeys(about))), language)
        for asked, about in keys.items()
    )


def _print_answers(report: Report, run: LiveRun) -> None:
    """Print the lines that would answer what is not judged, once, at the end."""
    lines = tuple(dict.fromkeys(one.answer for one in run.not_judged if one.answer))
    if lines:
        report.screen.heading(report.words(message("live-to-write")))
        for line in lines:
            report.screen.line(line, indent=2)


def _print_table(report: Report, table: LiveTable) -> None:
    report.screen.line(report.words(table.title), indent=3)
    headings = [report.words(heading) for heading in table.headings]
    report.screen.table([row_words(row, report.language) for row in table.rows], headings)


def row_words(row: tuple[Message | str, ...], language: str) -> tuple[str, ...]:
    """Return the cells of a row in words."""
    return tuple(cell if isinstance(cell, str) else sentence(cell, language) for cell in row)


def origin_of(figures: tuple[LiveFigure, ...], run: LiveRun) -> str:
    """Return where the facts were written that the figures of a step hang on, each place once."""
    keys = dict.fromkeys(key for figure in figures for key in figure.needs)
    places: dict[str, list[str]] = {}
    for where in sorted({run.lines[key] for key in keys if run.lines.get(key)}, key=_by_line):
        file, colon, line = where.partition(":")
        places.setdefault(file, []).extend([line] if colon else [])
    return "; ".join(f"{file}:{','.join(lines)}" if lines else file for file, lines in places.items())


def _by_line(where: str) -> tuple[str, int]:
    file, _, line = where.partition(":")
    return file, int(line) if line.isdigit() else 0


def _print_curve(report: Report, curve: LiveCurve) -> None:
    report.screen.line(report.words(curve.title), indent=2)
    for line in text_chart(curve, report.language):
        report.screen.line(line, indent=2)


def live_json(answer: "Answer[LiveRun]", language: str) -> Document:
    """Return `reworkkit.liverun/1`."""
    run = answer.result
    body = {
        "state": run.state,
        "high_energy": run.high_energy,
        "hold_point": run.hold_point,
        "stop": [sentence(stop, language) for stop in run.stops],
        "steps": [_step_document(step, run, language) for step in run.steps],
        "curves": [_curve_document(curve, language) for curve in run.curves],
    }
    return document("liverun", answer.situation, run.findings, run.not_judged, body, language)


def _step_document(step: LiveStep, run: LiveRun, language: str) -> Document:
    return {
        "key": step.key,
        "title": sentence(step.title, language),
        "alerts": [
            {"level": level.value, "slug": text.slug, "sentence": sentence(text, language)}
            for level, text in step.alerts
        ],
        "stop": [sentence(stop, language) for stop in step.stops],
        "figures": [
            {
                "key": figure.key,
                "value": figure.value,
                "unit": figure.unit,
                "sentence": sentence(figure.words, language),
                "from": {key: run.lines.get(key) for key in figure.needs},
            }
            for figure in step.figures
        ],
        "do": [sentence(todo, language) for todo in step.todo],
        "blanks": [sentence(blank, language) for blank in step.blanks],
        "table": _table_document(step.table, language) if step.table else None,
        "not_judged": [not_judged_document(question, language) for question in step.not_judged],
    }


def _table_document(table: LiveTable, language: str) -> Document:
    return {
        "title": sentence(table.title, language),
        "headings": [sentence(heading, language) for heading in table.headings],
        "rows": [list(row_words(row, language)) for row in table.rows],
    }


def _curve_document(curve: LiveCurve, language: str) -> Document:
    return {
        "key": curve.key,
        "title": sentence(curve.title, language),
        "unit": curve.unit,
        "series": [
            {"name": sentence(one.name, language), "points": [list(point) for point in one.points]}
            for one in curve.series
        ],
    }


def live_is_open(answer: "Answer[LiveRun]") -> bool:
    """Return whether something stands against the run: a reason to stop, or no confirmation."""
    return answer.result.state != "confirmed"
