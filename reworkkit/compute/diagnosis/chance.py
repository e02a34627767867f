"""Nets that chips hold where they like: two of them at the same voltage are no proof that they are joined."""

import numpy as np

from reworkkit.compute.diagnosis.dictionary import Dictionary
from reworkkit.compute.formulas.junction import Array

EQUAL_BY_CHANCE = 0.1
"""How often two nets are at the same voltage though nothing ties them: both low, both at a rail (a guess)."""
SAME_V = 0.02
"""What a meter takes for the same voltage."""


def by_chance(dictionary: Dictionary) -> Array:
    """Return a factor for the weight of each hypothesis: less for a joint of nets that are equal now and then anyway.

    A joint of two nets whose difference has the spread s on a healthy board is seen to hold by s / SAME_V times more
    than without it, but it would be seen without it in one board of ten.
    """
    template, loads = dictionary.template, dictionary.loads[0]
    found = np.ones(len(dictionary.catalogue.hypotheses))
    for n, one in enumerate(dictionary.catalogue.hypotheses):
        if one.fault.kind not in ("bridge", "shorted") or len(one.fault.nets) < 2:
            continue
        ends = [template.index.get(net) for net in one.fault.nets[:2]]
        rows = [np.zeros(loads.shape[1]) if e is None or e == len(template.nodes) else loads[e] for e in ends]
        spread = float(np.linalg.norm(rows[0] - rows[1]))
        found[n] = min(1.0, SAME_V / max(spread, SAME_V) / EQUAL_BY_CHANCE)
    return found
