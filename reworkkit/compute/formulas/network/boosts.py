"""How far up a step-up converter can get: what a pump mirrors, or what its switch stands."""

from typing import NamedTuple

import numpy as np

from reworkkit.compute.formulas.junction import Array
from reworkkit.compute.formulas.network.template import Template


class Ceiling(NamedTuple):
    """What a converter lacks to the most that it can make [V]; slopes against input, output, common and current."""

    head: Array
    by_inside: Array | float
    by_out: Array | float
    by_common: Array | float
    by_current: Array | float


def boost_ceiling(
    template: Template, n: int, rows: Array, nodes: tuple[int, int, int], full: Array, current: Array
) -> Ceiling | None:
    """Return how far a converter is from the most that it can make; None where that is not known.

    A pump makes its input less what its resistance drops; another is held at `most` by its switch, also where nothing
    comes back to its feedback pin; that is reckoned on the scale of its reference, so that a divider in use always
    holds it first. `nodes` are input, output and common.
    """
    inside, out, common = (full[:, node] for node in nodes)
    if (n, "mirror") in template.column:
        ohm, ratio = (rows[:, template.column[n, name]] for name in ("inner", "mirror"))
        head = ratio * (inside - common) + out - common - ohm * current
        return Ceiling(np.asarray(head), ratio, 1.0, -(1.0 + ratio), -ohm)
    if (n, "most") in template.column:
        most, volts = (rows[:, template.column[n, name]] for name in ("most", "volts"))
        share = volts / most
        return Ceiling(np.asarray(volts - share * (out - common)), 0.0, -share, share, 0.0)
    return None
