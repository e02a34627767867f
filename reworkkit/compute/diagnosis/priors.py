"""How often each fault is met: the table of priors, and what is known of each part's joints."""

from collections.abc import Iterable, Mapping
from typing import NamedTuple

from reworkkit import tables
from reworkkit.model.job import PlaceState, Situation
from reworkkit.model.vocabulary import MadeBy, PartState, WayRound

_WRONG = frozenset(("value", "decade_high", "decade_low", "wrong_variant", "wrong_output", "other_type"))


class PriorRow(NamedTuple):
    """One row of `priors.csv`: the kind of fault, its share of boards, and its sizes."""

    kind: str
    share: float
    sizes: tuple[float, ...]


class Priors:
    """The table of priors, with factors for each part from the situation."""

    def __init__(self, rows: Iterable[Mapping[str, str]], situation: Situation | None = None) -> None:
        self._rows = {row["key"]: _read(row) for row in rows}
        self._states = situation.states if situation else {}
        self._reworked = situation.reworked if situation else frozenset()
        self._hands_known = any(state.made_by is not MadeBy.FACTORY for state in self._states.values())

    def row(self, key: str) -> PriorRow:
        """Return a row of the table."""
        return self._rows[key]

    def factor(self, ref: str, kind: str) -> float:
        """Return how much more or less likely a fault of this part is than the table says.

        A part that is known to be a wrong one mostly has another value. Rework in this job or an earlier repair
        raises it, factory work lowers it; a way round seen or measured to be right lowers `reversed`.
        """
        state = self._states.get(ref)
        found = self._by_hands(ref, state)
        if kind in _WRONG and state is not None and state.part is PartState.WRONG_PART:
            found *= self._share("known_wrong")
        if kind == "reversed" and state is not None:
            turned = {WayRound.SEEN: "turned_seen", WayRound.MEASURED: "turned_measured"}.get(state.way_round)
            found *= self._share(turned) if turned else 1.0
        return found

    def _by_hands(self, ref: str, state: PlaceState | None) -> float:
        if ref in self._reworked:
            return self._share("reworked")
        if state is None or not (self._reworked or self._hands_known):
            return 1.0
        by = {MadeBy.EARLIER_REPAIR: "earlier_repair", MadeBy.FACTORY: "by_factory"}.get(state.made_by)
        return self._share(by) if by else 1.0

    def _share(self, key: str) -> float:
        return 100 * self._rows[key].share


def _read(row: Mapping[str, str]) -> PriorRow:
    return PriorRow(row["kind"], float(row["percent"]) / 100, tuple(float(size) for size in row["sizes"].split()))


def shipped_priors(situation: Situation | None = None) -> Priors:
    """Return the shipped table."""
    return Priors(tables.rows("priors"), situation)
