"""One physical board, now: events, the state of each place, and the situation folded from them."""

from dataclasses import dataclass, field
from typing import Any

from reworkkit.model.measuring import Reading
from reworkkit.model.messages import Message
from reworkkit.model.vocabulary import (
    Basis,
    EventKind,
    Fastening,
    JointState,
    MadeBy,
    PartState,
    Place,
    SiteDamage,
    WayRound,
)


@dataclass(frozen=True, slots=True)
class Event:
    """Something that happened. `id` is unique for ever; `detail` is plain JSON data; `undoes` names an event id."""

    seq: int
    id: str
    copy: int
    at: str
    who: str
    device: str
    kind: EventKind
    subject: str
    detail: dict[str, object]
    undoes: str | None = None

    def as_data(self) -> dict[str, Any]:
        """Return the event as plain data, as page, export and documents write it."""
        return {
            "seq": self.seq,
            "id": self.id,
            "copy": self.copy,
            "at": self.at,
            "who": self.who,
            "device": self.device,
            "kind": self.kind.value,
            "subject": self.subject,
            "detail": self.detail,
            "undoes": self.undoes,
        }


@dataclass(frozen=True, slots=True)
class PlaceState:
    """One place of one physical board: six facets, the steps done, a remark, and since which event."""

    ref: str
    place: Place = Place.NOT_INSPECTED
    joint: JointState = JointState.NONE
    part: PartState = PartState.GOOD
    way_round: WayRound = WayRound.NOT_CHECKED
    fastening: Fastening = Fastening.NONE
    made_by: MadeBy = MadeBy.FACTORY
    steps_done: frozenset[str] = frozenset()
    note: str = ""
    since: str | None = None
    changed: int | None = None
    """Sequence number of the last event that changed this place by work; None while it stands as found."""


@dataclass(frozen=True, slots=True)
class SiteRecord:
    """Damage to or repair of lands, barrels and tracks; it outlives the part."""

    point: str
    kind: SiteDamage
    text: str
    since: str


@dataclass(frozen=True, slots=True)
class Substitution:
    """A part used in place of the listed one: accepted or rejected, with the reason and what follows from it."""

    ref: str
    candidate: str
    reason: str
    verdict: str
    accepted: bool
    consequences: tuple[Message, ...]
    event: str


@dataclass(frozen=True, slots=True)
class Situation:
    """How one copy stands, from the files or from the job up to event `at_event`."""

    copy: int
    basis: Basis
    at_event: int | None
    states: dict[str, PlaceState]
    """A place without a state is not inspected."""
    readings: tuple[Reading, ...] = ()
    substitutions: tuple[Substitution, ...] = ()
    confirmed: frozenset[str] = frozenset()
    reworked: frozenset[str] = frozenset()
    sites: tuple[SiteRecord, ...] = ()
    looked: bool = field(default=True)
    """False where neither a fitted list nor the job says anything of any place: nobody has looked."""
