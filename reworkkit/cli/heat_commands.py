"""`heat`: what joints ask of the iron, and what a timed joint teaches about it."""

from typing import Annotated

import typer

from reworkkit.cli.ask_commands import request
from reworkkit.cli.frame import print_json
from reworkkit.cli.options import (
    AllOption,
    BoardOption,
    ColumnOption,
    CopyOption,
    EncodingOption,
    JsonOption,
    LangOption,
    RefsArgument,
)

ExplainOption = Annotated[bool, typer.Option("--explain", help="The energy budget, and what would narrow the range.")]
FlowedOption = Annotated[
    str | None, typer.Option("--flowed", metavar="TEXT", help='A joint you timed: "U3.4: 4 s at 350 C".')
]
CouponOption = Annotated[
    float | None, typer.Option("--coupon", metavar="SECONDS", min=0.1, help="Time to flow on the copper coupon.")
]
TipOption = Annotated[str, typer.Option("--tip", metavar="NAME", help="The tip it was done with.")]


def register(app: typer.Typer) -> None:
    """Add the command to the application."""
    app.command()(heat)


def heat(
    refs: RefsArgument = None,
    board: BoardOption = None,
    explain: ExplainOption = False,
    flowed: FlowedOption = None,
    coupon: CouponOption = None,
    tip: TipOption = "chisel",
    every: AllOption = False,
    copy: CopyOption = 1,
    column: ColumnOption = None,
    encoding: EncodingOption = None,
    as_json: JsonOption = False,
    lang: LangOption = "en",
) -> None:
    """Compute what joints ask of the iron: tip, setting, preheat."""
    from reworkkit.pipeline import heating
    from reworkkit.show import heat_text

    asked = request(board, None, copy, column, encoding)
    if coupon is not None:
        return heat_text.print_coupon(heating.coupon_line(tip, coupon), lang)
    if flowed:
        return heat_text.print_measured(heating.measured(asked, tip, flowed), lang)
    if explain:
        return heat_text.print_explained(heating.explain(asked, refs or ()), lang)
    answer, around = heating.heat(asked, refs or ())
    if as_json:
        return print_json(heat_text.heat_json(answer, around.findings, lang))
    return heat_text.print_heat(answer, *around, lang, every or bool(refs))
