"""An isolated converter: its output stands between two pins of its own, its input pays for it."""

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from reworkkit.compute.formulas.junction import Array, Rows
from reworkkit.compute.formulas.network.shapes import clamp, smooth

_EDGE_V = 0.05
_LEAST_IN_V = 1.0
"""Input voltage below which the drawn current grows no further."""


class Brick(NamedTuple):
    """One isolated converter for many rows: nodes of its input and output, the unknown of its current, its figures.

    It holds `volts`, or where `follows` is above 0 that times its input times `follows`, less `inner` ohms.
    """

    inside: int
    entry_return: int
    out: int
    out_return: int
    current: int
    volts: Array
    follows: Array
    inner: Array
    limit: Array
    start: Array
    efficiency: Array


def brick_of(at: Callable[[int, str], Array], n: int, nodes: list[int], current: int) -> Brick:
    """Return the converter that element `n` is, with figures from `at`."""
    names = ("volts", "follows", "inner", "limit", "start", "efficiency")
    volts, follows, inner, limit, start, efficiency = (at(n, name) for name in names)
    figures = volts, follows, inner, limit * at(n, "fitted"), start, efficiency
    return Brick(nodes[0], nodes[1], nodes[2], nodes[3], current, *figures)


def add_brick(one: Brick, pick: Rows, full: Array, f: Array, j: Array, slopes: bool) -> None:
    """Add an isolated converter: c = clamp(c + k error, 0, limit) at its output, output power at its input."""
    c, follows, inner = one.current, one.follows[pick], one.inner[pick]
    current = full[:, c]
    supply = full[:, one.inside] - full[:, one.entry_return]
    across = full[:, one.out] - full[:, one.out_return]
    by_input = np.where(follows > 0, one.volts[pick] * follows, 0.0)
    target = np.where(follows > 0, by_input * supply, one.volts[pick])
    limit = one.limit[pick]
    share, rise = smooth(supply - one.start[pick], _EDGE_V)
    held, free, at_top = clamp(current, target - across - inner * current, limit * share, limit)
    floor, efficiency = np.maximum(supply, _LEAST_IN_V), one.efficiency[pick]
    given = np.maximum(across, 0.0)
    drawn = given * current / (efficiency * floor)
    f[:, c] += current - held
    for node, amps in (
        (one.out, -current),
        (one.out_return, current),
        (one.inside, drawn),
        (one.entry_return, -drawn),
    ):
        f[:, node] += amps
    if not slopes:
        return
    j[:, c, c] += (free == 0.0) + free * inner
    for node, way in ((one.inside, 1.0), (one.entry_return, -1.0)):
        j[:, c, node] -= way * (free * by_input + at_top * limit * rise)
        j[:, node, c] += way * given / (efficiency * floor)
        by_out = np.where(across > 0, current / (efficiency * floor), 0.0)
        by_in = np.where(supply > _LEAST_IN_V, -drawn / floor, 0.0)
        j[:, node, one.out] += way * by_out
        j[:, node, one.out_return] -= way * by_out
        j[:, node, one.inside] += way * by_in
        j[:, node, one.entry_return] -= way * by_in
    for node, way in ((one.out, 1.0), (one.out_return, -1.0)):
        j[:, c, node] += way * free
        j[:, node, c] -= way
