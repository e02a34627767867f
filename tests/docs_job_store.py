"""docs/job-store.md, made from the commented schema."""

import re
from importlib.resources import files
from pathlib import Path

MADE = "<!-- Made by `make docs`; edit what it is made from, not this page. -->\n"
INTRODUCTION = """\
All that is known of a job lies in one file, `job.sqlite`, in the board folder: an SQLite database. Copy it while no
command runs, and you have copied the job; there are no files beside it. It can be read with any SQLite program.
Do not write into it with one: the tables marked *derived* follow from the table `event`, and only the tool keeps
them in step.

Rules that never change: rows of `event` are added, never changed or removed (the file itself refuses it); the `id`
of an event is unique for ever, so that taking in the same export twice does nothing; a tick is about a kind of step
and a subject, never about a number in a plan. Each command is one transaction, and what it has acknowledged is on
the disk (rollback journal, `synchronous = EXTRA`). The version of the schema is `PRAGMA user_version`; a file of an
older version is brought up to date by the first command that writes, a newer one is refused and left alone.
"""


def job_store_page() -> str:
    """Return docs/job-store.md from the schema files."""
    lines = [MADE, "# The job file", "", INTRODUCTION]
    schema = sorted((p for p in (files("reworkkit.record") / "schema").iterdir()), key=lambda p: p.name)
    for path in schema:
        text = path.read_text(encoding="utf-8")
        lines += [f"## {_first_comment(text)}", ""]
        for comment, name, body in re.findall(r"-- ([^\n]+)\nCREATE TABLE (\w+) \(\n(.*?)\n\)[^;]*;", text, re.DOTALL):
            lines += [f"### {name}", "", comment, "", "| column | type | what |", "|---|---|---|"]
            lines += [_row(line) for line in body.splitlines() if " -- " in line]
            lines += [""]
    return "\n".join(lines).rstrip() + "\n"


def _first_comment(text: str) -> str:
    return text.partition("\n")[0].removeprefix("-- ").rstrip(".")


def _row(line: str) -> str:
    definition, _, comment = line.strip().partition(" -- ")
    name, kind, *_ = definition.split()
    return f"| {name} | {kind.rstrip(',')} | {comment.strip().replace('|', ' or ')} |"


if __name__ == "__main__":
    page = Path(__file__).resolve().parent.parent / "docs" / "job-store.md"
    page.write_text(job_store_page(), encoding="utf-8")
