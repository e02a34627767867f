"""`checks`: one table of purposes and the functions that make their probes. A new purpose is one line here."""

from collections.abc import Callable
from typing import TYPE_CHECKING

from reworkkit.errors import ReworkkitError
from reworkkit.model.answer import Answer
from reworkkit.model.steps import expand_refs
from reworkkit.model.vocabulary import CheckPurpose
from reworkkit.pipeline.buying import goods_in
from reworkkit.pipeline.opening import Request, open_work
from reworkkit.pipeline.unknown_places import not_on_board
from reworkkit.pipeline.work import Work

if TYPE_CHECKING:
    from reworkkit.model.check_sheet import CheckSheet

Maker = Callable[[Work, tuple[str, ...]], "CheckSheet"]
"""Makes the probes of one purpose for the board in its situation; no designators: for the whole board."""


def _inputs(work: Work, refs: tuple[str, ...]) -> "CheckSheet":
    from reworkkit.compute.functional_test import input_checks

    return input_checks(work.board, refs)


def _outputs(work: Work, refs: tuple[str, ...]) -> "CheckSheet":
    from reworkkit.compute.functional_test import output_checks

    return output_checks(work.board, refs)


def _bare_places(work: Work, refs: tuple[str, ...]) -> "CheckSheet":
    from reworkkit.compute.bare_place import prove_bare_places

    return prove_bare_places(work.board, work.situation, refs).sheet if refs else work.bare_proof.sheet


def _power_stage(work: Work, refs: tuple[str, ...]) -> "CheckSheet":
    from reworkkit.compute.power_stage import stage_checks

    return stage_checks(work.board, work.circuit, work.situation, refs)


PURPOSES: dict[CheckPurpose, Maker] = {
    CheckPurpose.GOODS_IN: goods_in,
    CheckPurpose.BARE_PLACE: _bare_places,
    CheckPurpose.POWER_STAGE: _power_stage,
    CheckPurpose.INPUT: _inputs,
    CheckPurpose.OUTPUT: _outputs,
}
"""In the order of the work: goods in first, inputs before outputs."""


def checks(request: Request, refs: tuple[str, ...], purpose: str | None) -> "Answer[tuple[CheckSheet, ...]]":
    """Return the probes of one purpose, or of every purpose; raises ReworkkitError for an unknown place or purpose."""
    work = open_work(request)
    makers = PURPOSES if purpose is None else {_known(purpose): PURPOSES[_known(purpose)]}
    named, unknown = expand_refs(refs, frozenset(work.board.parts))
    if unknown:
        raise not_on_board(unknown)
    sheets = tuple(make(work, tuple(named)) for make in makers.values())
    return Answer(work.board, work.situation, sheets)


def _known(purpose: str) -> CheckPurpose:
    wanted = purpose.strip().casefold().replace("-", "_")
    for known in PURPOSES:
        if known.value in (wanted, wanted.removesuffix("s")):
            return known
    raise ReworkkitError("checks-unknown-purpose", purpose=purpose, known=", ".join(one.value for one in PURPOSES))
