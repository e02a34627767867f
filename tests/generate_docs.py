"""Pages that are made, not written: messages, commands, validation. `make docs` runs this; tests compare."""

from collections.abc import Iterable
from pathlib import Path
from typing import Any

from reworkkit.show.texts import catalogue

DOCS = Path(__file__).resolve().parent.parent / "docs"
MADE = "<!-- Made by `make docs`; edit what it is made from, not this page. -->\n"


def messages_page() -> str:
    """Return docs/messages.md from the text catalogue."""
    lines = [MADE, "# Messages", "", "Every message, what it means, and what to do. `{...}` stands for a fact.", ""]
    for area, entries in catalogue().items():
        told = {slug: entry for slug, entry in sorted(entries.items()) if "cause" in entry or "cure" in entry}
        if told:
            lines += [f"## {area}", ""]
        for slug, entry in told.items():
            lines += [f"### {slug}", "", entry["sentence"], ""]
            lines += [f"- Cause: {entry['cause']}"] if "cause" in entry else []
            lines += [f"- Cure: {entry['cure']}"] if "cure" in entry else []
            lines += [""]
    return "\n".join(lines).rstrip() + "\n"


def commands_page() -> str:
    """Return docs/commands.md from the help of every command."""
    from tests.command_help import help_of, visible_commands

    lines = [MADE, "# Commands", "", "What each command's `--help` says.", ""]
    for name in ("", *visible_commands()):
        title = f"reworkkit {name}".strip()
        lines += [f"## {title}", "", "```text", help_of(name).rstrip(), "```", ""]
    return "\n".join(lines).rstrip() + "\n"


def validation_page(values: Iterable[Any]) -> str:
    """Return docs/validation.md: every comparison with a value that this project did not make."""
    rows = sorted({tuple(value) for value in values})
    lines = [
        MADE,
        "# Outside values",
        "",
        f"{len(rows)} comparisons with values that this project did not make, each run by `make test`.",
        "",
    ]
    for topic in sorted({row[0] for row in rows}):
        lines += [
            f"## {topic}",
            "",
            "| what | outside value | here | allowed difference | source |",
            "|---|---|---|---|---|",
        ]
        lines += [validation_row(row) for row in rows if row[0] == topic]
        lines += [""]
    return "\n".join(lines).rstrip() + "\n"


def validation_row(value: Any) -> str:
    """Return one comparison as a row of the page."""
    return "| " + " | ".join(_cell(cell) for cell in tuple(value)[1:]) + " |"


def _cell(text: str) -> str:
    return text.replace("|", "\\|").replace("\n", " ")


def _job_store_page() -> str:
    from tests.docs_job_store import job_store_page

    return job_store_page()


PAGES = {"messages.md": messages_page, "commands.md": commands_page, "job-store.md": _job_store_page}


def main() -> None:
    """Write every made page; docs/validation.md is written by a whole test run with --validation write."""
    for name, make in PAGES.items():
        (DOCS / name).write_text(make(), encoding="utf-8")


if __name__ == "__main__":
    main()
