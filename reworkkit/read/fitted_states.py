"""The words for a state, the facets they set, and which word stands where two contradict each other."""

import difflib
import re
from collections.abc import Iterable, Mapping
from dataclasses import replace
from functools import cache, partial, reduce
from typing import TYPE_CHECKING

from reworkkit.model.board import FoundState
from reworkkit.model.designator import canonical
from reworkkit.model.messages import Finding, message
from reworkkit.model.states import careful
from reworkkit.model.vocabulary import Severity
from reworkkit.read.text import visible
from reworkkit.tables import rows

if TYPE_CHECKING:
    from reworkkit.read.fitted_lines import Statement

FACETS = ("place", "joint", "part", "way_round", "fastening", "made_by")
_BETWEEN = re.compile(r"\s*(?:[,;/+&|]|\band\b|\bbut\b|\bund\b|\bet\b)\s*")

_REF = re.compile(r"(?<![\w.])[A-Za-z]{1,6}\d{1,5}(?![\w.])")
_LONGEST = 200
"""A state longer than this many characters is no state."""

Pairs = tuple[tuple[str, str], ...]
_UNSEEN: Pairs = (("place", "not_inspected"),)


@cache
def _table() -> dict[str, Pairs]:
    found: dict[str, Pairs] = {}
    for row in rows("state_words"):
        found[_plain(row["word"])] = tuple((facet, row[facet]) for facet in FACETS if row[facet])
    return found


def _plain(word: str) -> str:
    text = visible(word).casefold().replace("_", " ").replace("-", " ").replace("’", "'").replace("(", " ")
    text = text.replace(")", " ")
    return " ".join(text.strip(" .!:;,\"'()[]").split()) or text.strip()


@cache
def states_in(word: str) -> tuple[Pairs, ...]:
    """Return the facets of the state words in a text, one entry a word; empty where a part of it is unknown.

    >>> states_in("tacked, seen right")
    ((('place', 'fitted'), ('joint', 'tacked')), (('way_round', 'seen'),))
    """
    known = _table()
    if (whole := known.get(_plain(word))) is not None:
        return (whole,)
    parts = [known.get(_plain(part)) for part in _BETWEEN.split(visible(word).casefold()) if _plain(part)]
    return tuple(part for part in parts if part is not None) if parts and all(parts) else ()


def is_state(word: str) -> bool:
    """Tell whether a text is a state word that is known, or several joined by commas."""
    return len(word) <= _LONGEST and bool(word.strip()) and bool(states_in(word))


def adds(note: str, state: str) -> bool:
    """Tell whether a remark is a state that says worse of a part than its state does, and the same of its place.

    >>> adds("reversed", "fitted"), adds("open", "burnt"), adds("burnt", "damaged")
    (True, False, False)
    """
    if not is_state(note) or not (is_state(state) or not state):
        return False
    said = dict(pair for pairs in states_in(state) for pair in pairs) if state else {}
    more = [pair for pairs in states_in(note) for pair in pairs]
    same_place = all(said.get("place", value) == value for facet, value in more if facet == "place")
    return same_place and any(
        facet not in said or careful(facet, said[facet], value) != said[facet] for facet, value in more
    )


@cache
def _near(word: str) -> str:
    close = difflib.get_close_matches(_plain(word), list(_table()), 1, 0.8)
    return close[0] if close else ""


def settled(
    statements: "Iterable[Statement]", refs: Mapping[str, str]
) -> tuple[list[FoundState], str | None, list[Finding]]:
    """Return one or more found states per place, what holds for the others, and the findings."""
    found: list[FoundState] = []
    findings: list[Finding] = []
    others: str | None = None
    general: set[int] = set()
    for statement in statements:
        if statement.unread:
            told = message("fitted-unread", text=statement.unread[:80])
            findings.append(Finding(told, Severity.CHECK, (), (statement.where,)))
        if statement.others:
            others = _others_settled(others, statement, findings)
            continue
        if not statement.refs:
            continue
        pairs, odd = _pairs_of(statement)
        findings.extend(odd)
        made = [
            FoundState(ref, statement.state.strip(), pairs, statement.note, statement.copy, statement.where)
            for ref in statement.refs
        ]
        found.extend(made)
        if statement.general:
            general.update(map(id, made))
    found = _without_general(found, general)
    found.extend(_named_beside(found, refs))
    found, clashes = _careful(found)
    findings.extend(clashes)
    if refs and (strange := sorted({s.ref for s in found} - set(refs))):
        told = message("fitted-not-listed", refs=" ".join(strange[:10]), count=len(strange))
        where = tuple(s.where for s in found if s.ref in set(strange))[:20]
        findings.append(Finding(told, Severity.CHECK, tuple(strange), where))
    return found, others, findings


def _without_general(found: list[FoundState], general: set[int]) -> list[FoundState]:
    """A line that names a place itself says more than `all resistors fitted`; that one then no longer counts for it."""
    itself = {(s.ref, s.copy) for s in found if id(s) not in general and any(facet == "place" for facet, _ in s.facets)}
    return [s for s in found if id(s) not in general or (s.ref, s.copy) not in itself]


def _named_beside(found: list[FoundState], refs: Mapping[str, str]) -> list[FoundState]:
    """`R1 is missing but R2 is there`: R2 stands in words nobody can read and nowhere else: nobody has looked at it."""
    told = {state.ref for state in found}
    beside: dict[str, FoundState] = {}
    for state in found:
        if state.facets == _UNSEEN and not is_state(state.word):
            for ref in map(canonical, _REF.findall(state.word)):
                if ref in refs and ref not in told:
                    beside.setdefault(ref, replace(state, ref=ref))
    return list(beside.values())


def _others_settled(before: str | None, statement: "Statement", findings: list[Finding]) -> str:
    """Return what holds for the others; where two lines differ, the more careful one."""
    now = _others(statement, findings)
    if before is None or before == now:
        return now
    stands = careful("place", before, now)
    told = message("fitted-others-twice", first=_spoken(before), second=_spoken(now), stands=_spoken(stands))
    findings.append(Finding(told, Severity.CHECK, (), (statement.where,)))
    return stands


def _spoken(place: str) -> str:
    return place.replace("_", " ")


def _others(statement: "Statement", findings: list[Finding]) -> str:
    place = dict(pair for pairs in states_in(statement.state) for pair in pairs).get("place")
    if place in ("empty", "fitted", "not_inspected"):
        return str(place)
    told = message("fitted-others-unknown", word=statement.state[:60])
    findings.append(Finding(told, Severity.CHECK, (), (statement.where,)))
    return "not_inspected"


def _pairs_of(statement: "Statement") -> tuple[Pairs, tuple[Finding, ...]]:
    """Return the facets a statement sets; a place that is only said to be torqued or seen right must be fitted."""
    if not statement.state.strip():
        told = message("fitted-no-state", refs=" ".join(statement.refs[:6]))
        return _UNSEEN, (Finding(told, Severity.CHECK, statement.refs, (statement.where,)),)
    sets = states_in(statement.state[:_LONGEST])
    if not sets:
        near = _near(statement.state[:_LONGEST])
        slug_facts = {"word": statement.state.strip()[:60], "refs": " ".join(statement.refs[:6])}
        told = (
            message("fitted-word-near", near=near, **slug_facts)
            if near
            else message("fitted-word-unknown", **slug_facts)
        )
        return _UNSEEN, (Finding(told, Severity.CHECK, statement.refs, (statement.where,)),)
    merged: dict[str, str] = {}
    for pairs in sets:
        for facet, value in pairs:
            merged[facet] = careful(facet, merged.get(facet, value), value)
    return tuple((facet, merged[facet]) for facet in FACETS if facet in merged), ()


def _careful(found: list[FoundState]) -> tuple[list[FoundState], list[Finding]]:
    """Where two rows say different things of one facet of one place (and copy), the more careful word stands."""
    by_place: dict[tuple[str, int | None], list[int]] = {}
    for n, state in enumerate(found):
        by_place.setdefault((state.ref, state.copy), []).append(n)
    findings: list[Finding] = []
    kept = list(found)
    for (ref, _), numbers in by_place.items():
        rows_here = [found[n] for n in numbers]
        if len(numbers) > 1:
            _settle(ref, rows_here, numbers, kept, findings)
        if not any(facet == "place" for n in numbers for facet, _ in kept[n].facets):
            first = kept[numbers[0]]
            kept[numbers[0]] = _with(first, (("place", "fitted"), *first.facets))
    return kept, findings


def _settle(
    ref: str, states: list[FoundState], numbers: list[int], kept: list[FoundState], findings: list[Finding]
) -> None:
    values: dict[str, set[str]] = {}
    for state in states:
        for facet, value in state.facets:
            values.setdefault(facet, set()).add(value)
    clashing = {facet for facet, told in values.items() if len(told) > 1}
    if not clashing:
        return
    stands = {facet: reduce(partial(careful, facet), told) for facet, told in values.items()}
    if stands.get("place") in ("empty", "not_inspected") and "joint" in stands:
        stands["joint"] = "none"
    for n in numbers:
        kept[n] = _with(kept[n], tuple((facet, stands[facet]) for facet, _ in kept[n].facets))
    words = ", ".join(dict.fromkeys(state.word for state in states))
    standing = next((s.word for s in states if set(s.facets) <= set(stands.items())), states[0].word)
    told_of = message("fitted-contradiction", ref=ref, words=words, stands=standing)
    findings.append(Finding(told_of, Severity.CHECK, (ref,), tuple(state.where for state in states)))


def _with(state: FoundState, pairs: Pairs) -> FoundState:
    return FoundState(state.ref, state.word, pairs, state.note, state.copy, state.where)
