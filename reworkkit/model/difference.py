"""What `diff` finds: the list against what is on the board."""

from dataclasses import dataclass
from typing import NamedTuple

from reworkkit.model.messages import Finding, NotJudged
from reworkkit.model.vocabulary import DiffStatus


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
