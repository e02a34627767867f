"""First of a kind: of several equal parts one is proven by a reading before the others are fitted."""

from collections.abc import Sequence
from dataclasses import replace

from reworkkit.model.board import Board
from reworkkit.model.designator_list import in_short
from reworkkit.model.job import Situation
from reworkkit.model.measuring import FIRST_OF_A_KIND
from reworkkit.model.messages import Finding, message
from reworkkit.model.results import OrientationVerdict
from reworkkit.model.vocabulary import Mode, Place, PolarityVerdict, Severity, WayRound


def with_first_of_kind(
    board: Board, situation: Situation, verdicts: Sequence[OrientationVerdict]
) -> tuple[OrientationVerdict, ...]:
    """Return the verdicts with a note on the first part of each kind of which none is proven and others are to come.

    Equal parts share type, value and package. From `FIRST_OF_A_KIND` on the work order holds the rest as well.
    """
    kinds: dict[str, list[OrientationVerdict]] = {}
    for one in verdicts:
        if one.verdict is not PolarityVerdict.NOT_POLARISED:
            kinds.setdefault(board.parts[one.ref].identity.key, []).append(one)
    told = {
        first.ref: told for equal in kinds.values() if (found := _held(situation, equal)) for first, told in [found]
    }
    return tuple(replace(one, findings=(*one.findings, told[one.ref])) if one.ref in told else one for one in verdicts)


def _held(situation: Situation, equal: list[OrientationVerdict]) -> tuple[OrientationVerdict, Finding] | None:
    """Return the part to prove and what is said, or None where one is proven, or too few are still to be fitted."""
    states = {one.ref: state for one in equal if (state := situation.states.get(one.ref))}
    if len(equal) < FIRST_OF_A_KIND or any(state.way_round is WayRound.MEASURED for state in states.values()):
        return None
    first = next((one for one in equal if any(check.mode is Mode.DIODE for check in one.checks)), equal[0])
    fitted = {ref for ref, state in states.items() if state.place is Place.FITTED}
    others = [one.ref for one in equal if one is not first and one.ref not in fitted]
    if not others:
        return None
    said = message("polarity-first-of-kind", ref=first.ref, count=len(others), others=in_short(others))
    return first, Finding(said, Severity.NOTE, (first.ref, *others))
