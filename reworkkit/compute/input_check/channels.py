"""A position input: each channel for itself, then the two against each other."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from reworkkit.compute.input_check import shape
from reworkkit.compute.input_check.figures import curve, held, limit, noted, share, text, verdict
from reworkkit.model.live import LiveCurve, Series
from reworkkit.model.messages import Finding, Message, NotJudged, message
from reworkkit.model.sweep import Channel, InputVerdict, Sweep, SweepFacts, SweepFigure
from reworkkit.model.values import Where
from reworkkit.model.vocabulary import Severity


class Clean(NamedTuple):
    """A channel with its drop-outs marked; `x` is the position, or the sample number where none was logged."""

    channel: Channel
    x: shape.Array
    y: shape.Array
    lost: NDArray[np.bool_]
    span: float
    placed: bool


def judge_position(sweep: Sweep, facts: SweepFacts) -> InputVerdict:
    """Return the verdict on one or two channels of a lever, pedal or potentiometer pair."""
    clean = [_clean(sweep, channel) for channel in sweep.channels]
    figures = [figure for one in clean for figure in _single(one, facts)]
    findings = [finding for one in clean for finding in _places(sweep, one)]
    open_questions: list[NotJudged] = []
    if sweep.against is None:
        open_questions.append(_no_position())
    if facts.supply_v is None:
        open_questions.append(_no_supply())
    if len(clean) == 2:
        pair, found = _pair(clean[0], clean[1], facts)
        figures += pair
        findings += found
    else:
        open_questions.append(NotJudged((), message("sweep-question-pair"), message("sweep-one-channel")))
    return verdict(sweep, "position", figures, _curves(sweep, clean), findings, open_questions)


def _clean(sweep: Sweep, channel: Channel) -> Clean:
    y = shape.as_array(channel.samples)
    span = shape.robust_span(y)
    lost = shape.dropouts(y, span) if not np.isnan(y).all() else np.ones(len(y), dtype=bool)
    number = np.arange(len(y), dtype=np.float64)
    x = number if sweep.against is None else shape.as_array(sweep.against.samples)
    return Clean(channel, x, y, lost | np.isnan(x), span, sweep.against is not None)


def _single(one: Clean, facts: SweepFacts) -> list[SweepFigure]:
    name, good = one.channel.name, ~one.lost
    x, y = one.x[good], one.y[good]
    count = int(np.sum(one.lost))
    lost = held("dropouts", name, count, message("sweep-fig-dropouts", channel=name, count=count))
    if len(y) < 5:
        return [lost]
    low, high = float(y.min()), float(y.max())
    unit = one.channel.unit
    words = message("sweep-fig-range", channel=name, low=text(low, unit), high=text(high, unit))
    figures = [noted("range", name, high - low, unit, words), lost]
    figures += _window(one, low, high, facts)
    if one.span <= limit("still") / 100 * max(abs(low), abs(high)):
        return [*figures, _still(one)]
    sigma = 100 * shape.noise(y) / one.span
    figures.append(held("noise", name, sigma, message("sweep-fig-noise", channel=name, share=share(sigma))))
    return figures + (_along(one, x, y) if one.placed else [])


def _still(one: Clean) -> SweepFigure:
    """A channel that does not move: outside, whatever else."""
    words = message("sweep-fig-still", channel=one.channel.name)
    return held("linearity", one.channel.name, 100.0, words)


def _window(one: Clean, low: float, high: float, facts: SweepFacts) -> list[SweepFigure]:
    """Both ends inside 5 to 95 % of the supply, so that a short or an open lead looks like no position."""
    if not facts.supply_v:
        return []
    lowest, highest = 100 * low / facts.supply_v, 100 * high / facts.supply_v
    under, over = limit("window_low") - lowest, highest - limit("window_high")
    words = message("sweep-fig-window", channel=one.channel.name, low=share(lowest), high=share(highest))
    value = highest if over >= under else 100 - lowest
    return [held("window_high", one.channel.name, value, words)]


def _along(one: Clean, x: shape.Array, y: shape.Array) -> list[SweepFigure]:
    """The figures that need a position: dead travel, line, steps back, way up and down."""
    name, percent = one.channel.name, 100 / one.span
    ways = shape.branches(x)
    start, end = shape.dead_ends(x, y)
    worst = 100 * max(start, end)
    words = message("sweep-fig-dead", channel=name, start=share(100 * start), end=share(100 * end))
    figures = [held("dead_zone", name, worst, words)]
    back = percent * max(shape.steps_back(x[way], y[way]) for way in ways)
    figures.append(held("reversal", name, back, message("sweep-fig-reversal", channel=name, share=share(back))))
    travel = float(np.ptp(x))
    live = (x >= x.min() + start * travel) & (x <= x.max() - end * travel)
    bend = percent * shape.bent(x[live], y[live]) if live.sum() > 2 else 100.0
    figures.append(held("linearity", name, bend, message("sweep-fig-linearity", channel=name, share=share(bend))))
    gap = shape.apart(x, y, ways)
    if gap is not None:
        words = message("sweep-fig-hysteresis", channel=name, share=share(percent * gap))
        figures.append(held("hysteresis", name, percent * gap, words))
    return figures


def _places(sweep: Sweep, one: Clean) -> list[Finding]:
    """Say at which lines samples dropped out, the first few."""
    lines = [sweep.rows[n] for n in np.flatnonzero(one.lost)]
    if not lines:
        return []
    told = message("sweep-dropped", channel=one.channel.name, count=len(lines))
    return [Finding(told, Severity.CHECK, where=tuple(Where(sweep.file, line) for line in lines[:5]))]


def _pair(a: Clean, b: Clean, facts: SweepFacts) -> tuple[list[SweepFigure], list[Finding]]:
    """Return how the second channel follows the first, the largest distance from that, and what is odd about it."""
    good = ~(a.lost | b.lost)
    if good.sum() < 5 or not a.span or not b.span:
        return [], []
    x, y = a.y[good], b.y[good]
    line = shape.fitted_line(x, y)
    if facts.ratio_percent is not None:
        line = shape.Line(0.0, facts.ratio_percent / 100)
    error = 100 * float(np.max(np.abs(y - line.at(x)))) / b.span
    relation = _relation(line, b.channel.unit, b.span)
    figures = [
        noted("relation", b.channel.name, line.slope, "", relation),
        held("agreement", b.channel.name, error, message("sweep-fig-agreement", share=share(error))),
    ]
    alike = abs(line.slope - 1) < 0.02 and abs(line.start) < 0.02 * b.span
    findings = [Finding(message("sweep-alike"), Severity.CHECK)] if alike else []
    return figures, findings


def _relation(line: shape.Line, unit: str, span: float) -> Message:
    """Say the relation the short way: a ratio, an offset, a constant sum, else the whole line."""
    small = abs(line.start) < 0.02 * span
    if line.slope < 0 and abs(line.slope + 1) < 0.02:
        return message("sweep-rel-sum", total=text(line.start, unit))
    if line.slope < 0:
        return message("sweep-rel-opposite", ratio=f"{line.slope:.3g}", offset=text(line.start, unit))
    if small:
        return message("sweep-rel-ratio", ratio=f"{line.slope:.3g}")
    if abs(line.slope - 1) < 0.02:
        return message("sweep-rel-offset", offset=text(line.start, unit))
    return message("sweep-rel-line", ratio=f"{line.slope:.3g}", offset=text(line.start, unit))


def _curves(sweep: Sweep, clean: list[Clean]) -> list[LiveCurve]:
    """What was logged, and the distance of the second channel from its relation to the first."""
    x_label = message("sweep-axis-position") if sweep.against else message("sweep-axis-sample")
    series = [Series(message("sweep-series", channel=one.channel.name), _points(one.x, one.y)) for one in clean]
    found = [curve("sweep", x_label, clean[0].channel.unit, series)]
    if len(clean) == 2:
        a, b = clean
        good = ~(a.lost | b.lost)
        if good.sum() >= 5:
            away = b.y - shape.fitted_line(a.y[good], b.y[good]).at(a.y)
            name = message("sweep-series-difference")
            found.append(curve("difference", x_label, b.channel.unit, [Series(name, _points(b.x, away))]))
    return found


def _points(x: shape.Array, y: shape.Array) -> tuple[tuple[float, float], ...]:
    seen = ~(np.isnan(x) | np.isnan(y))
    return tuple((float(one), float(other)) for one, other in zip(x[seen], y[seen], strict=True))


def _no_position() -> NotJudged:
    return NotJudged(("position",), message("sweep-question-position"), message("sweep-no-position"))


def _no_supply() -> NotJudged:
    return NotJudged(("supply",), message("sweep-question-window"), message("sweep-no-supply"), "--supply 5V")
