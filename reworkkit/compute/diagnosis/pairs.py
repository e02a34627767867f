"""Two faults at once, tried only where no single fault fits: leads for repair and repeat, never a verdict."""

from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from reworkkit.compute.diagnosis.dictionary import build
from reworkkit.compute.diagnosis.engine import Engine
from reworkkit.compute.diagnosis.hypothesis import HEALTHY, Change, Hypothesis
from reworkkit.compute.diagnosis.reasoning import smallest_sets
from reworkkit.compute.formulas.junction import Array

FIRSTS, SECONDS_SIZES = 8, 2
EXPLAINED = 9.0
"""A reading counts against a single fault by its squared distance, but not by more than this: it may be the other's."""
LEADS = 8
NONE_FITS_SHARE = 0.2
"""Where no single fault fits, no lead is given more than this share: the cause may be on no list."""


class Leads(NamedTuple):
    """Hypotheses to look at first with their shares, and the pair that fits all readings together, if one does."""

    singles: tuple[tuple[int, float], ...]
    pair: tuple[int, int] | None


def leads(engine: Engine) -> Leads:
    """Return where to look when no single fault fits: members of pairs that fit, else the nearest single faults."""
    open_ = _left_open(engine)
    rest = _unexplained(engine, open_)
    order = sorted((n for n in rest if n), key=lambda n: rest[n])
    nearest = [(n, NONE_FITS_SHARE * share) for n, share in zip(order, _falling(), strict=False)]
    if len(engine.values) < 3:
        return Leads(tuple(nearest), None)
    pairs = _pairs(engine, order)
    old = engine.dictionary.catalogue
    alone = Hypothesis(HEALTHY, 1e-12, ((1.0, ()),))
    alike = {first: _best_alone(engine, open_, first) for first in {pair[0] for pair in pairs}}
    joined = [_joined(engine, pair, alike[pair[0]]) for pair in pairs]
    near = [alike[pair[0]] for pair, one in zip(pairs, joined, strict=True) for _ in one.sizes]
    made = replace(old, hypotheses=(alone, *joined))
    both = engine.with_dictionary(build(made, engine.dictionary.states[[0, *near]], between=True))
    if both.misfit(range(1, len(made.hypotheses))):
        return Leads(tuple(nearest), None)
    shares: dict[int, float] = {}
    for place, pair in enumerate(pairs, start=1):
        for number in pair:
            shares[number] = shares.get(number, 0.0) + float(both.shares[place]) / 2
    order = sorted(shares, key=lambda n: -shares[n])[:LEADS]
    winner = pairs[next(n for n in both.ranked if n) - 1]
    return Leads(tuple((n, NONE_FITS_SHARE * shares[n]) for n in order), winner)


def _falling() -> list[float]:
    """Return the shares of leads that are in order but have no weight of their own."""
    return [1 / 2 ** (n + 1) for n in range(LEADS)]


def _unexplained(engine: Engine, open_: Array) -> dict[int, float]:
    """Return for each hypothesis how much of the readings it leaves open, at its best size, and how rare it is.

    A fault beside another explains its own readings and leaves the others': each counts only so far.
    """
    best: dict[int, float] = {}
    for owner, value in zip(engine.dictionary.owner, open_ - 2 * engine.log_prior, strict=True):
        best[int(owner)] = min(best.get(int(owner), np.inf), float(value))
    return best


def _left_open(engine: Engine) -> Array:
    """Return for each cluster how much of the readings it leaves open, each reading counted only so far."""
    spread = (engine.seen.loads**2).sum(axis=2) + engine.seen.own**2
    return np.asarray(np.minimum((engine.values - engine.seen.mean) ** 2 / spread, EXPLAINED).sum(axis=1))


def _pairs(engine: Engine, order: Sequence[int]) -> list[tuple[int, int]]:
    """Return the best single faults, each with every other fault; no two faults of one part."""
    hypotheses = engine.dictionary.catalogue.hypotheses
    firsts: list[int] = []
    for n in order:
        if hypotheses[n].fault.ref not in {hypotheses[k].fault.ref for k in firsts}:
            firsts.append(n)
        if len(firsts) == FIRSTS:
            break
    found: dict[frozenset[int], tuple[int, int]] = {}
    for first in firsts:
        others = [n for n in order if hypotheses[n].fault.ref != hypotheses[first].fault.ref]
        for group in smallest_sets(others, lambda one: len(one) == 1, 1):
            pair = (first, *group)
            found.setdefault(frozenset(pair), (pair[0], pair[1]))
    return list(found.values())


def _best_alone(engine: Engine, open_: Array, number: int) -> int:
    """Return the cluster of a fault that leaves least of the readings open."""
    mine = np.flatnonzero(engine.dictionary.owner == number)
    return int(mine[np.argmin(open_[mine])])


def _joined(engine: Engine, pair: tuple[int, int], cluster: int) -> Hypothesis:
    """Return both faults as one hypothesis: the first at the size of its cluster, the second at its likeliest ones."""
    hypotheses = engine.dictionary.catalogue.hypotheses
    first, second = hypotheses[pair[0]], hypotheses[pair[1]]
    size = first.sizes[cluster - int(np.searchsorted(engine.dictionary.owner, pair[0]))][1]
    step = max(1, len(second.sizes) // SECONDS_SIZES)
    seconds: list[tuple[Change, ...]] = [changes for _, changes in second.sizes[step // 2 :: step]]
    both = tuple((1 / len(seconds), (*size, *changes)) for changes in seconds)
    return Hypothesis(HEALTHY, first.prior * second.prior, both)
