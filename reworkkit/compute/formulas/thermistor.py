"""Thermistors by the beta equation. Temperatures in kelvin, resistances in ohm."""

import math

T_25 = 298.15
"""25 C in kelvin, where makers state the resistance."""


def resistance(kelvin: float, at_25: float, beta: float) -> float:
    """Return the resistance at a temperature [ohm]: R = R25 exp(B (1/T - 1/T25)).

    One beta holds between the two temperatures it is stated for (mostly 25 and 50 or 85 C); beyond them some per cent
    off.

    >>> round(resistance(373.15, 10e3, 3435.0), 1)
    987.0
    """
    return at_25 * math.exp(beta * (1 / kelvin - 1 / T_25))


def temperature(ohm: float, at_25: float, beta: float) -> float:
    """Return the temperature of a resistance [K]: 1/T = 1/T25 + ln(R/R25)/B; the range is that of `resistance`.

    >>> round(temperature(10e3, 10e3, 3950.0), 2)
    298.15
    """
    return 1 / (1 / T_25 + math.log(ohm / at_25) / beta)


def shown_with_table(kelvin: float, at_25: float, beta: float, table_25: float, table_beta: float) -> float:
    """Return what firmware shows [K] whose table is for another thermistor than the one fitted.

    >>> round(shown_with_table(373.15, 10e3, 3435.0, 10e3, 3950.0) - 273.15, 1)
    88.2
    """
    return temperature(resistance(kelvin, at_25, beta), table_25, table_beta)
