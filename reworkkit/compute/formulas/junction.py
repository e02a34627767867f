"""Semiconductor junctions in closed form: current and slope of a diode with series resistance. SI units throughout."""

import math

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Rows = NDArray[np.intp]
Flags = NDArray[np.bool_]

THERMAL_VOLTAGE = 1.380649e-23 * 300.15 / 1.602176634e-19
"""kT/q at 27 C [V]."""


def wright_omega(z: Array) -> Array:
    """Return the Wright omega function of real arguments: the w > 0 with w + ln w = z.

    Two steps of the fourth-order iteration of Lawrence, Corless and Jeffrey (ACM Trans. Math. Softw. 38 (2012) 20)
    from a start that is exact at both ends. Valid for all real z, to 4e-15; below -745 the result is 0.

    >>> [round(float(w), 6) for w in wright_omega(np.array([-800.0, 0.0, 1.0, 10.0]))]
    [0.0, 0.567143, 1.0, 7.92942]
    """
    z = np.asarray(z, dtype=np.float64)
    large = np.maximum(z, 1.0)
    small = np.where(z < -2.0, np.maximum(z, -745.0), 2.0 / 3.0 * (np.minimum(z, 1.0) - 1.0))
    w = np.maximum(np.where(z < 1.0, np.exp(small), large - np.log(large)), 5e-324)
    for _ in range(2):
        rest = z - w - np.log(w)
        one = 1.0 + w
        step = one * (one + 2.0 * rest / 3.0)
        w = np.maximum(w * (1.0 + rest / one * (step - rest / 2.0) / (step - rest)), 5e-324)
    return np.where(z < -500.0, np.exp(np.minimum(np.maximum(z, -745.0), -500.0)), w)


def log_saturation(forward: Array, at: Array, slope_voltage: Array, series: Array) -> Array:
    """Return ln(Is / 1 A) of a diode that drops `forward` [V] at the current `at` [A].

    Is = I / (exp((V - I Rs) / nVt) - 1), with nVt = `slope_voltage` [V] and Rs = `series` [ohm]; V > I Rs.

    >>> tiny = log_saturation(np.array(0.6), np.array(1e-3), np.array(0.0259), np.array(0.0))
    >>> round(float(np.exp(tiny)) * 1e14, 3)
    8.692
    """
    drop = np.maximum((forward - at * series) / slope_voltage, 1e-3)
    return np.log(at) - drop - np.log1p(-np.exp(-drop))


def diode_current(voltage: Array, log_is: Array, slope_voltage: Array, series: Array) -> tuple[Array, Array]:
    """Return current [A] and slope [A/V] of a diode with series resistance.

    v = i Rs + nVt ln(1 + i/Is) solved for i: i = (nVt/Rs) w(z) - Is, z = ln(Is Rs/nVt) + (v + Is Rs)/nVt, and the
    slope is w/(1 + w)/Rs, which never exceeds 1/Rs. Needs Rs > 0.

    >>> log_is = np.log(np.array(1e-14))
    >>> i, g = diode_current(np.array(0.7), log_is, np.array(0.0259), np.array(1.0))
    >>> round(float(i) * 1e3, 3), bool(0 < g < 1)
    (4.58, True)
    """
    saturation = np.exp(log_is)
    z = log_is + np.log(series / slope_voltage) + (voltage + saturation * series) / slope_voltage
    w = wright_omega(z)
    return slope_voltage / series * w - saturation, w / (1.0 + w) / series


def forward_voltage(current: float, log_is: float, slope_voltage: float, series: float) -> float:
    """Return the drop of a diode at a current above -Is [V]: v = i Rs + nVt ln(1 + i/Is).

    >>> round(forward_voltage(1e-3, math.log(1e-14), 0.0259, 1.0), 4)
    0.657
    """
    return current * series + slope_voltage * math.log1p(current * math.exp(-log_is))
