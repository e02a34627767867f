"""The job file: one SQLite file in the board folder. Rollback journal, full sync, one transaction per act."""

import os
import sqlite3
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import replace
from pathlib import Path
from types import TracebackType

from reworkkit.errors import ReworkkitError
from reworkkit.model.job import Event
from reworkkit.record.codec import dumps
from reworkkit.record.faults import check_header, explained
from reworkkit.record.migrate import NEWEST, upgrade
from reworkkit.record.projection import EVENT_COLUMNS, event_of_row, take_in

JOB_FILE = "job.sqlite"
BUSY_S = 10.0
"""How long a command waits for another one that is writing, in seconds."""


class JobStore:
    """An open job file. Use it as a context manager; write only inside `acting()`."""

    def __init__(self, path: Path, connection: sqlite3.Connection) -> None:
        self.path = path
        self.connection = connection

    @classmethod
    def open(cls, path: Path, *, writing: bool = False) -> "JobStore":
        """Open an existing job file; raise ReworkkitError where it is foreign, newer, damaged or cannot be used.

        A file of an older schema is brought up to date when it is opened for writing; a command that only recalls
        upgrades a copy in memory and leaves the file as it is.
        """
        version = check_header(path)
        with explained(path):
            connection = _connect(path)
            store = cls(path, connection)
            try:
                store._prepare(version, writing)
            except BaseException:
                connection.close()
                raise
        return store

    def _prepare(self, version: int, writing: bool) -> None:
        self.connection.execute("BEGIN")
        self.connection.execute("SELECT count(*) FROM job").fetchone()
        self._check_length()
        if not writing:
            # The transaction stays open: all figures of a command that recalls belong to the same event.
            if version < NEWEST:
                self.connection.execute("COMMIT")
                self.connection = _upgraded_in_memory(self.connection)
            self.connection.execute("PRAGMA query_only = ON")
            return
        self.connection.execute("COMMIT")
        if version < NEWEST:
            with self.acting():
                have = self.connection.execute("PRAGMA user_version").fetchone()[0]
                if have < NEWEST:
                    upgrade(self.connection, have)

    def _check_length(self) -> None:
        """Refuse a file that is shorter than its header says; asked under a lock, so that nobody is growing it."""
        pages = self.connection.execute("PRAGMA page_count").fetchone()[0]
        size = self.connection.execute("PRAGMA page_size").fetchone()[0]
        if pages * size > self.path.stat().st_size:
            raise ReworkkitError("job-damaged", file=self.path.name, reason="shorter than its header says")

    @classmethod
    def create(cls, path: Path, fill: "Callable[[JobStore], None]") -> None:
        """Make a new job file with what `fill` writes into it; it appears complete or not at all.

        Raises ReworkkitError where a job exists already.
        """
        if path.exists():
            raise ReworkkitError("job-exists", file=path.name)
        part = path.with_name(f".{path.name}.{os.getpid()}.part")
        try:
            with explained(path):
                _build(part, fill)
            _appear(part, path)
        finally:
            for leftover in (part, part.with_name(part.name + "-journal")):
                leftover.unlink(missing_ok=True)

    def __enter__(self) -> "JobStore":
        return self

    def __exit__(
        self, kind: type[BaseException] | None, value: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.connection.close()

    @contextmanager
    def acting(self) -> Iterator[None]:
        """Do one thing the person did: all of it is kept, or nothing; on return it is on the disk."""
        with explained(self.path):
            self.connection.execute("BEGIN IMMEDIATE")
            try:
                yield
                self.connection.execute("COMMIT")
            except BaseException:
                with suppress(sqlite3.Error):
                    self.connection.execute("ROLLBACK")
                raise

    def append(self, events: Iterable[Event]) -> tuple[Event, ...]:
        """Add events to the log and bring the derived tables up to date; an id that is known is left out."""
        return tuple(kept for event in events if (kept := self._append(event)))

    def _append(self, event: Event) -> Event | None:
        row = (
            event.id,
            event.copy,
            event.at,
            event.who,
            event.device,
            event.kind.value,
            event.subject,
            dumps(event.detail),
            event.undoes,
        )
        cursor = self.connection.execute(
            """INSERT INTO event (id, copy, at, who, device, kind, subject, detail, undoes)
            VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (id) DO NOTHING""",
            row,
        )
        if cursor.rowcount == 0:
            return None
        stored = replace(event, seq=int(cursor.lastrowid or 0))
        take_in(self.connection, stored)
        return stored

    def events(
        self, where: str = "1", values: tuple[object, ...] = (), *, newest: int | None = None
    ) -> tuple[Event, ...]:
        """Return events in order of arrival; `where` is an SQL condition of this package, never a person's text."""
        limit = f" ORDER BY seq DESC LIMIT {newest}" if newest else " ORDER BY seq"
        rows = self.connection.execute(f"SELECT {EVENT_COLUMNS} FROM event WHERE {where}{limit}", values).fetchall()
        return tuple(event_of_row(row) for row in (reversed(rows) if newest else rows))

    def standing_events(self, kind: str, copy: int) -> tuple[Event, ...]:
        """Return the events of one kind and copy that were not taken back."""
        return self.events(f"kind = ? AND copy = ? AND {NOT_UNDONE}", (kind, copy))

    def at_event(self) -> int:
        """Return the number of the newest event."""
        return int(self.connection.execute("SELECT coalesce(max(seq), 0) FROM event").fetchone()[0])

    def check_whole(self) -> None:
        """Read every page of the file; raise ReworkkitError where it is damaged."""
        with explained(self.path):
            answer = self.connection.execute("PRAGMA quick_check(1)").fetchone()[0]
        if answer != "ok":
            raise ReworkkitError("job-damaged", file=self.path.name, reason=str(answer))


NOT_UNDONE = "NOT EXISTS (SELECT 1 FROM event AS u WHERE u.undoes = event.id)"
"""SQL condition on `event`: it was not taken back."""


def _connect(path: Path) -> sqlite3.Connection:
    # isolation_level=None: transactions are ours alone. DELETE journal: one file, safe to copy when closed.
    connection = sqlite3.connect(path, timeout=BUSY_S, isolation_level=None)
    # EXTRA also syncs the folder after the journal is gone: a power cut cannot take back the last tick.
    connection.execute("PRAGMA synchronous = EXTRA")
    connection.execute("PRAGMA foreign_keys = ON")
    return connection


def _upgraded_in_memory(connection: sqlite3.Connection) -> sqlite3.Connection:
    memory = sqlite3.connect(":memory:", isolation_level=None)
    connection.backup(memory)
    connection.close()
    memory.execute("BEGIN IMMEDIATE")
    upgrade(memory, memory.execute("PRAGMA user_version").fetchone()[0])
    memory.execute("COMMIT")
    return memory


def _build(part: Path, fill: Callable[[JobStore], None]) -> None:
    part.unlink(missing_ok=True)
    connection = _connect(part)
    try:
        connection.execute("PRAGMA journal_mode = DELETE")
        store = JobStore(part, connection)
        with store.acting():
            upgrade(connection, 0)
            fill(store)
    finally:
        connection.close()


def _appear(part: Path, path: Path) -> None:
    """Give the finished file its name; a link fails where another process was faster, a rename would overwrite."""
    try:
        os.link(part, path)
    except FileExistsError:
        raise ReworkkitError("job-exists", file=path.name) from None
    except OSError:
        if path.exists():
            raise ReworkkitError("job-exists", file=path.name) from None
        part.rename(path)
    sync_folder(path.parent)


def sync_folder(folder: Path) -> None:
    """Make a new name in a folder last through a power cut; where the system cannot do that, it is left out."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
