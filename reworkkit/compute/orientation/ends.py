"""The two ends of a part, how they compare, and the record of what the circuit needs."""

from typing import NamedTuple

from reworkkit.model.connections import Connections
from reworkkit.model.messages import Message, NotJudged, message
from reworkkit.model.results import End, Potentials

EQUAL_V = 0.05
FIXED = ("rail", "sign", "made", "range")
STATED_V = 0.3
DROP_V = 1.1
"""By how much a switched net may pass its rail: the drop of a diode [V]."""
CLEAR_V = 1.0
"""A difference that a forward junction would not leave standing [V]."""
_PAIRS = {"plus": ("plus", "minus"), "anode": ("anode", "cathode")}


class Part2(NamedTuple):
    """A part with two ends."""

    ref: str
    kind: str
    a: End
    b: End

    @property
    def ways(self) -> tuple[tuple[End, End], tuple[End, End]]:
        """Both orders of the ends."""
        return (self.a, self.b), (self.b, self.a)

    @property
    def is_plus(self) -> bool:
        """Whether its terminals are called plus and minus."""
        return self.kind.startswith(("capacitor", "supercap", "battery", "buzzer"))


class Need(NamedTuple):
    """What the circuit needs: role -> (pin, net), empty where undecided; why; and the question that would decide."""

    roles: dict[str, tuple[str, str]]
    why: Message
    question: NotJudged | None = None
    wrong_type: Message | None = None
    """Said where the type of the part itself does not fit its lands."""


def at_least(high: End, low: End, drop_v: float = 0.0) -> bool:
    """Return whether one end is at or above the other in every state, and not simply equal to it.

    A net held by resistors alone is between the nets at their far ends. `drop_v` lets a stated range dip by the drop
    of a diode, as ranges of switched nets do, where it reaches clearly further on the other side.
    """
    if _is_between(high, low):
        return True
    if high.low_v is None or low.high_v is None:
        return False
    if high.low_v >= low.high_v - EQUAL_V:
        return not (reaches_up(high) <= low_floor(low) + EQUAL_V)
    ranged = drop_v > 0 and "range" in (high.kind, low.kind) and high.low_v >= low.high_v - drop_v
    return ranged and (reaches_up(high) - low.high_v) + (high.low_v - low_floor(low)) > 3 * drop_v


def _is_between(high: End, low: End) -> bool:
    """Return whether one end is only held by resistors from the other and from nets on its far side."""
    up = [net for net in low.between if net != high.net]
    if high.net in low.between and up and high.low_v is not None and high.low_v >= 0 and set(up) <= set(low.grounds):
        return True
    down = [net for net in high.between if net != low.net]
    volts = [dict(high.rails).get(net) for net in down]
    if low.net not in high.between or not down or low.high_v is None:
        return False
    return all(one is not None and one >= low.high_v - EQUAL_V for one in volts)


def clearly_above(high: End, low: End) -> bool:
    """Return whether both ends of a stated range are above those of another: across a capacitor their means are."""
    if not ({high.kind, low.kind} <= {"range", "rail", "ground"} and "range" in (high.kind, low.kind)):
        return False
    if None in (high.low_v, high.high_v, low.low_v, low.high_v):
        return False
    return low_floor(high) - low_floor(low) > STATED_V and reaches_up(high) - reaches_up(low) > STATED_V


def reaches_up(end: End) -> float:
    """Return the highest potential of an end; unlimited where open."""
    return float("inf") if end.high_v is None else end.high_v


def low_floor(end: End) -> float:
    """Return the lowest potential of an end; unlimited where open."""
    return float("-inf") if end.low_v is None else end.low_v


def is_positive(end: End) -> bool:
    """Return whether an end is a net above ground: a rail, or named so."""
    above = end.low_v is not None and (end.low_v > 0 or (end.low_v == 0 and end.kind == "sign"))
    return above and end.kind in FIXED


def is_negative(end: End) -> bool:
    """Return whether an end is a net below ground."""
    below = end.high_v is not None and (end.high_v < 0 or (end.high_v == 0 and end.kind == "sign"))
    return below and end.kind in FIXED


class Bench:
    """Connections and potentials of one board, with the few questions the rules share."""

    def __init__(self, wires: Connections, potentials: Potentials) -> None:
        self.wires = wires
        self.potentials = potentials
        self.levels = {one.net: one for one in potentials.nets}

    def ends(self, ref: str) -> tuple[End, ...]:
        """Return the ends of a part, itself taken out."""
        return self.potentials.ends.get(ref, ())

    def part(self, ref: str) -> Part2 | None:
        """Return a part with two ends, or None."""
        ends = self.ends(ref)
        return Part2(ref, self.wires.kind(ref), ends[0], ends[1]) if len(ends) == 2 else None

    def pin(self, ref: str, net: str) -> str:
        """Return the number of the pin of a part on a net."""
        return next(pin.number for pin in self.wires.pins(ref) if pin.net == net)

    def first_at(self, part: Part2, end: End, why: Message) -> Need:
        """Return the need that anode or plus is at an end."""
        first, second = _PAIRS["plus" if part.is_plus else "anode"]
        other = part.b if end is part.a else part.a
        roles = {first: (self.pin(part.ref, end.net), end.net), second: (self.pin(part.ref, other.net), other.net)}
        return Need(roles, why)

    def cathode_at(self, part: Part2, end: End, why: Message) -> Need:
        """Return the need that the cathode is at an end."""
        return self.first_at(part, part.b if end is part.a else part.a, why)

    def typed(self, need: Need, pins: dict[str, str], ref: str) -> Need:
        """Return a need for a part whose type fixes its pins; where its lands do not fit, that is said."""
        nets = {role: (number, self.wires.board.pins[(ref, number)].net or "") for role, number in pins.items()}
        if not need.roles:
            return need
        wrong = any(need.roles[role][1] != net for role, (_, net) in nets.items() if role in need.roles)
        told = message("polarity-type-against-circuit", ref=ref, pin=pins["anode"], net=need.roles["anode"][1])
        return need._replace(roles=nets, wrong_type=told if wrong else None)


def asked(part: Part2) -> Need:
    """Return the open need of a part with the question that would decide it, and the line to answer with."""
    unknown = [end for end in (part.a, part.b) if end.low_v is None and end.high_v is None and end.kind != "both"]
    if unknown:
        net = unknown[0].net
        why = message("polarity-open-potential", ref=part.ref, net=net)
        question = message("polarity-ask-range", ref=part.ref, net=net)
        return Need({}, why, NotJudged((part.ref,), question, unknown[0].why, f'[nets]\n"{net}" = "0 V to 5 V"'))
    nets = {"net": part.a.net, "other": part.b.net}
    if part.kind in ("diode", "diode_schottky"):
        why = message("polarity-open-purpose", ref=part.ref, **nets)
        line = f'[parts]\n{part.ref} = {{ role = "clamp" }}'
        return Need({}, why, NotJudged((part.ref,), message("polarity-ask-role", ref=part.ref), why, line))
    why = message("polarity-open-overlap", ref=part.ref, **nets)
    wide = next((end for end in (part.a, part.b) if end.kind not in ("rail", "ground")), part.a)
    line = f'[nets]\n"{wide.net}" = "1 V to 5 V"'
    return Need({}, why, NotJudged((part.ref,), message("polarity-ask-range", ref=part.ref, net=wide.net), why, line))
