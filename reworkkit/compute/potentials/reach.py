"""The range of a net from what its neighbours can bring to it, a part left out; stops at nets whose level is known.

A diode of known direction only lifts its cathode and only pulls down its anode; one of unknown direction joins both.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from math import inf
from typing import NamedTuple

from reworkkit.compute.potentials.bounds import Bounds
from reworkkit.compute.potentials.levels import Level, Levels
from reworkkit.compute.potentials.spans import Spans
from reworkkit.model.connections import BREAKDOWN, GENERAL_DIODES, JUNCTIONS, LINKS, OUTSIDE, TRANSISTORS, Connections
from reworkkit.model.messages import Message, message
from reworkkit.model.netlist import Pin

FURTHEST = 60
"""A cluster of more nets than this is not followed: its range stays unknown."""
_MOST_PUMP_PINS = 12
_DIODES = JUNCTIONS | GENERAL_DIODES | {"diode_dual"}
Known = Mapping[str, tuple[str, str]]
"""Part -> (net of its anode, net of its cathode), where its direction is known."""


class Way(NamedTuple):
    """Which ends of a range something can widen: downwards, upwards or both."""

    down: bool
    up: bool


BOTH, UP, DOWN = Way(True, True), Way(False, True), Way(True, False)


@dataclass
class Hull:
    """The range found so far, and what it rests on. `floor_v` and `ceiling_v` are limits that diodes or chips hold."""

    low_v: float = inf
    high_v: float = -inf
    chain: list[str] = field(default_factory=list)
    low_open: list[str] = field(default_factory=list)
    high_open: list[str] = field(default_factory=list)
    floor_v: float = -inf
    ceiling_v: float = inf
    driven: bool = False
    idle: bool = False
    """Whether plugs were taken as open."""
    touched: set[str] = field(default_factory=set)
    """All parts looked at: with one of them left out or of known direction the range may be another."""

    @property
    def unknown(self) -> list[str]:
        """Return the parts whose behaviour leaves an end open."""
        return [*self.low_open, *self.high_open]

    def take(self, low_v: float | None, high_v: float | None, way: Way = BOTH) -> None:
        """Widen the range; None is an open end."""
        if way.down:
            self.low_v = min(self.low_v, -inf if low_v is None else low_v)
        if way.up:
            self.high_v = max(self.high_v, inf if high_v is None else high_v)

    def leave_open(self, ref: str, way: Way) -> None:
        """Note a part that may bring anything."""
        if way.down:
            self.low_open.append(ref)
        if way.up:
            self.high_open.append(ref)

    @property
    def ends(self) -> tuple[float | None, float | None]:
        """The range with None for open ends; both None where nothing was found."""
        low = -inf if self.low_open or self.low_v == inf else self.low_v
        high = inf if self.high_open or self.high_v == -inf else self.high_v
        low, high = max(low, self.floor_v), min(high, self.ceiling_v)
        if low > high:
            return None, None
        return (None if low == -inf else low), (None if high == inf else high)


class Reach:
    """Finds ranges on one board."""

    def __init__(self, wires: Connections, levels: Levels, spans: Spans, known: Known | None = None) -> None:
        self.wires = wires
        self.levels = levels
        self.spans = spans
        self.known: dict[str, tuple[str, str]] = dict(known or {})
        self.bounds = Bounds(wires, levels, spans)
        self._whole: dict[tuple[str, bool], Hull] = {}
        self._without: dict[tuple[str, str, bool], Hull] = {}

    def learn(self, known: Known) -> None:
        """Take over the directions known now, and forget the ranges they may change."""
        changed = {ref for ref in {*known, *self.known} if known.get(ref) != self.known.get(ref)}
        self.known = dict(known)
        self._whole = {key: hull for key, hull in self._whole.items() if changed.isdisjoint(hull.touched)}
        self._without = {key: hull for key, hull in self._without.items() if changed.isdisjoint(hull.touched)}

    def level_or_hull(self, net: str, without: str, idle: bool = False) -> tuple[Level, Hull | None]:
        """Return the level of a net: known by itself, or derived from its neighbours with a part left out.

        `idle` takes every plug as open: what the board itself brings to the net.
        """
        if level := self.levels.of(net):
            return level, None
        hull = self.hull(net, without, idle)
        low, high = hull.ends
        if low is None and high is None:
            return Level(None, None, "unknown", self._why_unknown(net, hull)), hull
        return Level(low, high, "derived", message("potential-derived", net=net, chain=", ".join(hull.chain[:4]))), hull

    def _why_unknown(self, net: str, hull: Hull) -> Message:
        if hull.unknown:
            return message("potential-open", net=net, refs=", ".join(dict.fromkeys(hull.unknown[:4])))
        return message("potential-floats", net=net)

    def hull(self, net: str, without: str, idle: bool = False) -> Hull:
        """Return the hull of all that can hold or drive a net while `without` is not fitted."""
        whole = self._whole.get((net, idle))
        if whole is None:
            whole = self._whole[(net, idle)] = self._hull(net, "", idle)
        if without not in whole.touched:
            return whole
        key = (net, without, idle)
        if key not in self._without:
            self._without[key] = self._hull(net, without, idle)
        return self._without[key]

    def _hull(self, net: str, without: str, idle: bool) -> Hull:
        found = Hull(idle=idle)
        seen: dict[str, Way] = {net: BOTH}
        queue = [(net, BOTH)]
        while queue:
            here, way = queue.pop(0)
            if len(seen) > FURTHEST:
                found.leave_open(here, BOTH)
                break
            if here != net and (level := self.levels.of(here)):
                found.take(level.low_v, level.high_v, way)
                found.chain.append(here)
                continue
            if self._pumped(here, without):
                found.leave_open(here, way)
            for other, more in self._from(here, without, found, way):
                before = seen.get(other, Way(False, False))
                widened = Way(more.down and not before.down, more.up and not before.up)
                if widened.down or widened.up:
                    seen[other] = Way(before.down or more.down, before.up or more.up)
                    queue.append((other, widened))
        found.floor_v = self._limit(net, without, found, up=False)
        found.ceiling_v = self._limit(net, without, found, up=True)
        if found.low_v == inf and not found.low_open and found.floor_v == -inf and found.high_v > -inf:
            found.low_open.append(net)
        return found

    def _from(self, net: str, without: str, found: Hull, way: Way) -> list[tuple[str, Way]]:
        nets: list[tuple[str, Way]] = []
        for pin in self.wires.on(net):
            found.touched.add(pin.ref)
            if pin.ref == without:
                continue
            span, kind = self.spans.of(pin), self.wires.kind(pin.ref)
            if not span.known:
                self._open(pin, found, way)
            elif not span.nets and (span.low_v is not None or span.high_v is not None):
                found.take(span.low_v, span.high_v, way)
                found.chain.append(pin.ref)
                found.driven = True
            elif span.nets:
                nets += self._through(pin, span.nets, way)
                found.driven |= kind in TRANSISTORS or kind == "optocoupler"
                found.chain.append(pin.ref)
        return nets

    def _open(self, pin: Pin, found: Hull, way: Way) -> None:
        """Note that a part may bring anything; a plug at most what the chips on the net bear."""
        if self.wires.kind(pin.ref) not in OUTSIDE:
            found.leave_open(pin.ref, way)
            return
        if found.idle:
            return
        low, high = self.bounds.plug(pin.net or "")
        found.leave_open(pin.ref, Way(way.down and low is None, way.up and high is None))
        found.take(low, high, Way(way.down and low is not None, way.up and high is not None))

    def _through(self, pin: Pin, nets: tuple[str, ...], way: Way) -> Iterator[tuple[str, Way]]:
        direction = None if self.wires.kind(pin.ref) in BREAKDOWN else self.known.get(pin.ref)
        for net in nets:
            if direction is None or {pin.net, net} != set(direction):
                yield net, way
            elif pin.net == direction[1] and way.up:
                yield net, UP
            elif pin.net == direction[0] and way.down:
                yield net, DOWN

    def _limit(self, net: str, without: str, hull: Hull, *, up: bool) -> float:
        """Return the limit a net is held at by diodes of known direction, links and chips: never below, or above."""
        found = -inf if not up else inf
        seen, queue = {net}, [net]
        while queue:
            here = queue.pop()
            if here != net and (level := self.levels.of(here)):
                end = level.high_v if up else level.low_v
                if end is not None:
                    found = min(found, end) if up else max(found, end)
                continue
            if not up and (own := self.bounds.floor(here)) is not None:
                found = max(found, own)
            hull.touched.update(self.wires.refs_on(here))
            for other in self._stiff(here, without, up):
                if other not in seen and len(seen) < FURTHEST:
                    seen.add(other)
                    queue.append(other)
        return found

    def _stiff(self, net: str, without: str, up: bool) -> Iterator[str]:
        for ref in self.wires.refs_on(net, without):
            if self.wires.kind(ref) in LINKS:
                yield from self.wires.through(ref, net)
                continue
            direction = self.known.get(ref)
            if direction and direction[0 if up else 1] == net and self.wires.kind(ref) != "led":
                yield direction[1 if up else 0]

    def _pumped(self, net: str, without: str) -> bool:
        """Return whether only diodes and capacitors hold a net: its level is what they pump."""
        held, coupled = len(self.wires.on(net)) > _MOST_PUMP_PINS, False
        if held:
            return False
        for pin in self.wires.on(net):
            kind = self.wires.kind(pin.ref)
            if pin.ref == without or kind in _DIODES:
                continue
            if kind.startswith("capacitor"):
                ends = self.wires.beyond(pin.ref, net)
                coupled |= any(self.levels.of(other) is None for other in ends)
            elif kind != "test_point":
                held = True
        return coupled and not held
