"""How one physical board stands, from its fitted list alone (without a job)."""

from dataclasses import replace

from reworkkit.model.board import Board, FittedList, FoundState
from reworkkit.model.job import PlaceState, Situation
from reworkkit.model.vocabulary import Basis, Fastening, Fit, JointState, MadeBy, PartState, Place, WayRound

_FACETS = {
    "place": Place,
    "joint": JointState,
    "part": PartState,
    "way_round": WayRound,
    "fastening": Fastening,
    "made_by": MadeBy,
}


def situation_of_files(board: Board, copy: int = 1) -> Situation:
    """Return the situation of one copy as its fitted list tells it.

    Without a fitted list nobody has looked, and no place has a state: that means not inspected. In a fitted list a
    place that is not named is empty, unless a line `others: ...` says otherwise.
    """
    if board.fitted is None:
        return Situation(copy, Basis.FILES, None, {}, looked=False)
    states = {ref: _unnamed(ref, board, board.fitted) for ref in board.parts}
    for found in board.fitted.states:
        if found.copy in (None, copy):
            states[found.ref] = with_facets(states.get(found.ref, PlaceState(found.ref)), found)
    return Situation(copy, Basis.FILES, None, states)


def _unnamed(ref: str, board: Board, fitted: FittedList) -> PlaceState:
    if fitted.others == "not_inspected":
        return PlaceState(ref)
    if fitted.others == "fitted" and board.parts[ref].fit is Fit.FIT:
        return PlaceState(ref, place=Place.FITTED, joint=JointState.SOLDERED)
    return PlaceState(ref, place=Place.EMPTY)


def with_facets(state: PlaceState, found: FoundState) -> PlaceState:
    """Return the state with the facets that a word of the fitted list sets; a remark is added to the note."""
    changes = {facet: _FACETS[facet](value) for facet, value in found.facets}
    note = "; ".join(text for text in (state.note, found.note) if text)
    return replace(state, note=note, **changes)  # type: ignore[arg-type]
