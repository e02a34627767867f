"""`powerup`: hold points with what the meter and the supply will show."""

from pathlib import Path
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
    EncodingOption,
    JsonOption,
    LangOption,
)

HoldOption = Annotated[str | None, typer.Option("--hold-point", metavar="NAME", help="Only this hold point.")]

SheetOption = Annotated[
    bool, typer.Option("--sheet", help="Write the hold cards to print, one A4 a hold point, into the board folder.")
]
OutputOption = Annotated[
    Path | None, typer.Option("--output", "-o", metavar="FILE", help="Where to write them.", show_default=False)
]


def register(app: typer.Typer) -> None:
    """Add the command to the application."""
    app.command()(powerup)


def powerup(
    board: BoardArgument = None,
    named: BoardOption = None,
    hold_point: HoldOption = None,
    every: AllOption = False,
    sheet: SheetOption = False,
    output: OutputOption = None,
    copy: CopyOption = 1,
    column: ColumnOption = None,
    encoding: EncodingOption = None,
    as_json: JsonOption = False,
    check: CheckOption = False,
    lang: LangOption = "en",
) -> None:
    """First power-up, one hold point after the other: limit, ohms, volts, when to switch off."""
    from reworkkit.cli.ask_commands import request
    from reworkkit.pipeline import powering
    from reworkkit.show import power_text

    asked = request(board, named, copy, column, encoding)
    answer = powering.powerup(asked, hold_point)
    if sheet or output:
        from reworkkit.pipeline.files import atomic_write
        from reworkkit.show import hold_sheet

        path = powering.hold_sheet_path(asked, output)
        atomic_write(path, hold_sheet.hold_sheet_html(answer, lang))
        hold_sheet.print_written(path, len(answer.result.hold_points), lang)
    elif as_json:
        print_json(power_text.power_json(answer, lang))
    else:
        power_text.print_power(answer, lang, every)
    leave_if_open(check, power_text.power_is_open(answer))
