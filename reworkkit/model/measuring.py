"""One pair of records for every probe: what is expected (Check) and what a reading says of it (Judgement)."""

from dataclasses import dataclass

from reworkkit.model.messages import Message
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import CheckPurpose, Mode, ReadingForm, ReadingVerdict

FIRST_OF_A_KIND = 3
"""From this many equal polarised parts on, the first is proven before the others (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Point:
    """Where the probes go: `a` against `b`; `b` is None for ground. Each is a net or `REF.PIN`."""

    text: str
    a: str
    b: str | None = None


@dataclass(frozen=True, slots=True)
class Reading:
    """What the meter showed; `hold_point` None means unpowered; `unit` is V, A, ohm or C."""

    point: str
    mode: Mode
    form: ReadingForm
    value: float | None
    unit: str
    leads_swapped: bool
    hold_point: str | None
    text: str
    event: int | None = None

    def as_data(self) -> dict[str, object]:
        """Return what was read as plain data, without the point and the event: those say where it is kept."""
        return {
            "mode": self.mode.value,
            "form": self.form.value,
            "value": self.value,
            "unit": self.unit,
            "leads_swapped": self.leads_swapped,
            "hold_point": self.hold_point,
            "text": self.text,
        }


Expectation = Band | ReadingForm


@dataclass(frozen=True, slots=True)
class Check:
    """One probe with what to expect, also with the leads swapped, and for which fitted set that holds."""

    id: str
    purpose: CheckPurpose
    point: Point
    mode: Mode
    hold_point: str | None
    expect: Expectation | None
    swapped: Expectation | None
    refs: tuple[str, ...]
    fitted_digest: str | None
    why: Message
    cost: float


@dataclass(frozen=True, slots=True)
class Judgement:
    """What a reading says of a check: inside, outside or not judged, with the reason."""

    check_id: str
    reading: Reading
    verdict: ReadingVerdict
    message: Message
