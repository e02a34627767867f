"""`diff`: its sums hold for every situation, and nobody is told that something is missing when nobody has looked."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reworkkit.compute.difference import compare_with_list, status_of
from reworkkit.compute.situation import situation_of_files
from reworkkit.model.board import Board, FittedList, FoundState
from reworkkit.model.job import PlaceState, Situation
from reworkkit.model.values import Where
from reworkkit.model.vocabulary import Basis, DiffStatus, Fit, JointState, PartState, Place, WayRound
from tests.compute.work_order_boards import part

HERE = Where("fitted.csv", 1)


def a_board(fits: dict[str, Fit]) -> Board:
    return Board("b", None, (), (), {ref: part(ref, 0)._replace(fit=fit) for ref, fit in fits.items()})


states = st.builds(
    PlaceState,
    st.just("X"),
    place=st.sampled_from(Place),
    joint=st.sampled_from(JointState),
    part=st.sampled_from(PartState),
    way_round=st.sampled_from(WayRound),
)


@given(
    st.dictionaries(st.sampled_from([f"R{n}" for n in range(12)]), st.tuples(st.sampled_from(Fit), states)),
    st.lists(states, max_size=3),
)
def test_the_sums_hold(places: dict[str, tuple[Fit, PlaceState]], extra: list[PlaceState]) -> None:
    board = a_board({ref: fit for ref, (fit, _) in places.items()})
    found = {ref: replace(state, ref=ref) for ref, (_, state) in places.items()}
    found |= {f"Z{n}": replace(state, ref=f"Z{n}") for n, state in enumerate(extra)}
    difference = compare_with_list(board, Situation(1, Basis.FILES, None, found))
    counts = difference.counts
    assert counts.listed == counts.to_fit + counts.do_not_fit + counts.not_parts
    assert counts.to_fit == counts.fitted + counts.missing + counts.to_replace + counts.to_turn + counts.not_inspected
    assert {item.ref for item in difference.items} >= set(board.parts)
    assert len({item.ref for item in difference.items}) == len(difference.items)
    assert counts.unexpected == sum(item.status is DiffStatus.UNEXPECTED for item in difference.items)


@given(st.lists(st.sampled_from([f"R{n}" for n in range(20)]), unique=True))
def test_everything_fitted_leaves_nothing_missing(refs: list[str]) -> None:
    board = a_board(dict.fromkeys(refs, Fit.FIT))
    fitted = FittedList(
        tuple(FoundState(ref, "fitted", (("place", "fitted"),), "", None, HERE) for ref in refs), "empty", False
    )
    counts = compare_with_list(replace(board, fitted=fitted), situation_of_files(replace(board, fitted=fitted))).counts
    assert counts.missing == counts.not_inspected == 0
    assert counts.fitted == len(refs)


def test_nobody_has_looked_is_never_missing() -> None:
    board = a_board({"R1": Fit.FIT, "R2": Fit.DO_NOT_FIT})
    difference = compare_with_list(board, situation_of_files(board))
    assert difference.counts.missing == 0
    assert difference.counts.not_inspected == 1
    assert difference.not_judged


@pytest.mark.parametrize(
    ("state", "status"),
    [
        ({"place": Place.FITTED}, DiffStatus.FITTED),
        ({"place": Place.FITTED, "joint": JointState.TACKED}, DiffStatus.FITTED),
        ({"place": Place.FITTED, "joint": JointState.LEG_LIFTED}, DiffStatus.FITTED),
        ({"place": Place.EMPTY}, DiffStatus.MISSING),
        ({"place": Place.EMPTY, "part": PartState.REMOVED_ON_PURPOSE}, DiffStatus.MISSING),
        ({"place": Place.EMPTY, "part": PartState.TEMPORARY_LINK}, DiffStatus.MISSING),
        ({"place": Place.FITTED, "part": PartState.DAMAGED}, DiffStatus.TO_REPLACE),
        ({"place": Place.FITTED, "part": PartState.WRONG_PART}, DiffStatus.TO_REPLACE),
        ({"place": Place.FITTED, "way_round": WayRound.REVERSED}, DiffStatus.TO_TURN),
        ({"place": Place.NOT_INSPECTED}, DiffStatus.NOT_INSPECTED),
    ],
)
def test_states_count_as_the_table_of_states_says(state: dict[str, object], status: DiffStatus) -> None:
    assert status_of(part("R1", 0).fit, PlaceState("R1", **state)) is status  # type: ignore[arg-type]


def test_a_place_not_to_be_fitted_that_is_fitted_is_unexpected_and_still_counted_there() -> None:
    board = a_board({"R1": Fit.DO_NOT_FIT})
    difference = compare_with_list(board, Situation(1, Basis.FILES, None, {"R1": PlaceState("R1", place=Place.FITTED)}))
    assert difference.counts.do_not_fit == difference.counts.unexpected == 1


@pytest.mark.parametrize(
    ("others", "status"), [("empty", "missing"), ("fitted", "fitted"), ("not_inspected", "not_inspected")]
)
def test_places_that_the_fitted_list_does_not_name(others: str, status: str) -> None:
    board = replace(a_board({"R1": Fit.FIT}), fitted=FittedList((), others, True))
    assert getattr(compare_with_list(board, situation_of_files(board)).counts, status) == 1


def test_a_list_of_nothing_but_missing_places_is_asked_about() -> None:
    """Someone who writes down only what is missing does not mean that the rest is missing too."""
    board = a_board({"R1": Fit.FIT, "R2": Fit.FIT})
    gone = FoundState("R1", "missing", (("place", "empty"), ("joint", "none")), "", None, HERE)
    asked = replace(board, fitted=FittedList((gone,), "empty", False))
    assert [f.message.slug for f in compare_with_list(asked, situation_of_files(asked)).findings] == [
        "only-missing-named"
    ]
    told = replace(board, fitted=FittedList((gone,), "fitted", True))
    assert compare_with_list(told, situation_of_files(told)).findings == ()


def test_unlisted_places_of_a_job_are_one_finding() -> None:
    there = {ref: PlaceState(ref, place=Place.FITTED) for ref in ("Z1", "Z2")}
    found = compare_with_list(a_board({"R1": Fit.FIT}), Situation(1, Basis.JOB, 7, there)).findings
    assert [(f.message.slug, f.refs) for f in found] == [("fitted-but-not-listed", ("Z1", "Z2"))]
