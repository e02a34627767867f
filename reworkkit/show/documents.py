"""JSON documents: the contracts of every command, with a format version, the same words as terminal and page."""

from collections.abc import Iterable
from typing import Any

from reworkkit.model.difference import Difference
from reworkkit.model.job import Situation
from reworkkit.model.messages import Fact, Finding, Message, NotJudged
from reworkkit.model.results import Plan
from reworkkit.model.values import Band, Quantity
from reworkkit.show.texts import sentence

Document = dict[str, Any]


def document(
    command: str,
    situation: Situation,
    findings: Iterable[Finding],
    not_judged: Iterable[NotJudged],
    body: Document,
    language: str = "en",
) -> Document:
    """Return the frame that every document shares, with the command's own keys in the middle."""
    return {
        "format": f"reworkkit.{command}/1",
        "basis": situation.basis.value,
        "at_event": situation.at_event,
        **body,
        "findings": [finding_document(finding, language) for finding in findings],
        "not_judged": [not_judged_document(open_question, language) for open_question in not_judged],
    }


def finding_document(finding: Finding, language: str) -> Document:
    """Return one finding as plain data."""
    return {
        "slug": finding.message.slug,
        "severity": finding.severity.value,
        "refs": list(finding.refs),
        "sentence": sentence(finding.message, language),
        "facts": facts_document(finding.message),
        "where": [str(where) for where in finding.where],
        "source": finding.source.key if finding.source else None,
    }


def not_judged_document(question: NotJudged, language: str) -> Document:
    """Return one open question as plain data."""
    return {
        "about": list(question.about),
        "question": sentence(question.question, language),
        "because": sentence(question.because, language),
        "answer": question.answer,
    }


def facts_document(message: Message) -> Document:
    """Return the facts of a message as plain data."""
    return {name: _fact(fact) for name, fact in message.facts}


def _fact(fact: Fact) -> Any:
    if isinstance(fact, Quantity):
        return {"value": str(fact.value), "unit": fact.unit, "text": fact.text}
    return band_document(fact) if isinstance(fact, Band) else fact


def band_document(band: Band | None) -> Document | None:
    """Return a band as plain data."""
    if band is None:
        return None
    return {"low": band.low, "nominal": band.nominal, "high": band.high, "unit": band.unit, "basis": band.basis.value}


def diff_document(
    situation: Situation,
    difference: Difference,
    findings: Iterable[Finding],
    not_judged: Iterable[NotJudged],
    language: str,
) -> Document:
    """Return `reworkkit.diff/1`."""
    body = {
        "counts": difference.counts._asdict(),
        "items": [item._asdict() for item in difference.items],
    }
    return document("diff", situation, findings, not_judged, body, language)


def audit_document(situation: Situation, findings: Iterable[Finding], language: str) -> Document:
    """Return `reworkkit.audit/1`."""
    return document("audit", situation, findings, (), {}, language)


def plan_document(situation: Situation, plan: Plan, findings: Iterable[Finding], language: str) -> Document:
    """Return `reworkkit.plan/1`."""
    operations = [
        {
            "n": operation.n,
            "kind": operation.kind,
            "refs": list(operation.refs),
            "steps": [{"kind": kind, "subject": subject} for kind, subject in operation.steps],
            "group": operation.group,
            "title": sentence(operation.title, language),
            "setup": operation.setup._asdict(),
            "why": [sentence(why, language) for why in operation.why],
            "after": list(operation.after),
            "hold_point": operation.hold_point,
            "alerts": [
                {"level": level.value, "sentence": sentence(text, language)} for level, text in operation.alerts
            ],
        }
        for operation in plan.operations
    ]
    conflicts = [
        {
            "constraints": [sentence(one, language) for one in conflict.constraints],
            "operations": list(conflict.operations),
            "ways_out": [{"way": sentence(w, language), "price": sentence(p, language)} for w, p in conflict.ways_out],
            "recommended": conflict.recommended,
        }
        for conflict in plan.conflicts
    ]
    body = {
        "id": plan.id,
        "operations": operations,
        "conflicts": conflicts,
        "optimality": sentence(plan.optimality, language),
    }
    return document("plan", situation, findings, plan.not_judged, body, language)
