"""What else changes with a substitute: thermistor table, crystal capacitors, LED current, heat, charging time."""

from dataclasses import replace

from reworkkit.compute.comparison.amounts import number
from reworkkit.compute.comparison.figures import Figures
from reworkkit.compute.comparison.judging import Need, judge_row
from reworkkit.compute.comparison.needs import STRAY_F, Needs, crystal_capacitors
from reworkkit.compute.comparison.rules import Rule
from reworkkit.compute.comparison.sensor_effects import sensor_effects
from reworkkit.compute.comparison.surroundings import Surroundings, main_value
from reworkkit.compute.formulas.crystal_load import capacitors_for, load_capacitance
from reworkkit.compute.formulas.junction_temperature import junction_temperature, linear_dissipation
from reworkkit.compute.formulas.thermistor import shown_with_table
from reworkkit.model.comparison import Amount, ComparisonRow, Consequence, Effect, Outcome
from reworkkit.model.messages import NotJudged, message
from reworkkit.tables import source

AMBIENT_C = 40.0
"""Air round the board when nothing is told: inside a closed case in summer (common practice)."""
ZERO_C = 273.15
TABLE_C = (-10.0, 0.0, 25.0, 50.0, 75.0, 100.0)

Effects = tuple[tuple[Consequence, ...], tuple[NotJudged, ...]]


def consequences(around: Surroundings, original: Figures, candidate: Figures) -> Effects:
    """Return what follows from the candidate and what could not be computed."""
    kind = around.part.identity.kind
    if kind == "magnetic_current_sensor":
        return sensor_effects(around, original, candidate)
    if kind == "thermistor":
        return tuple(thermistor_table(original, candidate)), ()
    if kind == "crystal":
        return tuple(_crystal(around, candidate)), ()
    if kind == "led":
        return tuple(_led(around, original, candidate)), ()
    if kind.startswith(("capacitor", "supercapacitor")):
        return tuple(_charge(original, candidate)), ()
    return (), ()


def _amount(value: float, unit: str) -> Amount:
    return Amount(number(value, unit).text, value, unit)


def thermistor_table(original: Figures, candidate: Figures) -> list[Consequence]:
    """Return what firmware with the original's table shows over the candidate, at true temperatures.

    Dangerous where it shows colder than it is: a heater is not switched off, an over-temperature not seen.
    """
    figures = [side.get(name) for side in (original, candidate) for name in ("resistance", "beta")]
    values = [one.low for one in figures if one is not None and one.low]
    if len(values) != 4:
        return []
    table_25, table_beta, at_25, beta = values
    rows = []
    for celsius in TABLE_C:
        shown = shown_with_table(celsius + ZERO_C, at_25, beta, table_25, table_beta) - ZERO_C
        rows.append((f"shown_at_{celsius:g}_c", _amount(celsius, "C"), _amount(shown, "C")))
    worst = max(rows, key=lambda row: abs((row[2].value or 0.0) - (row[1].value or 0.0)))
    off = (worst[2].value or 0.0) - (worst[1].value or 0.0)
    if abs(off) < 0.05:
        return []
    colder = [row for row in rows if (row[2].value or 0.0) - (row[1].value or 0.0) < -0.5 and (row[1].value or 0) > 25]
    slug = "compare-effect-thermistor-danger" if colder else "compare-effect-thermistor"
    shown_row = min(colder, key=lambda row: (row[2].value or 0.0) - (row[1].value or 0.0)) if colder else worst
    words = message(slug, real=shown_row[1].text, shown=shown_row[2].text)
    return [Consequence(words, tuple(rows), bool(colder))]


def _crystal(around: Surroundings, candidate: Figures) -> list[Consequence]:
    wanted, pair = candidate.get("load_capacitance"), crystal_capacitors(around)
    if wanted is None or wanted.low is None or pair is None or wanted.low <= STRAY_F:
        return []
    there, each = load_capacitance(pair[0], pair[1], STRAY_F), capacitors_for(wanted.low, STRAY_F)
    words = message(
        "compare-effect-crystal", there=number(there, "F").text, wanted=wanted.text, each=number(each, "F").text
    )
    return [Consequence(words, (("each_capacitor_f", _amount(pair[0], "F"), _amount(each, "F")),))]


def _led(around: Surroundings, original: Figures, candidate: Figures) -> list[Consequence]:
    """Current through the one series resistor, where the rail on its other end is known."""
    before, after = original.get("forward_voltage"), candidate.get("forward_voltage")
    fed = led_feed(around)
    if fed is None or after is None or after.low is None:
        return []
    return [_led_current(*fed, before.low if before else None, after.low)]


def led_feed(around: Surroundings) -> tuple[str, float, float] | None:
    """Return the series resistor of an LED, the highest rail behind it [V] and its resistance [ohm]."""
    for net in sorted(set(around.nets().values()) - around.grounds()):
        for resistor in around.on_net(net, ("resistor",)):
            rail, ohm = around.span(around.far_end(resistor.ref, net)), main_value(resistor, "ohm")
            if rail and rail[1] > 0 and ohm:
                return resistor.ref, rail[1], ohm
    return None


def light_needs(around: Surroundings, candidate: Figures) -> Needs:
    """Return the current an LED must bear: what its series resistor lets through at the highest rail."""
    fed, drop = led_feed(around), candidate.get("forward_voltage")
    if fed is None or drop is None or drop.low is None:
        return {}
    amps = max(fed[1] - drop.low, 0.0) / fed[2]
    return {"forward_current": Need(number(amps, "A"), message("compare-need-through", ref=fed[0]))}


def light_row(around: Surroundings, candidate: Figures) -> ComparisonRow | None:
    """Return whether an LED can light at all: its forward voltage against the highest rail behind its resistor."""
    fed, drop = led_feed(around), candidate.get("forward_voltage")
    if fed is None or drop is None or drop.low is None:
        return None
    why = message("compare-need-light", ref=fed[0])
    rule = Rule("light", "at_most", 100.0, Effect.NO, "known", "", (), source("practice", "current needs a drop"))
    return judge_row(rule, Need(number(fed[1], "V"), why), None, drop, False)


def _led_current(ref: str, rail: float, ohm: float, before: float | None, after: float) -> Consequence:
    now = max(rail - after, 0.0) / ohm
    was = max(rail - before, 0.0) / ohm if before is not None else None
    words = message("compare-effect-led", ref=ref, amps=number(now, "A").text)
    return Consequence(words, (("led_a", _amount(was, "A") if was else None, _amount(now, "A")),))


def _charge(original: Figures, candidate: Figures) -> list[Consequence]:
    before, after = original.get("capacitance"), candidate.get("capacitance")
    if not (before and after and before.low and after.low) or abs(after.low / before.low - 1) < 0.02:
        return []
    ratio = after.low / before.low
    words = message("compare-effect-charge", ratio=f"{ratio:.3g}")
    return [Consequence(words, (("charging_time_ratio", _amount(1.0, ""), _amount(ratio, "")),))]


def junction_row(needs: Needs, original: Figures, candidate: Figures) -> tuple[ComparisonRow, Consequence] | None:
    """Return the junction temperature of a linear regulator as a row of its own: Tj = Ta + P Rth against its limit.

    Where the original would be too hot as well, its plate or copper is not in its figure: the row stays open.
    """
    found = _junction(needs, candidate)
    if found is None:
        return None
    watts, reached = found
    limit = candidate.get("junction_max")
    most = limit.low if limit and limit.low is not None else 125.0
    rule = Rule("junction", "at_most", 100.0, Effect.NO, "known", "", (), source("practice", "Tj = Ta + P Rth"))
    need = Need(number(most, "C"), message("compare-need-junction", celsius=number(AMBIENT_C, "C").text))
    row = judge_row(rule, need, None, number(reached, "C"), False)
    before = _junction(needs, {"output_voltage": candidate["output_voltage"], **original})
    if row and before and most < reached <= before[1]:
        why = message("compare-too-hot-before", celsius=number(before[1], "C").text)
        row = replace(row, outcome=Outcome.NOT_JUDGED, effect=None, blocks=True, because=why)
    words = message(
        "compare-effect-junction",
        watts=number(watts, "W").text,
        celsius=number(reached, "C").text,
        ambient=number(AMBIENT_C, "C").text,
    )
    figures = (("dissipation_w", None, _amount(watts, "W")), ("junction_c", None, _amount(reached, "C")))
    return (row, Consequence(words, figures, reached > most)) if row else None


def _junction(needs: Needs, figures: Figures) -> tuple[float, float] | None:
    """Return heat [W] and junction temperature [C] of a regulator at its load; None where a figure is missing."""
    thermal, volts_out = figures.get("thermal_resistance"), figures.get("output_voltage")
    volts_in, amps = needs.get("input_max"), needs.get("output_current")
    if not (thermal and volts_in and amps and volts_out) or thermal.high is None or volts_out.low is None:
        return None
    quiescent = figures.get("quiescent")
    own = (quiescent.high or 0.0) if quiescent else 0.0
    watts = linear_dissipation(volts_in.figure.high or 0.0, volts_out.low, amps.figure.high or 0.0, own)
    return watts, junction_temperature(AMBIENT_C, watts, thermal.high)
