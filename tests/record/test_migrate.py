"""Every schema since the first opens; a file is at the old version or at the newest, never between."""

import shutil
import sqlite3
from importlib.resources import files
from pathlib import Path

import pytest

from reworkkit.errors import ReworkkitError
from reworkkit.pipeline import job, recall
from reworkkit.record import migrate
from reworkkit.record.job_store import JOB_FILE, JobStore
from tests.docs_job_store import job_store_page
from tests.record.boards import actor
from tests.record.test_job_store import derived, rebuilt

FROZEN = Path(__file__).parent / "frozen"
OLD = sorted(FROZEN.glob("v*.sql"))


@pytest.fixture(params=OLD, ids=lambda path: path.stem)
def old_folder(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    """Return a folder with a job file of an older schema, made from its frozen SQL text."""
    connection = sqlite3.connect(tmp_path / JOB_FILE)
    connection.executescript(request.param.read_text(encoding="utf-8"))
    connection.close()
    return tmp_path


def version(path: Path) -> int:
    return int.from_bytes(path.read_bytes()[60:64], "big")


def test_every_older_version_is_frozen() -> None:
    numbers = [int(path.stem[1:]) for path in OLD]
    assert numbers == list(range(1, migrate.NEWEST)), "a new schema file needs a frozen file of the version before"
    assert [number for number, _ in migrate.steps()] == list(range(1, migrate.NEWEST + 1))


def test_recalling_leaves_an_old_file_as_it_is(old_folder: Path) -> None:
    before = (old_folder / JOB_FILE).read_bytes()
    status = recall.status(old_folder)
    # What the frozen file holds, written by hand: one tacked part and one step done.
    assert [item.message.fact("refs") for item in status.copies[0].open_items][:1] == ["U1"]
    assert (old_folder / JOB_FILE).read_bytes() == before


def test_writing_brings_an_old_file_up_to_date_and_keeps_all(old_folder: Path, tmp_path: Path) -> None:
    job.tick(old_folder, ["U1"], actor(start=70_000))
    assert version(old_folder / JOB_FILE) == migrate.NEWEST
    events = recall.export(old_folder)["events"]
    assert [event["id"] for event in events[:3]] == ["e1", "e2", "e3"]
    assert derived(old_folder / JOB_FILE) == rebuilt(old_folder / JOB_FILE, tmp_path)


def test_an_upgrade_that_fails_leaves_the_old_version(old_folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    old = version(old_folder / JOB_FILE)
    real = migrate.steps()
    broken = (*real[:-1], (real[-1][0], real[-1][1] + "\nCREATE TABLE broken (x NOSUCHTYPE) STRICT;"))
    monkeypatch.setattr(migrate, "steps", lambda: broken)
    with pytest.raises(ReworkkitError):
        job.tick(old_folder, ["U1"], actor())
    assert version(old_folder / JOB_FILE) == old
    monkeypatch.undo()
    job.tick(old_folder, ["U1"], actor(start=60_000))


def test_the_released_schema_files_are_not_changed() -> None:
    # A file that was released is frozen: what it makes must be what the frozen files hold.
    for path in OLD:
        frozen, made = sqlite3.connect(":memory:"), sqlite3.connect(":memory:")
        frozen.executescript(path.read_text(encoding="utf-8"))
        for number, sql in migrate.steps():
            if number <= int(path.stem[1:]):
                made.executescript(sql)
        query = "SELECT type, name, tbl_name FROM sqlite_schema ORDER BY 1, 2"
        assert frozen.execute(query).fetchall() == made.execute(query).fetchall()
        for (table,) in made.execute("SELECT name FROM sqlite_schema WHERE type = 'table'").fetchall():
            columns = f"SELECT name, type, \"notnull\", pk FROM pragma_table_info('{table}')"
            assert frozen.execute(columns).fetchall() == made.execute(columns).fetchall(), table
        frozen.close()
        made.close()


def test_every_column_is_commented() -> None:
    for path in (files("reworkkit.record") / "schema").iterdir():
        inside = False
        for line in path.read_text(encoding="utf-8").splitlines():
            if line.startswith("CREATE TABLE"):
                inside = True
            elif line.startswith(")"):
                inside = False
            elif inside and not line.strip().startswith(("PRIMARY KEY", "UNIQUE", "CHECK")):
                assert " -- " in line, f"{path.name}: {line}"


def test_the_page_of_the_schema_is_up_to_date() -> None:
    page = Path(__file__).parents[2] / "docs" / "job-store.md"
    assert page.read_text(encoding="utf-8") == job_store_page()


def test_a_copy_of_the_closed_file_is_a_whole_job(old_folder: Path, tmp_path: Path) -> None:
    job.tick(old_folder, ["U1"], actor(start=80_000))
    other = tmp_path / "elsewhere"
    other.mkdir()
    shutil.copy(old_folder / JOB_FILE, other / JOB_FILE)
    with JobStore.open(other / JOB_FILE) as store:
        store.check_whole()
    assert recall.export(other)["events"] == recall.export(old_folder)["events"]
