"""The terminal: headings, paragraphs and tables. Colour only where the terminal wants it (NO_COLOR is obeyed)."""

from collections.abc import Iterable, Sequence

from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from reworkkit.show.errors import plain

STYLES = {"heading": "bold", "warning": "bold red", "caution": "yellow", "quiet": "dim", "": ""}


class Screen:
    """Prints results on standard output; nothing in data is ever taken for markup or a control sequence."""

    def __init__(self, console: Console | None = None) -> None:
        self.console = console or Console(highlight=False, markup=False, emoji=False)

    def line(self, text: str = "", style: str = "", indent: int = 0) -> None:
        """Print one paragraph, wrapped, indented by `indent` columns."""
        words = Text(plain(text), style=STYLES[style])
        for part in words.wrap(self.console, max(self.console.width - indent, 20)) or [words]:
            part.rstrip()
            self.console.print(Text(" " * indent) + part if part.plain else Text())

    def heading(self, text: str) -> None:
        """Print a heading after an empty line."""
        self.console.print()
        self.line(text, "heading")

    def table(self, rows: Iterable[Sequence[str]], headings: Sequence[str] = (), widest: int | None = None) -> None:
        """Print rows in columns without rules; the last column takes the rest, `widest` bounds the others."""
        rows = [tuple(plain(cell) for cell in row) for row in rows]
        if not rows:
            return
        table = Table(box=None, show_header=bool(headings), header_style="dim", padding=(0, 2, 0, 0), pad_edge=False)
        last = len(rows[0]) - 1
        for n in range(last + 1):
            table.add_column(
                headings[n] if headings else "", overflow="fold", max_width=None if n == last else widest, no_wrap=False
            )
        for row in rows:
            table.add_row(*(Text(cell) for cell in row))
        with self.console.capture() as printed:
            self.console.print(Padding(table, (0, 0, 0, 2), expand=False))
        for line in printed.get().splitlines():
            self.console.file.write(line.rstrip() + "\n")
