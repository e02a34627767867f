"""What every command shares: exit codes, errors in one place, results on stdout, talk on stderr."""

import os
import sys
from collections.abc import Callable
from enum import IntEnum
from typing import Any

import typer

from reworkkit import __version__
from reworkkit.errors import ReworkkitError

ABOUT = "Finish a part-populated circuit board: what is missing, in which order, which way round, how far you are."


LONGEST_LAID_OUT = 5000
"""Elements of a JSON list up to which each stands on a line of its own."""


class Exit(IntEnum):
    """0 done; 1 only with --check: something is open; 2 nothing was done."""

    DONE = 0
    OPEN = 1
    NOTHING_DONE = 2


def new_app() -> typer.Typer:
    """Return an empty Typer application with the project's settings."""
    return typer.Typer(
        name="reworkkit",
        help=ABOUT,
        no_args_is_help=True,
        rich_markup_mode=None,
        pretty_exceptions_enable=False,
        context_settings={"help_option_names": ["-h", "--help"]},
    )


def print_version(wanted: bool) -> None:
    """Print the version and leave; the callback of --version."""
    if wanted:
        print(__version__)
        raise typer.Exit


def print_json(document: dict[str, Any]) -> None:
    """Print one JSON document on standard output: a line a key, and in lists (but very long ones) a line an element.

    Readable, easy to compare line by line, and several times as fast as the standard library's indentation.
    """
    import json

    compact = json.JSONEncoder(ensure_ascii=False).encode

    def laid_out(value: object) -> str:
        if isinstance(value, list) and 0 < len(value) <= LONGEST_LAID_OUT:
            return "[\n    " + ",\n    ".join(map(compact, value)) + "\n  ]"
        return compact(value)

    lines = (f"  {compact(key)}: {laid_out(value)}" for key, value in document.items())
    sys.stdout.write("{\n" + ",\n".join(lines) + "\n}\n")


def leave_if_open(check: bool, still_open: bool) -> None:
    """Exit with 1 where --check was given and something is open."""
    if check and still_open:
        raise typer.Exit(Exit.OPEN)


def guarded(call: Callable[[], Any], language: str = "en") -> int:
    """Run the command line; turn every foreseen error into a message with cause and cure, and an exit code."""
    from reworkkit.show.errors import error_text, system_error

    try:
        result = call()
    except SystemExit as leaving:
        return int(leaving.code or 0)
    except ReworkkitError as error:
        print(error_text(error, language), file=sys.stderr)
        return Exit.NOTHING_DONE
    except BrokenPipeError:
        # The reader of our output has gone (`| head`): not an error of ours, and nothing more can be said.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return Exit.DONE
    except OSError as error:
        print(error_text(system_error(error), language), file=sys.stderr)
        return Exit.NOTHING_DONE
    except KeyboardInterrupt:
        return 130
    return int(result) if isinstance(result, int) else Exit.DONE
