"""Outputs that tolerances or something outside the board decide: both ways count, and the readings choose."""

from typing import NamedTuple

import numpy as np

from reworkkit.compute.diagnosis.comparators import ALIVE_V, ROUNDS, Comparator, Gate, Placed, turned_over
from reworkkit.compute.formulas.junction import Array
from reworkkit.compute.formulas.network import Template, solve_near

UNDECIDED = 2.0
"""Inputs nearer than so many spreads of their difference leave the output open."""
OUTSIDE = 0.5
"""The same where something outside the board decides: the chance is three in ten."""
OFFSET_V = 0.004
"""Offset of a comparator or operational amplifier, one spread (from memory)."""


class Ties(NamedTuple):
    """What every unknown gains where the nearest open comparator turns over (clusters, unknowns), and its chance."""

    gain: Array
    chance: Array


def ties(template: Template, rows: Array, states: Array, loads: Array, known: tuple[Placed, ...]) -> Ties:
    """Return what the nearest undecided comparator of each cluster would do the other way; none: chance 0.

    `loads` (clusters, unknowns, factors) are the spreads. Outputs that follow that output follow it here too.
    """
    gain, chance = np.zeros_like(states), np.zeros(len(states))
    deciding = [one for one in known if isinstance(one.what, Comparator) or _from_outside(one)]
    if not deciding:
        return Ties(gain, chance)
    apart = np.stack([_apart(template, states, loads, one) for one in deciding], axis=1)
    least, nearest = apart.min(axis=1), apart.argmin(axis=1)
    for n, one in enumerate(deciding):
        mine = np.flatnonzero((least < UNDECIDED) & (nearest == n))
        if len(mine):
            moved = _other_way(template, rows[mine], states[mine], one, known) - states[mine]
            gain[mine] = moved
            chance[mine] = np.where(np.abs(moved).any(axis=1), _beyond(least[mine]), 0.0)
    return Ties(gain, chance)


def _beyond(spreads: Array) -> Array:
    """Return the chance that a normal figure lies beyond so many spreads on one side (logistic, within 0.02)."""
    return np.asarray(1 / (1 + np.exp(1.702 * spreads)))


def _other_way(template: Template, rows: Array, states: Array, one: Placed, known: tuple[Placed, ...]) -> Array:
    """Return the states with the output of one comparator turned over; as they are where no board settles so."""
    turned, others = _turned(template, rows, one), tuple(other for other in known if other != one)
    found = solve_near(template, turned, states)
    for _ in range(ROUNDS):
        if not len(turned_over(template, turned, found.state, others)):
            break
        found = solve_near(template, turned, found.state)
    return np.where(found.settled[:, None], found.state, states)


def _from_outside(one: Placed) -> bool:
    return isinstance(one.what, Gate) and one.what.outside


def _apart(template: Template, states: Array, loads: Array, one: Placed) -> Array:
    """Return how far a comparator's inputs are apart, in spreads of their difference; far where it is dead."""
    what = one.what
    _, high, low = template.elements[one.driver].nodes
    alive = template.volts(states, high) - template.volts(states, low) > ALIVE_V
    if not isinstance(what, Comparator):
        return np.where(alive, OUTSIDE, np.inf)
    difference = template.volts(states, what.plus) - template.volts(states, what.minus)
    moved = _moved(template, loads, what.plus) - _moved(template, loads, what.minus)
    spread = np.hypot(np.sqrt((moved**2).sum(axis=1)), OFFSET_V)
    return np.asarray(np.where(alive, np.abs(difference) / spread, np.inf))


def _moved(template: Template, loads: Array, node: str) -> Array:
    place = template.index.get(node, len(template.nodes))
    ground = place >= len(template.nodes)
    return np.zeros((loads.shape[0], loads.shape[2])) if ground else np.asarray(loads[:, place])


def _pulls_up(one: Placed) -> bool:
    return isinstance(one.what, Comparator | Gate) and one.what.pulls_up


def _turned(template: Template, rows: Array, one: Placed) -> Array:
    """Return the rows with the output of a comparator the other way."""
    turned = rows.copy()
    low, high = (template.column[one.driver, name] for name in ("low", "high"))
    down = rows[:, low] > 0
    turned[:, low] = np.where(down, 0.0, 1.0)
    turned[:, high] = np.where(down, float(_pulls_up(one)), 0.0)
    return turned
