"""Magnetic current sensors: field of a conductor, sensitivity, and what a converter reads. SI units throughout."""

import math

MU_0 = 4e-7 * math.pi
"""Magnetic constant [T m/A] (before 2019 exact; the difference is 1e-10)."""
TESLA_PER_GAUSS = 1e-4


def field_of_straight_conductor(amps: float, distance: float) -> float:
    """Return the flux density beside a long straight conductor [T]: B = mu0 I / (2 pi r).

    Valid in air, far from the ends of the conductor and from other iron; `distance` [m] from its axis, above 0.

    >>> round(field_of_straight_conductor(10.0, 0.010) * 1e3, 4)
    0.2
    """
    return MU_0 * amps / (2 * math.pi * distance)


def field_in_gap(amps: float, gap: float, turns: float = 1.0) -> float:
    """Return the flux density in the gap of an ideal core [T]: B = mu0 N I / g.

    Valid where the core needs no field of its own (high permeability, not saturated) and the gap is short against its
    width; a real core gives some per cent less, a wide gap up to 20 % less.

    >>> round(field_in_gap(1.0, 0.0015) * 1e3, 5)
    0.83776
    """
    return MU_0 * turns * amps / gap


def field_in_gap_of_core(amps: float, gap: float, turns: float, path: float, permeability: float) -> float:
    """Return the flux density in the gap of a real core [T]: B = mu0 mu N I / (l + mu g).

    `path` [m] is the length of the core, `permeability` its relative permeability; below saturation.

    >>> round(field_in_gap_of_core(1.0, 0.0015, 1.0, 0.0302, 850) / 1e-4, 4)
    8.1837
    """
    return MU_0 * permeability * turns * amps / (path + permeability * gap)


def volts_per_tesla(millivolts_per_gauss: float) -> float:
    """Return a sensitivity in V/T from mV/G: 1 mV/G = 10 mV/mT = 10 V/T.

    >>> volts_per_tesla(5.0)
    50.0
    """
    return millivolts_per_gauss * 1e-3 / TESLA_PER_GAUSS


def ratiometric(at_nominal: float, supply: float, nominal_supply: float) -> float:
    """Return a quantity that follows the supply (zero or sensitivity): x V / Vnominal.

    Valid inside the maker's supply range only.

    >>> round(ratiometric(2.5, 5.5, 5.0), 6), round(ratiometric(5.0, 5.5, 5.0), 6)
    (2.75, 5.5)
    """
    return at_nominal * supply / nominal_supply


def counts_per_ampere(sensitivity: float, scale: float, bits: int, reference: float) -> float:
    """Return what one ampere adds to the reading of a converter: s k 2^n / Vref.

    `sensitivity` [V/A], `scale` of the divider before the input (1 without), `reference` [V].

    >>> round(counts_per_ampere(0.2, 20 / 30, 12, 3.3), 3)
    165.495
    """
    return sensitivity * scale * float(2**bits) / reference


def counts_at(volts: float, scale: float, bits: int, reference: float) -> float:
    """Return the reading of a converter, not rounded and not clipped: V k 2^n / Vref.

    >>> round(counts_at(2.5, 20 / 30, 12, 3.3), 1)
    2068.7
    """
    return volts * scale * float(2**bits) / reference


def amps_at(volts: float, zero: float, sensitivity: float) -> float:
    """Return the current a sensor's output stands for [A]: (V - zero) / s.

    >>> round(amps_at(4.5, 2.5, 0.2), 6)
    10.0
    """
    return (volts - zero) / sensitivity
