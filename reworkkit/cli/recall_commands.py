"""The commands that recall: they read the job file and nothing else, and answer at once."""

from collections.abc import Callable
from typing import Annotated

import typer

from reworkkit.cli.acting import CopyChoice, job_folder
from reworkkit.cli.frame import leave_if_open, print_json
from reworkkit.cli.options import (
    BoardArgument,
    BoardOption,
    CheckOption,
    JsonOption,
    LangOption,
    RefsArgument,
)

MinutesOption = Annotated[float | None, typer.Option("--minutes", min=1, help="How much time there is.")]
AllOption = Annotated[bool, typer.Option("--all", help="Readings of all boards side by side as well.")]
NewestOption = Annotated[int | None, typer.Option("--newest", min=1, help="Only so many, the newest.")]


def register(app: typer.Typer) -> None:
    """Add the recalling commands to the application."""
    app.command("next")(next_)
    rest: tuple[Callable[..., None], ...] = (status, history, export)
    for command in rest:
        app.command()(command)


def next_(
    board: BoardArgument = None,
    named: BoardOption = None,
    minutes: MinutesOption = None,
    copy: CopyChoice = None,
    as_json: JsonOption = False,
    check: CheckOption = False,
    lang: LangOption = "en",
) -> None:
    """Show what comes next, as much as fits into the time you have."""
    from reworkkit.pipeline import recall as job
    from reworkkit.show import recall

    steps = job.next_operations(job_folder(board or named), copy, minutes)
    if as_json:
        from reworkkit.show.recall_data import next_data

        print_json(next_data(steps, job.at_event(job_folder(board or named)), lang))
    else:
        print(recall.next_text(steps, lang))
    leave_if_open(check, any(one.operations for one in steps))


def status(
    board: BoardArgument = None,
    named: BoardOption = None,
    every: AllOption = False,
    copy: CopyChoice = None,
    as_json: JsonOption = False,
    check: CheckOption = False,
    lang: LangOption = "en",
) -> None:
    """Show how the job stands: open items first, then progress."""
    from reworkkit.pipeline import recall as job
    from reworkkit.show import recall

    now = job.status(job_folder(board or named), copy)
    if as_json:
        from reworkkit.show.recall_data import status_data

        print_json(status_data(now, lang))
    else:
        print(recall.status_text(now, lang, every))
    leave_if_open(check, any(one.open_items for one in now.copies))


def history(
    refs: RefsArgument = None,
    board: BoardOption = None,
    copy: CopyChoice = None,
    newest: NewestOption = None,
    as_json: JsonOption = False,
    lang: LangOption = "en",
) -> None:
    """Show what was recorded, of all or of some places; what was taken back says so."""
    from reworkkit.pipeline import recall as job
    from reworkkit.show import recall

    events = job.history(job_folder(board), refs or (), copy, newest)
    if as_json:
        from reworkkit.show.recall_data import history_data

        print_json(history_data(events, lang))
    else:
        print(recall.history_text(events, lang))


def export(board: BoardArgument = None, named: BoardOption = None) -> None:
    """Print the whole job as JSON; `reworkkit merge` takes it in elsewhere."""
    from reworkkit.pipeline import recall as job

    print_json(job.export(job_folder(board or named)))
