"""What a person asks about, opened: the files read, the situation taken from the job or from the files."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from reworkkit.pipeline.places import find_target, has_job
from reworkkit.pipeline.work import Work


@dataclass(frozen=True, slots=True)
class Request:
    """What a person asks about: the board folder or lone list, which copy, and answers about reading."""

    target: Path | None = None
    copy: int = 1
    columns: Mapping[str, str] = field(default_factory=dict)
    encoding: str | None = None


def open_work(request: Request) -> Work:
    """Return the lazy graph of results for the board and the situation that the request is about."""
    from reworkkit.pipeline.effective import with_substitutes

    listed = open_listed(request)
    return Work(with_substitutes(listed.board, listed.situation), listed.situation)


def open_listed(request: Request) -> Work:
    """Return the same for the board as the list has it, accepted substitutes left out."""
    from reworkkit.compute.situation import situation_of_files
    from reworkkit.read.folder import Answers, read_board

    target = find_target(request.target, Path.cwd())
    board = read_board(target, Answers(request.columns, request.encoding))
    if has_job(target):
        from reworkkit.pipeline.job import situation_of_job

        return Work(board, situation_of_job(target, request.copy))
    return Work(board, situation_of_files(board, request.copy))
