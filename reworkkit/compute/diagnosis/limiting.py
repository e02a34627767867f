"""Regulators that are dragged down: the current at which they limit is hardly known, so several are taken.

Where an output is shorted, either the bench supply reaches its limit and everything upstream sags, or the regulator
limits first and all before it is well. Tables name a typical limit; many types fold back to a part of it.
"""

from dataclasses import replace

import numpy as np

from reworkkit.compute.diagnosis.dictionary import Dictionary
from reworkkit.compute.diagnosis.hypothesis import Change, Hypothesis
from reworkkit.compute.diagnosis.sensitivity import dragged, given
from reworkkit.compute.formulas.junction import Array, Rows

FOLDED_SHARE = 0.5
"""A further limit of a dragged regulator, as a share of its typical one or of what the supplies give; from memory."""
WORKS_HARD, WORKS_HARD_A = 2.0, 0.01
"""A regulator that gives so many times its healthy current, and so many amperes more, may be at its limit."""


def with_limits(dictionary: Dictionary) -> Dictionary:
    """Return the dictionary with further limits for each fault that drags a regulator's output down."""
    hypotheses = dictionary.catalogue.hypotheses
    finer: dict[int, Hypothesis] = {}
    near: list[int] = []
    last, volts = _last_dragged(dictionary)
    most = _supplied(dictionary)
    for n, one in enumerate(hypotheses):
        mine = np.flatnonzero(dictionary.owner == n)
        element = int(last[mine][np.argmin(volts[mine])])
        if element < 0 or one.runs != 1 or n == 0:
            continue
        column = dictionary.template.column[element, "limit"]
        typical = float(dictionary.catalogue.healthy[column])
        finer[n] = _at_limits(one, column, (typical, FOLDED_SHARE * min(typical, most)))
        near += [*(int(k) for k in mine), *(0 for _ in mine)]
    return dictionary.with_hypotheses(finer, near)


def _at_limits(one: Hypothesis, column: int, limits_a: tuple[float, ...]) -> Hypothesis:
    """Return a fault at several limits of one regulator, each a run of all its sizes."""
    bases: list[Change] = [(column, limit) for limit in limits_a]
    sizes = tuple((share / len(bases), (base, *own)) for base in bases for share, own in one.sizes)
    return replace(one, sizes=sizes, runs=len(bases))


def _supplied(dictionary: Dictionary) -> float:
    """Return what the supplies that are on give together at most [A]."""
    catalogue = dictionary.catalogue
    columns = [c for net in catalogue.setting.on for c in catalogue.template.columns(net, "limit", ["supply"])]
    return float(catalogue.healthy[columns].sum())


def _last_dragged(dictionary: Dictionary) -> tuple[Rows, Array]:
    """Return for each cluster the regulator that is dragged lowest and works hard, -1 where none is; and how low."""
    template, states = dictionary.template, dictionary.states
    found = np.full(len(states), -1)
    lowest = np.full(len(states), np.inf)
    for n, current in dictionary.currents.items():
        volts = np.abs(given(template, n, states))
        hard = np.abs(states[:, current]) > WORKS_HARD * abs(states[0, current]) + WORKS_HARD_A
        last = hard & dragged(template, n, dictionary.rows, states) & (volts < lowest)
        found[last], lowest[last] = n, volts[last]
    return found, lowest
