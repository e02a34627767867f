import dataclasses
import re

import pytest

from reworkkit.model.job_input import board_id_of
from reworkkit.model.results import Operation, SetUp
from reworkkit.model.values import Where
from reworkkit.model.vocabulary import PolarityVerdict, Side
from reworkkit.show.sheet_words import KINDS, element_id, ref_list
from tests.show.boards import (
    EMPTY_PLAN,
    ROWS,
    make_board,
    make_difference,
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
    assert steps(sheet)["solder", "R1"].no_spot
    assert sum(len(region.rows) for region in sheet.regions) == len(ROWS)


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
    assert any("cathode on pin K" in line and line.endswith("on the right") for line in lines)


def test_details_are_told_at_the_first_step_and_the_mark_rule_at_every_step():
    found = steps(make_sheet())
    assert len(found["desolder", "D1"].facing) > len(found["solder", "D1"].facing) == 1
    assert "cathode" in found["solder", "D1"].facing[0].text


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
    assert len(found["solder", "Q1"].heat) == 2
    assert len(found["desolder", "Q1"].heat) == 3
    assert "preheat 100 °C: 320 to 380 °C" in found["solder", "Q1"].heat[1].text


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
