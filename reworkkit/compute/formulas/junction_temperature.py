"""Junction temperature of a part with one heat path. Celsius, watt, kelvin per watt."""


def junction_temperature(ambient: float, power: float, to_ambient: float) -> float:
    """Return the junction temperature [C]: Tj = Ta + P Rth.

    `to_ambient` [K/W] holds for the copper it was stated with; on less copper it is higher.

    >>> junction_temperature(40.0, 0.5, 90.0)
    85.0
    """
    return ambient + power * to_ambient


def most_power(limit: float, ambient: float, to_ambient: float) -> float:
    """Return the power a part may turn into heat [W]: (Tjmax - Ta) / Rth; 0 where the ambient is at the limit.

    >>> round(most_power(125.0, 40.0, 90.0), 3)
    0.944
    """
    return max(0.0, (limit - ambient) / to_ambient)


def linear_dissipation(input_volts: float, output_volts: float, amps: float, quiescent: float = 0.0) -> float:
    """Return the heat in a linear regulator [W]: (Vin - Vout) I + Vin Iq.

    >>> round(linear_dissipation(5.0, 3.3, 0.1), 3)
    0.17
    """
    return (input_volts - output_volts) * amps + input_volts * quiescent
