"""Supply limit, charging time, and whether the limit itself would keep a converter from starting."""

import math
from typing import NamedTuple

from reworkkit.compute.formulas.accuracy import figure
from reworkkit.compute.formulas.stored_energy import current_limited_charge_time, stored_energy
from reworkkit.compute.power_up.powered import SUPPLY, Powered
from reworkkit.model.results import Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis


class Start(NamedTuple):
    """What a converter draws from the supply at the lowest voltage it starts at [A], and that voltage [V]."""

    ref: str
    current_a: float
    volts_v: float


def draw_of(powered: Powered) -> Band:
    """Return the current the board draws: worst case, signal pins at any level [A]."""
    spread, driven = powered.spreads[SUPPLY], powered.driven[SUPPLY]
    more = max(driven.low, 0.0) + max(driven.high, 0.0)
    less = min(driven.low, 0.0) + min(driven.high, 0.0)
    return Band(max(spread.low + less, 0.0), spread.nominal, spread.high + more, "A", BandBasis.WORST_CASE)


def reading_of(powered: Powered) -> Band:
    """Return what the supply's display may show: as the draw, but with the ends that hardly any board goes beyond [A].

    The limit is set by the worst case; a reading is judged by this narrower band, since no board has every figure at
    its bad end.
    """
    spread, draw = powered.spreads[SUPPLY], draw_of(powered)
    low = (draw.low or 0.0) + spread.reached_low - spread.low if draw.low else 0.0
    high = (draw.high or 0.0) - (spread.high - spread.reached_high)
    return Band(max(low, 0.0), draw.nominal, high, "A", BandBasis.WORST_CASE)


def limit_for(draw: Band, starts: tuple[Start, ...]) -> float:
    """Return the limit to set: half as much again as the most it should draw, or as a converter needs to start [A].

    Rounded up to 10 mA, since no knob is set finer.

    >>> limit_for(Band(0.03, 0.04, 0.05, "A", BandBasis.WORST_CASE), ())
    0.08
    """
    most = draw.high or 0.0
    wanted = max(most * figure("margin_factor"), most + figure("margin_least"))
    wanted = max([wanted, *(1.2 * start.current_a for start in starts)])
    return math.ceil(round(wanted * 100, 6)) / 100


def converter_starts(powered: Powered, draw: Band) -> tuple[Start, ...]:
    """Return what each fitted converter draws at its starting voltage: its output power over efficiency and volts."""
    template, solution, found = powered.template, powered.solution, []
    for n, element in enumerate(template.elements):
        if element.kind not in ("converter", "boost") or not powered.row[template.column[n, "fitted"]]:
            continue
        here = {name: powered.row[template.column[n, name]] for name in ("efficiency", "start", "quiescent")}
        given = powered.volts(element.nodes[1]) * float(solution.current(element.ref)[0])
        at_start = max(0.0, given) / (here["efficiency"] * here["start"]) + here["quiescent"]
        working = max(0.0, given) / (here["efficiency"] * max(powered.volts(element.nodes[0]), 1.0))
        rest = max(0.0, (draw.high or 0.0) - working)
        found.append(Start(element.ref, at_start + rest, here["start"]))
    return tuple(found)


class Charge(NamedTuple):
    """How the capacitors charge: seconds on the limit, volts a second at first, energy stored, farad at the input."""

    seconds: Band
    slope_v_per_s: float
    energy_j: float
    farad: float


def charge_of(
    powered: Powered,
    limit_a: float,
    draw: Band,
    loose: tuple[Element, ...] = (),
    nets: frozenset[str] | None = None,
) -> Charge | None:
    """Return how the fitted capacitors charge on the limit; None where there are none.

    t = C V / I, with every capacitor at its own voltage and high or low end of its tolerance, and with what is left of
    the limit beside the draw. The slope is that of the input: the capacitance that is joined to the supply directly.
    Behind a part whose behaviour is not known (`loose`) a capacitor is taken to charge to the whole supply voltage.
    With `nets` only the capacitors at these count: those that this supply feeds, where there are several.
    """
    template, row = powered.template, powered.row
    low = high = energy = joined = 0.0
    supply_v = abs(powered.volts(powered.supply))
    behind = {node for part in loose for node in part.nodes} - {template.ground}
    for n, element in enumerate(template.elements):
        if not element.kind.startswith("capacitor") or not row[template.column[n, "fitted"]]:
            continue
        if nets is not None and not nets & set(element.nodes):
            continue
        p = template.parameters[template.column[n, "capacitance"]]
        volts = abs(powered.volts(element.nodes[0]) - powered.volts(element.nodes[1]))
        if behind & set(element.nodes):
            volts = max(volts, supply_v)
        low += p.low * volts
        high += p.high * volts
        energy += stored_energy(p.high, volts)
        joined += p.nominal if volts > 0.9 * supply_v else 0.0
    if high <= 0:
        return None
    left = max(limit_a - (draw.high or 0.0), limit_a / 10)
    seconds = Band(
        current_limited_charge_time(low, 1.0, limit_a),
        current_limited_charge_time((low + high) / 2, 1.0, max(limit_a - (draw.nominal or 0.0), left)),
        current_limited_charge_time(high, 1.0, left),
        "s",
        BandBasis.WORST_CASE,
    )
    return Charge(seconds, limit_a / joined if joined else math.inf, energy, joined)
