"""The heat tables are whole: a source on every row, plausible ranges, monotone where physics says so."""

import pytest

from reworkkit.compute.heat_demand.figures import figure, usual_tips
from reworkkit.model.vocabulary import HeatClass
from reworkkit.tables import rows, sources

TABLES = (
    "alloys",
    "laminates",
    "tips",
    "heat_model",
    "heat_limits",
    "heat_classes",
    "moisture_floor_life",
    "moisture_bake",
    "moisture_body",
)


@pytest.mark.parametrize("table", TABLES)
def test_every_row_names_a_known_source(table: str) -> None:
    for row in rows(table):
        assert row["source"] in sources(), row
        assert row["place"], row


def test_alloys_are_plausible() -> None:
    for row in rows("alloys"):
        assert 130 <= float(row["solidus_c"]) <= float(row["liquidus_c"]) <= 310
        assert 7000 <= float(row["density"]) <= 11500
        assert 15 <= float(row["conductivity"]) <= 70
        assert row["leaded"] in ("yes", "no")


def test_bigger_tips_carry_more() -> None:
    small, medium, large = (usual_tips()[n] for n in ("small", "medium", "large"))
    assert small.face_m2 < medium.face_m2 < large.face_m2
    assert small.inner_w_per_k < medium.inner_w_per_k < large.inner_w_per_k
    assert usual_tips()["medium slip-on"].inner_w_per_k < medium.inner_w_per_k


def test_figures_and_limits() -> None:
    names = [row["figure"] for row in rows("heat_model")]
    assert len(names) == len(set(names))
    assert all(float(row["spread"]) >= 0 for row in rows("heat_model"))
    assert figure("setting_most").value == 380
    assert figure("preheat_most").value == 110
    assert all(250 <= float(row["setting_c"]) <= 380 for row in rows("heat_limits"))
    assert {row["heat_class"] for row in rows("heat_classes")} == {str(c) for c in HeatClass}


def test_drying_takes_longer_for_thicker_bodies_and_worse_levels() -> None:
    by = {(r["level"], float(r["thickness_mm"])): float(r["at_125_h"]) for r in rows("moisture_bake")}
    for level in ("2a", "3", "4", "5", "5a"):
        assert by[level, 1.4] <= by[level, 2.0] <= by[level, 4.5]
    for thickness in (1.4, 2.0, 4.5):
        hours = [by[level, thickness] for level in ("2a", "3", "4", "5", "5a")]
        assert hours == sorted(hours)
