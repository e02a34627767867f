"""Tolerance stacks: worst case and root sum of squares. Deviations in any one unit."""

import math
from collections.abc import Iterable, Sequence
from typing import NamedTuple

import numpy as np


def worst_case(deviations: Iterable[float]) -> float:
    """Return the sum of the amounts: how far off all parts together can be.

    >>> worst_case([1.0, 1.0, 1.5])
    3.5
    """
    return sum(abs(deviation) for deviation in deviations)


def root_sum_of_squares(deviations: Iterable[float]) -> float:
    """Return sqrt(sum d^2): about how far off independent parts usually are together.

    >>> round(root_sum_of_squares([1.0, 1.0, 1.5]), 2)
    2.06
    """
    return math.sqrt(sum(deviation**2 for deviation in deviations))


class Share(NamedTuple):
    """What one tolerance adds to an output: at its low end, at its high end, and how much of it lies below nominal."""

    at_low: float
    at_high: float
    below: float = 0.5


_CELLS = 2000


def reached(shares: Sequence[Share], one_in: float) -> tuple[float, float]:
    """Return the deviations that all but one in `one_in` boards stay within, at either end.

    Each figure lies anywhere in its tolerance with equal chance and without regard to the others: the chances of sums
    are those of the single figures, convolved. Never more than the worst case. Closed form for two equal shares: the
    chance that the sum exceeds 2 - e (each between -1 and 1) is e^2 / 8.

    >>> low, high = reached([Share(-1, 1), Share(-1, 1)], 200)
    >>> round(low, 2), round(high, 2)
    (-1.8, 1.8)
    """
    lowest = sum(min(0.0, one.at_low, one.at_high) for one in shares)
    highest = sum(max(0.0, one.at_low, one.at_high) for one in shares)
    cell = (highest - lowest) / _CELLS
    if cell <= 0:
        return 0.0, 0.0
    chance = np.ones(1)
    for one in shares:
        chance = np.convolve(chance, _chances(one, cell))
    total = np.cumsum(chance)
    first = int(np.searchsorted(total, 1 / one_in))
    last = int(np.searchsorted(total, 1 - 1 / one_in))
    start = sum(_first_cell(one, cell) for one in shares)
    return max(lowest, (start + first) * cell), min(highest, (start + last) * cell)


def _first_cell(one: Share, cell: float) -> int:
    return math.floor(min(0.0, one.at_low, one.at_high) / cell + 0.5)


def _chances(one: Share, cell: float) -> "np.ndarray[tuple[int], np.dtype[np.float64]]":
    """Return the chance of each cell from the lowest value of this share on."""
    first = _first_cell(one, cell)
    last = math.floor(max(0.0, one.at_low, one.at_high) / cell + 0.5)
    found = np.zeros(last - first + 1)
    for end, part in ((one.at_low, one.below), (one.at_high, 1 - one.below)):
        edge = math.floor(end / cell + 0.5)
        here = slice(min(0, edge) - first, max(0, edge) - first + 1)
        found[here] += part / (here.stop - here.start)
    return found


def adjustable_output(reference: float, upper: float, lower: float, adjust_current: float = 0.0) -> float:
    """Return the output of a regulator set by a divider [V]: V = Vref (1 + Rupper/Rlower) + Iadj Rupper.

    For a feedback pin the reference lies across `lower`; for a three-terminal adjustable regulator it lies across the
    resistor from output to adjust pin, so that one is `lower` here and the one to ground is `upper`.

    >>> adjustable_output(1.25, 30e3, 10e3)
    5.0
    """
    return reference * (1 + upper / lower) + adjust_current * upper
