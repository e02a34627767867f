"""Photographs stay where they are; the record keeps name and hash, so that it can be told whether they are the same."""

import hashlib
from pathlib import Path

from reworkkit.errors import ReworkkitError


def photo_mark(path: Path) -> tuple[str, str]:
    """Return the file name of a photograph and the SHA-256 of its bytes; raises ReworkkitError where it is no file."""
    if not path.is_file():
        raise ReworkkitError("no-photo", file=path.name)
    with path.open("rb") as file:
        return path.name, hashlib.file_digest(file, "sha256").hexdigest()
