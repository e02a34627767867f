"""Which check to make next: what each would tell, divided by its cost, and what each answer would mean."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from reworkkit.compute.diagnosis import evidence
from reworkkit.compute.diagnosis.engine import Engine, probe
from reworkkit.compute.diagnosis.points import Spot
from reworkkit.compute.diagnosis.reasoning import information
from reworkkit.compute.diagnosis.unpowered import Probing, scale, unscale
from reworkkit.compute.formulas.junction import Array, Rows
from reworkkit.model.vocabulary import Mode

MOST_CLUSTERS, LEAST_SHARE = 160, 1e-5
BINS = 40
WORTH_NAT = 0.02
"""A check that tells less than this is not worth making."""
NAMED_SHARE = 0.2
"""A fault is named with an answer when it has at least this share of what the answer leaves."""


class Candidate(NamedTuple):
    """A check that could be made: powered at a spot (mode volts or amps), or unpowered."""

    spot: Spot
    mode: Mode
    swapped: bool
    cost: float

    @property
    def powered(self) -> bool:
        """Whether it is made with the power on."""
        return self.mode in (Mode.VOLTS, Mode.AMPS)


@dataclass(frozen=True)
class Weighed:
    """A candidate with what it tells: hypotheses, edges of its answers on the scale, chance of each under each."""

    candidate: Candidate
    gain: float
    hypotheses: Rows
    edges: Array
    chances: Array
    instead: bool = False
    """Whether it is one to make in place of those before it, where they cannot be made."""


class Region(NamedTuple):
    """A stretch of readings that leaves the same faults: ends (None: open), over range, faults, chance."""

    low: float | None
    high: float | None
    over: bool
    hypotheses: tuple[int, ...]
    chance: float


def weigh(engine: Engine, candidates: Sequence[Candidate]) -> list[Weighed]:
    """Return all candidates with what each tells [nat], in the order given."""
    clusters = np.argsort(-engine.clusters, kind="stable")[:MOST_CLUSTERS]
    clusters = clusters[engine.clusters[clusters] > LEAST_SHARE]
    weights = engine.clusters[clusters] / engine.clusters[clusters].sum()
    owners, place = np.unique(engine.dictionary.owner[clusters], return_inverse=True)
    made = engine.seen.part(clusters, slice(None))
    powered = [c for c in candidates if c.powered]
    other = evidence.view(engine.dictionary, [c.spot for c in powered], engine.meters).part(clusters, slice(None))
    told = evidence.forecast(made, engine.values, other) if powered else None
    found = []
    for one in candidates:
        if one.powered and told is not None:
            n = powered.index(one)
            mean, spread = told.mean[:, n : n + 1], told.spread[:, n : n + 1]
        else:
            answers = probe(engine.dictionary, clusters, Probing(one.spot, one.mode, one.swapped), engine.meters)
            mean, spread = answers.mean, answers.spread
        if np.isnan(mean).any():
            continue
        edges = _edges(mean, spread, weights)
        chances = _chances(mean, spread, weights, place, len(owners), edges)
        shares = np.bincount(place, weights, len(owners))
        found.append(Weighed(one, information(np.asarray(shares, dtype=np.float64), chances), owners, edges, chances))
    return found


def _edges(mean: Array, spread: Array, weights: Array) -> Array:
    """Return edges between answers: even shares of what is expected, half of them weighted evenly over the faults."""
    steps = np.array([-2.2, -1.2, -0.4, 0.4, 1.2, 2.2])
    places = (mean[:, :, None] + spread[:, :, None] * steps).reshape(len(mean), -1)
    flat = places.ravel()
    order = np.argsort(flat, kind="stable")
    found = []
    for power in (1.0, 0.3):
        share = np.repeat(weights**power, places.shape[1])[order]
        reached = np.cumsum(share) / share.sum()
        found.append(flat[order][np.searchsorted(reached, np.arange(1, BINS // 2) / (BINS // 2))])
    return np.unique(np.concatenate(found))


def _chances(mean: Array, spread: Array, weights: Array, place: Rows, count: int, edges: Array) -> Array:
    """Return (hypotheses, answers): the chance of each stretch between edges under each hypothesis."""
    z = (edges[None, None, :] - mean[:, :, None]) / spread[:, :, None]
    below = normal_cdf(z).mean(axis=1)
    ends = np.concatenate([np.zeros((len(mean), 1)), below, np.ones((len(mean), 1))], axis=1)
    parts = np.diff(ends, axis=1) * weights[:, None]
    found = np.zeros((count, parts.shape[1]))
    np.add.at(found, place, parts)
    return np.asarray(found / np.maximum(found.sum(axis=1, keepdims=True), 1e-300))


def normal_cdf(z: Array) -> Array:
    """Return the standard normal distribution (Abramowitz and Stegun 7.1.26, within 2e-7).

    >>> [round(float(p), 4) for p in normal_cdf(np.array([-1.0, 0.0, 1.96]))]
    [0.1587, 0.5, 0.975]
    """
    x = np.abs(z) / np.sqrt(2)
    t = 1 / (1 + 0.3275911 * x)
    tail = t * (0.254829592 + t * (-0.284496736 + t * (1.421413741 + t * (-1.453152027 + t * 1.061405429))))
    erf = 1 - tail * np.exp(-np.minimum(x * x, 700))
    return np.asarray(0.5 * (1 + np.sign(z) * erf))


def choose(engine: Engine, weighed: Sequence[Weighed], most: int) -> list[Weighed]:
    """Return the checks worth making, best first: each judged by what it adds to those before it, per cost.

    Where none adds anything the next best are there instead: a point may be out of reach.
    """
    chosen: list[Weighed] = []
    left = [one for one in weighed if one.gain > WORTH_NAT]
    while left and len(chosen) < most:
        worth = [_added(engine, one, chosen[-1] if chosen else None) / one.candidate.cost for one in left]
        best = int(np.argmax(worth))
        if worth[best] * left[best].candidate.cost < WORTH_NAT:
            break
        chosen.append(left.pop(best))
        left = [one for one in left if one.candidate.spot.text != chosen[-1].candidate.spot.text]
    for one in sorted(left, key=lambda one: -one.gain / one.candidate.cost):
        if len(chosen) < most and one.candidate.spot.text not in {c.candidate.spot.text for c in chosen}:
            chosen.append(replace(one, instead=True))
    return chosen


def _added(engine: Engine, one: Weighed, after: Weighed | None) -> float:
    """Return what a check is expected to tell once the answer of another is known."""
    if after is None:
        return one.gain
    shares = engine.shares[one.hypotheses]
    shares = shares / shares.sum()
    total = 0.0
    for region in regions(engine, after):
        columns = _columns(after, region)
        left = shares * after.chances[:, columns].sum(axis=1)
        if left.sum() > 0:
            total += float(left.sum()) * information(left / left.sum(), one.chances)
    return total


def _columns(weighed: Weighed, region: Region) -> list[int]:
    mode = weighed.candidate.mode
    low = -np.inf if region.low is None and not region.over else scale_of(mode, region.low)
    high = np.inf if region.over or region.high is None else scale_of(mode, region.high)
    ends = np.concatenate([[-np.inf], weighed.edges, [np.inf]])
    return [n for n in range(len(ends) - 1) if ends[n] >= low - 1e-9 and ends[n + 1] <= high + 1e-9]


def scale_of(mode: Mode, value: float | None) -> float:
    """Return a reading on the scale of the checks of a mode."""
    if mode in (Mode.VOLTS, Mode.AMPS):
        return 0.0 if value is None else value
    return scale(mode, value)


def regions(engine: Engine, weighed: Weighed) -> list[Region]:
    """Return what the answers of a check would mean: neighbouring answers that leave the same faults are one."""
    shares = engine.shares[weighed.hypotheses]
    joint = shares[:, None] / shares.sum() * weighed.chances
    if weighed.candidate.spot.supply:
        joint = _none_below_zero(joint, weighed.edges)
    chance = joint.sum(axis=0)
    named = []
    for n in range(joint.shape[1]):
        order = np.argsort(-joint[:, n], kind="stable")
        kept = [int(k) for k in order[:5] if joint[k, n] >= NAMED_SHARE * max(chance[n], 1e-300)]
        named.append(tuple(sorted(kept or [int(order[0])])))
    runs = _runs(named, chance)
    ends = np.concatenate([[-np.inf], weighed.edges, [np.inf]])
    return [_region(weighed, joint, first, last, ends) for first, last in runs]


def _none_below_zero(joint: Array, edges: Array) -> Array:
    """Return the chances of answers with those below zero at the lowest above it: what a supply gives has no sign."""
    least = int(np.searchsorted(edges, 0.0, side="right"))
    moved = joint.copy()
    moved[:, least] += joint[:, :least].sum(axis=1)
    moved[:, :least] = 0.0
    return moved


def _runs(named: Sequence[tuple[int, ...]], chance: Array) -> list[tuple[int, int]]:
    """Return (first, after last) of neighbouring answers with the same faults; slivers join their neighbour."""
    runs: list[tuple[int, int, tuple[int, ...]]] = []
    for n, names in enumerate(named):
        if runs and (runs[-1][2] == names or chance[n] < 0.004 or chance[runs[-1][0] : n].sum() < 0.004):
            first, _, before = runs[-1]
            keep = before if chance[first:n].sum() >= chance[n] else names
            runs[-1] = (first, n + 1, keep)
        else:
            runs.append((n, n + 1, names))
    return [(first, last) for first, last, _ in runs]


def _region(weighed: Weighed, joint: Array, first: int, last: int, ends: Array) -> Region:
    mode = weighed.candidate.mode
    mass = joint[:, first:last].sum(axis=1)
    order = np.argsort(-mass, kind="stable")[:4]
    kept = [int(k) for k in order if mass[k] >= NAMED_SHARE * mass.sum()] or [int(order[0])]
    names = tuple(int(weighed.hypotheses[k]) for k in kept)
    to: Callable[[float], float | None] = (lambda v: v) if weighed.candidate.powered else (lambda v: unscale(mode, v))
    low = None if np.isinf(ends[first]) else to(float(ends[first]))
    high = None if np.isinf(ends[last]) else to(float(ends[last]))
    over = (
        not weighed.candidate.powered
        and np.isinf(ends[last])
        and float(ends[first]) > (5 if mode is Mode.DIODE else 7.3)
    )
    return Region(low, high, bool(over), names, float(mass.sum()))
