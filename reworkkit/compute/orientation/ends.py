"""The two ends of a part, how they compare, and the record of what the circuit needs."""

import re
from collections.abc import Mapping
from functools import cache
from typing import NamedTuple

from reworkkit import tables
from reworkkit.compute.orientation.transistors import npn
from reworkkit.model.connections import JUNCTIONS, Connections
from reworkkit.model.messages import Message, NotJudged, message
from reworkkit.model.results import End, Potentials
from reworkkit.tables.transistors import transistor_type

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
    kinds = {end.kind if end.kind != "derived" or not end.driven else "driven" for end in (high, low)}
    if not (kinds <= {"range", "rail", "ground", "driven"} and "range" in kinds):
        return False
    if None in (high.low_v, high.high_v, low.low_v, low.high_v):
        return False
    return low_floor(high) - low_floor(low) > STATED_V and reaches_up(high) - reaches_up(low) > STATED_V


def mostly_above(high: End, low: End) -> bool:
    """Return whether an end is above another but for the looseness of ranges as people state them."""
    ends = (high, low)
    known = all(end.kind in ("range", "rail", "made", "ground") or _is_settled(end) for end in ends)
    if not known or all(end.kind != "range" for end in ends):
        return False
    if high.high_v is None or low.low_v is None or low.high_v is None or high.low_v is None:
        return False
    over, under = high.high_v - low.low_v, low.high_v - high.low_v
    return over > _MUCH_V and under <= max(_LOOSE_V, _LOOSE * over)


_MUCH_V, _LOOSE_V, _LOOSE = 3.0, 0.5, 0.15


def _is_settled(end: End) -> bool:
    return end.kind == "derived" and not end.unknown


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


_LINE = re.compile(r"RS-?(?:422|485)|\bCAN\b", re.IGNORECASE)
Known = Mapping[str, tuple[str, str]]
"""Part -> (net of its anode, net of its cathode), where its direction is known."""


class Bench:
    """Connections and potentials of one board, with the few questions the rules share."""

    def __init__(self, wires: Connections, potentials: Potentials, known: Known | None = None) -> None:
        self.wires = wires
        self.potentials = potentials
        self.levels = {one.net: one for one in potentials.nets}
        self.known: Known = known or {}
        self.supposed: dict[str, str] = {}
        """Roles tried for a question, by part."""
        self.above: set[tuple[str, str]] = set()
        """Pairs of nets of which the first is never below the second: plus and minus of decided bridges."""
        self.grounded = any(one.why.slug == "potential-ground" for one in potentials.nets)

    def said(self, ref: str) -> str:
        """Return what a part is said to be there for; empty where nothing is."""
        return self.supposed.get(ref) or self.wires.facts(ref).role or ""

    def role(self, ref: str, number: str) -> str:
        """Return the role of a pin, in capitals; empty where it is not known."""
        return self.potentials.roles.get(ref, {}).get(number, "")

    def has(self, net: str, kinds: frozenset[str], without: str = "") -> bool:
        """Return whether a part of one of the kinds is on a net."""
        return any(self.wires.kind(ref) in kinds for ref in self.wires.refs_on(net, without))

    def channel(self, ref: str) -> str | None:
        """Return n or p of a MOSFET: by words or number, else by its source at ground or at a positive rail."""
        part = self.wires.board.parts.get(ref)
        if part is None or part.identity.kind not in ("mosfet", "igbt"):
            return None
        if kind := transistor_type(part.identity):
            return kind
        sources = {pin.net for pin in self.wires.pins(ref) if self.role(ref, pin.number) == "S" and pin.net}
        sides = {self._side(net) for net in sources}
        found = {"down": "n", "up": "p"}.get(next(iter(sides)) or "") if len(sides) == 1 else None
        return found or ("n" if self._is_bootstrapped(ref) else None)

    def _is_bootstrapped(self, ref: str) -> bool:
        """Return whether a high-side driver with a bootstrap drives a gate: only an n-channel type needs that."""
        gates = [pin.net for pin in self.wires.pins(ref) if self.role(ref, pin.number) == "G" and pin.net]
        beyond = [far for net in gates for one in self.wires.refs_on(net) for far in self._through(one, net)]
        roles = {self.role(pin.ref, pin.number) for net in (*gates, *beyond) for pin in self.wires.on(net)}
        return bool(roles & {"HO", "HG"})

    def _through(self, ref: str, net: str) -> tuple[str, ...]:
        return self.wires.beyond(ref, net) if self.wires.kind(ref) in ("resistor", "ferrite_bead") else ()

    def is_usual_coupler(self, ref: str) -> bool:
        """Return whether nothing but common practice tells the pins of an optocoupler."""
        names = {(pin.name or "").upper() for pin in self.wires.pins(ref)}
        names |= {role.upper() for role in self.wires.facts(ref).pins}
        return not (names & _ANODES or _type_is_listed(self.wires.text(ref)))

    def pull(self, net: str, without: str) -> str | None:
        """Return up or down where all resistors on a net lead to positive rails, or all to ground; else None.

        Through a switch that is alone on the net the other side of it counts.
        """
        level = self.levels.get(net)
        if level and level.band_v and level.why.slug not in ("potential-derived", "potential-stated"):
            return None
        if level and level.band_v and level.band_v.nominal is not None and level.why.slug == "potential-stated":
            return None
        parts = [ref for ref in self.wires.refs_on(net, without) if self.wires.kind(ref) != "test_point"]
        if len(parts) == 1 and self.wires.kind(parts[0]) == "switch":
            beyond = self.wires.beyond(parts[0], net)
            return self.pull(beyond[0], parts[0]) if len(beyond) == 1 else None
        resistors = [ref for ref in parts if self.wires.kind(ref) == "resistor"]
        networks = [ref for ref in parts if self.wires.kind(ref) == "resistor_network"]
        found = {self._side(far) or self._junction(far) for ref in resistors for far in self._far(ref, net)}
        found |= {self._side(far) for ref in networks for far in self._bus(ref)}
        return next(iter(found)) if len(found) == 1 else None

    def _bus(self, ref: str) -> tuple[str, ...]:
        """Return the one rail or ground of a resistor network; its own nets where there is none or several."""
        rails = tuple(net for net in self.wires.nets(ref) if self._side(net))
        return rails if len(rails) == 1 else self.wires.nets(ref)

    def _far(self, ref: str, net: str) -> tuple[str, ...]:
        return self.wires.beyond(ref, net) or (net,)

    def _junction(self, net: str) -> str | None:
        """Return where the base junction of the one transistor driven at a net pulls it: NPN down, PNP up."""
        found = set()
        for pin in self.wires.on(net):
            if self.role(pin.ref, pin.number) == "B" and (is_npn := npn(self.wires, pin.ref)) is not None:
                emitters = {p.net for p in self.wires.pins(pin.ref) if self.role(pin.ref, p.number) == "E" and p.net}
                want = "down" if is_npn else "up"
                found.add(want if {self._side(one) for one in emitters} == {want} else None)
        return next(iter(found)) if len(found) == 1 else None

    def _side(self, net: str) -> str | None:
        level = self.levels.get(net)
        if level is None or level.band_v is None or level.why.slug in ("potential-derived", "potential-above-ground"):
            return None
        if level.why.slug == "potential-ground":
            return "down"
        low = level.band_v.low
        return (
            "up"
            if low is not None and (low > 0 or level.why.slug in ("potential-named-plus", "potential-in"))
            else None
        )

    def above_ground(self, end: End) -> bool:
        """Return whether the plugs that feed a net bring nothing below ground, by the board or by their nets."""
        if self.potentials.one_sided:
            return not self._is_line(end.net)
        return bool(end.unknown) and end.plugs_only and all(self._is_above(ref) for ref in end.unknown)

    def _is_line(self, net: str) -> bool:
        """Return whether a transceiver of a differential line is on a net: the far end may bring it below ground."""
        parts = [self.wires.board.parts.get(ref) for ref in self.wires.refs_on(net)]
        return any(part and _LINE.search(f"{part.identity.description} {part.identity.value.text}") for part in parts)

    def _is_above(self, plug: str) -> bool:
        """Return whether a plug carries a positive rail, and no net that is known or called below ground."""
        levels = [level for net in self.wires.nets(plug) if (level := self.levels.get(net))]
        slugs = {level.why.slug for level in levels}
        bands = [level.band_v for level in levels if level.band_v and level.why.slug != "potential-derived"]
        below = any(band.low is None or band.low < -1.0 for band in bands)
        rails = any(band.nominal is not None and band.nominal > 0 for band in bands)
        return rails and not below and not slugs & {"potential-named-both", "potential-named-minus"}

    def clamped(self, net: str, without: str) -> tuple[float | None, float | None]:
        """Return the level a diode of known direction keeps a net from falling below, and from rising above."""
        floors: list[float] = []
        ceilings: list[float] = []
        for ref in self.wires.refs_on(net, without):
            anode, cathode = self.known.get(ref, ("", ""))
            far = anode if cathode == net else cathode
            level = self.levels.get(far)
            if far and level and level.band_v and level.band_v.nominal is not None:
                (floors if cathode == net else ceilings).append(level.band_v.nominal)
        return (max(floors) if floors else None), (min(ceilings) if ceilings else None)

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


def groundless(bench: Bench, part: Part2) -> Need:
    """Return the open need of a part on a board whose ground is not known; the net with most pins is the example."""
    why = message("polarity-open-no-ground", ref=part.ref)
    nets = bench.wires.board.nets
    busiest = max(nets, key=lambda net: (len(nets[net].pins), net), default="")
    line = f'[board]\nground = ["{busiest}"]'
    told = NotJudged((part.ref,), message("polarity-ask-ground"), message("polarity-no-ground"), line)
    return Need({}, why, told)


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


@cache
def _type_is_listed(text: str) -> bool:
    """Return whether the table of types has the pins of an optocoupler."""
    return any("=K" in row["roles"] and re.match(row["pattern"], text) for row in tables.rows("chip_pins"))


_ANODES = frozenset({"A", "AN", "ANODE"})
_CATHODES = frozenset({"K", "C", "KA", "CA", "CATHODE", "KATHODE"})


def named_direction(wires: Connections, ref: str) -> tuple[str, str] | None:
    """Return (net of the anode, net of the cathode) of a two-ended diode by the names of its pins, or None."""
    pins = wires.pins(ref)
    if len(pins) != 2 or wires.kind(ref) not in JUNCTIONS:
        return None
    names = {(pin.name or pin.number).upper(): pin.net for pin in pins}
    anode = next((net for name, net in names.items() if name in _ANODES), None)
    cathode = next((net for name, net in names.items() if name in _CATHODES), None)
    return (anode, cathode) if anode and cathode and anode != cathode else None
