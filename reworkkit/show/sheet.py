"""The bench sheet as plain data: everything the page shows, in words and drawing numbers, ready for the template."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from reworkkit.show.drawings import Picture

if TYPE_CHECKING:
    from reworkkit.show.diagnose_sheet import DiagnosisCard
    from reworkkit.show.live_sheet import LiveSheet


class AlertLine(NamedTuple):
    """WARNING (someone can be hurt) or CAUTION (the board can be damaged), in words; `level` is the enum value."""

    level: str
    word: str
    text: str


class Spot(NamedTuple):
    """Where a part sits: zone in words, the side's key, and its middle in the drawing of that side (millimetres)."""

    side: str
    zone: str
    words: str
    x_mm: float
    y_mm: float
    region: str


class Line(NamedTuple):
    """One line about a part; `look` is a style name of the page: plain, rule, doubt, ask."""

    text: str
    look: str


class MeterLine(NamedTuple):
    """One probe: where, what the meter is set to, what to expect, both ways; a blank for what it showed."""

    key: str
    point: str
    mode: str
    mode_words: str
    expect: str
    swapped: str
    why: str
    hold_point: str
    rule: str
    """What the page's script judges by: JSON with expect and swapped, each null, a form, or low, high and unit."""
    in_job: str = ""
    """The newest reading that the job has of it, in words."""
    outside: bool = False


class Edge(NamedTuple):
    """One letter, figure or sign in a drawing or along its edge."""

    x_mm: float
    y_mm: float
    text: str


class Way(NamedTuple):
    """A part as it must lie on its lands: its picture turned about the middle, and the names of its ends."""

    picture: str
    box: str
    """View box, the middle of the part at 0, 0."""
    x: float
    y: float
    width: float
    height: float
    turn_deg: int
    letter: float
    ends: tuple[Edge, ...]


class Step(NamedTuple):
    """One tick of the work order: operation kind and subject are its stable key."""

    key: str
    kind: str
    subject: str
    title: str
    what: str
    done: bool
    value: str
    package: str
    marking: str
    spot: Spot | None
    no_spot: str
    picture: str
    picture_words: str
    way: Way | None
    facing: tuple[Line, ...]
    heat: tuple[Line, ...]
    alerts: tuple[AlertLine, ...]
    checks: tuple[MeterLine, ...]


class Pick(NamedTuple):
    """One row of what to lay out: parts that are the same, how many, what they are, what is printed on them."""

    refs: str
    pieces: int
    value: str
    package: str
    part_number: str
    marking: str


class Dial(NamedTuple):
    """One thing to set before the operation: its name and setting."""

    name: str
    setting: str


class HoldCard(NamedTuple):
    """One hold point: what it needs and protects, its figures where they are known, and the blanks."""

    key: str
    name: str
    facts: tuple[Dial, ...]
    needs: str
    protects: str
    unpowered: tuple[MeterLine, ...]
    powered: tuple[MeterLine, ...]
    stop: tuple[str, ...]
    alerts: tuple[AlertLine, ...]
    open_questions: tuple[str, ...]
    figures: bool
    steps: tuple[str, ...] = ()
    to_do: tuple[str, ...] = ()
    passed: bool = False
    """Open in the job: the work may go on."""


class OperationCard(NamedTuple):
    """One operation: number, heading, set-up, why here, alerts, what to lay out, steps, hold points after it."""

    key: str
    number: int
    kind: str
    kind_words: str
    title: str
    refs: str
    group: str
    dials: tuple[Dial, ...]
    why: tuple[str, ...]
    alerts: tuple[AlertLine, ...]
    common: tuple[Line, ...]
    """What holds for every step of the operation, said once."""
    picks: tuple[Pick, ...]
    steps: tuple[Step, ...]
    sides: tuple[tuple[str, tuple[Spot, ...]], ...]
    holds: tuple[HoldCard, ...]


class Stretch(NamedTuple):
    """A run of operations under one heading: the words, its first operation's key, and the numbers."""

    words: str
    key: str
    numbers: str


class PlaceRow(NamedTuple):
    """One place of the board: the row of the table beside the drawing, and of the survey."""

    ref: str
    key: str
    value: str
    package: str
    status: str
    status_words: str
    zone: str
    side_words: str


class Region(NamedTuple):
    """The places of one region of one side, in natural order."""

    key: str
    words: str
    rows: tuple[PlaceRow, ...]


class BoardPart(NamedTuple):
    """One part in the drawing of a side: its outline as path text and its status."""

    ref: str
    path: str
    status: str


class BoardView(NamedTuple):
    """One side of the board as seen by a person looking at it; y points down, origin at the upper left."""

    side: str
    words: str
    width_mm: float
    height_mm: float
    box: str
    """View box of the whole drawing with its zone figures and letters."""
    outline: str
    grid: str
    edges: tuple[Edge, ...]
    parts: tuple[BoardPart, ...]
    letter_mm: float
    spot_mm: float
    here_mm: float
    crowded: bool
    """Too many parts to be drawn again at every operation: there the outline and the marks must do."""


class Count(NamedTuple):
    """One sum of the summary; `look` is the status it counts."""

    words: str
    places: int
    look: str


class FindingLine(NamedTuple):
    """One finding: how much it matters, in words, where it stands, what to do."""

    severity: str
    word: str
    text: str
    where: str
    cure: str


class OpenQuestion(NamedTuple):
    """One cause for which things were not judged: about what, why, and the lines that would answer it."""

    question: str
    about: str
    because: str
    answers: tuple[str, ...]


class WayOut(NamedTuple):
    """One way out of a conflict, its price, and whether it is the one recommended."""

    text: str
    price: str
    recommended: bool


class ConflictCard(NamedTuple):
    """Constraints that cannot all hold, and the ways out."""

    constraints: tuple[str, ...]
    operations: str
    ways_out: tuple[WayOut, ...]


class SheetFile(NamedTuple):
    """One file the sheet was made from, the start of its SHA-256, and what reading it assumed."""

    name: str
    role: str
    digest: str
    assumed: tuple[str, ...]


class SurveyWord(NamedTuple):
    """One answer of the survey: word of the fitted list, label, key, and the facets it sets."""

    state: str
    words: str
    key: str
    facets: tuple[tuple[str, str], ...]


class FunctionRow(NamedTuple):
    """One input or output to try: where, what to do and see, how to measure, what to expect."""

    point: str
    what: str
    mode: str
    expect: str


class FunctionCard(NamedTuple):
    """Inputs or outputs of the functional test."""

    key: str
    title: str
    alerts: tuple[AlertLine, ...]
    rows: tuple[FunctionRow, ...]


@dataclass(frozen=True, slots=True)
class Sheet:
    """All the page shows. Same inputs, events, version and language: equal sheets, same bytes."""

    language: str
    version: str
    name: str
    revision: str
    copy: int
    job_id: str
    at_event: int
    board_id: str
    plan_id: str
    basis: str
    looked: bool
    counts: tuple[Count, ...]
    files: tuple[SheetFile, ...]
    alerts: tuple[AlertLine, ...]
    findings: tuple[FindingLine, ...]
    conflicts: tuple[ConflictCard, ...]
    in_hand: OperationCard | None
    route: tuple[Stretch, ...]
    operations: tuple[OperationCard, ...]
    holds: tuple[HoldCard, ...]
    optimality: str
    regions: tuple[Region, ...]
    views: tuple[BoardView, ...]
    legend: tuple[tuple[str, str], ...]
    not_judged: tuple[OpenQuestion, ...]
    pictures: tuple[tuple[str, Picture], ...]
    script_texts: tuple[tuple[str, str], ...]
    state_words: tuple[SurveyWord, ...]
    live: "LiveSheet | None" = None
    functional: tuple[FunctionCard, ...] = ()
    goods_in: FunctionCard | None = None
    diagnosis: "DiagnosisCard | None" = None
