"""`checks`: the probes of one purpose, or of all, with a place for each reading."""

from typing import Annotated

import typer

from reworkkit.cli.frame import print_json
from reworkkit.cli.options import (
    BoardOption,
    ColumnOption,
    CopyOption,
    EncodingOption,
    JsonOption,
    LangOption,
    RefsArgument,
)

PurposeOption = Annotated[
    str | None,
    typer.Option("--purpose", metavar="PURPOSE", help="goods_in, bare_place, power_stage, input or output; else all."),
]


def register(app: typer.Typer) -> None:
    """Add the command to the application."""
    app.command()(checks)


def checks(
    refs: RefsArgument = None,
    purpose: PurposeOption = None,
    board: BoardOption = None,
    copy: CopyOption = 1,
    column: ColumnOption = None,
    encoding: EncodingOption = None,
    as_json: JsonOption = False,
    lang: LangOption = "en",
) -> None:
    """List probes to make: goods in, bare places, power stage, inputs, outputs."""
    from reworkkit.cli.ask_commands import request
    from reworkkit.pipeline import checking
    from reworkkit.show import check_text

    asked = request(board, None, copy, column, encoding)
    answer = checking.checks(asked, tuple(refs or ()), purpose)
    print_json(check_text.checks_json(answer, lang)) if as_json else check_text.print_checks(answer, lang)
