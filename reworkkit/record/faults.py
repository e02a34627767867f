"""Faults of the job file turned into messages: foreign, newer, damaged, read-only, full, busy."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from reworkkit.errors import ReworkkitError
from reworkkit.record.migrate import APPLICATION_ID, NEWEST

_MAGIC = b"SQLite format 3\x00"


def check_header(path: Path) -> int:
    """Return the schema version of a job file; raise where it is not ours, newer or cut off, without touching it.

    The header is read before SQLite opens the file: a foreign database is not even opened, and no lock of this
    process can be lost by closing a second handle.
    """
    if not path.is_file():
        raise ReworkkitError("no-job", folder=path.parent.name)
    with path.open("rb") as file:
        header = file.read(100)
    if len(header) < 100:
        slug = "job-damaged" if _MAGIC.startswith(header[:16]) or header.startswith(_MAGIC) else "job-foreign"
        raise _fault(slug, path)
    if not header.startswith(_MAGIC) or int.from_bytes(header[68:72], "big") != APPLICATION_ID:
        raise _fault("job-foreign", path)
    version = int.from_bytes(header[60:64], "big")
    if version > NEWEST:
        raise ReworkkitError("job-newer", file=path.name, version=version, ours=NEWEST)
    return version


def _fault(slug: str, path: Path, reason: str = "") -> ReworkkitError:
    return ReworkkitError(slug, file=path.name, reason=reason)


@contextmanager
def explained(path: Path) -> Iterator[None]:
    """Turn errors of SQLite into errors with cause and cure; anything unforeseen keeps SQLite's own words."""
    try:
        yield
    except sqlite3.DatabaseError as error:
        raise _fault(_slug(error), path, str(error)) from error


def _slug(error: sqlite3.DatabaseError) -> str:
    code = getattr(error, "sqlite_errorcode", 0) & 0xFF
    if code in (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB):
        return "job-damaged"
    if code in (sqlite3.SQLITE_READONLY, sqlite3.SQLITE_PERM, sqlite3.SQLITE_CANTOPEN):
        return "job-read-only"
    if code in (sqlite3.SQLITE_FULL, sqlite3.SQLITE_IOERR):
        return "job-disk-full"
    if code in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
        return "job-busy"
    return "job-fault"


def fault_slugs() -> tuple[str, ...]:
    """Return the slugs that faults of the file can have, for the page of messages.

    >>> "job-busy" in fault_slugs()
    True
    """
    return ("job-damaged", "job-foreign", "job-read-only", "job-disk-full", "job-busy", "job-fault")
