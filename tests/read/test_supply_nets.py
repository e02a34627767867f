"""A supply that board.toml calls by a name of its own is taken for the net of the only power input."""

from pathlib import Path

import pytest

from reworkkit.model.board import Board
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


def test_a_unit_that_is_not_used_does_not_leave_the_chip_out(tmp_path: Path) -> None:
    plugs = "J1,36 V in,,terminal\nU1,LM339N,DIP-14,cuarto comparador sin usar\nU2,LM324N,DIP-14,second half not used"
    found = board(tmp_path, plugs)
    assert {found.parts[ref].fit.value for ref in ("U1", "U2")} == {"fit"}
