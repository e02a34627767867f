import dataclasses
import json
import re

import pytest

from reworkkit.model.job import PlaceState
from reworkkit.model.job_input import board_id_of
from reworkkit.model.measuring import Reading
from reworkkit.model.netlist import Pad, Pin
from reworkkit.model.results import Operation, SetUp
from reworkkit.model.values import Where
from reworkkit.model.vocabulary import CheckPurpose, Mode, Place, PolarityVerdict, ReadingForm, Side
from reworkkit.show.sheet_words import KINDS, element_id, ref_list
from tests.show.boards import (
    EMPTY_PLAN,
    ROWS,
    make_board,
    make_difference,
    make_heat,
    make_plan,
    make_sheet,
    make_situation,
    make_verdicts,
    unseen,
)


def steps(sheet):
    return {(step.kind, step.subject): step for card in sheet.operations for step in card.steps}


def test_each_operation_keeps_the_order_of_the_plan_and_each_step_its_stable_key():
    sheet, plan = make_sheet(), make_plan()
    assert [card.number for card in sheet.operations] == [op.n for op in plan.operations]
    for card, op in zip(sheet.operations, plan.operations, strict=True):
        assert tuple((step.kind, step.subject) for step in card.steps) == op.steps


def test_zone_side_and_words_stand_at_the_step():
    spot = steps(make_sheet())["solder", "D2"].spot
    assert re.fullmatch(r"zone \d+[A-HJ-NP-Z], back, lower left", spot.words)
    assert spot.side == Side.BOTTOM


def test_the_back_is_seen_turned_over_like_a_page():
    """Invariant: a part near the right edge from above lies near the left edge of the back."""
    sheet = make_sheet()
    assert steps(sheet)["solder", "D2"].spot.x_mm == pytest.approx(76 - 60)
    assert steps(sheet)["solder", "U1"].spot.x_mm == pytest.approx(34)


def test_without_placements_there_is_no_drawing_and_that_is_said():
    sheet = make_sheet(dataclasses.replace(make_board(), placements={}, outline=()))
    assert sheet.views == ()
    assert not steps(sheet)["solder", "R1"].no_spot, "said once with the places, not at every step"
    assert sum(len(region.rows) for region in sheet.regions) == len(ROWS)


def test_a_part_that_the_placement_file_leaves_out_is_said_at_its_step():
    board = make_board()
    placements = {ref: place for ref, place in board.placements.items() if ref != "R1"}
    sheet = make_sheet(dataclasses.replace(board, placements=placements))
    assert steps(sheet)["solder", "R1"].no_spot
    assert not steps(sheet)["solder", "R3"].no_spot


def test_every_place_stands_in_exactly_one_region():
    rows = [row.ref for region in make_sheet().regions for row in region.rows]
    assert sorted(rows) == sorted(str(row[0]) for row in ROWS)


def test_a_picture_shows_a_mark_only_where_the_verdict_has_one():
    found = {ref: steps(make_sheet())["solder", ref].picture for ref in ("C1", "C2", "U1", "U2", "U3", "D2")}
    assert found == {
        "C1": "tantalum-band",
        "C2": "radial-band",
        "U1": "sot223",
        "U2": "soic-8-dot",
        "U3": "sensor4-4",
        "D2": "led_chip-dot-doubt",
    }


def test_unknown_construction_is_said_not_judged():
    lines = [line.text for line in steps(make_sheet())["solder", "U3"].facing]
    assert any("not judged" in line for line in lines)
    assert any("board.toml" in line for line in lines)


def test_a_contradiction_is_never_an_order_to_turn():
    lines = [line.text for line in steps(make_sheet())["desolder", "D1"].facing]
    assert any("not a proof" in line for line in lines)
    assert not any(line.lower().startswith("turn") for line in lines)


def test_the_pad_a_role_belongs_to_is_named_by_direction():
    """D1's cathode pad K lies to the right of A, on the front: independent of the drawing."""
    lines = [line.text for line in steps(make_sheet())["desolder", "D1"].facing]
    assert any("cathode on pad K, on the right (VIN)" in line for line in lines)


def test_the_way_round_is_told_again_where_the_part_goes_in_and_where_it_is_inspected():
    found = steps(make_sheet())
    assert len(found["desolder", "D1"].facing) > len(found["inspect", "D1"].facing)
    for kind in ("solder", "inspect"):
        texts = [line.text for line in found[kind, "D1"].facing]
        assert texts[0].startswith("band round one end = cathode")
        assert any("cathode on pad K" in text for text in texts)


AGREES = dataclasses.replace(make_verdicts()[0], verdict=PolarityVerdict.AGREES)


def turned(verdict, pads):
    """Return how D1 is drawn to lie, its pads where they are said to be."""
    board = make_board()
    pins = {
        ("D1", pin): Pin("D1", pin, pin, "", (Pad(x, y, 2, 2, 0, None, True, Side.TOP),), Where("netlist.ipc", 9))
        for pin, (x, y) in pads.items()
    }
    sheet = make_sheet(dataclasses.replace(board, pins=pins), verdicts=(verdict,))
    return steps(sheet)["solder", "D1"].way


@pytest.mark.parametrize(
    ("cathode", "turn", "marked"),
    [((6, 28), 0, (-1, 0)), ((14, 28), 180, (1, 0)), ((10, 32), 90, (0, -1)), ((10, 24), 270, (0, 1))],
)
def test_a_part_is_drawn_with_its_band_over_the_pad_that_the_circuit_wants(cathode, turn, marked):
    """Independent: the picture has its band on the left; y of the drawing points down, y of the board up."""
    way = turned(AGREES, {"K": cathode, "A": (20 - cathode[0], 56 - cathode[1])})
    assert way.turn_deg == turn
    first = way.ends[0]
    assert first.text == "K"
    middle = first.y_mm - way.letter * 0.36
    assert (round(first.x_mm / 60), round(middle / 60)) == marked


def test_no_way_is_drawn_where_the_papers_contradict_or_no_pad_is_known():
    pads = {"K": (6, 28), "A": (14, 28)}
    assert turned(AGREES, pads)
    assert turned(make_verdicts()[0], pads) is None
    assert turned(AGREES, {}) is None
    assert turned(dataclasses.replace(AGREES, needs={}), pads) is None


def test_a_mark_that_is_not_reliable_is_not_drawn_where_only_the_lands_are_known():
    verdict = dataclasses.replace(AGREES, mark=make_verdicts()[3].mark)
    way = turned(verdict, {"K": (6, 28), "A": (14, 28)})
    assert way.picture == "sma"
    assert {end.text for end in way.ends} == {"K", "A"}


def probe(name, purpose):
    return dataclasses.replace(make_verdicts()[0].checks[0], id=name, purpose=purpose)


def test_bare_pads_are_probed_before_the_part_goes_in_and_the_part_itself_once_it_is_on():
    bare, own = probe("beep", CheckPurpose.BARE_PLACE), probe("diode", CheckPurpose.ORIENTATION)
    verdict = dataclasses.replace(AGREES, checks=(bare, own))
    plan = make_plan()
    beep = dataclasses.replace(plan.operations[2], kind="beep_pads", refs=("D1",), title=KINDS["beep_pads"])
    for operations, expected in (
        ((*plan.operations[:3], beep, *plan.operations[3:5]), {"beep_pads": ["beep"], "solder": []}),
        (plan.operations[:5], {"solder": ["beep"]}),
    ):
        found = steps(make_sheet(plan=dataclasses.replace(plan, operations=operations), verdicts=(verdict,)))
        probes = {
            kind: [line.key.rpartition("-")[2] for line in found[kind, "D1"].checks]
            for kind in ("desolder", "inspect", *expected)
        }
        assert probes == {"desolder": ["diode"], "inspect": ["diode"], **expected}


def test_zero_is_measured_where_the_board_is_discharged():
    """Under 0.1 V before an iron or an ohmmeter comes: safety practice, no source opened."""
    (line,) = steps(make_sheet())["discharge", "BOARD"].checks
    assert (line.point, line.mode, line.hold_point) == ("+12V", "volts", "")
    assert json.loads(line.rule)["expect"] == {"low": -0.1, "high": 0.1, "unit": "V"}


def read(point, volts, event):
    return Reading(point, Mode.VOLTS, ReadingForm.VALUE, volts, "V", False, "logic rail", f"{volts}V", event)


@pytest.mark.parametrize(
    ("readings", "changed", "told"),
    [
        ((), None, ("", False)),
        ((read("+3V3", 3.31, 5),), None, ("in the job: 3.31V, inside", False)),
        ((read("+3V3", 3.31, 5), read("+3V3", 2.9, 7)), None, ("in the job: 2.9V, outside", True)),
        ((read("+3V3", 3.31, 5),), 6, ("", False)),
        ((read("+5V", 3.31, 5),), None, ("", False)),
    ],
    ids=["none", "inside", "newest counts", "a needed part was changed since", "another point"],
)
def test_what_the_job_read_stands_at_the_hold_point(readings, changed, told):
    situation = make_situation()
    states = {**situation.states, "U1": PlaceState("U1", Place.FITTED, changed=changed)}
    sheet = make_sheet(situation=dataclasses.replace(situation, readings=readings, states=states))
    (line,) = next(hold for card in sheet.operations for hold in card.holds).powered
    assert (line.in_job, line.outside) == told


def test_what_all_steps_say_alike_is_said_once_at_the_operation():
    plan = make_plan()
    solder = dataclasses.replace(plan.operations[3], refs=("R1", "R3"))
    heat = {ref: dataclasses.replace(make_heat()["R1"], ref=ref) for ref in ("R1", "R3")}
    sheet = make_sheet(plan=dataclasses.replace(plan, operations=(solder,)), heat=heat)
    (card,) = sheet.operations
    assert [line.text for line in card.common] == ["Heat: light (by package, not calculated)"]
    assert all(step.heat == () for step in card.steps)


def test_a_hold_point_between_the_last_tick_and_the_next_step_is_in_hand():
    plan = make_plan()
    hold = Operation(5, "hold_point", ("valve driver",), SetUp(), (), (), None, (), KINDS["hold_point"], "page-lay-out")
    plan = dataclasses.replace(plan, operations=(plan.operations[3], hold, plan.operations[5]))
    every = tuple((ref, "solder") for ref in plan.operations[0].refs)
    for done, number in (((), 4), (every[:2], 4), (every, 5), ((*every, ("U1", "solder")), 6)):
        assert make_sheet(plan=plan, situation=make_situation(done=done)).in_hand.number == number


def test_what_is_laid_out_is_laid_out_once_and_folds_equal_parts():
    board = make_board((*ROWS, ("R4", *ROWS[0][1:])))
    rows = (*ROWS, ("R4", *ROWS[0][1:]))
    plan = make_plan()
    more = dataclasses.replace(plan.operations[3], refs=("R1", "R4", "R3", "C1"))
    plan = dataclasses.replace(plan, operations=(*plan.operations[:3], more, dataclasses.replace(more, n=5)))
    sheet = make_sheet(
        board, plan=plan, difference=make_difference(board, rows), marks={"R1": ("103",), "R4": ("103",)}
    )
    first, second = sheet.operations[3], sheet.operations[4]
    assert [(pick.refs, pick.pieces, pick.value) for pick in first.picks[:1]] == [("R1, R4", 2, "10k")]
    assert second.picks == ()


def test_the_window_for_the_set_up_in_hand_is_shown_alone():
    found = steps(make_sheet())
    assert [line.look for line in found["solder", "Q1"].heat] == ["plain"]
    assert [line.look for line in found["desolder", "Q1"].heat] == ["plain", "doubt"]
    assert found["solder", "Q1"].heat[0].text.endswith("preheat 100 °C: 320 to 380 °C")


def test_a_joint_that_asks_for_another_setting_than_the_operation_says_so():
    plan = make_plan()
    setup = plan.operations[6].setup
    texts = {}
    for degrees in (330, 300):
        op = dataclasses.replace(plan.operations[6], setup=setup._replace(setting_c=degrees))
        sheet = make_sheet(plan=dataclasses.replace(plan, operations=(op,)))
        texts[degrees] = [line.text for line in steps(sheet)["solder", "Q1"].heat]
    assert not any("another setting" in text for text in texts[330])
    assert any("another setting than the 300" in text for text in texts[300])


def test_no_setting_above_380_is_ever_printed():
    sheet = make_sheet()
    dials = [dial.setting for card in sheet.operations for dial in card.dials]
    heat = [line.text for step in steps(sheet).values() for line in step.heat]
    shown = [int(figure) for text in (*dials, *heat) for figure in re.findall(r"(\d{3}) °C", text)]
    assert shown
    assert max(shown) <= 380
    assert any("bigger tip" in text for text in dials)


def test_hold_points_stand_after_the_operation_before_them_and_others_at_the_end():
    sheet = make_sheet()
    assert [(card.number, [hold.name for hold in card.holds]) for card in sheet.operations if card.holds] == [
        (6, ["logic rail"])
    ]
    assert [(hold.name, hold.figures) for hold in sheet.holds] == [("valve driver", False)]


def test_a_hold_point_operation_shows_the_card_and_no_tick():
    hold = Operation(8, "hold_point", ("valve driver",), SetUp(), (), (), None, (), KINDS["hold_point"], "page-lay-out")
    plan = make_plan()
    sheet = make_sheet(plan=dataclasses.replace(plan, operations=(*plan.operations, hold)))
    assert sheet.operations[-1].steps == ()
    assert [card.name for card in sheet.operations[-1].holds] == ["valve driver"]
    assert sheet.holds == ()


def test_ticks_of_the_job_are_ticked():
    assert steps(make_sheet())["solder", "R3"].done
    assert not steps(make_sheet())["solder", "R1"].done


def test_ticks_of_the_whole_board_are_ticked_and_a_passed_hold_point_is_not_in_hand():
    plan = make_plan()
    hold = Operation(3, "hold_point", ("logic rail",), SetUp(), (), (), None, (), KINDS["hold_point"], "page-lay-out")
    plan = dataclasses.replace(plan, operations=(*plan.operations[:2], hold, plan.operations[3]))
    done = frozenset({("photograph", "TOP"), ("photograph", "BOTTOM"), ("discharge", "BOARD")})
    fresh = make_situation(done=())
    sheet = make_sheet(plan=plan, done=done, situation=fresh)
    assert steps(sheet)["photograph", "TOP"].done
    assert sheet.in_hand.kind == "hold_point"
    sheet = make_sheet(plan=plan, done=done, situation=fresh, passed=frozenset({"logic rail"}))
    assert next(hold for card in sheet.operations for hold in card.holds).passed
    assert sheet.in_hand.kind == "solder"
    every = done | {("solder", ref) for ref in plan.operations[3].refs}
    assert make_sheet(plan=plan, done=every, passed=frozenset({"logic rail"})).in_hand is None


def test_nobody_has_looked():
    board = make_board()
    sheet = make_sheet(
        board,
        job=None,
        difference=unseen(board),
        plan=EMPTY_PLAN,
        situation=make_situation(False, looked=False, done=()),
    )
    assert not sheet.looked
    assert {count.look for count in sheet.counts} == {"all", "not_inspected"}
    assert "missing" not in {row.status for region in sheet.regions for row in region.rows}


def test_warnings_of_all_operations_come_first():
    assert [alert.level for alert in make_sheet().alerts] == ["warning"]


def test_equal_inputs_give_equal_sheets():
    assert make_sheet() == make_sheet()


def test_the_page_is_known_by_the_board_id_of_the_tool():
    assert make_sheet().board_id == board_id_of("Greenhouse watering controller", [str(row[0]) for row in ROWS])


def test_ids_differ_where_designators_differ():
    odd = ["VBAT+", "VBAT-", "U$1", "U_1", "3.3V", "I/O", "I O", "R1", "r1", "Ω1"]
    assert len({element_id(ref) for ref in odd}) == len(odd)
    assert all(re.fullmatch(r"[A-Za-z0-9_-]+", element_id(ref)) for ref in odd)


def test_repeated_steps_get_ids_of_their_own():
    plan = make_plan()
    again = dataclasses.replace(plan.operations[3], n=8)
    sheet = make_sheet(plan=dataclasses.replace(plan, operations=(*plan.operations, again)))
    keys = [step.key for card in sheet.operations for step in card.steps]
    assert len(keys) == len(set(keys))


@pytest.mark.parametrize(
    ("refs", "folded"),
    [(["R1", "R2", "R3"], "R1–R3"), (["R1", "R2"], "R1, R2"), (["R9", "R10", "R11"], "R9–R11"), (["J", "J1"], "J, J1")],
)
def test_runs_of_designators_fold(refs, folded):
    assert ref_list(refs) == folded


def test_a_part_that_is_not_polarised_has_no_line_about_facing():
    verdict = dataclasses.replace(make_verdicts()[1], ref="R1", mark=None, verdict=PolarityVerdict.NOT_POLARISED)
    sheet = make_sheet(verdicts=(verdict,))
    assert steps(sheet)["solder", "R1"].facing == ()


def test_where_a_note_was_written_is_named():
    lines = [line.text for line in steps(make_sheet())["solder", "C1"].facing]
    assert any(str(Where("bom.csv", 5)) in line for line in lines)


def test_a_name_out_of_a_drawing_library_is_said_as_the_package_that_is_known():
    rows = (("R1", "resistor", "10k", "R chip 0603", *ROWS[0][4:]),)
    board = make_board(rows)
    identity = dataclasses.replace(board.parts["R1"].identity, package_text="parts:R_0603_1608")
    board = dataclasses.replace(board, parts={"R1": board.parts["R1"]._replace(identity=identity)})
    difference = make_difference(board, rows)
    items = tuple(item._replace(package="parts:R_0603_1608") for item in difference.items)
    sheet = make_sheet(board, difference=dataclasses.replace(difference, items=items), plan=EMPTY_PLAN, verdicts=())
    assert [row.package for region in sheet.regions for row in region.rows] == ["R chip 0603"]


def test_a_ceramic_chip_is_not_promised_a_print():
    """Most ceramic chips carry nothing; a code given as if it were always there makes a good part look wrong."""
    rows = (*ROWS, ("C9", "capacitor_ceramic", "100n", "MLCC 0603", *ROWS[0][4:]))
    board, plan = make_board(rows), make_plan()
    solder = dataclasses.replace(plan.operations[3], refs=("R1", "C9"))
    plan = dataclasses.replace(plan, operations=(*plan.operations[:3], solder))
    marks = {"R1": ("103",), "C9": ("A5",)}
    found = steps(make_sheet(board, plan=plan, difference=make_difference(board, rows), marks=marks))
    assert found[solder.kind, "R1"].marking == "103"
    assert found[solder.kind, "C9"].marking == "mostly nothing, at most A5"
