"""Bipolar transistors: two junctions that steer the collector current (Ebers and Moll, Proc. IRE 42 (1954) 1761).

An adjustable shunt reference is one with a base voltage of its own and a cathode that gives way below some volts.
"""

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from reworkkit.compute.formulas.junction import THERMAL_VOLTAGE, Array, Rows, diode_current, log_saturation
from reworkkit.compute.formulas.network.shapes import smooth
from reworkkit.compute.formulas.network.stamps import Stamps

REVERSE_GAIN = 2.0
"""Current gain with collector and emitter exchanged; from memory, 1 to 10."""
SHUNT_WIDTH_V, SHUNT_MOST_A = 0.04, 0.3
"""Scale on which a shunt's cathode gives way near its least voltage, and what it sinks at most; from memory."""


class Bipolar(NamedTuple):
    """Transistors: nodes, sign (npn 1, pnp -1), junction figures, gain, and whether they are fitted."""

    collector: Rows
    base: Rows
    emitter: Rows
    sign: Array
    log_is: Array
    slope_v: Array
    series_ohm: Array
    gain: Array
    fitted: Array


def thyristor_of(at: Callable[[int, str], Array], n: int, nodes: Rows, sign: float) -> list[Bipolar]:
    """Return the two transistors that a thyristor is: each one's collector is the other one's base.

    Nodes: the end that the load is on, gate, the end that the gate is driven against, the base inside. Sign -1: the
    gate is driven below that end. It latches where the gains' product is above 1 and more flows than what joins gate
    and end takes (Ebers, Proc. IRE 40 (1952) 1361).
    """
    far, gate, near, inner = nodes
    slope_v, series = at(n, "ideality") * THERMAL_VOLTAGE, at(n, "series")
    log_is = log_saturation(at(n, "forward"), at(n, "at"), slope_v, series)
    there, way = at(n, "fitted"), np.full_like(series, sign)
    return [
        Bipolar(inner, gate, near, way, log_is, slope_v, series, at(n, "gain"), there),
        Bipolar(gate, inner, far, -way, log_is, slope_v, series, at(n, "second_gain"), there),
    ]


def add_bipolars(those: Bipolar, full: Array, stamps: Stamps) -> None:
    """Add the currents that leave the three nodes into transistors, and their slopes.

    Ib = ie + ic, Ic = B ie - (1 + Br) ic, Ie = -Ib - Ic, with ie and ic the base's junction currents towards emitter
    and collector; that towards the collector saturates at B / Br times the other's current, so that both carry one
    transport current. Each has a small resistance in closed form, so slopes are bounded: that towards the collector a
    smaller one in the same proportion, or a base driven hard would take the collector past the emitter.
    """
    base, gain, there = those.base, those.gain, those.fitted
    ratio = gain / REVERSE_GAIN
    larger, smaller = those.log_is + np.log(ratio), those.series_ohm / np.maximum(ratio, 1.0)
    ends = np.stack([those.emitter, those.collector])
    across = those.sign[:, None] * (full[:, base][:, None] - full[:, ends])
    saturation = np.stack([those.log_is, larger], axis=1)
    series_ohm = np.stack([those.series_ohm, smaller], axis=1)
    amps, slopes = diode_current(across, saturation, those.slope_v[:, None], series_ohm)
    (to_emitter, to_collector), (slope_e, slope_c) = (np.moveaxis(both, 1, 0) for both in (amps, slopes))
    shares = (
        (base, 1.0, 1.0),
        (those.collector, gain, -1 - REVERSE_GAIN),
        (those.emitter, -1 - gain, REVERSE_GAIN),
    )
    for node, by_emitter, by_collector in shares:
        stamps.add(node, those.sign * there * (by_emitter * to_emitter + by_collector * to_collector))
        if stamps.slopes:
            for far, slope in (
                (those.emitter, there * by_emitter * slope_e),
                (those.collector, there * by_collector * slope_c),
            ):
                stamps.slope(node, base, slope)
                stamps.slope(node, far, -slope)


class Shunt(NamedTuple):
    """Adjustable shunt references: nodes, junction of the input, gain from there to the cathode, least cathode."""

    cathode: Rows
    own: Rows
    anode: Rows
    log_is: Array
    slope_v: Array
    series_ohm: Array
    gain: Array
    saturation: Array
    fitted: Array


def add_shunts(those: Shunt, full: Array, stamps: Stamps) -> None:
    """Add the currents of adjustable shunts: the input takes a share of what the cathode sinks above its least."""
    gain, there, anode, cathode = those.gain, those.fitted, those.anode, those.cathode
    taken, slope = diode_current(full[:, those.own] - full[:, anode], those.log_is, those.slope_v, those.series_ohm)
    taken, slope = there * taken, there * slope
    share, rise = smooth(full[:, cathode] - full[:, anode] - those.saturation, SHUNT_WIDTH_V)
    asked = gain * np.maximum(taken, 0.0)
    sunk, bend = asked / (1.0 + asked / SHUNT_MOST_A), (1.0 + asked / SHUNT_MOST_A) ** -2
    stamps.flow(those.own, anode, taken)
    stamps.flow(cathode, anode, sunk * share)
    if stamps.slopes:
        stamps.flow_slope(those.own, anode, those.own, anode, slope)
        stamps.flow_slope(cathode, anode, those.own, anode, slope * gain * bend * share * (taken > 0))
        stamps.flow_slope(cathode, anode, cathode, anode, sunk * rise)
