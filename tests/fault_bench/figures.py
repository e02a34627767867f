"""Records for figures of devices and for what a set of sections has of its own; each set fills them in `devices.py`."""

import math
from collections.abc import Mapping
from pathlib import Path
from typing import NamedTuple

THERMAL_V = 0.02585
KNEE_A = 1e-9
"""Saturation current of the branch that stands for a breakdown."""

Pins = dict[str, str]
"""Role -> pin number."""


class Junction(NamedTuple):
    """Saturation current (ampere), emission coefficient, series resistance (ohm) at 27 degree C."""

    saturation_a: float
    ideality: float
    series_ohm: float

    def model(self, name: str) -> str:
        """Return the line of its model."""
        return f".model {name} d(is={self.saturation_a:.6g} n={self.ideality:.6g} rs={self.series_ohm:.6g})"

    def spread(self, factor: float) -> "Junction":
        """Return the same with its saturation current times a factor."""
        return self._replace(saturation_a=self.saturation_a * factor)


class Lamp(NamedTuple):
    """An LED: forward voltage at 10 mA, emission coefficient, series resistance (ohm)."""

    forward_v: float
    ideality: float
    series_ohm: float

    def junction(self, more_v: float) -> Junction:
        """Return the junction of one whose forward voltage is so much higher."""
        forward = self.forward_v + more_v - 0.01 * self.series_ohm
        return Junction(0.01 * math.exp(-forward / (self.ideality * THERMAL_V)), self.ideality, self.series_ohm)


class Breakdown(NamedTuple):
    """Voltage at a test current (ampere), softness of the knee (volt), slope (ohm), tolerance in percent."""

    volts: float
    at_a: float
    knee_v: float
    slope_ohm: float
    tolerance_percent: float

    @property
    def junction(self) -> Junction:
        """The knee and the slope."""
        return Junction(KNEE_A, self.knee_v / THERMAL_V, self.slope_ohm)

    def source_v(self, factor: float) -> float:
        """Return the source in series with the junction, with the voltage at the test current times a factor."""
        return self.volts * factor - self.knee_v * math.log(self.at_a / KNEE_A) - self.slope_ohm * self.at_a


class Regulator(NamedTuple):
    """A linear regulator; `inner_ohm` is what an ohmmeter meets from OUT to GND.

    `fold`: share of the limit that is left with the output at 0 V. `least_a`: what the pass transistor lets through at
    least, so the output rises with less load. `share`: ground current by output current. `starved_a`: more ground
    current while the input is too low. `enable_v`: threshold of the enable pin.
    """

    pins: Pins
    volts: float
    tolerance_percent: float
    dropout_v: float
    dropout_ohm: float
    limit_a: float
    quiescent_a: float
    inner_ohm: float
    others: tuple[float, ...] = ()
    """Output voltages of the wrong variants that look alike."""
    fold: float = 1.0
    least_a: float = 0.0
    share: float = 0.0
    starved_a: float = 0.0
    enable_v: float = 0.0


class Bipolar(NamedTuple):
    """Saturation current (ampere), gain (lowest and highest), pins, knee of the gain (ampere), base leakage, Early.

    Then the resistances, and the gain the other way round. With no base leakage the gain does not fall at low current.
    """

    saturation_a: float
    gain: tuple[float, float]
    pins: Pins
    knee_a: float
    leak_a: float
    early_v: float
    collector_ohm: float
    emitter_ohm: float
    base_ohm: float
    reverse_gain: float


class Field(NamedTuple):
    """MOSFET: threshold (volt, low and high, as a magnitude), transconductance (A/V2), pins, drain (ohm), diode."""

    threshold_v: tuple[float, float]
    factor: float
    pins: Pins
    drain_ohm: float
    body: Junction


class Amplifier(NamedTuple):
    """Operational amplifier: headroom to the positive rail (volt), own current (ampere), offset (volt), pins."""

    headroom_v: float
    quiescent_a: float
    offset_v: float
    pins: Pins


class Comparator(NamedTuple):
    """Comparator, open collector: sink (ampere), own current (ampere), offset (volt), pins, clamped to V+ or not."""

    sink_a: float
    quiescent_a: float
    offset_v: float
    pins: Pins
    clamped: bool


class Coupler(NamedTuple):
    """Optocoupler: current transfer ratio at some milliamperes (low, high), current at which half of it is left."""

    ratio: tuple[float, float]
    half_a: float


class Odd(NamedTuple):
    """Figures of the faults that no usual list holds.

    `factors`: of a value, by kind of part. `leaky`: kinds of capacitor that leak. A share is what is left of a voltage.
    `diodes`: what is in the place of a Schottky diode, and of any other.
    """

    factors: Mapping[str, tuple[float, ...]]
    joint_ohm: float
    leak_ohm: float
    leaky: frozenset[str]
    regulator_share: float
    zener_share: float
    diodes: tuple[str, str]


class Figures(NamedTuple):
    """Device models by value, pins by kind where all of a kind have the same, Zener diodes that are mixed up.

    `diode_spread`: lowest and highest factor of a saturation current. `load_edge`: width of the voltage at which a load
    starts, in volt and as a share of its rail. `zener_back_a`: saturation current of a Zener branch that is taken back,
    as it would lift an open net by millivolts. `inner_nf`: nanofarad at the inner node of a regulator.
    """

    diodes: Mapping[str, Junction]
    leds: Mapping[str, Lamp]
    zeners: Mapping[str, Breakdown]
    regulators: Mapping[str, Regulator]
    bipolars: Mapping[str, Bipolar]
    fields: Mapping[str, Field]
    pins: Mapping[str, Pins]
    mixed_up: Mapping[str, tuple[str, ...]]
    odd: Odd
    diode_spread: tuple[float, float]
    load_edge: tuple[float, float]
    zener_back_a: float = 0.0
    inner_nf: float = 0.0
    amplifiers: Mapping[str, Amplifier] = {}
    comparators: Mapping[str, Comparator] = {}
    couplers: Mapping[str, Coupler] = {}
    duals: Mapping[str, Junction] = {}
    two_way: Mapping[str, Breakdown] = {}
    sheets: Mapping[str, str] = {}


class BenchSet(NamedTuple):
    """One author's set of sections: its folder, its device figures, how many cases of each kind are made.

    `averaged`: a reading is a mean over some milliseconds, as a meter takes it, not that of a moment. `junctions`:
    those of parts with more leads are checked without power too.
    """

    folder: Path
    figures: Figures
    counts: Mapping[str, int]
    averaged: bool
    junctions: bool
