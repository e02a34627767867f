"""Bipolar transistors: two junctions that steer the collector current (Ebers and Moll, Proc. IRE 42 (1954) 1761)."""

from typing import NamedTuple

import numpy as np

from reworkkit.compute.formulas.junction import Array, Rows, diode_current

REVERSE_GAIN = 2.0
"""Current gain with collector and emitter exchanged; from memory, 1 to 10."""


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
