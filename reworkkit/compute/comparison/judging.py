"""One parameter judged: the candidate against what the circuit needs, else against the original.

A figure below the original's is never passed on faith: without a known need it stays open. Equal or better than the
original passes, because the original worked here.
"""

import re
from collections.abc import Callable
from typing import NamedTuple

from reworkkit.compute.comparison.amounts import Figure, current_of, folded_word, words_of
from reworkkit.compute.comparison.rules import Rule
from reworkkit.model.comparison import ComparisonRow, Effect, Outcome
from reworkkit.model.messages import Message, message

_HAIR = 1e-9
_MEANT = {"coil_voltage": "dc", "continuous_voltage": "ac"}
"""What a figure means that says neither AC nor DC (common practice: a board's relay, a varistor's type number)."""
_ONE_END = re.compile(r"^(?:±|\+/-|\+-|<|≤|>|≥|up to|max|min)|(?:max|min)\.?$", re.IGNORECASE)


class Need(NamedTuple):
    """What the circuit needs of a parameter, and where that comes from."""

    figure: Figure
    why: Message


class Sides(NamedTuple):
    """What stands against each other in one row."""

    need: Need | None
    original: Figure | None
    candidate: Figure


class Said(NamedTuple):
    """What a comparison says: outcome, margin in per cent, reason, and what the failure costs where not the rule's."""

    outcome: Outcome
    margin: float | None = None
    because: Message | None = None
    effect: Effect | None = None
    sure: bool = True
    """False where an open outcome must stop the verdict whatever the rule says of missing figures."""


_PASS, _FAIL, _OPEN = Outcome.PASS, Outcome.FAIL, Outcome.NOT_JUDGED


def judge_row(
    rule: Rule, need: Need | None, original: Figure | None, candidate: Figure | None, blocks_missing: bool
) -> ComparisonRow | None:
    """Return the row of one parameter; None where nobody says anything of it and nothing hangs on it."""
    if candidate is None and need is None and original is None and not blocks_missing:
        return None
    if candidate and need is None and original and _other_current(rule.parameter, original, candidate):
        coil = rule.parameter == "coil_voltage"
        said = Said(_FAIL, because=message("compare-coil-current"), effect=Effect.NO) if coil else _unread()
    elif candidate is None:
        said = Said(_OPEN, because=message("compare-no-figure"), sure=not blocks_missing)
    else:
        said = _DIRECTIONS[rule.direction](rule, Sides(need, original, candidate))
    stops = said.outcome is _OPEN and (not said.sure or blocks_missing)
    because = said.because or (need.why if need and said.outcome is not _OPEN else None)
    return ComparisonRow(
        rule.parameter,
        need.figure.amount() if need else None,
        original.amount() if original else None,
        candidate.amount() if candidate else None,
        None if said.margin is None else round(said.margin, 1),
        said.outcome,
        (said.effect or rule.failed) if said.outcome is _FAIL else None,
        stops,
        _rule_words(rule),
        because,
        rule.source,
    )


def _other_current(parameter: str, original: Figure, candidate: Figure) -> bool:
    """Return whether one figure is of AC and the other of DC: 22 V DC is a varistor for 17 V AC."""
    usual = _MEANT.get(parameter, "")
    was, got = (current_of(one.text) or usual for one in (original, candidate))
    return bool(was and got) and was != got


def _rule_words(rule: Rule) -> Message:
    name = rule.direction.replace("_", "-")
    return message(f"compare-rule-{name}", percent=rule.allow, order=" > ".join(rule.order[0]) if rule.order else "-")


def _unread() -> Said:
    return Said(_OPEN, because=message("compare-unreadable"), sure=False)


def _unknown() -> Said:
    return Said(_OPEN, because=message("compare-nothing-to-compare"))


def _below() -> Said:
    return Said(_OPEN, because=message("compare-below-original"), sure=False)


def _number(figure: Figure | None) -> Figure | None:
    return figure if figure is not None and figure.is_number else None


def _at_least(rule: Rule, sides: Sides) -> Said:
    candidate, original = sides.candidate, _number(sides.original)
    if candidate.low is None:
        return _unread()
    need = sides.need.figure.high if sides.need else None
    if need is not None:
        usable = candidate.low * rule.allow / 100
        margin = _margin(usable, need)
        if usable >= need - abs(need) * _HAIR:
            return Said(_PASS, margin)
        as_hard = original is not None and candidate.low >= (original.low or 0.0) >= need
        if as_hard and original is not None and original.unit == candidate.unit:
            return Said(_PASS, margin, message("compare-used-as-hard", percent=rule.allow))
        # Volts across a resistor may last a moment; volts across a capacitor never do.
        was = original.low if original is not None and original.unit == candidate.unit else None
        if rule.parameter == "power" and was is not None and was < need and was <= candidate.low:
            return Said(_OPEN, margin, message("compare-original-short"), sure=False)
        return Said(_FAIL, margin)
    if original is None or original.low is None or original.unit != candidate.unit:
        return _unknown()
    high, top = (original.high or original.low), (candidate.high or candidate.low)
    ends = ((candidate.low, original.low), (top, high))
    if all(got >= was - abs(was) * _HAIR for got, was in ends):
        return Said(_PASS, _margin(candidate.low, original.low))
    return _below()


def _bears(rule: Rule, sides: Sides) -> Said:
    """As `at_least`; but a rating below the original's that the circuit fills by more than half stays open: spikes."""
    said, original, got = _at_least(rule, sides), _number(sides.original), sides.candidate.low
    if said.outcome is not _PASS or sides.need is None or got is None:
        return said
    as_good = original is not None and original.low is not None and got >= original.low
    if as_good or got >= 2 * (sides.need.figure.high or 0.0):
        return said
    return Said(_OPEN, said.margin, message("compare-spikes"), sure=False)


def _at_most(rule: Rule, sides: Sides) -> Said:
    candidate, original = sides.candidate, _number(sides.original)
    if candidate.high is None or candidate.low is None:
        return _unread()
    if sides.need and (bound := sides.need.figure).high is not None:
        margin = _margin(bound.high, candidate.high)
        low_enough = candidate.high <= bound.high + abs(bound.high) * _HAIR
        high_enough = bound.low is None or bound.low == bound.high or candidate.low >= bound.low
        return Said(_PASS if low_enough and high_enough else _FAIL, margin)
    if original is None or original.high is None or original.unit != candidate.unit:
        return _unknown()
    low = original.high if original.low is None else original.low
    ends = ((candidate.low, low), (candidate.high, original.high))
    if all(got <= was + abs(was) * _HAIR for got, was in ends):
        return Said(_PASS, _margin(original.high, candidate.high))
    return _below()


def _margin(got: float, wanted: float) -> float | None:
    return (got / wanted - 1) * 100 if wanted else None


def _reference(sides: Sides) -> Figure | None:
    return _number(sides.need.figure) if sides.need else _number(sides.original)


def _same(rule: Rule, sides: Sides) -> Said:
    wanted, candidate = _reference(sides), sides.candidate
    if candidate.low is None or candidate.low != candidate.high:
        return _unread()
    if wanted is None or wanted.low is None:
        return _unknown()
    if wanted.unit != candidate.unit:
        return Said(_FAIL, because=message("compare-other-unit"), effect=Effect.NO)
    off = abs(candidate.low - wanted.low)
    share = off / abs(wanted.low) * 100 if wanted.low else (0.0 if off == 0 else 100.0)
    return Said(_PASS if share <= rule.allow + _HAIR else _FAIL, None, message("compare-differs", percent=share))


def _window(rule: Rule, sides: Sides) -> Said:
    """At least the value, not much more: above 2.2 times no, between the allowed share and that a change."""
    wanted, candidate = _reference(sides), sides.candidate
    if candidate.low is None:
        return _unread()
    if wanted is None or not wanted.low:
        return _unknown()
    ratio = candidate.low / wanted.low
    why = message("compare-differs", percent=abs(ratio - 1) * 100)
    if ratio < 1 - _HAIR or ratio > 2.2:
        return Said(_FAIL, (ratio - 1) * 100, why)
    if ratio > 1 + rule.allow / 100:
        return Said(_FAIL, (ratio - 1) * 100, why, Effect.CHANGE)
    return Said(_PASS, (ratio - 1) * 100)


def _same_text(rule: Rule, sides: Sides) -> Said:
    wanted = sides.need.figure if sides.need else sides.original
    if wanted is None:
        return _unknown()
    one, other = wanted.text.strip(), sides.candidate.text.strip()
    alike = folded_word(one) == folded_word(other) and _is_minus(one) == _is_minus(other)
    return Said(_PASS if alike else _FAIL)


def _is_minus(text: str) -> bool:
    return text.startswith(("-", "−", "–"))


def _same_order(rule: Rule, sides: Sides) -> Said:
    wanted = sides.need.figure if sides.need else sides.original
    if wanted is None:
        return _unknown()
    return Said(_PASS if words_of(wanted.text) == words_of(sides.candidate.text) else _FAIL)


def _rank(rule: Rule, sides: Sides) -> Said:
    """Best first in a list; lists stand by strictness: a word of a milder list never does for one of a stricter."""
    wanted = sides.need.figure if sides.need else sides.original
    if wanted is None:
        return _unknown()
    want, got = folded_word(wanted.text), folded_word(sides.candidate.text)
    for order in rule.order:
        ranks = [folded_word(word) for word in order]
        if want in ranks and got in ranks:
            return Said(_PASS if ranks.index(got) <= ranks.index(want) else _FAIL)
    listed = [[folded_word(word) for word in order] for order in rule.order]
    places = [next((at for at, words in enumerate(listed) if one in words), -1) for one in (want, got)]
    if min(places) >= 0 and places[1] < places[0]:
        return Said(_FAIL)
    return Said(_PASS) if want == got else _unread()


def _includes(rule: Rule, sides: Sides) -> Said:
    wanted = sides.need.figure if sides.need else sides.original
    if wanted is None:
        return Said(_OPEN, because=message("compare-marks-not-known"), sure=False)
    lacking = set(words_of(wanted.text)) - set(words_of(sides.candidate.text))
    return Said(_FAIL, because=message("compare-lacks", marks=" ".join(sorted(lacking)))) if lacking else Said(_PASS)


def _covers(rule: Rule, sides: Sides) -> Said:
    """The candidate's range holds what is needed; a single figure is a nominal that must lie within 10 %."""
    candidate, wanted = sides.candidate, _reference(sides)
    if candidate.low is None or candidate.high is None or _ONE_END.search(candidate.text.strip()):
        return _unread()
    if wanted is None or wanted.low is None or wanted.high is None:
        return _unknown()
    low, high = (candidate.low, candidate.high)
    if low == high:
        low, high = low * 0.9, high * 1.1
    inside = low <= wanted.low + _HAIR and high >= wanted.high - _HAIR
    margin = min(_share(wanted.low - low, wanted.low), _share(high - wanted.high, wanted.high))
    return Said(_PASS if inside else _FAIL, margin)


def _spans(rule: Rule, sides: Sides) -> Said:
    """The candidate works as cold and as hot as the original; a single figure is the hot end."""
    candidate, wanted = sides.candidate, _reference(sides)
    if candidate.low is None or candidate.high is None:
        return _unread()
    if wanted is None or wanted.low is None or wanted.high is None:
        return _unknown()
    cold_enough = wanted.low == wanted.high or (candidate.low != candidate.high and candidate.low <= wanted.low)
    return Said(_PASS) if cold_enough and candidate.high >= wanted.high else _below()


def _share(part: float, whole: float) -> float:
    return part / abs(whole) * 100 if whole else 0.0


_DIRECTIONS: dict[str, Callable[[Rule, Sides], Said]] = {
    "at_least": _at_least,
    "at_most": _at_most,
    "bears": _bears,
    "same": _same,
    "window": _window,
    "same_text": _same_text,
    "same_order": _same_order,
    "rank": _rank,
    "includes": _includes,
    "covers": _covers,
    "spans": _spans,
}
