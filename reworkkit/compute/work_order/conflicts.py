"""Constraints that cannot hold together: found as cycles, shown whole, resolved by giving up the cheapest."""

from collections import deque
from collections.abc import Iterable, Mapping
from typing import NamedTuple

from reworkkit.compute.work_order.records import WASH, Constraint, Edge


class Cycle(NamedTuple):
    """A ring of edges. Giving up any one of them resolves it; `given_up` is the position of the cheapest."""

    edges: tuple[Edge, ...]
    given_up: int


def resolve(
    edges: tuple[Edge, ...], constraints: Mapping[str, Constraint]
) -> tuple[tuple[Edge, ...], tuple[Cycle, ...]]:
    """Return edges without a cycle, and every cycle met on the way with the edge that was given up for it.

    The dearest constraints are laid down first; an edge that would close a ring over them is given up, and the
    shortest such ring is shown. So each shown set is minimal (a simple ring: removing one member breaks it), and its
    cheapest member is the one that gave way. Where one constraint parts two crowds, the larger crowd keeps it.
    """
    kept: list[Edge] = []
    cycles: list[Cycle] = []
    by_slug: dict[str, list[Edge]] = {}
    for edge in dict.fromkeys(edges):
        by_slug.setdefault(edge.slug, []).append(edge)
    for slug in sorted(by_slug, key=lambda slug: (-_price(slug, constraints), slug)):
        tangle = _tangled([*kept, *by_slug[slug]])
        steps = _Steps([edge for edge in kept if edge.before in tangle and edge.after in tangle])
        for batch in _batches(by_slug[slug]):
            kept += _laid_down(batch, tangle, steps, cycles)
    return tuple(kept), tuple(cycles)


class _Steps:
    """Edges by where they leave and where they enter, and the shortest ways along them."""

    def __init__(self, edges: Iterable[Edge]) -> None:
        self.leaving: dict[str, list[Edge]] = {}
        self.entering: dict[str, list[Edge]] = {}
        for edge in edges:
            self.add(edge)

    def add(self, edge: Edge) -> None:
        """Add an edge."""
        self.leaving.setdefault(edge.before, []).append(edge)
        self.entering.setdefault(edge.after, []).append(edge)

    def ways_from(self, start: str) -> dict[str, Edge]:
        """Return for each piece that can be reached from `start` the last edge of the shortest way to it."""
        came: dict[str, Edge] = {}
        queue = deque([start])
        while queue:
            for edge in self.leaving.get(queue.popleft(), ()):
                if edge.after not in came and edge.after != start:
                    came[edge.after] = edge
                    queue.append(edge.after)
        return came

    def ways_to(self, end: str) -> dict[str, Edge]:
        """Return for each piece from which `end` can be reached the first edge of the shortest way."""
        goes: dict[str, Edge] = {}
        queue = deque([end])
        while queue:
            for edge in self.entering.get(queue.popleft(), ()):
                if edge.before not in goes and edge.before != end:
                    goes[edge.before] = edge
                    queue.append(edge.before)
        return goes


def _laid_down(batch: list[Edge], tangle: set[str], steps: _Steps, cycles: list[Cycle]) -> list[Edge]:
    """Return the edges of a batch that close no ring; the others become cycles.

    A batch enters or leaves one piece. Laying one of its edges down changes nothing of what the shared end reaches,
    so one search serves them all.
    """
    into = all(edge.after == batch[0].after for edge in batch)
    ways = steps.ways_from(batch[0].after) if into else steps.ways_to(batch[0].before)
    kept = []
    for edge in batch:
        other = edge.before if into else edge.after
        if edge.before in tangle and edge.after in tangle and other in ways:
            ring = _way_back(edge, ways) if into else _way_on(edge, ways)
            cycles.append(Cycle((*ring, edge), len(ring)))
        else:
            kept.append(edge)
            steps.add(edge)
    return kept


def _way_back(edge: Edge, came: Mapping[str, Edge]) -> tuple[Edge, ...]:
    way: list[Edge] = []
    key = edge.before
    while key != edge.after:
        way.append(came[key])
        key = came[key].before
    return tuple(reversed(way))


def _way_on(edge: Edge, goes: Mapping[str, Edge]) -> tuple[Edge, ...]:
    way: list[Edge] = []
    key = edge.after
    while key != edge.before:
        way.append(goes[key])
        key = goes[key].after
    return tuple(way)


def _batches(edges: list[Edge]) -> list[list[Edge]]:
    """Split edges into batches that share the level they enter or leave, the largest crowd first.

    What a wash would spoil stays behind it, however few they are: the others can be cleaned by hand.
    """
    batches: dict[tuple[str, str], list[Edge]] = {}
    for edge in edges:
        into = edge.after.startswith("level:") or not edge.before.startswith("level:")
        key = ("into", edge.after) if into else ("from", edge.before)
        batches.setdefault(key, []).append(edge)
    return sorted(batches.values(), key=lambda batch: (batch[0].before != WASH, -len(batch)))


def _price(slug: str, constraints: Mapping[str, Constraint]) -> float:
    constraint = constraints[slug]
    return constraint.weight + (1e6 if constraint.floor else 0.0)


def _tangled(edges: Iterable[Edge]) -> set[str]:
    """Return the pieces that stand on or between cycles: what is left when sources and sinks are peeled off."""
    after: dict[str, list[str]] = {}
    before: dict[str, list[str]] = {}
    for edge in edges:
        after.setdefault(edge.before, []).append(edge.after)
        before.setdefault(edge.after, []).append(edge.before)
    kept = set(after) | set(before)
    for forward, backward in ((after, before), (before, after)):
        counts = {key: sum(other in kept for other in backward.get(key, ())) for key in kept}
        ready = deque(key for key in counts if counts[key] == 0)
        while ready:
            key = ready.popleft()
            kept.discard(key)
            for other in forward.get(key, ()):
                if other in kept:
                    counts[other] -= 1
                    if counts[other] == 0:
                        ready.append(other)
    return kept
