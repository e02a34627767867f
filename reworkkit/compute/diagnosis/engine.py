"""The weights of all hypotheses, given the readings: the state of one diagnosis, to which readings can be added."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np

from reworkkit.compute.diagnosis import evidence, unpowered
from reworkkit.compute.diagnosis.chance import by_chance
from reworkkit.compute.diagnosis.dictionary import Dictionary
from reworkkit.compute.diagnosis.evidence import Taken, View
from reworkkit.compute.diagnosis.meter import Meters
from reworkkit.compute.diagnosis.reasoning import posterior
from reworkkit.compute.diagnosis.unpowered import Answers, Probing
from reworkkit.compute.formulas.junction import Array, Rows

OUTLIER = 1e-4
"""Chance that an ohms or diode reading is of another point, or a slip: one reading alone is no proof."""
MISFIT_SHARE = 1.25
"""Readings fit nothing when the least squared distance is above this many chi-square 99 % points."""


class Shown(NamedTuple):
    """An unpowered reading in the circuit's terms, on the scale of its mode."""

    probing: Probing
    value: float


@dataclass(frozen=True)
class Engine:
    """Hypotheses and the readings made so far."""

    dictionary: Dictionary
    meters: Meters
    powered: tuple[Taken, ...] = ()
    shown: tuple[Shown, ...] = ()

    def with_dictionary(self, dictionary: Dictionary) -> "Engine":
        """Return the engine with the same readings over another dictionary of the same circuit."""
        return replace(self, dictionary=dictionary)

    @cached_property
    def logs(self) -> tuple[Array, ...]:
        """For each unpowered reading, the logarithm of its likelihood under every cluster."""
        everything = np.arange(len(self.dictionary.owner))
        found = ((probe(self.dictionary, everything, one.probing, self.meters), one.value) for one in self.shown)
        return tuple(log_shown(answers, value) for answers, value in found)

    @cached_property
    def values(self) -> Array:
        """The powered readings that have a value."""
        return np.array([one.value for one in self.powered if one.value is not None])

    @cached_property
    def seen(self) -> View:
        """What the clusters predict for those."""
        spots = [one.spot for one in self.powered if one.value is not None]
        return evidence.view(self.dictionary, spots, self.meters)

    @cached_property
    def fit(self) -> evidence.Fit:
        """How well each cluster fits the powered readings."""
        return evidence.fit(self.seen, self.values)

    @cached_property
    def log_prior(self) -> Array:
        """Logarithm of the weight of each cluster before any reading."""
        priors = np.array([h.prior for h in self.dictionary.catalogue.hypotheses]) * by_chance(self.dictionary)
        return np.asarray(np.log(priors[self.dictionary.owner] * self.dictionary.weight))

    @cached_property
    def log_weights(self) -> Array:
        """Logarithm of the weight of each cluster after all readings."""
        jumped = sum(one.value is None for one in self.powered)
        base = self.log_prior + self.fit.log + sum(self.logs, np.zeros(len(self.log_prior)))
        return base + evidence.jumping(self.dictionary, jumped) if jumped else base

    @cached_property
    def clusters(self) -> Array:
        """Share of each cluster."""
        return posterior(self.log_weights)

    @cached_property
    def shares(self) -> Array:
        """Share of each hypothesis, healthy first."""
        return by_owner(self.dictionary, self.clusters)

    @cached_property
    def ranked(self) -> list[int]:
        """Hypotheses from the largest share down."""
        return [int(n) for n in np.argsort(-self.shares, kind="stable")]

    def best_cluster(self, hypothesis: int) -> int:
        """Return the cluster of a hypothesis that fits best."""
        mine = np.flatnonzero(self.dictionary.owner == hypothesis)
        return int(mine[np.argmax(self.log_weights[mine])])

    def misfit(self, hypotheses: Iterable[int] | None = None) -> bool:
        """Return whether the powered readings fit none of these hypotheses (default: none of all)."""
        wanted = set(range(len(self.shares)) if hypotheses is None else hypotheses)
        mine = np.array([int(owner) in wanted for owner in self.dictionary.owner])
        return bool(
            len(self.values) and float(self.fit.distance[mine].min()) > MISFIT_SHARE * chi_square_99(len(self.values))
        )

    def decided(self) -> "Engine":
        """Return the engine with every undecided comparator the way that the powered readings say."""
        old = self.dictionary
        open_ = np.flatnonzero(old.turns > 0)
        if not len(open_) or not len(self.values):
            return self
        other = replace(self, dictionary=replace(old, states=old.states + old.turned)).fit.log[open_]
        chance = old.turns[open_]
        over = other + np.log(chance) > self.fit.log[open_] + np.log(1 - chance)
        states, weight = old.states.copy(), old.weight.copy()
        states[open_[over]] += old.turned[open_[over]]
        weight[open_] *= np.where(over, chance, 1 - chance)
        return self.with_dictionary(replace(old, states=states, weight=weight, turns=np.zeros_like(old.turns)))

    def strangers(self) -> list[int]:
        """Return which unpowered readings fit no hypothesis at all: most likely slips."""
        return [n for n, log in enumerate(self.logs) if float(log.max()) < np.log(20 * OUTLIER)]

    def without(self, number: int, among: Sequence[int]) -> Array:
        """Return the shares of some hypotheses with reading `number` left out (powered first, then unpowered)."""
        mine = np.flatnonzero(np.isin(self.dictionary.owner, among))
        keep = [n for n in range(len(self.values)) if n != number]
        part = self.seen.part(mine, keep)
        log = self.log_prior[mine] + evidence.fit(part, self.values[keep]).log
        for n, one in enumerate(self.logs):
            if n + len(self.values) != number:
                log = log + one[mine]
        shares = np.zeros(len(self.shares))
        np.add.at(shares, self.dictionary.owner[mine], posterior(log))
        return shares


def probe(dictionary: Dictionary, clusters: Rows, probing: Probing, meters: Meters) -> Answers:
    """Return what an unpowered check shows under some clusters."""
    return unpowered.pin_answers(dictionary, clusters, probing) or unpowered.answers(
        dictionary, clusters, probing, meters
    )


def log_shown(answers: Answers, value: float) -> Array:
    """Return the logarithm of the likelihood of a reading: the best of the meter kinds, never quite nothing."""
    z = (value - answers.mean) / answers.spread
    density = np.exp(-0.5 * np.minimum(z**2, 400)).mean(axis=1)
    return np.asarray(np.where(np.isnan(density), 0.0, np.log(np.nan_to_num(density) + OUTLIER)))


def by_owner(dictionary: Dictionary, clusters: Array) -> Array:
    """Return shares of hypotheses from shares of clusters."""
    shares = np.zeros(len(dictionary.catalogue.hypotheses))
    np.add.at(shares, dictionary.owner, clusters)
    return shares


def chi_square_99(n: int) -> float:
    """Return the 99 % point of chi-square with n degrees of freedom (Wilson and Hilferty 1931, within 2 %).

    >>> round(chi_square_99(14))  # tables: 29.14
    29
    """
    return float(n * (1 - 2 / (9 * n) + 2.3263 * np.sqrt(2 / (9 * n))) ** 3)
