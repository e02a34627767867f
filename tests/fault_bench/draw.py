"""Tolerances of one physical board, drawn from seeds that are text."""

import math
import random


class Draw:
    """Tolerances of one physical board. Each figure has its own generator, so a fault changes no other figure."""

    def __init__(self, seed: int, width: float = 1.0) -> None:
        self.seed, self.width = seed, width

    def _random(self, *key: object) -> random.Random:
        return random.Random(":".join(map(str, (self.seed, *key))))

    def within(self, percent: float, *key: object) -> float:
        """Return a factor: normal, sigma = tolerance / 2.5, cut at the tolerance (both times `width`)."""
        sigma = percent / 250.0
        drawn = max(-2.5 * sigma, min(2.5 * sigma, self._random(*key).gauss(0.0, sigma)))
        return 1.0 + drawn * self.width

    def between(self, low: float, high: float, *key: object) -> float:
        """Return a figure drawn evenly."""
        middle, half = (low + high) / 2, (high - low) / 2
        return middle + half * self.width * self._random(*key).uniform(-1.0, 1.0)

    def spread(self, low: float, high: float, *key: object) -> float:
        """Return a figure drawn evenly on a logarithmic scale."""
        return math.exp(self._random(*key).uniform(math.log(low), math.log(high)))
