"""Bands of electrical figures: stated by the list or board.toml, else from the tables, which is then said."""

import re
from functools import cache

from reworkkit import tables
from reworkkit.errors import ReworkkitError
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


_SAID = {
    "load_from_volts": "the voltage from which its load draws",
    "fuse": "fuse resistance",
    "resettable_fuse": "resettable fuse resistance",
    "inductor": "winding resistance",
    "ferrite_bead": "ferrite bead resistance",
}
"""Keys that do not say by themselves what was taken."""


class Figures:
    """The figures that the papers rarely state: the shipped tables with a board's own rows laid over them."""

    def __init__(self, own: tables.OwnTables) -> None:
        self._defaults = {row["key"]: row for row in tables.rows_with("circuit_defaults", own)}
        self._drops = {row["key"]: row for row in tables.rows_with("forward_drops", own)}
        self.pinouts = tables.rows_with("diode_pinouts", own)

    def default(self, key: str) -> Band:
        """Return a row of `circuit_defaults.csv` as a band; an empty end is open."""
        row = self._defaults[key]
        low, nominal, high = (_number("circuit_defaults", row, name) for name in ("low", "nominal", "high"))
        if low is None and high is None:
            low = high = nominal
        return Band(low, nominal, high, row["unit"], _TABLE)

    def figure(self, key: str) -> float:
        """Return the nominal value of a row of `circuit_defaults.csv`."""
        nominal = self.default(key).nominal
        if nominal is None:
            raise ReworkkitError("table-not-a-number", table="circuit_defaults", column="nominal", written=key)
        return nominal

    def assumed(self, key: str, ref: str) -> Message:
        """Return the message that a default was used, with the line that would replace it."""
        return message("circuit-default", ref=ref, what=_SAID.get(key, key.replace("_", " ")), band=self.default(key))

    def of_value(self, part: Part, unit: str, percent_key: str) -> Band | None:
        """Return the main value of a part with its tolerance, stated or usual; None where the list has none."""
        value = part.identity.value
        if value.main is None or value.main.unit != unit:
            return None
        main = float(value.main.value)
        return around(main, self._percent(value.tolerance, main, percent_key), unit)

    def _percent(self, tolerance: Quantity | None, main: float, key: str) -> float:
        if tolerance is None:
            return self.figure(key)
        if tolerance.unit == "%":
            return float(tolerance.value)
        return 100 * float(tolerance.value) / main if main else 0.0

    def drop(self, key: str) -> dict[str, Band]:
        """Return the junction parameters of a row of `forward_drops.csv`."""
        row = self._drops[key]
        names = ("low_v", "nominal_v", "high_v", "at_a", "ideality", "series_ohm")
        low, nominal, high, at, ideality, series = (_number("forward_drops", row, name) or 0.0 for name in names)
        return {
            "forward": Band(low, nominal, high, "V", _TABLE),
            "at": exact(at, "A"),
            "ideality": exact(ideality, "1"),
            "series": exact(series, "ohm"),
        }


def _number(table: str, row: tables.Row, column: str) -> float | None:
    """Return a cell as a number, None where it is empty; ReworkkitError where it is no number."""
    try:
        return float(row[column]) if row[column] else None
    except ValueError as error:
        raise ReworkkitError("table-not-a-number", table=table, column=column, written=row[column]) from error


@cache
def _shipped() -> Figures:
    return Figures({})


def drop(key: str) -> dict[str, Band]:
    """Return the junction parameters of a row of the shipped `forward_drops.csv`."""
    return _shipped().drop(key)


def stated(value: Quantity | None, percent: float) -> Band | None:
    """Return a quantity of board.toml as a band of that percentage, or None."""
    return None if value is None else around(float(value.value), percent, value.unit)


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
