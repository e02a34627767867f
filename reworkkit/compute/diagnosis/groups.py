"""Faults that no voltage at any point a probe can touch, nor the supply current, can tell apart."""

from collections.abc import Collection
from typing import NamedTuple

import numpy as np

from reworkkit.compute.diagnosis import evidence
from reworkkit.compute.diagnosis.engine import Engine
from reworkkit.compute.diagnosis.points import End, Spot
from reworkkit.compute.formulas.junction import Array, Rows

APART = 1.35
"""Distance in true spreads at which every fourth board would be taken for the other fault."""
NEAR = APART / 1.5
"""The same in widened spreads."""
_ONE_PLACE = (
    frozenset(("value", "decade_high", "decade_low")),
    frozenset(("wrong_variant", "wrong_output")),
    frozenset(("in_open", "out_open", "open")),
    frozenset(("pin_open", "open")),
    frozenset(("reversed", "open")),
    frozenset(("off", "swapped")),
)
"""Kinds of fault that the part itself tells apart: its value, its marking, its joints under a lens, its way round; of a
supply its switch and its leads."""
_TOO_FAR = (
    frozenset(("value", "decade_high", "open", "resistive_joint")),
    frozenset(("value", "decade_low", "shorted")),
)
"""What an ohms reading across one part tells apart: far too high or open, far too low or shorted."""
_JOINED = frozenset(("shorted", "bridge"))
SHOWN_LEAST, SHOWN_ALWAYS, SHOWN_MOST = 0.002, 14, 40
"""Least share of a hypothesis that is in a group; so many are whatever their share: what to look at after the first."""
RULED_OUT, RULED_OUT_BY_LOOK = 0.04, 0.002
"""A fault whose fit to the readings made is below this share of its group's best is out of the group; far lower where
the look at the part that the leader asks for tells this one as well."""


class Group(NamedTuple):
    """Hypotheses of one group, likeliest first; `alike` also holds those that ohms or diode tests have ruled out."""

    members: tuple[int, ...]
    alike: tuple[int, ...]
    share: float


def all_points(engine: Engine, reached: Collection[str] = ()) -> list[Spot]:
    """Return every net that is reached or was read, all of them where none is named, and each supply's current."""
    template = engine.dictionary.template
    ground = End(template.ground)
    wanted = {*reached, *(end.node for taken in engine.powered for end in (taken.spot.red, taken.spot.black))}
    nets = [Spot(node, End(node), ground) for node in template.nodes if not reached or node in wanted]
    return [*nets, *(evidence.supply_spot(engine.dictionary, net) for net in engine.dictionary.supplies)]


def groups(engine: Engine, reached: Collection[str] = ()) -> tuple[Group, ...]:
    """Return the groups of the hypotheses that still count, the likeliest first.

    `reached` are the nets that a probe can touch; without any, all are.
    """
    shares = engine.shares
    left = [n for place, n in enumerate(engine.ranked[:SHOWN_MOST]) if shares[n] > SHOWN_LEAST or place < SHOWN_ALWAYS]
    everywhere = evidence.view(engine.dictionary, all_points(engine, reached), engine.meters)
    found = []
    while left:
        leader, rest = left[0], left[1:]
        alike = [
            leader,
            *(
                n
                for n in rest
                if _one_look(engine, leader, n) or distance(engine, everywhere, leader, n) < _limit(engine, leader, n)
            ),
        ]
        members = [n for n in alike if _fit_ratio(engine, n, leader) > _ruled_out(engine, n, leader)]
        found.append(Group(tuple(members), tuple(alike), float(shares[members].sum())))
        left = [n for n in left if n not in members]
    return tuple(sorted(found, key=lambda group: -group.share))


def _one_look(engine: Engine, one: int, other: int) -> bool:
    """Return whether one look tells both apart: two faults of one place, or two ways to join the same two nets."""
    mine, theirs = (engine.dictionary.catalogue.hypotheses[n].fault for n in (one, other))
    kinds = {mine.kind, theirs.kind}
    if kinds <= _JOINED and frozenset(mine.nets[:2]) == frozenset(theirs.nets[:2]):
        return True
    return mine.ref == theirs.ref and any(kinds <= family for family in _ONE_PLACE)


def _limit(engine: Engine, one: int, other: int) -> float:
    """Return the distance below which two faults count as alike: one part open or far too high is one place."""
    mine, theirs = (engine.dictionary.catalogue.hypotheses[n].fault for n in (one, other))
    kinds = {mine.kind, theirs.kind}
    return 2.5 * NEAR if mine.ref == theirs.ref and any(kinds <= family for family in _TOO_FAR) else NEAR


def _ruled_out(engine: Engine, one: int, leader: int) -> float:
    """Return the ratio below which a fault is out of the leader's group: lower where the same look tells both."""
    return RULED_OUT_BY_LOOK if one != leader and _one_look(engine, one, leader) else RULED_OUT


def _fit_ratio(engine: Engine, one: int, leader: int) -> float:
    hypotheses = engine.dictionary.catalogue.hypotheses
    least = 1e-300
    mine = max(engine.shares[one], least) / hypotheses[one].prior
    return float(mine / (max(engine.shares[leader], least) / hypotheses[leader].prior))


def distance(engine: Engine, everywhere: evidence.View, one: int, other: int) -> float:
    """Return how far apart two hypotheses are at their likely sizes, over all points, in widened spreads."""
    mine, theirs = _likely(engine, one), _likely(engine, other)
    pairs = np.array([(a, b) for a in mine for b in theirs])
    off = everywhere.mean[pairs[:, 0]] - everywhere.mean[pairs[:, 1]]
    middle = (_covariance(everywhere, pairs[:, 0]) + _covariance(everywhere, pairs[:, 1])) / 2
    solved = np.linalg.solve(middle, off[:, :, None])[:, :, 0]
    return float(np.sqrt(np.maximum((off * solved).sum(axis=1), 0.0).min()))


def _likely(engine: Engine, hypothesis: int) -> Rows:
    mine = np.flatnonzero(engine.dictionary.owner == hypothesis)
    shares = engine.clusters[mine]
    order = np.argsort(-shares, kind="stable")[:3]
    return np.asarray(mine[order][shares[order] >= 0.1 * shares.max()])


def _covariance(view: evidence.View, clusters: Rows) -> Array:
    return view.part(clusters, slice(None)).covariance()
