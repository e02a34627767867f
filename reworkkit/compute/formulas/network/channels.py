"""Channels of MOSFETs and IGBTs: a conductance that the gate opens, of an IGBT behind a junction."""

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from reworkkit.compute.formulas.junction import Array, Rows
from reworkkit.compute.formulas.network.shapes import EDGE_V, add_pair, beyond_knee, middle_of_channel, smooth
from reworkkit.compute.formulas.network.template import Template


class Channel(NamedTuple):
    """One channel for many rows: its nodes, 1 for n and -1 for p, and its figures.

    `on` [S] is its conductance with the gate high, `middle` [V] the gate voltage at which half of it is there, `knee`
    [V] what a junction in its way drops, None without one.
    """

    drain: int
    gate: int
    source: int
    sign: float
    on: Array
    middle: Array
    knee: Array | None


def channel_of(template: Template, at: Callable[[int, str], Array], n: int, nodes: list[int]) -> Channel:
    """Return the channel of an element: its nodes as numbers, and its figures for every row."""
    drain, gate, source = nodes
    sign = -1.0 if template.elements[n].kind == "mosfet_p" else 1.0
    middle = middle_of_channel(at(n, "threshold"), at(n, "channel"))
    knee = at(n, "knee") if (n, "knee") in template.column else None
    return Channel(drain, gate, source, sign, at(n, "fitted") / at(n, "channel"), middle, knee)


def add_channel(one: Channel, pick: Rows, full: Array, f: Array, j: Array, slopes: bool) -> None:
    """Add the current through a channel, which turns on by its gate against the lower of its ends (p: the higher)."""
    drain, source, sign, on = one.drain, one.source, one.sign, one.on[pick]
    ends = full[:, drain], full[:, source]
    lower = np.minimum(*ends) if sign > 0 else np.maximum(*ends)
    share, slope = smooth(sign * (full[:, one.gate] - lower) - one.middle[pick], EDGE_V)
    across, rise = beyond_knee(ends[0] - ends[1], None if one.knee is None else one.knee[pick])
    add_pair(f, j, drain, source, on * share * across, on * share * rise, slopes)
    if not slopes:
        return
    turn = on * slope * sign * across
    at_drain = (lower == full[:, drain]).astype(float)
    for row, way in ((drain, 1.0), (source, -1.0)):
        j[:, row, one.gate] += way * turn
        j[:, row, drain] -= way * turn * at_drain
        j[:, row, source] -= way * turn * (1 - at_drain)
