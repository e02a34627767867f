"""The words for the state of a place, the facets they set, and which of two words is the careful one."""

from dataclasses import replace

from reworkkit.model.job import PlaceState
from reworkkit.model.vocabulary import Fastening, JointState, MadeBy, PartState, Place, WayRound

Facets = dict[str, str]

_FITTED: Facets = {"place": "fitted", "joint": "soldered", "part": "good"}
_TACKED: Facets = {"place": "fitted", "joint": "tacked"}
_LIFTED: Facets = {"place": "fitted", "joint": "leg_lifted"}
_EMPTY: Facets = {"place": "empty", "joint": "none"}
_REMOVED: Facets = {"place": "empty", "joint": "none", "part": "removed_on_purpose"}
_LINK: Facets = {"place": "empty", "part": "temporary_link"}
_DAMAGED: Facets = {"place": "fitted", "part": "damaged"}
_WRONG: Facets = {"place": "fitted", "part": "wrong_part"}
_REVERSED: Facets = {"place": "fitted", "way_round": "reversed"}
_UNSEEN: Facets = {"place": "not_inspected"}

WORDS: dict[str, Facets] = {
    "fitted": _FITTED,
    "soldered": _FITTED,
    "tacked": _TACKED,
    "leg lifted": _LIFTED,
    "lifted leg": _LIFTED,
    "missing": _EMPTY,
    "empty": _EMPTY,
    "removed": _REMOVED,
    "removed on purpose": _REMOVED,
    "link": _LINK,
    "temporary link": _LINK,
    "damaged": _DAMAGED,
    "burnt": _DAMAGED,
    "wrong part": _WRONG,
    "wrong value": _WRONG,
    "good": {"part": "good"},
    "reversed": _REVERSED,
    "seen right": {"way_round": "seen"},
    "measured right": {"way_round": "measured"},
    "not checked": {"way_round": "not_checked"},
    "finger-tight": {"fastening": "finger_tight"},
    "finger tight": {"fastening": "finger_tight"},
    "torqued": {"fastening": "torqued"},
    "loose": {"fastening": "none"},
    "not inspected": _UNSEEN,
    "unknown": _UNSEEN,
    "factory": {"made_by": "factory"},
    "earlier repair": {"made_by": "earlier_repair"},
    "mine": {"made_by": "me"},
}
"""Word -> facets it sets. A facet that is not named keeps its value."""

SITE_WORDS = {
    "land lost": "land_lost",
    "barrel lost": "barrel_lost",
    "track cut": "track_cut",
    "wire repair": "wire_repair",
}
"""Words for damage to, or repair of, the board itself: they make a record of their own that outlives the part."""

FACETS = {
    "place": Place,
    "joint": JointState,
    "part": PartState,
    "way_round": WayRound,
    "fastening": Fastening,
    "made_by": MadeBy,
}

_CAREFUL: dict[str, tuple[str, ...]] = {
    "place": ("not_inspected", "empty", "fitted"),
    "joint": ("leg_lifted", "none", "tacked", "soldered"),
    "part": ("damaged", "wrong_part", "temporary_link", "removed_on_purpose", "good"),
    "way_round": ("reversed", "not_checked", "seen", "measured", "not_needed"),
    "fastening": ("finger_tight", "none", "torqued"),
    "made_by": ("earlier_repair", "factory", "me"),
    "done": ("undone", "done"),
}


def plain_word(written: str) -> str:
    """Return a state word as the map has it: lower case, single blanks, hyphens and underscores as blanks.

    >>> plain_word("Leg_Lifted"), plain_word("finger-tight")
    ('leg lifted', 'finger tight')
    """
    return " ".join(written.replace("_", " ").replace("-", " ").lower().split())


def facets_of(word: str) -> Facets | None:
    """Return the facets that a word sets, or None where nobody knows the word.

    >>> facets_of("tacked")
    {'place': 'fitted', 'joint': 'tacked'}
    """
    return WORDS.get(plain_word(word))


def careful(facet: str, one: str, other: str) -> str:
    """Return the more careful of two values of a facet (or of `done` and `undone`): open over closed.

    >>> careful("joint", "soldered", "tacked"), careful("done", "done", "undone")
    ('tacked', 'undone')
    """
    return min(one, other, key=_CAREFUL[facet].index)


def with_facet(state: PlaceState, facet: str, value: str) -> PlaceState:
    """Return the state with one facet changed; KeyError or ValueError where facet or value does not exist."""
    return replace(state, **{facet: FACETS[facet](value)})  # type: ignore[arg-type]
