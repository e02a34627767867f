"""The broken pin of U5, from the command line: off, probed, one barrel lost, a wire, probed again."""

import json
from pathlib import Path
from typing import Any

import pytest

from reworkkit.cli import main


class Bench:
    """Runs commands on one board folder."""

    def __init__(self, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
        self.folder, self.capsys = folder, capsys

    def run(self, *words: str, code: int = 0) -> str:
        assert main([*words, "--board", str(self.folder)]) == code, self.capsys.readouterr()
        return self.capsys.readouterr().out

    def desolder(self, *words: str) -> dict[str, Any]:
        document: dict[str, Any] = json.loads(self.run("desolder", *words, "--json"))
        assert document["format"] == "reworkkit.desolder/1"
        return document


@pytest.fixture
def bench(example_board: Any, capsys: pytest.CaptureFixture[str]) -> Bench:
    return Bench(example_board("greenhouse-valves"), capsys)


def probed(document: dict[str, Any]) -> list[str]:
    return [probe["point"].split(" ")[0] for probe in document["proof"]["probes"]]


def test_the_broken_pin(bench: Bench) -> None:
    before = bench.desolder("U5")
    assert before["parts"][0]["save"] == "board"
    assert before["parts"][0]["pins"][-1]["pin"] == "4"
    assert probed(before) == ["U5.1", "U5.2", "U5.3", "U5.4"]
    point = {one["point"].split(" ")[0]: one["point"] for one in before["proof"]["probes"]}

    bench.run("begin")
    bench.run("tick", "U5", "--step", "desolder")
    assert "inside" in bench.run("reading", point["U5.2"], "0.3 ohm")
    assert "outside" in bench.run("reading", point["U5.1"], "OL")
    bench.run("set", "barrel lost", "U5.4", "--reason", "came out with the stub")
    after = bench.desolder("U5")
    assert probed(after) == ["U5.3"]
    assert {wire["from"] for wire in after["proof"]["wires"]} == {"U5.1", "U5.4"}
    assert after["parts"][0]["sites"] == [{"point": "U5.4", "kind": "barrel_lost", "text": "came out with the stub"}]

    bench.run("set", "wire repair", "U5.1", "U5.4")
    assert probed(bench.desolder("U5")) == ["U5.1", "U5.3", "U5.4"]
    for pin in ("U5.1", "U5.3", "U5.4"):
        bench.run("reading", point[pin], "0.2 ohm")
    done = bench.desolder("U5")
    assert probed(done) == []
    assert done["proof"]["wires"] == []


def test_terminal_says_warnings_before_the_way(bench: Bench) -> None:
    told = bench.run("desolder", "U5")
    assert told.index("WARNING: clippings") < told.index("Way:")
    assert told.index("WARNING: if there is a coating") < told.index("U5:")
    assert max(map(len, told.splitlines())) <= 80


@pytest.mark.parametrize("purpose", ["bare_place", "power_stage"])
def test_checks_of_a_purpose(bench: Bench, purpose: str) -> None:
    document = json.loads(bench.run("checks", "--purpose", purpose, "--json"))
    (sheet,) = document["sheets"]
    assert sheet["purpose"] == purpose
    assert sheet["checks"]
    assert bench.run("checks", "--purpose", purpose)


def test_check_exits_with_one_while_a_probe_is_open(bench: Bench) -> None:
    bench.run("desolder", "U5", "--check", code=1)


def test_refusals(bench: Bench, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    bench.run("desolder", "U99", code=2)
    lone = tmp_path / "list.csv"
    lone.write_text("Designator,Value,Package\nR1,10k,0603\n", encoding="utf-8")
    assert main(["desolder", "--board", str(lone)]) == 2
    assert "reworkkit desolder U5" in capsys.readouterr().err


def test_without_netlist_the_way_still_comes_and_the_proof_is_asked_for(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    lone = tmp_path / "list.csv"
    lone.write_text("Designator,Value,Package\nR1,10k,0603\nU1,LM358,SOIC-8\n", encoding="utf-8")
    assert main(["desolder", "R1", "U1", "--board", str(lone), "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert document["parts"][0]["method"] == "flood_both"
    assert document["proof"]["probes"] == []
    assert any("netlist" in one["answer"] for one in document["not_judged"] if one["answer"])
