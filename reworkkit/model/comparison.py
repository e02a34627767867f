"""Substitutes: one row a parameter, the verdict, and what else changes when the candidate goes in."""

from dataclasses import dataclass
from enum import StrEnum

from reworkkit.model.messages import Finding, Message, NotJudged
from reworkkit.model.values import Source


class Outcome(StrEnum):
    """What one parameter says of a candidate."""

    PASS = "pass"
    FAIL = "fail"
    NOT_JUDGED = "not_judged"


class Effect(StrEnum):
    """What a parameter that fails costs: another figure somewhere, rework of the board, or the candidate."""

    CHANGE = "change"
    REWORK = "rework"
    NO = "no"


class SubstituteVerdict(StrEnum):
    """The verdict on a candidate, best first; `not_judged` while a figure that decides is missing."""

    DROP_IN = "drop_in"
    AFTER_CHANGE = "fits_after_change"
    REWORK = "fits_with_rework"
    NOT_JUDGED = "not_judged"
    NO = "no"


@dataclass(frozen=True, slots=True)
class Amount:
    """A figure of a part or a need of the circuit: a number in `unit`, or a text where it is a word (`X7R`)."""

    text: str
    value: float | None = None
    unit: str = ""


@dataclass(frozen=True, slots=True)
class ComparisonRow:
    """One parameter: what the circuit needs, the original, the candidate, and the outcome by which rule.

    `margin_percent` is how far the candidate lies on the good side of what is needed (negative: short of it).
    `effect` says what a failure costs; None where the row does not fail. `blocks` is true where the row is not judged
    and the verdict hangs on it.
    """

    parameter: str
    needed: Amount | None
    original: Amount | None
    candidate: Amount | None
    margin_percent: float | None
    outcome: Outcome
    effect: Effect | None
    blocks: bool
    rule: Message
    because: Message | None
    source: Source


@dataclass(frozen=True, slots=True)
class Consequence:
    """Something computed that changes with the candidate: in words, and as figures (name, before, after, unit)."""

    words: Message
    figures: tuple[tuple[str, Amount | None, Amount], ...] = ()
    dangerous: bool = False


@dataclass(frozen=True, slots=True)
class CandidateResult:
    """One candidate: rows, verdict, what must be changed or reworked, consequences, open questions."""

    part_number: str
    place: str
    rows: tuple[ComparisonRow, ...]
    verdict: SubstituteVerdict
    at_best: SubstituteVerdict
    """The verdict if every open figure turned out well."""
    changes: tuple[Message, ...]
    consequences: tuple[Consequence, ...]
    not_judged: tuple[NotJudged, ...]
    unsaid: tuple[str, ...] = ()
    """Parameters that were not compared because neither circuit nor list says anything of them; they stop nothing."""
    without_rule: tuple[tuple[str, str, str], ...] = ()
    """Figures that no rule of the kind reads and that differ: heading, original, candidate; a person compares them."""


@dataclass(frozen=True, slots=True)
class Comparison:
    """All candidates for one place, best verdict first."""

    ref: str
    kind: str
    original: str
    candidates: tuple[CandidateResult, ...]
    wanted: tuple[ComparisonRow, ...] = ()
    """What any candidate must meet: need and original of each parameter, as far as they are known."""
    findings: tuple[Finding, ...] = ()
    not_judged: tuple[NotJudged, ...] = ()
