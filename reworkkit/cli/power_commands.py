"""`powerup`: hold points with what the meter and the supply will show."""

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


def register(app: typer.Typer) -> None:
    """Add the command to the application."""
    app.command()(powerup)


def powerup(
    board: BoardArgument = None,
    named: BoardOption = None,
    hold_point: HoldOption = None,
    every: AllOption = False,
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

    answer = powering.powerup(request(board, named, copy, column, encoding), hold_point)
    print_json(power_text.power_json(answer, lang)) if as_json else power_text.print_power(answer, lang, every)
    leave_if_open(check, power_text.power_is_open(answer))
