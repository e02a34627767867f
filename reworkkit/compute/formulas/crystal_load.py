"""Load capacitance of a crystal and the two capacitors that make it. Farad."""


def load_capacitance(first: float, second: float, stray: float) -> float:
    """Return the load a crystal sees [F]: C1 C2 / (C1 + C2) + Cstray.

    `stray` is that of tracks and pins between the two sides, usually 2 to 5 pF. For a parallel-resonant (Pierce)
    oscillator.

    >>> round(load_capacitance(27e-12, 27e-12, 4.5e-12) * 1e12, 2)
    18.0
    """
    return first * second / (first + second) + stray


def capacitors_for(load: float, stray: float) -> float:
    """Return the value of two equal capacitors for a load [F]: C = 2 (CL - Cstray); the load must exceed the stray.

    >>> round(capacitors_for(12e-12, 4e-12) * 1e12, 2)
    16.0
    """
    return 2 * (load - stray)


def frequency_shift(motional: float, shunt: float, load: float, specified: float) -> float:
    """Return how far a crystal is pulled by a load other than the specified one, as a share (1e-6 is 1 ppm).

    df/f = C1/2 (1/(C0 + CL) - 1/(C0 + CLspec)), with motional C1 and shunt C0 [F].

    >>> round(frequency_shift(10e-15, 5e-12, 15e-12, 18e-12) * 1e6, 1)
    32.6
    """
    return motional / 2 * (1 / (shunt + load) - 1 / (shunt + specified))
