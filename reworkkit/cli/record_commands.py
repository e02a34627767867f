"""The commands that record: each writes one thing into the job, whole or not at all."""

import sys
from collections.abc import Callable
from pathlib import Path
from typing import Annotated

import typer

from reworkkit.cli.acting import POINTS, CopyChoice, actor, job_folder, say_done
from reworkkit.cli.frame import leave_if_open, print_json
from reworkkit.cli.options import (
    AnywayOption,
    BoardArgument,
    BoardOption,
    ByOption,
    CheckOption,
    ColumnOption,
    EncodingOption,
    JsonOption,
    LangOption,
    ReasonOption,
    RefsArgument,
)

StepOption = Annotated[str | None, typer.Option("--step", metavar="KIND", help="Name the step: solder, inspect, ...")]
AllStepsOption = Annotated[bool, typer.Option("--all-steps", help="All steps, not only one.")]
NextOption = Annotated[bool, typer.Option("--next", help="The next step of the plan.")]
SwappedOption = Annotated[bool, typer.Option("--swapped", help="The meter leads were swapped.")]
CopiesOption = Annotated[int, typer.Option("--copies", min=1, help="How many physical boards.")]


def register(app: typer.Typer) -> None:
    """Add the recording commands to the application, in the order of the work."""
    plain: tuple[Callable[..., None], ...] = (begin, refresh, tick, untick, undo)
    for command in plain:
        app.command()(command)
    with_points: tuple[Callable[..., None], ...] = (set_, prove, reading, note)
    for command in with_points:
        app.command(command.__name__.rstrip("_"), context_settings=POINTS)(command)
    rest: tuple[Callable[..., None], ...] = (substitute, confirm, pause, merge)
    for command in rest:
        app.command()(command)


def begin(
    board: BoardArgument = None,
    named: BoardOption = None,
    copies: CopiesOption = 1,
    column: ColumnOption = None,
    encoding: EncodingOption = None,
    by: ByOption = None,
    lang: LangOption = "en",
) -> None:
    """Begin the job: from here on everything done is kept."""
    from reworkkit.cli.ask_commands import request
    from reworkkit.pipeline.beginning import begin_board
    from reworkkit.pipeline.opening import open_work
    from reworkkit.show.following import after_begin, board_words
    from reworkkit.show.recall import begun_text

    folder, info = begin_board(request(board, named, 1, column, encoding), copies, actor(by))
    now = open_work(request(folder, None, 1, column, encoding))
    following = after_begin(now.board, now.situation) + board_words(folder if board or named else None)
    print(begun_text(info, lang, following))


def refresh(
    board: BoardArgument = None,
    named: BoardOption = None,
    accept: Annotated[bool, typer.Option("--accept", help="Take the changes over; ticks stay.")] = False,
    column: ColumnOption = None,
    encoding: EncodingOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
    check: CheckOption = False,
    lang: LangOption = "en",
) -> None:
    """Read the files anew and plan anew: show what differs from the job; --accept takes it over."""
    from reworkkit.cli.ask_commands import request
    from reworkkit.pipeline.beginning import refresh_board
    from reworkkit.show import recall, recall_data

    found = refresh_board(request(board, named, 1, column, encoding), actor(by), accept=accept)
    print_json(recall_data.refreshed_data(found, lang)) if as_json else print(recall.refreshed_text(found, lang))
    leave_if_open(check, found.changed and not found.accepted)


def tick(
    refs: RefsArgument = None,
    next_: NextOption = False,
    step: StepOption = None,
    all_steps: AllStepsOption = False,
    board: BoardOption = None,
    copy: CopyChoice = None,
    anyway: AnywayOption = False,
    reason: ReasonOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
    lang: LangOption = "en",
) -> None:
    """Tick off what was done: the first open step of each place, or the next step of the plan."""
    from reworkkit.pipeline import job

    folder, me, why = job_folder(board), actor(by), reason or ""
    if next_ and not refs:
        done = job.tick_next(folder, me, copy=copy, all_steps=all_steps, anyway=anyway, reason=why)
    else:
        done = job.tick(folder, refs or (), me, copy=copy, step=step, all_steps=all_steps, anyway=anyway, reason=why)
    say_done("tick", done, as_json, lang)


def untick(
    refs: RefsArgument = None,
    step: StepOption = None,
    all_steps: AllStepsOption = False,
    board: BoardOption = None,
    copy: CopyChoice = None,
    by: ByOption = None,
    as_json: JsonOption = False,
    lang: LangOption = "en",
) -> None:
    """Take back a tick: the last of each place. The history keeps both."""
    from reworkkit.pipeline import job

    folder, me = job_folder(board), actor(by)
    done = job.untick(folder, refs or (), me, copy=copy, step=step, all_steps=all_steps)
    say_done("untick", done, as_json, lang)


def undo(board: BoardOption = None, copy: CopyChoice = None, by: ByOption = None, lang: LangOption = "en") -> None:
    """Take back the last thing that was entered; again, the one before."""
    from reworkkit.pipeline import job
    from reworkkit.show.recall import undone_text

    print(undone_text(job.undo(job_folder(board), actor(by), copy=copy), lang))


def set_(
    state: Annotated[str, typer.Argument(metavar="STATE", help='tacked, "leg lifted", removed, "land lost", ...')],
    refs: Annotated[list[str], typer.Argument(metavar="REF...", help="Designators; ranges such as R1-R4 are fine.")],
    board: BoardOption = None,
    copy: CopyChoice = None,
    anyway: AnywayOption = False,
    reason: ReasonOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
    lang: LangOption = "en",
) -> None:
    """Say how places stand, or what is lost on the board: the state first, then the places."""
    from reworkkit.pipeline import job

    folder, me = job_folder(board), actor(by)
    done = job.set_state(folder, state, refs, me, copy=copy, anyway=anyway, reason=reason or "")
    say_done("set", done, as_json, lang)


def prove(
    ref: Annotated[str, typer.Argument(metavar="REF", help="The part whose way round is proven.")],
    value: Annotated[str | None, typer.Argument(metavar="[VALUE]", help="The reading: 0.55V, OL, ...")] = None,
    swapped: SwappedOption = False,
    evidence: Annotated[str | None, typer.Option("--evidence", help="reading, look or maker.")] = None,
    board: BoardOption = None,
    copy: CopyChoice = None,
    anyway: AnywayOption = False,
    reason: ReasonOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
    lang: LangOption = "en",
) -> None:
    """Record what proves which way round a part sits."""
    from reworkkit.pipeline import job_readings

    folder, me, why = job_folder(board), actor(by), reason or ""
    options = {"swapped": swapped, "anyway": anyway}
    done = job_readings.prove(folder, ref, value, me, evidence=evidence, copy=copy, reason=why, **options)
    say_done("prove", done, as_json, lang)


def reading(
    point: Annotated[str, typer.Argument(metavar="POINT", help='V33, TP3, U2.3, "V33 to V5", R4, supply.')],
    value: Annotated[str, typer.Argument(metavar="VALUE", help='11.98V, 4k7, OL, "rising to 2M", jumps.')],
    swapped: SwappedOption = False,
    mode: Annotated[str | None, typer.Option("--mode", help="volts, ohms, diode, amps, continuity, celsius.")] = None,
    at: Annotated[
        str | None, typer.Option("--at", metavar="HOLD_POINT", help="Under power there; off = no power.")
    ] = None,
    board: BoardOption = None,
    copy: CopyChoice = None,
    anyway: AnywayOption = False,
    reason: ReasonOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
    lang: LangOption = "en",
) -> None:
    """Record what the meter showed; it is judged where something is expected."""
    from reworkkit.pipeline import job_readings

    folder, me, why = job_folder(board), actor(by), reason or ""
    probe = job_readings.Probe(mode, swapped, at)
    done = job_readings.reading(folder, point, value, me, probe=probe, copy=copy, anyway=anyway, reason=why)
    say_done("reading", done, as_json, lang)


def note(
    text: Annotated[str, typer.Argument(metavar="TEXT", help='The remark; "" with --photo.')],
    refs: RefsArgument = None,
    photo: Annotated[list[Path] | None, typer.Option("--photo", metavar="FILE", help="A photograph.")] = None,
    board: BoardOption = None,
    copy: CopyChoice = None,
    by: ByOption = None,
    as_json: JsonOption = False,
    lang: LangOption = "en",
) -> None:
    """Record a remark, with photographs if you like: they stay where they are, the job keeps name and hash."""
    from reworkkit.pipeline import job

    done = job.note(job_folder(board), text, refs or (), actor(by), copy=copy, photos=photo or ())
    say_done("note", done, as_json, lang)


def substitute(
    refs: Annotated[list[str], typer.Argument(metavar="REF...", help="Where the other part goes.")],
    part: Annotated[str, typer.Option("--with", metavar="PART", help="The part that is used.")],
    reason: Annotated[str, typer.Option("--reason", metavar="TEXT", help="Why; kept in the record.")],
    rejected: Annotated[bool, typer.Option("--rejected", help="It was looked at and is not used.")] = False,
    board: BoardOption = None,
    copy: CopyChoice = None,
    by: ByOption = None,
    as_json: JsonOption = False,
    lang: LangOption = "en",
) -> None:
    """Record that another part than the listed one is used, or was rejected."""
    from reworkkit.pipeline import buying

    done = buying.substitute(job_folder(board), refs, part, reason, actor(by), copy=copy, accepted=not rejected)
    say_done("substitute", done, as_json, lang)


def confirm(
    hold_point: Annotated[str, typer.Argument(metavar="HOLD_POINT", help="Its name in board.toml.")],
    reason: Annotated[str, typer.Option("--reason", metavar="TEXT", help="Why; kept in the record.")],
    board: BoardOption = None,
    copy: CopyChoice = None,
    by: ByOption = None,
    as_json: JsonOption = False,
    lang: LangOption = "en",
) -> None:
    """Record that the cautions of a hold point were read and are kept."""
    from reworkkit.pipeline import job

    say_done("confirm", job.confirm(job_folder(board), hold_point, reason, actor(by), copy=copy), as_json, lang)


def pause(
    text: Annotated[str, typer.Argument(metavar="[TEXT]", help="One line for the next time.")] = "",
    discharged: Annotated[bool, typer.Option("--discharged", help="The capacitors are discharged.")] = False,
    iron_off: Annotated[bool, typer.Option("--iron-off", help="The iron is off.")] = False,
    board: BoardOption = None,
    copy: CopyChoice = None,
    by: ByOption = None,
    as_json: JsonOption = False,
    lang: LangOption = "en",
) -> None:
    """Put the work down: what is tacked or lifted is noted, and shown when you come back."""
    from reworkkit.pipeline import job

    options = {"discharged": discharged or None, "iron_off": iron_off or None}
    say_done("pause", job.pause(job_folder(board), text, actor(by), copy=copy, **options), as_json, lang)


def merge(
    source: Annotated[str, typer.Argument(metavar="FILE", help="An export of the page; - reads copied text.")],
    board: BoardOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
    check: CheckOption = False,
    lang: LangOption = "en",
) -> None:
    """Take in what the page or another machine recorded; again changes nothing."""
    from reworkkit.pipeline import job
    from reworkkit.show import recall, recall_data

    text = sys.stdin.read() if source == "-" else source
    taken = job.merge(job_folder(board), job.state_text(text), actor(by))
    print_json(recall_data.merged_data(taken, lang)) if as_json else print(recall.merged_text(taken, lang))
    leave_if_open(check, bool(taken.disagreements))
