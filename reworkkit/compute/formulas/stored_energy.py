"""Charging and discharging a capacitor: currents, energies, times. SI units throughout.

The capacitor is ideal and the source stiff. A real electrolytic is within +-20 % of its printed value, recovers a few
per cent of its voltage after discharge, and leaks; every figure here is to be shown with that said.
"""

import math


def stored_energy(capacitance: float, voltage: float) -> float:
    """Return the energy in a charged capacitor [J].

    E = C V^2 / 2, with C [F] and V [V]. Valid for any charge.

    >>> round(stored_energy(680e-6, 325), 1)
    35.9
    """
    return capacitance * voltage**2 / 2


def peak_charge_current(voltage: float, resistance: float) -> float:
    """Return the first current into an empty capacitor through a resistor [A].

    I = V / R, with V [V] and R [ohm].

    >>> round(peak_charge_current(800, 47), 2)
    17.02
    """
    return voltage / resistance


def charge_time(resistance: float, capacitance: float, fraction: float) -> float:
    """Return the time until a capacitor has reached a fraction of the source voltage [s].

    t = -R C ln(1 - f), with R [ohm], C [F] and 0 <= f < 1, nothing else connected.

    >>> round(charge_time(47, 1e-3, 0.99) * 1e3, 1)
    216.4
    """
    return -resistance * capacitance * math.log(1 - fraction)


def discharge_time(resistance: float, capacitance: float, start_voltage: float, end_voltage: float) -> float:
    """Return the time until a capacitor has fallen from one voltage to another through a resistor [s].

    t = R C ln(V1 / V2), with R [ohm], C [F] and V1 > V2 > 0 [V]; 0 where it is already there.

    >>> round(discharge_time(100e3, 680e-6, 325, 60))
    115
    """
    return resistance * capacitance * math.log(start_voltage / end_voltage) if start_voltage > end_voltage else 0.0


def current_limited_charge_time(capacitance: float, voltage: float, current: float) -> float:
    """Return the time to charge a capacitor from a supply that stands on its limit [s].

    t = C V / I, with C [F], V [V] and I [A].

    >>> round(current_limited_charge_time(4700e-6, 12, 0.1), 2)
    0.56
    """
    return capacitance * voltage / current


def most_power_behind(voltage: float, resistance: float) -> float:
    """Return the most power that any load can draw through a series resistor [W].

    P = V^2 / (4 R), reached at half the voltage. A constant-power load that wants more never starts.

    >>> round(most_power_behind(48, 30), 1)
    19.2
    """
    return voltage**2 / (4 * resistance)


def power_into_short(voltage: float, resistance: float) -> float:
    """Return the power in a series resistor with a short behind it, for as long as it lasts [W].

    P = V^2 / R.

    >>> power_into_short(10.0, 50.0)
    2.0
    """
    return voltage**2 / resistance


def leak_resistance(resistance: float, source_voltage: float, end_voltage: float) -> float:
    """Return what loads the bus, from the voltage at which charging through a resistor stops [ohm].

    R_leak = R V1 / (V - V1), with V1 < V; infinite where V1 = V.

    >>> round(leak_resistance(470, 325, 320))
    30080
    """
    return math.inf if end_voltage >= source_voltage else resistance * end_voltage / (source_voltage - end_voltage)


def making_current(difference: float, loop_resistance: float) -> float:
    """Return the current at the moment a contact closes over a voltage difference [A].

    I = dV / R_loop, the loop being source, wires, contact and capacitor (tens of milliohm).

    >>> round(making_current(0.05 * 325, 0.05))
    325
    """
    return difference / loop_resistance


def wait_between_attempts(energy: float, rated_power: float) -> float:
    """Return the time between charging attempts at which the mean power is the resistor's rated power [s].

    t = E / P. The resistor must also bear each single pulse, which only its maker's curve tells.

    >>> wait_between_attempts(36.0, 10.0)
    3.6
    """
    return energy / rated_power


def constant_power_settling(source_voltage: float, resistance: float, power: float) -> float | None:
    """Return the voltage at which a constant-power load settles behind a resistor [V]; None where it never can.

    v = V/2 + sqrt(V^2/4 - P R), the upper, stable root. Valid once the load runs.

    >>> round(constant_power_settling(325, 470, 20), 1)
    292.9
    >>> constant_power_settling(48, 30, 25) is None
    True
    """
    under_root = source_voltage**2 / 4 - power * resistance
    return None if under_root < 0 else source_voltage / 2 + math.sqrt(under_root)
