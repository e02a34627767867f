"""Results that cross stages. A result is its own record keyed by ref; it never becomes a field of an input record."""

from dataclasses import dataclass, field
from typing import NamedTuple

from reworkkit.model.feeds import FurtherFeed
from reworkkit.model.measuring import Check
from reworkkit.model.messages import Finding, Message, NotJudged
from reworkkit.model.values import Band, Source, Where
from reworkkit.model.vocabulary import (
    AlertLevel,
    FacesBasis,
    HeatBasis,
    HeatClass,
    JointKind,
    PolarityVerdict,
    Side,
)

INNER = "~"
"""Nodes inside a part end in this sign: no probe reaches them."""


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
    """What the netlist, the list and the facts say electrically.

    The kinds of element, the order of their nodes and the names of their parameters are listed in `compute/circuit`.
    `bridges` are pairs of lands close enough for a solder bridge: (net, net, where).
    """

    nodes: tuple[str, ...]
    elements: tuple[Element, ...]
    ground: str | None
    not_judged: tuple[NotJudged, ...] = ()
    findings: tuple[Finding, ...] = ()
    bridges: tuple[tuple[str, str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Potential:
    """What a net can be at, and the chain it was derived from."""

    net: str
    band_v: Band | None
    derived_from: tuple[str, ...]
    why: Message


@dataclass(frozen=True, slots=True)
class End:
    """One net of a polarised part with the part itself taken out: what it can be at, and what stands behind it.

    `kind` is ground, rail, range, sign, made, both (alternating), derived or unknown; `low_v` and `high_v` are None
    where that end is open. `alive` is whether power reaches it or it is a rail that power may reach; `fed` the same
    with diodes left out, `may_be_fed` whether anything but a diode might feed it. `pulled_high` and `pulled_low` tell
    whether a path without resistance leads to a positive rail or to ground. `static` is a net that only resistors
    hold. `unknown` are the parts whose behaviour leaves the range open.
    """

    net: str
    low_v: float | None
    high_v: float | None
    kind: str
    why: Message
    derived_from: tuple[str, ...] = ()
    alive: bool = False
    fed: bool = False
    may_be_fed: bool = True
    fed_by_diodes: bool = False
    load: bool = False
    pulled_high: bool = False
    pulled_low: bool = False
    driven: bool = False
    static: bool = False
    unknown: tuple[str, ...] = ()
    between: tuple[str, ...] = ()
    """The nets at the far ends of the resistors that alone hold this one: it is between them."""
    from_other: bool = False
    """Whether power at another end of the part may come here without the part; told where nothing else may feed it."""
    maker: bool = False
    """Whether a regulator has its output here."""
    grounds: tuple[str, ...] = ()
    rails: tuple[tuple[str, float], ...] = ()
    """Which of them are ground, and which have a known voltage."""
    idle_low_v: float | None = None
    idle_high_v: float | None = None
    """What the board itself brings here, plugs taken as open; both None where that is not known."""
    store: bool = False
    """Whether a large or double layer capacitor is here, or behind one resistor."""
    plugs_only: bool = False
    """Whether nothing but plugs leaves the range open."""


@dataclass(frozen=True, slots=True)
class Potentials:
    """Potentials of all nets in natural order, and for each polarised part those of its nets without the part."""

    nets: tuple[Potential, ...]
    ends: dict[str, tuple[End, ...]]
    roles: dict[str, dict[str, str]] = field(default_factory=dict)
    """ref -> pin number -> role, where pin names, board.toml or the table of types tell it."""
    one_sided: bool = False
    """Whether nothing on the board tells of a net below ground or of alternating current."""


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
    lands: dict[str, tuple[str, str]] = field(default_factory=dict)
    """Role -> (pin number, net) where netlist and placement tell which land the notes mean."""
    findings: tuple[Finding, ...] = ()


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
    side: Side = Side.TOP
    """The side the part sits on; a plated hole is soldered from the other."""
    net: str | None = None
    second_edge_mm: float | None = None
    """Distance to the nearest edge at right angles to the first, for a corner."""
    row_count: int = 0
    """Like pins of the same net close by, and how far they are."""
    row_mm: float | None = None


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
    allowed_c: float | None = None
    """The hottest tip setting allowed here; never above 380."""
    recommended: SetUp | None = None
    """The set-up to start with, its setting in steps of 10; None where no iron at hand will do."""
    windows: tuple[tuple[SetUp, int, int], ...] = ()
    """Per set-up that works: lowest and highest setting, in steps of 10."""
    heats_in: tuple[Message, ...] = ()
    """How long the recommended set-up takes, as a band only: at best and at worst."""
    warms_mm_c: tuple[tuple[float, float], ...] = ()
    """(distance from the middle of the joint, temperature of the board there) at the end of the dwell."""
    sort_c: float | None = None
    """Setting the usual medium tip would need without preheat; for sorting only, may be above 380: never shown."""


@dataclass(frozen=True, slots=True)
class HeatExplanation:
    """Why one joint asks what it asks, for `heat REF --explain`.

    `budget_j` says where the heat goes when the joint is held at its temperature for the dwell; `shares_percent` how
    much of the range each unknown makes, largest first; `narrow` what would narrow it most; `curve_s_c` is (time,
    joint, hole end or joint) for `setup`.
    """

    joint: Joint
    demand: HeatDemand
    setup: SetUp
    budget_j: tuple[tuple[str, float], ...]
    shares_percent: tuple[tuple[str, float], ...]
    narrow: Message
    answer: str | None
    curve_s_c: tuple[tuple[float, float, float], ...]
    before: tuple[Band, ...] = ()
    """The range before what was measured, where a measured joint or a coupon is used."""


@dataclass(frozen=True, slots=True)
class MeasuredJoint:
    """What one measured joint changes: the line to write, and the range of that joint before and after it."""

    ref: str
    pin: str
    tip: str
    line: str
    before: Band
    after: Band


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
    cautions: "tuple[Alert, ...]" = ()
    """What a confirmation of this hold point confirms; kept in the record."""


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
    duration_s: float | None = None
    """Hand work, from a table of minutes; for `next --minutes`."""

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
    ring: tuple[tuple[str, str, str], ...] = ()
    """(before, after, slug of the constraint), closed: giving up any one resolves it."""
    rings: int = 1
    """How many like it were folded into this one."""


@dataclass(frozen=True, slots=True)
class Plan:
    """The work order. `id` is the hash of its operations."""

    id: str
    operations: tuple[Operation, ...]
    conflicts: tuple[Conflict, ...]
    not_judged: tuple[NotJudged, ...]
    optimality: Message
    findings: tuple[Finding, ...] = ()
    reasons: tuple[tuple[str, Message], ...] = ()
    """(ref, constraint kept) pairs, for `plan --why`."""


@dataclass(frozen=True, slots=True)
class HoldPoint:
    """One power-up stage with figures for one fitted set.

    `limit_a`: low = the most the parts should draw, nominal = what to set. `charge_s`: how long the supply stands on
    that limit while capacitors charge. `usual` maps a check to the band most boards lie in (root sum of squares): a
    reading outside it but inside the check's own band is a warning. `further`: the supplies beside the first one.
    `draws_unknown`: fitted parts whose current is in no figure; draw and charging are at least what is stated then.
    """

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
    supply_v: Band | None = None
    draw_a: Band | None = None
    usual: tuple[tuple[str, Band], ...] = ()
    to_do: tuple[Message, ...] = ()
    """What comes before power: parts still to fit, orientation to prove, open items to explain."""
    steps: tuple[Message, ...] = ()
    """How to power up, in order."""
    assumed: tuple[Message, ...] = ()
    findings: tuple[Finding, ...] = ()
    further: tuple[FurtherFeed, ...] = ()
    draws_unknown: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Symptom:
    """What a reading may mean: likely causes in order, and the measurement that separates them."""

    key: str
    reading: str
    likely: tuple[str, ...]
    separates: str
    source: Source
