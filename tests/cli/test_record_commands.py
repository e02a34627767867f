"""The job on the command line: what it prints, its exit codes, odd points and negative values."""

import json
import os
from pathlib import Path

import pytest

from reworkkit.cli import ask_commands, recall_commands, record_commands
from reworkkit.cli.frame import guarded, new_app
from reworkkit.pipeline import job
from reworkkit.pipeline.recall import finished_record, situation_of_job
from reworkkit.show.recall_data import RECORD_HEADINGS, record_csv, record_data
from tests.record.boards import actor, begun_folder
from tests.record.test_merge import done, page, word

EXAMPLE = "greenhouse-valves"


def run(*arguments: str) -> int:
    app = new_app()
    app.callback()(lambda: None)
    for commands in (ask_commands, record_commands, recall_commands):
        commands.register(app)
    return guarded(lambda: app(args=list(arguments), standalone_mode=True))


@pytest.fixture
def board(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = begun_folder(tmp_path)
    monkeypatch.chdir(folder)
    monkeypatch.setenv("NO_COLOR", "1")
    return folder


def answered(capsys: pytest.CaptureFixture[str], *arguments: str, code: int = 0) -> str:
    got = run(*arguments)
    out, err = capsys.readouterr()
    assert got == code, (got, out, err)
    return out


def refused(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    code = run(*arguments)
    out, err = capsys.readouterr()
    assert (code, out) == (2, ""), (code, out, err)
    assert "Traceback" not in err
    return err


def test_an_evening(board: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert "tack done; solder, inspect, program remain" in answered(capsys, "tick", "U1")
    assert "U1" in answered(capsys, "set", "leg-lifted", "R1-R2", "U1")
    assert "inside" in answered(capsys, "reading", "+5V", "2k2")
    answered(capsys, "prove", "D1", "0.6V")
    answered(capsys, "note", "flux left", "R1")
    answered(capsys, "substitute", "R1", "--with", "4k7 1206", "--reason", "none left")
    answered(capsys, "pause", "next: C1", "--iron-off", "--discharged")
    out = answered(capsys, "status")
    assert out.index("Paused") < out.index("Open (") < out.index("Steps done") < out.index("Next:")
    assert "leg lifted: R1 R2 U1" in out
    assert all(len(line) <= 80 for line in out.splitlines())
    assert "\x1b" not in out
    assert "Taken back" in answered(capsys, "undo")
    assert "tack" in answered(capsys, "history", "U1")


def test_negative_values_and_points_that_look_like_options(board: Path, capsys: pytest.CaptureFixture[str]) -> None:
    answered(capsys, "reading", "-12V", "-11.9V")
    answered(capsys, "reading", "--", "-12V", "-11.8V")
    answered(capsys, "reading", "-12V", "-11.7V", "--swapped", "--mode", "volts", "--at", "off", "--by", "ann")
    events = json.loads(answered(capsys, "history", "--json"))["events"]
    assert [e["detail"]["value"] for e in events if e["kind"] == "reading"] == [-11.9, -11.8, -11.7]


@pytest.mark.parametrize(
    "arguments",
    [
        ("tick", "R99"),
        ("tick",),
        ("tick", "J1"),
        ("tick", "R1", "--step", "glue"),
        ("tick", "Q1"),
        ("tick", "R1", "--anyway"),
        ("untick", "R1"),
        ("undo",),
        ("set", "wobbly", "R1"),
        ("set", "fitted", "R3"),
        ("reading", "+5V", "about five"),
        ("reading", "+6V", "5V"),
        ("reading", "+5V", "OL"),
        ("prove", "D1"),
        ("prove", "R1", "5k"),
        ("confirm", "nowhere", "--reason", "x"),
        ("note", "x", "R99"),
        ("note", "", "--photo", "none.jpg"),
        ("merge", "none.json"),
        ("history", "R99"),
        ("status", "--copy", "7"),
        ("tick", "R1", "--copy", "2"),
    ],
    ids=" ".join,
)
def test_refusals_say_cause_and_cure(
    board: Path, capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...]
) -> None:
    err = refused(capsys, *arguments)
    assert len(err.splitlines()) >= 3, err


def test_json_documents_carry_their_format(board: Path, capsys: pytest.CaptureFixture[str]) -> None:
    answered(capsys, "tick", "--next")
    for name in ("status", "next", "history", "export"):
        extra = () if name == "export" else ("--json",)
        document = json.loads(answered(capsys, name, *extra))
        assert document["format"] == f"reworkkit.{name}/1"
        assert document["basis"] == "job"
        assert {"at_event", "findings", "not_judged"} <= set(document)
    for arguments in (("tick", "R1"), ("set", "tacked", "R1"), ("reading", "+5V", "5V"), ("untick", "R1")):
        document = json.loads(answered(capsys, *arguments, "--json"))
        assert document["format"] == f"reworkkit.{arguments[0]}/1"


def test_check_says_whether_something_is_open(board: Path, capsys: pytest.CaptureFixture[str]) -> None:
    answered(capsys, "status", "--check", code=1)
    answered(capsys, "next", "--check", code=1)


def test_merge_from_file_and_from_copied_text(
    board: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    import io

    job.set_state(board, "tacked", ["R1"], actor())
    text = page(board, done(1, "R2"), word(2, "R1", "joint", "soldered"))
    (board / "ticks.json").write_text(text, encoding="utf-8")
    assert "R1" in answered(capsys, "merge", "ticks.json", "--check", code=1)
    monkeypatch.setattr("sys.stdin", io.StringIO(text))
    assert "0 new" in answered(capsys, "merge", "-")
    assert "two devices disagree" in answered(capsys, "status")


def test_several_boards_side_by_side(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(begun_folder(tmp_path, copies=2))
    for copy, volts in (("1", "5.01V"), ("2", "4.97V")):
        answered(capsys, "reading", "+5V", volts, "--copy", copy)
        answered(capsys, "set", "reversed", "D1", "--copy", copy)
    refused(capsys, "reading", "+5V", "5V")
    out = answered(capsys, "status", "--all")
    assert "5.01V  4.97V" in out
    assert "boards 1, 2: reversed: D1" in out


def test_cells_that_would_drive_the_terminal_are_inert(board: Path, capsys: pytest.CaptureFixture[str]) -> None:
    answered(capsys, "note", "\x1b[31m[bold]red[/]", "R1", "--by", "\x1b[2Jeve")
    out = answered(capsys, "history", "R1")
    assert "\x1b" not in out
    assert "[bold]red[/]" in out


def test_a_real_board_from_begin_to_refresh(
    example_board, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = example_board(EXAMPLE)
    monkeypatch.chdir(folder)
    assert "begun" in answered(capsys, "begin")
    rows = (folder / "readings.csv").read_text(encoding="utf-8").strip().splitlines()[1:]
    assert len(situation_of_job(folder).readings) == len(rows)
    refused(capsys, "begin")
    assert "Nothing has changed" in answered(capsys, "refresh", "--check")
    answered(capsys, "tick", "--next", "--all-steps")
    answered(capsys, "set", "burnt", "U1")
    assert "Ticks that still apply" in answered(capsys, "refresh", "--accept")
    assert "desolder done" in answered(capsys, "tick", "U1")
    assert "Nothing has changed" in answered(capsys, "refresh", "--check")


def test_a_lone_list_gets_a_folder_and_keeps_its_name(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    lone = tmp_path / "valves rev B.csv"
    lone.write_text("Designator,Value,Package\nR1,10k,0603\nC1,100n,0603\n", encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    answered(capsys, "begin", str(lone))
    assert sorted(os.listdir(tmp_path / "valves rev B")) == ["job.sqlite", "valves rev B.csv"]
    assert "event" in answered(capsys, "status", str(lone))


def test_the_record_of_a_finished_board_as_csv_and_json(board: Path, capsys: pytest.CaptureFixture[str]) -> None:
    import csv
    import io

    answered(capsys, "tick", "R1", "--all-steps", "--by", "ann")
    answered(capsys, "substitute", "R1", "--with", "=cmd()", "--reason", "none left")
    answered(capsys, "note", "before power", "--photo", "job.sqlite")
    record = finished_record(board)
    rows = list(csv.DictReader(io.StringIO(record_csv(record))))
    assert tuple(rows[0]) == RECORD_HEADINGS
    row = next(one for one in rows if one["ref"] == "R1")
    assert (row["by"], row["joint"], row["substitute"]) == ("ann", "soldered", "'=cmd()")
    document = record_data(record)
    assert document["format"] == "reworkkit.record/1"
    assert document["photographs"][0]["name"] == "job.sqlite"
    assert document["inputs"]
    json.dumps(document)
