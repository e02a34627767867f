"""`shortage`, `compare` and goods in: what to buy, whether another part fits, what it must read."""

from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from reworkkit import tables
from reworkkit.errors import ReworkkitError
from reworkkit.model.answer import Answer
from reworkkit.model.comparison import SubstituteVerdict
from reworkkit.model.designator import canonical
from reworkkit.model.job_view import Actor, Done
from reworkkit.model.messages import Finding, Message, message
from reworkkit.model.part import PartIdentity, PartLine, StockLine
from reworkkit.model.steps import expand_refs
from reworkkit.model.vocabulary import Fit, Severity
from reworkkit.pipeline.effective import with_named_packages, with_substitutes
from reworkkit.pipeline.opening import Request, open_listed, open_work
from reworkkit.pipeline.places import find_target, has_job
from reworkkit.pipeline.work import Work

if TYPE_CHECKING:
    from reworkkit.compute.shortage import Stocked
    from reworkkit.model.board import Board
    from reworkkit.model.check_sheet import CheckSheet
    from reworkkit.model.comparison import Comparison
    from reworkkit.model.difference import Difference
    from reworkkit.model.shopping import Shortage


def shortage(request: Request, copies: int | None = None) -> "Answer[Shortage]":
    """Return what to buy, for the physical boards of the job, or for `copies` boards that stand as the files say."""
    from reworkkit.compute.shortage import shopping_list

    work = open_work(request)
    folder = _folder(request)
    differences = tuple(_differences(request, work, copies))
    spares = tables.rows_for("spares", folder)
    stock, findings = _stock(work.board, folder)
    result = shopping_list(work.board, differences, stock, spares)
    alike = _alike(work.board, request, len(differences))
    told = replace(result, findings=(*alike, *findings, *result.findings))
    return Answer(work.board, work.situation, told, request.target)


def _alike(board: "Board", request: Request, copies: int) -> tuple[Finding, ...]:
    """Return a note where the fitted list is taken for several boards because it names no copy."""
    known = _copies_of_job(find_target(request.target, Path.cwd()))
    stated = board.fitted is not None and any(state.copy is not None for state in board.fitted.states)
    if copies <= max(known, 1) or stated or board.fitted is None:
        return ()
    return (Finding(message("shortage-copies-alike", copies=copies), Severity.NOTE),)


def _folder(request: Request) -> Path | None:
    """Return the board folder; None for a lone list, whose neighbours are ignored."""
    target = find_target(request.target, Path.cwd())
    return target if target.is_dir() else None


def _differences(request: Request, work: Work, copies: int | None) -> "list[Difference]":
    """Return one difference for each physical board; one board where nothing is said and no job is there."""
    from reworkkit.compute.situation import situation_of_files

    target = find_target(request.target, Path.cwd())
    known = _copies_of_job(target)
    count = copies or known or 1
    found = []
    for copy in range(1, count + 1):
        if copy == request.copy:
            found.append(work.difference)
        elif copy <= known:
            found.append(open_work(replace(request, copy=copy)).difference)
        else:
            situation = situation_of_files(work.board, copy)
            found.append(Work(with_substitutes(work.board, situation), situation).difference)
    return found


def _copies_of_job(target: Path) -> int:
    if not has_job(target):
        return 0
    from reworkkit.pipeline.job import open_job

    return open_job(target).copies


def _stock(board: "Board", folder: Path | None) -> "tuple[tuple[Stocked, ...], tuple[Finding, ...]]":
    """Return the rows of the stock list, each read as a part of every kind on the board, and what was noticed."""
    from reworkkit.compute.shortage import Stocked
    from reworkkit.read.folder import file_of_role
    from reworkkit.read.stock import read_stock

    path = file_of_role(folder, "stock", board.facts.files.stock) if folder else None
    if path is None:
        return (), ()
    file = read_stock(path, path.name)
    kinds = sorted({part.identity.kind for part in board.parts.values() if part.identity.value.main})
    return tuple(Stocked(line, _as_kinds(line, kinds)) for line in file.lines), file.findings


def _as_kinds(line: StockLine, kinds: list[str]) -> dict[str, PartIdentity]:
    from reworkkit.read.identity import identify_as

    row = PartLine((), "", line.value_text, line.package_text, line.description, line.part_number, None, Fit.FIT,
                   None, (), line.where)  # fmt: skip
    made = {kind: identify_as(row, "X", kind.replace("_", " "), None) for kind in kinds}
    return {kind: identity for kind, identity in made.items() if identity.value.main}


def compare(request: Request, ref: str) -> "Answer[Comparison]":
    """Return the candidates for a place against listed part and circuit; ReworkkitError for an unknown place."""
    from reworkkit.compute.comparison import compare_part

    work = open_listed(request)
    wanted = canonical(ref)
    if wanted not in work.board.parts:
        raise ReworkkitError("unknown-ref", ref=wanted)
    board = with_named_packages(work.board)
    circuit = work.circuit if board.pins else None
    return Answer(work.board, work.situation, compare_part(board, wanted, circuit), request.target)


def verdict_on(folder: Path, refs: Iterable[str], part_number: str) -> SubstituteVerdict:
    """Return the worst verdict that `compare` gives on a part for these places; not judged where nothing is known."""
    from reworkkit.compute.comparison import compare_part

    work = open_listed(Request(folder))
    board = with_named_packages(work.board)
    circuit = work.circuit if board.pins else None
    known, _ = expand_refs(refs, board.parts)
    verdicts = [
        one.verdict
        for ref in known
        for one in compare_part(board, ref, circuit).candidates
        if one.part_number.casefold() == part_number.casefold()
    ]
    order = tuple(SubstituteVerdict)
    told = len(verdicts) == len(known) and verdicts
    return max(verdicts, key=order.index) if told else SubstituteVerdict.NOT_JUDGED


def substitute(
    folder: Path,
    refs: Iterable[str],
    part_number: str,
    reason: str,
    actor: Actor,
    *,
    copy: int | None = None,
    accepted: bool = True,
) -> Done:
    """Record that another part is used or was rejected, with the verdict that `compare` gives on it now.

    A part that does not fit is recorded all the same when it is used: what was really done is never refused; that the
    figures speak against it is said, and stays in the record.
    """
    from reworkkit.pipeline import job

    refs = list(refs)
    try:
        verdict = verdict_on(folder, refs, part_number)
    except ReworkkitError:
        verdict = SubstituteVerdict.NOT_JUDGED
    done = job.substitute(folder, refs, part_number, reason, actor, copy=copy, verdict=verdict, accepted=accepted)
    return done._replace(notices=(*_said_of(verdict, part_number, accepted), *done.notices))


def _said_of(verdict: SubstituteVerdict, part: str, accepted: bool) -> tuple[Message, ...]:
    if not accepted:
        return (message("substitute-rejected", part=part),)
    if verdict is SubstituteVerdict.NOT_JUDGED:
        return (message("substitute-replan"),)
    slug = "substitute-judged-no" if verdict is SubstituteVerdict.NO else "substitute-judged"
    words = "drop-in" if verdict is SubstituteVerdict.DROP_IN else verdict.value.replace("_", " ")
    return message(slug, part=part, verdict=words), message("substitute-replan")


def goods_in(work: Work, refs: tuple[str, ...]) -> "CheckSheet":
    """Return the readings to take of each bought part before it is used."""
    from reworkkit.compute.goods_in import goods_in_checks

    return goods_in_checks(work.board, work.difference, work.marks, refs)
