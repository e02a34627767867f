"""Parts that follow a voltage or a light elsewhere: amplifiers and outputs of optocouplers."""

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from reworkkit.compute.formulas.junction import Array, Rows, diode_current
from reworkkit.compute.formulas.network.shapes import GAIN_PER_V, smooth
from reworkkit.compute.formulas.network.stamps import Stamps
from reworkkit.compute.formulas.network.template import Template

ALIVE_V, ALIVE_WIDTH_V = 1.8, 0.05
"""Supply from which an amplifier gives anything, and the width of that step; from memory: types begin at 1.5 to 3 V."""
OPEN_LOOP = 1e3
"""Gains above this are those of an operational amplifier: its error is reckoned at its input, others' at the output."""
SATURATED_V = 0.1
"""Scale on which the output of a coupler loses its current towards 0 V; from memory: 0.1 V at half of its current."""


SINKS_FREELY_A = 5e-5
"""Up to about this an output pulls to its lower supply whose transistor keeps a junction's voltage beyond; LM358."""


class Amplifier(NamedTuple):
    """Amplifiers: their nodes, the unknown of their current, and their figures.

    The output is at reference + gain (plus - minus + offset), no nearer to its supplies than its rooms, and gives or
    takes at most its limit. `sinking` is what is added to the lower room where it takes more than a little, and
    `rail_ohm` makes both rooms wider with the current.
    """

    supply: Rows
    out: Rows
    plus: Rows
    minus: Rows
    ground: Rows
    reference: Rows
    current: Rows
    gain: Array
    offset: Array
    room_high: Array
    room_low: Array
    limit: Array
    sinking: Array
    rail_ohm: Array


class Coupler(NamedTuple):
    """Outputs of optocouplers: their nodes, those of the lamps, the lamps' junctions, the transfer ratio."""

    collector: Rows
    emitter: Rows
    anode: Rows
    cathode: Rows
    log_is: Array
    slope_v: Array
    series_ohm: Array
    there: Array
    """Sign of the lamp where it is fitted, 0 where it is not."""
    ratio: Array


def amplifier_of(template: Template, at: Callable[[int, str], Array], n: int, nodes: Rows, current: Rows) -> Amplifier:
    """Return the amplifier of an element: its nodes as numbers, and its figures for every row."""
    supply, out, plus, minus, ground, reference = nodes
    gain, offset, high, low = (at(n, name) for name in ("gain", "offset", "room_high", "room_low"))
    sinking, rail_ohm = (
        at(n, name) if (n, name) in template.column else np.zeros_like(gain) for name in ("sinking", "rail_ohm")
    )
    figures = gain, offset, high, low, at(n, "limit") * at(n, "fitted"), sinking, rail_ohm
    return Amplifier(supply, out, plus, minus, ground, reference, current, *figures)


def at_gain(those: Amplifier, gain: float) -> Amplifier:
    """Return amplifiers with no more gain than this, without any current where it is 0."""
    return those._replace(gain=np.minimum(those.gain, gain or 1.0), limit=those.limit * float(gain > 0))


def add_amplifiers(those: Amplifier, full: Array, stamps: Stamps) -> None:
    """Add the currents of amplifiers at their pins, and their equations c = clamp(c + k error, -limit, limit)."""
    supply, out, ground, c, gain = those.supply, those.out, those.ground, those.current, those.gain
    scale = np.where(gain > OPEN_LOOP, 1.0, gain)
    error = scale * (full[:, those.plus] - full[:, those.minus] + those.offset)
    error = error - scale / gain * (full[:, out] - full[:, those.reference])
    ohm, current = those.rail_ohm, full[:, c]
    head = full[:, supply] - those.room_high - ohm * np.maximum(current, 0.0) - full[:, out]
    kept, by_sunk = _kept(those.sinking, -current)
    kept += ohm * np.maximum(-current, 0.0)
    foot = full[:, ground] + those.room_low + kept - full[:, out]
    top, low = error > head, error < foot
    wanted = np.where(top, head, np.where(low, foot, error))
    alive, rise = smooth(full[:, supply] - full[:, ground] - ALIVE_V, ALIVE_WIDTH_V)
    most = those.limit * alive
    k = GAIN_PER_V * np.minimum(those.limit, 1.0)
    wish = current + k * wanted
    stamps.add(c, current - np.minimum(np.maximum(wish, -most), most))
    giving = current > 0
    stamps.add(out, -current)
    stamps.add(supply, np.where(giving, current, 0.0))
    stamps.add(ground, np.where(giving, 0.0, current))
    if not stamps.slopes:
        return
    free = np.where((wish > -most) & (wish < most), k, 0.0)
    clipped = free == 0.0
    narrowed = np.where(top, ohm * giving, np.where(low, by_sunk + ohm * (current < 0), 0.0))
    by_rise = np.where(clipped, np.sign(wish) * those.limit * rise, 0.0)
    own = np.where(top | low, 0.0, free)
    stamps.slope(c, c, clipped + free * narrowed)
    stamps.slope(c, supply, -np.where(top, free, 0.0) - by_rise)
    stamps.slope(c, ground, by_rise - np.where(low & ~top, free, 0.0))
    stamps.slope(c, out, np.where(top | low, free, own * scale / gain))
    stamps.slope(c, those.reference, -own * scale / gain)
    stamps.slope(c, those.plus, -own * scale)
    stamps.slope(c, those.minus, own * scale)
    stamps.slope(out, c, np.full_like(current, -1.0))
    stamps.slope(supply, c, np.where(giving, 1.0, 0.0))
    stamps.slope(ground, c, np.where(giving, 0.0, 1.0))


def _kept(most: Array, sunk: Array) -> tuple[Array, Array]:
    """Return what an output keeps to its lower supply when it takes a current, and its slope: a step of width."""
    square = (np.maximum(sunk, 0.0) / SINKS_FREELY_A) ** 2
    rise = np.where(sunk > 0, 2 * square / np.maximum(sunk, 1e-300), 0.0)
    return most * square / (1 + square), most * rise / (1 + square) ** 2


def add_couplers(those: Coupler, full: Array, stamps: Stamps) -> None:
    """Add the currents of outputs: ratio times the lamp's, less where little voltage is left across an output."""
    there = those.there
    sign = np.where(there < 0, -1.0, 1.0)
    lamp, lamp_slope = diode_current(
        sign * (full[:, those.anode] - full[:, those.cathode]), those.log_is, those.slope_v, those.series_ohm
    )
    lit = np.abs(there) * those.ratio * np.maximum(lamp, 0.0)
    share = np.tanh((full[:, those.collector] - full[:, those.emitter]) / SATURATED_V)
    stamps.flow(those.collector, those.emitter, lit * share)
    if not stamps.slopes:
        return
    across = lit * (1.0 - share**2) / SATURATED_V
    by_lamp = there * those.ratio * np.where(lamp > 0, lamp_slope, 0.0) * share
    stamps.flow_slope(those.collector, those.emitter, those.collector, those.emitter, across)
    stamps.flow_slope(those.collector, those.emitter, those.anode, those.cathode, by_lamp)
