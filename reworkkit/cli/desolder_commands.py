"""`desolder`: how a part comes off, and the proof of the bare place."""

import typer

from reworkkit.cli.frame import leave_if_open, print_json
from reworkkit.cli.options import (
    BoardOption,
    CheckOption,
    ColumnOption,
    CopyOption,
    EncodingOption,
    JsonOption,
    LangOption,
    RefsArgument,
)


def register(app: typer.Typer) -> None:
    """Add the command to the application."""
    app.command()(desolder)


def desolder(
    refs: RefsArgument = None,
    board: BoardOption = None,
    copy: CopyOption = 1,
    column: ColumnOption = None,
    encoding: EncodingOption = None,
    as_json: JsonOption = False,
    check: CheckOption = False,
    lang: LangOption = "en",
) -> None:
    """Plan how parts come off: way, order of pins, care; then the probes that prove the bare place."""
    from reworkkit.cli.ask_commands import request
    from reworkkit.pipeline import taking_off
    from reworkkit.show import desolder_text

    answer = taking_off.desolder(request(board, None, copy, column, encoding), tuple(refs or ()))
    print_json(desolder_text.desolder_json(answer, lang)) if as_json else desolder_text.print_desolder(answer, lang)
    leave_if_open(check, desolder_text.desolder_is_open(answer))
