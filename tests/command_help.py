"""The help texts as a person sees them at 80 columns."""

import os
import subprocess
import sys


def help_of(command: str) -> str:
    """Return the help of a command ("" for the whole program) at 80 columns without colour."""
    environment = {**os.environ, "COLUMNS": "80", "NO_COLOR": "1", "TERM": "dumb"}
    program = "from reworkkit.cli import run; run()"
    arguments = [sys.executable, "-c", program, *command.split(), "--help"]
    return subprocess.run(arguments, env=environment, capture_output=True, text=True, check=True).stdout


def visible_commands() -> list[str]:
    """Return the names of all commands in the order of the work."""
    from reworkkit.cli.commands import application

    return [
        info.name or (info.callback.__name__.replace("_", "-") if info.callback else "")
        for info in application().registered_commands
    ]
