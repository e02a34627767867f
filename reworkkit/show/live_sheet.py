"""The live run as plain data for the page and for the sheet to print: one A4 that begins with warnings and blanks."""

from pathlib import Path
from typing import NamedTuple

from reworkkit import __version__
from reworkkit.model.live import LiveCurve, LiveRun, LiveStep
from reworkkit.model.vocabulary import AlertLevel
from reworkkit.show.curves import chart_headings, chart_rows, svg_chart
from reworkkit.show.live_text import confirm_words, high_words, open_questions, origin_of, row_words
from reworkkit.show.terminal import Report
from reworkkit.show.texts import sentence


class LiveStepCard(NamedTuple):
    """One step in words: its warnings and cautions first, then reasons to stop, figures, what to do, blanks."""

    key: str
    number: int
    title: str
    warnings: tuple[str, ...]
    cautions: tuple[str, ...]
    stops: tuple[str, ...]
    blanks: tuple[str, ...]
    figures: tuple[str, ...]
    origin: str
    todo: tuple[str, ...]
    open: tuple[str, ...]
    table_title: str
    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


class ChartCard(NamedTuple):
    """One chart: the drawing as SVG text made by this project, and the table that says the same."""

    title: str
    svg: str
    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


class LiveSheet(NamedTuple):
    """All that the page and the printed sheet show of the live run."""

    name: str
    revision: str
    state: str
    high: str
    confirm: str
    stops: tuple[str, ...]
    steps: tuple[LiveStepCard, ...]
    charts: tuple[ChartCard, ...]
    version: str


def live_sheet(run: LiveRun, name: str, revision: str, language: str) -> LiveSheet:
    """Return the run in words."""
    return LiveSheet(
        name,
        revision,
        run.state,
        sentence(high_words(run), language),
        sentence(confirm_words(run), language),
        tuple(sentence(stop, language) for stop in run.stops),
        tuple(_card(number, step, run, language) for number, step in enumerate(run.steps, start=1)),
        tuple(_chart(curve, language) for curve in run.curves),
        __version__,
    )


def _card(number: int, step: LiveStep, run: LiveRun, language: str) -> LiveStepCard:
    def said(level: AlertLevel) -> tuple[str, ...]:
        return tuple(sentence(text, language) for of, text in step.alerts if of is level)

    table = step.table
    return LiveStepCard(
        step.key,
        number,
        sentence(step.title, language),
        said(AlertLevel.WARNING),
        said(AlertLevel.CAUTION),
        tuple(sentence(stop, language) for stop in step.stops),
        tuple(sentence(blank, language) for blank in step.blanks),
        tuple(sentence(figure.words, language) for figure in step.figures),
        origin_of(step.figures, run),
        tuple(sentence(todo, language) for todo in step.todo),
        open_questions(step.not_judged, language),
        sentence(table.title, language) if table else "",
        tuple(sentence(heading, language) for heading in table.headings) if table else (),
        tuple(row_words(row, language) for row in table.rows) if table else (),
    )


def _chart(curve: LiveCurve, language: str) -> ChartCard:
    return ChartCard(
        sentence(curve.title, language),
        svg_chart(curve, language),
        chart_headings(curve, language),
        tuple(chart_rows(curve)),
    )


def print_written(path: Path, language: str) -> None:
    """Print where the sheet was written."""
    Report(language).say("live-sheet-written", file=str(path))
