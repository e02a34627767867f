"""Which board a command is about: named, or this folder or the nearest above that has a list or a job."""

from pathlib import Path

from reworkkit.errors import ReworkkitError

JOB_FILE = "job.sqlite"
MARKERS = (JOB_FILE, "board.toml", "fitted.csv", "fitted.txt", "bom.csv", "bom.tsv", "bom.txt", "bom.xlsx", "parts.csv")


def find_target(named: Path | None, start: Path) -> Path:
    """Return the board folder or lone list that a command is about; raises ReworkkitError where there is none."""
    if named is not None:
        if not named.exists():
            raise ReworkkitError("no-such-file", file=str(named))
        return named if named.name not in ("", "..") else named.resolve()
    for folder in (start, *start.parents):
        if any((folder / marker).is_file() for marker in MARKERS):
            return folder
    raise ReworkkitError("no-board-here", folder=start.name or str(start))


def begun_folder(target: Path) -> Path:
    """Return the folder that `survey` or `begin` made for a lone list, else the target as it is."""
    folder = folder_of_list(target)
    return folder if target.is_file() and (folder / target.name).is_file() else target


def folder_of_list(lone: Path) -> Path:
    """Return the folder that a lone list gets: beside it, named like it."""
    return lone.with_suffix("") if lone.suffix else lone.with_name(f"{lone.name} board")


def has_job(target: Path) -> bool:
    """Return whether the board folder has a job."""
    return target.is_dir() and (target / JOB_FILE).is_file()
