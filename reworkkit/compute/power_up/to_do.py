"""What comes before power at a hold point: parts to fit, orientation to prove, open items to explain."""

from reworkkit.model.board import Board
from reworkkit.model.designator_list import in_short
from reworkkit.model.job import PlaceState, Situation
from reworkkit.model.messages import Message, message
from reworkkit.model.results import HoldOutline
from reworkkit.model.vocabulary import Fastening, JointState, PartState, Place, WayRound, YesNo

_PROVE = "power-todo-prove"
_WORST = ("power-todo-turn", "power-todo-leg", "power-todo-explain", "power-todo-protected")


def to_do(board: Board, outline: HoldOutline, situation: Situation) -> tuple[Message, ...]:
    """Return what is still to do before this hold point, one message a cause, by the table of states."""
    found: dict[str, list[str]] = {}
    for ref in outline.needs:
        state = situation.states.get(ref) or PlaceState(ref)
        polarised = ref in board.parts and board.parts[ref].identity.polarised is YesNo.YES
        if slug := _of_needed(state, polarised):
            found.setdefault(slug, []).append(ref)
    for ref, other in situation.states.items():
        if slug := _of_any(other):
            found.setdefault(slug, []).append(ref)
    protected = [
        ref
        for ref in outline.protects
        if (there := situation.states.get(ref)) is not None and there.place is Place.FITTED
    ]
    if protected:
        found["power-todo-protected"] = protected
    worst_first = sorted(found.items(), key=lambda item: item[0] not in _WORST)
    told = [message(slug, refs=in_short(refs), count=len(refs)) for slug, refs in worst_first]
    capacitors = [r for r in found.get(_PROVE, ()) if board.parts[r].identity.kind.startswith("capacitor")]
    return (*told, message("power-todo-capacitors", refs=in_short(capacitors))) if capacitors else tuple(told)


def _of_needed(state: PlaceState, polarised: bool) -> str:
    if state.place is Place.NOT_INSPECTED:
        return "power-todo-look"
    if state.place is Place.EMPTY:
        return "" if state.part is PartState.TEMPORARY_LINK else "power-todo-fit"
    if state.part in (PartState.DAMAGED, PartState.WRONG_PART):
        return "power-todo-replace"
    if state.joint is not JointState.SOLDERED:
        return "power-todo-solder"
    if state.fastening is Fastening.FINGER_TIGHT:
        return "power-todo-fasten"
    return _PROVE if polarised and state.way_round is WayRound.NOT_CHECKED else ""


def _of_any(state: PlaceState) -> str:
    if state.place is Place.FITTED and state.way_round is WayRound.REVERSED:
        return "power-todo-turn"
    if state.place is Place.FITTED and state.joint is JointState.LEG_LIFTED:
        return "power-todo-leg"
    if state.part in (PartState.REMOVED_ON_PURPOSE, PartState.TEMPORARY_LINK) and not state.note:
        return "power-todo-explain"
    return ""
