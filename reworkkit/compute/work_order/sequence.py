"""The order itself: pieces with one set-up are done in one run, and the runs are ordered for the fewest changes.

Exact by dynamic programming over (set of runs done, last run) while the constraints allow at most `MOST_SETS` sets of
one size; above that each next run is the one that changes least, and the plan says that the optimum was not proven.
"""

from collections.abc import Mapping, Sequence
from graphlib import TopologicalSorter
from itertools import pairwise
from typing import NamedTuple

from reworkkit.compute.work_order.records import Edge, Piece, WorkKind
from reworkkit.model.results import SetUp

MOST_SETS = 3000


class Run(NamedTuple):
    """Pieces that share a set-up and may stand together, in layers: a layer waits for the layers before it."""

    layers: tuple[tuple[Piece, ...], ...]
    setup: SetUp


class OrderedRuns(NamedTuple):
    """The runs in order, how many set-up changes that takes, and whether fewer were proven impossible."""

    runs: tuple[Run, ...]
    changes: int
    proven: bool


def order_runs(pieces: Sequence[Piece], edges: Sequence[Edge]) -> OrderedRuns:
    """Return the runs in an order that keeps every edge, with the fewest set-up changes.

    `edges` must be free of cycles; levels may stand in them and are followed through.
    """
    graph: dict[str, list[str]] = {piece.key: [] for piece in pieces}
    for edge in edges:
        graph.setdefault(edge.before, [])
        graph.setdefault(edge.after, []).append(edge.before)
    waiting = tuple(TopologicalSorter(graph).static_order())
    members = _members(pieces, _stages(pieces, graph, waiting))
    needs, depth = _waits(members, graph, waiting)
    runs = [Run(_layers(group, depth), group[0].setup) for group in members]
    exact = _exact(runs, needs)
    order, proven = (_nearest(runs, needs), False) if exact is None else (exact, True)
    ordered = tuple(runs[n] for n in order)
    changes = sum(changed(a.setup, b.setup) for a, b in pairwise(ordered))
    return OrderedRuns(ordered, changes, proven)


def changed(one: SetUp, other: SetUp) -> int:
    """Return how many things must be set anew between two set-ups: tool, tip, setting, preheat, side, strap."""
    return sum(a != b for a, b in zip(one, other, strict=True))


def _stages(pieces: Sequence[Piece], graph: Mapping[str, list[str]], waiting: Sequence[str]) -> dict[str, int]:
    """Return for each piece how many changes of set-up or kind lie on the longest chain before it.

    A level passes on, for each set-up and kind before it, the highest stage: 5,000 parts on both sides of a level cost
    10,000 steps and not 25 million.
    """
    by_key = {piece.key: piece for piece in pieces}
    reached: dict[str, dict[tuple[SetUp, WorkKind], int]] = {}
    stage: dict[str, int] = {}
    for key in waiting:
        before: dict[tuple[SetUp, WorkKind], int] = {}
        for earlier in graph[key]:
            for same, height in reached[earlier].items():
                before[same] = max(height, before.get(same, 0))
        piece = by_key.get(key)
        if piece is None:
            reached[key] = before
        else:
            own = (piece.setup, piece.kind)
            stage[key] = max((height + (same != own) for same, height in before.items()), default=0)
            reached[key] = {own: stage[key]}
    return stage


def _members(pieces: Sequence[Piece], stage: Mapping[str, int]) -> list[list[Piece]]:
    """Group pieces by stage and set-up: such runs cannot form a ring, whatever the constraints."""
    groups: dict[tuple[int, SetUp, str], list[Piece]] = {}
    for piece in sorted(pieces, key=lambda piece: (stage[piece.key], piece.rank)):
        own = piece.key if piece.kind in (WorkKind.HOLD, WorkKind.PROGRAM, WorkKind.WASH) else ""
        groups.setdefault((stage[piece.key], piece.setup, own), []).append(piece)
    return list(groups.values())


def _waits(
    members: list[list[Piece]], graph: Mapping[str, list[str]], waiting: Sequence[str]
) -> tuple[list[int], dict[str, int]]:
    """Return for each run a bit mask of the runs before it, and for each piece its depth inside its run."""
    place = {piece.key: n for n, group in enumerate(members) for piece in group}
    needs = [0] * len(members)
    depth: dict[str, int] = {}
    through: dict[str, dict[int, int]] = {}
    for key in waiting:
        before: dict[int, int] = {}
        for earlier in graph[key]:
            for run, deep in through[earlier].items():
                before[run] = max(deep, before.get(run, 0))
        if key not in place:
            through[key] = before
            continue
        own = place[key]
        depth[key] = before.get(own, -1) + 1
        through[key] = {own: depth[key]}
        for run in before:
            needs[own] |= 0 if run == own else 1 << run
    return needs, depth


def _layers(group: list[Piece], depth: Mapping[str, int]) -> tuple[tuple[Piece, ...], ...]:
    """Split the pieces of one run into layers, so that none stands in a layer with one it waits for."""
    layers: dict[int, list[Piece]] = {}
    for piece in group:
        layers.setdefault(depth[piece.key], []).append(piece)
    return tuple(tuple(layers[n]) for n in sorted(layers))


def _exact(runs: list[Run], needs: list[int]) -> list[int] | None:
    """Return the order with the fewest set-up changes, by rank among equals; None where that would take too long.

    Dynamic programming over (set of runs done, last run), forwards from nothing done, so that only sets which the
    constraints allow are ever looked at.
    """
    count = len(runs)
    cost = [[changed(a.setup, b.setup) for b in runs] for a in runs]
    best: dict[int, dict[int, tuple[int, tuple[int, ...]]]] = {
        1 << n: {n: (0, (n,))} for n in range(count) if not needs[n]
    }
    for _ in range(count - 1):
        further: dict[int, dict[int, tuple[int, tuple[int, ...]]]] = {}
        for done, lasts in best.items():
            for n in range(count):
                if not done & (1 << n) and not needs[n] & ~done:
                    price, path = min((p + cost[last][n], path) for last, (p, path) in lasts.items())
                    further.setdefault(done | (1 << n), {})[n] = (price, (*path, n))
        if len(further) > MOST_SETS:
            return None
        best = further
    return list(min(best[(1 << count) - 1].values())[1]) if count else []


def _nearest(runs: list[Run], needs: list[int]) -> list[int]:
    """Return an order that always goes on with the run that changes least, by rank among equals."""
    done = 0
    order: list[int] = []
    while len(order) < len(runs):
        ready = [n for n in range(len(runs)) if not done & (1 << n) and not needs[n] & ~done]
        last = runs[order[-1]].setup if order else None
        chosen = min(ready, key=lambda n: (changed(last, runs[n].setup) if last else 0, n))
        order.append(chosen)
        done |= 1 << chosen
    return order
