"""Pre-charge through a resistor, and closing the contactor on what difference is left."""

import math

from reworkkit.compute.formulas.stored_energy import (
    charge_time,
    constant_power_settling,
    making_current,
    most_power_behind,
    peak_charge_current,
    power_into_short,
    wait_between_attempts,
)
from reworkkit.compute.live_run.building import Builder, Given, limit, text, time_text
from reworkkit.model.live import LiveStep
from reworkkit.model.messages import message

_NEEDS = ("precharge", "capacitance", "volts")


def behind(given: Given) -> tuple[float, float] | None:
    """Return source voltage and resistance seen by the bus while it charges, the bleeder (and load) included.

    A bleeder Rb on a bus charged through R makes a divider: the bus ends at V Rb / (R + Rb) and charges with
    R Rb / (R + Rb). None where voltage or resistor is missing.
    """
    known = given.numbers("volts", "precharge")
    if not known or known[1] <= 0:
        return None
    volts, series = known
    loads = [given.number("bleeder"), given.load_ohm if given.live.load_while_charging else None]
    across = sum(1 / ohms for ohms in loads if ohms)
    resistance = 1 / (1 / series + across)
    return volts * resistance / series, resistance


def precharge(given: Given) -> LiveStep:
    """The pre-charge: what the resistor must bear, how long it takes, what a short or a load behind it does."""
    step = Builder("precharge", message("live-step-precharge"), given)
    energy = given.energy_j
    series, volts = given.number("precharge"), given.number("volts")
    power = power_into_short(volts, series) if series and volts is not None else None
    step.warn(message("live-precharge-short-behind", power=text(power, "W")))
    wait = _wait(given)
    step.caution(
        message("live-precharge-wait", wait=time_text(wait)), message("live-precharge-pulse", energy=text(energy, "J"))
    )
    step.blanks = [message("live-blank-charge")]
    if step.asks(message("live-question-precharge"), *_NEEDS) or energy is None or not series or volts is None:
        return step.done()
    _peak(step, volts, series, energy)
    _times(step, volts, series, given.numbers("capacitance") or (0.0,))
    _short_behind(step, volts, series)
    _load_present(step, volts, series)
    pulse = message("live-stop-pulse", rating=given.written("precharge_pulse"), energy=text(energy, "J"))
    step.rated(pulse, "precharge_pulse", energy, "J")
    low = message("live-stop-resistor-volts", ohms=text(series, "ohm"), rating=given.written("precharge_volts"))
    step.rated(low, "precharge_volts", volts, "V")
    if wait is None:
        step.asks(message("live-question-rating"), "precharge_power")
    else:
        words = message("live-fig-wait", wait=time_text(wait))
        step.figure("precharge_wait_s", wait, "s", words, (*_NEEDS, "precharge_power"))
    return step.done()


def _wait(given: Given) -> float | None:
    rated = given.number("precharge_power")
    return wait_between_attempts(given.energy_j, rated) if given.energy_j is not None and rated else None


def _peak(step: Builder, volts: float, series: float, energy: float) -> None:
    peak = peak_charge_current(volts, series)
    step.figure("precharge_peak_a", peak, "A", message("live-fig-peak", amps=text(peak, "A")), ("precharge", "volts"))
    words = message("live-fig-peak-power", power=text(volts * peak, "W"))
    step.figure("precharge_peak_w", volts * peak, "W", words, ("precharge", "volts"))
    words = message("live-fig-pulse", energy=text(energy, "J"))
    step.figure("precharge_energy_j", energy, "J", words, ("capacitance", "volts"))


def _times(step: Builder, volts: float, series: float, capacitance: tuple[float, ...]) -> None:
    """Times to 95 and 99 % of where the bus ends, the end itself, and the time-out from the tolerances."""
    ends = behind(step.given)
    if ends is None:
        return
    end, resistance = ends
    t95, t99 = (charge_time(resistance, capacitance[0], share) for share in (0.95, 0.99))
    step.figure("precharge_95_s", t95, "s", message("live-fig-95", time=time_text(t95)), _NEEDS)
    step.figure("precharge_99_s", t99, "s", message("live-fig-99", time=time_text(t99)), _NEEDS)
    slow = (1 + limit("capacitor_tolerance")) * (1 + limit("resistor_tolerance"))
    words = message("live-fig-time-out", time=time_text(slow * t99))
    step.figure("precharge_time_out_s", slow * t99, "s", words, _NEEDS)
    if end < volts:
        _short_of_the_source(step, volts, end, series)
        words = message("live-fig-end", volts=text(end, "V"), left=text(volts - end, "V"))
        step.figure("precharge_end_v", end, "V", words, ("precharge", "bleeder", "volts"))
    words = message("live-fig-leak", ohms=text(series, "ohm"), volts=text(volts, "V"))
    step.todo.append(words)
    step.todo.append(message("live-precharge-before-main"))


def _short_of_the_source(step: Builder, volts: float, end: float, series: float) -> None:
    """What draws beside the capacitors heats the resistor all the time, and may keep the bus from ever coming up."""
    if end >= (1 - limit("closing_share")) * volts:
        return
    power = (volts - end) ** 2 / series
    step.stops.append(message("live-stop-falls-short", volts=text(end, "V"), share=f"{100 * end / volts:.0f} %"))
    words = message("live-fig-resistor-steady", power=text(power, "W"))
    needs = [key for key in ("precharge", "bleeder", "watts", "volts") if getattr(step.given.live, key) is not None]
    step.figure("precharge_steady_w", power, "W", words, needs)
    rated = message("live-stop-resistor-power", ohms=text(series, "ohm"), power=text(power, "W"))
    step.rated(rated, "precharge_power", power, "W")


def _short_behind(step: Builder, volts: float, series: float) -> None:
    """A short behind the resistor: its power for ever, and whether the fuse would ever see it."""
    power, amps = power_into_short(volts, series), volts / series
    words = message("live-fig-short", power=text(power, "W"), amps=text(amps, "A"))
    step.figure("precharge_short_w", power, "W", words, ("precharge", "volts"))
    fuse, rated = step.given.number("fuse"), step.given.number("precharge_power")
    if fuse is None:
        step.asks(message("live-question-fuse"), "fuse")
    elif fuse > amps / 2:
        step.warn(message("live-fuse-never-blows", fuse=text(fuse, "A"), amps=text(amps, "A")))
    if rated and power > rated:
        times = f"{power / rated:.2g}"
        step.caution(message("live-resistor-overloaded", times=times, rated=text(rated, "W")))


def _load_present(step: Builder, volts: float, series: float) -> None:
    """A load on the bus while it charges: the most that can pass, and where a constant power would settle."""
    most = most_power_behind(volts, series)
    words = message("live-fig-most", power=text(most, "W"))
    step.figure("precharge_most_w", most, "W", words, ("precharge", "volts"))
    watts, live = step.given.number("watts"), step.given.live
    if not live.load_while_charging or watts is None:
        step.todo.append(message("live-load-off-while-charging"))
        return
    if live.load == "resistive":
        return
    settles = constant_power_settling(volts, series, watts)
    if settles is None:
        step.stops.append(message("live-stop-never-starts", watts=text(watts, "W"), most=text(most, "W")))
    else:
        words = message("live-fig-settles", volts=text(settles, "V"))
        step.figure("precharge_settles_v", settles, "V", words, ("precharge", "volts", "watts"))


def closing(given: Given) -> LiveStep:
    """Close the contactor: on the MEASURED difference, the making current computed against its rating on DC."""
    step = Builder("close", message("live-step-close"), given)
    loop, makes, volts = given.number("loop"), given.number("makes"), given.number("volts")
    usual = limit("closing_share")
    at_usual = making_current(usual * volts, loop) if volts is not None and loop else None
    allowed = makes * loop if makes is not None and loop else None
    step.warn(
        message("live-close-measured", difference=text(allowed, "V")),
        message("live-making-current", share=f"{100 * usual:g} %", amps=text(at_usual, "A")),
        message("live-contactor-dc"),
    )
    step.blanks = [message("live-blank-difference")]
    step.rated(message("live-stop-contactor", rating=given.written("contactor_volts")), "contactor_volts", volts, "V")
    if not step.asks(message("live-question-making"), "volts", "loop", "makes"):
        _making(step, volts or 0.0, loop or math.nan, makes or 0.0)
    _breaking(step)
    return step.done()


def _making(step: Builder, volts: float, loop: float, makes: float) -> None:
    """The difference at which the contactor may close, how long that takes, and whether it is ever reached."""
    allowed = makes * loop
    words = message("live-fig-difference", volts=text(allowed, "V"), makes=text(makes, "A"), loop=text(loop, "ohm"))
    step.figure("closing_difference_v", allowed, "V", words, ("makes", "loop"))
    usual = limit("closing_share")
    amps = making_current(usual * volts, loop)
    words = message("live-fig-making", share=f"{100 * usual:g} %", amps=text(amps, "A"))
    step.figure("making_at_5_percent_a", amps, "A", words, ("volts", "loop"))
    ends, capacitance = behind(step.given), step.given.number("capacitance")
    if ends is None or capacitance is None:
        return
    end, resistance = ends
    least = making_current(volts - end, loop)
    words = message("live-fig-least", volts=text(volts - end, "V"), amps=text(least, "A"))
    if end < volts:
        step.figure("making_least_a", least, "A", words, ("volts", "precharge", "bleeder", "loop"))
    if volts - end >= allowed:
        step.stops.append(message("live-stop-making", amps=text(least, "A"), makes=text(makes, "A")))
    elif allowed < volts:
        share = (volts - allowed) / end
        time = charge_time(resistance, capacitance, share)
        words = message("live-fig-close-after", time=time_text(time), volts=text(volts - allowed, "V"))
        step.figure("close_after_s", time, "s", words, (*_NEEDS, "makes", "loop"))


def _breaking(step: Builder) -> None:
    """What the contactor must break: the load; a short is the fuse's."""
    known, breaks = step.given.numbers("watts", "volts"), step.given.number("breaks")
    if step.asks(message("live-question-breaking"), "watts", "breaks") or not known or breaks is None:
        return
    amps = known[0] / known[1] if known[1] else math.inf
    words = message("live-fig-breaking", amps=text(amps, "A"), breaks=text(breaks, "A"))
    step.figure("breaking_a", amps, "A", words, ("watts", "volts", "breaks"))
    if amps > breaks:
        step.stops.append(message("live-stop-breaking", amps=text(amps, "A"), breaks=text(breaks, "A")))
