"""Designators: canonical form and the one natural order used everywhere."""

import re

_RUNS = re.compile(r"[0-9]+|[^0-9]+")

NaturalKey = tuple[tuple[tuple[int, int, str], ...], str]


def natural_key(ref: str) -> NaturalKey:
    """Return the sort key of a designator: letters before numbers, numbers by value, the text itself last.

    >>> sorted(["R10", "R2", "C1", "R010"], key=natural_key)
    ['C1', 'R2', 'R010', 'R10']
    """
    runs = tuple((1, int(run), "") if run[0].isdigit() else (0, 0, run.casefold()) for run in _RUNS.findall(ref))
    return runs, ref


def canonical(written: str) -> str:
    """Return the canonical designator: blanks removed, upper case.

    >>> canonical(" c 5 ")
    'C5'
    """
    return "".join(written.split()).upper()
