"""All commands on one application, in the order of the work."""

from importlib import import_module
from typing import Annotated

import typer

from reworkkit.cli.frame import new_app, print_version

MODULES = (
    "ask_commands",
    "heat_commands",
    "power_commands",
    "report_commands",
    "desolder_commands",
    "buy_commands",
    "check_commands",
    "diagnose_commands",
    "live_commands",
    "survey_command",
    "record_commands",
    "recall_commands",
)
"""In the order in which the commands stand in the help."""
QUICK = {
    "next": "recall_commands",
    "status": "recall_commands",
    "history": "recall_commands",
    "tick": "record_commands",
    "reading": "record_commands",
    "set": "record_commands",
}
"""Commands typed with flux on the fingers: only their own module is loaded, which saves a tenth of their start."""


def top(
    version: Annotated[
        bool, typer.Option("--version", callback=print_version, is_eager=True, help="Print the version.")
    ] = False,
) -> None:
    """Finish a part-populated circuit board: what is missing, in which order, which way round, how far you are."""


def application(command: str = "") -> typer.Typer:
    """Return the application with every command, or with no more than a quick one needs."""
    app = new_app()
    app.callback()(top)
    for module in (QUICK[command],) if command in QUICK else MODULES:
        import_module(f"reworkkit.cli.{module}").register(app)
    return app
