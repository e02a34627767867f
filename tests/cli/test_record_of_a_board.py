"""`report --record`: the record that goes with a finished board, on paper, as CSV and as JSON."""

import csv
import io
import json
from pathlib import Path

import pytest

from reworkkit.cli import main


@pytest.fixture
def job(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Path:
    (tmp_path / "bom.csv").write_text(
        "Designator,Value,Package\nR1,10k,0603\nD1,<b>1N4148</b>,SOD-123\n", encoding="utf-8"
    )
    (tmp_path / "fitted.txt").write_text("R1\n", encoding="utf-8")
    (tmp_path / "board.toml").write_text('[board]\nalloy_used = "SAC305"\n[points]\nTP1 = "VCC"\n', encoding="utf-8")
    (tmp_path / "netlist.csv").write_text(
        "Designator,Pin,Net\nR1,1,VCC\nR1,2,GND\nD1,1,VCC\nD1,2,GND\n", encoding="utf-8"
    )
    for arguments in (
        ["begin", str(tmp_path), "--by", "Ada"],
        ["tick", "D1", "--step", "solder", "--board", str(tmp_path), "--by", "Ada"],
        ["reading", "TP1", "4.98V", "--board", str(tmp_path), "--by", "Ada"],
        ["substitute", "R1", "--with", "=cmd", "--reason", "in the drawer", "--board", str(tmp_path), "--by", "Ada"],
    ):
        assert main(arguments) == 0, capsys.readouterr().err
    capsys.readouterr()
    return tmp_path


def test_the_page_holds_who_did_what_and_is_inert(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["report", str(job), "--record"]) == 0
    page = (job / "board-record-1.html").read_text(encoding="utf-8")
    assert main(["report", str(job), "--record"]) == 0
    assert (job / "board-record-1.html").read_text(encoding="utf-8") == page
    for told in ("Ada", "SAC305", "4.98V", "in the drawer", "&lt;b&gt;1N4148"):
        assert told in page
    assert "<b>1N4148" not in page
    assert "<script" not in page


def test_the_page_says_nothing_of_bare_copper_and_of_parts_that_are_not_there(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A next owner reads it: a hole is no empty place, and an empty place was not made by a factory."""
    rows = "R1,10k,0603\nFID1,fiducial,Fiducial 1\nD9,1N4148,SOD-123\n"
    (tmp_path / "bom.csv").write_text("Designator,Value,Package\n" + rows, encoding="utf-8")
    (tmp_path / "fitted.txt").write_text("R1\n", encoding="utf-8")
    assert main(["begin", str(tmp_path)]) == 0
    assert main(["reading", "R1", "0.55V", "--mode", "diode", "--swapped", "--board", str(tmp_path)]) == 0
    assert main(["report", str(tmp_path), "--record"]) == 0
    page = (tmp_path / "board-record-1.html").read_text(encoding="utf-8")
    assert "FID1" not in page
    assert page.count("factory") == 1
    assert "<td>diode</td>" in page
    assert "<td>swapped</td>" in page
    capsys.readouterr()
    assert main(["history", "D9", "--board", str(tmp_path)]) == 0
    assert "found D9: empty\n" in capsys.readouterr().out


def test_the_csv_is_safe_and_the_json_has_its_format(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["report", str(job), "--record", "--csv"]) == 0
    rows = list(csv.DictReader(io.StringIO(capsys.readouterr().out)))
    assert [row["ref"] for row in rows] == ["D1", "R1"]
    assert rows[1]["substitute"] == "'=cmd"
    assert main(["report", str(job), "--record", "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert document["format"] == "reworkkit.record/1"
    assert document["alloy"]["used"] == "SAC305"
    assert document["readings"][0]["who"] == "Ada"


def test_without_a_job_there_is_no_record(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "bom.csv").write_text("Designator,Value\nR1,10k\n", encoding="utf-8")
    assert main(["report", str(tmp_path), "--record"]) == 2
    assert "begin" in capsys.readouterr().err
