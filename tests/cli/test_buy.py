"""shortage, compare, goods in and an accepted substitute, on the example board, as a person types them."""

import csv
import io
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from reworkkit.cli import ask_commands, buy_commands, check_commands, record_commands, report_commands
from reworkkit.cli.frame import guarded, new_app

Copy = Callable[[str], Path]


def run(*arguments: str) -> int:
    app = new_app()
    app.callback()(lambda: None)
    for commands in (ask_commands, buy_commands, check_commands, record_commands, report_commands):
        commands.register(app)
    return guarded(lambda: app(args=list(arguments), standalone_mode=True))


@pytest.fixture
def folder(example_board: Copy, monkeypatch: pytest.MonkeyPatch) -> Path:
    made = example_board("greenhouse-valves")
    monkeypatch.chdir(made)
    monkeypatch.setenv("NO_COLOR", "1")
    monkeypatch.setenv("COLUMNS", "80")
    return made


@pytest.fixture
def ask(folder: Path, capsys: pytest.CaptureFixture[str]) -> Callable[..., str]:
    def answered(*arguments: str, code: int = 0) -> str:
        got = run(*arguments)
        out, err = capsys.readouterr()
        assert got == code, (out, err)
        return out

    return answered


def document(text: str) -> dict[str, Any]:
    loaded: dict[str, Any] = json.loads(text)
    return loaded


def test_three_sensors_three_verdicts(ask: Callable[..., str]) -> None:
    """The story of the board: one needs a new constant, one needs rework, one does not fit."""
    found = document(ask("compare", "u5", "--json"))
    assert (found["format"], found["ref"], found["original"]) == ("reworkkit.compare/1", "U5", "CS4-10-200")
    verdicts = {one["part_number"]: one["verdict"] for one in found["candidates"]}
    assert verdicts == {"TM4-12-160": "fits_after_change", "HC8-10-200": "fits_with_rework", "UM4-50-56": "no"}
    first = found["candidates"][0]
    figures = {one["name"]: one["after"]["value"] for effect in first["consequences"] for one in effect["figures"]}
    assert figures["trip_a"] == pytest.approx(10.0, rel=1e-3)
    assert figures["counts_per_ampere"] == pytest.approx(132.396, rel=1e-3)
    assert all({"key", "place", "honesty"} == set(row["source"]) for row in first["parameters"])


def test_compare_names_what_decides_before_what_fits(ask: Callable[..., str]) -> None:
    out = ask("compare", "U5")
    assert out.index("TM4-12-160") < out.index("HC8-10-200") < out.index("UM4-50-56")
    assert "WARNING: With the old constants the 8 A trip comes at 10 A." in out
    assert max(len(line) for line in out.splitlines()) <= 80
    assert "[" not in out.replace("[ ]", "")
    assert "Halden" not in out
    every = ask("compare", "U5", "--all")
    assert len(every) > len(out)


def test_compare_without_candidates_says_what_must_be_met(ask: Callable[..., str]) -> None:
    out = ask("compare", "U2")
    assert "What another part must meet" in out
    assert "Fits = U2" in out
    ask("compare", "U2", "--check", code=1)
    assert ask("compare", "Z99", code=2) == ""


def test_shortage_counts_and_csv(ask: Callable[..., str]) -> None:
    found = document(ask("shortage", "--json"))
    assert found["format"] == "reworkkit.shortage/1"
    lines = {tuple(line["refs"]): line for line in found["lines"]}
    assert found["lines"][0]["refs"] == ["U5"]
    assert (lines["Q1", "Q2", "Q3", "Q4"]["from_stock"], lines["Q1", "Q2", "Q3", "Q4"]["to_buy"]) == (4, 0)
    assert (lines["D9", "D10"]["missing"], lines["D9", "D10"]["to_buy"]) == (2, 1)
    assert lines["C9", "C13", "C14"]["not_inspected"] == 2
    rows = list(csv.DictReader(io.StringIO(ask("shortage", "--csv"))))
    assert len(rows) == len(found["lines"])
    assert not any(cell.startswith(("=", "+", "@")) for row in rows for cell in row.values())
    ask("shortage", "--check", code=1)


def test_shortage_for_five_boards(ask: Callable[..., str]) -> None:
    one = {tuple(line["refs"]): line["missing"] for line in document(ask("shortage", "--json"))["lines"]}
    five = document(ask("shortage", "--copies", "5", "--json"))
    assert all(line["missing"] == 5 * one[tuple(line["refs"])] for line in five["lines"] if line["refs"])
    assert five["findings"][0]["slug"] == "shortage-copies-alike"


def test_a_spreadsheet_formula_in_a_part_number_stays_inert(folder: Path, ask: Callable[..., str]) -> None:
    text = (folder / "bom.csv").read_text(encoding="utf-8")
    (folder / "bom.csv").write_text(text.replace("LL4148,cathode", "=1+1,cathode"), encoding="utf-8")
    assert "'=1+1" in ask("shortage", "--csv")


def test_goods_in_lists_what_is_bought(ask: Callable[..., str]) -> None:
    sheets = document(ask("checks", "--purpose", "goods_in", "--json"))["sheets"]
    refs = {ref for check in sheets[0]["checks"] for ref in check["refs"]}
    assert {"R8", "D6", "Q1", "U5", "LED2"} <= refs
    assert not {"R12", "D7", "U1"} & refs
    only = document(ask("checks", "R12", "--purpose", "goods_in", "--json"))["sheets"]
    assert {ref for check in only[0]["checks"] for ref in check["refs"]} == {"R12"}


def test_an_accepted_substitute_flows_on_and_a_rejected_one_does_not(folder: Path, ask: Callable[..., str]) -> None:
    ask("begin")
    ask("substitute", "U5", "--with", "UM4-50-56", "--reason", "cheap", "--rejected")
    assert part_of(ask, "U5") == "CS4-10-200"
    out = ask("substitute", "U5", "--with", "TM4-12-160", "--reason", "the original is no longer sold")
    assert "fits after change" in out
    assert part_of(ask, "U5") == "TM4-12-160"
    line = next(one for one in document(ask("shortage", "--json"))["lines"] if one["refs"] == ["U5"])
    assert (line["part_number"], line["instead_of"], line["urgency"]) == ("TM4-12-160", "CS4-10-200", "plain")
    assert line["prices"] == [{"pieces": 1, "each": "9.80", "currency": "EUR"}]
    ask("report", "-o", str(folder / "sheet.html"))
    assert "TM4-12-160" in (folder / "sheet.html").read_text(encoding="utf-8")
    found = document(ask("compare", "U5", "--json"))
    assert found["original"] == "CS4-10-200"


def part_of(ask: Callable[..., str], ref: str) -> str:
    items = document(ask("diff", "--json"))["items"]
    return str(next(item["part_number"] for item in items if item["ref"] == ref))


def test_another_polarised_part_turns_the_polarity_rule(folder: Path, ask: Callable[..., str]) -> None:
    """A polymer aluminium can instead of a moulded tantalum: the mark now shows the other end."""
    rows = "\nC7,PA-22-10,Tarnfeld (invented),capacitor polymer aluminium,,,,,,,,,,Can 8x10.5,1.10 EUR,40,invented\n"
    path = folder / "candidates.csv"
    path.write_text(path.read_text(encoding="utf-8").rstrip("\n") + rows, encoding="utf-8")
    before = mark_of(ask, "C7")
    ask("begin")
    ask("substitute", "C7", "--with", "PA-22-10", "--reason", "tantalum not wanted")
    after = mark_of(ask, "C7")
    assert (before["terminal"], after["terminal"]) == ("plus", "minus")
    plan = ask("plan", "--json")
    assert "C7" in plan


def mark_of(ask: Callable[..., str], ref: str) -> dict[str, Any]:
    parts = document(ask("polarity", "--json"))["parts"]
    mark: dict[str, Any] = next(part["mark"] for part in parts if part["ref"] == ref)
    return mark


def test_a_substitute_that_does_not_fit_is_recorded_and_said(ask: Callable[..., str]) -> None:
    ask("begin")
    out = ask("substitute", "U5", "--with", "UM4-50-56", "--reason", "it was in the drawer")
    assert "does not fit by its figures" in out


def test_lone_list_and_other_example_boards(example_board: Copy, ask: Callable[..., str]) -> None:
    for name in ("moisture-probe", "magnet-clamp"):
        made = example_board(name)
        assert "To buy" in ask("shortage", str(made))
        lone = document(ask("shortage", str(made / "bom.csv"), "--json"))
        assert all(line["to_buy"] == 0 for line in lone["lines"] if line["refs"])
