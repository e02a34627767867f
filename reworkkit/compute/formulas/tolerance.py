"""Tolerance stacks: worst case and root sum of squares. Deviations in any one unit."""

import math
from collections.abc import Iterable


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


def adjustable_output(reference: float, upper: float, lower: float, adjust_current: float = 0.0) -> float:
    """Return the output of a regulator set by a divider [V]: V = Vref (1 + Rupper/Rlower) + Iadj Rupper.

    For a feedback pin the reference lies across `lower`; for a three-terminal adjustable regulator it lies across the
    resistor from output to adjust pin, so that one is `lower` here and the one to ground is `upper`.

    >>> adjustable_output(1.25, 30e3, 10e3)
    5.0
    """
    return reference * (1 + upper / lower) + adjust_current * upper
