"""Voltage and current against time, from the same closed forms as the figures."""

import math
from collections.abc import Iterator

from reworkkit.compute.formulas import filament_lamp as lamp
from reworkkit.compute.live_run.building import Given, limit
from reworkkit.compute.live_run.charging import behind
from reworkkit.model.live import LiveCurve, Series
from reworkkit.model.messages import Message, message

POINTS = 61


def curves(given: Given) -> tuple[LiveCurve, ...]:
    """Return the curves that can be drawn from what is known."""
    return tuple(curve for made in (_precharge(given), _lamp(given), _discharge(given)) for curve in made)


def _chart(
    key: str, title: Message, unit: str, series: tuple[Series, ...], marks: tuple[tuple[float, Message], ...] = ()
) -> LiveCurve:
    y_label = message("live-axis-volts") if unit == "V" else message("live-axis-amps")
    return LiveCurve(key, title, message("live-axis-time"), y_label, unit, series, marks)


def _precharge(given: Given) -> Iterator[LiveCurve]:
    """v = Vend (1 - exp(-t / R'C)), i = (V - v) / R, over five time constants."""
    ends, known = behind(given), given.numbers("volts", "precharge", "capacitance")
    if ends is None or known is None:
        return
    (end, resistance), (volts, series, capacitance) = ends, known
    times = [5 * resistance * capacitance * n / (POINTS - 1) for n in range(POINTS)]
    rise = [(t, end * (1 - math.exp(-t / (resistance * capacitance)))) for t in times]
    name = message("live-series-precharge")
    marks = ((0.95 * end, message("live-mark-95")), (volts, message("live-mark-source")))
    yield _chart("precharge_v", message("live-curve-precharge-v"), "V", (Series(name, tuple(rise)),), marks)
    flow = tuple((t, (volts - v) / series) for t, v in rise)
    yield _chart("precharge_a", message("live-curve-precharge-a"), "A", (Series(name, flow),))


def _lamp(given: Given) -> Iterator[LiveCurve]:
    """v = V (1 - (1 - t/T)^(1/(1-p))), the lamp taken as warm, T the time in which it would fill the bus."""
    known = given.numbers("volts", "capacitance", "lamp_volts", "lamp")
    if known is None or known[0] > known[2]:
        return
    volts, capacitance, rated, watts = known
    full = lamp.lamp_charge_time(volts, capacitance, 1.0, rated, watts)
    times = [full * n / (POINTS - 1) for n in range(POINTS)]
    rise = [(t, volts * (1 - max(1 - t / full, 0.0) ** (1 / (1 - lamp.EXPONENT)))) for t in times]
    name = message("live-series-lamp")
    yield _chart("lamp_v", message("live-curve-lamp-v"), "V", (Series(name, tuple(rise)),))
    flow = tuple((t, lamp.lamp_current(max(volts - v, 0.0), rated, watts)) for t, v in rise)
    yield _chart("lamp_a", message("live-curve-lamp-a"), "A", (Series(name, flow),))


def _discharge(given: Given) -> Iterator[LiveCurve]:
    """v = V exp(-t / RC), through the bleeder and through the resistor clipped on, until the work limit."""
    known, work = given.numbers("volts", "capacitance"), limit("work")
    resistors = [(key, given.number(key)) for key in ("bleeder", "discharge")]
    found = [(key, ohms) for key, ohms in resistors if ohms]
    if known is None or not found or known[0] <= work:
        return
    volts, capacitance = known
    last = max(ohms * capacitance * math.log(volts / work) for _, ohms in found)
    names = {"bleeder": message("live-series-bleeder"), "discharge": message("live-series-hand")}
    series = tuple(
        Series(
            names[key],
            tuple((last * n / (POINTS - 1), volts * math.exp(-last * n / (POINTS - 1) / (ohms * capacitance)))
                  for n in range(POINTS)),
        )
        for key, ohms in found
    )  # fmt: skip
    touch = ((limit("touch_dc"), message("live-mark-touch")),) if volts > limit("touch_dc") else ()
    yield _chart(
        "discharge_v", message("live-curve-discharge"), "V", series, (*touch, (work, message("live-mark-work")))
    )
