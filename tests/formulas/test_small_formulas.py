"""Crystal load, junction temperature and dividers against worked figures."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reworkkit.compute.formulas import crystal_load, divider, junction_temperature

LOAD = "CL = C1 C2 / (C1 + C2) + Cs, makers' oscillator notes, worked by hand"
JUNCTION = "Tj = Ta + P Rth; 136 C/W SOT-223 without heat sink, LM1117 maker's sheet"


def test_crystal_load(published: Any) -> None:
    got = crystal_load.load_capacitance(27e-12, 27e-12, 4.5e-12) * 1e12
    published("two 27 pF and 4.5 pF stray [pF]", got, 18.0, source=LOAD, tolerance=1e-9)
    pair = crystal_load.capacitors_for(18e-12, 4.5e-12) * 1e12
    published("capacitors for 18 pF [pF]", pair, 27.0, source=LOAD, tolerance=1e-9)


@given(st.floats(5e-12, 30e-12), st.floats(1e-12, 4e-12))
def test_capacitors_make_the_load_they_were_found_for(load: float, stray: float) -> None:
    each = crystal_load.capacitors_for(load, stray)
    assert crystal_load.load_capacitance(each, each, stray) == pytest.approx(load, rel=1e-9)


def test_a_crystal_at_its_own_load_is_not_pulled() -> None:
    assert crystal_load.frequency_shift(10e-15, 5e-12, 18e-12, 18e-12) == 0.0
    assert crystal_load.frequency_shift(10e-15, 5e-12, 15e-12, 18e-12) > 0


def test_junction_temperature(published: Any) -> None:
    """(5 V - 3.3 V) x 0.5 A = 0.85 W; 0.85 x 136 = 115.6 K above the air."""
    watts = junction_temperature.linear_dissipation(5.0, 3.3, 0.5)
    published("heat in 5 V to 3.3 V at 0.5 A [W]", watts, 0.85, source="(Vin - Vout) I", tolerance=1e-9)
    got = junction_temperature.junction_temperature(25.0, watts, 136.0)
    published("junction in SOT-223 [C]", got, 140.6, source=JUNCTION, tolerance=1e-6)


@given(st.floats(-40, 100), st.floats(10, 300))
def test_most_power_reaches_the_limit_exactly(ambient: float, to_ambient: float) -> None:
    watts = junction_temperature.most_power(125.0, ambient, to_ambient)
    assert junction_temperature.junction_temperature(ambient, watts, to_ambient) == pytest.approx(125.0)


def test_divider(published: Any) -> None:
    published("10 k over 20 k", divider.divider_ratio(10e3, 20e3), 2 / 3, source="Ohm's law", tolerance=1e-12)
    loaded = divider.divider_ratio(10e3, 20e3, 20e3)
    published("10 k over 20 k, loaded with 20 k", loaded, 0.5, source="Ohm's law", tolerance=1e-12)


@given(st.floats(1.5, 50), st.floats(1e3, 1e5))
def test_upper_resistor_gives_the_voltage_it_was_found_for(volts: float, lower: float) -> None:
    upper = divider.upper_for(volts, 1.0, lower)
    assert volts * divider.divider_ratio(upper, lower) == pytest.approx(1.0)
