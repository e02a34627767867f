"""Raising the voltage or starting the converter, the figures to switch off at, and the soak."""

from reworkkit.compute.formulas.stored_energy import most_power_behind
from reworkkit.compute.live_run.building import BLANK, Builder, Given, limit, text, time_text
from reworkkit.compute.live_run.charging import behind
from reworkkit.model.live import LiveStep, LiveTable
from reworkkit.model.messages import Message, message

SOAK_ROWS_MIN = (0, 5, 10, 20, 30)


def raising(given: Given) -> LiveStep:
    """Voltage steps where they are right: a resistive load, or control fed apart; else the converter's start."""
    step = Builder("raise", message("live-step-raise"), given)
    step.caution(message("live-steps-only-resistive"), message("live-converter-highest-at-lowest"))
    step.warn(message("live-off-between-steps"))
    step.todo = [message("live-inputs-first"), message("live-drive-last")]
    if step.asks(message("live-question-steps"), "load", "volts"):
        return step.done()
    if given.live.load == "resistive" or given.live.control_fed_apart:
        step.table = _step_table(given)
        step.todo.append(message("live-steps-how"))
    elif given.live.load == "transformer":
        step.todo.append(message("live-transformer-start"))
    else:
        _converter_start(step)
    return step.done()


def _step_table(given: Given) -> LiveTable:
    """Steps of 20 % (common practice): expected current, slope of the charge, when to switch off, blanks."""
    volts = given.number("volts") or 0.0
    count = round(1 / limit("step_share"))
    rows = tuple(_step_row(given, volts * n / count) for n in range(1, count + 1))
    return LiveTable(
        message("live-steps-title"),
        (
            message("live-steps-volts"),
            message("live-steps-amps"),
            message("live-steps-slope"),
            message("live-steps-settled"),
            message("live-steps-off"),
            message("live-steps-read-volts"),
            message("live-steps-read-amps"),
        ),
        rows,
    )


def expected_current(given: Given, volts: float) -> float | None:
    """Return the current drawn from the source at a bus voltage: the resistive load and the bleeder."""
    loads = [given.load_ohm, given.number("bleeder")]
    if given.load_ohm is None:
        return None
    return sum(volts / ohms for ohms in loads if ohms)


def _step_row(given: Given, volts: float) -> tuple[Message | str, ...]:
    amps = expected_current(given, volts)
    off = text(amps * limit("abort_factor") if amps is not None else given.number("abort_amps"), "A")
    slope, settled = _slope(given, volts)
    return (text(volts, "V"), text(amps, "A"), slope, settled, off, f"{BLANK} V", f"{BLANK} A")


def _slope(given: Given, volts: float) -> tuple[str, str]:
    """How fast the empty bus climbs at first, and when it has settled (three time constants)."""
    capacitance, ends = given.number("capacitance"), behind(given)
    if capacitance is None or ends is None:
        return f"{BLANK} V/s", time_text(None)
    series = given.number("precharge") or ends[1]
    return f"{text(volts / (series * capacitance), 'V')}/s", time_text(3 * ends[1] * capacitance)


def _converter_start(step: Builder) -> None:
    """The start check: the highest current, and whether what stands in series lets the converter start at all."""
    known = step.given.numbers("watts", "start_volts")
    if step.asks(message("live-question-start"), "watts", "start_volts") or not known or known[1] <= 0:
        return
    watts, start = known
    amps = watts / start
    words = message("live-fig-start", amps=text(amps, "A"), start=text(start, "V"))
    step.figure("start_a", amps, "A", words, ("watts", "start_volts"))
    limit_a = step.given.limit_a
    if limit_a is not None and limit_a < amps:
        step.stops.append(message("live-stop-start-limit", limit=text(limit_a, "A"), amps=text(amps, "A")))
    behind_resistor = step.given.numbers("precharge", "volts")
    if behind_resistor and behind_resistor[0] > 0:
        most = most_power_behind(behind_resistor[1], behind_resistor[0])
        if most < watts:
            step.caution(message("live-start-not-through-resistor", most=text(most, "W"), watts=text(watts, "W")))


def abort(given: Given) -> LiveStep:
    """Off at once: the figures that end the run without a discussion."""
    step = Builder("abort", message("live-step-abort"), given)
    volts = given.number("volts")
    step.warn(message("live-abort-no-discussion"))
    expected = expected_current(given, volts) if volts is not None else None
    amps = given.number("abort_amps") or (expected * limit("abort_factor") if expected is not None else None)
    if amps is None:
        step.asks(message("live-question-abort"), "abort_amps")
    else:
        needs = ("abort_amps",) if given.number("abort_amps") else ("volts", "watts", "load", "bleeder")
        step.figure("abort_a", amps, "A", message("live-fig-abort-amps", amps=text(amps, "A")), needs)
    most = given.number("abort_volts") or given.number("bus_limit")
    if most is None:
        step.asks(message("live-question-abort"), "abort_volts")
    else:
        needs = ("abort_volts",) if given.number("abort_volts") else ("bus_limit",)
        step.figure("abort_v", most, "V", message("live-fig-abort-volts", volts=text(most, "V")), needs)
    celsius = given.number("abort_celsius")
    if celsius is None:
        step.asks(message("live-question-abort"), "abort_celsius")
    else:
        words = message("live-fig-abort-celsius", celsius=f"{celsius:g} °C")
        step.figure("abort_c", celsius, "C", words, ("abort_celsius",))
    step.todo = [message("live-abort-signs")]
    return step.done()


def soak(given: Given) -> LiveStep:
    """The soak: how long, measured with what, and the rows to fill in."""
    step = Builder("soak", message("live-step-soak"), given)
    seconds = given.number("soak") or limit("soak")
    step.warn(message("live-cover-on"), message("live-touch-only-off"))
    step.caution(message("live-soak-thermocouple"), message("live-shiny-reads-low"))
    words = message("live-fig-soak", minutes=f"{seconds / 60:g} min")
    step.figure("soak_s", seconds, "s", words, ("soak",) if given.number("soak") else ())
    minutes = [round(seconds / 60 * m / SOAK_ROWS_MIN[-1]) for m in SOAK_ROWS_MIN]
    step.table = LiveTable(
        message("live-soak-title"),
        (
            message("live-soak-minute"),
            message("live-soak-volts"),
            message("live-soak-amps"),
            message("live-soak-hottest"),
            message("live-soak-second"),
        ),
        tuple((str(m), f"{BLANK} V", f"{BLANK} A", f"{BLANK} °C", f"{BLANK} °C") for m in minutes),
    )
    return step.done()
