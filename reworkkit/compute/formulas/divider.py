"""Voltage dividers. Volt, ohm."""


def divider_ratio(upper: float, lower: float, load: float | None = None) -> float:
    """Return the share of the input that a divider gives: Rl / (Ru + Rl), `load` lying across the lower resistor.

    >>> round(divider_ratio(10e3, 20e3), 4), round(divider_ratio(10e3, 20e3, 20e3), 4)
    (0.6667, 0.5)
    """
    below = lower if load is None else lower * load / (lower + load)
    return below / (upper + below)


def upper_for(volts_in: float, volts_out: float, lower: float) -> float:
    """Return the upper resistor [ohm] that turns one voltage into another, unloaded: Rl (Vin/Vout - 1); Vin > Vout > 0.

    >>> round(upper_for(5.0, 3.3, 20e3))
    10303
    """
    return lower * (volts_in / volts_out - 1)
