"""The fewest probes that prove a net, by the spanning argument.

Pins that were not disturbed hang together as before: they are one island. Every doubtful pin is an island of its own,
until a reading or a wire joins it to another. A probe that beeps joins two islands and no more, so islands - 1 probes
are needed; a star from one good pin makes do with exactly that.
"""

from collections.abc import Callable, Iterable
from typing import NamedTuple

Pair = tuple[str, str]
Distance = Callable[[str, str], float]


class NetDoubt(NamedTuple):
    """One net: its pins, the best to hold a probe on first; which are doubtful, lost, read as joined or as parted."""

    pins: tuple[str, ...]
    doubtful: frozenset[str]
    lost: frozenset[str] = frozenset()
    joined: tuple[Pair, ...] = ()
    parted: tuple[Pair, ...] = ()


class NetProof(NamedTuple):
    """Probes as (pin in doubt, pin to hold the other probe on), and wires as (pin cut off, where to run it)."""

    probes: tuple[Pair, ...]
    wires: tuple[Pair, ...]


class Islands:
    """Pins that hang together, as disjoint sets."""

    def __init__(self, pins: Iterable[str]) -> None:
        self._above = {pin: pin for pin in pins}

    def of(self, pin: str) -> str:
        """Return the pin that stands for the island of `pin`."""
        while self._above[pin] != pin:
            pin = self._above[pin]
        return pin

    def join(self, one: str, other: str) -> None:
        """Join the islands of two pins."""
        self._above[self.of(one)] = self.of(other)

    def apart(self, one: str, other: str) -> bool:
        """Return whether two pins stand on different islands."""
        return self.of(one) != self.of(other)


def fewest_probes(net: NetDoubt, distance: Distance) -> NetProof:
    """Return the fewest probes that prove every pin of a net joined to it, and the wires where a pin is cut off.

    A lost pin, and a pair that was read open, take a wire (the shortest from the pin cut off) and no probe: what a
    wire joins counts as joined.

    >>> fewest_probes(NetDoubt(("TP1.1", "C1.1", "U1.1", "U1.2"), frozenset({"U1.1", "U1.2"})), lambda a, b: 1.0)
    NetProof(probes=(('U1.1', 'TP1.1'), ('U1.2', 'TP1.1')), wires=())
    """
    islands = Islands(net.pins)
    sure = [pin for pin in net.pins if pin not in net.doubtful and pin not in net.lost]
    for pin in sure[1:]:
        islands.join(pin, sure[0])
    for one, other in net.joined:
        islands.join(one, other)
    hub = _hub(net, sure)
    cut_off = [one if islands.apart(one, hub) else other for one, other in net.parted]
    wires = _wires(cut_off, net, islands, hub, distance)
    probes = []
    for pin in net.pins:
        if pin not in net.lost and islands.apart(pin, hub):
            probes.append((pin, hub))
            islands.join(pin, hub)
    lost = [pin for pin in net.pins if pin in net.lost]
    return NetProof(tuple(probes), (*wires, *_wires(lost, net, islands, hub, distance)))


def _hub(net: NetDoubt, sure: list[str]) -> str:
    whole = [pin for pin in net.pins if pin not in net.lost]
    return (sure or whole or list(net.pins))[0]


def _wires(pins: list[str], net: NetDoubt, islands: Islands, hub: str, distance: Distance) -> tuple[Pair, ...]:
    wires = []
    for pin in pins:
        if not islands.apart(pin, hub):
            continue
        ends = [other for other in net.pins if other not in net.lost and not islands.apart(other, hub)] or [hub]
        nearest = min(ends, key=lambda end: distance(pin, end))
        wires.append((pin, nearest))
        islands.join(pin, nearest)
    return tuple(wires)
