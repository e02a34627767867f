"""One base exception. It carries a slug and facts; `show` turns them into a sentence with cause and cure."""

from reworkkit.model.messages import Fact, Message, message
from reworkkit.model.values import Where


class ReworkkitError(Exception):
    """Nothing was done: bad input, an unknown place or a refused step. The command line exits with 2."""

    def __init__(self, slug: str, /, *, where: tuple[Where, ...] = (), **facts: Fact | int | float) -> None:
        super().__init__(slug)
        self.message: Message = message(slug, **facts)
        self.where = where


class ProblemsError(ReworkkitError):
    """Several problems of one input, collected and shown together, each with its place."""

    def __init__(self, problems: tuple[ReworkkitError, ...]) -> None:
        super().__init__("several-problems", count=len(problems))
        self.problems = problems
