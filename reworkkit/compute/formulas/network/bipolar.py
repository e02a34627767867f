"""Bipolar transistors: two junctions that steer the collector current (Ebers and Moll, Proc. IRE 42 (1954) 1761).

An adjustable shunt reference is one with a base voltage of its own and a cathode that gives way below some volts.
"""

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from reworkkit.compute.formulas.junction import THERMAL_VOLTAGE, Array, Rows, diode_current, log_saturation
from reworkkit.compute.formulas.network.shapes import smooth

REVERSE_GAIN = 2.0
"""Current gain with collector and emitter exchanged; from memory, 1 to 10."""
SHUNT_WIDTH_V, SHUNT_MOST_A = 0.04, 0.3
"""Scale on which a shunt's cathode gives way near its least voltage, and what it sinks at most; from memory."""


class Bipolar(NamedTuple):
    """One transistor for many rows: nodes, sign (npn 1, pnp -1), junction figures, gain, and whether it is fitted."""

    collector: int
    base: int
    emitter: int
    sign: float
    log_is: Array
    slope_v: Array
    series_ohm: Array
    gain: Array
    fitted: Array


def thyristor_of(at: Callable[[int, str], Array], n: int, nodes: list[int], sign: float) -> list[Bipolar]:
    """Return the two transistors that a thyristor is: each one's collector is the other one's base.

    Nodes: the end that the load is on, gate, the end that the gate is driven against, the base inside. Sign -1: the
    gate is driven below that end. It latches where the gains' product is above 1 and more flows than what joins gate
    and end takes (Ebers, Proc. IRE 40 (1952) 1361).
    """
    far, gate, near, inner = nodes
    slope_v, series = at(n, "ideality") * THERMAL_VOLTAGE, at(n, "series")
    log_is = log_saturation(at(n, "forward"), at(n, "at"), slope_v, series)
    there = at(n, "fitted")
    return [
        Bipolar(inner, gate, near, sign, log_is, slope_v, series, at(n, "gain"), there),
        Bipolar(gate, inner, far, -sign, log_is, slope_v, series, at(n, "second_gain"), there),
    ]


def add_bipolar(one: Bipolar, pick: Rows, full: Array, f: Array, j: Array, slopes: bool) -> None:
    """Add the currents that leave the three nodes into the device, and their slopes.

    Ib = ie + ic, Ic = B ie - (1 + Br) ic, Ie = -Ib - Ic, with ie and ic the base's junction currents towards emitter
    and collector; that towards the collector saturates at B / Br times the other's current, so that both carry one
    transport current. Each has a small resistance in closed form, so slopes are bounded.
    """
    log_is, slope_v, series = one.log_is[pick], one.slope_v[pick], one.series_ohm[pick]
    there, gain = one.fitted[pick], one.gain[pick]
    larger = log_is + np.log(gain / REVERSE_GAIN)
    to_emitter, slope_e = diode_current(one.sign * (full[:, one.base] - full[:, one.emitter]), log_is, slope_v, series)
    to_collector, slope_c = diode_current(
        one.sign * (full[:, one.base] - full[:, one.collector]), larger, slope_v, series
    )
    shares = {
        one.base: (np.ones_like(gain), np.ones_like(gain)),
        one.collector: (gain, np.full_like(gain, -1 - REVERSE_GAIN)),
        one.emitter: (-1 - gain, np.full_like(gain, REVERSE_GAIN)),
    }
    for node, (by_emitter, by_collector) in shares.items():
        f[:, node] += one.sign * there * (by_emitter * to_emitter + by_collector * to_collector)
        if slopes:
            for far, slope in (
                (one.emitter, there * by_emitter * slope_e),
                (one.collector, there * by_collector * slope_c),
            ):
                j[:, node, one.base] += slope
                j[:, node, far] -= slope


class Shunt(NamedTuple):
    """One adjustable shunt reference: nodes, junction of its input, gain from there to the cathode, least cathode."""

    cathode: int
    own: int
    anode: int
    log_is: Array
    slope_v: Array
    series_ohm: Array
    gain: Array
    saturation: Array
    fitted: Array


def add_shunt(one: Shunt, pick: Rows, full: Array, f: Array, j: Array, slopes: bool) -> None:
    """Add the currents of an adjustable shunt: its input takes a share of what its cathode sinks above its least."""
    gain, there = one.gain[pick], one.fitted[pick]
    taken, slope = diode_current(
        full[:, one.own] - full[:, one.anode], one.log_is[pick], one.slope_v[pick], one.series_ohm[pick]
    )
    taken, slope = there * taken, there * slope
    share, rise = smooth(full[:, one.cathode] - full[:, one.anode] - one.saturation[pick], SHUNT_WIDTH_V)
    asked = gain * np.maximum(taken, 0.0)
    sunk, bend = asked / (1.0 + asked / SHUNT_MOST_A), (1.0 + asked / SHUNT_MOST_A) ** -2
    for node, by_input, by_cathode in ((one.own, 1.0, 0.0), (one.cathode, 0.0, 1.0), (one.anode, -1.0, -1.0)):
        f[:, node] += by_input * taken + by_cathode * sunk * share
        if slopes:
            at_input = slope * (by_input + by_cathode * gain * bend * share * (taken > 0))
            at_cathode = by_cathode * sunk * rise
            j[:, node, one.own] += at_input
            j[:, node, one.cathode] += at_cathode
            j[:, node, one.anode] -= at_input + at_cathode
