"""The commands that write a file for the bench: the sheet, and the demonstration."""

from pathlib import Path
from typing import Annotated

import typer

from reworkkit.cli.ask_commands import request
from reworkkit.cli.options import BoardArgument, BoardOption, ColumnOption, CopyOption, EncodingOption, LangOption

OutputOption = Annotated[
    Path | None, typer.Option("--output", "-o", metavar="FILE", help="Where to write the sheet.", show_default=False)
]
IntoOption = Annotated[Path, typer.Option("--into", metavar="FOLDER", help="Where the example board is copied to.")]


def register(app: typer.Typer) -> None:
    """Add the commands to the application."""
    app.command()(report)
    app.command()(demo)


def report(
    board: BoardArgument = None,
    named: BoardOption = None,
    output: OutputOption = None,
    copy: CopyOption = 1,
    column: ColumnOption = None,
    encoding: EncodingOption = None,
    lang: LangOption = "en",
) -> None:
    """Write the bench sheet: one HTML file, offline."""
    from reworkkit.pipeline import asking
    from reworkkit.pipeline.files import atomic_write
    from reworkkit.show import answers

    answer, path = asking.report(request(board, named, copy, column, encoding), output)
    atomic_write(path, answers.sheet_html(answer, lang))
    answers.print_sheet_written(answer, path, lang, board or named)


def demo(into: IntoOption = Path("reworkkit-demo"), lang: LangOption = "en") -> None:
    """Copy an invented board and run the whole job on it."""
    from reworkkit.cli.demonstration import run_demo

    run_demo(into, lang)
