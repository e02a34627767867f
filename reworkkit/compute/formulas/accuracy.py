"""How far a meter may be off, and the figures of `tables/power_up.csv` for instruments nobody has described."""

import re
from functools import cache
from typing import NamedTuple

from reworkkit import tables
from reworkkit.model.quantity import parse_quantity


@cache
def figure(key: str) -> float:
    """Return a figure of `power_up.csv`."""
    return next(float(row["value"]) for row in tables.rows("power_up") if row["key"] == key)


class Accuracy(NamedTuple):
    """How far a reading may be off: a percentage of it and a fixed part in its unit."""

    percent: float
    fixed: float

    def off(self, value: float) -> float:
        """Return how far a reading of this value may be off.

        >>> Accuracy(0.5, 0.01).off(5.0)
        0.035
        """
        return abs(value) * self.percent / 100 + self.fixed


def usual_accuracy(name: str) -> Accuracy:
    """Return the accuracy of an instrument nobody has described: `meter_volts`, `meter_ohms` or `supply_amps`."""
    return Accuracy(figure(f"{name}_percent"), figure(f"{name}_add"))


def read_accuracy(written: str | None) -> Accuracy | None:
    """Return what `0.5 % + 10 mV` says, or None where nothing can be read.

    >>> read_accuracy("0.5 % + 10 mV"), read_accuracy("1 %"), read_accuracy("good")
    (Accuracy(percent=0.5, fixed=0.01), Accuracy(percent=1.0, fixed=0.0), None)
    """
    percent = fixed = None
    for piece in re.split(r"[+,;]", written or ""):
        found = parse_quantity(piece.strip())
        if found and found.unit == "%":
            percent = float(found.value)
        elif found and found.unit in ("V", "A", "ohm"):
            fixed = float(found.value)
    return None if percent is None and fixed is None else Accuracy(percent or 0.0, fixed or 0.0)
