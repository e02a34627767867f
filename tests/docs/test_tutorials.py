"""The tutorials are true: every command of a `console` block is run, and must say what the page shows.

In a block, a line that starts with `$ ` is a command, the lines below are what it says, `...` stands for any lines.
A block headed `csv NAME` is saved under that name first. What a survey is answered on the page is typed into it.
"""

import io
import re
import shlex
from pathlib import Path
from typing import NamedTuple

import pytest

from reworkkit.cli import main
from tests.conftest import PROJECT

PAGES = ("first-evening.md", "first-job.md")
FENCE = re.compile(r"^```(\w*) ?([^\n]*)\n(.*?)^```$", re.MULTILINE | re.DOTALL)
ANSWER = re.compile(r"^  \S+ .*: (there|empty|cannot see|damaged|wrong|reversed)(?:, (.*))?$")


class Command(NamedTuple):
    """One command of a page and the lines it shows below it."""

    words: list[str]
    shown: list[str]


def blocks(text: str) -> list[tuple[str, str, str]]:
    return [(match[1], match[2].strip(), match[3]) for match in FENCE.finditer(text)]


def commands(block: str) -> list[Command]:
    found: list[Command] = []
    for line in block.splitlines():
        if line.startswith("$ "):
            found.append(Command(shlex.split(line[2:]), []))
        else:
            found[-1].shown.append(line.rstrip())
    return found


def shown_in(shown: list[str], told: list[str]) -> bool:
    """Return whether the lines shown stand in what was told, one below the other but for `...`."""
    pieces: list[list[str]] = [[]]
    for line in shown:
        pieces.append([]) if line == "..." else pieces[-1].append(line)
    at = 0
    for n, piece in enumerate(pieces):
        starts = [at] if n == 0 else range(at, len(told) - len(piece) + 1)
        found = next((start for start in starts if told[start : start + len(piece)] == piece), None)
        if found is None:
            return False
        at = found + len(piece)
    return shown[-1:] == ["..."] or all(not line for line in told[at:])


def typed(command: Command) -> str:
    answers = [match for line in command.shown if (match := ANSWER.match(line))]
    return "".join(f"{match[1]} {match[2] or ''}\n" for match in answers)


@pytest.mark.parametrize("name", PAGES)
def test_the_page_says_what_the_commands_say(name, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.setenv("NO_COLOR", "1")
    ran = 0
    for kind, title, block in blocks((PROJECT / "docs" / name).read_text(encoding="utf-8")):
        if kind == "csv" and title:
            Path(title).write_text(block, encoding="utf-8")
        for command in commands(block) if kind == "console" else ():
            ran += 1
            if command.words[0] == "cd":
                monkeypatch.chdir(Path(command.words[1]).resolve())
                continue
            assert command.words[0] == "reworkkit", command.words
            monkeypatch.setattr("sys.stdin", io.StringIO(typed(command)))
            code = main(command.words[1:])
            out, err = capsys.readouterr()
            assert code == 0, (command.words, err)
            told = [line.rstrip() for line in out.splitlines()]
            assert not command.shown or shown_in(command.shown, told), f"{' '.join(command.words)} says:\n{out}"
    assert ran >= 5, f"{name} has no console blocks"


def test_a_page_that_is_wrong_is_noticed():
    """The comparison itself: a changed, missing or additional line does not pass."""
    told = ["one", "two", "three", ""]
    assert shown_in(["one", "...", "three"], told)
    assert shown_in(["one", "..."], told)
    assert not shown_in(["one", "three"], told)
    assert not shown_in(["one", "...", "thre"], told)
    assert not shown_in(["two", "..."], told)
    assert not shown_in(["one", "two"], told)
