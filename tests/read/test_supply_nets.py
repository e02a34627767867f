"""A supply that board.toml calls by a name of its own is taken for the net of the only power input."""

from dataclasses import replace
from pathlib import Path

import pytest

from reworkkit.model.board import Board
from reworkkit.model.diagnosis import DiagnosisVerdict
from reworkkit.model.measuring import Reading
from reworkkit.model.vocabulary import Mode, ReadingForm
from reworkkit.pipeline.diagnosing import diagnosis_of
from reworkkit.pipeline.opening import Request, open_work
from reworkkit.pipeline.work import Work
from reworkkit.read.folder import read_board

BOM = "Designator,Value,Package,Description\n{plugs}\nR1,1k,0603,\n"
NETS = "Designator,Pin,Net\nJ1,1,VIN\nJ1,2,GND\nJ2,1,AUDIO\nJ2,2,GND\nR1,1,VIN\nR1,2,AUDIO\n"
FACTS = """name = "Bench"
[supplies]
PSU = "36 V, limit 1 A"
[[hold_points]]
name = "first power"
supply = "PSU"
measure = ["VIN"]
"""


def board(folder: Path, plugs: str, nets: str = NETS) -> Board:
    (folder / "bom.csv").write_text(BOM.format(plugs=plugs), encoding="utf-8")
    (folder / "netlist.csv").write_text(nets, encoding="utf-8")
    (folder / "board.toml").write_text(FACTS, encoding="utf-8")
    return read_board(folder)


@pytest.mark.parametrize(
    "plugs",
    [
        "J1,36 V supply,,terminal\nJ2,input,,socket",
        "J1,Eingang,,terminal\nJ2,speaker,,terminal",
        "J1,36V_IN,,terminal\nJ2,5 V tap,,terminal",
    ],
)
def test_the_net_of_the_power_input_stands_in(tmp_path: Path, plugs: str) -> None:
    found = board(tmp_path, plugs)
    assert list(found.facts.supplies) == ["VIN"]
    assert found.facts.hold_points[0].supply == "VIN"
    slugs = [one.message.slug for one in found.findings]
    assert "facts-supply-at-plug" in slugs
    assert "facts-nets-not-there" not in slugs


@pytest.mark.parametrize(("word", "net"), [("input", "VIN"), ("plug", "NODE")])
def test_two_plugs_alike_leave_a_doubt(tmp_path: Path, word: str, net: str) -> None:
    found = board(tmp_path, f"J1,{word},,terminal\nJ2,{word},,socket", NETS.replace("VIN", net))
    assert list(found.facts.supplies) == ["PSU"]
    assert "facts-nets-not-there" in [one.message.slug for one in found.findings]


def test_a_supply_of_no_known_net_is_a_question_of_the_diagnosis(tmp_path: Path) -> None:
    board(tmp_path, "J1,36 V in,,terminal\nJ2,36 V out,,terminal")
    work = open_work(Request(tmp_path))
    read = Reading("VIN", Mode.VOLTS, ReadingForm.VALUE, 36.0, "V", False, None, "36 V")
    found = diagnosis_of(Work(work.board, replace(work.situation, readings=(read,))), tmp_path)
    assert found.verdict is DiagnosisVerdict.NOT_ENOUGH
    assert "circuit-supply-no-net" in [one.because.slug for one in found.not_judged]


def test_a_unit_that_is_not_used_does_not_leave_the_chip_out(tmp_path: Path) -> None:
    plugs = "J1,36 V in,,terminal\nU1,LM339N,DIP-14,cuarto comparador sin usar\nU2,LM324N,DIP-14,second half not used"
    found = board(tmp_path, plugs)
    assert {found.parts[ref].fit.value for ref in ("U1", "U2")} == {"fit"}


@pytest.mark.parametrize("remark", ["amplifier not fitted", "gate driver not fitted", "comparator not fitted"])
def test_a_part_that_is_called_what_it_is_may_still_be_left_out(tmp_path: Path, remark: str) -> None:
    found = board(tmp_path, f"J1,36 V in,,terminal\nU1,TC4427,DIP-8,{remark}")
    assert found.parts["U1"].fit.value == "do_not_fit"
