"""The shape of a swept channel: noise, samples that dropped out, ends of travel, line, steps back, way up and down."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
BINS = 40
_SPIKE = 0.15
"""A sample further than this share of the span from the median of its neighbours has dropped out."""
_MAD = 1.4826
"""Standard deviation of a normal distribution over its median absolute deviation (closed form)."""


class Line(NamedTuple):
    """A straight line y = start + slope x."""

    start: float
    slope: float

    def at(self, x: Array) -> Array:
        """Return the line at x."""
        return self.start + self.slope * x


def as_array(samples: tuple[float | None, ...]) -> Array:
    """Return samples as an array, missing ones as not-a-number."""
    return np.array([np.nan if one is None else one for one in samples], dtype=np.float64)


def dropouts(y: Array, span: float) -> NDArray[np.bool_]:
    """Return which samples are missing or stand far from the median of five around them."""
    missing = np.isnan(y)
    if len(y) < 5 or span <= 0:
        return missing
    filled = np.interp(np.arange(len(y)), np.flatnonzero(~missing), y[~missing]) if missing.any() else y
    padded = np.pad(filled, 2, mode="edge")
    middle = np.median(np.lib.stride_tricks.sliding_window_view(padded, 5), axis=1)
    return missing | (np.abs(filled - middle) > _SPIKE * span)


def robust_span(y: Array) -> float:
    """Return the span of a channel, single samples far outside not counted: of the medians of three neighbours."""
    seen = y[~np.isnan(y)]
    if len(seen) < 3:
        return float(np.ptp(seen)) if len(seen) else 0.0
    middle = np.median(np.lib.stride_tricks.sliding_window_view(seen, 3), axis=1)
    return float(np.ptp(middle))


def noise(y: Array) -> float:
    """Return the standard deviation of the noise on a smooth curve, from its second differences.

    For white noise the second difference has variance 6 sigma^2; the median makes it blind to single spikes.
    """
    if len(y) < 4:
        return 0.0
    second = np.diff(y, 2)
    return float(_MAD * np.median(np.abs(second - np.median(second))) / np.sqrt(6.0))


def branches(x: Array) -> list[NDArray[np.intp]]:
    """Return the samples of each way the lever went, in order; standing still belongs to the way before.

    A way counts where it covers at least a fifth of the travel.
    """
    if len(x) < 3:
        return [np.arange(len(x))]
    reach, turns = 0.05 * float(np.ptp(x)), [0]
    direction, extreme = 0, 0
    for n in range(1, len(x)):
        if direction == 0 and abs(x[n] - x[0]) > reach:
            direction, extreme = (1 if x[n] > x[0] else -1), n
        elif direction and (x[n] - x[extreme]) * direction >= 0:
            extreme = n
        elif direction and (x[extreme] - x[n]) * direction > reach:
            turns.append(extreme)
            direction, extreme = -direction, n
    ends = [*turns, len(x) - 1]
    ways = [np.arange(ends[n], ends[n + 1] + 1) for n in range(len(ends) - 1)]
    return [way for way in ways if np.ptp(x[way]) >= 0.2 * np.ptp(x)] or [np.arange(len(x))]


def binned(x: Array, y: Array, low: float, high: float, bins: int = BINS) -> tuple[Array, Array]:
    """Return the middle positions and means of equal shares of the travel; shares without a sample are left out."""
    place = np.clip(((x - low) / ((high - low) or 1.0) * bins).astype(int), 0, bins - 1)
    count = np.bincount(place, minlength=bins)
    used = count > 0
    mean_x = np.bincount(place, weights=x, minlength=bins)[used] / count[used]
    mean_y = np.bincount(place, weights=y, minlength=bins)[used] / count[used]
    return mean_x, mean_y


def middle_line(x: Array, y: Array) -> Line:
    """Return the least-squares line through the samples between 20 and 80 % of the span."""
    low, high = float(y.min()), float(y.max())
    inside = (y > low + 0.2 * (high - low)) & (y < high - 0.2 * (high - low))
    if inside.sum() < 2 or np.ptp(x[inside]) == 0:
        inside = np.ones(len(y), dtype=bool)
    return fitted_line(x[inside], y[inside])


def fitted_line(x: Array, y: Array) -> Line:
    """Return the least-squares line; level where x does not vary."""
    centre = x - x.mean()
    spread = float(centre @ centre)
    slope = float(centre @ (y - y.mean())) / spread if spread else 0.0
    return Line(float(y.mean()) - slope * float(x.mean()), slope)


def dead_ends(x: Array, y: Array) -> tuple[float, float]:
    """Return the travel at both ends in which nothing changes, as shares of the travel.

    Where the line of the middle meets the value at each end, the dead travel begins; exact for a straight ramp with
    level ends.
    """
    line = middle_line(x, y)
    travel = float(np.ptp(x))
    if not line.slope or not travel:
        return 0.0, 0.0
    order = np.argsort(x, kind="stable")
    few = max(1, len(x) // 200)
    first, last = float(np.median(y[order[:few]])), float(np.median(y[order[-few:]]))
    meets = [(value - line.start) / line.slope for value in (first, last)]
    shares = ((meets[0] - float(x.min())) / travel, (float(x.max()) - meets[1]) / travel)
    return min(1.0, max(0.0, shares[0])), min(1.0, max(0.0, shares[1]))


def steps_back(x: Array, y: Array) -> float:
    """Return the largest fall against the direction of the curve on one way, in the unit of y."""
    if x[-1] < x[0]:
        x, y = x[::-1], y[::-1]
    along = y if fitted_line(x, y).slope >= 0 else -y
    means = binned(x, along, float(x.min()), float(x.max()))[1]
    return float(np.max(np.maximum.accumulate(means) - means))


def bent(x: Array, y: Array) -> float:
    """Return the largest distance of the means from their best line, in the unit of y."""
    mean_x, mean_y = binned(x, y, float(x.min()), float(x.max()))
    return float(np.max(np.abs(mean_y - fitted_line(mean_x, mean_y).at(mean_x))))


def apart(x: Array, y: Array, ways: list[NDArray[np.intp]]) -> float | None:
    """Return the largest distance between the way up and the way down; None where only one way was gone."""
    up = [way for way in ways if x[way[-1]] > x[way[0]]]
    down = [way for way in ways if x[way[-1]] < x[way[0]]]
    if not up or not down:
        return None
    forth, back = np.concatenate(up), np.concatenate(down)
    low, high = max(x[forth].min(), x[back].min()), min(x[forth].max(), x[back].max())
    grid = np.linspace(low, high, BINS)
    lines = [np.interp(grid, *binned(x[way], y[way], float(low), float(high))) for way in (forth, back)]
    inner = slice(2, -2)
    return float(np.max(np.abs(lines[0] - lines[1])[inner]))
