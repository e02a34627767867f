"""Where in a TOML file each key stands, and what a syntax error of it most likely means.

`tomllib` gives no line numbers except for syntax errors. The same parser finds them: a file that parses as a whole is
cut into its statements, each the shortest run of lines that parses alone. There is no second grammar.
"""

import re
import tomllib
from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple

from reworkkit.errors import ReworkkitError
from reworkkit.model.values import Where

Path = tuple[str, ...]

_PLACE = re.compile(r" \(at (?:line (?P<line>[0-9]+), column (?P<column>[0-9]+)|end of document)\)$")
_KEY_TROUBLE = ("Invalid statement", "Expected '=' after a key", "Invalid initial character for a key part")
_VALUE_TROUBLE = ("Expected newline or end of document after a statement", "Invalid value")
_BARE_NAME = re.compile(r"[A-Za-z0-9_-]+")
_OPEN_BRACE = re.compile(r"=\s*\{[^}]*$")


class Statement(NamedTuple):
    """One statement of a file: its first line, its text, and what it says alone."""

    line: int
    text: str
    says: Mapping[str, Any]


def statements(text: str) -> Iterator[Statement]:
    """Yield the statements of a file that parses as a whole; comments and blank lines are left out."""
    lines = text.split("\n")
    first = 0
    for last in range(len(lines)):
        chunk = "\n".join(lines[first : last + 1])
        try:
            says = tomllib.loads(chunk)
        except tomllib.TOMLDecodeError:
            continue
        if says:
            yield Statement(first + 1, chunk, says)
        first = last + 1


def lines_of(text: str) -> dict[Path, int]:
    """Return the line of every key and table of a file that parses, by its path; list elements count from 0.

    >>> lines_of("[rails]\\n'+5V' = { volts = '5 V' }\\n")
    {('rails',): 1, ('rails', '+5V'): 2, ('rails', '+5V', 'volts'): 2}
    """
    found: dict[Path, int] = {}
    heading: Path = ()
    counts: dict[Path, int] = {}
    for statement in statements(text):
        if statement.text.lstrip().startswith("["):
            heading = _heading(statement, counts)
            for n in range(1, len(heading) + 1):
                found.setdefault(heading[:n], statement.line)
            found[heading] = statement.line
        else:
            for path in _paths(statement.says, heading):
                found.setdefault(path, statement.line)
    return found


def _heading(statement: Statement, counts: dict[Path, int]) -> Path:
    """Return the path a heading opens; `[[x]]` opens the next element of x, `[x.y]` stands in its newest one."""
    path: Path = ()
    here: Any = statement.says
    while isinstance(here, Mapping) and here:
        (key, here), *_ = here.items()
        path = (*path, key)
        if isinstance(here, list):
            counts[path] = counts.get(path, -1) + 1
            here = here[0]
        if path in counts:
            path = (*path, str(counts[path]))
    return path


def _paths(value: Any, above: Path) -> Iterator[Path]:
    pairs = value.items() if isinstance(value, Mapping) else enumerate(value) if isinstance(value, list) else ()
    for key, inner in pairs:
        path = (*above, str(key))
        yield path
        yield from _paths(inner, path)


def nearest_line(lines: Mapping[Path, int], path: Path) -> int:
    """Return the line of a path, or of the nearest table above it; 0 where nothing of it is written."""
    for n in range(len(path), 0, -1):
        if path[:n] in lines:
            return lines[path[:n]]
    return 0


def unquoted_point(text: str, line: int) -> str | None:
    """Return the name left of `=` on a line where it holds a point and no quotes, as `J5.2 = ...` does.

    >>> unquoted_point("[points]\\nJ5.2 = 'RESET'", 2)
    'J5.2'
    """
    name = text.split("\n")[line - 1].partition("=")[0].strip() if line else ""
    return name if re.fullmatch(r"[A-Za-z0-9_-]+(?:\s*\.\s*[A-Za-z0-9_-]+)+", name) else None


def syntax_problem(error: tomllib.TOMLDecodeError, text: str, file: str) -> ReworkkitError:
    """Return our error for a file that is not TOML, with the hint for the traps of the format."""
    found = _PLACE.search(str(error))
    lines = text.split("\n")
    number = int(found["line"]) if found and found["line"] else len(lines)
    column = int(found["column"]) if found and found["column"] else 1
    reason = _PLACE.sub("", str(error))
    line = lines[min(number, len(lines)) - 1]
    where = (Where(file, min(number, len(lines))),)
    if reason == "Unclosed inline table" or (_OPEN_BRACE.search(line) and reason.startswith(_KEY_TROUBLE)):
        return ReworkkitError("toml-table-over-lines", where=where, name=line.partition("=")[0].strip())
    if reason.startswith(_KEY_TROUBLE) and (name := _odd_name(line, column)):
        return ReworkkitError("toml-name-needs-quotes", where=where, name=name)
    if reason.startswith(_VALUE_TROUBLE) and "=" in line:
        name, _, behind = line.partition("=")
        value = behind.partition("#")[0].strip()
        if not value:
            return ReworkkitError("toml-value-missing", where=where, name=name.strip())
        return ReworkkitError("toml-value-needs-quotes", where=where, value=value.strip("\"'"))
    return ReworkkitError("not-toml", where=where, reason=reason, line=number, column=column)


def _odd_name(line: str, column: int) -> str | None:
    """Return the name that stands around a column, if it needs quotes."""
    start = max(line.rfind(mark, 0, column - 1) for mark in "{,[.") + 1 if "{" in line or line.startswith("[") else 0
    name = re.split(r"[=\]]", line[start:], maxsplit=1)[0].strip()
    return name if name and not _BARE_NAME.fullmatch(name) and not name.startswith(('"', "'")) else None
