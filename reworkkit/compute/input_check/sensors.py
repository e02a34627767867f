"""Single channels: a temperature input against a table or a law, a current sensor's zero and sign."""

import math

import numpy as np

from reworkkit.compute.input_check import shape
from reworkkit.compute.input_check.figures import curve, held, noted, share, text, verdict
from reworkkit.model.live import Series
from reworkkit.model.messages import NotJudged, message
from reworkkit.model.sweep import InputVerdict, Sweep, SweepFacts, SweepFigure

KELVIN = 273.15
T25 = 298.15


def beta_temperature(ohms: float, r25: float, beta: float) -> float:
    """Return the temperature of a thermistor by its two-point law [C].

    1/T = 1/298.15 + ln(R / R25) / B, with R, R25 [ohm] and B [K]; good to a few kelvin over 100 K.

    >>> round(beta_temperature(10e3, 10e3, 3950), 6), round(beta_temperature(1000, 10e3, 3950), 1)
    (25.0, 87.7)
    """
    return 1 / (1 / T25 + math.log(ohms / r25) / beta) - KELVIN


def judge_temperature(sweep: Sweep, facts: SweepFacts) -> InputVerdict:
    """Return how far the input is from its table, or from the law of its thermistor, at each temperature logged."""
    assert sweep.against is not None  # the kind of the sweep says so
    channel = sweep.channels[0]
    t, y = shape.as_array(sweep.against.samples), shape.as_array(channel.samples)
    good = ~(np.isnan(t) | np.isnan(y))
    t, y = t[good], y[good]
    points = tuple(zip(map(float, t), map(float, y), strict=True))
    chart = [
        curve("sweep", message("sweep-axis-celsius"), channel.unit,
              [Series(message("sweep-series", channel=channel.name), points)])
    ]  # fmt: skip
    back = 100 * shape.steps_back(t, y) / float(np.ptp(y)) if len(t) > 4 and np.ptp(y) else 0.0
    words = message("sweep-fig-reversal", channel=channel.name, share=share(back))
    figures = [held("reversal", channel.name, back, words)]
    read = _by_table(y, facts.table) if facts.table else _by_law(y, facts)
    if read is None:
        question = NotJudged(
            (channel.name,), message("sweep-question-table"), message("sweep-no-table"), "--beta 3950 --r25 10k"
        )
        return verdict(sweep, "temperature", figures, chart, (), [question])
    away = read - t
    worst = int(np.argmax(np.abs(away)))
    words = message(
        "sweep-fig-temperature", away=f"{away[worst]:+.2g} K", at=f"{t[worst]:.3g} °C", shown=f"{read[worst]:.3g} °C"
    )
    figures.append(held("temperature", channel.name, float(abs(away[worst])), words))
    return verdict(sweep, "temperature", figures, chart)


def _by_law(y: shape.Array, facts: SweepFacts) -> shape.Array | None:
    if facts.beta_k is None or facts.r25_ohm is None or not (y > 0).all():
        return None
    return np.array([beta_temperature(float(ohms), facts.r25_ohm, facts.beta_k) for ohms in y])


def _by_table(y: shape.Array, table: Sweep) -> shape.Array | None:
    """Return the temperature that a table gives for each value: between its rows linear in the logarithm."""
    if table.against is None:
        return None
    t, r = shape.as_array(table.against.samples), shape.as_array(table.channels[0].samples)
    good = ~(np.isnan(t) | np.isnan(r)) & (r > 0)
    order = np.argsort(r[good])
    if good.sum() < 2 or not (y > 0).all():
        return None
    return np.interp(np.log(y), np.log(r[good][order]), t[good][order])


def judge_current(sweep: Sweep, facts: SweepFacts) -> InputVerdict:
    """Return a current sensor's zero with no load and, where a current was logged, which way it goes."""
    channel = sweep.channels[0]
    y = shape.as_array(channel.samples)
    amps = shape.as_array(sweep.against.samples) if sweep.against else np.zeros(len(y))
    good = ~(np.isnan(y) | np.isnan(amps))
    y, amps = y[good], amps[good]
    figures = _zero(channel.name, channel.unit, y, amps, facts)
    open_questions = []
    if facts.zero_v is None:
        because = message("sweep-no-zero")
        open_questions.append(NotJudged((channel.name,), message("sweep-question-zero"), because, "--zero 2.5V"))
    if np.ptp(amps) > 0:
        slope = shape.fitted_line(amps, y).slope
        told = message("sweep-fig-rises" if slope > 0 else "sweep-fig-falls", channel=channel.name,
                       slope=text(abs(slope), channel.unit))  # fmt: skip
        figures.append(noted("sign", channel.name, slope, f"{channel.unit}/A", told))
    else:
        because = message("sweep-no-current")
        open_questions.append(NotJudged((channel.name,), message("sweep-question-sign"), because))
    points = tuple(zip(map(float, amps if np.ptp(amps) else np.arange(len(y))), map(float, y), strict=True))
    x_label = message("sweep-axis-amperes") if np.ptp(amps) else message("sweep-axis-sample")
    chart = [curve("sweep", x_label, channel.unit, [Series(message("sweep-series", channel=channel.name), points)])]
    return verdict(sweep, "current", figures, chart, (), open_questions)


def _zero(name: str, unit: str, y: shape.Array, amps: shape.Array, facts: SweepFacts) -> list[SweepFigure]:
    """The mean with no current, and its noise."""
    still = y[amps == 0] if (amps == 0).any() else y[np.abs(amps) == np.abs(amps).min()]
    zero = float(np.mean(still))
    figures = [
        noted("zero_value", name, zero, unit, message("sweep-fig-zero-value", channel=name, value=text(zero, unit)))
    ]
    if facts.zero_v:
        away = 100 * abs(zero - facts.zero_v) / abs(facts.zero_v)
        words = message("sweep-fig-zero", channel=name, share=share(away), zero=text(facts.zero_v, unit))
        figures.append(held("zero", name, away, words))
    return figures
