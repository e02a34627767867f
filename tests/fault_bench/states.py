"""States of a section: readings of a fault over several boards, how far two lie apart, and how cases are written."""

import json
import math
import statistics
from typing import Any

from tests.fault_bench.meter import Accuracy

SAME_DISTANCE = 1.35
"""Distance in sigmas below which a pair is called the same: an even guess between the two is wrong in 25 %."""

Spread = tuple[list[float], list[float]]


def spread_of(rows: list[list[float]]) -> Spread:
    """Return mean and variance of each reading."""
    columns = list(zip(*rows, strict=True))
    return [statistics.fmean(c) for c in columns], [statistics.pvariance(c) for c in columns]


def distance(a: Spread, b: Spread, dial: Accuracy) -> float:
    """Return how far two states lie apart in sigmas of tolerance and meter, readings taken as independent."""
    total = 0.0
    for n, (x, y, vx, vy) in enumerate(zip(a[0], b[0], a[1], b[1], strict=True)):
        share, floor = dial.amp if n == len(a[0]) - 1 else dial.volt
        error = (share / 100 * (abs(x) + abs(y)) / 2 + floor) / math.sqrt(3)
        total += (x - y) ** 2 / ((vx + vy) / 2 + error**2)
    return math.sqrt(total)


def partners(known: dict[str, Spread], dial: Accuracy) -> dict[str, list[str]]:
    """Return for each state the others that the points and the current cannot tell from it."""
    return {a: [b for b in known if b != a and distance(known[a], known[b], dial) < SAME_DISTANCE] for a in known}


def as_text(stored: dict[str, Any]) -> str:
    """Return JSON with one case or one entry a line."""
    lines = []
    for key, value in stored.items():
        if isinstance(value, list) and value and isinstance(value[0], dict):
            inner = ",\n".join(json.dumps(one, separators=(",", ":")) for one in value)
            lines.append(f"{json.dumps(key)}: [\n{inner}\n]")
        else:
            lines.append(f"{json.dumps(key)}: {json.dumps(value, separators=(',', ':'))}")
    return "{\n" + ",\n".join(lines) + "\n}\n"
