"""The meter of the bench: its errors and its display, put on what the simulator has."""

import math
import random
from typing import NamedTuple


class Accuracy(NamedTuple):
    """Accuracy as percent and floor (volt, ampere, ohm), counts of the display, smallest step of the current."""

    volt: tuple[float, float]
    amp: tuple[float, float]
    ohm: tuple[float, float]
    diode: tuple[float, float]
    counts: int
    amp_step: float


METERS = {
    "bench": Accuracy((0.5, 0.010), (1.0, 0.002), (1.0, 0.3), (0.5, 0.002), 6000, 1e-4),
    "fine": Accuracy((0.1, 0.002), (0.4, 0.0002), (0.3, 0.2), (0.2, 0.001), 20000, 1e-5),
    "simple": Accuracy((1.0, 0.020), (1.5, 0.003), (1.5, 0.5), (1.0, 0.005), 2000, 1e-4),
    "panel": Accuracy((0.5, 0.010), (2.0, 0.010), (1.0, 0.3), (0.5, 0.002), 6000, 1e-2),
}
"""Meters by name; `panel` reads the current on the display of the supply, in steps of 10 mA."""


class Meter:
    """One meter for one case: a gain of its own, an error of its own for each reading; both evenly in the accuracy."""

    def __init__(self, case: str, accuracy: Accuracy = METERS["bench"]) -> None:
        self._accuracy = accuracy
        self._random = random.Random(f"meter:{case}")
        self._gain = {mode: self._random.uniform(-1.0, 1.0) for mode in ("volt", "amp", "ohm")}

    def volts(self, true: float) -> float:
        """Return what is shown, in volt."""
        return self._read(true, "volt", *self._accuracy.volt)

    def amps(self, true: float) -> float:
        """Return what is shown, in ampere, in steps of the display."""
        percent, floor = self._accuracy.amp
        shown = true * (1 + self._gain["amp"] * percent / 100) + self._random.uniform(-floor, floor)
        return round(round(shown / self._accuracy.amp_step) * self._accuracy.amp_step, 6)

    def ohms(self, true: float | None) -> float | None:
        """Return what is shown, in ohm; the leads count as up to 0.3 ohm. None is OL."""
        return None if true is None else abs(self._read(abs(true), "ohm", *self._accuracy.ohm))

    def diode(self, true: float | None) -> float | None:
        """Return what the diode test shows, in volt. None is OL."""
        return None if true is None else abs(self._read(abs(true), "volt", *self._accuracy.diode))

    def _read(self, true: float, mode: str, percent: float, floor: float) -> float:
        shown = true * (1 + self._gain[mode] * percent / 100) + self._random.uniform(-floor, floor)
        return as_displayed(shown, self._accuracy.counts)


def as_displayed(value: float, counts: int = 6000) -> float:
    """Return a value as a display of so many counts shows it, ranges in steps of ten.

    >>> as_displayed(12.3456), as_displayed(3.31249), as_displayed(0.0004)
    (12.35, 3.312, 0.0004)
    >>> as_displayed(12.3456, 20000), as_displayed(12.3456, 2000)
    (12.346, 12.35)
    """
    size = max(abs(value) / (counts / 1000), 0.1)
    step = 10.0 ** (math.ceil(math.log10(size)) - 3)
    return round(round(value / step) * step, 4)
