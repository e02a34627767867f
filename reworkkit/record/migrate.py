"""The schema of a job file and its versions: numbered SQL files, each run in one transaction with its own number."""

import re
import sqlite3
from functools import cache
from importlib.resources import files

APPLICATION_ID = 0x52574B4A
"""Marks our files in the header of SQLite ("RWKJ"), so that a foreign database is never touched."""

NEWEST = 3
"""Version of the schema that this program writes: the number of the last schema file."""


@cache
def steps() -> tuple[tuple[int, str], ...]:
    """Return (version, SQL text) of every schema file, oldest first."""
    found = [path for path in (files(__package__) / "schema").iterdir() if path.name.endswith(".sql")]
    return tuple(sorted((int(path.name[:3]), path.read_text(encoding="utf-8")) for path in found))


def statements(sql: str) -> list[str]:
    """Return the single statements of a schema file, so that they can share one transaction.

    >>> statements("CREATE TABLE a (b INT); -- remark; more\\nCREATE TABLE c (d INT);")
    ['CREATE TABLE a (b INT);', '-- remark; more\\nCREATE TABLE c (d INT);']
    """
    found, pending = [], ""
    for piece in re.split(r"(?<=;)", sql):
        pending += piece
        if sqlite3.complete_statement(pending):
            found.append(pending.strip())
            pending = ""
    return found


def upgrade(connection: sqlite3.Connection, have: int) -> None:
    """Bring a file of version `have` to the newest one; the caller holds the transaction.

    All steps and the new version number are written together: the file is at the old version or at the newest.
    """
    for version, sql in steps():
        if version > have:
            for statement in statements(sql):
                connection.execute(statement)
    connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    connection.execute(f"PRAGMA user_version = {NEWEST}")
