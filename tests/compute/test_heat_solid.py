"""The ring model against three-dimensional finite elements of whole joints (results stored beside the script)."""

import json

import numpy as np
import pytest

from tests.compute.heat_solid import FOLDER, NAMES, compare, ours, reference

SOURCE = "independent: scikit-fem, three dimensions (tests/heat_reference/solid_reference.py)"
LIMIT = 0.03
"""A part of the rise."""


def test_enough_joints() -> None:
    assert len(NAMES) >= 18
    assert {"tab_edge", "tab_corner", "tab_thin", "tab_inner", "hole_row"} <= set(NAMES)


@pytest.mark.parametrize("name", NAMES)
def test_temperature_and_needed_setting(published, name: str) -> None:
    rows = compare(name)
    for time in (0.5, 1.0, 3.0, 8.0, 20.0):
        row = rows[np.argmin(np.abs(np.log(rows[:, 0] / time)))]
        published(f"{name}, joint after {row[0]:.2f} s", row[1], row[3], source=SOURCE, tolerance=LIMIT)
        needed = 1 / row[1], 1 / row[3]
        published(f"{name}, setting needed after {row[0]:.2f} s", *needed, source=SOURCE, tolerance=LIMIT * 1.04)
        if name.startswith("hole") and time >= 1.0:
            published(f"{name}, far end after {row[0]:.2f} s", row[2], row[4], source=SOURCE, tolerance=LIMIT)


@pytest.mark.parametrize("name", NAMES)
def test_steady_state(published, name: str) -> None:
    response, iron = ours(name)
    z = response.steady()[0][0]
    got = z / (z + 1 / iron.contact[0] + 1 / iron.inner[0])
    published(f"{name}, steady", got, reference(name)["steady"][0], source=SOURCE, tolerance=LIMIT)


def test_thirty_times_quicker_than_finite_elements_at_equal_error() -> None:
    """Stored measurement of tests/heat_reference/ring_speed.py; one joint of a batch of 1,000."""
    measured = json.loads((FOLDER / "ring_speed.json").read_text(encoding="utf-8"))
    assert measured["ring_error"] < 0.015
    assert measured["ratio"] >= 30
