"""The one question about an open part: what is asked is tried first, so that an answer can decide it."""

from collections.abc import Callable, Iterator
from dataclasses import replace

from reworkkit.compute.orientation.ends import Bench, Need, Part2, asked, reaches_up
from reworkkit.model.connections import GENERAL_DIODES, OUTSIDE
from reworkkit.model.messages import Message, NotJudged, message
from reworkkit.model.results import End

_ROLES = ("series protection", "clamp", "rectifier", "quick discharge")
_RANGES = ((1.0, 5.0), (0.0, 5.0), (-12.0, -3.0))
"""Answers tried: what people write most [V]."""
_KNOWN = frozenset({"rail", "ground", "made"})

Judge = Callable[[Part2], Need]


def with_question(bench: Bench, part: Part2, judge: Judge, open_need: Need) -> Need:
    """Return an open need with the question whose answer decides: the usual one, or else the first that would.

    Where no single answer tried decides, the usual question stays.
    """
    usual = open_need if open_need.question else asked(part)
    if open_need.question is None and open_need.why.slug != usual.why.slug:
        return open_need
    for question, decides in _questions(bench, part, judge, usual.why):
        if decides():
            return Need({}, open_need.why, question)
    return usual._replace(why=open_need.why)


def _questions(
    bench: Bench, part: Part2, judge: Judge, because: Message
) -> Iterator[tuple[NotJudged, Callable[[], bool]]]:
    plain = part.kind in GENERAL_DIODES
    plugs = {end.net for end in (part.a, part.b) if bench.has(end.net, OUTSIDE)}
    open_ends = [end for end in (part.a, part.b) if end.kind not in _KNOWN]
    ends = sorted(open_ends, key=lambda end: (_is_known(end), end.net not in plugs))
    for end in ends if not plain else [one for one in ends if not _is_known(one)]:
        yield _of_net(part, end, because), lambda end=end: _range_decides(part, end, judge)  # type: ignore[misc]
    if plain:
        yield _of_role(part, because), lambda: _role_decides(bench, part, judge)
        for end in ends:
            yield _of_net(part, end, because), lambda end=end: _range_decides(part, end, judge)  # type: ignore[misc]


def _is_known(end: End) -> bool:
    return end.low_v is not None or end.high_v is not None


def _of_net(part: Part2, end: End, because: Message) -> NotJudged:
    question = message("polarity-ask-range", ref=part.ref, net=end.net)
    return NotJudged((part.ref,), question, because, f'[nets]\n"{end.net}" = "0 V to 5 V"')


def _of_role(part: Part2, because: Message) -> NotJudged:
    line = f'[parts]\n{part.ref} = {{ role = "clamp" }}'
    return NotJudged((part.ref,), message("polarity-ask-role", ref=part.ref), because, line)


def _range_decides(part: Part2, end: End, judge: Judge) -> bool:
    other = part.b if end is part.a else part.a
    top = reaches_up(other)
    tried = (*_RANGES, *(((top, top + 3.0),) if top < float("inf") else ()))
    for low, high in tried:
        stated = replace(end, low_v=low, high_v=high, kind="range", unknown=(), plugs_only=False, static=False)
        told = Part2(part.ref, part.kind, *((stated, other) if end is part.a else (other, stated)))
        if judge(told).roles:
            return True
    return False


def _role_decides(bench: Bench, part: Part2, judge: Judge) -> bool:
    try:
        for role in _ROLES:
            bench.supposed = {part.ref: role}
            if judge(part).roles:
                return True
        return False
    finally:
        bench.supposed = {}
