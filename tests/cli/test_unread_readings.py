"""Rows of readings.csv that cannot be read are told by every command that would have used them."""

from pathlib import Path

import pytest

from reworkkit.cli import main

BOARD = {
    "bom.csv": "Designator,Value,Package\nR1,10k,0603\nR2,10k,0603\n",
    "netlist.csv": "Designator,Pin,Net\nR1,1,+5V\nR1,2,MID\nR2,1,MID\nR2,2,GND\n",
    "board.toml": '[supplies]\n"+5V" = "5 V"\n[[hold_points]]\nname = "rails"\nsupply = "+5V"\n',
    "readings.csv": "Point,Reading,Hold point\n+5V,5.0V,rails\nMID,banana,rails\n,4V,rails\n",
}


@pytest.mark.parametrize("command", ["audit", "powerup", "diagnose"])
def test_rows_that_cannot_be_read_are_told(command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for name, text in BOARD.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    assert main([command, str(tmp_path)]) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert "readings.csv:3: The reading 'banana' at 'MID' cannot be read" in told
    assert "readings.csv:4" in told


def test_the_next_command_names_the_board_as_its_option(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for name, text in BOARD.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    assert main(["diagnose", str(tmp_path)]) == 0
    last = " ".join(capsys.readouterr().out.split()).rpartition("Next: ")[2]
    assert last.startswith("reworkkit reading ")
    assert f"--board {tmp_path}" in last
