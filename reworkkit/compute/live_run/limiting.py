"""The first run on a series lamp, or on a supply that stands on its limit."""

import math

from reworkkit.compute.formulas import filament_lamp as lamp
from reworkkit.compute.formulas.stored_energy import current_limited_charge_time
from reworkkit.compute.live_run.building import Builder, Given, limit, text, time_text
from reworkkit.model.live import LiveStep, LiveTable
from reworkkit.model.messages import message

_CONVERTER = frozenset({"converter", "motor"})
"""Loads that draw power, not current: a converter, and a motor on its drive."""
DIM_GLOW = 0.5
"""Under half its light a lamp on a dead short does not look bright. Common practice, no source."""


def series_lamp(given: Given) -> LiveStep:
    """What a filament lamp in series passes for this load, what its glow means, and what it does not protect."""
    step = Builder("lamp", message("live-step-lamp"), given)
    step.warn(
        message("live-lamp-filament-only"),
        message("live-lamp-in-live-conductor"),
        message("live-lamp-isolates-nothing"),
        message("live-lamp-not-behind", energy=text(given.energy_j, "J")),
        message("live-lamp-holder-dc"),
    )
    step.caution(message("live-lamp-converter-share"), message("live-small-bus-first"))
    step.blanks = [message("live-blank-glow")]
    step.asks(message("live-question-load"), "load")
    if not step.asks(message("live-question-lamp"), "volts", "lamp", "lamp_volts"):
        known = given.numbers("volts", "lamp_volts", "lamp")
        if known:
            _lamp_at_hand(step, *known)
    else:
        _lamp_wanted(step)
    step.table = _glow_table()
    return step.done()


def _lamp_at_hand(step: Builder, volts: float, rated: float, watts: float) -> None:
    needs = ("lamp", "lamp_volts", "volts")
    if volts > rated:
        pieces = math.ceil(volts / rated)
        step.stops.append(message("live-stop-lamp-volts", rated=text(rated, "V"), pieces=pieces))
        return
    through_short = lamp.lamp_current(volts, rated, watts)
    if lamp.glow(volts, rated) < DIM_GLOW:
        step.caution(message("live-lamp-dim-short", glow=_percent(lamp.glow(volts, rated)), volts=text(volts, "V")))
    cold = volts / lamp.cold_resistance(rated, watts)
    words = message("live-fig-lamp-short", amps=text(through_short, "A"), glow=_percent(lamp.glow(volts, rated)))
    step.figure("lamp_short_a", through_short, "A", words, needs)
    words = message("live-fig-lamp-cold", amps=text(cold, "A"))
    step.figure("lamp_cold_a", cold, "A", words, needs)
    capacitance = step.given.number("capacitance")
    if capacitance is not None:
        time = lamp.lamp_charge_time(volts, capacitance, 0.95, rated, watts)
        words = message("live-fig-lamp-charge", time=time_text(time))
        step.figure("lamp_95_s", time, "s", words, (*needs, "capacitance"))
    if step.given.live.load == "resistive":
        _resistive(step, volts, rated, watts)
    elif step.given.live.load in _CONVERTER:
        _constant_power(step, volts, rated, watts)
    elif step.given.live.load == "transformer":
        step.todo.append(message("live-lamp-transformer"))


def _resistive(step: Builder, volts: float, rated: float, watts: float) -> None:
    """Where lamp and resistive load settle: voltage, current, power and glow."""
    ohms = step.given.load_ohm
    if ohms is None:
        step.asks(message("live-question-lamp"), "watts")
        return
    drop = lamp.lamp_and_resistor(volts, ohms, rated, watts)
    amps = (volts - drop) / ohms
    words = message(
        "live-fig-lamp-resistive",
        volts=text(volts - drop, "V"),
        amps=text(amps, "A"),
        power=text(amps * (volts - drop), "W"),
        glow=_percent(lamp.glow(drop, rated)),
    )
    needs = ("lamp", "lamp_volts", "volts", "watts", "load")
    step.figure("lamp_drop_v", drop, "V", words, needs)


def _constant_power(step: Builder, volts: float, rated: float, watts: float) -> None:
    """Whether a load that draws a fixed power can run behind the lamp; one of equal wattage cannot."""
    needs = ("lamp", "lamp_volts", "volts")
    most = lamp.most_power_behind_lamp(volts, rated, watts)
    share = _percent(most / watts)
    step.figure("lamp_most_w", most, "W", message("live-fig-lamp-most", most=text(most, "W"), share=share), needs)
    full, idle = step.given.number("watts"), step.given.number("idle")
    wanted = idle if idle is not None else full
    if wanted is None:
        step.asks(message("live-question-lamp"), "watts", "idle")
        return
    if wanted > most:
        enough = watts * wanted / most
        facts = {"lamp": text(watts, "W"), "most": text(most, "W"), "wanted": text(wanted, "W")}
        step.stops.append(message("live-stop-lamp-power", **facts, enough=text(enough, "W")))
        return
    drop = lamp.lamp_and_constant_power(volts, wanted, rated, watts)
    if drop is not None:
        words = message("live-fig-lamp-runs", volts=text(volts - drop, "V"), glow=_percent(lamp.glow(drop, rated)))
        step.figure("lamp_drop_v", drop, "V", words, (*needs, "idle" if idle is not None else "watts"))
    if idle is not None and full is not None and full > most:
        step.caution(message("live-lamp-idle-only", most=text(most, "W"), full=text(full, "W")))
    if wanted > limit("idle_share") * watts:
        step.caution(message("live-lamp-idle-share", share=_percent(limit("idle_share"))))


def _lamp_wanted(step: Builder) -> None:
    """Say what a lamp would need, where there is none yet; the printed voltage is taken as the bus voltage."""
    volts, watts = step.given.number("volts"), step.given.number("watts")
    if volts is None or watts is None or step.given.live.load not in _CONVERTER:
        return
    rated = step.given.number("lamp_volts") or volts
    enough = watts / lamp.most_power_behind_lamp(volts, rated, 1.0) if volts <= rated else None
    if enough is not None:
        words = message("live-fig-lamp-wanted", enough=text(enough, "W"), rated=text(rated, "V"))
        step.figure("lamp_wanted_w", enough, "W", words, ("watts", "volts"))


def _percent(share: float) -> str:
    """Return a share as a person says it.

    >>> _percent(1.0), _percent(0.365), _percent(0.0154), _percent(1e-7)
    ('100 %', '36 %', '1.5 %', 'under 0.1 %')
    """
    percent = 100 * share
    if percent < 0.1:
        return "under 0.1 %"
    return f"{percent:.0f} %" if percent >= 10 else f"{percent:.2g} %"


def _glow_table() -> LiveTable:
    """What a person sees and what it means. Common practice, no source."""
    return LiveTable(
        message("live-glow-title"),
        (message("live-glow-seen"), message("live-glow-means")),
        (
            (message("live-glow-flash"), message("live-glow-flash-means")),
            (message("live-glow-dim"), message("live-glow-dim-means")),
            (message("live-glow-bright"), message("live-glow-bright-means")),
            (message("live-glow-pulse"), message("live-glow-pulse-means")),
            (message("live-glow-none"), message("live-glow-none-means")),
        ),
    )


def limited_supply(given: Given) -> LiveStep:
    """The other way: a supply on its limit. Charging or short is told by the slope, not by waiting."""
    step = Builder("limit", message("live-step-limit"), given)
    step.caution(message("live-limit-set-off"), message("live-limit-slope"))
    step.blanks = [message("live-blank-slope")]
    known, amps = given.numbers("capacitance", "volts"), given.limit_a
    if step.asks(message("live-question-limit"), "capacitance", "volts") or not known:
        return step.done()
    if amps is None:
        step.asks(message("live-question-limit"), "current_limit")
        return step.done()
    capacitance, volts = known
    time = current_limited_charge_time(capacitance, volts, amps)
    needs = ("current_limit", "capacitance", "volts")
    words = message("live-fig-limit-time", amps=text(amps, "A"), time=time_text(time))
    step.figure("limit_charge_s", time, "s", words, needs)
    words = message("live-fig-limit-slope", slope=text(amps / capacitance, "V"))
    step.figure("limit_slope_v_per_s", amps / capacitance, "V/s", words, ("current_limit", "capacitance"))
    words = message("live-fig-limit-quarter", quarter=time_text(time / 4), fifth=text(volts / 5, "V"))
    step.figure("limit_quarter_s", time / 4, "s", words, needs)
    words = message("live-fig-limit-short", power=text(volts * amps, "W"), time=time_text(time))
    step.figure("limit_short_w", volts * amps, "W", words, needs)
    return step.done()
