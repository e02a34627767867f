"""What stands near: warmed, hidden, where on the board."""

import dataclasses

import pytest

from reworkkit.compute.heat_demand import heat_demand, heaviest
from reworkkit.compute.joints import find_joints
from reworkkit.compute.neighbourhood import neighbourhoods, warm_findings
from reworkkit.model.board import Board
from reworkkit.model.facts import BenchFacts
from reworkkit.model.netlist import Placement
from reworkkit.model.values import Where
from reworkkit.model.vocabulary import Side
from tests.compute.heat_cases import board
from tests.compute.test_joints import PLANES, built, outlined, pin


def scene(distance: float, kind: str = "crystal", side: Side = Side.TOP) -> Board:
    on = outlined(
        built(pin("TO263", "2", "GND", 20, 20, 10, 9), pin("CHIP", "1", "GND", 20 + distance, 20), said=PLANES)
    )
    chip = on.parts["CHIP"]
    parts = on.parts | {"CHIP": chip._replace(identity=dataclasses.replace(chip.identity, kind=kind))}
    where = Where("placement.csv", 1)
    places = {
        "TO263": Placement("TO263", 20, 20, 0, Side.TOP, where),
        "CHIP": Placement("CHIP", 20 + distance, 20, 0, side, where),
    }
    return dataclasses.replace(on, parts=parts, placements=places)


def found(on: Board):
    return neighbourhoods(on, heaviest(heat_demand(on, find_joints(on), BenchFacts())))


def test_heat_reaches_near_parts_more_than_far_ones() -> None:
    peaks = [dict(found(scene(d))["TO263"].hot).get("CHIP", 0.0) for d in (7.0, 10.0, 24.0)]
    assert peaks[0] > peaks[1] > peaks[2] == 0.0
    assert peaks[0] < 260.0


def test_sensitive_neighbour_is_named() -> None:
    near = scene(9.0)
    notes = warm_findings(near, found(near))
    assert [n.message.slug for n in notes] == ["heat-warms-neighbour"]
    assert notes[0].refs == ("TO263", "CHIP")
    tough = scene(12.0, "resistor")
    assert warm_findings(tough, found(tough)) == ()


def test_tall_body_hides_low_joints_on_its_side_only() -> None:
    assert neighbourhoods(scene(5.5))["TO263"].hides == ("CHIP",)
    assert neighbourhoods(scene(5.5, side=Side.BOTTOM))["TO263"].hides == ()
    assert neighbourhoods(scene(9.0))["TO263"].hides == ()
    assert neighbourhoods(scene(5.5))["CHIP"].hides == ()


@pytest.mark.parametrize(
    ("x", "side", "zone"), [(5.0, Side.TOP, "1C"), (5.0, Side.BOTTOM, "6C"), (55.0, Side.TOP, "6C")]
)
def test_zone_as_seen_from_its_side(x: float, side: Side, zone: str) -> None:
    on = scene(5.0)
    moved = {"CHIP": Placement("CHIP", x, 20, 0, side, Where("p", 1))}
    on = dataclasses.replace(on, placements=on.placements | moved, pins={})
    assert neighbourhoods(on)["CHIP"].region == zone


def test_without_places_there_is_no_neighbourhood() -> None:
    assert neighbourhoods(board()) == {}
