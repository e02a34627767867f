"""`liverun` and `input-check`: from board.toml and options to what is computed."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from reworkkit.errors import ReworkkitError
from reworkkit.model.answer import Answer
from reworkkit.model.board import Board
from reworkkit.model.job import Situation
from reworkkit.model.vocabulary import Basis
from reworkkit.pipeline.opening import Request, open_work
from reworkkit.pipeline.places import find_target
from reworkkit.pipeline.work import Work

if TYPE_CHECKING:
    from reworkkit.model.live import LiveRun
    from reworkkit.model.sweep import InputVerdict

LIVE_SHEET = "live-run.html"


def live_run(request: Request, options: Mapping[str, str | None], more: Sequence[str]) -> "Answer[LiveRun]":
    """Return the live run from [live], options laid over it; with options alone no board folder is needed.

    `options` are keys of [live] as given, None where not; `more` are `KEY=VALUE` texts. Raises ReworkkitError where
    neither says anything.
    """
    from reworkkit.compute.live_run import live_run_of
    from reworkkit.read.live_answers import laid_over, live_answers

    answers = {key: value for key, value in options.items() if value is not None} | live_answers(list(more))
    work = _work(request, bool(answers))
    facts = work.board.facts
    if facts.live is None and not answers:
        raise ReworkkitError("live-no-facts")
    board = replace(work.board, facts=replace(facts, live=laid_over(facts.live, answers)))
    run = live_run_of(board, work.situation)
    assert run is not None  # [live] is there now
    run = as_confirmed(run, request)
    given = {key: f"--{key.replace('_', '-')}" for key in answers}
    return Answer(board, work.situation, replace(run, lines={**run.lines, **given}))


def as_confirmed(run: "LiveRun", request: Request) -> "LiveRun":
    """Return the run, unconfirmed where the job confirmed other figures than these: another voltage, another load."""
    if run.state != "confirmed" or run.hold_point is None:
        return run
    from reworkkit.pipeline.recall import cautions_of
    from reworkkit.record.codec import dumps, message_data

    alerts = dict.fromkeys(alert for step in run.steps for alert in step.alerts)
    now = [[level.value, message_data(text)] for level, text in alerts]
    stored = cautions_of(find_target(request.target, Path.cwd()), run.hold_point)
    return run if dumps(stored[: len(now)]) == dumps(now) else replace(run, state="unconfirmed")


def _work(request: Request, alone_is_enough: bool) -> Work:
    """Return the work of the board asked about, or an empty one where options alone are given and no board is here."""
    if request.target is None and alone_is_enough:
        try:
            find_target(None, Path.cwd())
        except ReworkkitError:
            return Work(Board("", None, (), (), {}), Situation(1, Basis.FILES, None, {}, looked=False))
    return open_work(request)


def live_sheet_path(request: Request, named: Path | None) -> Path:
    """Return where the printed sheet goes: the file named, else into the board folder, else into this folder."""
    if named is not None:
        return named / LIVE_SHEET if named.is_dir() else named
    try:
        target = find_target(request.target, Path.cwd())
    except ReworkkitError:
        return Path.cwd() / LIVE_SHEET
    return target / LIVE_SHEET if target.is_dir() else target.with_name(f"{target.stem} {LIVE_SHEET}")


def input_check(
    file: Path, columns: Mapping[str, str], facts: Mapping[str, str | None], against: Path | None, encoding: str | None
) -> "InputVerdict":
    """Return what a logged sweep says; `facts` are supply, ratio, zero, beta and r25 as typed, None where not."""
    from reworkkit.compute.input_check import check_input
    from reworkkit.read.sweep import read_sweep, sweep_facts

    if not file.is_file():
        raise ReworkkitError("no-such-file", file=str(file))
    table = read_sweep(against, {}, encoding) if against else None
    return check_input(read_sweep(file, columns, encoding), replace(sweep_facts(facts), table=table))
