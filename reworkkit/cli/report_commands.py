"""The commands that write a file for the bench: the sheet, and the demonstration."""

from pathlib import Path
from typing import Annotated

import typer

from reworkkit.cli.ask_commands import request
from reworkkit.cli.frame import print_json
from reworkkit.cli.options import (
    BoardArgument,
    BoardOption,
    ColumnOption,
    CopyOption,
    CsvOption,
    EncodingOption,
    JsonOption,
    LangOption,
)

OutputOption = Annotated[
    Path | None, typer.Option("--output", "-o", metavar="FILE", help="Where to write the sheet.", show_default=False)
]
IntoOption = Annotated[Path, typer.Option("--into", metavar="FOLDER", help="Where the example board is copied to.")]


RecordOption = Annotated[
    bool, typer.Option("--record", help="The record of a finished board: HTML, or with --json or --csv on stdout.")
]


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
    record: RecordOption = False,
    as_json: JsonOption = False,
    as_csv: CsvOption = False,
    lang: LangOption = "en",
) -> None:
    """Write the bench sheet, or the record of a finished board."""
    from reworkkit.pipeline import asking
    from reworkkit.pipeline.files import atomic_write
    from reworkkit.show import answers

    if record or as_json or as_csv:
        return write_record(board or named, output, copy, as_json, as_csv, lang)
    answer, path = asking.report(request(board, named, copy, column, encoding), output)
    atomic_write(path, answers.sheet_html(answer, lang))
    return answers.print_sheet_written(answer, path, lang, board or named)


def write_record(
    board: Path | None, output: Path | None, copy: int, as_json: bool, as_csv: bool, language: str
) -> None:
    """Write the record of a finished board as HTML, or print it as JSON or CSV."""
    from reworkkit.cli.acting import job_folder
    from reworkkit.pipeline import recall
    from reworkkit.pipeline.files import atomic_write
    from reworkkit.show import answers, recall_data

    folder = job_folder(board)
    finished = recall.finished_record(folder, copy)
    if as_json:
        return print_json(recall_data.record_data(finished, language))
    if as_csv:
        return print(recall_data.record_csv(finished), end="")
    path = output or folder / f"board-record-{finished.situation.copy}.html"
    atomic_write(path, answers.record_html(finished, language))
    return answers.print_record_written(path, language)


def demo(into: IntoOption = Path("reworkkit-demo"), lang: LangOption = "en") -> None:
    """Copy an invented board and run the whole job on it."""
    from reworkkit.cli.demonstration import run_demo

    run_demo(into, lang)
