"""`liverun` and `input-check`: the first run at high energy, and an input swept by hand."""

from pathlib import Path
from typing import Annotated

import typer

from reworkkit.cli.frame import leave_if_open, print_json
from reworkkit.cli.options import (
    BoardArgument,
    BoardOption,
    CheckOption,
    CopyOption,
    EncodingOption,
    JsonOption,
    LangOption,
)


def _figure(name: str, example: str, what: str) -> typer.models.OptionInfo:
    return typer.Option(name, metavar=example, help=what, show_default=False)  # type: ignore[no-any-return]


Volts = Annotated[str | None, _figure("--volts", "120V", "Voltage of the bus.")]
Capacitance = Annotated[str | None, _figure("--capacitance", "2mF", "All that hangs on the bus.")]
Load = Annotated[str | None, _figure("--load", "KIND", "resistive, transformer, converter or motor.")]
LoadWatts = Annotated[str | None, _figure("--watts", "60W", "Power of the load.")]
Precharge = Annotated[str | None, _figure("--precharge", "470ohm", "The pre-charge resistor.")]
Bleeder = Annotated[str | None, _figure("--bleeder", "22kohm", "The bleeder on the board.")]
Lamp = Annotated[str | None, _figure("--lamp", "100W", "The series lamp's power.")]
LampVolts = Annotated[str | None, _figure("--lamp-volts", "230V", "The series lamp's voltage.")]
SourceAmps = Annotated[str | None, _figure("--source-amps", "10A", "What the source delivers into a short.")]
CurrentLimit = Annotated[str | None, _figure("--current-limit", "0.3A", "Limit of a supply used instead of a lamp.")]
More = Annotated[
    list[str] | None, typer.Option("--fact", metavar="KEY=VALUE", help="Any other key of [live]: loop=0.1ohm.")
]
Sheet = Annotated[bool, typer.Option("--sheet", help="Write the sheet to print, one A4, into the board folder.")]
Output = Annotated[
    Path | None, typer.Option("--output", "-o", metavar="FILE", help="Where to write it.", show_default=False)
]

LogFile = Annotated[
    Path, typer.Argument(metavar="FILE", help="The log: one sample a line, a heading over each column.")
]
Columns = Annotated[
    list[str] | None,
    typer.Option("--column", metavar="WORD=HEADING", help="position, a, b, temperature, current: a=Kanal1."),
]
Supply = Annotated[str | None, _figure("--supply", "5V", "Supply of the input: are an open lead and a short seen?")]
Ratio = Annotated[str | None, _figure("--ratio", "0.5", "Second channel over the first, as it should be.")]
Zero = Annotated[str | None, _figure("--zero", "2.5V", "What a current sensor should show with no load.")]
Beta = Annotated[str | None, _figure("--beta", "3950", "A thermistor's constant, in kelvin.")]
R25 = Annotated[str | None, _figure("--r25", "10k", "A thermistor's value at 25 °C.")]
Against = Annotated[
    Path | None,
    typer.Option("--against", metavar="FILE", help="Its table: temperature and value.", show_default=False),
]
Plot = Annotated[
    Path | None, typer.Option("--plot", metavar="FILE.svg", help="Write the charts as SVG.", show_default=False)
]


def register(app: typer.Typer) -> None:
    """Add the commands to the application."""
    app.command()(liverun)
    app.command("input-check")(input_check)


def liverun(
    board: BoardArgument = None,
    named: BoardOption = None,
    volts: Volts = None,
    capacitance: Capacitance = None,
    load: Load = None,
    watts: LoadWatts = None,
    precharge: Precharge = None,
    bleeder: Bleeder = None,
    lamp: Lamp = None,
    lamp_volts: LampVolts = None,
    source_amps: SourceAmps = None,
    current_limit: CurrentLimit = None,
    fact: More = None,
    sheet: Sheet = False,
    output: Output = None,
    copy: CopyOption = 1,
    as_json: JsonOption = False,
    check: CheckOption = False,
    lang: LangOption = "en",
) -> None:
    """The first run at high energy, computed: warnings, figures, blanks; from [live] or from options alone."""
    from reworkkit.cli.ask_commands import request
    from reworkkit.pipeline import live
    from reworkkit.show import live_text

    options = {
        "volts": volts,
        "capacitance": capacitance,
        "load": load,
        "watts": watts,
        "precharge": precharge,
        "bleeder": bleeder,
        "lamp": lamp,
        "lamp_volts": lamp_volts,
        "source_amps": source_amps,
        "current_limit": current_limit,
    }
    asked = request(board, named, copy)
    answer = live.live_run(asked, options, fact or ())
    if sheet or output:
        from reworkkit.pipeline.files import atomic_write
        from reworkkit.show import live_sheet, page

        path = live.live_sheet_path(asked, output)
        atomic_write(path, page.render_live_sheet(answer.result, answer.board, lang))
        live_sheet.print_written(path, lang)
    elif as_json:
        print_json(live_text.live_json(answer, lang))
    else:
        live_text.print_live(answer, lang)
    leave_if_open(check, live_text.live_is_open(answer))


def input_check(
    file: LogFile,
    column: Columns = None,
    supply: Supply = None,
    ratio: Ratio = None,
    zero: Zero = None,
    beta: Beta = None,
    r25: R25 = None,
    against: Against = None,
    plot: Plot = None,
    encoding: EncodingOption = None,
    as_json: JsonOption = False,
    check: CheckOption = False,
    lang: LangOption = "en",
) -> None:
    """Judge an input that was swept by hand: range, noise, line, hysteresis, and whether two channels agree."""
    from reworkkit.cli.columns import columns_of
    from reworkkit.pipeline import live
    from reworkkit.show import input_text

    facts = {"supply": supply, "ratio": ratio, "zero": zero, "beta": beta, "r25": r25}
    verdict = live.input_check(file, columns_of(column), facts, against, encoding)
    if plot:
        from reworkkit.pipeline.files import atomic_write

        atomic_write(plot, input_text.plot_svg(verdict, lang))
    if as_json:
        print_json(input_text.input_json(verdict, lang))
    else:
        input_text.print_input(verdict, file.name, lang)
    if plot and not as_json:
        input_text.print_plot_written(plot, lang)
    leave_if_open(check, input_text.input_is_open(verdict))
