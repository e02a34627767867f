"""Floor life, drying and body class against the standards' tables."""

import dataclasses
from decimal import Decimal

import pytest

from reworkkit.compute.moisture import body_class, drying_hours, floor_life_hours, moisture_notes
from reworkkit.errors import ReworkkitError
from reworkkit.model.facts import BoardFacts, PartFacts
from reworkkit.model.values import Quantity
from tests.compute.heat_cases import PACKAGES, board


@pytest.mark.parametrize(("level", "hours"), [("1", None), ("2", 8760), ("2a", 672), ("3", 168), ("4", 72), ("5a", 24)])
def test_floor_life(published, level: str, hours: float | None) -> None:
    published(f"floor life of level {level}, hours", floor_life_hours(level), hours, source="J-STD-020 levels")


@pytest.mark.parametrize(
    ("level", "thickness", "hours"),
    [("3", 1.4, (9, 33, 312)), ("3", 1.6, (27, 96, 888)), ("5", 2.0, (40, 144, 1368)), ("2a", 1.0, (5, 17, 192))],
)
def test_drying(published, level: str, thickness: float, hours: tuple[float, ...]) -> None:
    got = drying_hours(level, thickness)
    published(f"drying of level {level}, {thickness} mm", got, hours, source="J-STD-033 first edition, saturated")


def test_thick_bodies_and_levels_without_drying() -> None:
    assert drying_hours("1", 1.0) is None
    assert drying_hours("3", 9.0) is None
    with pytest.raises(ReworkkitError):
        floor_life_hours("7")


@pytest.mark.parametrize(
    ("package", "leaded", "limit"), [("soic", False, 260), ("to263", False, 245), ("to263", True, 225)]
)
def test_body_class(published, package: str, leaded: bool, limit: float) -> None:
    got = body_class(PACKAGES[package], leaded=leaded)
    published(f"body class of {package}", got, limit, source="J-STD-020C, Tables 4-1 and 4-2")


def test_notes_only_where_a_level_is_told() -> None:
    on = board()
    assert moisture_notes(on) == ()
    told = {
        "SOIC": PartFacts(moisture="3", body_limit=Quantity(Decimal(245), "C", "245 C")),
        "NO1": PartFacts(moisture="3"),
    }
    notes = moisture_notes(dataclasses.replace(on, facts=BoardFacts(parts=told)))
    assert [n.message.slug for n in notes] == ["heat-moisture-floor-life", "heat-moisture-bake", "heat-body-limit"]
    assert {n.refs for n in notes} == {("SOIC",)}
