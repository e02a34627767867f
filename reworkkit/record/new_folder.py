"""The folder that a job of a lone parts list gets: beside the list, named like it, with a copy of it inside."""

import shutil
from pathlib import Path

from reworkkit.errors import ReworkkitError
from reworkkit.record.job_store import JOB_FILE


def folder_for(lone: Path) -> Path:
    """Return the board folder of a lone list; it is made where it is not there, and the list is copied into it.

    The list keeps its name. A folder that holds a job, or another file of that name, is left alone.
    """
    folder = lone.with_suffix("") if lone.suffix else lone.with_name(f"{lone.name} board")
    if (folder / JOB_FILE).exists():
        raise ReworkkitError("job-exists", file=f"{folder.name}/{JOB_FILE}")
    inside = folder / lone.name
    if inside.exists() and inside.read_bytes() != lone.read_bytes():
        raise ReworkkitError("list-in-the-way", file=f"{folder.name}/{lone.name}")
    folder.mkdir(exist_ok=True)
    if not inside.exists():
        shutil.copyfile(lone, inside)
    return folder
