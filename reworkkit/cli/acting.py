"""Who acts, when and on which device; which folder is meant. Only here are the clock and fresh ids touched."""

import os
import time
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from reworkkit.cli.frame import print_json

if TYPE_CHECKING:
    from reworkkit.model.job_view import Actor, Done

CopyChoice = Annotated[
    int | None,
    typer.Option(
        "--copy", min=1, help="Which of several physical boards; needed where there are several.", show_default=False
    ),
]
POINTS = {"ignore_unknown_options": True, "help_option_names": ["--help"]}
"""Settings of commands that take points: `-12V` is a net, so there are no short options."""


def actor(by: str | None) -> "Actor":
    """Return who acts: the name given or the login name, on this machine, now in UTC; ids are random."""
    from reworkkit.model.job_view import Actor

    who = by or next((name for key in _LOGIN if (name := os.environ.get(key))), None) or _login_name()
    device = os.uname().nodename if hasattr(os, "uname") else os.environ.get("COMPUTERNAME", "unknown")
    return Actor(who, device, time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime()), _new_id)


_LOGIN = ("LOGNAME", "USER", "USERNAME")


def _login_name() -> str:
    try:
        import pwd

        return pwd.getpwuid(os.getuid()).pw_name
    except (ImportError, KeyError):
        return "unknown"


def _new_id() -> str:
    return os.urandom(12).hex()


def job_folder(board: Path | None) -> Path:
    """Return the board folder: named, or this or the nearest above; for a lone list the folder begun for it."""
    from reworkkit.pipeline.places import find_target

    target = find_target(board, Path.cwd())
    return target if target.is_dir() else target.with_suffix("")


def say_done(command: str, done: "Done", as_json: bool, lang: str) -> None:
    """Print what a command recorded."""
    if as_json:
        from reworkkit.show.recall_data import done_data

        print_json(done_data(command, done, lang))
    else:
        from reworkkit.show.recall import done_text

        print(done_text(done, lang))
