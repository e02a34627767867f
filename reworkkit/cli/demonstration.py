"""The demonstration: the commands a person would type, one after another, on an invented board."""

from pathlib import Path

STEPS = (("audit",), ("diff",), ("polarity",), ("plan",), ("report",))


def run_demo(into: Path, language: str) -> None:
    """Copy the example board where it is not there yet, and run the whole job on it."""
    from reworkkit.cli.commands import application
    from reworkkit.pipeline.files import EXAMPLE, copy_example
    from reworkkit.show.terminal import Report

    report, app = Report(language), application()
    if copy_example(into):
        report.say("demo-copied", name=EXAMPLE, folder=str(into))
    else:
        report.say("demo-kept", folder=str(into))
    for step in STEPS:
        report.screen.line()
        report.say("demo-step", style="heading", command=f"reworkkit {' '.join(step)} {into}")
        app(args=[*step, str(into), "--lang", language], standalone_mode=False)
    report.screen.line()
    report.say("demo-own-list", style="heading")
