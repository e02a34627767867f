"""`shortage` and `compare`: what to buy, and whether another part fits."""

from typing import Annotated

import typer

from reworkkit.cli.frame import leave_if_open, print_json
from reworkkit.cli.options import (
    AllOption,
    BoardArgument,
    BoardOption,
    CheckOption,
    ColumnOption,
    CopyOption,
    CsvOption,
    EncodingOption,
    JsonOption,
    LangOption,
)

CopiesOption = Annotated[
    int | None,
    typer.Option(
        "--copies", min=1, max=1000, help="For how many physical boards. Default: those of the job, else one."
    ),
]
RefArgument = Annotated[str, typer.Argument(metavar="REF", help="The place whose part is to be replaced.")]


def register(app: typer.Typer) -> None:
    """Add the commands to the application."""
    for command in (shortage, compare):
        app.command()(command)


def shortage(
    board: BoardArgument = None,
    named: BoardOption = None,
    copies: CopiesOption = None,
    every: AllOption = False,
    copy: CopyOption = 1,
    column: ColumnOption = None,
    encoding: EncodingOption = None,
    as_json: JsonOption = False,
    as_csv: CsvOption = False,
    check: CheckOption = False,
    lang: LangOption = "en",
) -> None:
    """List what to buy: missing, to replace and spares, less what is in stock."""
    from reworkkit.cli.ask_commands import request
    from reworkkit.pipeline import buying
    from reworkkit.show import buy_text

    answer = buying.shortage(request(board, named, copy, column, encoding), copies)
    if as_json:
        print_json(buy_text.shortage_json(answer, lang))
    elif as_csv:
        buy_text.print_shortage_csv(answer, lang)
    else:
        buy_text.print_shortage(answer, lang, every)
    leave_if_open(check, buy_text.shortage_is_open(answer))


def compare(
    ref: RefArgument,
    board: BoardOption = None,
    every: AllOption = False,
    copy: CopyOption = 1,
    column: ColumnOption = None,
    encoding: EncodingOption = None,
    as_json: JsonOption = False,
    check: CheckOption = False,
    lang: LangOption = "en",
) -> None:
    """Hold the candidates for a place against the original and against what the circuit needs."""
    from reworkkit.cli.ask_commands import request
    from reworkkit.pipeline import buying
    from reworkkit.show import buy_text

    answer = buying.compare(request(board, None, copy, column, encoding), ref)
    if as_json:
        print_json(buy_text.comparison_json(answer, lang))
    else:
        buy_text.print_comparison(answer, lang, every)
    leave_if_open(check, buy_text.comparison_is_open(answer))
