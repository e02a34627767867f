"""The difference between the parts list and what is on the board."""

from collections import Counter

from reworkkit.model.board import Board
from reworkkit.model.designator import natural_key
from reworkkit.model.designator_list import in_short
from reworkkit.model.difference import Counts, Difference, DifferenceItem
from reworkkit.model.job import PlaceState, Situation
from reworkkit.model.messages import Finding, NotJudged, message
from reworkkit.model.vocabulary import DiffStatus, Fit, PartState, Place, Severity, WayRound

TO_FIT = (
    DiffStatus.FITTED,
    DiffStatus.MISSING,
    DiffStatus.TO_REPLACE,
    DiffStatus.TO_TURN,
    DiffStatus.NOT_INSPECTED,
)


def compare_with_list(board: Board, situation: Situation) -> Difference:
    """Return every listed place with its status, every unexpected one, and the sums.

    Invariants: listed = to_fit + do_not_fit + not_parts; to_fit is the sum of its five statuses; with nobody having
    looked, no place is ever missing.
    """
    items = _listed(board, situation)
    unlisted = [_unlisted(state) for ref, state in situation.states.items() if ref not in board.parts and _there(state)]
    if unlisted:
        items = sorted([*items, *unlisted], key=lambda item: natural_key(item.ref))
    return Difference(_counts(board, items), tuple(items), _findings(board, situation), _not_judged(board, situation))


def status_of(fit: Fit, state: PlaceState | None) -> DiffStatus:
    """Return the status of a listed place from what the design wants and what is there."""
    if fit is Fit.NOT_A_PART:
        return DiffStatus.NOT_A_PART
    if fit is Fit.DO_NOT_FIT:
        return DiffStatus.UNEXPECTED if state and _there(state) else DiffStatus.DO_NOT_FIT
    if state is None or state.place is Place.NOT_INSPECTED:
        return DiffStatus.NOT_INSPECTED
    if state.place is Place.EMPTY:
        return DiffStatus.MISSING
    if state.part in (PartState.DAMAGED, PartState.WRONG_PART):
        return DiffStatus.TO_REPLACE
    return DiffStatus.TO_TURN if state.way_round is WayRound.REVERSED else DiffStatus.FITTED


def _there(state: PlaceState) -> bool:
    return state.place is Place.FITTED or state.part is PartState.TEMPORARY_LINK


def _listed(board: Board, situation: Situation) -> list[DifferenceItem]:
    """Return an item for every listed place; a list may have 100,000, and most of them nobody has looked at."""
    rows = {line.where.line: line for line in board.lines}
    unseen = {fit: (status_of(fit, None), "") for fit in Fit}
    found: list[DifferenceItem] = []
    for ref, (_, identity, fit, _, (file, number)) in board.parts.items():
        row, state = rows.get(number), situation.states.get(ref)
        status, note = (status_of(fit, state), state.note) if state else unseen[fit]
        value, package = (row.value_text, row.package_text) if row else ("", "")
        found.append(DifferenceItem(ref, status, value, package, identity.part_number, file, number, note))
    return found


def _unlisted(state: PlaceState) -> DifferenceItem:
    return DifferenceItem(state.ref, DiffStatus.UNEXPECTED, "", "", "", "", 0, state.note)


def _counts(board: Board, items: list[DifferenceItem]) -> Counts:
    by_status = Counter(item.status for item in items)
    fits = Counter(part.fit for part in board.parts.values())
    return Counts(
        listed=len(board.parts),
        to_fit=fits[Fit.FIT],
        do_not_fit=fits[Fit.DO_NOT_FIT],
        not_parts=fits[Fit.NOT_A_PART],
        **{status.value: by_status[status] for status in TO_FIT},
        unexpected=by_status[DiffStatus.UNEXPECTED],
    )


def _findings(board: Board, situation: Situation) -> tuple[Finding, ...]:
    if situation.at_event is None:
        return _unnamed(board)
    strange: dict[str, list[str]] = {"fitted-but-not-listed": [], "named-but-not-listed": []}
    for ref, state in situation.states.items():
        if ref not in board.parts:
            strange["fitted-but-not-listed" if _there(state) else "named-but-not-listed"].append(ref)
    return tuple(
        Finding(message(slug, refs=in_short(refs)), Severity.CHECK, tuple(refs))
        for slug, refs in strange.items()
        if refs
    )


def _unnamed(board: Board) -> tuple[Finding, ...]:
    """Say that places the fitted list does not name count as empty; louder where it names nothing but empty ones."""
    if not board.fitted or board.fitted.others_stated:
        return ()
    named = {state.ref for state in board.fitted.states}
    unnamed = [ref for ref, part in board.parts.items() if part.fit is Fit.FIT and ref not in named]
    if not unnamed:
        return ()
    if named and all(dict(state.facets).get("place") == Place.EMPTY.value for state in board.fitted.states):
        return (Finding(message("only-missing-named", count=len(unnamed)), Severity.CHECK),)
    return (Finding(message("unnamed-count-as-empty", count=len(unnamed)), Severity.NOTE),)


def _not_judged(board: Board, situation: Situation) -> tuple[NotJudged, ...]:
    if situation.looked:
        return ()
    because = message("no-fitted-list")
    return (NotJudged((), message("what-is-missing"), because, "reworkkit survey"),)
