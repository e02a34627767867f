"""Which board a command is about, however its folder is typed."""

from pathlib import Path

import pytest

from reworkkit.cli import main
from reworkkit.errors import ReworkkitError
from reworkkit.pipeline.places import begun_folder, find_target, folder_of_list


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    made = tmp_path / "pump board"
    made.mkdir()
    (made / "bom.csv").write_text("Designator,Value,Package\nR1,1k,0805\nC1,10uF,1206\n", encoding="utf-8")
    monkeypatch.chdir(made)
    return made


@pytest.mark.parametrize("typed", [".", "./", "../pump board", "bom.csv", "./bom.csv"])
def test_begin_takes_any_way_to_write_the_folder(folder: Path, typed: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["begin", typed]) == 0
    assert list(folder.rglob("job.sqlite"))
    assert "pump board" in capsys.readouterr().out or typed.endswith("csv")


def test_a_folder_without_a_name_of_its_own_gets_one(folder: Path) -> None:
    (folder / "photos").mkdir()
    assert find_target(Path("."), folder) == folder
    assert find_target(Path("photos/.."), folder) == folder
    assert begun_folder(find_target(Path("."), folder)) == folder
    assert find_target(None, folder / "photos") == folder
    assert folder_of_list(Path("a/list.csv")) == Path("a/list")
    with pytest.raises(ReworkkitError):
        find_target(Path("nowhere"), folder)
