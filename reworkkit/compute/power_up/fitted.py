"""Which parts are on the board when a hold point is reached."""

import hashlib

from reworkkit.model.board import Board
from reworkkit.model.designator import natural_key
from reworkkit.model.job import Situation
from reworkkit.model.results import Plan
from reworkkit.model.vocabulary import Fit, JointState, OperationKind, PartState, Place

_ADDS = (OperationKind.FIT.value, OperationKind.SOLDER.value)
_CONNECTED = (JointState.SOLDERED, JointState.TACKED)


def fitted_now(board: Board, situation: Situation) -> frozenset[str]:
    """Return the places that hold a part or a temporary link now, as far as it is connected, and joints of bare copper.

    A net tie or solder jumper is no part that somebody fits: it is there from the start.
    """
    copper = {
        ref
        for ref, part in board.parts.items()
        if part.identity.kind == "net_tie" or (part.identity.kind == "solder_jumper" and part.fit is Fit.NOT_A_PART)
    }
    return frozenset(copper) | frozenset(
        ref
        for ref, state in situation.states.items()
        if ref in board.parts
        and ((state.place is Place.FITTED and state.joint in _CONNECTED) or state.part is PartState.TEMPORARY_LINK)
    )


def fitted_at(board: Board, situation: Situation, plan: Plan, hold_point: str) -> frozenset[str]:
    """Return the places that hold a part when the plan reaches a hold point: those of now and those still to fit.

    A hold point that the plan no longer names lies behind: then it is the parts of now.
    """
    there = set(fitted_now(board, situation))
    numbers = [op.n for op in plan.operations if op.kind == OperationKind.HOLD_POINT.value and hold_point in op.refs]
    for operation in plan.operations if numbers else ():
        if operation.n >= numbers[0]:
            break
        if operation.kind in _ADDS:
            there |= set(operation.refs) & set(board.parts)
        elif operation.kind == OperationKind.DESOLDER.value:
            there -= set(operation.refs)
    return frozenset(there)


def digest(fitted: frozenset[str]) -> str:
    """Return a short name of a set of parts, the same for the same set.

    >>> digest(frozenset({"R2", "R10"})) == digest(frozenset({"R10", "R2"}))
    True
    """
    return hashlib.sha256(" ".join(sorted(fitted, key=natural_key)).encode()).hexdigest()[:12]
