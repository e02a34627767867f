"""`desolder`: from designators to how they come off and what the bare places must show."""

from typing import TYPE_CHECKING

from reworkkit.errors import ReworkkitError
from reworkkit.model.answer import Answer
from reworkkit.model.designator import natural_sorted
from reworkkit.model.steps import expand_refs
from reworkkit.pipeline.opening import Request, open_work
from reworkkit.pipeline.unknown_places import not_on_board

if TYPE_CHECKING:
    from reworkkit.model.removal import DesolderPlan


def desolder(request: Request, refs: tuple[str, ...]) -> "Answer[DesolderPlan]":
    """Return how these parts come off; without designators, every part that has to come off.

    Raises ReworkkitError for an unknown place, and where nothing is named and nothing has to come off.
    """
    from reworkkit.compute.bare_place import opened_places, prove_bare_places
    from reworkkit.compute.removal import Known, plan_removal, taken_off

    work = open_work(request)
    board, situation = work.board, work.situation
    named, unknown = expand_refs(refs, frozenset(board.parts))
    if unknown:
        raise not_on_board(unknown)
    asked = tuple(natural_sorted(named or {*taken_off(work.plan), *opened_places(board, situation)}))
    if not asked:
        raise ReworkkitError("desolder-nothing-named")
    known = Known(work.joints, work.joint_heat, work.heat, work.neighbours, work.outlines)
    proof = prove_bare_places(board, situation, asked)
    return Answer(board, situation, plan_removal(board, situation, asked, known, proof), request.target)
