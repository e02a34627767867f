"""Files that the tool writes: whole or not at all. And the example boards that come with it."""

import os
import shutil
import tempfile
from pathlib import Path

import reworkkit
from reworkkit.errors import ReworkkitError

SHEET_NAME = "bench-sheet.html"
EXAMPLE = "greenhouse-valves"


def atomic_write(path: Path, text: str) -> None:
    """Write the file whole or not at all: a temporary file beside it, synced, then put in its place."""
    descriptor, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".part")
    try:
        with os.fdopen(descriptor, "w", encoding="utf-8", newline="\n") as handle:
            handle.write(text)
            handle.flush()
            os.fsync(handle.fileno())
        os.chmod(temporary, 0o644)
        os.replace(temporary, path)
    except BaseException:
        Path(temporary).unlink(missing_ok=True)
        raise
    _sync_folder(path.parent)


def _sync_folder(folder: Path) -> None:
    if os.name == "posix":
        descriptor = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)


def sheet_path(target: Path, named: Path | None) -> Path:
    """Return where the bench sheet goes: the file named, else into the board folder, else beside the lone list."""
    if named is not None:
        return named / SHEET_NAME if named.is_dir() else named
    return target / SHEET_NAME if target.is_dir() else target.with_name(f"{target.stem} {SHEET_NAME}")


def example_boards() -> Path:
    """Return the folder of the example boards: inside the installed package, or beside it in a checkout."""
    package = Path(reworkkit.__file__).parent
    for folder in (package / "example_boards", package.parent / "example_boards"):
        if folder.is_dir():
            return folder
    raise ReworkkitError("example-boards-missing")


def copy_example(into: Path, name: str = EXAMPLE) -> bool:
    """Copy an example board into a folder; a folder that is already there is kept as it is. True where copied."""
    if into.exists() and any(into.iterdir()):
        return False
    into.mkdir(parents=True, exist_ok=True)
    shutil.copytree(example_boards() / name, into, dirs_exist_ok=True)
    return True
