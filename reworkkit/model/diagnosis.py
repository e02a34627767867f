"""What `diagnose` answers: which faults explain all readings, what to measure next, what was over-stressed."""

from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple

from reworkkit.model.measuring import Check, Reading
from reworkkit.model.messages import Finding, Message, NotJudged
from reworkkit.model.values import Band

PIN_OPEN = "pin_open"
"""The kind of fault that is told for each unit of a chip; its nets are those of the unit, the output first."""


class DiagnosisVerdict(StrEnum):
    """What the readings say, at the points that were measured."""

    NO_FAULT_SEEN = "no_fault_seen"
    FAULT = "fault"
    NO_LISTED_FAULT_FITS = "no_listed_fault_fits"
    NOT_ENOUGH = "not_enough"


class Certainty(StrEnum):
    """Certainty in words; never a bare figure. `almost_certainly` needs a reading that confirms."""

    ALMOST_CERTAINLY = "almost_certainly"
    PROBABLY = "probably"
    ONE_OF_THESE = "one_of_these"
    POSSIBLE = "possible"


class Fault(NamedTuple):
    """One thing that may be wrong: a designator, pin or net pair, the kind of fault, its nets, and its words."""

    ref: str
    kind: str
    nets: tuple[str, ...]
    words: Message


class FaultGroup(NamedTuple):
    """Faults that voltages cannot tell apart, best fit first, and what would tell them apart."""

    faults: tuple[Fault, ...]
    certainty: Certainty
    likely_percent: float
    tell_apart: Message | None


class AnswerMeans(NamedTuple):
    """One possible answer of a check: a range in the check's unit (or `OL`), and the faults it would point to."""

    reading: Band
    over_range: bool
    faults: tuple[Fault, ...]
    likely_percent: float


@dataclass(frozen=True, slots=True)
class NextCheck:
    """A check worth making next, what each answer would mean, and cautions for the probe."""

    check: Check
    powered: bool
    answers: tuple[AnswerMeans, ...]
    cautions: tuple[Message, ...]
    instead: bool = False
    """Whether it is one to make in place of those before it, where they cannot be made."""


class OverStress(NamedTuple):
    """A part that saw more than its rating under a leading fault."""

    ref: str
    quantity: str
    saw: str
    rating: str
    fault: Fault
    certainty: Certainty
    how_long: Message
    assumed: bool


class PointFit(NamedTuple):
    """One reading beside what a healthy board shows there and what the best fit says."""

    reading: Reading
    healthy: Band | None
    best: Band | None
    inside: bool | None


@dataclass(frozen=True, slots=True)
class Diagnosis:
    """The answer for one copy and one powered stage. `confirmed` and stops: it may add a stop, never lift one."""

    verdict: DiagnosisVerdict
    hold_point: str | None
    groups: tuple[FaultGroup, ...]
    next: tuple[NextCheck, ...]
    over_stressed: tuple[OverStress, ...]
    points: tuple[PointFit, ...]
    same_look: tuple[Fault, ...]
    """Faults that would look the same as a healthy board at the points measured."""
    first: tuple[Message, ...]
    """The "no fault at all" questions."""
    remarks: tuple[Message, ...]
    stops: tuple[Message, ...]
    not_checked: tuple[Message, ...]
    findings: tuple[Finding, ...] = ()
    not_judged: tuple[NotJudged, ...] = ()
    measured: tuple[str, ...] = ()
    known: tuple[Message, ...] = ()
    """Faults that are written down already and were taken as so: the answer is about what remains."""
    in_doubt: tuple[Message, ...] = ()
    """Places written down as bad without what that does: their faults are weighed with the others."""
