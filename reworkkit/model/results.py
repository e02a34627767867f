"""Results that cross stages. A result is its own record keyed by ref; it never becomes a field of an input record."""

from dataclasses import dataclass
from typing import NamedTuple

from reworkkit.model.measuring import Check
from reworkkit.model.messages import Finding, Message, NotJudged
from reworkkit.model.values import Band, Source, Where
from reworkkit.model.vocabulary import (
    AlertLevel,
    DiffStatus,
    FacesBasis,
    HeatBasis,
    HeatClass,
    JointKind,
    PolarityVerdict,
)


class DifferenceItem(NamedTuple):
    """One place of `diff`: value and package as written."""

    ref: str
    status: DiffStatus
    value: str
    package: str
    part_number: str
    file: str
    line: int
    note: str


class Counts(NamedTuple):
    """The sums of `diff`; listed = to_fit + do_not_fit + not_parts."""

    listed: int
    to_fit: int
    do_not_fit: int
    not_parts: int
    fitted: int
    missing: int
    to_replace: int
    to_turn: int
    not_inspected: int
    unexpected: int


@dataclass(frozen=True, slots=True)
class Difference:
    """What is missing, to replace, to turn, not inspected, unexpected."""

    counts: Counts
    items: tuple[DifferenceItem, ...]
    findings: tuple[Finding, ...]
    not_judged: tuple[NotJudged, ...]


@dataclass(frozen=True, slots=True)
class Element:
    """One element of a circuit; `nodes` in the order its kind defines, `parameters` by name."""

    kind: str
    ref: str
    nodes: tuple[str, ...]
    parameters: dict[str, Band]
    assumed: tuple[Message, ...] = ()


@dataclass(frozen=True, slots=True)
class Circuit:
    """What the netlist, the list and the facts say electrically."""

    nodes: tuple[str, ...]
    elements: tuple[Element, ...]
    ground: str | None
    not_judged: tuple[NotJudged, ...] = ()


@dataclass(frozen=True, slots=True)
class Potential:
    """What a net can be at, and the chain it was derived from."""

    net: str
    band_v: Band | None
    derived_from: tuple[str, ...]
    why: Message


@dataclass(frozen=True, slots=True)
class PolarityMark:
    """What the mark of a part's construction means: the sign, the terminal it shows, and on whose authority."""

    construction: str
    mark: str
    terminal: str
    reliable: bool
    source: Source


@dataclass(frozen=True, slots=True)
class OrientationVerdict:
    """One polarised part: what the circuit needs, how it faces, and whether the two agree.

    `needs` maps a role (`anode`, `plus`, `pin_1`) to (pin, net); `faces` maps a role to the thing its mark is
    towards. `mark` is None where the construction is not known.
    """

    ref: str
    kind: str
    needs: dict[str, tuple[str, str]]
    faces: dict[str, str]
    faces_basis: FacesBasis
    verdict: PolarityVerdict
    why: Message
    mark: PolarityMark | None = None
    note: str = ""
    where: Where | None = None
    question: NotJudged | None = None
    checks: tuple[Check, ...] = ()


class SetUp(NamedTuple):
    """What must be set before a run of like operations; a change of any of these costs time."""

    tool: str = ""
    tip: str = ""
    setting_c: int | None = None
    preheat_c: int | None = None
    side: str = ""
    strap: bool = True


@dataclass(frozen=True, slots=True)
class Joint:
    """The copper and metal at one pin."""

    ref: str
    pin: str
    kind: JointKind
    area_mm2: float
    hole_mm: float | None
    lead_mm2: float | None
    planes: tuple[tuple[str, float, str], ...]
    """(layer, equivalent radius in mm, relief) per connected layer."""
    edge_mm: float | None
    vias: int
    basis: str
    assumed: tuple[Message, ...] = ()


@dataclass(frozen=True, slots=True)
class HeatDemand:
    """What a joint asks of the iron. From the class of its kind: only `heat_class` and `reachable` are filled."""

    ref: str
    pin: str | None
    dwell_s: float | None
    settings: tuple[tuple[SetUp, Band], ...]
    energy_j: float | None
    hold_w: float | None
    heat_class: HeatClass
    reachable: bool | None
    remedy: Message | None
    basis: HeatBasis
    assumed: tuple[Message, ...] = ()


@dataclass(frozen=True, slots=True)
class Neighbourhood:
    """What stands near a part: what gets hot with it, what it hides, and its region of the board."""

    ref: str
    hot: tuple[tuple[str, float], ...]
    hides: tuple[str, ...]
    region: str


@dataclass(frozen=True, slots=True)
class HoldOutline:
    """Which parts a hold point needs and protects; no figures, no order."""

    name: str
    supply: str | None
    feed: str | None
    limit: Band | None
    needs: tuple[str, ...]
    protects: tuple[str, ...]
    measure: tuple[str, ...]
    confirm: bool
    source: Source | None = None


Alert = tuple[AlertLevel, Message]


@dataclass(frozen=True, slots=True)
class Operation:
    """One operation of the work order: a kind, its subjects, the set-up, why here, and what must come before."""

    n: int
    kind: str
    refs: tuple[str, ...]
    setup: SetUp
    why: tuple[Message, ...]
    after: tuple[int, ...]
    hold_point: str | None
    alerts: tuple[Alert, ...]
    title: Message
    group: str
    """Slug of the group heading, so that terminal and page can show groups."""

    @property
    def steps(self) -> tuple[tuple[str, str], ...]:
        """Return the stable keys (kind, subject) of this operation's ticks."""
        return tuple((self.kind, ref) for ref in self.refs)


@dataclass(frozen=True, slots=True)
class Conflict:
    """Two constraints that cannot both hold, the ways out with their price, and the one recommended."""

    constraints: tuple[Message, ...]
    operations: tuple[int, ...]
    ways_out: tuple[tuple[Message, Message], ...]
    recommended: int


@dataclass(frozen=True, slots=True)
class Plan:
    """The work order. `id` is the hash of its operations."""

    id: str
    operations: tuple[Operation, ...]
    conflicts: tuple[Conflict, ...]
    not_judged: tuple[NotJudged, ...]
    optimality: Message
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True)
class HoldPoint:
    """One power-up stage with figures for one fitted set."""

    outline: HoldOutline
    fitted: frozenset[str]
    fitted_digest: str
    unpowered: tuple[Check, ...]
    limit_a: Band | None
    charge_s: Band | None
    powered: tuple[Check, ...]
    stop: tuple[Message, ...]
    cautions: tuple[Alert, ...]
    not_judged: tuple[NotJudged, ...]
