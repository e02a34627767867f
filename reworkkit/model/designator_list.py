"""Designators written the short way: `R1-R4 R7`."""

import re
from collections.abc import Iterable

from reworkkit.model.designator import natural_key

_SPLIT = re.compile(r"^(.*?)([0-9]+)$")


def in_short(refs: Iterable[str], shortest_range: int = 3) -> str:
    """Return the designators in natural order, runs of at least `shortest_range` written as ranges.

    >>> in_short(["R2", "R1", "R3", "R7", "C1", "OLED"])
    'C1 OLED R1-R3 R7'
    """
    runs: list[list[str]] = []
    for ref in sorted(refs, key=natural_key):
        if runs and _follows(runs[-1][-1], ref):
            runs[-1].append(ref)
        else:
            runs.append([ref])
    return " ".join(text for run in runs for text in _run_text(run, shortest_range))


def _follows(before: str, ref: str) -> bool:
    first, second = _SPLIT.match(before), _SPLIT.match(ref)
    if not (first and second) or first[1] != second[1] or second[2].startswith("0"):
        return False
    return int(second[2]) == int(first[2]) + 1


def _run_text(run: list[str], shortest_range: int) -> list[str]:
    return [f"{run[0]}-{run[-1]}"] if len(run) >= shortest_range else run
