"""A survey: what two looks at every place of one board said, and the routes they take."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import NamedTuple

from reworkkit.model.board import FoundState
from reworkkit.model.vocabulary import Side

CANNOT_SEE = "not inspected"
KINDS = ("fitted", "empty", CANNOT_SEE, "damaged", "wrong part", "reversed")
"""What a look can say of a place; each is a word of the fitted list as well."""
MARK = "# kept by reworkkit survey"
"""The row that tells a fitted list kept by a survey from one that a person wrote."""
LOOKS = ("first", "second", "third")
"""The third look settles what the first two disagree on."""


class Region(NamedTuple):
    """A stretch of the route: a side and third of the board, or a run of the list where nothing is placed.

    `across` and `down` count thirds from the upper left as seen from that side.
    """

    side: Side | None
    across: int
    down: int
    refs: tuple[str, ...]


class Seen(NamedTuple):
    """What one look said: the word as written, its kind (one of KINDS), and a remark."""

    word: str
    kind: str
    note: str = ""


class Looks(NamedTuple):
    """The looks at one place; the third settles what the first two disagree on."""

    first: Seen | None = None
    second: Seen | None = None
    third: Seen | None = None

    @property
    def differ(self) -> bool:
        """Return whether both looks saw the place and saw different things, and nothing has settled it."""
        said = [seen.kind for seen in (self.first, self.second) if seen and seen.kind != CANNOT_SEE]
        return self.third is None and len(set(said)) > 1

    @property
    def stands(self) -> Seen | None:
        """Return what counts now; where two looks disagree nobody knows, so the place counts as not inspected.

        >>> Looks(Seen("fitted, seen right", "fitted"), Seen("fitted", "fitted")).stands.word
        'fitted, seen right'
        >>> Looks(Seen("fitted", "fitted"), Seen("empty", "empty")).stands.word
        'not inspected'
        """
        if self.differ:
            return Seen(CANNOT_SEE, CANNOT_SEE)
        seen = [one for one in self if one is not None]
        sure = [one for one in seen if one.kind != CANNOT_SEE] or seen
        if not sure:
            return None
        kind = (self.third or sure[0]).kind
        alike = [one for one in seen if one.kind == kind]
        return Seen(alike[0].word, kind, "; ".join(dict.fromkeys(one.note for one in alike if one.note)))


@dataclass(frozen=True, slots=True)
class Survey:
    """The survey of one board as far as it is.

    `looks` holds what was said of each place; `inherited` what rows without a copy number say (they are written as
    they were); `kept` the rows of other copies and of places that are not asked about. `others` is the word of the
    line for places that are not named. `copy` is None where the fitted list has no copy numbers.
    """

    routes: tuple[tuple[Region, ...], tuple[Region, ...]]
    looks: Mapping[str, Looks]
    others: str = "not looked at"
    copy: int | None = None
    inherited: Mapping[str, Looks] = field(default_factory=dict)
    kept: tuple[FoundState, ...] = ()

    @property
    def places(self) -> tuple[str, ...]:
        """Return every place that is asked about, in the order of the first look."""
        return tuple(ref for region in self.routes[0] for ref in region.refs)

    @property
    def look(self) -> int:
        """Return which look the survey is at: 0, 1, then 2 where differences are settled; 3 when nothing is left."""
        return next((look for look in range(3) if self.waiting(look)), 3)

    def waiting(self, look: int) -> tuple[str, ...]:
        """Return the places that this look (0, 1 or 2) has not answered, in its order."""
        route = self.routes[min(look, 1)]
        return tuple(ref for region in route for ref in region.refs if self._waits(ref, look))

    def _waits(self, ref: str, look: int) -> bool:
        looks = self.looks.get(ref, Looks())
        return looks.differ if look == 2 else looks[look] is None

    @property
    def begun_again(self) -> bool:
        """Return whether the second look has at least one answer."""
        return any(looks.second for looks in self.looks.values())

    def region_of(self, ref: str, look: int) -> tuple[int, Region]:
        """Return the region of a place on the route of a look, and its number from 1."""
        route = self.routes[min(look, 1)]
        return next((n, region) for n, region in enumerate(route, 1) if ref in region.refs)

    @property
    def disagreements(self) -> tuple[str, ...]:
        """Return the places that the two looks disagree on and nothing has settled."""
        return tuple(ref for ref in self.places if self.looks.get(ref, Looks()).differ)

    def answered(self, ref: str, look: int, seen: Seen | None) -> "Survey":
        """Return the survey with one answer more, or with one taken back (`seen` is None)."""
        looks = self.looks.get(ref, Looks())._replace(**{LOOKS[look]: seen})
        return replace(self, looks={**self.looks, ref: looks})


class TakenIn(NamedTuple):
    """What a filled-in sheet or a page brought: answers, places it was silent on or the board does not have."""

    survey: Survey
    answers: int
    known: int
    differ: tuple[str, ...]
    strange: tuple[str, ...]


def kind_of(facets: Mapping[str, str]) -> str:
    """Return what a place counts as in a survey, from the facets of its state.

    >>> kind_of({"place": "fitted", "joint": "tacked"}), kind_of({"place": "fitted", "way_round": "reversed"})
    ('fitted', 'reversed')
    """
    place = facets.get("place", "fitted")
    if place != "fitted":
        return "empty" if place == "empty" else CANNOT_SEE
    part = facets.get("part", "good")
    if part in ("damaged", "wrong_part"):
        return part.replace("_", " ")
    return "reversed" if facets.get("way_round") == "reversed" else "fitted"
