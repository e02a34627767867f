"""What the work order is made of before it has an order: pieces of work and the constraints between them."""

from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple

from reworkkit.model.messages import Message
from reworkkit.model.results import SetUp

WASH = "wash"
"""Key of the piece of work that washes the board."""


class WorkKind(StrEnum):
    """Kinds of a piece of work; each is written out later as one or more operations."""

    OFF = "off"
    ON = "on"
    BOLT = "bolt"
    HOLD = "hold"
    PROGRAM = "program"
    WASH = "wash"
    LEVEL = "level"
    """No work: a height that separates lower from higher parts."""


class Piece(NamedTuple):
    """One piece of work that is never split: its key, kind, subjects, set-up, and where it stands among equals."""

    key: str
    kind: WorkKind
    refs: tuple[str, ...]
    setup: SetUp
    rank: tuple[float, ...]


class Edge(NamedTuple):
    """`before` must be done before `after`, because of the constraint `slug`."""

    before: str
    after: str
    slug: str
    why: Message


@dataclass(frozen=True, slots=True)
class Constraint:
    """A row of tables/order_constraints.csv: how dear it is to give up, and whether that is allowed at all."""

    slug: str
    weight: float
    floor: bool


def on(ref: str) -> str:
    """Return the key of putting a part on."""
    return f"on:{ref}"


def off(ref: str) -> str:
    """Return the key of taking a part off."""
    return f"off:{ref}"


def hold(name: str) -> str:
    """Return the key of a hold point."""
    return f"hold:{name}"
