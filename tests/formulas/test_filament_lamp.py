"""The lamp as limiter against published figures and an independent root finder."""

import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq, minimize_scalar

from reworkkit.compute.formulas import filament_lamp as lamp


def test_published_lamp_figures(published) -> None:  # type: ignore[no-untyped-def]
    source = (
        "lamptech.co.uk, Starting characteristics of incandescent lamps: a cold lamp takes about 14 times its current"
    )
    published("230 V 100 W cold, ohm", lamp.cold_resistance(230, 100), 529 / 14, source=source, tolerance=0.001)
    published(
        "installation guide range holds 14",
        10 <= lamp.COLD_RATIO <= 15,
        True,
        source="electrical installation guide: 10 to 15 times",
    )


@pytest.mark.parametrize("ohms", [20.0, 200.0, 529.0, 5000.0])
def test_operating_point_with_a_resistor_against_brentq(ohms: float) -> None:
    root = brentq(lambda u: u + ohms * 100 / 230 * (u / 230) ** 0.55 - 230, 1e-12, 230)
    assert lamp.lamp_and_resistor(230, ohms, 230, 100) == pytest.approx(root, rel=1e-6)


@pytest.mark.parametrize("watts", [5.0, 20.0, 36.0])
def test_operating_point_with_a_converter_against_brentq(watts: float) -> None:
    top = 230 * 0.55 / 1.55
    root = brentq(lambda u: 100 / 230 * (u / 230) ** 0.55 * (230 - u) - watts, 1e-12, top)
    assert lamp.lamp_and_constant_power(230, watts, 230, 100) == pytest.approx(root, rel=1e-6)


def test_most_power_against_a_general_optimiser() -> None:
    best = minimize_scalar(lambda u: -(100 / 230) * (u / 230) ** 0.55 * (230 - u), bounds=(1, 229), method="bounded")
    assert lamp.most_power_behind_lamp(230, 230, 100) == pytest.approx(-best.fun, rel=1e-6)


def test_charging_through_a_lamp_against_numeric_integration() -> None:
    def reached(t: float, v: list[float]) -> float:
        return float(v[0] - 0.95 * 230)

    reached.terminal = True  # type: ignore[attr-defined]
    run = solve_ivp(
        lambda t, v: (100 / 230) * ((230 - v) / 230) ** 0.55 / 680e-6,
        (0, 5),
        [0.0],
        events=reached,
        rtol=1e-9,
        atol=1e-9,
    )
    assert lamp.lamp_charge_time(230, 680e-6, 0.95, 230, 100) == pytest.approx(run.t_events[0][0], rel=1e-3)
