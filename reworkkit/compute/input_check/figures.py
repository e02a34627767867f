"""Figures of a verdict, each held against its limit."""

from collections.abc import Iterable
from functools import cache

from reworkkit.model.live import LiveCurve, Series
from reworkkit.model.messages import Finding, Message, NotJudged, message
from reworkkit.model.quantity import format_engineering
from reworkkit.model.sweep import InputVerdict, Sweep, SweepFigure
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis, ReadingVerdict
from reworkkit.tables import Row, rows, source


@cache
def limit_row(key: str) -> Row:
    """Return one row of `tables/input_limits.csv`."""
    return next(row for row in rows("input_limits") if row["key"] == key)


def limit(key: str) -> float:
    """Return a limit in the unit of its row."""
    return float(limit_row(key)["high"])


def held(key: str, channel: str, value: float, words: Message) -> SweepFigure:
    """Return a figure in the unit of its limit, held against it; `words` is the sentence."""
    row = limit_row(key)
    high = float(row["high"])
    verdict = ReadingVerdict.INSIDE if value <= high else ReadingVerdict.OUTSIDE
    band = Band(None, None, high, row["unit"], BandBasis.TABLE)
    return SweepFigure(key, channel, value, row["unit"], band, verdict, words, source(row["source"], row["place"]))


def noted(key: str, channel: str, value: float, unit: str, words: Message) -> SweepFigure:
    """Return a figure for which no limit is known."""
    return SweepFigure(key, channel, value, unit, None, ReadingVerdict.NOT_JUDGED, words)


def verdict(
    sweep: Sweep,
    kind: str,
    figures: Iterable[SweepFigure],
    curves: Iterable[LiveCurve],
    findings: Iterable[Finding] = (),
    not_judged: Iterable[NotJudged] = (),
) -> InputVerdict:
    """Return the verdict: outside where one figure is, inside where all that have a limit are, else not judged."""
    figures = tuple(figures)
    judged = [figure.verdict for figure in figures if figure.band is not None]
    state = ReadingVerdict.NOT_JUDGED
    if ReadingVerdict.OUTSIDE in judged:
        state = ReadingVerdict.OUTSIDE
    elif judged:
        state = ReadingVerdict.INSIDE
    return InputVerdict(
        state,
        kind,
        len(sweep.rows),
        figures,
        tuple(curves),
        (*sweep.findings, *findings),
        tuple(not_judged),
    )


def text(value: float, unit: str) -> str:
    """Return a value with its unit; values without unit as plain numbers."""
    return format_engineering(value, unit) if unit in ("V", "A", "ohm") else f"{value:.4g} {unit}".strip()


def share(value: float) -> str:
    """Return a percentage as text."""
    if abs(value) < 0.001:
        return "0 %"  # rounding of the arithmetic
    return f"{value:.3g} %" if value >= 10 else f"{value:.2g} %"


def curve(key: str, x_label: Message, unit: str, series: Iterable[Series]) -> LiveCurve:
    """Return what was logged as a chart."""
    title = message("sweep-curve") if key == "sweep" else message("sweep-curve-difference")
    y_label = message("sweep-axis-value", unit=unit or "-")
    return LiveCurve(key, title, x_label, y_label, unit, tuple(series))
