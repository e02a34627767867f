"""How parts come off. Expected values: safety and practice of the trade (no source opened), labelled at each case."""

from dataclasses import replace
from pathlib import Path

import pytest

from reworkkit.compute.bare_place import prove_bare_places
from reworkkit.compute.removal import plan_removal
from reworkkit.compute.removal.coating import coating_advice, coating_row
from reworkkit.model.board import Board
from reworkkit.model.facts import BenchFacts, PartFacts
from reworkkit.model.job import SiteRecord, Situation
from reworkkit.model.removal import RemovalPlan, Save
from reworkkit.model.vocabulary import AlertLevel, HeatClass, PartState, SiteDamage
from reworkkit.pipeline.opening import Request, open_work
from reworkkit.pipeline.work import Work
from reworkkit.tables import rows, sources
from reworkkit.tables.marks import not_fitted_again

PROJECT = Path(__file__).resolve().parents[2]
CLASSES = tuple(HeatClass)


@pytest.fixture(scope="module")
def work() -> Work:
    return open_work(Request(PROJECT / "example_boards" / "greenhouse-valves"))


def off(work: Work, ref: str, board: Board | None = None, situation: Situation | None = None) -> RemovalPlan:
    from reworkkit.compute.removal import Known

    board, situation = board or work.board, situation or work.situation
    known = Known(work.joints, work.joint_heat, work.heat, work.neighbours, work.outlines)
    return plan_removal(board, situation, (ref,), known, prove_bare_places(board, situation, (ref,))).parts[0]


def sound(work: Work, ref: str) -> Situation:
    states = work.situation.states
    return replace(work.situation, states={**states, ref: replace(states[ref], part=PartState.GOOD)})


def with_part(board: Board, ref: str, **facts: object) -> Board:
    parts = {**board.facts.parts, ref: replace(board.facts.parts.get(ref, PartFacts()), **facts)}
    return replace(board, facts=replace(board.facts, parts=parts))


def with_bench(board: Board, **facts: object) -> Board:
    return replace(board, facts=replace(board.facts, bench=replace(board.facts.bench, **facts)))


def test_the_damaged_sensor_is_cut_up_and_its_plane_pin_comes_last(work: Work) -> None:
    plan = off(work, "U5")
    assert plan.save is Save.BOARD
    assert plan.method == "cut_and_pull"
    assert plan.pins[-1].pin == "4"  # straight in the plane, without spokes (about.md)
    assert plan.pins[-1].setup is not None
    assert plan.pins[-1].setup.preheat_c
    assert plan.again is None


def test_the_sound_rare_sensor_is_saved_with_all_pins_liquid(work: Work) -> None:
    plan = off(work, "U5", situation=sound(work, "U5"))
    assert plan.save is Save.PART
    assert plan.method == "low_holes"
    assert any("low-melting" in text.slug for text in plan.added)
    assert [text.slug for text in plan.added].count("added-low-melting-clean") == 1


def test_a_part_nobody_called_dear_is_not_worth_the_board(work: Work) -> None:
    board = with_part(work.board, "U5", dear=None, rare=None)
    assert off(work, "U5", board, sound(work, "U5")).save is Save.BOARD


def test_pins_rise_in_heat_on_every_part(work: Work) -> None:
    for ref in work.board.parts:
        pins = off(work, ref).pins
        assert [CLASSES.index(pin.heat_class) for pin in pins] == sorted(CLASSES.index(p.heat_class) for p in pins), ref


def test_no_low_melting_alloy_on_a_power_part(work: Work) -> None:
    """Trade knowledge: a phase melting near 96 C stays behind with lead; never on a power part."""
    for ref, part in work.board.parts.items():
        board = with_part(work.board, ref, dear=True)
        plan = off(work, ref, board)
        power = part.identity.kind in ("mosfet", "terminal", "inductor", "linear_regulator", "switching_regulator")
        assert not (power and any("low-melting" in text.slug for text in plan.added)), ref


def test_no_setting_above_380_and_no_preheat_above_110(work: Work) -> None:
    for ref in work.board.parts:
        for pin in off(work, ref).pins:
            if pin.setup is not None:
                assert (pin.setup.setting_c or 0) <= 380
                assert (pin.setup.preheat_c or 0) <= 110
            assert pin.window_c is None or pin.window_c[0] <= pin.window_c[1] <= 380


def test_never_fitted_again(work: Work) -> None:
    """Removed tantalum, electrolytic and ceramic capacitors are not fitted again: common practice, no source."""
    for ref, expected in (("C1", True), ("C6", True), ("C3", True), ("U3", False), ("D1", False), ("R1", False)):
        assert not_fitted_again(work.board.parts[ref].identity.kind) is expected, ref


def test_without_hot_air_a_hidden_pad_stays_where_it_is(work: Work) -> None:
    part = work.board.parts["U3"]
    assert part.identity.package is not None
    package = replace(part.identity.package, hidden_pads=1)
    part = part._replace(identity=replace(part.identity, package=package))
    bare = replace(work.board, parts={**work.board.parts, "U3": part}, pins={}, nets={})
    from reworkkit.compute.removal import Known

    known = Known((), (), work.heat, {}, ())
    for air, method in ((True, "air_hidden"), (False, "")):
        board = with_bench(bare, hot_air=air)
        plan = plan_removal(board, work.situation, ("U3",), known, prove_bare_places(board, work.situation, ("U3",)))
        assert plan.parts[0].method == method
        assert bool(plan.findings) is not air


def test_hot_air_names_the_neighbours_within_reach(work: Work) -> None:
    plan = off(work, "U3")
    assert plan.method == "air_leads"
    near = {one.ref for one in plan.neighbours}
    assert {"R6", "C10"} <= near
    assert "TP5" not in near
    assert not {"Y1", "Q4"} & near  # within reach, but not on the board (fitted.csv)
    states = {**work.situation.states, "Y1": work.situation.states["R6"]}
    plan = off(work, "U3", situation=replace(work.situation, states=states))
    assert [one.sensitive for one in plan.neighbours if one.ref in ("Y1", "R6")] == [False, True]


def test_a_bolted_part_is_unbolted_first(work: Work) -> None:
    assert "before-unbolt" in {text.slug for text in off(work, "Q5").before}


def test_damage_on_record_names_its_repair(work: Work) -> None:
    hurt = replace(work.situation, sites=(SiteRecord("U5.4", SiteDamage.BARREL_LOST, "", "e1"),))
    keys = {one.key for one in off(work, "U5", situation=hurt).procedures}
    assert {"hole", "jumper"} <= keys


@pytest.mark.parametrize("written", ["polyurethane", "PU", "polyurethane, sprayed", "pur"])
def test_polyurethane_meets_no_iron_and_no_hot_air(written: str) -> None:
    row = coating_row(written)
    assert row is not None
    assert (row["iron"], row["air"]) == ("no", "no")
    alerts, _, questions = coating_advice(written)
    assert any(level is AlertLevel.WARNING and text.slug == "coating-polyurethane" for level, text in alerts)
    assert not questions


def test_an_unknown_coating_is_treated_as_the_worst_and_asked_about() -> None:
    for written in (None, "mystery goo"):
        alerts, steps, questions = coating_advice(written)
        assert alerts[0][0] is AlertLevel.WARNING
        assert questions[0].answer
        assert steps
    assert coating_advice("none") == ((), (), ())


def test_solvent_is_dry_before_heat() -> None:
    assert "coating-solvent-dry" in {text.slug for _, text in coating_advice("acrylic")[0]}


def test_tables_name_known_sources_and_texts() -> None:
    classes = {c.value for c in HeatClass}
    shapes = {"wire", "two_pads", "two_pads_large", "few_pads", "rows", "tab", "hidden"}
    shapes |= {"holes_few", "holes_many", "hole_plate"}
    procedures = {row["key"] for row in rows("repair_procedures")}
    for row in rows("removal_methods"):
        assert set(row["shape"].split("|")) <= shapes
        assert row["most"] in classes
        assert row["procedure"] in procedures
    for name in ("removal_methods", "coatings", "repair_procedures", "probe_limits"):
        assert all(row["source"] in sources() for row in rows(name))
        assert len({row["key"] for row in rows(name)}) == len(rows(name))


def test_repair_procedure_numbers(published) -> None:
    """Only numbers that a page prints are given; the rest are names."""
    numbers = {row["key"]: row["number"] for row in rows("repair_procedures")}
    source = "trade page on IPC-7721 land repair methods"
    published("land repair, epoxy method", numbers["land_epoxy"], "4.5.1", source=source)
    published("land repair, film method", numbers["land_film"], "4.5.2", source=source)
    assert [key for key, number in numbers.items() if number] == ["land_epoxy", "land_film"]


def test_every_shape_has_a_way_for_part_and_board(work: Work) -> None:
    """With hot air and preheat at the bench something can be done for each shape whose joints flow."""
    bench = BenchFacts(hot_air=True, preheat=work.board.facts.bench.preheat)
    from reworkkit.compute.removal.choice import way_off

    for shape in {shape for row in rows("removal_methods") for shape in row["shape"].split("|")}:
        for save in Save:
            assert way_off(work.board.parts["U3"], shape, save, (), bench) is not None, (shape, save)
