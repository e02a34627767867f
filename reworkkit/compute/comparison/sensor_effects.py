"""What changes when a current sensor of other figures goes in: constants, full scale, clipping, trip, sign, noise."""

from typing import NamedTuple

from reworkkit.compute.comparison.amounts import Figure, folded_word, number
from reworkkit.compute.comparison.figures import Figures
from reworkkit.compute.comparison.surroundings import Surroundings, main_value
from reworkkit.compute.formulas.divider import divider_ratio, upper_for
from reworkkit.compute.formulas.magnetic_sensor import amps_at, counts_at, counts_per_ampere
from reworkkit.model.comparison import Amount, Consequence
from reworkkit.model.facts import SenseFacts
from reworkkit.model.messages import NotJudged, message

HEADROOM_V = 0.5
"""How near to its supply and to ground a sensor's output still follows the current (from memory of makers' sheets)."""


class Reading(NamedTuple):
    """A sensor at its converter: volts per ampere, zero, supply, divider, and the converter's bits and reference."""

    sensitivity: float
    zero: float
    supply: tuple[float, float]
    scale: float
    bits: int
    reference: float

    @property
    def constant(self) -> float:
        """Return counts per ampere."""
        return counts_per_ampere(self.sensitivity, self.scale, self.bits, self.reference)

    @property
    def offset(self) -> float:
        """Return counts at no current."""
        return counts_at(self.zero, self.scale, self.bits, self.reference)

    def amps_of_counts(self, counts: float) -> float:
        """Return the current a reading really stands for."""
        return (counts - self.offset) / self.constant

    def span_a(self) -> tuple[float, float]:
        """Return lowest and highest current that can be read at the nominal supply [A]: the nearer of two ends."""
        top = min(self.reference / self.scale, sum(self.supply) / 2 - HEADROOM_V)
        bottom = min(HEADROOM_V, self.zero)
        ends = (amps_at(bottom, self.zero, self.sensitivity), amps_at(top, self.zero, self.sensitivity))
        return min(ends), max(ends)


def sensor_effects(
    around: Surroundings, original: Figures, candidate: Figures
) -> tuple[tuple[Consequence, ...], tuple[NotJudged, ...]]:
    """Return what changes at the converter and in the firmware, or which line would make it computable."""
    before, after = _reading(around, original), _reading(around, candidate)
    if before is None or after is None:
        return (), _questions(around, original, candidate)
    facts = around.board.facts.sense[around.ref]
    effects = [_constants(before, after), _full_scale(before, after, facts)]
    effects += _trip(before, after, facts)
    effects += _sign(original, candidate)
    effects += _resolution(original, candidate, before, after)
    effects += _following(around, candidate, after)
    effects += _divider(around, after)
    return tuple(effects), ()


def _reading(around: Surroundings, figures: Figures) -> Reading | None:
    facts = around.board.facts.sense.get(around.ref)
    scale = output_scale(around)
    sensitivity, zero = figures.get("sensitivity"), figures.get("zero")
    if not (facts and facts.bits and facts.reference and scale):
        return None
    if not (sensitivity and sensitivity.low and sensitivity.unit == "V/A" and zero and zero.low is not None):
        return None
    rail, own = around.span(around.net_of("VCC", "VDD", "V+", "VS", "SUPPLY", "VIN")), _own_supply(figures)
    supply = rail or own
    if supply is None:
        return None
    if own and own[1] * 1.1 < supply[0]:
        supply = own  # it cannot live on this rail: what it shows is reckoned on its own supply
    return Reading(sensitivity.low, zero.low, supply, scale, facts.bits, float(facts.reference.value))


def _own_supply(figures: Figures) -> tuple[float, float] | None:
    supply = figures.get("supply")
    return (supply.low, supply.high) if supply and supply.low is not None and supply.high is not None else None


def output_scale(around: Surroundings) -> float | None:
    """Return the share of the sensor's output that reaches the converter: the divider behind it, 1 without one.

    None where the output's net is not known or more than one resistor leaves it.
    """
    pair = output_divider(around)
    if pair is None:
        return None
    upper, lower = pair
    return divider_ratio(upper, lower) if lower is not None else 1.0


def output_divider(around: Surroundings) -> tuple[float, float | None] | None:
    """Return upper and lower resistor behind the output [ohm]; lower None where nothing goes to ground behind it."""
    out = around.net_of("OUT", "VOUT", "VIOUT")
    if out is None:
        return None
    ways = [(part, far) for part in around.on_net(out, ("resistor",)) if (far := around.far_end(part.ref, out))]
    ways = [(part, far) for part, far in ways if far not in around.grounds()]
    if not ways:
        return 0.0, None
    upper, net = main_value(ways[0][0], "ohm"), ways[0][1]
    if len(ways) > 1 or upper is None:
        return None
    lower = [
        main_value(part, "ohm")
        for part in around.on_net(net, ("resistor",))
        if part.ref != ways[0][0].ref and around.far_end(part.ref, net) in around.grounds()
    ]
    if not lower:
        return upper, None
    return (upper, lower[0]) if len(lower) == 1 and lower[0] else None


def _amount(value: float, unit: str) -> Amount:
    return Amount(number(value, unit).text, value, unit)


def _constants(before: Reading, after: Reading) -> Consequence:
    words = message(
        "compare-effect-constants",
        before=f"{before.constant:.4g}",
        after=f"{after.constant:.4g}",
        zero_before=f"{before.offset:.0f}",
        zero_after=f"{after.offset:.0f}",
    )
    figures = (
        ("counts_per_ampere", _amount(before.constant, ""), _amount(after.constant, "")),
        ("zero_counts", _amount(before.offset, ""), _amount(after.offset, "")),
    )
    return Consequence(words, figures)


def _full_scale(before: Reading, after: Reading, facts: SenseFacts) -> Consequence:
    was, now = before.span_a(), after.span_a()
    most = float(facts.most.value) if facts.most else None
    clips = most is not None and (now[1] < most or bool(facts.two_way and now[0] > -most))
    slug = "compare-effect-clips" if clips else "compare-effect-full-scale"
    words = message(
        slug,
        low=number(now[0], "A").text,
        high=number(now[1], "A").text,
        before_low=number(was[0], "A").text,
        before_high=number(was[1], "A").text,
        most=facts.most.text if facts.most else "-",
    )
    figures = (
        ("least_a", _amount(was[0], "A"), _amount(now[0], "A")),
        ("most_a", _amount(was[1], "A"), _amount(now[1], "A")),
    )
    return Consequence(words, figures, clips)


def _trip(before: Reading, after: Reading, facts: SenseFacts) -> list[Consequence]:
    """The old firmware compares counts: the current at which it trips with the new sensor, both ways."""
    if not facts.trip:
        return []
    set_at = float(facts.trip.value)
    found: list[Consequence] = []
    for sign in (1, -1) if facts.two_way else (1,):
        counts = before.offset + sign * set_at * before.constant
        real = after.amps_of_counts(counts)
        never = not after.span_a()[0] <= real <= after.span_a()[1]
        dangerous = never or abs(real) > set_at * 1.001 or real * sign < 0
        if (
            found
            and found[0].figures[0][2].value is not None
            and abs(found[0].figures[0][2].value + real) < 1e-6 * set_at
        ):
            continue  # the same both ways: said once
        slug = "compare-effect-trip-never" if never else "compare-effect-trip"
        words = message(slug, set=number(sign * set_at, "A").text, real=number(real, "A").text)
        figure = ("trip_a", _amount(sign * set_at, "A"), _amount(real, "A"))
        found.append(Consequence(words, (figure,), dangerous))
    return found


def _sign(original: Figures, candidate: Figures) -> list[Consequence]:
    one, other = original.get("field_axis"), candidate.get("field_axis")
    if one and other and folded_word(one.text) == folded_word(other.text):
        return []
    return [Consequence(message("compare-effect-sign"))]


def _resolution(original: Figures, candidate: Figures, before: Reading, after: Reading) -> list[Consequence]:
    figures = [("amps_per_count", _amount(1 / before.constant, "A"), _amount(1 / after.constant, "A"))]
    noise, was = _noise_amps(candidate, after), _noise_amps(original, before)
    if noise is None:
        words = message("compare-effect-resolution", step=number(1 / after.constant, "A").text)
        return [Consequence(words, tuple(figures))]
    floor = ("noise_a", _amount(was, "A") if was else None, _amount(noise, "A"))
    words = message("compare-effect-noise", step=number(1 / after.constant, "A").text, noise=number(noise, "A").text)
    return [Consequence(words, (*figures, floor))]


def _noise_amps(figures: Figures, reading: Reading) -> float | None:
    noise: Figure | None = figures.get("noise")
    return noise.high / reading.sensitivity if noise and noise.high is not None else None


def _following(around: Surroundings, candidate: Figures, after: Reading) -> list[Consequence]:
    """How far the zero of a ratiometric sensor walks with its supply's tolerance [A]."""
    follows = candidate.get("zero_follows_supply")
    if follows is None or "ratiometric" not in follows.text.casefold():
        return []
    low, high = after.supply
    middle = (low + high) / 2
    shift = after.zero * (high - low) / 2 / middle / after.sensitivity
    words = message("compare-effect-follows", shift=number(shift, "A").text)
    return [Consequence(words, (("zero_shift_a", None, _amount(shift, "A")),))]


def _divider(around: Surroundings, after: Reading) -> list[Consequence]:
    """The upper resistor that brings the sensor's top to the converter's reference, if 10 % off."""
    pair, top = output_divider(around), sum(after.supply) / 2 - HEADROOM_V
    if pair is None or pair[1] is None or top <= 0 or abs(top * after.scale / after.reference - 1) < 0.1:
        return []
    if top <= after.reference:
        return [Consequence(message("compare-effect-no-divider", top=number(top, "V").text))]
    upper = upper_for(top, after.reference, pair[1])
    words = message("compare-effect-divider", ohm=number(upper, "ohm").text, before=number(pair[0], "ohm").text)
    return [Consequence(words, (("upper_ohm", _amount(pair[0], "ohm"), _amount(upper, "ohm")),))]


def _questions(around: Surroundings, original: Figures, candidate: Figures) -> tuple[NotJudged, ...]:
    lacking = [name for name in ("sensitivity", "zero") if name not in candidate or name not in original]
    if lacking:
        because = message("compare-sensor-lacks", names=", ".join(lacking))
        return (NotJudged((around.ref,), message("compare-constants-asked"), because, None),)
    because = message("compare-sense-not-told")
    line = f'[sense.{around.ref}] bits = 12, reference = "3.3 V", trip = "____", most = "____"'
    return (NotJudged((around.ref,), message("compare-constants-asked"), because, line),)
