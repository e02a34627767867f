"""Regulators that are dragged down: the current at which they limit is hardly known, so several are taken.

Where an output is shorted, either the bench supply reaches its limit and everything upstream sags, or the regulator
limits first and all before it is well. Tables name a typical limit; many types fold back to a part of it.
"""

from dataclasses import replace

import numpy as np

from reworkkit.compute.diagnosis.dictionary import Dictionary
from reworkkit.compute.diagnosis.hypotheses import Change, Hypothesis
from reworkkit.compute.formulas.junction import Array, Rows
from reworkkit.compute.formulas.network.template import REGULATORS

FOLDED_SHARE = 0.5
"""A further limit of a dragged regulator, as a share of its typical one or of what the supplies give; from memory."""
DRAGGED = 0.6
"""Share of its own voltage below which an output counts as dragged."""
WORKS_HARD, WORKS_HARD_A = 2.0, 0.01
"""A regulator that gives so many times its healthy current, and so many amperes more, may be at its limit."""


def with_limits(dictionary: Dictionary) -> Dictionary:
    """Return the dictionary with further limits for each fault that drags a regulator's output down."""
    hypotheses = dictionary.catalogue.hypotheses
    finer: dict[int, Hypothesis] = {}
    near: list[int] = []
    column_of = _limit_columns(dictionary)
    last, volts = _last_dragged(dictionary)
    most = _supplied(dictionary)
    for n, one in enumerate(hypotheses):
        mine = np.flatnonzero(dictionary.owner == n)
        element = int(last[mine][np.argmin(volts[mine])])
        if element < 0 or one.runs != 1 or n == 0:
            continue
        column = column_of[element]
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


def _limit_columns(dictionary: Dictionary) -> dict[int, int]:
    template = dictionary.template
    return {n: template.column[n, "limit"] for n, e in enumerate(template.elements) if e.kind in REGULATORS}


def _last_dragged(dictionary: Dictionary) -> tuple[Rows, Array]:
    """Return for each cluster the regulator that is dragged lowest and works hard, -1 where none is; and how low."""
    states, healthy = dictionary.states, dictionary.states[0]
    found = np.full(len(states), -1)
    lowest = np.full(len(states), np.inf)
    for n, current in dictionary.currents.items():
        volts = _given(dictionary, n)
        own = np.abs(dictionary.rows[:, dictionary.template.column[n, "volts"]])
        hard = np.abs(states[:, current]) > WORKS_HARD * abs(healthy[current]) + WORKS_HARD_A
        last = hard & (np.abs(volts) < DRAGGED * own) & (np.abs(volts) < lowest)
        found[last], lowest[last] = n, np.abs(volts)[last]
    return found, lowest


def _given(dictionary: Dictionary, element: int) -> Array:
    """Return the voltage of a regulator's output against its common lead in every cluster."""
    template = dictionary.template
    _, out, common, _ = template.elements[element].nodes
    ends = np.concatenate([dictionary.states[:, : len(template.nodes)], np.zeros((len(dictionary.states), 1))], axis=1)
    return np.asarray(ends[:, template.index[out]] - ends[:, template.index[common]])
