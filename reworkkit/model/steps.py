"""Steps of the work: what a step changes at a place, which need a reading first, and how designators are given."""

import re
from collections.abc import Collection, Iterable

from reworkkit.model.designator import canonical

EFFECTS: dict[str, dict[str, str]] = {
    "desolder": {"place": "empty", "joint": "none", "made_by": "me"},
    "fit": {"place": "fitted", "part": "good", "made_by": "me"},
    "tack": {"place": "fitted", "joint": "tacked", "made_by": "me"},
    "solder": {"place": "fitted", "joint": "soldered", "made_by": "me"},
    "fasten": {"fastening": "finger_tight"},
    "torque_again": {"fastening": "torqued"},
}
"""What a step that was done says about its place: facet -> value."""

KEPT_STEPS = frozenset({"photograph", "discharge", "strip_coating", "bake", "wash", "dry"})
"""Steps that stay done when the part of a place comes off or turns out to be no good; all others are open again."""

POWERED_KINDS = frozenset({"program", "test"})
"""Steps with the board under power: someone can be hurt where a reading before them is missing."""

DISCHARGED_V = 2.0
"""A board may be worked on below this voltage (not the touch limit of 60 V). Common practice, from memory."""

_RANGE = re.compile(r"^(?P<letters>\D*?)(?P<first>\d{1,12})(?:-|\.\.|–)(?P<letters2>\D*?)(?P<last>\d{1,12})$")
_WIDEST = 9_999
"""A range of more numbers is no range anybody means, and is not written out."""


def expand_refs(written: Iterable[str], known: Collection[str]) -> tuple[list[str], list[str]]:
    """Return the designators that `written` names, and those that are not known; a known name is never a range.

    >>> expand_refs(["r1-r3", "J1-2"], ["R1", "R2", "R3", "J1-2"])
    (['R1', 'R2', 'R3', 'J1-2'], [])
    >>> expand_refs(["R9"], ["R1"]), expand_refs(["R1-R9999999"], ["R1"])
    (([], ['R9']), ([], ['R9999999']))
    """
    found: dict[str, None] = {}
    unknown: list[str] = []
    for word in (part for text in written for part in re.split(r"[,;]", text) if part.strip()):
        names = [canonical(word)] if canonical(word) in known else _of_range(canonical(word), known)
        for name in names:
            if name in known:
                found[name] = None
            else:
                unknown.append(name)
    return list(found), unknown


def _of_range(name: str, known: Collection[str]) -> list[str]:
    """Return the designators of a range; of one too wide to be meant, the ends that are not known."""
    match = _RANGE.match(name)
    if not match or match["letters2"] not in ("", match["letters"]):
        return [name]
    first, last = int(match["first"]), int(match["last"])
    if last > first + _WIDEST:
        ends = (f"{match['letters']}{number}" for number in (first, last))
        return [end for end in ends if end not in known] or [name]
    if last < first:
        return [name]
    return [f"{match['letters']}{number}" for number in range(first, last + 1)]
