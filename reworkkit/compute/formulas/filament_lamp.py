"""A filament lamp as a series limiter. SI units throughout.

Law: I = I0 (V / V0)^p between the knee (a few per cent of the rated voltage) and the rated voltage. p = 0.55 is the
usual figure (from memory; 0.541 to 0.55 in lamp makers' notes), the form is published: Martinez and Krug,
Voltage-Current Characteristic of Incandescent Lightbulbs, 2013. Only filament and halogen lamps follow it.
"""

import math

EXPONENT = 0.55
COLD_RATIO = 14.0
"""Current of a cold filament over its rated current: about 14 (10 to 15), lamptech.co.uk, starting characteristics."""


def lamp_current(voltage: float, rated_voltage: float, rated_power: float, exponent: float = EXPONENT) -> float:
    """Return the current of a warm lamp [A] at a voltage [V] up to its rated voltage [V], rated power [W].

    I = (P0 / V0) (V / V0)^p.

    >>> round(lamp_current(115, 230, 100), 3)
    0.297
    """
    return rated_power / rated_voltage * math.pow(voltage / rated_voltage, exponent)


def most_power_behind_lamp(
    source_voltage: float, rated_voltage: float, rated_power: float, exponent: float = EXPONENT
) -> float:
    """Return the most power that any load can draw through a series lamp [W].

    The load's power I(u) (V - u) is largest where the lamp drops u = V p / (1 + p). With V = V0 and p = 0.55 that is
    36.5 % of the rated power.

    >>> round(most_power_behind_lamp(230, 230, 100), 1)
    36.5
    """
    drop = source_voltage * exponent / (1 + exponent)
    return lamp_current(drop, rated_voltage, rated_power, exponent) * (source_voltage - drop)


def lamp_and_resistor(
    source_voltage: float,
    resistance: float,
    rated_voltage: float,
    rated_power: float,
    exponent: float = EXPONENT,
) -> float:
    """Return the voltage over a lamp in series with a resistive load [V], by bisection on a rising function.

    Solves u + R I(u) = V for 0 <= u <= V.

    >>> round(lamp_and_resistor(230, 529, 230, 100), 1)
    91.5
    """
    low, high = 0.0, source_voltage
    for _ in range(80):
        middle = (low + high) / 2
        total = middle + resistance * lamp_current(middle, rated_voltage, rated_power, exponent)
        low, high = (middle, high) if total < source_voltage else (low, middle)
    return (low + high) / 2


def lamp_and_constant_power(
    source_voltage: float, power: float, rated_voltage: float, rated_power: float, exponent: float = EXPONENT
) -> float | None:
    """Return the voltage over a lamp that feeds a running constant-power load [V]; None where it cannot run.

    The stable point is the one with the smaller drop, found by bisection below the drop of most power.

    >>> lamp_and_constant_power(230, 60, 230, 100) is None
    True
    """
    if power > most_power_behind_lamp(source_voltage, rated_voltage, rated_power, exponent):
        return None
    low, high = 0.0, source_voltage * exponent / (1 + exponent)
    for _ in range(80):
        middle = (low + high) / 2
        passed = lamp_current(middle, rated_voltage, rated_power, exponent) * (source_voltage - middle)
        low, high = (middle, high) if passed < power else (low, middle)
    return (low + high) / 2


def lamp_charge_time(
    source_voltage: float,
    capacitance: float,
    fraction: float,
    rated_voltage: float,
    rated_power: float,
    exponent: float = EXPONENT,
) -> float:
    """Return the time until a capacitor charged through a warm lamp has reached a fraction of the source voltage [s].

    From C dv/dt = I0 ((V - v)/V0)^p: t = C V0^p V^(1-p) (1 - (1-f)^(1-p)) / (I0 (1-p)). Finite even for f = 1. The
    cold filament passes more at first, so the real time is shorter.

    >>> round(lamp_charge_time(230, 680e-6, 0.95, 230, 100), 2)
    0.59
    """
    rated_current = rated_power / rated_voltage
    rest = 1 - math.pow(1 - fraction, 1 - exponent)
    scale = capacitance * math.pow(rated_voltage, exponent) * math.pow(source_voltage, 1 - exponent)
    return scale * rest / (rated_current * (1 - exponent))


def cold_resistance(rated_voltage: float, rated_power: float, cold_ratio: float = COLD_RATIO) -> float:
    """Return the resistance of a cold filament [ohm]: hot resistance over the ratio of cold to rated current.

    >>> round(cold_resistance(230, 100))
    38
    """
    return rated_voltage**2 / rated_power / cold_ratio


def glow(voltage: float, rated_voltage: float) -> float:
    """Return the light of a lamp as a share of its rated light: (V / V0)^3.4 (from memory).

    >>> round(glow(115, 230), 3)
    0.095
    """
    return math.pow(voltage / rated_voltage, 3.4)
