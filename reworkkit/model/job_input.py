"""What a job is begun or refreshed with: plain records of the design, the plan and the inputs, computed elsewhere."""

from collections.abc import Iterable
from typing import TYPE_CHECKING, NamedTuple

from reworkkit.model.designator import natural_key

if TYPE_CHECKING:
    from reworkkit.model.board import InputFile
    from reworkkit.model.job import PlaceState
    from reworkkit.model.measuring import Check, Reading
    from reworkkit.model.results import HoldOutline, HoldPoint, Operation


class JobPlace(NamedTuple):
    """One place of the design as the job remembers it; `fit` and `polarised` hold the words of the vocabulary."""

    ref: str
    kind: str = "unknown"
    polarised: str = "unknown"
    value: str = ""
    package: str = ""
    part_number: str = ""
    fit: str = "fit"


class CopyPlan(NamedTuple):
    """The work order of one physical board; `copy` 0 stands for every copy that has no plan of its own."""

    copy: int
    plan_id: str
    operations: "tuple[Operation, ...]"


class FoundCopy(NamedTuple):
    """How one physical board was found; `copy` 0 stands for every copy that is not named."""

    copy: int
    states: "tuple[PlaceState, ...]"


class BeginInput(NamedTuple):
    """Everything a job stores when it begins, and again when its inputs are read anew.

    `points` are the names a reading may use (nets and named points); empty means that any name is taken.
    `readings` are rows of readings.csv with their copy (0 = every copy). `alloy_*` are words of board.toml.
    """

    board_id: str
    board_name: str
    revision: str
    parts_file: str
    copies: int
    places: tuple[JobPlace, ...]
    plans: tuple[CopyPlan, ...]
    found: tuple[FoundCopy, ...] = ()
    outlines: "tuple[HoldOutline, ...]" = ()
    hold_points: "tuple[HoldPoint, ...]" = ()
    checks: "tuple[Check, ...]" = ()
    inputs: "tuple[InputFile, ...]" = ()
    readings: "tuple[tuple[int, Reading], ...]" = ()
    points: tuple[str, ...] = ()
    alloy_found: str = ""
    alloy_used: str = ""
    serials: tuple[str, ...] = ()
    aliases: tuple[tuple[str, str], ...] = ()
    """Name of a test point and the net or pin it stands for; of a ground net and nothing."""


def board_id_of(name: str, refs: Iterable[str]) -> str:
    """Return what a board is known by before it has a job: a hash of the design's name and its designators.

    >>> board_id_of("valves", ["R2", "R1"]) == board_id_of("valves", ["R1", "R2"])
    True
    """
    import hashlib

    text = "\n".join([name, *sorted(set(refs), key=natural_key)])
    return hashlib.sha256(text.encode()).hexdigest()[:16]
