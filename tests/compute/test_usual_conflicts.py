"""The five conflicts that every such job meets arise from the constraints, and are settled as practice settles them.

Common practice, no source: feed through test points while the tall connector is absent; large tabs last in spite of
their heat; hold points that need a bolted part are measured on the plate; the rare part late although it is low;
program through wires where the pins are hidden early.
"""

from dataclasses import replace
from decimal import Decimal

from reworkkit.compute.difference import compare_with_list
from reworkkit.compute.hold_outline import hold_outlines
from reworkkit.compute.work_order import order_work
from reworkkit.model.board import Board
from reworkkit.model.facts import BoardFacts, FastenFacts, HoldPointFacts, PartFacts, ProgramFacts, SupplyFacts
from reworkkit.model.job import PlaceState, Situation
from reworkkit.model.results import Neighbourhood, Plan
from reworkkit.model.values import Quantity
from reworkkit.model.vocabulary import Basis, Place
from tests.compute.work_order_boards import heat_of, part

RESISTOR, CONTROLLER, ELECTROLYTIC, CONNECTOR, DIODE, TAB = range(6)
KINDS = {"U1": CONTROLLER, "C1": ELECTROLYTIC, "J1": CONNECTOR, "J2": CONNECTOR, "Q1": TAB, "S1": DIODE, "R1": RESISTOR}


def plan_with(facts: BoardFacts, near: dict[str, Neighbourhood] | None = None) -> Plan:
    parts = {ref: part(ref, kind) for ref, kind in sorted(KINDS.items())}
    board = Board("five", None, (), (), parts, facts=facts)
    situation = Situation(1, Basis.FILES, None, {ref: PlaceState(ref, place=Place.EMPTY) for ref in parts})
    difference = compare_with_list(board, situation)
    return order_work(board, difference, situation, heat_of(board, KINDS), (), near or {}, hold_outlines(board))


def settled(plan: Plan, given_up: str) -> set[str]:
    """Return the constraints of the conflict in which `given_up` is the way out that was taken."""
    for conflict in plan.conflicts:
        slug = conflict.ways_out[conflict.recommended][0].slug.removeprefix("way-out-")
        if slug == given_up:
            return {member for _, _, member in conflict.ring}
    raise AssertionError(f"no conflict gives up {given_up}: {[c.ring for c in plan.conflicts]}")


def solder_place(plan: Plan, ref: str) -> int:
    return next(op.n for op in plan.operations if op.kind == "solder" and ref in op.refs)


def hold_place(plan: Plan, name: str) -> int:
    return next(op.n for op in plan.operations if op.kind == "hold_point" and name in op.refs)


def test_the_tall_connector_and_the_hold_point_that_is_fed_through_it() -> None:
    stage = HoldPointFacts(name="rails", supply="VIN", needs=("C1",), before=("J1",))
    plan = plan_with(BoardFacts(supplies={"VIN": SupplyFacts(at="J1.1")}, hold_points=(stage,)))
    assert settled(plan, "feed-by-connector") == {"feed-by-connector", "hold-point-protects"}
    assert hold_place(plan, "rails") < solder_place(plan, "J1")


def test_large_tabs_are_hottest_and_still_come_last() -> None:
    facts = BoardFacts(parts={"C1": PartFacts(heat_sensitive=True)})
    plan = plan_with(facts)
    assert "large-tabs-last" in settled(plan, "hot-before-sensitive")
    assert solder_place(plan, "Q1") == max(solder_place(plan, ref) for ref in KINDS)


def test_a_hold_point_that_needs_a_bolted_part() -> None:
    facts = BoardFacts(
        hold_points=(HoldPointFacts(name="output", needs=("Q1",)),),
        fasten=(FastenFacts(parts=("Q1",), to="plate", before_soldering=True),),
    )
    plan = plan_with(facts)
    assert settled(plan, "off-plate-first") == {"off-plate-first", "bolt-before-solder", "hold-point-needs"}
    assert solder_place(plan, "Q1") < hold_place(plan, "output")


def test_the_rare_part_is_low_and_comes_late() -> None:
    stage = HoldPointFacts(name="rails", needs=("C1",), before=("S1",))
    plan = plan_with(BoardFacts(hold_points=(stage,)))
    assert "hold-point-protects" in settled(plan, "low-before-high")
    assert solder_place(plan, "C1") < hold_place(plan, "rails") < solder_place(plan, "S1")


def test_programming_pins_that_a_needed_part_hides() -> None:
    facts = BoardFacts(
        hold_points=(HoldPointFacts(name="rails", needs=("C1",)),),
        program=(ProgramFacts(part="U1", at="J2.1", after_hold_point="rails"),),
        parts={"C1": PartFacts(height=Quantity(Decimal(16), "mm", "16 mm"))},
    )
    near = {"C1": Neighbourhood("C1", (), ("J2",), "1A")}
    plan = plan_with(facts, near)
    assert "program-after-rails" in settled(plan, "program-before-hidden")


def test_switching_a_constraint_off_removes_its_conflict_and_says_what_that_means() -> None:
    stage = HoldPointFacts(name="rails", supply="VIN", needs=("C1",), before=("J1",))
    facts = BoardFacts(supplies={"VIN": SupplyFacts(at="J1.1")}, hold_points=(stage,))
    without = replace(facts, order=replace(facts.order, without=("feed-by-connector",)))
    plan = plan_with(without)
    assert not [c for c in plan.conflicts if any(slug == "feed-by-connector" for *_, slug in c.ring)]
    assert [finding.message.slug for finding in plan.findings] == ["without-feed-by-connector"]


def test_a_relay_that_a_stage_needs_is_never_washed() -> None:
    """A wash spoils an unsealed relay (from memory): it stays behind the wash, and later joints are cleaned by hand."""
    parts = {ref: part(ref, kind) for ref, kind in (("U1", CONTROLLER), ("R1", RESISTOR), ("C1", ELECTROLYTIC))}
    relays = {}
    for ref in ("K1", "K2"):
        made = part(ref, CONNECTOR)
        relays[ref] = made._replace(identity=replace(made.identity, kind="relay"))
    stage = HoldPointFacts(name="drivers", supply="VIN", needs=("K1", "K2"), before=("U1", "R1", "C1"))
    board = Board("wash", None, (), (), parts | relays, facts=BoardFacts(hold_points=(stage,)))
    situation = Situation(1, Basis.FILES, None, {ref: PlaceState(ref, place=Place.EMPTY) for ref in board.parts})
    difference = compare_with_list(board, situation)
    plan = order_work(board, difference, situation, {}, (), {}, hold_outlines(board))
    wash = next(op.n for op in plan.operations if op.kind == "wash")
    assert wash < min(solder_place(plan, ref) for ref in relays)
    assert any(op.n > wash and "U1" in op.refs for op in plan.operations)
    assert settled(plan, "washable-before-not")


def test_a_wash_names_what_is_on_the_board_already_and_would_be_spoilt() -> None:
    made = part("K9", CONNECTOR)
    there = made._replace(identity=replace(made.identity, kind="relay"))
    new = {"K1": made._replace(ref="K1", identity=replace(made.identity, kind="relay")), "R1": part("R1", RESISTOR)}
    board = Board("wash", None, (), (), {**new, "K9": there}, facts=BoardFacts())
    states = {ref: PlaceState(ref, place=Place.FITTED if ref == "K9" else Place.EMPTY) for ref in board.parts}
    situation = Situation(1, Basis.FILES, None, states)
    plan = order_work(board, compare_with_list(board, situation), situation, {}, (), {}, ())
    alerts = [alert for op in plan.operations if op.kind == "wash" for _, alert in op.alerts]
    assert any(alert.slug == "alert-wash-spoils" and alert.fact("refs") == "K9" for alert in alerts)


def test_a_stage_that_asks_for_confirmation_or_a_high_voltage_names_the_live_run() -> None:
    stages = (
        HoldPointFacts(name="low", supply="VIN", needs=("C1",)),
        HoldPointFacts(name="asked", supply="VIN", needs=("C1",), confirm=True),
        HoldPointFacts(name="high", supply="BUS", needs=("C1",)),
    )
    volts = {
        "VIN": SupplyFacts(volts=Quantity(Decimal(24), "V", "24 V")),
        "BUS": SupplyFacts(volts=Quantity(Decimal(325), "V", "325 V")),
    }
    plan = plan_with(BoardFacts(supplies=volts, hold_points=stages))
    told = {op.refs[0]: {alert.slug for _, alert in op.alerts} for op in plan.operations if op.kind == "hold_point"}
    assert not told["low"] & {"alert-live-first", "alert-live-voltage"}
    assert "alert-live-first" in told["asked"]
    assert "alert-live-voltage" in told["high"]
