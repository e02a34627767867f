"""The example board: the order wanted by common practice comes out of the figures."""

import pytest

from reworkkit.compute.heat_demand import explain, heat_demand, heaviest
from reworkkit.compute.joints import find_joints
from reworkkit.read.folder import read_board


@pytest.fixture
def board(example_board):
    return read_board(example_board("greenhouse-valves"))


def test_small_ics_before_large_tabs(board) -> None:
    """Common practice, no source: ICs with fine pins early, tabs on planes last."""
    found = heaviest(heat_demand(board, find_joints(board), board.facts.bench))
    needs = {ref: demand.sort_c for ref, demand in found.items()}
    small_ics, tabs = ("U3", "U4", "D4"), ("Q1", "Q2", "Q3", "Q4", "U1")
    assert max(needs[ref] for ref in small_ics) < min(needs[ref] for ref in tabs)
    resistors = [needs[ref] for ref in needs if ref.startswith("R")]
    assert max(resistors) < min(needs[ref] for ref in tabs)
    assert sorted(needs, key=lambda ref: needs[ref])[-5:] == sorted(tabs, key=lambda ref: needs[ref])
    assert needs["U2"] < needs["Q1"]


def test_the_tab_that_is_told_to_be_solid_is_explained(board) -> None:
    told = explain(board, find_joints(board), board.facts.bench, "Q1")
    assert told[0].joint.pin == "2"
    assert told[0].joint.basis == "your line"
    assert told[0].budget_j[2][1] > told[0].budget_j[0][1]  # the board takes more than the tab
