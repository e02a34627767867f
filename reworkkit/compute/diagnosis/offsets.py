"""Amplifiers at an end of their output whose inputs are alike: where they stand, their offset decides."""

import numpy as np

from reworkkit.compute.diagnosis.chip_faults import LEAST_GAIN
from reworkkit.compute.diagnosis.ties import OFFSET_V
from reworkkit.compute.formulas.junction import Array, Rows
from reworkkit.compute.formulas.network import Template, solve

NEAR = 2.0
"""Inputs nearer than so many spreads of the offset are alike; farther apart, tolerances decide, not it."""
AT_END_V = 0.15
"""An output is at an end where it is no further from a supply than this beside what it leaves of it anyhow."""
MOST_OFFSET_V = 0.1
"""One that is further off is broken: it stands at its end whatever its inputs."""
SHARE = 0.7
"""One spread, as a share of the way to where the other offset would bring an output."""


def by_offsets(template: Template, rows: Array, states: Array) -> Array:
    """Return how far each unknown may move (clusters, unknowns, 1) where offsets decide, one spread.

    A board without amplifiers has nothing that moves so: (clusters, unknowns, 0).
    A follower at 0 V with an offset below nothing stays at its lower end; with one above it, it regulates, which at a
    gate is volts away.
    """
    amplifiers = [n for n, element in enumerate(template.elements) if element.kind == "amplifier"]
    gain = np.zeros_like(states)
    for n in amplifiers:
        mine, offset = _at_rest(template, rows, states, n)
        if len(mine):
            other = rows[mine].copy()
            other[:, template.column[n, "offset"]] = offset
            found = solve(template, other, states[mine], patient=False)
            gain[mine] += np.where(found.settled[:, None], found.state - states[mine], 0.0)
    return SHARE * gain[:, :, None][:, :, : len(amplifiers)]


def _at_rest(template: Template, rows: Array, states: Array, n: int) -> tuple[Rows, Array]:
    """Return the clusters where an amplifier is at an end with inputs alike, and the offsets that take it off there."""
    high, out, plus, minus, low, _ = template.elements[n].nodes
    figure = {name: rows[:, template.column[n, name]] for name in ("fitted", "gain", "offset", "room_high", "room_low")}
    above = template.volts(states, high) - template.volts(states, out) - figure["room_high"]
    below = template.volts(states, out) - template.volts(states, low) - figure["room_low"]
    difference = template.volts(states, plus) - template.volts(states, minus)
    alike = np.abs(difference) < NEAR * OFFSET_V
    works = (figure["fitted"] > 0) & (figure["gain"] >= LEAST_GAIN) & (np.abs(figure["offset"]) < MOST_OFFSET_V)
    works &= above + below > 2 * AT_END_V
    mine = np.flatnonzero(works & alike & (np.minimum(above, below) < AT_END_V))
    away = np.where(below[mine] < above[mine], OFFSET_V, -OFFSET_V)
    return mine, np.asarray(away - difference[mine])
