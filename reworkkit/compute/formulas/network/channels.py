"""Channels of MOSFETs and IGBTs: a conductance that the gate opens, of an IGBT behind a junction."""

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from reworkkit.compute.formulas.junction import Array, Rows
from reworkkit.compute.formulas.network.shapes import EDGE_V, beyond_knee, middle_of_channel, smooth
from reworkkit.compute.formulas.network.stamps import Stamps
from reworkkit.compute.formulas.network.template import Template


class Channel(NamedTuple):
    """Channels: their nodes, 1 for n and -1 for p, and their figures.

    `on` [S] is the conductance with the gate high, `middle` [V] the gate voltage at which half of it is there, `knee`
    [V] what a junction in its way drops, None without one.
    """

    drain: Rows
    gate: Rows
    source: Rows
    sign: Array
    on: Array
    middle: Array
    knee: Array | None


def channel_of(template: Template, at: Callable[[int, str], Array], n: int, nodes: Rows) -> Channel:
    """Return the channel of an element: its nodes as numbers, and its figures for every row."""
    drain, gate, source = nodes
    sign = -1.0 if template.elements[n].kind == "mosfet_p" else 1.0
    middle = middle_of_channel(at(n, "threshold"), at(n, "channel"))
    knee = at(n, "knee") if (n, "knee") in template.column else None
    return Channel(drain, gate, source, np.full_like(middle, sign), at(n, "fitted") / at(n, "channel"), middle, knee)


def add_channels(those: Channel, full: Array, stamps: Stamps) -> None:
    """Add the currents through channels, which turn on by the gate against the lower of their ends (p: the higher)."""
    drain, source, sign = those.drain, those.source, those.sign
    ends = full[:, drain], full[:, source]
    lower = sign * np.minimum(sign * ends[0], sign * ends[1])
    share, slope = smooth(sign * (full[:, those.gate] - lower) - those.middle, EDGE_V)
    across, rise = beyond_knee(ends[0] - ends[1], those.knee)
    stamps.flow(drain, source, those.on * share * across)
    if not stamps.slopes:
        return
    stamps.flow_slope(drain, source, drain, source, those.on * share * rise)
    turn = those.on * slope * sign * across
    stamps.flow_slope(drain, source, those.gate, drain, turn * (lower == ends[0]))
    stamps.flow_slope(drain, source, those.gate, source, turn * (lower != ends[0]))
