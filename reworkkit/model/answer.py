"""An answer: a result with the board and the situation it holds for."""

from typing import Generic, NamedTuple, TypeVar

from reworkkit.model.board import Board
from reworkkit.model.job import Situation

Result = TypeVar("Result", covariant=True)


class Answer(NamedTuple, Generic[Result]):
    """A result together with the board and the situation it holds for."""

    board: Board
    situation: Situation
    result: Result
