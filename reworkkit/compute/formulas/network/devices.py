"""Parts that follow a voltage or a light elsewhere: amplifiers and outputs of optocouplers."""

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from reworkkit.compute.formulas.junction import Array, Rows, diode_current
from reworkkit.compute.formulas.network.shapes import GAIN_PER_V, smooth
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
    """One amplifier for many rows: its nodes, the unknown of its current, and its figures.

    The output is at reference + gain (plus - minus + offset), no nearer to its supplies than its rooms, and gives or
    takes at most its limit. `sinking` is what is added to the lower room where it takes more than a little, and
    `rail_ohm` makes both rooms wider with the current.
    """

    supply: int
    out: int
    plus: int
    minus: int
    ground: int
    reference: int
    current: int
    gain: Array
    offset: Array
    room_high: Array
    room_low: Array
    limit: Array
    sinking: Array
    rail_ohm: Array


class Coupler(NamedTuple):
    """One output of an optocoupler: its nodes, those of its lamp, the lamp's junction, the transfer ratio."""

    collector: int
    emitter: int
    anode: int
    cathode: int
    log_is: Array
    slope_v: Array
    series_ohm: Array
    there: Array
    """Sign of the lamp where it is fitted, 0 where it is not."""
    ratio: Array


def amplifier_of(
    template: Template, at: Callable[[int, str], Array], n: int, nodes: list[int], current: int
) -> Amplifier:
    """Return the amplifier of an element: its nodes as numbers, and its figures for every row."""
    supply, out, plus, minus, ground, reference = nodes
    gain, offset, high, low = (at(n, name) for name in ("gain", "offset", "room_high", "room_low"))
    sinking, rail_ohm = (
        at(n, name) if (n, name) in template.column else np.zeros_like(gain) for name in ("sinking", "rail_ohm")
    )
    figures = gain, offset, high, low, at(n, "limit") * at(n, "fitted"), sinking, rail_ohm
    return Amplifier(supply, out, plus, minus, ground, reference, current, *figures)


def at_gain(one: Amplifier, gain: float) -> Amplifier:
    """Return the amplifier with no more gain than this, without any current where it is 0."""
    return one._replace(gain=np.minimum(one.gain, gain or 1.0), limit=one.limit * float(gain > 0))


def add_amplifier(one: Amplifier, pick: Rows, full: Array, f: Array, j: Array, slopes: bool) -> None:
    """Add an amplifier's current at its pins, and its own equation c = clamp(c + k error, -limit, limit)."""
    c, gain = one.current, one.gain[pick]
    scale = np.where(gain > OPEN_LOOP, 1.0, gain)
    error = scale * (full[:, one.plus] - full[:, one.minus] + one.offset[pick])
    error = error - scale / gain * (full[:, one.out] - full[:, one.reference])
    ohm, current = one.rail_ohm[pick], full[:, c]
    head = full[:, one.supply] - one.room_high[pick] - ohm * np.maximum(current, 0.0) - full[:, one.out]
    kept, by_sunk = _kept(one.sinking[pick], -current)
    kept += ohm * np.maximum(-current, 0.0)
    foot = full[:, one.ground] + one.room_low[pick] + kept - full[:, one.out]
    top, low = error > head, error < foot
    wanted = np.where(top, head, np.where(low, foot, error))
    alive, rise = smooth(full[:, one.supply] - full[:, one.ground] - ALIVE_V, ALIVE_WIDTH_V)
    most = one.limit[pick] * alive
    k = GAIN_PER_V * np.minimum(one.limit[pick], 1.0)
    wish = current + k * wanted
    held = np.clip(wish, -most, most)
    f[:, c] += current - held
    f[:, one.out] -= current
    giving = current > 0
    f[:, one.supply] += np.where(giving, current, 0.0)
    f[:, one.ground] += np.where(giving, 0.0, current)
    if not slopes:
        return
    free = np.where((wish > -most) & (wish < most), k, 0.0)
    clipped = free == 0.0
    narrowed = np.where(top, ohm * (current > 0), np.where(low, by_sunk + ohm * (current < 0), 0.0))
    j[:, c, c] += clipped + free * narrowed
    by_rise = np.where(clipped, np.sign(wish) * one.limit[pick] * rise, 0.0)
    own = np.where(top | low, 0.0, free)
    j[:, c, one.supply] -= np.where(top, free, 0.0) + by_rise
    j[:, c, one.ground] -= np.where(low & ~top, free, 0.0) - by_rise
    j[:, c, one.out] += np.where(top | low, free, own * scale / gain)
    j[:, c, one.reference] -= own * scale / gain
    j[:, c, one.plus] -= own * scale
    j[:, c, one.minus] += own * scale
    j[:, one.out, c] -= 1.0
    j[:, one.supply, c] += giving
    j[:, one.ground, c] += ~giving


def _kept(most: Array, sunk: Array) -> tuple[Array, Array]:
    """Return what an output keeps to its lower supply when it takes a current, and its slope: a step of width."""
    square = (np.maximum(sunk, 0.0) / SINKS_FREELY_A) ** 2
    rise = np.where(sunk > 0, 2 * square / np.maximum(sunk, 1e-300), 0.0)
    return most * square / (1 + square), most * rise / (1 + square) ** 2


def add_coupler(one: Coupler, pick: Rows, full: Array, f: Array, j: Array, slopes: bool) -> None:
    """Add the current of a coupler's output: ratio times the lamp's, less where little voltage is left across it."""
    there = one.there[pick]
    sign = np.where(there < 0, -1.0, 1.0)
    lamp, lamp_slope = diode_current(
        sign * (full[:, one.anode] - full[:, one.cathode]), one.log_is[pick], one.slope_v[pick], one.series_ohm[pick]
    )
    lit = np.abs(there) * one.ratio[pick] * np.maximum(lamp, 0.0)
    share = np.tanh((full[:, one.collector] - full[:, one.emitter]) / SATURATED_V)
    f[:, one.collector] += lit * share
    f[:, one.emitter] -= lit * share
    if not slopes:
        return
    across = lit * (1.0 - share**2) / SATURATED_V
    by_lamp = there * one.ratio[pick] * np.where(lamp > 0, lamp_slope, 0.0) * share
    for node, way in ((one.collector, 1.0), (one.emitter, -1.0)):
        j[:, node, one.collector] += way * across
        j[:, node, one.emitter] -= way * across
        j[:, node, one.anode] += way * by_lamp
        j[:, node, one.cathode] -= way * by_lamp
