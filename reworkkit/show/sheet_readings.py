"""What the job already read: the newest reading that answers a probe, as it was judged."""

from collections.abc import Iterable, Mapping
from copy import copy

from reworkkit.model.job import PlaceState
from reworkkit.model.judging import judge, point_key
from reworkkit.model.measuring import Check, Judgement, Reading


class Known:
    """The readings of one job; a reading made before a part that it tells of was changed does not count."""

    def __init__(self, readings: Iterable[Reading], states: Mapping[str, PlaceState]) -> None:
        self._readings: dict[tuple[str, str, str], list[Reading]] = {}
        for reading in readings:
            key = reading.point, reading.mode.value, reading.hold_point or ""
            self._readings.setdefault(key, []).append(reading)
        self._states = states
        self._refs: tuple[str, ...] = ()

    def also(self, refs: Iterable[str]) -> "Known":
        """Return the same readings for probes that tell of these parts too."""
        other = copy(self)
        other._refs = tuple(refs)
        return other

    def of(self, check: Check) -> Judgement | None:
        """Return the newest reading that answers this probe, judged."""
        key = point_key(check.point.text), check.mode.value, check.hold_point or ""
        changed = max((self._changed(ref) for ref in (*check.refs, *self._refs)), default=0)
        fresh = [
            reading
            for reading in self._readings.get(key, ())
            if (reading.event or 0) > changed and (not reading.leads_swapped or check.swapped is not None)
        ]
        newest = max(fresh, key=lambda reading: reading.event or 0, default=None)
        return judge(check, newest) if newest else None

    def _changed(self, ref: str) -> int:
        state = self._states.get(ref)
        return (state.changed or 0) if state else 0


NOTHING_READ = Known((), {})
