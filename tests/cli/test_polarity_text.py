"""`polarity` on a terminal: each part once, equal reasons together, a question only where an answer can be typed."""

from pathlib import Path

import pytest

from reworkkit.cli import main


def test_equal_reasons_are_one_line_and_nothing_is_said_twice(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "bom.csv").write_text(
        "Designator,Value,Package,Note\nC1-C9,100n X7R,0603,\nD1,S1G,SMA,band towards C1\nD2,S1G,SMA,\n",
        encoding="utf-8",
    )
    (tmp_path / "netlist.csv").write_text(
        "Designator,Pin,Net\nD1,1,A\nD1,2,B\nD2,1,A\nD2,2,B\nC1,1,A\nC1,2,B\n", encoding="utf-8"
    )
    assert main(["polarity", str(tmp_path)]) == 0
    out = capsys.readouterr().out
    assert "C1-C9: ceramic capacitor" in out
    assert "-. " not in out
    lines = [line for line in out.splitlines() if line.strip().startswith("Not judged for")]
    assert len(lines) == 1, "the ground of this board is asked for once"
    assert "Not judged for D1 D2:" in lines[0]


def test_the_first_of_a_kind_is_named_and_equal_notes_are_one_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "bom.csv").write_text(
        "Designator,Value,Package,Note\nD1-D6,1N4148,SOD-123,\nR1-R4,10k,0603,band towards D1\n", encoding="utf-8"
    )
    rows = [f"D{n},1,N{n}\nD{n},2,GND\n" for n in range(1, 7)]
    (tmp_path / "netlist.csv").write_text("Designator,Pin,Net\n" + "".join(rows), encoding="utf-8")
    assert main(["polarity", str(tmp_path)]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "Prove one D1 before fitting the other 5 of its kind (D2-D6)" in out
    assert out.count("no polarity, but a note says") == 1
    assert "R1-R4: no polarity" in out
