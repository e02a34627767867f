"""The reasoning core, free of circuits: weights of explanations, what a further question would tell, smallest sets."""

from collections.abc import Callable, Iterator, Sequence
from itertools import combinations
from typing import TypeVar

import numpy as np

from reworkkit.compute.formulas.junction import Array

T = TypeVar("T")


def posterior(log_weights: Array) -> Array:
    """Return shares that add to 1 from logarithms of weights; all equal where every weight is nothing.

    >>> [round(float(p), 3) for p in posterior(np.log(np.array([1.0, 3.0])))]
    [0.25, 0.75]
    """
    top = float(np.max(log_weights))
    if not np.isfinite(top):
        return np.full(len(log_weights), 1 / len(log_weights))
    weights = np.exp(log_weights - top)
    return np.asarray(weights / weights.sum())


def entropy(shares: Array) -> float:
    """Return -sum p ln p [nat].

    >>> round(entropy(np.array([0.5, 0.5])), 4)
    0.6931
    """
    some = shares[shares > 0]
    return float(-(some * np.log(some)).sum())


def information(shares: Array, likelihoods: Array) -> float:
    """Return how much a question with these answers tells [nat]: entropy now less the expected entropy after it.

    `likelihoods` (hypotheses, answers) holds the chance of each answer under each hypothesis; rows add to 1.
    Source: de Kleer and Williams, Artificial Intelligence 32 (1987) 97 (their expected entropy), Shannon.
    """
    answers = shares @ likelihoods
    left = 0.0
    for n, chance in enumerate(answers):
        if chance > 0:
            left += float(chance) * entropy(shares * likelihoods[:, n] / chance)
    return entropy(shares) - left


def smallest_sets(parts: Sequence[T], explains: Callable[[frozenset[T]], bool], most: int) -> Iterator[frozenset[T]]:
    """Yield the smallest sets of parts whose failing explains what was seen, fewest first, none holding another.

    Source: Reiter, Artificial Intelligence 32 (1987) 57: minimal diagnoses.

    >>> [sorted(s) for s in smallest_sets("abc", lambda s: "a" in s or s == {"b", "c"}, 2)]
    [['a'], ['b', 'c']]
    """
    found: list[frozenset[T]] = []
    for size in range(most + 1):
        for group in combinations(parts, size):
            candidate = frozenset(group)
            if not any(known <= candidate for known in found) and explains(candidate):
                found.append(candidate)
                yield candidate
