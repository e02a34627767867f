"""What a placement file says of the values of its parts, held against the list: one finding, both values shown."""

import re
from collections.abc import Iterator, Mapping
from typing import NamedTuple

from reworkkit.model.messages import Finding, message
from reworkkit.model.part import Part, PartLine
from reworkkit.model.part_value import parse_part_value
from reworkkit.model.values import Where
from reworkkit.model.vocabulary import Severity

_SIGNS = re.compile(r"[\W_]+")
_SHOWN = 8
_OTHER_THINGS = 0.5
"""Where more of the values than this share differ, the two columns hold different things, and nothing is compared."""


class PlacedText(NamedTuple):
    """The value that a placement file gives a part, as written."""

    value: str
    where: Where


def against_list(
    parts: Mapping[str, Part], lines: tuple[PartLine, ...], placed: Mapping[str, PlacedText]
) -> Iterator[Finding]:
    """Yield a finding where list and placement give a part different values (`10k` and `1k`)."""
    listed = {ref: line for line in lines if line.alternative_of is None for ref in line.refs}
    both = [ref for ref in placed if ref in parts and ref in listed and placed[ref].value and listed[ref].value_text]
    differing = [ref for ref in both if _differs(parts[ref].identity.kind, listed[ref].value_text, placed[ref].value)]
    if not differing or len(differing) > max(1, _OTHER_THINGS * len(both)):
        return
    pairs = [f"{ref}: {listed[ref].value_text} / {placed[ref].value}" for ref in differing]
    told = message("placement-value-differs", count=len(pairs), pairs=", ".join(pairs[:_SHOWN])[:400])
    where = tuple(spot for ref in differing[:_SHOWN] for spot in (listed[ref].where, placed[ref].where))
    yield Finding(told, Severity.CHECK, tuple(differing), where)


def _differs(kind: str, one: str, other: str) -> bool:
    """Values differ as figures of one unit; other texts only where neither is a part of the other."""
    first, second = parse_part_value(one, kind).main, parse_part_value(other, kind).main
    if first is not None and second is not None and first.unit == second.unit:
        return abs(first.si() - second.si()) > 1e-6 * max(abs(first.si()), abs(second.si()))
    plain, other_plain = _SIGNS.sub("", one).casefold(), _SIGNS.sub("", other).casefold()
    return bool(plain and other_plain) and plain not in other_plain and other_plain not in plain
