"""What the audit's checks share: listings, classes of designators, findings with all their places."""

import re
from collections.abc import Iterable, Sequence
from functools import cache

from reworkkit.model.designator import natural_key
from reworkkit.model.messages import Finding, Message
from reworkkit.model.part import Part
from reworkkit.model.values import Where
from reworkkit.model.vocabulary import Severity
from reworkkit.tables import rows

SHOWN = 20
_LETTERS = re.compile(r"[^\W\d_]+")


def listing(items: Iterable[str]) -> str:
    """Return the first twenty items as one text; an ellipsis stands for the rest.

    >>> listing(["R1", "R2"])
    'R1, R2'
    """
    every = list(items)
    return ", ".join([*every[:SHOWN], "..."] if len(every) > SHOWN else every)


def in_order(refs: Iterable[str]) -> tuple[str, ...]:
    """Return distinct designators in natural order."""
    return tuple(sorted(set(refs), key=natural_key))


def class_letters(ref: str) -> str:
    """Return the leading letters of a designator.

    >>> class_letters("FID3"), class_letters("3.3V")
    ('FID', '')
    """
    match = _LETTERS.match(ref)
    return match[0] if match else ""


@cache
def _bare_board_letters() -> frozenset[str]:
    """Class letters of what is no part; `REF**` is a land pattern nobody gave a designator."""
    no_part = {row["key"] for row in rows("part_kinds") if row["is_part"] == "no"}
    return frozenset(row["letters"] for row in rows("class_letters") if row["kind"] in no_part) | {"H", "REF"}


def is_bare_board(ref: str) -> bool:
    """Return whether a designator's class is one of the board itself: fiducial, hole, test land, logo, net tie."""
    return class_letters(ref) in _bare_board_letters()


def over(
    said: Message, severity: Severity, refs: Iterable[str], where: Iterable[Where] = (), parts: Iterable[Part] = ()
) -> Finding:
    """Return a finding over designators in natural order; the places are those given, then those of `parts`."""
    places = dict.fromkeys((*where, *(part.where for part in parts)))
    return Finding(said, severity, in_order(refs), tuple(places))


def folded(pairs: Sequence[tuple[str, str]]) -> str:
    """Return `what: R1, R2; other: R3` for (ref, what) pairs, in the order the whats first come."""
    groups: dict[str, list[str]] = {}
    for ref, what in pairs:
        groups.setdefault(what, []).append(ref)
    return "; ".join(f"{what}: {listing(in_order(refs))}" for what, refs in list(groups.items())[:SHOWN])
