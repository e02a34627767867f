"""Before anything is switched on: who is there, what can hurt, meter, discharge, source and ratings, tabs."""

from reworkkit.compute.formulas.stored_energy import discharge_time, power_into_short, stored_energy
from reworkkit.compute.live_run.building import Builder, Given, limit, text, time_text
from reworkkit.model.live import LiveStep
from reworkkit.model.messages import message


def people(given: Given) -> LiveStep:
    """Who is in the house and who cuts the supply, from where: an empty field stops the run."""
    step = Builder("people", message("live-step-people"), given)
    live = given.live
    step.warn(message("live-local-codes"), message("live-not-alone"), message("live-eyes"), message("live-strap-off"))
    step.blanks = [
        message("live-blank-house", who=live.who_is_in_house or "______________"),
        message("live-blank-cuts", who=live.who_cuts_supply or "______________"),
    ]
    if not (live.who_is_in_house or "").strip():
        step.stops.append(message("live-stop-house"))
    if not (live.who_cuts_supply or "").strip():
        step.stops.append(message("live-stop-cuts"))
    return step.done()


def touch_limit(given: Given) -> float:
    """Return the voltage above which the bus is hazardous to touch: 60 V DC, 30 V AC behind a transformer."""
    return limit("touch_ac") if given.live.load == "transformer" else limit("touch_dc")


def high_energy(given: Given) -> tuple[bool, ...] | None:
    """Return the three triggers (volts, energy, source power) as far as they are known; None where none is known."""
    volts, source = given.number("volts"), given.numbers("volts", "source_amps")
    known: list[bool] = []
    if volts is not None:
        known.append(volts > touch_limit(given))
    if given.energy_j is not None:
        known.append(given.energy_j >= limit("energy"))
    if source:
        known.append(source[0] * source[1] >= limit("source_va"))
    return tuple(known) or None


def danger(given: Given) -> LiveStep:
    """The three marks: voltage, stored energy, what the source can deliver."""
    step = Builder("danger", message("live-step-danger"), given)
    volts, energy, mark = given.number("volts"), given.energy_j, touch_limit(given)
    if volts is None or volts > mark:
        step.warn(message("live-trigger-volts", volts=given.written("volts", "V"), limit=f"{mark:g} V"))
    if energy is None or energy >= limit("energy"):
        step.warn(message("live-trigger-energy", energy=text(energy, "J"), limit=f"{limit('energy'):g} J"))
    source = given.numbers("volts", "source_amps")
    if source is None or source[0] * source[1] >= limit("source_va"):
        power = text(source[0] * source[1] if source else None, "W").replace("W", "VA")
        step.warn(message("live-trigger-source", power=power, limit=f"{limit('source_va'):g} VA"))
        step.warn(message("live-battery"))
    if energy is not None:
        words = message("live-fig-energy", energy=text(energy, "J"), limit=f"{limit('energy'):g} J")
        step.figure("stored_energy_j", energy, "J", words, ("capacitance", "volts"))
    if source:
        power = text(source[0] * source[1], "W").replace("W", "VA")
        words = message("live-fig-source", power=power, limit=f"{limit('source_va'):g} VA")
        step.figure("source_va", source[0] * source[1], "VA", words, ("volts", "source_amps"))
    step.asks(message("live-question-danger"), "volts", "capacitance", "source_amps")
    if high_energy(given) == (False, False, False):
        step.todo.append(message("live-no-trigger"))
    return step.done()


def meter(given: Given) -> LiveStep:
    """The meter is proven on a live source before and after."""
    step = Builder("meter", message("live-step-meter"), given)
    step.warn(message("live-prove-meter"), message("live-cat-rating", volts=given.written("volts", "V")))
    step.blanks = [message("live-blank-meter-before"), message("live-blank-meter-after")]
    return step.done()


def discharge(given: Given) -> LiveStep:
    """The discharge stands ready before the first charge: two figures, the resistor's ratings, both times."""
    step = Builder("discharge", message("live-step-discharge"), given)
    touch, work = limit("touch_dc"), limit("work")
    capacitance, volts = given.number("capacitance"), given.number("volts")
    most = min(touch, volts) if volts is not None else touch
    left = stored_energy(capacitance, most) if capacitance is not None else None
    step.warn(
        message("live-discharge-two-figures", touch=f"{touch:g} V", work=f"{work:g} V"),
        message("live-discharge-still-holds", energy=text(left, "J"), touch=f"{most:g} V"),
        message("live-discharge-resistor-volts", volts=given.written("volts", "V")),
        message("live-bleeder-may-be-open"),
        message("live-no-screwdriver"),
        message("live-leave-resistor-on"),
    )
    step.blanks = [message("live-blank-discharge")]
    if step.asks(message("live-question-discharge"), "capacitance", "volts") or capacitance is None or volts is None:
        return step.done()
    for key in ("bleeder", "discharge"):
        _resistor(step, key, capacitance, volts)
    if given.number("discharge") is None:
        _resistor_wanted(step, capacitance, volts)
    return step.done()


def _resistor(step: Builder, key: str, capacitance: float, volts: float) -> None:
    """Add what one discharge resistor does: both times, its power, and whether it is rated for it."""
    ohms = step.given.number(key)
    if ohms is None:
        step.asks(message("live-question-discharge"), key)
        return
    touch, work = limit("touch_dc"), limit("work")
    to_touch, to_work = (discharge_time(ohms, capacitance, volts, end) for end in (touch, work))
    needs = (key, "capacitance", "volts")
    of_bleeder = key == "bleeder"
    name = step.given.written(key)
    times = {"ohms": name, "time": time_text(to_touch), "touch": f"{touch:g} V"}
    words = message("live-fig-bleeder-touch", **times) if of_bleeder else message("live-fig-hand-touch", **times)
    if volts <= touch:
        words = message("live-fig-touch-already", ohms=name, touch=f"{touch:g} V")
    step.figure(f"{key}_touch_s", to_touch, "s", words, needs)
    times = {"ohms": name, "time": time_text(to_work), "work": f"{work:g} V"}
    words = message("live-fig-bleeder-work", **times) if of_bleeder else message("live-fig-hand-work", **times)
    step.figure(f"{key}_work_s", to_work, "s", words, needs)
    power = power_into_short(volts, ohms)
    words = message("live-fig-resistor-power", ohms=name, power=text(power, "W"))
    step.figure(f"{key}_power_w", power, "W", words, (key, "volts"))
    low_volts = message("live-stop-resistor-volts", ohms=name, rating=step.given.written(f"{key}_volts"))
    step.rated(low_volts, f"{key}_volts", volts, "V")
    if of_bleeder:
        low_power = message("live-stop-resistor-power", ohms=name, power=text(power, "W"))
        step.rated(low_power, "bleeder_power", power, "W")


def _resistor_wanted(step: Builder, capacitance: float, volts: float) -> None:
    """Say which resistor would discharge the bus to the work limit in the usual ten seconds."""
    work, seconds = limit("work"), limit("hand_discharge")
    if volts <= work:
        return
    ohms = seconds / discharge_time(1.0, capacitance, volts, work)
    power = power_into_short(volts, ohms)
    words = message("live-fig-discharge-wanted", ohms=text(ohms, "ohm"), power=text(power, "W"), time=f"{seconds:g} s")
    step.figure("discharge_wanted_ohm", ohms, "ohm", words, ("capacitance", "volts"))


def source(given: Given) -> LiveStep:
    """Source, fuse and contactor: rated for the voltage on DC, and the fuse able to break what the source delivers."""
    step = Builder("source", message("live-step-source"), given)
    volts, amps = given.number("volts"), given.number("source_amps")
    step.warn(
        message("live-fuse-at-source"),
        message("live-rated-for-dc"),
        message("live-variac-no-isolation"),
        message("live-residual-current-defeated"),
        message("live-never-lift-earth"),
        message("live-earthed-iron"),
        message("live-no-computer"),
    )
    step.blanks = [message("live-blank-isolated", how=_isolated(given))]
    step.asks(message("live-question-isolated"), "isolated")
    step.rated(message("live-stop-fuse-volts", rating=given.written("fuse_volts")), "fuse_volts", volts, "V")
    breaks = message("live-stop-fuse-breaks", rating=given.written("fuse_breaks"), amps=given.written("source_amps"))
    step.rated(breaks, "fuse_breaks", amps, "A")
    step.rated(message("live-stop-bus", rating=given.written("bus_limit")), "bus_limit", volts, "V")
    return step.done()


def _isolated(given: Given) -> str:
    return {True: "isolated", False: "not isolated", None: "____"}[given.live.isolated]


def tabs(given: Given) -> LiveStep:
    """Insulation of tabs to the plate: a multimeter proves no short, only a test at voltage more."""
    step = Builder("tabs", message("live-step-tabs"), given)
    step.warn(message("live-tab-no-short"), message("live-insulation-test"))
    step.caution(message("live-torque-makers"), message("live-hold-the-lead"))
    step.blanks = [message("live-blank-insulation")]
    volts, tested = given.number("volts"), given.numbers("insulation_volts", "insulation")
    if step.asks(message("live-question-tabs"), "insulation_volts", "insulation") or not tested or volts is None:
        return step.done()
    if tested[0] < volts:
        step.stops.append(message("live-stop-insulation", tested=given.written("insulation_volts")))
    leak = volts / tested[1] if tested[1] else None
    if leak is not None:
        words = message("live-fig-insulation", ohms=given.written("insulation"), amps=text(leak, "A"))
        step.figure("insulation_leak_a", leak, "A", words, ("insulation", "volts"))
    return step.done()


def switch_off(given: Given) -> LiveStep:
    """After the run: off, discharge, measure zero, and the meter proven again."""
    step = Builder("off", message("live-step-off"), given)
    step.warn(message("live-off-order"), message("live-low-volts-before-touch", work=f"{limit('work'):g} V"))
    step.blanks = [message("live-blank-zero"), message("live-blank-meter-after")]
    return step.done()
