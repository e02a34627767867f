"""Beginning a job and refreshing it: the only job functions that read the files and plan."""

from pathlib import Path
from typing import TYPE_CHECKING

from reworkkit.model.job_input import BeginInput, CopyPlan, FoundCopy, JobPlace, board_id_of
from reworkkit.model.job_view import Actor, JobInfo, Refreshed
from reworkkit.model.judging import point_key
from reworkkit.pipeline import job
from reworkkit.pipeline.effective import with_substitutes
from reworkkit.pipeline.measured import readings_file
from reworkkit.pipeline.places import begun_folder, find_target
from reworkkit.pipeline.recall import planning_situation
from reworkkit.pipeline.work import Work
from reworkkit.record.new_folder import folder_for

if TYPE_CHECKING:
    from reworkkit.model.board import Board, InputFile
    from reworkkit.model.job import Situation
    from reworkkit.pipeline.opening import Request


def begin_board(request: "Request", copies: int, actor: Actor) -> tuple[Path, JobInfo]:
    """Begin the job of a board folder or a lone list; return the folder and the head of the job."""
    target = begun_folder(find_target(request.target, Path.cwd()))
    board = _read(target, request)
    found = {copy: _found(board, copy) for copy in range(1, copies + 1)}
    begun = with_readings(begin_input(board, found, found), board, target)
    folder = target if target.is_dir() else folder_for(target)
    return folder, job.begin(folder, begun, actor)


def refresh_board(request: "Request", actor: Actor, *, accept: bool = False) -> Refreshed:
    """Read the files anew, plan anew from how the boards were found, and compare with the job."""
    folder = find_target(request.target, Path.cwd())
    copies = job.open_job(folder).copies
    board = _read(folder, request)
    found = {copy: _found(board, copy) for copy in range(1, copies + 1)}
    planned = {copy: planning_situation(folder, situation) for copy, situation in found.items()}
    begun = with_readings(begin_input(board, found, planned), board, folder)
    return job.refresh(folder, begun, actor, accept=accept)


def with_readings(begun: BeginInput, board: "Board", target: Path) -> BeginInput:
    """Return the input with the rows of readings.csv, where the folder has one."""
    file = readings_file(board, target)
    if file is None:
        return begun
    rows = tuple((copy, reading) for copy, reading in file.readings if copy <= begun.copies)
    inputs = {one.name: one for one in (*begun.inputs, file.input_file)}
    return begun._replace(readings=rows, inputs=tuple(inputs.values()))


def _read(target: Path, request: "Request") -> "Board":
    from reworkkit.read.folder import Answers, read_board

    return read_board(target, Answers(request.columns, request.encoding))


def _found(board: "Board", copy: int) -> "Situation":
    from reworkkit.compute.situation import situation_of_files

    return situation_of_files(board, copy)


def begin_input(board: "Board", found: "dict[int, Situation]", planned: "dict[int, Situation]") -> BeginInput:
    """Return what the job stores of a board: design, states found, a plan per copy, hold points, inputs.

    Copies that stand alike share one plan: it is computed once for each different set of states.
    """
    plans: dict[int, CopyPlan] = {}
    computed: list[tuple[Situation, Work]] = []
    for copy, situation in planned.items():
        work = next((w for s, w in computed if _stand_alike(s, situation)), None)
        if work is None:
            work = Work(with_substitutes(board, situation), situation)
            computed.append((situation, work))
        plans[copy] = CopyPlan(copy, work.plan.id, work.plan.operations)
    first = computed[0][1]
    facts = board.facts.board
    parts_file = next((file.name for file in board.files if file.role == "parts"), "")
    return BeginInput(
        board_id=board_id_of(board.name, board.parts),
        board_name=board.name,
        revision=board.revision or "",
        parts_file=parts_file,
        copies=len(found),
        places=places_of_board(board),
        plans=tuple(plans.values()),
        found=tuple(FoundCopy(copy, tuple(situation.states.values())) for copy, situation in found.items()),
        outlines=first.confirmed_outlines,
        hold_points=first.hold_points,
        checks=(*(c for verdict in first.verdicts for c in verdict.checks), *first.bare_proof.sheet.checks),
        inputs=_inputs(board),
        points=_points(board),
        aliases=_aliases(board),
        alloy_found=facts.alloy_found or "",
        alloy_used=facts.alloy_used or "",
    )


def _stand_alike(one: "Situation", other: "Situation") -> bool:
    return one.states == other.states and one.substitutions == other.substitutions


def places_of_board(board: "Board") -> tuple[JobPlace, ...]:
    """Return the places of a board as the job remembers them."""
    lines = {ref: line for line in board.lines for ref in line.refs}
    return tuple(
        JobPlace(
            ref,
            part.identity.kind,
            part.identity.polarised.value,
            lines[ref].value_text if ref in lines else part.identity.value.text,
            part.identity.package_text,
            part.identity.part_number,
            part.fit.value,
        )
        for ref, part in board.parts.items()
    )


def _inputs(board: "Board") -> "tuple[InputFile, ...]":
    return tuple({file.name: file for file in board.files}.values())


def _aliases(board: "Board") -> tuple[tuple[str, str], ...]:
    """Return the names of test points with what they stand for; a ground net stands for nothing."""
    named = [(point_key(name), point_key(point)) for name, point in board.facts.points.items()]
    grounds = (*board.facts.board.ground, *(("GND",) if "GND" in board.nets else ()))
    return (*named, *((point_key(net), "") for net in dict.fromkeys(grounds)))


def _points(board: "Board") -> tuple[str, ...]:
    """Return the names a reading may use; none where there is no netlist to know the nets by."""
    if not board.nets:
        return ()
    facts = board.facts
    names = (
        *board.nets,
        *facts.points,
        *facts.points.values(),
        *facts.rails,
        *facts.supplies,
        *(net.written for net in board.nets.values()),
        *(f"{pin.ref}.{name}" for pin in board.pins.values() for name in (pin.number, pin.name) if name),
    )
    return tuple(dict.fromkeys(point_key(name) for name in names))
