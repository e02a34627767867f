"""The polarity test boards are consistent in themselves: an independent check of the data, not of the tool."""

import pytest

from tests.polarity_boards.check_truth import boards, counts, problems


@pytest.mark.parametrize("board", boards(), ids=lambda board: board.path.name if hasattr(board, "path") else str(board))
def test_the_truth_of_each_board_is_consistent(board) -> None:  # type: ignore[no-untyped-def]
    assert not problems(board)


def test_there_are_enough_of_them() -> None:
    assert len(boards()) >= 15
    assert sum(counts(board)[0] for board in boards()) >= 250
