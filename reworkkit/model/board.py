"""The design of one board, as read, and the mirror between its two sides."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from reworkkit.model.facts import BoardFacts
from reworkkit.model.messages import Finding, Message, NotJudged
from reworkkit.model.netlist import Net, Pin, Placement
from reworkkit.model.part import Part, PartLine
from reworkkit.model.values import Quantity, Where
from reworkkit.model.vocabulary import Side


@dataclass(frozen=True, slots=True)
class InputFile:
    """One file that was read; `role` is parts, fitted, placement, netlist, facts, bench, candidates, ..."""

    name: str
    role: str
    sha256: str
    size: int
    assumed: tuple[Message, ...] = ()


@dataclass(frozen=True, slots=True)
class Candidate:
    """A part considered as a substitute; `figures` maps a parameter in trade terms to its value."""

    part_number: str
    fits: tuple[str, ...]
    kind: str
    figures: dict[str, Quantity | str]
    price: str | None
    stock: str | None
    where: Where
    kind_text: str = ""
    """The kind in the words of the file, once `kind` is the key of the table."""


@dataclass(frozen=True, slots=True)
class FoundState:
    """One statement of the fitted list: a place, the facets its word sets as (facet, value) pairs, and a remark."""

    ref: str
    word: str
    facets: tuple[tuple[str, str], ...]
    note: str
    copy: int | None
    where: Where


@dataclass(frozen=True, slots=True)
class FittedList:
    """The fitted list: statements in order, and what holds for places it does not name.

    `others` is `empty` (the rule when nothing is said), `fitted` or `not_inspected`.
    """

    states: tuple[FoundState, ...]
    others: str
    others_stated: bool


@dataclass(frozen=True, slots=True)
class Board:
    """One design: the files, the rows of its list, its places, copper and the person's facts."""

    name: str
    revision: str | None
    files: tuple[InputFile, ...]
    lines: tuple[PartLine, ...]
    parts: dict[str, Part]
    """By designator, in natural order."""
    placements: dict[str, Placement] = field(default_factory=dict)
    pins: dict[tuple[str, str], Pin] = field(default_factory=dict)
    nets: dict[str, Net] = field(default_factory=dict)
    outline: tuple[tuple[float, float], ...] = ()
    facts: BoardFacts = field(default_factory=BoardFacts)
    candidates: tuple[Candidate, ...] = ()
    own_tables: Mapping[str, tuple[dict[str, str], ...]] = field(default_factory=dict)
    """Rows of the folder `tables/` of the board, by table: they win over the shipped ones."""
    fitted: FittedList | None = None
    findings: tuple[Finding, ...] = ()
    not_judged: tuple[NotJudged, ...] = ()


def seen_from(side: Side, x_mm: float, y_mm: float) -> tuple[float, float]:
    """Return a position as seen by a person looking at `side`, the board turned over like a page.

    This is the only mirror in the project.

    >>> seen_from(Side.TOP, 3.0, 4.0), seen_from(Side.BOTTOM, 3.0, 4.0)
    ((3.0, 4.0), (-3.0, 4.0))
    """
    return (-x_mm, y_mm) if side is Side.BOTTOM else (x_mm, y_mm)
