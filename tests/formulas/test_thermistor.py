"""The beta equation against worked figures, and its own inverse."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reworkkit.compute.formulas import thermistor

BETA = "beta equation R = R25 exp(B (1/T - 1/T25)), worked by hand"


def test_at_25_degrees_it_is_its_nominal(published: Any) -> None:
    published(
        "R at 25 C [ohm]", thermistor.resistance(298.15, 10e3, 3950.0), 10e3, source="definition", tolerance=1e-12
    )


def test_resistance_at_100_degrees(published: Any) -> None:
    """3435 x (1/373.15 - 1/298.15) = -2.31565; exp = 0.098701."""
    got = thermistor.resistance(373.15, 10e3, 3435.0)
    published("3435 K, 10 k at 100 C [ohm]", got, 987.0, source=BETA, tolerance=1e-3)


def test_wrong_table_at_100_degrees(published: Any) -> None:
    got = thermistor.shown_with_table(373.15, 10e3, 3435.0, 10e3, 3950.0) - 273.15
    published("3950 K table, 3435 K part at 100 C [C]", got, 88.0, source="beta equation, worked by hand", absolute=0.5)


@given(st.floats(233, 423), st.floats(1e2, 1e6), st.floats(2000, 5000))
def test_temperature_undoes_resistance(kelvin: float, at_25: float, beta: float) -> None:
    got = thermistor.temperature(thermistor.resistance(kelvin, at_25, beta), at_25, beta)
    assert got == pytest.approx(kelvin, rel=1e-9)


@given(st.floats(300, 423), st.floats(2000, 5000), st.floats(2000, 5000))
def test_a_lower_beta_than_the_table_shows_colder_above_25(kelvin: float, beta: float, table: float) -> None:
    """Invariant: the direction that lets a heater run on."""
    shown = thermistor.shown_with_table(kelvin, 10e3, beta, 10e3, table)
    assert (shown - kelvin) * (beta - table) >= -1e-6
