"""Fields and sensor constants against published and worked figures (see the sources named)."""

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reworkkit.compute.formulas import magnetic_sensor as sensor

HANDBOOK = "Hall current sensor notes after a maker's handbook, FT50-43 toroid with a 0.15 cm gap"
NOTE = "maker's application note 27702A, linear Hall sensors"


def test_straight_conductor(published: Any) -> None:
    got = sensor.field_of_straight_conductor(10.0, 0.010) * 1e3
    published("field 10 mm beside 10 A [mT]", got, 0.2, source="B = mu0 I / 2 pi r, closed form", tolerance=1e-6)


@pytest.mark.parametrize(("gap_mm", "gauss"), [(1.0, 12.566), (1.5, 8.3776), (1.524, 8.2457), (2.0, 6.2832)])
def test_ideal_gap(published: Any, gap_mm: float, gauss: float) -> None:
    got = sensor.field_in_gap(1.0, gap_mm * 1e-3) / sensor.TESLA_PER_GAUSS
    published(f"{gap_mm} mm gap [G/A]", got, gauss, source="B = mu0 I / g, closed form", tolerance=1e-4)


def test_gap_of_a_ferrite_toroid(published: Any) -> None:
    """The handbook's gauss and centimetre form 0.4 pi mu N I / (lc + mu la) with its printed inputs."""
    got = sensor.field_in_gap_of_core(1.0, 0.0015, 1.0, 0.0302, 850) / sensor.TESLA_PER_GAUSS
    by_handbook = 0.4 * math.pi * 850 / (3.02 + 850 * 0.15)
    published("gapped toroid [G/A]", got, by_handbook, source=HANDBOOK, tolerance=1e-6)
    published("gapped toroid, worked [G/A]", got, 8.18374, source=HANDBOOK, tolerance=1e-5)


def test_ratiometric_zero_and_sensitivity(published: Any) -> None:
    published("zero at 5.0 V supply [V]", sensor.ratiometric(2.5, 5.0, 5.0), 2.5, source=NOTE)
    published("zero at 5.5 V supply [V]", sensor.ratiometric(2.5, 5.5, 5.0), 2.75, source=NOTE, tolerance=1e-12)
    published("sensitivity at 5.5 V [mV/G]", sensor.ratiometric(5.0, 5.5, 5.0), 5.5, source=NOTE, tolerance=1e-12)


def test_millivolts_per_gauss(published: Any) -> None:
    published("5 mV/G in mV/mT", sensor.volts_per_tesla(5.0), 50.0, source="1 mT = 10 G, exact", tolerance=1e-12)


def test_sensor_in_a_gap_gives_millivolts_per_ampere(published: Any) -> None:
    per_ampere = sensor.field_in_gap(1.0, 0.0015) * sensor.volts_per_tesla(5.0)
    published("5 mV/G in a 1.5 mm gap [mV/A]", per_ampere * 1e3, 41.888, source="8.3776 G/A x 5 mV/G", tolerance=1e-4)
    got = sensor.amps_at(4.5, 2.5, per_ampere)
    published("2 V swing [A]", got, 47.7, source="2 V / 41.9 mV/A", tolerance=2e-3)


@given(st.floats(-50, 50), st.floats(0.01, 1.0), st.integers(8, 16))
def test_counts_and_amperes_agree(amps: float, sensitivity: float, bits: int) -> None:
    """Invariant: what an ampere adds in volts and in counts is the same ampere."""
    zero = sensor.counts_at(2.5, 0.5, bits, 3.3)
    one = sensor.counts_at(2.5 + amps * sensitivity, 0.5, bits, 3.3) - zero
    assert one == pytest.approx(amps * sensor.counts_per_ampere(sensitivity, 0.5, bits, 3.3), abs=1e-6)
