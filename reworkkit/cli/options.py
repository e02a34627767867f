"""Every option that commands share, defined once."""

from pathlib import Path
from typing import Annotated

import typer

BoardArgument = Annotated[
    Path | None,
    typer.Argument(
        metavar="[BOARD]",
        help="A board folder, or a lone parts list. Default: this folder or the nearest above that has one.",
        show_default=False,
    ),
]
BoardOption = Annotated[
    Path | None,
    typer.Option("--board", metavar="BOARD", help="The board folder or parts list.", show_default=False),
]
RefsArgument = Annotated[
    list[str] | None, typer.Argument(metavar="[REF]...", help="Designators; ranges such as R1-R4 are fine.")
]
CopyOption = Annotated[int, typer.Option("--copy", min=1, help="Which of several physical boards.")]
JsonOption = Annotated[bool, typer.Option("--json", help="Print one JSON document on standard output.")]
CsvOption = Annotated[bool, typer.Option("--csv", help="Print CSV that is safe to open in a spreadsheet.")]
CheckOption = Annotated[bool, typer.Option("--check", help="Exit with 1 when something is open.")]
ColumnOption = Annotated[
    list[str] | None,
    typer.Option("--column", metavar="ROLE=HEADING", help="Say which column is what: designator=Pos."),
]
EncodingOption = Annotated[
    str | None, typer.Option("--encoding", help="Encoding of the parts list, where it cannot be told.")
]
ByOption = Annotated[str | None, typer.Option("--by", metavar="NAME", help="Who did it. Default: your login name.")]
ReasonOption = Annotated[str | None, typer.Option("--reason", metavar="TEXT", help="Why; kept in the record.")]
AnywayOption = Annotated[bool, typer.Option("--anyway", help="Record something unusual; needs --reason.")]
LangOption = Annotated[str, typer.Option("--lang", help="Language of the sentences.")]
AllOption = Annotated[bool, typer.Option("--all", help="Show everything, not only the first.")]
