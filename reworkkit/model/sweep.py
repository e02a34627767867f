"""An input swept by hand: what was logged, and what it says."""

from dataclasses import dataclass
from typing import NamedTuple

from reworkkit.model.live import LiveCurve
from reworkkit.model.messages import Finding, Message, NotJudged
from reworkkit.model.values import Band, Source
from reworkkit.model.vocabulary import ReadingVerdict


class Channel(NamedTuple):
    """One logged quantity: heading, unit (empty where none was written), samples; None where nothing was read."""

    name: str
    unit: str
    samples: tuple[float | None, ...]


@dataclass(frozen=True, slots=True)
class Sweep:
    """A log, sample by sample. `against` is what was set (position, temperature, current), None where not logged.

    `kind` is `position`, `temperature` or `current`; `rows` are the lines of the file.
    """

    file: str
    kind: str
    against: Channel | None
    channels: tuple[Channel, ...]
    rows: tuple[int, ...]
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True)
class SweepFacts:
    """What the person says of the input; None where not said. Ratio and offset: second channel from the first."""

    supply_v: float | None = None
    ratio_percent: float | None = None
    zero_v: float | None = None
    beta_k: float | None = None
    r25_ohm: float | None = None
    table: Sweep | None = None


@dataclass(frozen=True, slots=True)
class SweepFigure:
    """One figure of the verdict with the band it is held against; `band` is None where none is known."""

    key: str
    channel: str
    value: float
    unit: str
    band: Band | None
    verdict: ReadingVerdict
    words: Message
    source: Source | None = None


@dataclass(frozen=True, slots=True)
class InputVerdict:
    """What a sweep says: figures in order, worst verdict first in `state`; curves to look at."""

    state: ReadingVerdict
    kind: str
    samples: int
    figures: tuple[SweepFigure, ...]
    curves: tuple[LiveCurve, ...]
    findings: tuple[Finding, ...] = ()
    not_judged: tuple[NotJudged, ...] = ()
