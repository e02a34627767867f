"""Warnings and cautions: those of the whole job folded for the top of the sheet, each once."""

from collections.abc import Collection, Iterable

from reworkkit.model.designator import natural_key
from reworkkit.model.live import LiveRun
from reworkkit.model.messages import Message
from reworkkit.model.results import Alert, HoldPoint, Plan
from reworkkit.model.vocabulary import AlertLevel
from reworkkit.show.sheet import AlertLine
from reworkkit.show.sheet_words import Speaker

_BETTER = {"alert-first-power": "power-warn-burst"}
"""A general warning and the one that names the parts: where the second stands, the first adds nothing."""
_AT_ITS_STAGE_ONLY = "alert-live-first"
"""It speaks of "this stage": away from it nobody knows which."""


def said_better(alerts: Iterable[Alert], said: Collection[str]) -> tuple[Alert, ...]:
    """Return alerts without those that another one says with the parts named; `said` are the slugs told there."""
    return tuple(alert for alert in alerts if _BETTER.get(alert[1].slug) not in said)


def first_alerts(
    plan: Plan, hold_points: tuple[HoldPoint, ...], live: LiveRun | None, speaker: Speaker
) -> tuple[AlertLine, ...]:
    """Return the warnings that stand at the top of the page; those of the live run's first step are among them."""
    found = [alert for op in plan.operations for alert in op.alerts]
    found += [alert for point in hold_points for alert in point.cautions]
    found += live.steps[0].alerts if live else ()
    warnings = [
        (level, text) for level, text in found if level == AlertLevel.WARNING and text.slug != _AT_ITS_STAGE_ONLY
    ]
    return speaker.alerts(_folded(said_better(warnings, {text.slug for _, text in warnings})))


def _folded(alerts: Iterable[Alert]) -> tuple[Alert, ...]:
    """Return alerts that differ only in the parts they name as one that names them all.

    >>> from reworkkit.model.messages import message
    >>> told = [(AlertLevel.WARNING, message("power-warn-burst", refs=refs)) for refs in ("C2 C10", "C1 C2")]
    >>> [text.facts for _, text in _folded(told)]
    [(('refs', 'C1 C2 C10'),)]
    """
    groups: dict[tuple[object, ...], list[Alert]] = {}
    for level, text in alerts:
        rest = tuple(fact for fact in text.facts if fact[0] != "refs")
        groups.setdefault((level, text.slug, rest), []).append((level, text))
    return tuple((group[0][0], _joined([text for _, text in group])) for group in groups.values())


def _joined(texts: list[Message]) -> Message:
    refs = {ref for text in texts for name, fact in text.facts if name == "refs" for ref in str(fact).split()}
    named = " ".join(sorted(refs, key=natural_key))
    return Message(texts[0].slug, tuple((n, named if n == "refs" else fact) for n, fact in texts[0].facts))
