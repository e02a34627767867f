"""Charging and discharging against a resistor maker's page, an application report and numeric integration."""

import math

import pytest
from scipy.integrate import solve_ivp

from reworkkit.compute.formulas import stored_energy as energy

MAKER = "resistor maker's RC and pre-charge page, resistor-factory.com (800 V, 47 ohm, 1 mF)"


def test_pre_charge_of_a_resistor_maker(published) -> None:  # type: ignore[no-untyped-def]
    published("peak current, A", energy.peak_charge_current(800, 47), 17.0, source=MAKER, tolerance=0.002)
    published("energy, J", energy.stored_energy(1e-3, 800), 320.0, source=MAKER, tolerance=0.001)
    published(
        "time to 95 %, ms", energy.charge_time(47, 1e-3, 1 - math.exp(-3)) * 1e3, 141.0, source=MAKER, tolerance=0.001
    )
    published("time to 99 %, ms", energy.charge_time(47, 1e-3, 0.99) * 1e3, 216.443, source=MAKER, tolerance=0.001)
    published("peak power, W", energy.power_into_short(800, 47), 13617.0, source=MAKER, tolerance=0.001)


def test_five_time_constants_of_an_application_report(published) -> None:  # type: ignore[no-untyped-def]
    source = "TI TIDUF73 section 2.2.1: 50 ohm, charged in 5 tau = 0.5 s"
    fraction = 1 - math.exp(-5)
    published("time for 99.326 %, s", energy.charge_time(50, 2e-3, fraction), 0.5, source=source, tolerance=0.001)


def test_bleeder_of_a_safety_standard(published) -> None:  # type: ignore[no-untyped-def]
    source = "IEC 60950-1 2.1.1.7 as quoted: 340 V, 1 uF, 1 Mohm: 37 % (125.8 V) left after one time constant"
    published("time to 125.8 V, s", energy.discharge_time(1e6, 1e-6, 340, 125.8), 1.0, source=source, tolerance=0.01)


@pytest.mark.parametrize("fraction", [0.5, 0.95, 0.99])
def test_charging_against_numeric_integration(fraction: float) -> None:
    """Independent: the differential equation, integrated by scipy."""
    volts, ohms, farads = 325.0, 470.0, 680e-6

    def reached(t: float, v: list[float]) -> float:
        return float(v[0] - fraction * volts)

    reached.terminal = True  # type: ignore[attr-defined]
    run = solve_ivp(lambda t, v: (volts - v) / (ohms * farads), (0, 5), [0.0], events=reached, rtol=1e-9, atol=1e-9)
    assert energy.charge_time(ohms, farads, fraction) == pytest.approx(run.t_events[0][0], rel=1e-4)


def test_constant_power_load_settles_where_integration_says() -> None:
    volts, ohms, farads, watts = 325.0, 470.0, 680e-6, 20.0

    def slope(t: float, v: list[float]) -> list[float]:
        drawn = watts / v[0] if v[0] > 250 else 0.0
        return [((volts - v[0]) / ohms - drawn) / farads]

    run = solve_ivp(slope, (0, 10), [0.0], max_step=0.01)
    assert energy.constant_power_settling(volts, ohms, watts) == pytest.approx(run.y[0][-1], rel=1e-3)


def test_no_load_takes_more_than_the_most_power_behind_a_resistor() -> None:
    most = energy.most_power_behind(100, 10)
    taken = [v * (100 - v) / 10 for v in range(101)]
    assert max(taken) == pytest.approx(most)
    assert energy.constant_power_settling(100, 10, most * 1.001) is None


def test_energy_lost_in_the_resistor_equals_the_energy_stored() -> None:
    """Invariant of RC charging (also printed in TI TIDUF73): the resistor takes C V^2 / 2, whatever its value."""
    volts, ohms, farads = 48.0, 30.0, 10e-3
    steps = 200_000
    dt = 20 * ohms * farads / steps
    lost = sum((volts * math.exp(-(n + 0.5) * dt / (ohms * farads))) ** 2 / ohms * dt for n in range(steps))
    assert energy.stored_energy(farads, volts) == pytest.approx(lost, rel=1e-6)
