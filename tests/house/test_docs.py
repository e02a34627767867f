"""Docs are held true: made pages are current, links resolve, commands have help, no page of this machine leaks."""

import re
import subprocess
from pathlib import Path

import pytest

from tests.command_help import help_of, visible_commands
from tests.conftest import PROJECT
from tests.generate_docs import PAGES

MARKDOWN = sorted([*PROJECT.glob("*.md"), *(PROJECT / "docs").glob("*.md")])


@pytest.mark.parametrize("name", sorted(PAGES))
def test_made_pages_are_current(name: str) -> None:
    page = PROJECT / "docs" / name
    assert page.exists(), f"run `make docs`: docs/{name} is missing"
    assert page.read_text(encoding="utf-8") == PAGES[name](), f"run `make docs`: docs/{name} is stale"


@pytest.mark.parametrize("path", MARKDOWN, ids=lambda path: path.name)
def test_links_resolve(path: Path) -> None:
    for target in re.findall(r"\]\(([^)#]+)(?:#[^)]*)?\)", path.read_text(encoding="utf-8")):
        assert target.startswith("http") or (path.parent / target).exists(), f"{path.name} links to {target}"


def test_every_command_has_help_and_stands_in_the_readme_or_the_docs() -> None:
    told = "\n".join(path.read_text(encoding="utf-8") for path in MARKDOWN)
    for command in visible_commands():
        assert "Usage:" in help_of(command)
        assert f"reworkkit {command}" in told


def test_help_fits_80_columns() -> None:
    for command in ("", *visible_commands()):
        assert max(map(len, help_of(command).splitlines())) <= 80, command


def test_nothing_of_this_machine_is_in_the_tree() -> None:
    files = subprocess.run(["git", "ls-files", "-z"], cwd=PROJECT, capture_output=True, text=True)
    if files.returncode:
        pytest.skip("not a checkout")
    leak = re.compile(r"/(root|farm|tmp/bash)|/work/(main|steering)|python" + r"hosted|npm" + r"js\.|deb" + r"\.debian")
    for name in filter(None, files.stdout.split("\0")):
        path = PROJECT / name
        if path.suffix in (".py", ".md", ".toml", ".txt", ".csv", ".html", ".js", ".css", ".sh", "") and path.is_file():
            assert not leak.search(path.read_text(encoding="utf-8", errors="replace")), name
