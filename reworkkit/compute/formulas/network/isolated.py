"""An isolated converter: its output stands between two pins of its own, its input pays for it."""

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from reworkkit.compute.formulas.junction import Array, Rows
from reworkkit.compute.formulas.network.shapes import clamp, smooth
from reworkkit.compute.formulas.network.stamps import Stamps

_EDGE_V = 0.05
_LEAST_IN_V = 1.0
"""Input voltage below which the drawn current grows no further."""


class Brick(NamedTuple):
    """Isolated converters: nodes of input and output, the unknown of the current, figures.

    One holds `volts`, or where `follows` is above 0 that times its input times `follows`, less `inner` ohms.
    """

    inside: Rows
    entry_return: Rows
    out: Rows
    out_return: Rows
    current: Rows
    volts: Array
    follows: Array
    inner: Array
    limit: Array
    start: Array
    efficiency: Array


def brick_of(at: Callable[[int, str], Array], n: int, nodes: Rows, current: Rows) -> Brick:
    """Return the converter that element `n` is, with figures from `at`."""
    names = ("volts", "follows", "inner", "limit", "start", "efficiency")
    volts, follows, inner, limit, start, efficiency = (at(n, name) for name in names)
    figures = volts, follows, inner, limit * at(n, "fitted"), start, efficiency
    return Brick(nodes[0], nodes[1], nodes[2], nodes[3], current, *figures)


def add_bricks(those: Brick, full: Array, stamps: Stamps) -> None:
    """Add isolated converters: c = clamp(c + k error, 0, limit) at the output, output power at the input."""
    inside, back, out, out_return, c = those.inside, those.entry_return, those.out, those.out_return, those.current
    current, supply, across = full[:, c], full[:, inside] - full[:, back], full[:, out] - full[:, out_return]
    by_input = np.where(those.follows > 0, those.volts * those.follows, 0.0)
    target = np.where(those.follows > 0, by_input * supply, those.volts)
    share, rise = smooth(supply - those.start, _EDGE_V)
    limit = those.limit
    held, free, at_top = clamp(current, target - across - those.inner * current, limit * share, limit)
    floor = np.maximum(supply, _LEAST_IN_V)
    given, per_volt = np.maximum(across, 0.0), 1.0 / (those.efficiency * floor)
    drawn = given * current * per_volt
    stamps.add(c, current - held)
    stamps.flow(out_return, out, current)
    stamps.flow(inside, back, drawn)
    if not stamps.slopes:
        return
    stamps.slope(c, c, (free == 0.0) + free * those.inner)
    to_input = free * by_input + at_top * limit * rise
    stamps.slope(c, inside, -to_input)
    stamps.slope(c, back, to_input)
    stamps.slope(c, out, free)
    stamps.slope(c, out_return, -free)
    for node, way in ((inside, 1.0), (back, -1.0)):
        stamps.slope(node, c, way * given * per_volt)
    for node, way in ((out, -1.0), (out_return, 1.0)):
        stamps.slope(node, c, np.full_like(current, way))
    stamps.flow_slope(inside, back, out, out_return, np.where(across > 0, current * per_volt, 0.0))
    stamps.flow_slope(inside, back, inside, back, np.where(supply > _LEAST_IN_V, -drawn / floor, 0.0))
