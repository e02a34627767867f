"""The commands that ask: they write nothing but the file asked for."""

from typing import TYPE_CHECKING, Annotated

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

if TYPE_CHECKING:
    from pathlib import Path

    from reworkkit.pipeline.opening import Request


WhyOption = Annotated[str | None, typer.Option("--why", metavar="REF", help="Why this part stands where it does.")]
WhatIfOption = Annotated[
    str | None, typer.Option("--what-if", metavar="RULE", help='What one more rule would change: "U3 before J1".')
]


def register(app: typer.Typer) -> None:
    """Add the asking commands to the application, in the order of the work."""
    for command in (audit, diff, polarity, plan):
        app.command()(command)


def request(
    board: "Path | None", named: "Path | None", copy: int, column: list[str] | None = None, encoding: str | None = None
) -> "Request":
    """Return the request for the shared options."""
    from reworkkit.cli.columns import columns_of
    from reworkkit.pipeline.opening import Request

    return Request(board or named, copy, columns_of(column), encoding)


def audit(
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
    """Look for what is doubtful in the papers."""
    from reworkkit.pipeline import asking
    from reworkkit.show import answers

    answer = asking.audit(request(board, named, copy, column, encoding))
    if as_json:
        print_json(answers.audit_json(answer, lang))
    else:
        answers.print_audit(answer, lang, every)
    leave_if_open(check, answers.audit_is_open(answer))


def diff(
    board: BoardArgument = None,
    named: BoardOption = None,
    copy: CopyOption = 1,
    column: ColumnOption = None,
    encoding: EncodingOption = None,
    as_json: JsonOption = False,
    as_csv: CsvOption = False,
    check: CheckOption = False,
    lang: LangOption = "en",
) -> None:
    """Compare the parts list with what is on the board."""
    from reworkkit.pipeline import asking
    from reworkkit.show import answers

    answer = asking.diff(request(board, named, copy, column, encoding))
    if as_json:
        print_json(answers.diff_json(answer, lang))
    elif as_csv:
        answers.print_diff_csv(answer)
    else:
        answers.print_diff(answer, lang)
    leave_if_open(check, answers.diff_is_open(answer))


def polarity(
    board: BoardArgument = None,
    named: BoardOption = None,
    copy: CopyOption = 1,
    column: ColumnOption = None,
    encoding: EncodingOption = None,
    as_json: JsonOption = False,
    check: CheckOption = False,
    lang: LangOption = "en",
) -> None:
    """Show which way round each polarised part goes."""
    from reworkkit.pipeline import asking
    from reworkkit.show import answers

    answer = asking.polarity(request(board, named, copy, column, encoding))
    if as_json:
        print_json(answers.polarity_json(answer, lang))
    else:
        answers.print_polarity(answer, lang)
    leave_if_open(check, answers.polarity_is_open(answer))


def plan(
    board: BoardArgument = None,
    named: BoardOption = None,
    why: WhyOption = None,
    what_if: WhatIfOption = None,
    copy: CopyOption = 1,
    column: ColumnOption = None,
    encoding: EncodingOption = None,
    as_json: JsonOption = False,
    check: CheckOption = False,
    lang: LangOption = "en",
) -> None:
    """Order the work that is left, with hold points and reasons."""
    from reworkkit.pipeline import asking
    from reworkkit.show import answers

    asked = request(board, named, copy, column, encoding)
    if why:
        return answers.print_why(*asking.plan_why(asked, why), lang)
    if what_if:
        return answers.print_what_if(asking.plan_what_if(asked, what_if), lang)
    answer = asking.plan(asked)
    print_json(answers.plan_json(answer, lang)) if as_json else answers.print_plan(answer, lang)
    return leave_if_open(check, bool(answer.result.operations))
