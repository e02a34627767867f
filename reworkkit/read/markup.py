"""Signs of other kinds of text inside a list: a table in HTML, line breaks and entities in cells, Markdown's stars.

Only what shapes text is taken away: opened and closed, in a file whose entities or breaks tell that a page was behind
it. Anything else in angle brackets stays as written and is shown as text.
"""

import html
import re
from html.parser import HTMLParser

from reworkkit.read.text import visible

_TABLE = re.compile(r"<table\b", re.IGNORECASE)
_TABLE_ROW = re.compile(r"<tr\b", re.IGNORECASE)
_BREAK = re.compile(r"<br\s*/?>|</(?:p|div)>\s*<(?:p|div)(?:\s[^<>]*)?>", re.IGNORECASE)
_SHAPING = re.compile(
    r"<(b|i|u|p|em|strong|small|span|font|sup|sub|div|nobr|tt|code|a)(?:\s[^<>]*)?>([^<>\n]*)</\1\s*>", re.IGNORECASE
)
_ENTITY = re.compile(r"&(?:[A-Za-z]{2,8}|#\d{1,6}|#x[0-9A-Fa-f]{1,5});")
_QUOTES = frozenset(["&quot;", "&#34;", "&#x22;", "&lt;", "&gt;", "&#60;", "&#62;"])
_EMPHASIS = re.compile(r"(\*\*|__|~~|`|\*)(\S(?:.*\S)?)\1")


def has_table(text: str) -> bool:
    """Tell whether a text is a page with a table, as some programs save under the name of a spreadsheet."""
    opened = _TABLE.search(text, 0, 200_000)
    return opened is not None and _TABLE_ROW.search(text, opened.end(), 400_000) is not None


class _Rows(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.rows: list[tuple[int, list[str]]] = []
        self.cell: list[str] | None = None

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag == "tr":
            self._close_cell()
            self.rows.append((self.getpos()[0], []))
        elif tag in ("td", "th"):
            self._close_cell()
            self.cell = []
        elif tag in ("br", "p", "div") and self.cell is not None:
            self.cell.append(" ")

    def handle_endtag(self, tag: str) -> None:
        if tag in ("td", "th", "tr", "table"):
            self._close_cell()

    def handle_data(self, data: str) -> None:
        if self.cell is not None:
            self.cell.append(data)

    def _close_cell(self) -> None:
        if self.cell is not None and self.rows:
            self.rows[-1][1].append(" ".join("".join(self.cell).split()))
        self.cell = None


def table_rows(text: str) -> list[tuple[int, list[str]]]:
    """Return the rows of all tables of a page: line and cells."""
    parser = _Rows()
    parser.feed(text)
    parser.close()
    return [(line, cells) for line, cells in parser.rows if cells]


def without_shaping(text: str) -> str:
    """Return a text in which line breaks, bold and links are gone and entities are the signs they mean.

    >>> without_shaping("R1<br>R2,10k&Omega;,<script>x</script>")
    'R1 R2,10kΩ,<script>x</script>'
    """
    exported = _BREAK.search(text) or _ENTITY.search(text)
    text = _BREAK.sub(" ", text)
    while exported and (bare := _SHAPING.sub(r"\2", text)) != text:
        text = bare
    return _ENTITY.sub(_sign, text) if "&" in text else text


def _sign(entity: re.Match[str]) -> str:
    if entity[0] in _QUOTES:
        return entity[0]
    sign = html.unescape(entity[0])
    return visible(sign) or " " if sign != entity[0] else sign


def without_emphasis(cell: str) -> str:
    """Return a cell of a Markdown table without the marks of bold, slanted and code.

    >>> without_emphasis("**J1**"), without_emphasis("`10k`"), without_emphasis("R5*")
    ('J1', '10k', 'R5*')
    """
    match = _EMPHASIS.fullmatch(cell.strip())
    return match[2] if match else cell
