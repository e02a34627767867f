"""Closed forms of the heat model against worked examples and finite elements."""

import json
import math
from pathlib import Path

import numpy as np
import pytest

from reworkkit.compute.formulas.conduction import (
    circle_area_inside,
    circle_inside,
    contour,
    disc_on_half_space,
    lumped_conductance,
    lumped_temperature,
    radius_for_area,
)
from reworkkit.compute.formulas.draws import normal_draws, radical_inverse, tenth_and_ninetieth
from reworkkit.compute.formulas.joint_heat import land_resistance, relief_resistance, series, tab_resistance
from reworkkit.compute.formulas.moisture import size_class

RELIEF = Path(__file__).parent.parent / "heat_reference" / "relief.json"
RELIEFS = json.loads(RELIEF.read_text(encoding="utf-8"))


def test_lumped_body_of_the_textbook(published) -> None:
    # Incropera 6e Ex 5.1: 25 C to 199 C in gas of 200 C, time constant 1 s, takes 5.2 s (exact ln 175).
    got = lumped_temperature(25.0, 200.0, 1.0, math.log(175.0))
    published("thermocouple after 5.16 s", got, 199.0, source="Incropera 6e, example 5.1", tolerance=1e-6)


def test_lumped_steel_ball(published) -> None:
    # Holman Ex 4-1: D 50 mm, h 10, k 35, c 460, rho 7800; 450 to 150 C in 100 C surroundings.
    constant = 7800 * 460 * 0.05 / 6 / 10
    published(
        "steel ball",
        lumped_temperature(450.0, 100.0, constant, 5818.27),
        150.0,
        source="Holman, example 4-1",
        tolerance=1e-4,
    )


def test_coupon_gives_the_conductance_back(published) -> None:
    # Cengel Ex 4-1: sphere 1 mm, h 210, c 320, rho 8500: 99 % after 9.9413 s.
    heat, g = 8500 * 320 * math.pi * 0.001**3 / 6, 210 * math.pi * 0.001**2
    got = lumped_conductance(heat, 0.0, 1.0, 0.99, 9.9413)
    published("sphere of 1 mm", got, g, source="Cengel, example 4-1", tolerance=1e-4)


def test_disc_on_half_space(published) -> None:
    published(
        "R k a",
        disc_on_half_space(0.002, 0.5) * 0.002 * 0.5,
        0.25,
        source="Carslaw & Jaeger 8.2 (from memory)",
        tolerance=1e-9,
    )


def test_contact_in_series(published) -> None:
    # Holman Ex 2-11: two bars 8.67921 K/W each, contact 0.746971 K/W, 100 C across: 5.52322 W.
    got = 100.0 * series(1 / 8.67921, 1 / 0.746971, 1 / 8.67921)
    published("two bars with a contact", got, 5.52322, source="Holman, example 2-11", tolerance=1e-5)


@pytest.mark.parametrize("row", RELIEFS["rows"], ids=lambda r: str(r["layout_mm"]))
def test_relief_against_finite_elements(published, row: dict) -> None:
    spokes, width, gap, land = row["layout_mm"]
    got = relief_resistance(spokes, width / 1e3, gap / 1e3, (land + gap) / 1e3, RELIEFS["sheet_w_per_k"])
    source = "independent: scikit-fem, two dimensions"
    published(f"relief {spokes} x {width} mm", got, row["k_per_w"], source=source, tolerance=0.01)


def test_relief_without_narrowing_would_be_too_easy() -> None:
    spokes, width, gap, plane, sheet = 4, 0.3e-3, 0.25e-3, 1.15e-3, 0.0134
    assert relief_resistance(spokes, width, gap, plane, sheet) > 1.3 * gap / (spokes * width * sheet)


@pytest.mark.parametrize(("time", "decay"), [(0.3, 0.5), (3.0, 2.0), (8.0, 0.1)])
def test_inversion_of_known_pairs(time: float, decay: float) -> None:
    s, w = contour(time)
    assert np.sum(w / (s + decay)).real == pytest.approx(math.exp(-decay * time), abs=1e-6)
    assert np.sum(w / s**2).real == pytest.approx(time, rel=1e-6)
    assert np.sum(w * np.exp(-np.sqrt(s)) / s).real == pytest.approx(math.erfc(0.5 / math.sqrt(time)), abs=1e-6)


def test_circle_cut_by_edges() -> None:
    rng = np.linspace(0.0, 2 * math.pi, 200001)[:-1]
    x, y = 2 * np.cos(rng), 2 * np.sin(rng)
    assert float(circle_inside(2.0, 1.2, 0.7)) == pytest.approx(np.mean((x < 1.2) & (y < 0.7)), abs=2e-5)
    grid = (np.arange(1000) + 0.5) / 250 - 2
    gx, gy = np.meshgrid(grid, grid)
    area = np.mean((gx**2 + gy**2 < 4) & (gx < 1.2) & (gy < 0.7)) * 16
    assert float(circle_area_inside(2.0, 1.2, 0.7)) == pytest.approx(area, rel=1e-3)
    assert float(radius_for_area(float(circle_area_inside(2.0, 1.2, 0.7)), 1.2, 0.7)) == pytest.approx(2.0, rel=1e-6)


def test_draws_are_fixed_and_normal(published) -> None:
    published("Halton point 6 in base 3", radical_inverse(6, 3), 2 / 9, source="Halton 1960, by hand", tolerance=1e-12)
    table = normal_draws(192, 7)
    assert table is normal_draws(192, 7)
    assert np.abs(table.mean(axis=0)).max() < 1e-12
    assert np.abs(table.std(axis=0) - 1).max() < 1e-12
    assert np.abs(np.corrcoef(table.T) - np.eye(7)).max() < 0.15
    low, high = tenth_and_ninetieth(table)
    assert np.abs(low + 1.2816).max() < 0.12  # normal distribution, 10 % point
    assert np.abs(high - 1.2816).max() < 0.12


def test_tab_resistance_against_a_sum_of_modes() -> None:
    """Independent: the plate's own cosine modes, even sink, even flux under the tip."""
    length, width, sheet, tip = 7.55e-3, 10e-3, 0.46, 2.4e-3
    wave = 2 * math.pi * np.arange(1, 400) / width
    half = wave * tip / 2
    modes = 2 / (sheet * width) * (np.sin(half) / half) ** 2 / np.tanh(wave * length) / wave
    exact = length / (3 * sheet * width) + modes.sum()
    assert tab_resistance(length, width, sheet, tip, 1.27e-3) == pytest.approx(exact, rel=0.06)


@pytest.mark.parametrize(("volume", "expected"), [(29, 0), (407, 1), (140, 0)])
def test_body_volume_classes(published, volume: float, expected: int) -> None:
    published(f"volume {volume} mm3", size_class(volume), expected, source="J-STD-020C, Table 4-2")


def test_way_from_a_wetted_land_to_its_hole_against_a_chain_of_thin_rings(published) -> None:
    """Rings fed evenly by the tip, one after the other; the mean of their temperatures as the heat enters."""
    hole, land, sheet, rings = 0.55e-3, 1.0e-3, 0.0271, 4000
    faces = np.linspace(hole, land, rings + 1)
    middle = (faces[1:] + faces[:-1]) / 2
    fed = (faces[1:] ** 2 - faces[:-1] ** 2) / land**2
    through = np.cumsum(fed[::-1])[::-1]
    steps = np.diff(np.concatenate([[hole], middle])) / (2 * np.pi * sheet * faces[:-1])
    expected = float(fed @ np.cumsum(through * steps))
    got = land_resistance(hole, land, sheet)
    published("land to hole, K/W", got, expected, source="independent: a chain of 4,000 rings", tolerance=0.002)
    assert land_resistance(land, land, sheet) == pytest.approx(0.0, abs=1e-12)
