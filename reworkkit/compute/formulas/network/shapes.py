"""The bends of the equations: limits, smooth steps and loads that begin to draw."""

import numpy as np

from reworkkit.compute.formulas.junction import Array

GAIN_PER_V = 0.001
"""Share of a source's limit that one volt of error adds to its wish; small, so that a limit is reached by current."""
EDGE_V = 0.05
"""Width over which a channel or a start threshold goes from off to on."""
THRESHOLD_A = 2.5e-4
"""Current at which the sheet of a MOSFET states its threshold."""
_LOAD_STEPS = 16.0
"""A load's threshold lies this many of its own widths above 0 V: it draws nothing at 0 V."""


def clamp(current: Array, error: Array, limit: Array, most: Array) -> tuple[Array, Array, Array]:
    """Return clamp(current + k error, 0, limit), k where it lies between its ends else 0, and 1 where it is the limit.

    k is small, so that holding the voltage is tried first and a limit is reached only by too much current.
    """
    gain = GAIN_PER_V * np.minimum(most, 1.0)
    wish = current + gain * error
    inside = (wish > 0) & (wish < limit)
    return np.minimum(np.maximum(wish, 0.0), limit), np.where(inside, gain, 0.0), (wish >= limit).astype(float)


def smooth(u: Array, width: Array | float) -> tuple[Array, Array]:
    """Return the step from 0 to 1 about u = 0 and its slope."""
    share = 0.5 * (1.0 + np.tanh(0.5 * u / width))
    return share, share * (1.0 - share) / width


def load_current(v: Array, current: Array, from_v: Array) -> tuple[Array, Array]:
    """Return a load's current and slope: nothing at 0 V exactly, all of it well above its threshold."""
    width = from_v / _LOAD_STEPS
    zero = 0.5 * (1.0 + np.tanh(-0.5 * _LOAD_STEPS))
    share = 0.5 * (1.0 + np.tanh(0.5 * (v - from_v) / width))
    return current * (share - zero) / (1 - zero), current * share * (1 - share) / width / (1 - zero)


def beyond_knee(across: Array, knee: Array | None) -> tuple[Array, Array]:
    """Return the voltage that is left to a channel behind a junction in its way, and its slope; without a knee all.

    What a junction drops is taken as one voltage: nothing below it, all above it.
    """
    if knee is None:
        return across, np.ones_like(across)
    share, _ = smooth(across - knee, EDGE_V)
    return EDGE_V * np.logaddexp(0.0, (across - knee) / EDGE_V), share


def middle_of_channel(threshold: Array, channel: Array) -> Array:
    """Return the gate voltage at which half of a channel conducts, so that it carries 250 microampere at its threshold.

    A sheet states the threshold at that current: beside a channel of 50 milliohm, at 1 V, it lies 0.56 V lower.
    """
    return np.asarray(threshold + np.maximum(-EDGE_V * np.log(channel * THRESHOLD_A), 0.0))
