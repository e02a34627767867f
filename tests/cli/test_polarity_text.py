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
    assert [line.split()[3] for line in lines] == ["D2:"]
