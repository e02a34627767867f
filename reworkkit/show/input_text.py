"""`input-check` on a terminal, as JSON and as SVG: the verdict first, the worst figures before the rest."""

from pathlib import Path

from reworkkit.model.job import Situation
from reworkkit.model.messages import message
from reworkkit.model.sweep import InputVerdict, SweepFigure
from reworkkit.model.vocabulary import Basis, ReadingVerdict
from reworkkit.show.curves import chart_headings, chart_rows, svg_file, text_chart
from reworkkit.show.documents import Document, band_document, document
from reworkkit.show.terminal import Report
from reworkkit.show.texts import sentence

_STATES = {
    ReadingVerdict.INSIDE: message("sweep-inside"),
    ReadingVerdict.OUTSIDE: message("sweep-outside"),
    ReadingVerdict.NOT_JUDGED: message("sweep-open"),
}
_WORDS = {
    ReadingVerdict.INSIDE: message("sweep-word-inside"),
    ReadingVerdict.OUTSIDE: message("sweep-word-outside"),
    ReadingVerdict.NOT_JUDGED: message("sweep-word-noted"),
}
_ORDER = (ReadingVerdict.OUTSIDE, ReadingVerdict.INSIDE, ReadingVerdict.NOT_JUDGED)


def print_input(verdict: InputVerdict, file: str, language: str) -> None:
    """Print the verdict, each figure with its limit, and the charts."""
    report = Report(language)
    report.say("sweep-title", style="heading", file=file, samples=verdict.samples)
    style = "warning" if verdict.state is ReadingVerdict.OUTSIDE else ""
    report.screen.line(report.words(_STATES[verdict.state]), style)
    report.screen.line()
    figures = sorted(verdict.figures, key=lambda figure: _ORDER.index(figure.verdict))
    report.screen.table([_row(figure, language) for figure in figures], widest=16)
    report.say("sweep-limits-from", style="quiet")
    report.findings(verdict.findings)
    for curve in verdict.curves:
        report.screen.heading(report.words(curve.title))
        for line in text_chart(curve, language):
            report.screen.line(line)
    report.screen.line()
    for question in verdict.not_judged:
        report.not_judged((question,))


def _row(figure: SweepFigure, language: str) -> tuple[str, str, str]:
    high = figure.band.high if figure.band and not figure.key.startswith("window") else None
    limit = "" if high is None else sentence(message("sweep-limit", limit=high, unit=figure.unit), language)
    return sentence(_WORDS[figure.verdict], language), limit, sentence(figure.words, language)


def input_json(verdict: InputVerdict, language: str) -> Document:
    """Return `reworkkit.input-check/1`."""
    body = {
        "verdict": verdict.state.value,
        "kind": verdict.kind,
        "samples": verdict.samples,
        "figures": [
            {
                "key": figure.key,
                "channel": figure.channel,
                "value": figure.value,
                "unit": figure.unit,
                "limit": band_document(figure.band),
                "verdict": figure.verdict.value,
                "sentence": sentence(figure.words, language),
                "source": figure.source.key if figure.source else None,
            }
            for figure in verdict.figures
        ],
        "curves": [
            {"key": curve.key, "headings": list(chart_headings(curve, language)), "rows": chart_rows(curve)}
            for curve in verdict.curves
        ],
    }
    no_board = Situation(1, Basis.FILES, None, {})
    return document("input-check", no_board, verdict.findings, verdict.not_judged, body, language)


def plot_svg(verdict: InputVerdict, language: str) -> str:
    """Return the charts as one SVG file."""
    return svg_file(verdict.curves, language)


def print_plot_written(path: Path, language: str) -> None:
    """Print where the charts were written."""
    Report(language).say("sweep-plot-written", file=str(path))


def input_is_open(verdict: InputVerdict) -> bool:
    """Return whether something is outside its limit, or nothing was judged."""
    return verdict.state is not ReadingVerdict.INSIDE
