"""The range of a net from what its neighbours can bring to it, a part left out; stops at nets whose level is known."""

from dataclasses import dataclass, field
from math import inf

from reworkkit.compute.potentials.levels import Level, Levels
from reworkkit.compute.potentials.spans import Spans
from reworkkit.model.connections import GENERAL_DIODES, JUNCTIONS, TRANSISTORS, Connections
from reworkkit.model.messages import Message, message

FURTHEST = 60
"""A cluster of more nets than this is not followed: its range stays unknown."""
_DIODES = JUNCTIONS | GENERAL_DIODES | {"diode_dual"}


@dataclass
class Hull:
    """The range found so far, and what it rests on."""

    low_v: float = inf
    high_v: float = -inf
    chain: list[str] = field(default_factory=list)
    unknown: list[str] = field(default_factory=list)
    driven: bool = False
    resistive_only: bool = True

    def take(self, low_v: float | None, high_v: float | None) -> None:
        """Widen the range; None is an open end."""
        self.low_v = min(self.low_v, -inf if low_v is None else low_v)
        self.high_v = max(self.high_v, inf if high_v is None else high_v)

    @property
    def ends(self) -> tuple[float | None, float | None]:
        """The range with None for open ends; both None where nothing was found."""
        if self.low_v > self.high_v or self.unknown:
            return None, None
        return (None if self.low_v == -inf else self.low_v), (None if self.high_v == inf else self.high_v)


class Reach:
    """Finds ranges on one board."""

    def __init__(self, wires: Connections, levels: Levels, spans: Spans) -> None:
        self.wires = wires
        self.levels = levels
        self.spans = spans

    def level_or_hull(self, net: str, without: str) -> tuple[Level, Hull | None]:
        """Return the level of a net: known by itself, or derived from its neighbours with a part left out."""
        if level := self.levels.of(net):
            return level, None
        hull = self.hull(net, without)
        low, high = hull.ends
        if low is None and high is None:
            return Level(None, None, "unknown", self._why_unknown(net, hull)), hull
        return Level(low, high, "derived", message("potential-derived", net=net, chain=", ".join(hull.chain[:4]))), hull

    def _why_unknown(self, net: str, hull: Hull) -> Message:
        if hull.unknown:
            return message("potential-open", net=net, refs=", ".join(dict.fromkeys(hull.unknown[:4])))
        return message("potential-floats", net=net)

    def hull(self, net: str, without: str) -> Hull:
        """Return the hull of all that can hold or drive a net while `without` is not fitted."""
        found, seen, queue = Hull(), {net}, [net]
        while queue:
            here = queue.pop(0)
            if len(seen) > FURTHEST:
                found.unknown.append(here)
                break
            if here != net and (level := self.levels.of(here)):
                found.take(level.low_v, level.high_v)
                found.chain.append(here)
                continue
            if self._pumped(here, without):
                found.unknown.append(here)
            for other in self._from(here, without, found):
                if other not in seen:
                    seen.add(other)
                    queue.append(other)
        return found

    def _from(self, net: str, without: str, found: Hull) -> list[str]:
        nets: list[str] = []
        for pin in self.wires.on(net):
            if pin.ref == without:
                continue
            span, kind = self.spans.of(pin), self.wires.kind(pin.ref)
            if not span.known:
                found.unknown.append(pin.ref)
            elif not span.nets and (span.low_v is not None or span.high_v is not None):
                found.take(span.low_v, span.high_v)
                found.chain.append(pin.ref)
                found.driven = True
            elif span.nets:
                nets += span.nets
                found.driven |= kind in TRANSISTORS or kind == "optocoupler"
                found.resistive_only &= kind == "resistor"
                found.chain.append(pin.ref)
        return nets

    def _pumped(self, net: str, without: str) -> bool:
        """Return whether only diodes and capacitors hold a net: its level is what they pump."""
        held, coupled = False, False
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
