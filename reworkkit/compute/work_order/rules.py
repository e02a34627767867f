"""The person's own rules: `U3 before J1: the connector hides its pins`."""

import re
from typing import NamedTuple

from reworkkit.model.designator import canonical
from reworkkit.model.messages import Finding, message
from reworkkit.model.values import Where
from reworkkit.model.vocabulary import Severity

_RULE = re.compile(r"^\s*(?P<first>.+?)\s+(?P<word>before|after)\s+(?P<second>[^:]+?)\s*(?::\s*(?P<why>.*))?$")


_RANGE = re.compile(r"^(?P<letters>[A-Za-z]+)(?P<first>[0-9]+)-(?P<again>[A-Za-z]+)?(?P<last>[0-9]+)$")


class Rule(NamedTuple):
    """`earlier` before `later`, with the person's reason and the rule as written."""

    earlier: tuple[str, ...]
    later: tuple[str, ...]
    why: str
    text: str


def read_rules(
    texts: tuple[str, ...], known: frozenset[str], line: int = 0
) -> tuple[tuple[Rule, ...], tuple[Finding, ...]]:
    """Return the rules that can be read, and a finding for each that cannot or that names an unknown part."""
    rules: list[Rule] = []
    findings: list[Finding] = []
    where = (Where("board.toml", line),)
    for text in texts:
        match = _RULE.match(text)
        if match is None:
            findings.append(Finding(message("rule-unreadable", rule=text), Severity.CHECK, (), where))
            continue
        first, second = _refs(match["first"]), _refs(match["second"])
        if unknown := [ref for ref in (*first, *second) if ref not in known]:
            findings.append(Finding(message("rule-unknown-ref", rule=text, ref=unknown[0]), Severity.CHECK, (), where))
        if both := set(first) & set(second):
            findings.append(Finding(message("rule-with-itself", rule=text, ref=min(both)), Severity.CHECK, (), where))
            continue
        earlier, later = (first, second) if match["word"] == "before" else (second, first)
        rules.append(Rule(earlier, later, match["why"] or "", text))
    return tuple(rules), tuple(findings)


def _refs(text: str) -> tuple[str, ...]:
    words = re.split(r"[\s,]+", text.strip())
    return tuple(ref for word in words if word not in ("", "and") for ref in _expanded(word))


def _expanded(word: str) -> tuple[str, ...]:
    """Return the designators of `Q1-Q4` or of a plain word."""
    match = _RANGE.match(word)
    if match is None or match["letters"].upper() != (match["again"] or match["letters"]).upper():
        return (canonical(word),)
    return tuple(f"{match['letters'].upper()}{n}" for n in range(int(match["first"]), int(match["last"]) + 1))
