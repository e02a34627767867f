"""Sizes between those of the table: a fault that is likely is taken at finer steps around the size that fits best.

The table's sizes lie far apart, and half the way between two of them counts as spread. Near the answer that is too
coarse: a fault of the right size must not lose to another that happens to have one in the right place.
"""

from dataclasses import replace

import numpy as np

from reworkkit.compute.diagnosis.dictionary import Dictionary
from reworkkit.compute.diagnosis.engine import Engine
from reworkkit.compute.diagnosis.hypotheses import Catalogue
from reworkkit.compute.diagnosis.hypothesis import Change, Hypothesis
from reworkkit.compute.formulas.junction import Array

FINER_MOST = 24
"""So many hypotheses are refined, the likeliest at their best size."""
PARTS = 3
"""Each size is cut into so many, evenly in proportion, and so are its neighbours."""
Size = tuple[float, tuple[Change, ...]]


def refined(engine: Engine) -> Dictionary:
    """Return the dictionary with finer sizes where the readings make a fault likely; the same one where none is."""
    old, finer, near = engine.dictionary, {}, []
    for n in _worth_it(engine):
        mine = np.flatnonzero(old.owner == n)
        best = int(np.argmax(engine.log_weights[mine]))
        finer[n], origin = _finer(old.catalogue, old.catalogue.hypotheses[n], best)
        near += [int(mine[k]) for k in origin]
    return old.with_hypotheses(finer, near, between=True)


def _worth_it(engine: Engine) -> list[int]:
    """Return the hypotheses that have sizes to refine and fit best at one of them, in their order."""
    best = np.full(len(engine.shares), -np.inf)
    np.maximum.at(best, engine.dictionary.owner, engine.log_weights)
    hypotheses = engine.dictionary.catalogue.hypotheses
    able = [n for n, one in enumerate(hypotheses) if one.continuous and _column(one) is not None]
    return sorted(sorted(able, key=lambda n: -best[n])[:FINER_MOST])


def _column(one: Hypothesis) -> int | None:
    """Return the figure that the sizes of a fault are of, the last of each; None where it is not one and the same."""
    columns = {changes[-1][0] for _, changes in one.sizes}
    signs = {float(np.sign(changes[-1][1])) for _, changes in one.sizes}
    return columns.pop() if len(columns) == len(signs) == 1 and signs != {0.0} else None


def _finer(catalogue: Catalogue, one: Hypothesis, best: int) -> tuple[Hypothesis, list[int]]:
    """Return a fault with its best size and the two beside it cut into parts of the same weight together.

    Also, for each new size, the place of the one it comes from. Each run of the sizes is cut alike.
    """
    column = _column(one)
    assert column is not None
    count = len(one.sizes) // one.runs
    values = np.array([abs(changes[-1][1]) for _, changes in one.sizes[:count]])
    order = np.argsort(values)
    edges = _edges(values[order], abs(float(catalogue.healthy[column])))
    place = int(np.flatnonzero(order == best % count)[0])
    sizes: list[Size] = []
    origin: list[int] = []
    for run in range(0, len(one.sizes), count):
        for n, k in enumerate(order):
            cut = _cut(one.sizes[run + k], edges[n], edges[n + 1]) if abs(n - place) <= 1 else [one.sizes[run + k]]
            sizes += cut
            origin += [run + int(k)] * len(cut)
    return replace(one, sizes=tuple(sizes)), origin


def _cut(size: Size, low: float, high: float) -> list[Size]:
    """Return a size as several of the same weight together, evenly in proportion between two ends."""
    share, (*rest, (column, value)) = size
    steps = (np.arange(PARTS) + 0.5) / PARTS
    figures = np.sign(value) * low * (high / low) ** steps
    return [(share / PARTS, (*rest, (column, float(figure)))) for figure in figures]


def _edges(values: Array, own: float) -> Array:
    """Return the ends of what each size stands for, half way to the next in proportion; short of the healthy figure."""
    inner = np.sqrt(values[1:] * values[:-1])
    edges = np.concatenate([[values[0] ** 2 / inner[0]], inner, [values[-1] ** 2 / inner[-1]]])
    for n, value in enumerate(values):
        half = np.sqrt(value * own)
        if value < own < edges[n + 1]:
            edges[n + 1] = half
        elif edges[n] < own < value:
            edges[n] = half
    return np.asarray(edges)
