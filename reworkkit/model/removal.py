"""Taking parts off: how, in which order of pins, with what care; and what the bare place must show afterwards."""

from dataclasses import dataclass
from enum import StrEnum

from reworkkit.model.check_sheet import CheckSheet
from reworkkit.model.job import SiteRecord
from reworkkit.model.messages import Finding, Message, NotJudged
from reworkkit.model.results import Alert, SetUp
from reworkkit.model.values import Source
from reworkkit.model.vocabulary import HeatClass


class Save(StrEnum):
    """What is worth more: the part that comes off, or the board alone."""

    PART = "part"
    BOARD = "board"


@dataclass(frozen=True, slots=True)
class PinHeat:
    """What one joint asks on its way off; `setup` and `window_c` are None where no iron at hand will do.

    `reachable` is None where it may fail or where only the class is known.
    """

    pin: str
    net: str | None
    heat_class: HeatClass
    setup: SetUp | None
    window_c: tuple[int, int] | None
    reachable: bool | None
    remedy: Message | None


@dataclass(frozen=True, slots=True)
class Neighbour:
    """A part in the hot zone: computed temperature of the board there, or only within the reach of the nozzle."""

    ref: str
    peak_c: float | None
    sensitive: bool


@dataclass(frozen=True, slots=True)
class Procedure:
    """A rework or repair procedure by name; `number` is empty where no edition could be opened that prints it."""

    key: str
    name: str
    standard: str
    number: str
    source: Source


@dataclass(frozen=True, slots=True)
class RemovalPlan:
    """How one part comes off. `pins` stand in the order to free them; empty `method`: not with what is at hand."""

    ref: str
    kind: str
    package: str
    fitted: bool
    save: Save
    save_why: Message
    method: str
    method_words: Message
    method_source: Source | None
    pins: tuple[PinHeat, ...]
    order_why: Message | None
    alerts: tuple[Alert, ...]
    before: tuple[Message, ...]
    added: tuple[Message, ...]
    neighbours: tuple[Neighbour, ...]
    again: Message | None
    """Why the part is not fitted again, or must be measured before it is; None where it goes into the bin anyway."""
    afterwards: tuple[Message, ...]
    procedures: tuple[Procedure, ...]
    sites: tuple[SiteRecord, ...]
    not_judged: tuple[NotJudged, ...] = ()


@dataclass(frozen=True, slots=True)
class Wire:
    """A wire to run where the copper is gone: from `a` to `b` on `net`, at least `length_mm` where pads are known."""

    net: str
    a: str
    b: str
    length_mm: float | None
    because: Message


@dataclass(frozen=True, slots=True)
class BareProof:
    """What proves the bare places: probes still to make, what is proven already, wires where the copper is gone."""

    sheet: CheckSheet
    wires: tuple[Wire, ...]
    proven: tuple[str, ...]
    """Points whose reading already proves a pad."""


@dataclass(frozen=True, slots=True)
class DesolderPlan:
    """The answer of `desolder`: each part, the coating above them all, and the proof of the bare places."""

    parts: tuple[RemovalPlan, ...]
    coating: tuple[Alert, ...]
    coating_steps: tuple[Message, ...]
    proof: BareProof
    findings: tuple[Finding, ...] = ()
    not_judged: tuple[NotJudged, ...] = ()
