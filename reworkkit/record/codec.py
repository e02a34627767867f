"""Messages, bands and checks as plain JSON data and back: how they lie in the job file."""

import json
from decimal import Decimal
from typing import Any

from reworkkit.model.measuring import Check, Expectation, Point
from reworkkit.model.messages import Fact, Message
from reworkkit.model.values import Band, Quantity
from reworkkit.model.vocabulary import BandBasis, CheckPurpose, Mode, ReadingForm


def dumps(data: object) -> str:
    """Return data as one line of JSON, keys in the order given, letters kept."""
    return json.dumps(data, ensure_ascii=False, separators=(",", ":"))


def message_data(what: Message) -> list[Any]:
    """Return a message as plain data.

    >>> message_data(Message("unknown-ref", (("ref", "R9"),)))
    ['unknown-ref', [['ref', 'R9']]]
    """
    return [what.slug, [[name, _fact_data(fact)] for name, fact in what.facts]]


def message_of(data: list[Any]) -> Message:
    """Return the message that `message_data` wrote."""
    slug, facts = data
    return Message(slug, tuple((name, _fact_of(fact)) for name, fact in facts))


def _fact_data(fact: Fact) -> Any:
    if isinstance(fact, Quantity):
        return {"quantity": [str(fact.value), fact.unit, fact.text]}
    return band_data(fact) if isinstance(fact, Band) else fact


def _fact_of(data: Any) -> Fact:
    if isinstance(data, str):
        return data
    if "quantity" in data:
        value, unit, text = data["quantity"]
        return Quantity(Decimal(value), unit, text)
    return band_of(data)


def band_data(band: Band) -> dict[str, Any]:
    """Return a band as plain data."""
    assumed = [message_data(one) for one in band.assumed]
    return {"band": [band.low, band.nominal, band.high, band.unit, band.basis.value, assumed]}


def band_of(data: dict[str, Any]) -> Band:
    """Return the band that `band_data` wrote."""
    low, nominal, high, unit, basis, assumed = data["band"]
    return Band(low, nominal, high, unit, BandBasis(basis), tuple(message_of(one) for one in assumed))


def check_data(check: Check) -> dict[str, Any]:
    """Return a check as plain data."""
    return {
        "id": check.id,
        "purpose": check.purpose.value,
        "point": [check.point.text, check.point.a, check.point.b],
        "mode": check.mode.value,
        "hold_point": check.hold_point,
        "expect": _expectation_data(check.expect),
        "swapped": _expectation_data(check.swapped),
        "refs": list(check.refs),
        "fitted_digest": check.fitted_digest,
        "why": message_data(check.why),
        "cost": check.cost,
    }


def check_of(data: dict[str, Any]) -> Check:
    """Return the check that `check_data` wrote; also reads the shared case table."""
    return Check(
        id=data["id"],
        purpose=CheckPurpose(data["purpose"]),
        point=Point(*data["point"]),
        mode=Mode(data["mode"]),
        hold_point=data["hold_point"],
        expect=_expectation_of(data["expect"]),
        swapped=_expectation_of(data["swapped"]),
        refs=tuple(data["refs"]),
        fitted_digest=data["fitted_digest"],
        why=message_of(data["why"]),
        cost=data["cost"],
    )


def _expectation_data(expected: Expectation | None) -> Any:
    return band_data(expected) if isinstance(expected, Band) else expected.value if expected else None


def _expectation_of(data: Any) -> Expectation | None:
    if data is None:
        return None
    return ReadingForm(data) if isinstance(data, str) else band_of(data)
