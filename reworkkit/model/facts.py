"""What the person knows and no file says: the records of board.toml and bench.toml.

Every key is optional. A field holding a `Quantity` states in its comment which unit it must carry; the reader
checks it. `lines` maps a dotted path of the file to its line, so that every answer can say which line it hangs on.
"""

from dataclasses import dataclass, field

from reworkkit.model.values import Quantity


@dataclass(frozen=True, slots=True)
class FilesFacts:
    """[files]: which file is what, and answers about reading them."""

    parts: str | None = None
    fitted: str | None = None
    placement: tuple[str, ...] = ()
    netlist: str | None = None
    candidates: str | None = None
    readings: str | None = None
    stock: str | None = None
    columns: dict[str, str] = field(default_factory=dict)
    encoding: str | None = None
    variant: str | None = None
    units: str | None = None


@dataclass(frozen=True, slots=True)
class LaminateFacts:
    """[board]: the bare board."""

    layers: int | None = None
    thickness: Quantity | None = None  # mm
    outer_copper: Quantity | None = None  # oz
    inner_copper: Quantity | None = None  # oz
    size: tuple[Quantity, Quantity] | None = None  # mm
    alloy_found: str | None = None
    alloy_used: str | None = None
    ground: tuple[str, ...] = ()
    planes: dict[str, tuple[str, ...]] = field(default_factory=dict)
    relief: str | None = None
    coating: str | None = None


@dataclass(frozen=True, slots=True)
class SupplyFacts:
    """[supplies] net: where power comes in."""

    volts: Quantity | None = None  # V
    limit: Quantity | None = None  # A
    tolerance: Quantity | None = None  # %
    at: str | None = None


@dataclass(frozen=True, slots=True)
class RailFacts:
    """[rails] net: what a rail must measure."""

    volts: Quantity | None = None  # V
    tolerance: Quantity | None = None  # %
    made_by: str | None = None
    at: str | None = None


@dataclass(frozen=True, slots=True)
class LoadFacts:
    """[loads] net: what hangs on a rail."""

    amps: Quantity | None = None  # A
    tolerance: Quantity | None = None  # %
    from_volts: Quantity | None = None  # V
    part: str | None = None


@dataclass(frozen=True, slots=True)
class NetRange:
    """[nets] net: what a net may be at, where it is no rail."""

    low: Quantity | None = None  # V
    high: Quantity | None = None  # V


@dataclass(frozen=True, slots=True)
class PinJointFacts:
    """[parts] ref joints pin: what the copper round one pin is like."""

    planes: tuple[str, ...] = ()
    relief: str | None = None
    edge: Quantity | None = None  # mm
    vias: int | None = None


@dataclass(frozen=True, slots=True)
class PartFacts:
    """[parts] ref: what the papers do not say of one part."""

    kind: str | None = None
    package: str | None = None
    faces: str | None = None
    role: str | None = None
    pins: dict[str, str] = field(default_factory=dict)
    volts: Quantity | None = None  # V
    amps: Quantity | None = None  # A
    watts: Quantity | None = None  # W
    forward: Quantity | None = None  # V
    out: Quantity | None = None  # V
    dropout: Quantity | None = None  # V
    quiescent: Quantity | None = None  # A
    height: Quantity | None = None  # mm
    body_limit: Quantity | None = None  # C
    moisture: str | None = None
    heat_sensitive: bool | None = None
    dear: bool | None = None
    rare: bool | None = None
    joints: dict[str, PinJointFacts] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class HoldPointFacts:
    """[[hold_points]]: stop here, power up, measure."""

    name: str
    supply: str | None = None
    feed: str | None = None
    limit: Quantity | None = None  # A
    needs: tuple[str, ...] = ()
    before: tuple[str, ...] = ()
    measure: tuple[str, ...] = ()
    confirm: bool = False


@dataclass(frozen=True, slots=True)
class FastenFacts:
    """[[fasten]]: parts that are bolted or clipped."""

    parts: tuple[str, ...] = ()
    to: str | None = None
    before_soldering: bool = False
    torque: Quantity | None = None  # N m
    insulated: bool = False


@dataclass(frozen=True, slots=True)
class ProgramFacts:
    """[[program]]: parts that get firmware."""

    part: str
    at: str | None = None
    after_hold_point: str | None = None
    identity: str | None = None


@dataclass(frozen=True, slots=True)
class OrderFacts:
    """[order]: the person's own rules, allowed dwell times, constraints switched off by slug."""

    rules: tuple[str, ...] = ()
    dwell_lead: Quantity | None = None  # s
    dwell_tab: Quantity | None = None  # s
    dwell_hole: Quantity | None = None  # s
    without: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class SignalFacts:
    """[inputs] and [outputs] name: where it is and what it does."""

    at: str | None = None
    does: str | None = None


@dataclass(frozen=True, slots=True)
class LiveFacts:
    """[live]: the first run at high energy."""

    net: str | None = None
    volts: Quantity | None = None  # V
    capacitance: Quantity | None = None  # F
    load: str | None = None
    watts: Quantity | None = None  # W
    precharge: Quantity | None = None  # ohm
    bleeder: Quantity | None = None  # ohm


@dataclass(frozen=True, slots=True)
class TipFacts:
    """[bench] tips name: one soldering tip."""

    size: str | None = None
    width: Quantity | None = None  # mm
    slip_on: bool | None = None
    power: Quantity | None = None  # W
    coupon: Quantity | None = None  # s


@dataclass(frozen=True, slots=True)
class MeterFacts:
    """[bench] meter: the multimeter."""

    volts: str | None = None
    ohms: str | None = None
    amps: str | None = None
    red_is_plus_in_ohms: bool | None = None
    red_is_plus_in_diode: bool | None = None
    diode_test_limit: Quantity | None = None  # V


@dataclass(frozen=True, slots=True)
class BenchFacts:
    """[bench], or bench.toml: what stands on the bench."""

    tips: dict[str, TipFacts] = field(default_factory=dict)
    preheat: Quantity | None = None  # C
    hot_air: bool | None = None
    meter: MeterFacts = field(default_factory=MeterFacts)
    supply_volts: Quantity | None = None  # V
    supply_amps: Quantity | None = None  # A
    supply_accuracy: str | None = None


@dataclass(frozen=True, slots=True)
class BoardFacts:
    """All of board.toml, with bench.toml folded in."""

    format: int = 1
    name: str | None = None
    revision: str | None = None
    files: FilesFacts = field(default_factory=FilesFacts)
    board: LaminateFacts = field(default_factory=LaminateFacts)
    supplies: dict[str, SupplyFacts] = field(default_factory=dict)
    rails: dict[str, RailFacts] = field(default_factory=dict)
    loads: dict[str, LoadFacts] = field(default_factory=dict)
    nets: dict[str, NetRange] = field(default_factory=dict)
    points: dict[str, str] = field(default_factory=dict)
    parts: dict[str, PartFacts] = field(default_factory=dict)
    hold_points: tuple[HoldPointFacts, ...] = ()
    fasten: tuple[FastenFacts, ...] = ()
    program: tuple[ProgramFacts, ...] = ()
    order: OrderFacts = field(default_factory=OrderFacts)
    inputs: dict[str, SignalFacts] = field(default_factory=dict)
    outputs: dict[str, SignalFacts] = field(default_factory=dict)
    live: LiveFacts | None = None
    bench: BenchFacts = field(default_factory=BenchFacts)
    lines: dict[str, int] = field(default_factory=dict)
