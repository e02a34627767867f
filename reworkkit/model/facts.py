"""What the person knows and no file says: the records of board.toml and bench.toml.

Every key is optional. A field that holds a quantity is annotated with the unit it must carry and an example
(`Volts`, `Millimetres` ...). `lines` maps a dotted path of the file to its line, so that every answer can say which
line it hangs on.
"""

from dataclasses import dataclass, field
from typing import Annotated, ClassVar

from reworkkit.model.dimension import Dimension, WholeNumber
from reworkkit.model.values import Quantity, Where

Volts = Annotated[Quantity, Dimension("V", "12 V")]
Amps = Annotated[Quantity, Dimension("A", "0.5 A")]
Watts = Annotated[Quantity, Dimension("W", "150 W")]
Ohms = Annotated[Quantity, Dimension("ohm", "470 ohm")]
Farads = Annotated[Quantity, Dimension("F", "2 mF")]
Joules = Annotated[Quantity, Dimension("J", "50 J")]
Percent = Annotated[Quantity, Dimension("%", "3 %")]
Millimetres = Annotated[Quantity, Dimension("mm", "1.6 mm")]
Ounces = Annotated[Quantity, Dimension("oz", "1 oz")]
Celsius = Annotated[Quantity, Dimension("C", "245 \u00b0C")]
Seconds = Annotated[Quantity, Dimension("s", "3 s")]
NewtonMetres = Annotated[Quantity, Dimension("N m", "0.6 N m")]
Count = Annotated[int, WholeNumber()]


class Table:
    """What every table of the file has in common: keys that are not fields are refused."""

    __slots__ = ()
    __pydantic_config__: ClassVar[dict[str, str]] = {"extra": "forbid"}


@dataclass(frozen=True, slots=True)
class FilesFacts(Table):
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
class LaminateFacts(Table):
    """[board]: the bare board."""

    layers: Count | None = None
    thickness: Millimetres | None = None
    outer_copper: Ounces | None = None
    inner_copper: Ounces | None = None
    size: tuple[Millimetres, Millimetres] | None = None
    alloy_found: str | None = None
    alloy_used: str | None = None
    ground: tuple[str, ...] = ()
    planes: dict[str, tuple[str, ...]] = field(default_factory=dict)
    relief: str | None = None
    coating: str | None = None


@dataclass(frozen=True, slots=True)
class SupplyFacts(Table):
    """[supplies] net: where power comes in; `what` is what is said of it besides, in the owner's words."""

    volts: Volts | None = None
    limit: Amps | None = None
    tolerance: Percent | None = None
    at: str | None = None
    what: str | None = None


@dataclass(frozen=True, slots=True)
class RailFacts(Table):
    """[rails] net: what a rail must measure; `what` is what is said of it besides, in the owner's words."""

    volts: Volts | None = None
    tolerance: Percent | None = None
    made_by: str | None = None
    at: str | None = None
    what: str | None = None


@dataclass(frozen=True, slots=True)
class LoadFacts(Table):
    """[loads] net: what hangs on a rail: amps, or ohms where it draws by its voltage, or watts at `volts` or the net's.

    Watts beside ohms are what it stands; `what` is what it is in the owner's words.
    """

    amps: Amps | None = None
    ohms: Ohms | None = None
    watts: Watts | None = None
    tolerance: Percent | None = None
    volts: Volts | None = None
    from_volts: Volts | None = None
    part: str | None = None
    what: str | None = None


@dataclass(frozen=True, slots=True)
class NetRange(Table):
    """[nets] net: what a net may be at, where it is no rail."""

    low: Volts | None = None
    high: Volts | None = None


@dataclass(frozen=True, slots=True)
class PinJointFacts(Table):
    """[parts] ref joints pin: what the copper round one pin is like."""

    planes: tuple[str, ...] = ()
    relief: str | None = None
    edge: Millimetres | None = None
    vias: Count | None = None


@dataclass(frozen=True, slots=True)
class PartFacts(Table):
    """[parts] ref: what the papers do not say of one part."""

    kind: str | None = None
    package: str | None = None
    faces: str | None = None
    role: str | None = None
    pins: dict[str, str] = field(default_factory=dict)
    volts: Volts | None = None
    amps: Amps | None = None
    watts: Watts | None = None
    forward: Volts | None = None
    out: Volts | None = None
    dropout: Volts | None = None
    quiescent: Amps | None = None
    height: Millimetres | None = None
    body_limit: Celsius | None = None
    moisture: str | None = None
    heat_sensitive: bool | None = None
    dear: bool | None = None
    rare: bool | None = None
    joints: dict[str, PinJointFacts] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class HoldPointFacts(Table):
    """[[hold_points]]: stop here, power up, measure."""

    name: str
    supply: str | None = None
    feed: str | None = None
    limit: Amps | None = None
    needs: tuple[str, ...] = ()
    before: tuple[str, ...] = ()
    measure: tuple[str, ...] = ()
    confirm: bool = False


@dataclass(frozen=True, slots=True)
class FastenFacts(Table):
    """[[fasten]]: parts that are bolted or clipped."""

    parts: tuple[str, ...] = ()
    to: str | None = None
    before_soldering: bool = False
    torque: NewtonMetres | None = None
    insulated: bool = False


@dataclass(frozen=True, slots=True)
class ProgramFacts(Table):
    """[[program]]: parts that get firmware."""

    part: str
    at: str | None = None
    after_hold_point: str | None = None
    identity: str | None = None


@dataclass(frozen=True, slots=True)
class OrderFacts(Table):
    """[order]: the person's own rules, allowed dwell times, constraints switched off by slug."""

    rules: tuple[str, ...] = ()
    dwell_lead: Seconds | None = None
    dwell_tab: Seconds | None = None
    dwell_hole: Seconds | None = None
    without: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class SignalFacts(Table):
    """[inputs] and [outputs] name: where it is and what it does."""

    at: str | None = None
    does: str | None = None


@dataclass(frozen=True, slots=True)
class SenseFacts(Table):
    """[sense] ref: how a current sensor is read: the converter behind it, and what the firmware does with it."""

    bits: Count | None = None
    reference: Volts | None = None
    """Reference voltage of the converter."""
    trip: Amps | None = None
    """The current at which firmware or a comparator switches off, reckoned with the original's constants."""
    most: Amps | None = None
    """The largest current that must be read."""
    two_way: bool | None = None
    """Whether current flows both ways and must be read so."""


@dataclass(frozen=True, slots=True)
class LiveFacts(Table):
    """[live]: the first run at high energy; docs/live-run.md has the keys. Ratings are for DC on a DC bus."""

    net: str | None = None
    volts: Volts | None = None
    capacitance: Farads | None = None
    load: str | None = None
    watts: Watts | None = None
    precharge: Ohms | None = None
    bleeder: Ohms | None = None
    hold_point: str | None = None
    who_is_in_house: str | None = None
    who_cuts_supply: str | None = None
    source_amps: Amps | None = None
    isolated: bool | None = None
    fuse: Amps | None = None
    fuse_volts: Volts | None = None
    fuse_breaks: Amps | None = None
    current_limit: Amps | None = None
    lamp: Watts | None = None
    lamp_volts: Volts | None = None
    idle: Watts | None = None
    start_volts: Volts | None = None
    control_fed_apart: bool | None = None
    precharge_power: Watts | None = None
    precharge_pulse: Joules | None = None
    precharge_volts: Volts | None = None
    load_while_charging: bool | None = None
    contactor_volts: Volts | None = None
    makes: Amps | None = None
    breaks: Amps | None = None
    loop: Ohms | None = None
    bleeder_power: Watts | None = None
    bleeder_volts: Volts | None = None
    discharge: Ohms | None = None
    discharge_volts: Volts | None = None
    bus_limit: Volts | None = None
    abort_volts: Volts | None = None
    abort_amps: Amps | None = None
    abort_celsius: Celsius | None = None
    soak: Seconds | None = None
    insulation_volts: Volts | None = None
    insulation: Ohms | None = None


@dataclass(frozen=True, slots=True)
class TipFacts(Table):
    """[bench] tips name: one soldering tip."""

    size: str | None = None
    width: Millimetres | None = None
    slip_on: bool | None = None
    power: Watts | None = None
    coupon: Seconds | None = None
    flowed: tuple[str, ...] = ()
    """Measured joints: `U3.4: 4 s at 350 C`."""


@dataclass(frozen=True, slots=True)
class MeterFacts(Table):
    """[bench] meter: the multimeter."""

    volts: str | None = None
    ohms: str | None = None
    amps: str | None = None
    red_is_plus_in_ohms: bool | None = None
    red_is_plus_in_diode: bool | None = None
    diode_test_limit: Volts | None = None


@dataclass(frozen=True, slots=True)
class BenchFacts(Table):
    """[bench], or bench.toml: what stands on the bench."""

    tips: dict[str, TipFacts] = field(default_factory=dict)
    preheat: Celsius | None = None
    hot_air: bool | None = None
    meter: MeterFacts = field(default_factory=MeterFacts)
    supply_volts: Volts | None = None
    supply_amps: Amps | None = None
    supply_accuracy: str | None = None


@dataclass(frozen=True, slots=True)
class BoardFacts(Table):
    """All of board.toml, with bench.toml folded in; keys of the file that the reader adds itself stand last."""

    format: Count = 1
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
    sense: dict[str, SenseFacts] = field(default_factory=dict)
    bench: BenchFacts = field(default_factory=BenchFacts)
    lines: dict[str, int] = field(default_factory=dict)
    bench_lines: dict[str, int] = field(default_factory=dict)
    bench_file: str | None = None

    def where(self, path: str) -> Where | None:
        """Return the place a dotted path was written at: in board.toml, else in bench.toml, else None.

        >>> BoardFacts(lines={"rails.+5V": 12}).where("rails.+5V.volts")
        Where(file='board.toml', line=12)
        """
        for file, lines in (("board.toml", self.lines), (self.bench_file or "bench.toml", self.bench_lines)):
            for known in _ends(path):
                if known in lines:
                    return Where(file, lines[known])
        return None


def _ends(path: str) -> tuple[str, ...]:
    """Return the path and what is left of it without its last steps, but never the section alone."""
    steps = path.split(".")
    return tuple(".".join(steps[:n]) for n in range(len(steps), min(len(steps), 2) - 1, -1))
