"""`diagnose`: which faults explain all readings, and what to measure next."""

import typer

from reworkkit.cli.frame import leave_if_open, print_json
from reworkkit.cli.options import (
    AllOption,
    BoardArgument,
    BoardOption,
    CheckOption,
    ColumnOption,
    CopyOption,
    EncodingOption,
    JsonOption,
    LangOption,
)


def register(app: typer.Typer) -> None:
    """Add the command to the application."""
    app.command()(diagnose)


def diagnose(
    board: BoardArgument = None,
    named: BoardOption = None,
    every: AllOption = False,
    copy: CopyOption = 1,
    column: ColumnOption = None,
    encoding: EncodingOption = None,
    as_json: JsonOption = False,
    check: CheckOption = False,
    lang: LangOption = "en",
) -> None:
    """A reading is off: the faults that explain all readings, and what to measure next."""
    from reworkkit.cli.ask_commands import request
    from reworkkit.pipeline import diagnosing
    from reworkkit.show import diagnose_text

    answer = diagnosing.diagnose(request(board, named, copy, column, encoding))
    print_json(diagnose_text.diagnose_json(answer, lang)) if as_json else diagnose_text.print_diagnosis(
        answer, lang, every
    )
    leave_if_open(check, diagnose_text.diagnosis_is_open(answer))
