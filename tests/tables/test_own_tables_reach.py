"""Rows that a board lays over shipped tables reach the answers; a table that would do nothing is refused."""

from pathlib import Path

import pytest

from reworkkit import tables
from reworkkit.compute.circuit import derive_circuit
from reworkkit.compute.heat_demand.figures import allowed_setting, alloy
from reworkkit.compute.power_up import all_symptoms
from reworkkit.errors import ReworkkitError
from reworkkit.model.board import Board
from reworkkit.model.vocabulary import JointKind
from tests.compute.test_circuit import board_from, only, pins


def laid_over(folder: Path, name: str, text: str, parts: str = "R1,1k,0805,resistor\n", nets: str = "") -> Board:
    (folder / "tables").mkdir(exist_ok=True)
    (folder / "tables" / f"{name}.csv").write_text(text, encoding="utf-8")
    return board_from(folder, parts, nets or pins("R1", "A", "GND"))


def test_defaults_drops_and_pinouts_of_the_circuit(tmp_path: Path) -> None:
    board = laid_over(tmp_path, "circuit_defaults", "key,nominal\nresistor_tolerance,1\n")
    ohm = only(derive_circuit(board), "R1").parameters["resistance"]
    assert (ohm.low, ohm.high) == (990.0, 1010.0)
    board = laid_over(
        tmp_path,
        "forward_drops",
        "key,low_v,nominal_v,high_v\nled_green,2.9,3.0,3.1\n",
        "LED1,green,0805,LED\nR1,1k,0805,resistor\n",
        "LED1,A,X\nLED1,K,GND\n",
    )
    forward = only(derive_circuit(board), "LED1").parameters["forward"]
    assert (forward.low, forward.nominal, forward.high) == (2.9, 3.0, 3.1)
    board = laid_over(
        tmp_path,
        "diode_pinouts",
        "pattern,junctions\n^ODD1,2>1 2>3\n",
        "D1,ODD1,SOT-23,diode\nR1,1k,0805,resistor\n",
        pins("D1", "P", "Q", "GND"),
    )
    found = [e.nodes for e in derive_circuit(board).elements if e.ref == "D1"]
    assert found == [("Q", "P"), ("Q", "GND")]


def test_alloys_heat_limits_and_symptoms(tmp_path: Path) -> None:
    board = laid_over(tmp_path, "alloys", "alloy,also,liquidus_c\nSn63Pb37,63/37,190\n")
    assert alloy("Sn63Pb37", board.own_tables)[0].liquidus_c == 190
    board = laid_over(tmp_path, "heat_limits", "subject,rule,setting_c\nled,kind,300\n")
    assert allowed_setting(JointKind.PAD, "led", board.own_tables) == 300
    assert allowed_setting(JointKind.PAD, "led") == 320
    assert allowed_setting(JointKind.PAD, "battery", board.own_tables) == 320, "other rows of the rule stay"
    board = laid_over(tmp_path, "heat_limits", "subject,rule,setting_c\npad,joint,450\n")
    assert allowed_setting(JointKind.PAD, "resistor", board.own_tables) == 380, "never above 380"
    board = laid_over(tmp_path, "rail_symptoms", "key,likely\nrail_low,the fuse F1 again\n")
    row = next(one for one in all_symptoms(board.own_tables) if one.key == "rail_low")
    assert row.likely == ("the fuse F1 again",)
    assert row.source.key == "yours"


@pytest.mark.parametrize(
    ("name", "text", "slug"),
    [
        ("tips", "tip,width\nsmall,2\n", "table-not-yours"),
        ("nonsense", "a,b\n1,2\n", "table-unknown"),
    ],
)
def test_a_table_that_would_do_nothing_is_refused(tmp_path: Path, name: str, text: str, slug: str) -> None:
    with pytest.raises(ReworkkitError) as refused:
        laid_over(tmp_path, name, text)
    assert refused.value.message.slug == slug


def test_a_cell_that_is_no_number_is_told_with_its_table(tmp_path: Path) -> None:
    board = laid_over(tmp_path, "circuit_defaults", "key,nominal\nresistor_tolerance,five\n")
    with pytest.raises(ReworkkitError) as refused:
        derive_circuit(board)
    assert refused.value.message.slug == "table-not-a-number"
    board = laid_over(tmp_path, "heat_limits", "subject,rule,setting_c\nled,kind,hot\n")
    with pytest.raises(ReworkkitError) as refused:
        allowed_setting(JointKind.PAD, "led", board.own_tables)
    assert refused.value.message.slug == "table-not-a-number"


def test_every_table_that_may_be_overruled_has_a_first_column_that_names_a_row() -> None:
    for name in tables.OVERRIDABLE:
        rows = tables.rows(name)
        key = next(iter(rows[0]))
        assert len({row[key] for row in rows}) == len(rows), name
