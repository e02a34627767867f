"""What `powerup` answers: the hold points with figures, how each stands, and readings outside their bands explained."""

from dataclasses import dataclass

from reworkkit.model.job_view import HoldState
from reworkkit.model.measuring import Check, Judgement
from reworkkit.model.results import HoldPoint, Symptom


@dataclass(frozen=True, slots=True)
class Outside:
    """A reading outside its band, and what it may mean; a warning where it is only unusual."""

    hold_point: str
    check: Check
    judgement: Judgement
    symptoms: tuple[Symptom, ...] = ()
    unusual: bool = False


@dataclass(frozen=True, slots=True)
class PowerUp:
    """The hold points, their states in the same order, the readings to look at, and the table of symptoms."""

    hold_points: tuple[HoldPoint, ...]
    states: tuple[HoldState, ...]
    outside: tuple[Outside, ...]
    symptoms: tuple[Symptom, ...]
