"""Bad input: a message with cause and cure on stderr, exit 2, no traceback, nothing half-written."""

import json
import os
import stat
from collections.abc import Callable
from pathlib import Path

import pytest

from reworkkit.cli import main

LIST = "Designator,Value,Package\nR1,10k,0603\nC1,100n,0603\n"


def refused(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    code = main(list(arguments))
    out, err = capsys.readouterr()
    assert code == 2, (code, out, err)
    assert out == ""
    assert "Traceback" not in err
    assert len(err.strip().splitlines()) >= 2, f"cause and cure are missing: {err}"
    return err


@pytest.mark.parametrize("as_json", [(), ("--json",)])
@pytest.mark.parametrize("command", ["diff", "audit", "plan", "polarity"])
def test_a_missing_file(command: str, as_json: tuple[str, ...], capsys: pytest.CaptureFixture[str]) -> None:
    assert "nowhere.csv" in refused(capsys, command, "nowhere.csv", *as_json)


def test_an_empty_folder(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    refused(capsys, "diff", str(tmp_path))


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("empty.csv", b""),
        ("blank.csv", b"\n\n  \n"),
        ("binary.csv", bytes(range(256)) * 20),
        ("zip.csv", b"PK\x03\x04" + bytes(200)),
        ("no designators.csv", b"Part,Quantity,Price\n10k resistor,5,0.1\n100n capacitor,7,0.2\n"),
        ("prose.txt", b"Dear neighbour,\nthe valves leak again.\nYours\n"),
    ],
)
def test_files_that_are_no_list(tmp_path: Path, name: str, content: bytes, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / name
    path.write_bytes(content)
    refused(capsys, "diff", str(path))


def test_headings_seen_and_the_line_to_paste(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "list.csv"
    path.write_text("Zzz,Quantity,Price\nR1,5,0.1\n", encoding="utf-8")
    told = refused(capsys, "diff", str(path))
    assert "Zzz" in told
    assert "--column designator=" in told
    capsys.readouterr()
    assert main(["diff", str(path), "--column", "designator=Zzz", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["counts"]["listed"] == 1


def test_a_file_of_200_megabytes_is_refused_unread(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "large.csv"
    with path.open("wb") as handle:
        handle.truncate(200 * 1024 * 1024)
    refused(capsys, "diff", str(path))


def test_board_toml_problems_point_to_their_lines(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "bom.csv").write_text(LIST, encoding="utf-8")
    (tmp_path / "board.toml").write_text(
        'name = "x"\n[board]\naloy_used = "SAC305"\nthickness = "1.6 V"\n', encoding="utf-8"
    )
    told = refused(capsys, "diff", str(tmp_path))
    assert "board.toml:3" in told
    assert "alloy_used" in told
    assert "board.toml:4" in told


def test_hostile_cells_are_ordinary_input_and_shown_inert(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    rows = [
        ("R1", "<script>alert(1)</script>"),
        ("R2", "=HYPERLINK(1)"),
        ("R3", "[bold]x[/]"),
        ("R4", "\x1b[31mred"),
        ("R5", "{name} %s"),
    ]
    path = tmp_path / "bom.csv"
    path.write_text("Designator,Value\n" + "".join(f'{ref},"{value}"\n' for ref, value in rows), encoding="utf-8")
    (tmp_path / "fitted.txt").write_text("others: empty\n", encoding="utf-8")
    assert main(["diff", str(tmp_path)]) == 0
    told = capsys.readouterr().out
    assert "\x1b" not in told
    assert "[bold]x[/]" in told
    assert main(["diff", str(tmp_path), "--csv"]) == 0
    cells = capsys.readouterr().out
    assert "'=HYPERLINK(1)" in cells
    assert main(["report", str(tmp_path)]) == 0
    page = (tmp_path / "bench-sheet.html").read_text(encoding="utf-8")
    assert "<script>alert(1)" not in page


def test_odd_paths_work(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = tmp_path / "Gewächshaus № 3 (alt)"
    folder.mkdir()
    (folder / "Stückliste neu.csv").write_text(LIST, encoding="utf-8")
    assert main(["diff", str(folder), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["counts"]["listed"] == 2


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write anywhere; checked by the mode below instead")
def test_a_read_only_folder(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "bom.csv").write_text(LIST, encoding="utf-8")
    tmp_path.chmod(stat.S_IRUSR | stat.S_IXUSR)
    refused(capsys, "report", str(tmp_path))


def test_a_report_that_cannot_be_written_leaves_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "bom.csv").write_text(LIST, encoding="utf-8")

    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied", "bench-sheet.html")

    monkeypatch.setattr("os.replace", refuse)
    refused(capsys, "report", str(tmp_path))
    assert sorted(path.name for path in tmp_path.iterdir()) == ["bom.csv"]


@pytest.mark.parametrize("answer", ["designator", "=Pos.", "designator="])
def test_a_column_answer_that_says_nothing(
    answer: str, example: Callable[[str], Path], capsys: pytest.CaptureFixture[str]
) -> None:
    refused(capsys, "diff", str(example(LIST)), "--column", answer)


@pytest.fixture
def example(tmp_path: Path) -> Callable[[str], Path]:
    def write(text: str) -> Path:
        path = tmp_path / "list.csv"
        path.write_text(text, encoding="utf-8")
        return path

    return write
