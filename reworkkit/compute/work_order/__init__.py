"""The work order: pieces of work, constraints between them, conflicts shown with their price, the fewest set-ups.

Constraints come from tables/order_constraints.csv and can be switched off one by one in board.toml, `[order] without`.
"""

import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import replace

from reworkkit.compute.work_order.conflicts import Cycle, resolve
from reworkkit.compute.work_order.constraints import Scene, all_edges, catalogue
from reworkkit.compute.work_order.emit import Stage, operations_of
from reworkkit.compute.work_order.pieces import pieces_of
from reworkkit.compute.work_order.records import Edge, Piece, WorkKind
from reworkkit.compute.work_order.rules import read_rules
from reworkkit.compute.work_order.sequence import OrderedRuns, order_runs
from reworkkit.model.board import Board
from reworkkit.model.designator import natural_key
from reworkkit.model.difference import Difference
from reworkkit.model.job import Situation
from reworkkit.model.messages import Finding, Message, message
from reworkkit.model.results import (
    Conflict,
    HeatDemand,
    HoldOutline,
    Neighbourhood,
    Operation,
    OrientationVerdict,
    Plan,
)
from reworkkit.model.vocabulary import DiffStatus, Severity

__all__ = ["catalogue", "order_work"]


def order_work(
    board: Board,
    difference: Difference,
    situation: Situation,
    heat: Mapping[str, HeatDemand],
    verdicts: Iterable[OrientationVerdict],
    neighbours: Mapping[str, Neighbourhood] | None = None,
    outlines: tuple[HoldOutline, ...] = (),
) -> Plan:
    """Return the work order for every place that is missing, to replace, to turn, to finish or to clear.

    Every constraint is kept, or is part of a conflict that names the ways out, their price and the one taken.
    """
    order = board.facts.order
    neighbours = dict(sorted((neighbours or {}).items(), key=lambda item: natural_key(item[0])))
    rules, findings = read_rules(order.rules, frozenset(board.parts), board.facts.lines.get("order.rules", 0))
    pieces = pieces_of(board, difference, situation, heat, outlines)
    scene = Scene(board, pieces, heat, neighbours, outlines, rules)
    constraints = catalogue(board.own_tables)
    edges, cycles = resolve(all_edges(scene, order.without), constraints)
    sequence = order_runs(pieces, edges)
    unseen = tuple(item.ref for item in difference.items if item.status is DiffStatus.NOT_INSPECTED)
    there = tuple(item.ref for item in difference.items if item.status is DiffStatus.FITTED)
    stage = Stage(board, {v.ref: v for v in verdicts}, neighbours, outlines, unseen, there, heat)
    operations = operations_of(sequence.runs, stage)
    return Plan(
        id=plan_id(operations),
        operations=operations,
        conflicts=_conflicts(cycles, operations),
        not_judged=(),
        optimality=_optimality(sequence),
        findings=(*findings, *_switched_off(order.without, constraints)),
        reasons=_reasons(edges, pieces),
    )


def plan_id(operations: tuple[Operation, ...]) -> str:
    """Return the hash of the operations: kinds, subjects and order."""
    text = json.dumps([(operation.kind, operation.refs) for operation in operations])
    return hashlib.sha256(text.encode()).hexdigest()[:12]


def _optimality(sequence: OrderedRuns) -> Message:
    slug = "plan-optimal" if sequence.proven else "plan-not-proven"
    return message(slug, changes=sequence.changes, runs=len(sequence.runs))


def _switched_off(without: tuple[str, ...], constraints: Mapping[str, object]) -> tuple[Finding, ...]:
    found = []
    for slug in without:
        known = slug in constraints
        text = (
            message(f"without-{slug}") if known else message("without-unknown", slug=slug, known=", ".join(constraints))
        )
        found.append(Finding(text, Severity.NOTE if known else Severity.CHECK))
    return tuple(found)


def _conflicts(cycles: tuple[Cycle, ...], operations: tuple[Operation, ...]) -> tuple[Conflict, ...]:
    """Return the conflicts; rings of the same constraints are shown once, for all the parts they concern."""
    number = {ref: operation.n for operation in operations if operation.kind == "solder" for ref in operation.refs}
    folded: dict[tuple[tuple[str, str], ...], Conflict] = {}
    for cycle in cycles:
        conflict = _conflict(cycle, number)
        key = tuple(dict.fromkeys(map(_member, cycle.edges)))
        if key in folded:
            numbers = sorted({*folded[key].operations, *conflict.operations})
            folded[key] = replace(folded[key], operations=tuple(numbers), rings=folded[key].rings + 1)
        else:
            folded[key] = conflict
    return tuple(folded.values())


def _conflict(cycle: Cycle, number: Mapping[str, int]) -> Conflict:
    members: dict[tuple[str, str], Edge] = {}
    for edge in cycle.edges:
        members.setdefault(_member(edge), edge)
    refs = {key.partition(":")[2] for edge in cycle.edges for key in (edge.before, edge.after)}
    return Conflict(
        constraints=tuple(edge.why for edge in members.values()),
        operations=tuple(sorted({number[ref] for ref in refs if ref in number})),
        ways_out=tuple(_way_out(slug, rule) for slug, rule in members),
        recommended=list(members).index(_member(cycle.edges[cycle.given_up])),
        ring=tuple((edge.before, edge.after, edge.slug) for edge in cycle.edges),
    )


def _member(edge: Edge) -> tuple[str, str]:
    """Return what tells the members of a ring apart: the constraint, and of a person's rules the rule itself."""
    return edge.slug, str(edge.why.fact("rule")) if edge.slug == "user-rule" else ""


def _way_out(slug: str, rule: str) -> tuple[Message, Message]:
    way = message(f"way-out-{slug}", rule=rule) if rule else message(f"way-out-{slug}")
    return way, message(f"price-{slug}")


def _reasons(edges: tuple[Edge, ...], pieces: tuple[Piece, ...]) -> tuple[tuple[str, Message], ...]:
    """Return (ref, constraint) for `plan --why`: every constraint that was kept, once a part."""
    refs = {piece.key: piece.refs for piece in pieces if piece.kind is not WorkKind.HOLD}
    seen = dict.fromkeys(
        (ref, edge.why) for edge in _telling(edges) for key in (edge.before, edge.after) for ref in refs.get(key, ())
    )
    return tuple(seen)


def _telling(edges: tuple[Edge, ...]) -> list[Edge]:
    """Return the edges worth telling: of the heights a part is lower or higher than, only the nearest each way."""
    nearest: dict[tuple[str, str], Edge] = {}
    for edge in edges:
        if edge.slug == "low-before-high" and edge.after.startswith("level:"):
            nearest.setdefault(("lower", edge.before), edge)
        elif edge.slug == "low-before-high":
            nearest["higher", edge.after] = edge
    kept = set(nearest.values())
    return [edge for edge in edges if edge.slug != "low-before-high" or edge in kept]
