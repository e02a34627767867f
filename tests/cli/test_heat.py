"""`heat`: the command shows and keeps its promises; the figures are checked where they are computed."""

import json
import re
from pathlib import Path
from typing import Any

import pytest

from reworkkit.cli import main


@pytest.fixture
def board(example_board: Any) -> str:
    return str(example_board("greenhouse-valves"))


def test_json_has_its_format_and_no_setting_above_380(board: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["heat", "--board", board, "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert document["format"] == "reworkkit.heat/1"
    assert document["joints"]
    for joint in document["joints"]:
        assert (joint["recommended"] or {}).get("setting_c") in (None, *range(200, 381, 10))


def test_small_ics_ask_less_than_large_tabs(board: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Common practice, no source: small ICs first, large tabs last; here it must come out of the figures."""
    assert main(["heat", "--board", board, "--json"]) == 0
    order = [joint["ref"] for joint in json.loads(capsys.readouterr().out)["joints"]]
    for small in ("U3", "U4", "R8", "C9"):
        for large in ("Q1", "Q2", "Q3", "Q4"):
            assert order.index(large) < order.index(small), "the list is heaviest first"


def test_the_explanation_names_what_would_narrow_the_range(board: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["heat", "Q1", "--board", board, "--explain"]) == 0
    told = capsys.readouterr().out
    shares = [int(n) for n in re.findall(r"(\d+) % into", told)]
    assert 98 <= sum(shares) <= 102
    assert "widest" in told


def test_a_parts_list_alone_is_enough(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "list.csv"
    path.write_text("Designator,Value,Package\nQ1,IRLZ44NS,TO-263\nR1,10k,0603\n", encoding="utf-8")
    assert main(["heat", "--board", str(path)]) == 0
    assert "Q1" in capsys.readouterr().out


@pytest.mark.parametrize(
    "arguments", [["R999"], ["--explain"], ["--flowed", "nonsense"], ["--flowed", "Z9.1: 4 s at 350 C"]]
)
def test_what_cannot_be_answered_is_refused(
    board: str, arguments: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["heat", *arguments, "--board", board]) == 2
    assert "Traceback" not in capsys.readouterr().err


def test_what_heat_and_moisture_do_to_parts_is_told(board: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["heat", "U3", "--board", board, "--json"]) == 0
    slugs = {finding["slug"] for finding in json.loads(capsys.readouterr().out)["findings"]}
    assert any("floor" in slug or "moisture" in slug for slug in slugs), slugs
