"""The meter of the bench: its errors and its display, put on what the simulator has."""

import math
import random

DISPLAY_COUNTS = 6000
VOLT_PERCENT, VOLT_FLOOR = 0.5, 0.010
AMP_PERCENT, AMP_FLOOR = 1.0, 0.002
OHM_PERCENT, OHM_FLOOR = 1.0, 0.3
DIODE_PERCENT, DIODE_FLOOR = 0.5, 0.002


class Meter:
    """One meter for one case: a gain of its own, an error of its own for each reading; both evenly in the accuracy."""

    def __init__(self, case: str) -> None:
        self._random = random.Random(f"meter:{case}")
        self._gain = {mode: self._random.uniform(-1.0, 1.0) for mode in ("volt", "amp", "ohm")}

    def volts(self, true: float) -> float:
        """Return what is shown, in volt."""
        return self._read(true, "volt", VOLT_PERCENT, VOLT_FLOOR)

    def amps(self, true: float) -> float:
        """Return what is shown, in ampere, to a tenth of a milliampere."""
        return round(self._read(true, "amp", AMP_PERCENT, AMP_FLOOR), 4)

    def ohms(self, true: float | None) -> float | None:
        """Return what is shown, in ohm; the leads count as up to 0.3 ohm. None is OL."""
        return None if true is None else abs(self._read(abs(true), "ohm", OHM_PERCENT, OHM_FLOOR))

    def diode(self, true: float | None) -> float | None:
        """Return what the diode test shows, in volt. None is OL."""
        return None if true is None else abs(self._read(abs(true), "volt", DIODE_PERCENT, DIODE_FLOOR))

    def _read(self, true: float, mode: str, percent: float, floor: float) -> float:
        shown = true * (1 + self._gain[mode] * percent / 100) + self._random.uniform(-floor, floor)
        return as_displayed(shown)


def as_displayed(value: float) -> float:
    """Return a value as a display of 6000 counts shows it, ranges in steps of ten.

    >>> as_displayed(12.3456), as_displayed(3.31249), as_displayed(0.0004)
    (12.35, 3.312, 0.0004)
    """
    size = max(abs(value) / 6.0, 0.1)
    step = 10.0 ** (math.ceil(math.log10(size)) - 3)
    return round(round(value / step) * step, 4)
