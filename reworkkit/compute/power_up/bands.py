"""Bands of an operating point: worst case over all tolerances, and root sum of squares beside it."""

from dataclasses import dataclass

import numpy as np

from reworkkit.compute.formulas.junction import Array
from reworkkit.compute.formulas.tolerance import Share, reached, root_sum_of_squares
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

ONE_IN = 100_000.0
"""One board in this many may lie outside a `reached` band, each figure anywhere in its tolerance."""


@dataclass(frozen=True)
class Spread:
    """Nominal value, worst-case ends and root-sum-of-squares ends of one output."""

    nominal: float
    low: float
    high: float
    usual_low: float
    usual_high: float
    reached_low: float
    reached_high: float
    """Ends that all but one in 100,000 boards stay within: many tolerances are hardly ever all at their bad end."""

    def worst(self, unit: str, extra_low: float = 0.0, extra_high: float = 0.0) -> Band:
        """Return the worst-case band, widened by what the meter adds."""
        return Band(self.low - extra_low, self.nominal, self.high + extra_high, unit, BandBasis.WORST_CASE)

    def usual(self, unit: str, extra: float = 0.0) -> Band:
        """Return the band most boards lie in."""
        low = self.usual_low - extra
        return Band(
            max(low, 0.0) if self.nominal >= 0 else low, self.nominal, self.usual_high + extra, unit, BandBasis.RSS
        )


def spread(nominal: float, low: Array, high: Array, corners: tuple[float, float], below: Array) -> Spread:
    """Return the spread of an output from its change at each tolerance's low and high end and its two worst corners.

    `low` and `high` are the output with one tolerance at that end; `corners` the output with every tolerance at the
    end that lowers it, and at the end that raises it; `below` how much of each tolerance lies below its nominal value.
    """
    down = np.minimum(np.minimum(low, high) - nominal, 0.0)
    up = np.maximum(np.maximum(low, high) - nominal, 0.0)
    ends = [nominal, float(np.min(low, initial=nominal)), float(np.max(high, initial=nominal)), *corners]
    return Spread(
        nominal,
        min(ends),
        max(ends),
        nominal - root_sum_of_squares(down),
        nominal + root_sum_of_squares(up),
        *_reached(nominal, low - nominal, high - nominal, corners, below),
    )


def _reached(
    nominal: float, low: Array, high: Array, corners: tuple[float, float], below: Array
) -> tuple[float, float]:
    """Return the ends that all but one board in 100,000 stay within.

    The changes come from one straight line a figure; they are stretched so that together they reach the true corners.
    """
    down = float(np.minimum(np.minimum(low, high), 0.0).sum())
    up = float(np.maximum(np.maximum(low, high), 0.0).sum())
    shrink = (nominal - corners[0]) / -down if down < 0 else 1.0
    grow = (corners[1] - nominal) / up if up > 0 else 1.0
    stretch = [np.where(ends < 0, ends * shrink, ends * grow) for ends in (low, high)]
    shares = [Share(float(a), float(b), float(part)) for a, b, part in zip(*stretch, below, strict=True)]
    least, most = reached(shares, ONE_IN)
    return nominal + least, nominal + most
