"""One fixed table of evenly spread draws, so that ranges never depend on a random generator."""

import math
from functools import cache
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

PRIMES = (2, 3, 5, 7, 11, 13, 17, 19, 23, 29)


def radical_inverse(index: int, base: int) -> float:
    """Return the digits of `index` in `base`, mirrored at the point: a number in [0, 1).

    Source: Halton, Numer. Math. 2 (1960) 84.

    >>> [radical_inverse(i, 2) for i in (1, 2, 3, 4)]
    [0.5, 0.25, 0.75, 0.125]
    """
    value, share = 0.0, 1.0 / base
    while index:
        index, digit = divmod(index, base)
        value += digit * share
        share /= base
    return value


@cache
def normal_draws(count: int, factors: int) -> NDArray[np.float64]:
    """Return `count` draws of `factors` independent standard normal figures (at most 10), mean 0 and spread 1 each.

    Halton points from number 21 on, turned into normal figures; each column is centred and scaled.

    >>> table = normal_draws(256, 8)
    >>> table.shape, bool(abs(table.mean(axis=0)).max() < 1e-12)
    ((256, 8), True)
    """
    inverse = NormalDist().inv_cdf
    table = np.array([[inverse(radical_inverse(i + 21, p)) for p in PRIMES[:factors]] for i in range(count)])
    table -= table.mean(axis=0)
    table /= np.sqrt((table**2).mean(axis=0))
    table.setflags(write=False)
    return table


def tenth_and_ninetieth(values: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the 10 % and 90 % points along the first axis.

    >>> [float(v) for v in tenth_and_ninetieth(np.arange(11.0))]
    [1.0, 9.0]
    """
    ordered = np.sort(values, axis=0)
    place = 0.1 * (len(values) - 1)
    floor = math.floor(place)
    share = place - floor
    upper = len(values) - 1 - floor
    low = ordered[floor] * (1 - share) + ordered[min(floor + 1, len(values) - 1)] * share
    high = ordered[upper] * (1 - share) + ordered[max(upper - 1, 0)] * share
    return low, high
