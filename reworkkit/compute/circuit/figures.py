"""Bands of electrical figures: stated by the list or board.toml, else from the tables, which is then said."""

import re
from functools import cache

from reworkkit import tables
from reworkkit.model.messages import Message, message
from reworkkit.model.part import Part
from reworkkit.model.values import Band, Quantity
from reworkkit.model.vocabulary import BandBasis

_TABLE, _STATED = BandBasis.TABLE, BandBasis.STATED


def exact(value: float, unit: str) -> Band:
    """Return a band without width."""
    return Band(value, value, value, unit, _TABLE)


def around(value: float, percent: float, unit: str, basis: BandBasis = _STATED) -> Band:
    """Return a band of plus and minus a percentage.

    >>> b = around(5.0, 4, "V")
    >>> b.low, b.high
    (4.8, 5.2)
    """
    part = abs(value) * percent / 100
    return Band(value - part, value, value + part, unit, basis)


@cache
def default(key: str) -> Band:
    """Return a row of `circuit_defaults.csv` as a band; an empty end is open."""
    row = next(row for row in tables.rows("circuit_defaults") if row["key"] == key)
    low, nominal, high = (float(row[name]) if row[name] else None for name in ("low", "nominal", "high"))
    if low is None and high is None:
        low = high = nominal
    return Band(low, nominal, high, row["unit"], _TABLE)


def figure(key: str) -> float:
    """Return the nominal value of a row of `circuit_defaults.csv`."""
    nominal = default(key).nominal
    assert nominal is not None
    return nominal


def assumed(key: str, ref: str) -> Message:
    """Return the message that a default was used, with the line that would replace it."""
    return message("circuit-default", ref=ref, what=key.replace("_", " "), band=default(key))


def of_value(part: Part, unit: str, percent_key: str) -> Band | None:
    """Return the main value of a part with its tolerance, stated or usual; None where the list has no such value."""
    value = part.identity.value
    if value.main is None or value.main.unit != unit:
        return None
    main = float(value.main.value)
    return around(main, _percent(value.tolerance, main, percent_key), unit)


def _percent(tolerance: Quantity | None, main: float, key: str) -> float:
    if tolerance is None:
        return figure(key)
    if tolerance.unit == "%":
        return float(tolerance.value)
    return 100 * float(tolerance.value) / main if main else 0.0


def stated(value: Quantity | None, percent: float) -> Band | None:
    """Return a quantity of board.toml as a band of that percentage, or None."""
    return None if value is None else around(float(value.value), percent, value.unit)


@cache
def drop(key: str) -> dict[str, Band]:
    """Return the junction parameters of a row of `forward_drops.csv`."""
    row = next(row for row in tables.rows("forward_drops") if row["key"] == key)
    forward = Band(float(row["low_v"]), float(row["nominal_v"]), float(row["high_v"]), "V", _TABLE)
    return {
        "forward": forward,
        "at": exact(float(row["at_a"]), "A"),
        "ideality": exact(float(row["ideality"]), "1"),
        "series": exact(float(row["series_ohm"]), "ohm"),
    }


@cache
def _colours() -> tuple[tuple[str, str], ...]:
    found = [(word, row["key"]) for row in tables.rows("forward_drops") for word in row["words"].split("|") if word]
    return tuple(sorted(found, key=lambda pair: -len(pair[0])))


def led_key(text: str) -> str:
    """Return the row of `forward_drops.csv` for an LED whose text names a colour.

    >>> led_key("LED grün 0805"), led_key("LED"), led_key("infrared emitter")
    ('led_green', 'led_unknown', 'led_infrared')
    """
    words = text.casefold()
    return next((key for word, key in _colours() if re.search(rf"(?<![a-z]){word}(?![a-z])", words)), "led_unknown")
