"""The routes of a survey: invariants on made boards and on the example boards."""

from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reworkkit.compute.survey_route import survey_routes
from reworkkit.model.board import Board
from reworkkit.model.netlist import Placement
from reworkkit.model.part import Part, PartIdentity, PartValue
from reworkkit.model.values import Where
from reworkkit.model.vocabulary import Fit, Side, YesNo
from reworkkit.read.folder import read_board
from tests.conftest import PROJECT

WHERE = Where("bom.csv", 1)
NOTHING = PartValue(None, None, None, None, None, "")
IDENTITY = PartIdentity("resistor", NOTHING, None, "", "", "", YesNo.NO, "r")


def board(placed, loose=(), not_parts=()):
    fits = {**dict.fromkeys([*placed, *loose], Fit.FIT), **dict.fromkeys(not_parts, Fit.NOT_A_PART)}
    parts = {ref: Part(ref, IDENTITY, fit, (), WHERE) for ref, fit in fits.items()}
    placements = {ref: Placement(ref, x, y, 0.0, side, WHERE) for ref, (x, y, side) in placed.items()}
    return Board("made", None, (), (), parts, placements)


def order(route):
    return [ref for region in route for ref in region.refs]


spots = st.tuples(
    st.floats(-50, 150, allow_nan=False), st.floats(-50, 150, allow_nan=False), st.sampled_from([Side.TOP, Side.BOTTOM])
)


@settings(max_examples=150, deadline=None)
@given(st.lists(spots, max_size=60), st.integers(0, 45), st.integers(0, 3))
def test_both_looks_meet_every_place_once_and_no_other(at, loose, not_parts):
    made = board(
        {f"R{n}": spot for n, spot in enumerate(at, 1)},
        [f"X{n}" for n in range(1, loose + 1)],
        [f"H{n}" for n in range(1, not_parts + 1)],
    )
    first, second = survey_routes(made)
    wanted = {ref for ref, part in made.parts.items() if part.fit is not Fit.NOT_A_PART}
    assert set(order(first)) == set(order(second)) == wanted
    assert len(order(first)) == len(order(second)) == len(wanted)


@settings(max_examples=100, deadline=None)
@given(st.lists(spots, min_size=1, max_size=40))
def test_a_region_lies_on_one_side_and_the_front_comes_first(at):
    made = board({f"R{n}": spot for n, spot in enumerate(at, 1)})
    first, _ = survey_routes(made)
    for region in first:
        assert {made.placements[ref].side for ref in region.refs} == {region.side}
    sides = [region.side for region in first]
    assert sides == sorted(sides, key=lambda side: side is Side.BOTTOM)


def test_the_back_is_read_as_it_is_seen_with_the_board_turned_over():
    """By hand: on the back what lies right on the board is seen at the left."""
    made = board({"R1": (0.0, 0.0, Side.BOTTOM), "R2": (90.0, 0.0, Side.BOTTOM)})
    first, second = survey_routes(made)
    assert order(first) == ["R2", "R1"]
    assert [region.across for region in first] == [0, 2]
    assert order(second) == ["R1", "R2"]


def test_a_side_is_read_like_a_page():
    """By hand: nine places, one in each third of a 90 mm square, numbered in reading order."""
    places = {f"R{n + 1}": (15.0 + 30 * (n % 3), 75.0 - 30 * (n // 3), Side.TOP) for n in range(9)}
    first, second = survey_routes(board(places))
    assert order(first) == [f"R{n}" for n in range(1, 10)]
    assert order(second) == ["R9", "R6", "R3", "R8", "R5", "R2", "R7", "R4", "R1"]


def test_without_positions_groups_of_the_list_and_then_backwards():
    made = board({}, [f"R{n}" for n in range(1, 46)])
    first, second = survey_routes(made)
    assert [len(region.refs) for region in first] == [20, 20, 5]
    assert order(first) == [f"R{n}" for n in range(1, 46)]
    assert order(second) == order(first)[::-1]


def test_places_that_were_worked_on_are_left_out():
    first, second = survey_routes(board({}, ["R1", "R2"]), {"R1"})
    assert order(first) == order(second) == ["R2"]


@pytest.mark.parametrize("name", ["greenhouse-valves", "magnet-clamp"])
def test_few_neighbours_stay_neighbours(name):
    """The second look must not be the first again: how many places have the same one before them both times."""
    first, second = (order(route) for route in survey_routes(read_board(Path(PROJECT, "example_boards", name))))
    before = set(pairwise(first))
    again = sum(pair in before for pair in pairwise(second))
    assert again <= len(first) * 0.15, "own choice; the first look against itself would be 1"
