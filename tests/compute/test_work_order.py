"""The work order keeps every constraint or shows why it cannot; its set-up changes are the fewest there are."""

from dataclasses import replace
from itertools import pairwise, permutations

from hypothesis import given, settings
from hypothesis import strategies as st

from reworkkit.compute.difference import compare_with_list
from reworkkit.compute.work_order import catalogue, order_work
from reworkkit.compute.work_order.conflicts import resolve
from reworkkit.compute.work_order.constraints import Scene, all_edges
from reworkkit.compute.work_order.pieces import pieces_of
from reworkkit.compute.work_order.records import Constraint, Edge, Piece, WorkKind
from reworkkit.compute.work_order.rules import read_rules
from reworkkit.compute.work_order.sequence import changed, order_runs
from reworkkit.model.board import Board
from reworkkit.model.facts import BoardFacts, OrderFacts
from reworkkit.model.job import PlaceState, Situation
from reworkkit.model.messages import message
from reworkkit.model.results import Plan, SetUp
from reworkkit.model.vocabulary import Basis, DiffStatus, Place
from tests.compute.work_order_boards import boards, part

ON, OFF = "solder", "desolder"
WHY = message("why-inspect")


def place(plan: Plan, kind: str, subject: str) -> int | None:
    return next((op.n for op in plan.operations if op.kind == kind and subject in op.refs), None)


def before(plan: Plan, first: tuple[str, str], second: tuple[str, str]) -> bool:
    """Independent of the ordering code: look the two steps up in the finished plan."""
    a, b = place(plan, *first), place(plan, *second)
    return a is None or b is None or a < b


def given_up(plan: Plan) -> set[str]:
    return {conflict.ring[0][2] for conflict in plan.conflicts} | {
        slug for conflict in plan.conflicts for _, _, slug in conflict.ring
    }


@settings(max_examples=500, deadline=None)
@given(boards())
def test_every_constraint_holds_or_is_in_a_conflict(scene) -> None:  # type: ignore[no-untyped-def]
    board, difference, situation, heat, near, outlines = scene
    plan = order_work(board, difference, situation, heat, (), near, outlines)
    broken = []
    for outline in outlines:
        stop = ("hold_point", outline.name)
        broken += ["hold-point-needs" for ref in outline.needs if not before(plan, (ON, ref), stop)]
        broken += ["hold-point-protects" for ref in outline.protects if not before(plan, stop, (ON, ref))]
    for fasten in board.facts.fasten:
        for ref in fasten.parts:
            pair = (("fasten", ref), (ON, ref)) if fasten.before_soldering else ((ON, ref), ("fasten", ref))
            broken += [] if before(plan, *pair) else ["bolt-before-solder"]
    for ref, neighbourhood in near.items():
        broken += ["access" for hidden in neighbourhood.hides if not before(plan, (ON, hidden), (ON, ref))]
        broken += ["removal-floats" for other, _ in neighbourhood.hot if not before(plan, (OFF, ref), (ON, other))]
    for rule in board.facts.order.rules:
        first, _, second = rule.partition(" before ")
        broken += [] if before(plan, (ON, first), (ON, second)) else ["user-rule"]
    assert set(broken) <= given_up(plan)
    for item in difference.items:
        if item.status in (DiffStatus.TO_REPLACE, DiffStatus.TO_TURN):
            assert before(plan, (OFF, item.ref), (ON, item.ref))


@settings(max_examples=100, deadline=None)
@given(boards())
def test_each_open_place_is_done_once_and_nothing_else(scene) -> None:  # type: ignore[no-untyped-def]
    board, difference, situation, heat, near, outlines = scene
    plan = order_work(board, difference, situation, heat, (), near, outlines)
    soldered = [ref for op in plan.operations if op.kind == ON for ref in op.refs]
    wanted = [
        i.ref for i in difference.items if i.status in (DiffStatus.MISSING, DiffStatus.TO_REPLACE, DiffStatus.TO_TURN)
    ]
    assert sorted(soldered) == sorted(wanted)
    steps = [step for op in plan.operations for step in op.steps]
    assert len(steps) == len(set(steps))


@settings(max_examples=100, deadline=None)
@given(boards())
def test_a_plan_does_not_depend_on_the_order_of_the_list(scene) -> None:  # type: ignore[no-untyped-def]
    board, difference, situation, heat, near, outlines = scene
    turned = replace(board, parts=dict(reversed(board.parts.items())))
    assert order_work(board, difference, situation, heat, (), near, outlines) == order_work(
        turned, difference, situation, heat, (), dict(reversed(near.items())), outlines
    )


@settings(max_examples=200, deadline=None)
@given(boards(most=16))
def test_every_conflict_is_minimal(scene) -> None:  # type: ignore[no-untyped-def]
    """Its ring alone is a cycle; taking any one member away leaves none (checked by the standard library)."""
    from graphlib import CycleError, TopologicalSorter

    board, difference, situation, heat, near, outlines = scene
    for conflict in order_work(board, difference, situation, heat, (), near, outlines).conflicts:
        for left_out in (None, *range(len(conflict.ring))):
            graph: dict[str, set[str]] = {}
            for n, (first, second, _) in enumerate(conflict.ring):
                if n != left_out:
                    graph.setdefault(second, set()).add(first)
            try:
                tuple(TopologicalSorter(graph).static_order())
                assert left_out is not None
            except CycleError:
                assert left_out is None


SETUPS = tuple(SetUp("iron", tip, None, None, side) for tip in ("small", "large") for side in ("top", "bottom"))


@st.composite
def small_problems(draw: st.DrawFn) -> tuple[list[Piece], list[Edge]]:
    count = draw(st.integers(1, 7))
    pieces = [Piece(f"on:{n}", WorkKind.ON, (str(n),), draw(st.sampled_from(SETUPS)), (n,)) for n in range(count)]
    pairs = draw(st.lists(st.tuples(st.integers(0, count - 1), st.integers(0, count - 1)), max_size=8))
    return pieces, [Edge(f"on:{a}", f"on:{b}", "access", WHY) for a, b in pairs if a < b]


@settings(max_examples=150, deadline=None)
@given(small_problems())
def test_set_up_changes_equal_brute_force(problem: tuple[list[Piece], list[Edge]]) -> None:
    """All orders of all single pieces are tried: an independent optimum, not one over our own runs."""
    pieces, edges = problem
    place_of = {piece.key: n for n, piece in enumerate(pieces)}
    best = min(
        sum(changed(pieces[a].setup, pieces[b].setup) for a, b in pairwise(order))
        for order in permutations(range(len(pieces)))
        if all(order.index(place_of[e.before]) < order.index(place_of[e.after]) for e in edges)
    )
    assert order_runs(pieces, edges).changes == best


def test_a_cycle_gives_up_the_cheapest_that_may_be_given_up() -> None:
    ring = (Edge("on:A", "on:B", "user-rule", WHY), Edge("on:B", "on:A", "off-before-on", WHY))
    constraints = {
        "user-rule": Constraint("user-rule", 90, False),
        "off-before-on": Constraint("off-before-on", 1, True),
    }
    left, cycles = resolve(ring, constraints)
    assert [edge.slug for edge in left] == ["off-before-on"]
    assert cycles[0].edges[cycles[0].given_up].slug == "user-rule"


def test_rules_are_read_and_unreadable_ones_are_findings() -> None:
    texts = ("U3 before J1: the connector hides its pins", "Q1-Q3 after C20", "U3 J1", "R9 before U3")
    rules, findings = read_rules(texts, frozenset({"U3", "J1", "Q1", "Q2", "Q3", "C20"}))
    assert [(rule.earlier, rule.later) for rule in rules] == [
        (("U3",), ("J1",)),
        (("C20",), ("Q1", "Q2", "Q3")),
        (("R9",), ("U3",)),
    ]
    assert [finding.message.slug for finding in findings] == ["rule-unreadable", "rule-unknown-ref"]


def test_a_part_before_itself_is_told_and_left_out() -> None:
    rules, findings = read_rules(("U3 before U3", "Q1-Q3 after Q2"), frozenset({"U3", "Q1", "Q2", "Q3"}))
    assert rules == ()
    assert [finding.message.slug for finding in findings] == ["rule-with-itself", "rule-with-itself"]


def test_two_rules_of_the_person_that_clash_are_both_named() -> None:
    """The ring is only understood when each rule in it stands there, and the one given up is named."""
    board = Board("two", None, (), (), {ref: part(ref, 0) for ref in ("X1", "X2")})
    board = replace(board, facts=BoardFacts(order=OrderFacts(rules=("X1 before X2: a", "X2 before X1: b"))))
    situation = Situation(1, Basis.FILES, None, {ref: PlaceState(ref, place=Place.EMPTY) for ref in board.parts})
    (conflict,) = order_work(board, compare_with_list(board, situation), situation, {}, ()).conflicts
    assert {why.fact("rule") for why in conflict.constraints} == {"X1 before X2: a", "X2 before X1: b"}
    assert [way.fact("rule") for way, _ in conflict.ways_out] == ["X1 before X2: a", "X2 before X1: b"]


def test_every_constraint_of_the_code_stands_in_the_table_with_words() -> None:
    from reworkkit.show.texts import entry

    for slug in catalogue():
        for prefix in ("way-out", "price", "without"):
            assert entry(f"{prefix}-{slug}")


@settings(max_examples=50, deadline=None)
@given(boards())
def test_a_constraint_switched_off_makes_no_edge(scene) -> None:  # type: ignore[no-untyped-def]
    board, difference, situation, heat, near, outlines = scene
    pieces = pieces_of(board, difference, situation, heat, outlines)
    everything = Scene(
        board, pieces, heat, near, outlines, read_rules(board.facts.order.rules, frozenset(board.parts))[0]
    )
    assert {edge.slug for edge in all_edges(everything, ())} <= set(catalogue())
    assert all_edges(everything, tuple(catalogue())) == ()


def test_the_page_names_every_constraint() -> None:
    from tests.conftest import PROJECT

    page = (PROJECT / "docs" / "work-order.md").read_text(encoding="utf-8")
    assert {slug for slug in catalogue() if f"| `{slug}` |" in page} == set(catalogue())
