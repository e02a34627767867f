"""What `checks` gives: the probes of one purpose, in the order to make them, and what stays open."""

from dataclasses import dataclass

from reworkkit.model.measuring import Check
from reworkkit.model.messages import Finding, Message, NotJudged
from reworkkit.model.vocabulary import AlertLevel, CheckPurpose


@dataclass(frozen=True, slots=True)
class CheckGroup:
    """Probes whose readings must agree with each other: a column for each device, a row for each kind of reading.

    Each row is (what, whether with the leads swapped, the check of each device in the order of `devices`).
    """

    title: Message
    devices: tuple[str, ...]
    rows: tuple[tuple[Message, bool, tuple[str, ...]], ...]
    notes: tuple[Message, ...] = ()


@dataclass(frozen=True, slots=True)
class CheckSheet:
    """The checks of one purpose; `alerts` stand before the first probe."""

    purpose: CheckPurpose
    checks: tuple[Check, ...]
    alerts: tuple[tuple[AlertLevel, Message], ...] = ()
    findings: tuple[Finding, ...] = ()
    not_judged: tuple[NotJudged, ...] = ()
    groups: tuple[CheckGroup, ...] = ()
    """Tables of readings that must agree; their probes stand in `checks` too."""
    read: tuple[tuple[str, bool, str], ...] = ()
    """What was read already: (check id, with the leads swapped, the reading as written)."""
