"""The job file: what it survives, what it refuses, and that what is derived can be made again from the log."""

import contextlib
import json
import multiprocessing
import os
import resource
import shutil
import signal
import sqlite3
import stat
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from reworkkit.errors import ReworkkitError
from reworkkit.pipeline import job, job_readings, recall
from reworkkit.record import migrate, projection
from reworkkit.record.job_store import JOB_FILE, JobStore
from tests.record.boards import actor, begin_input, begun_folder

ME = actor()
DERIVED = ("place_state", "step_done", "reading_now", "disagreement")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return begun_folder(tmp_path)


def derived(path: Path) -> dict[str, list[tuple[object, ...]]]:
    connection = sqlite3.connect(path)
    try:
        return {table: sorted(connection.execute(f"SELECT * FROM {table}"), key=repr) for table in DERIVED}
    finally:
        connection.close()


def rebuilt(path: Path, tmp_path: Path) -> dict[str, list[tuple[object, ...]]]:
    other = Path(shutil.copy(path, tmp_path / "rebuilt.sqlite"))
    with JobStore.open(other, writing=True) as store, store.acting():
        projection.rebuild(store.connection)
    return derived(other)


def refused(slug: str, call: object, *args: object, **more: object) -> None:
    with pytest.raises(ReworkkitError) as caught:
        call(*args, **more)  # type: ignore[operator]
    assert caught.value.message.slug == slug


class TestSettings:
    def test_rollback_journal_full_sync_strict_tables(self, folder: Path) -> None:
        # The settings: SQLite's own pages on PRAGMA journal_mode, synchronous (3 = EXTRA) and STRICT tables.
        with JobStore.open(folder / JOB_FILE, writing=True) as store:
            pragma = {
                name: store.connection.execute(f"PRAGMA {name}").fetchone()[0]
                for name in ("journal_mode", "synchronous", "foreign_keys", "user_version", "application_id")
            }
            assert pragma == {
                "journal_mode": "delete",
                "synchronous": 3,
                "foreign_keys": 1,
                "user_version": migrate.NEWEST,
                "application_id": migrate.APPLICATION_ID,
            }
            loose = store.connection.execute(
                "SELECT name FROM pragma_table_list WHERE type = 'table' AND strict = 0 AND name NOT LIKE 'sqlite%'"
            ).fetchall()
            assert loose == []
        assert os.listdir(folder) == [JOB_FILE], "one file, nothing left beside it"

    def test_events_are_never_changed_or_removed(self, folder: Path) -> None:
        connection = sqlite3.connect(folder / JOB_FILE)
        for statement in ("UPDATE event SET who = 'eve'", "DELETE FROM event"):
            with pytest.raises(sqlite3.IntegrityError):
                connection.execute(statement)
        connection.close()

    def test_a_second_begin_changes_nothing(self, folder: Path) -> None:
        before = (folder / JOB_FILE).read_bytes()
        refused("job-exists", job.begin, folder, begin_input(), ME)
        assert (folder / JOB_FILE).read_bytes() == before
        assert os.listdir(folder) == [JOB_FILE]

    def test_recalling_writes_nothing(self, folder: Path) -> None:
        before = (folder / JOB_FILE).read_bytes()
        recall.status(folder)
        recall.next_operations(folder)
        recall.export(folder)
        assert (folder / JOB_FILE).read_bytes() == before


ACTS = st.lists(
    st.tuples(
        st.sampled_from(["tick", "untick", "undo", "tacked", "burnt", "removed", "reading", "prove", "note", "site"]),
        st.sampled_from(["R1", "R2", "C1", "D1", "U1", "Q1"]),
    ),
    max_size=14,
)


def act(folder: Path, what: str, ref: str) -> None:
    calls = {
        "tick": lambda: job.tick(folder, [ref], ME, anyway=True, reason="trial"),
        "untick": lambda: job.untick(folder, [ref], ME),
        "undo": lambda: job.undo(folder, ME),
        "reading": lambda: job_readings.reading(folder, ref, "0.5V", ME, probe=job_readings.Probe(mode="diode")),
        "prove": lambda: job_readings.prove(folder, ref, "0.5V", ME, anyway=True, reason="trial"),
        "note": lambda: job.note(folder, f"about {ref}", [ref], ME),
        "site": lambda: job.set_state(folder, "land lost", [f"{ref}.1"], ME),
    }
    with contextlib.suppress(ReworkkitError):  # refused: nothing was done, which is what this test wants to see
        calls.get(what, lambda: job.set_state(folder, what, [ref], ME))()


class TestProjection:
    @settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
    @given(acts=ACTS)
    def test_what_is_derived_equals_what_the_log_gives(self, acts, tmp_path_factory) -> None:
        base = tmp_path_factory.mktemp("fold")
        folder = begun_folder(base)
        for what, ref in acts:
            act(folder, what, ref)
        assert derived(folder / JOB_FILE) == rebuilt(folder / JOB_FILE, base)

    def test_also_after_refresh_and_merge(self, folder: Path, tmp_path: Path) -> None:
        job.tick(folder, ["R1", "C1"], ME, all_steps=True)
        job.refresh(folder, begin_input(places=begin_input().places[1:]), ME, accept=True)
        info = job.open_job(folder)
        event = {"id": "p1", "copy": 1, "at": "2026-01-02T03:04:05Z", "who": "p", "kind": "state", "subject": "C1"}
        page = {
            "format": "reworkkit.page_state/1",
            "job": info.job_id,
            "device": "phone",
            "events": [event | {"detail": {"facet": "joint", "value": "leg_lifted"}}],
        }
        assert job.merge(folder, json.dumps(page), ME).disagreements
        assert derived(folder / JOB_FILE) == rebuilt(folder / JOB_FILE, tmp_path)


class TestBadFiles:
    def test_no_job(self, tmp_path: Path) -> None:
        refused("no-job", recall.status, tmp_path)

    @pytest.mark.parametrize("content", [b"", b"SQLite format 3\x00", b"ref,value\nR1,4k7\n" * 20, b"\x00" * 5000])
    def test_foreign_and_empty_files_are_left_alone(self, tmp_path: Path, content: bytes) -> None:
        path = tmp_path / JOB_FILE
        path.write_bytes(content)
        with pytest.raises(ReworkkitError) as caught:
            job.tick(tmp_path, ["R1"], ME)
        assert caught.value.message.slug in ("job-foreign", "job-damaged")
        assert path.read_bytes() == content
        assert os.listdir(tmp_path) == [JOB_FILE]

    def test_a_database_of_another_program_is_left_alone(self, tmp_path: Path) -> None:
        path = tmp_path / JOB_FILE
        connection = sqlite3.connect(path)
        connection.execute("PRAGMA journal_mode = WAL")
        connection.execute("CREATE TABLE event (a)")
        connection.commit()
        connection.close()
        before = path.read_bytes()
        refused("job-foreign", job.tick, tmp_path, ["R1"], ME)
        assert path.read_bytes() == before
        assert os.listdir(tmp_path) == [JOB_FILE]

    def test_a_newer_schema_is_left_alone(self, folder: Path) -> None:
        connection = sqlite3.connect(folder / JOB_FILE)
        connection.execute(f"PRAGMA user_version = {migrate.NEWEST + 1}")
        connection.close()
        before = (folder / JOB_FILE).read_bytes()
        refused("job-newer", job.tick, folder, ["R1"], ME)
        refused("job-newer", recall.status, folder)
        assert (folder / JOB_FILE).read_bytes() == before

    def test_a_file_cut_off_anywhere_is_named_and_left_alone(self, folder: Path) -> None:
        path = folder / JOB_FILE
        whole = path.read_bytes()
        for length in (*range(1, 200, 37), *range(200, len(whole), len(whole) // 23), len(whole) - 1):
            path.write_bytes(whole[:length])
            with pytest.raises(ReworkkitError) as caught:
                recall.export(folder)
            assert caught.value.message.slug in ("job-damaged", "job-foreign"), length
            with pytest.raises(ReworkkitError):
                job.tick(folder, ["R1"], ME)
            assert path.read_bytes() == whole[:length]

    def test_pages_full_of_rubbish_are_found(self, folder: Path) -> None:
        path = folder / JOB_FILE
        whole = path.read_bytes()
        path.write_bytes(whole[:4096] + b"\xa5" * (len(whole) - 4096))
        refused("job-damaged", recall.export, folder)

    def test_a_read_only_file_can_be_read(self, folder: Path) -> None:
        path = folder / JOB_FILE
        before = path.read_bytes()
        path.chmod(0o444)
        folder.chmod(0o555)
        script = (
            "import os, sys\n"
            "from pathlib import Path\n"
            "import reworkkit.record.projection, reworkkit.record.photo, difflib, textwrap\n"
            "from reworkkit.pipeline import job, recall\n"
            "from reworkkit.model.job_view import Actor\n"
            "from reworkkit.errors import ReworkkitError\n"
            "if os.getuid() == 0: os.setgid(65534); os.setuid(65534)\n"
            "folder = Path(sys.argv[1])\n"
            "recall.status(folder)\n"
            "try:\n"
            "    job.tick(folder, ['R1'], Actor('a', 'b', 'c', lambda: 'id'))\n"
            "except ReworkkitError as error:\n"
            "    print(error.message.slug)\n"
        )
        try:
            for parent in folder.parents:
                if parent.is_relative_to(Path("/tmp")) and parent != Path("/tmp"):
                    parent.chmod(stat.S_IMODE(parent.stat().st_mode) | 0o011)
            done = subprocess.run(
                [sys.executable, "-c", script, str(folder)], capture_output=True, text=True, check=False
            )
        finally:
            folder.chmod(0o755)
            path.chmod(0o644)
        assert done.stdout.strip() == "job-read-only", done.stderr
        assert path.read_bytes() == before


def _full(folder: str, limit: int, queue: object) -> None:
    """Tick until the file may not grow any more; tell how many ticks were acknowledged and what stopped it."""
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))
    me = actor(device="full", start=500_000)
    done, slug = 0, ""
    for n in range(5000):
        try:
            job.note(Path(folder), f"note {n} " + "x" * 400, ["R1"], me)
            done += 1
        except ReworkkitError as error:
            slug = error.message.slug
            break
    queue.put((done, slug))  # type: ignore[attr-defined]


def test_a_full_disk_loses_nothing_that_was_acknowledged(folder: Path) -> None:
    size = (folder / JOB_FILE).stat().st_size
    context = multiprocessing.get_context("spawn")
    queue = context.Queue()
    process = context.Process(target=_full, args=(str(folder), size + 40_000, queue))
    process.start()
    done, slug = queue.get(timeout=120)
    process.join()
    assert slug == "job-disk-full"
    assert done > 0
    stored = [e for e in recall.export(folder)["events"] if e["device"] == "full"]
    assert len(stored) == done
    job.note(folder, "there is room again", ["R1"], ME)


def _writer(folder: str, number: int, count: int, queue: object) -> None:
    me = actor(device=f"device{number}")
    failed, ids = 0, []
    for n in range(count):
        try:
            done = job.note(Path(folder), f"{number}/{n}", ["R1", "R2"], me)
            ids += [event.id for event in done.events]
        except ReworkkitError:
            failed += 1
    queue.put((failed, ids))  # type: ignore[attr-defined]


def test_eight_processes_at_once_lose_nothing_and_are_never_refused(folder: Path, tmp_path: Path) -> None:
    context = multiprocessing.get_context("spawn")
    queue = context.Queue()
    writers = [context.Process(target=_writer, args=(str(folder), n, 25, queue)) for n in range(8)]
    for writer in writers:
        writer.start()
    answers = [queue.get(timeout=150) for _ in writers]
    for writer in writers:
        writer.join()
    assert sum(failed for failed, _ in answers) == 0
    acknowledged = {event_id for _, ids in answers for event_id in ids}
    assert len(acknowledged) == 8 * 25 * 2
    assert acknowledged <= {event["id"] for event in recall.export(folder)["events"]}
    assert derived(folder / JOB_FILE) == rebuilt(folder / JOB_FILE, tmp_path)
