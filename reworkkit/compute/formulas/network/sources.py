"""Supplies and regulators: each holds a voltage by a current of its own, until a limit is reached.

All obey c = clamp(c + k (target - V), 0, limit), which holds in voltage, in current limit and when off alike.
"""

from typing import NamedTuple

import numpy as np

from reworkkit.compute.formulas.junction import Array, Rows
from reworkkit.compute.formulas.network.shapes import EDGE_V, clamp, smooth
from reworkkit.compute.formulas.network.stamps import Stamps

_LEAST_IN_V = 1.0
"""Input voltage below which what a converter draws grows no further."""


class Supply(NamedTuple):
    """Bench supplies: their nodes, the unknown of their current, 1 or -1 with the leads swapped, and their figures.

    `back` [A] is what one takes back before its net rises.
    """

    plus: Rows
    minus: Rows
    current: Rows
    sign: Array
    volts: Array
    resistance: Array
    limit: Array
    back: Array


class Regulator(NamedTuple):
    """Regulators and converters: nodes, the unknown of their current, -1 for one that works below its common pin.

    What a kind does not have is None: `dropout` of a step-up converter, `start` and `efficiency` of a linear one, which
    gives at its output what it takes at its input. A pump makes `mirror` times its input less what `inner` ohms drop;
    another step-up converter is held at `most` by its switch, also where nothing comes back to its feedback pin.
    """

    inside: Rows
    out: Rows
    common: Rows
    sense: Rows
    current: Rows
    way: Array
    volts: Array
    limit: Array
    dropout: Array | None = None
    start: Array | None = None
    efficiency: Array | None = None
    inner: Array | None = None
    mirror: Array | None = None
    most: Array | None = None


OWN_FIGURES = ("dropout", "start", "efficiency", "inner", "mirror", "most")
"""What not every regulator has."""


class _Ceiling(NamedTuple):
    """What a regulator lacks to the most that it can make [V]; slopes against input, output, common and current."""

    head: Array
    by_inside: Array | float
    by_out: Array | float
    by_common: Array | float
    by_current: Array | float


def add_supplies(those: Supply, full: Array, stamps: Stamps) -> None:
    """Add the currents of supplies, and their own equations."""
    c, sign, plus, minus = those.current, those.sign, those.plus, those.minus
    current = full[:, c]
    given = sign * current
    error = those.volts - sign * (full[:, plus] - full[:, minus]) - those.resistance * given
    held, free, _ = clamp(given + those.back, error, those.limit + those.back, those.limit)
    stamps.flow(minus, plus, current)
    stamps.add(c, given + those.back - held)
    if stamps.slopes:
        stamps.slope(plus, c, np.full_like(current, -1.0))
        stamps.slope(minus, c, np.ones_like(current))
        stamps.slope(c, c, sign * ((free == 0.0) + free * those.resistance))
        stamps.slope(c, plus, free * sign)
        stamps.slope(c, minus, -free * sign)


def add_regulators(those: Regulator, full: Array, stamps: Stamps) -> None:
    """Add the currents of regulators and converters at their pins, and their own equations."""
    c, way, inside, out, common = those.current, those.way, those.inside, those.out, those.common
    current = full[:, c]
    error = way * (those.volts - (full[:, those.sense] - full[:, common]))
    ceiling = _ceiling(those, full, current)
    capped = np.zeros(current.shape, dtype=bool) if ceiling is None else ceiling.head < error
    wanted = error if ceiling is None else np.where(capped, ceiling.head, error)
    share, rise = _started(those, full)
    held, free, at_top = clamp(current, wanted, those.limit * share, those.limit)
    source = inside if those.start is None else common
    stamps.add(c, current - held)
    stamps.flow(source, out, way * current)
    if stamps.slopes:
        starting = at_top * those.limit * rise
        by_error = np.where(capped, 0.0, way * free)
        stamps.slope(c, c, np.where(free == 0.0, 1.0, 0.0))
        stamps.slope(c, inside, -starting)
        stamps.slope(c, common, starting - by_error)
        stamps.slope(c, those.sense, by_error)
        stamps.slope(source, c, way)
        stamps.slope(out, c, -way)
        if ceiling:
            _add_ceiling(those, ceiling, np.where(capped, free, 0.0), stamps)
    if those.efficiency is not None:
        _add_input(those, those.efficiency, full, stamps)


def _ceiling(those: Regulator, full: Array, current: Array) -> _Ceiling | None:
    """Return how far regulators are from the most that they can make; None where that is not known.

    That of a switch is reckoned on the scale of the reference, so that a divider in use always holds it first.
    """
    inside, out, common = (full[:, node] for node in (those.inside, those.out, those.common))
    if those.dropout is not None:
        return _Ceiling(those.way * (inside - out) - those.dropout, those.way, -those.way, 0.0, 0.0)
    if those.mirror is not None and those.inner is not None:
        head = those.mirror * (inside - common) + out - common - those.inner * current
        return _Ceiling(head, those.mirror, 1.0, -(1.0 + those.mirror), -those.inner)
    if those.most is not None:
        share = those.volts / those.most
        return _Ceiling(those.volts - share * (out - common), 0.0, -share, share, 0.0)
    return None


def _add_ceiling(those: Regulator, ceiling: _Ceiling, free: Array, stamps: Stamps) -> None:
    slopes = (
        (those.inside, ceiling.by_inside),
        (those.out, ceiling.by_out),
        (those.common, ceiling.by_common),
        (those.current, ceiling.by_current),
    )
    for unknown, slope in slopes:
        stamps.slope(those.current, unknown, -slope * free)


def _started(those: Regulator, full: Array) -> tuple[Array | float, Array | float]:
    """Return how far converters have started, and the slope of that against their input; linear ones always have."""
    if those.start is None:
        return 1.0, 0.0
    return smooth(full[:, those.inside] - full[:, those.common] - those.start, EDGE_V)


def _add_input(those: Regulator, efficiency: Array, full: Array, stamps: Stamps) -> None:
    """Add what converters draw at their inputs: the output power over efficiency and input voltage."""
    inside, out, common, current = those.inside, those.out, those.common, full[:, those.current]
    given = np.maximum(those.way * (full[:, out] - full[:, common]), 0.0)
    supply = full[:, inside] - full[:, common]
    floor = np.maximum(supply, _LEAST_IN_V)
    per_volt = 1.0 / (efficiency * floor)
    drawn = given * current * per_volt
    stamps.flow(inside, common, drawn)
    if stamps.slopes:
        stamps.slope(inside, those.current, given * per_volt)
        stamps.slope(common, those.current, -given * per_volt)
        stamps.flow_slope(inside, common, out, common, those.way * np.where(given > 0, current * per_volt, 0.0))
        stamps.flow_slope(inside, common, inside, common, np.where(supply > _LEAST_IN_V, -drawn / floor, 0.0))
