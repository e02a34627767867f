"""Figures as people copy them from sheets: `±10 A`, `2.7 V to 5.5 V`, `X7R`; what cannot be read stays text."""

import re
from typing import NamedTuple

from reworkkit.model.comparison import Amount
from reworkkit.model.quantity import format_engineering, parse_quantity
from reworkkit.model.values import Quantity

_SIGNS = re.compile(r"^(?:±|\+/-|\+-|<=?|>=?|≤|≥|max\.?|min\.?|typ\.?|up to)\s*", re.IGNORECASE)
_TAIL = re.compile(r"\s*(?:max\.?|min\.?|typ\.?|rms|dc|peak)$", re.IGNORECASE)
_RANGE = re.compile(r"^(?P<low>.+?)\s*(?:\bto\b|\.\.\.?|…|–|(?<=[0-9a-zA-Z])\s+-\s+)\s*(?P<high>.+)$")
_NUMBER = re.compile(r"^[+-]?\d+(?:[.,]\d+)?")
_CURRENT = re.compile(r"(?<![a-z])v?(ac|dc|rms)(?![a-z])")
_SPLIT = re.compile(r"[\s,;|/]+")


class Figure(NamedTuple):
    """A figure of a part: its text, and its ends where it is a number (one number: both ends the same)."""

    text: str
    low: float | None = None
    high: float | None = None
    unit: str = ""

    @property
    def is_number(self) -> bool:
        """Return whether the figure could be read as a number."""
        return self.low is not None and self.high is not None

    def amount(self) -> Amount:
        """Return the figure as it is shown."""
        same = self.low is not None and self.low == self.high
        return Amount(self.text, self.low if same else None, self.unit)


def number(value: float, unit: str, text: str = "") -> Figure:
    """Return a figure made here, written with a prefix where no text is given.

    >>> number(0.1, "A").text
    '100 mA'
    """
    return Figure(text or plain_text(value, unit), value, value, unit)


def span(low: float, high: float, unit: str) -> Figure:
    """Return a range made here.

    >>> span(4.8, 5.2, "V").text
    '4.8 V to 5.2 V'
    """
    text = plain_text(low, unit) if low == high else f"{plain_text(low, unit)} to {plain_text(high, unit)}"
    return Figure(text, low, high, unit)


def plain_text(value: float, unit: str) -> str:
    """Return a computed figure in three digits with its unit; whole numbers of no unit stay whole.

    >>> plain_text(9.87e-9, "F"), plain_text(85.04, "C"), plain_text(4.0, "")
    ('9.87 nF', '85 C', '4')
    """
    if unit in ("", "%", "C", "K", "K/W", "mm"):
        return f"{value:.3g} {unit}".strip()
    return format_engineering(value, unit)


def read_figure(written: Quantity | str, unit: str) -> Figure:
    """Return a figure in `unit` (empty: a plain number, or a quantity of its own unit), else its text alone.

    >>> read_figure("±10 A", "A").high, read_figure("3950 K", "K").low, read_figure("adjustable", "V").is_number
    (10.0, 3950.0, False)
    >>> read_figure("3950", "K").high, read_figure("25", "V").is_number
    (3950.0, False)
    >>> read_figure("2.7 V to 5.5 V", "V")[1:3], read_figure("2.7-5.5 V", "V")[1:3]
    ((2.7, 5.5), (2.7, 5.5))
    """
    text = written if isinstance(written, str) else written.text
    if not unit:
        return _plain(written, text)
    if isinstance(written, Quantity) and written.unit == unit:
        return _one(text, float(written.value), unit)
    clean = _TAIL.sub("", _SIGNS.sub("", text.strip()))
    # Only a beta is written without its unit by everybody: K for kelvin reads as kilo beside it.
    if found := parse_quantity(f"{clean} K" if unit == "K" and _NUMBER.fullmatch(clean) else clean, unit):
        return _one(text, float(found.value), unit)
    return _range(text, clean, unit) or Figure(text)


def _one(text: str, value: float, unit: str) -> Figure:
    return Figure(_with_unit(text, unit), value, value, unit)


def _with_unit(text: str, unit: str) -> str:
    return f"{text} {unit}" if re.fullmatch(r"[+-]?[0-9.,]+", text.strip()) else text


def _range(text: str, clean: str, unit: str) -> Figure | None:
    found = _RANGE.match(clean) or re.match(r"^(?P<low>\d[\d.,]*)\s*-\s*(?P<high>\d.*)$", clean)
    if not found:
        return None
    high = parse_quantity(found["high"], unit)
    tail = re.sub(r"^[+-]?[\d.,]+\s*", "", found["high"])
    low = parse_quantity(found["low"], unit) or parse_quantity(f"{found['low']} {tail}", unit)
    if low is None or high is None or low.value > high.value:
        return None
    return Figure(text, float(low.value), float(high.value), unit)


def _plain(written: Quantity | str, text: str) -> Figure:
    """Read a figure of no fixed unit: a quantity keeps its own unit, a number the sign behind it (`48 nC`: `nc`)."""
    clean = _SIGNS.sub("", text.strip())
    known = written if isinstance(written, Quantity) else parse_quantity(clean)
    if known is not None and known.unit:
        return Figure(text, float(known.value), float(known.value), known.unit)
    found = _NUMBER.match(clean)
    if not found:
        return Figure(text)
    value = float(found[0].replace(",", "."))
    return Figure(text, value, value, folded_word(clean[found.end() :].replace("\u00b5", "u").replace("\u03bc", "u")))


def magnitude(figure: Figure) -> Figure:
    """Return a rating without its sign; of a range about zero the smaller end counts.

    >>> magnitude(read_figure("-30 V", "V"))[1:3], magnitude(read_figure("-8 V to 12 V", "V"))[1:3]
    ((30.0, 30.0), (8.0, 8.0))
    """
    if figure.low is None or figure.high is None or figure.low >= 0:
        return figure
    low, high = sorted((abs(figure.low), abs(figure.high)))
    return Figure(figure.text, low, low if figure.high > 0 else high, figure.unit)


def current_of(text: str) -> str:
    """Return `ac` or `dc` where a figure says one of them, else an empty text.

    >>> current_of("250 VAC"), current_of("630 V DC"), current_of("20 V rms"), current_of("24 V")
    ('ac', 'dc', 'ac', '')
    """
    found = {"ac" if word == "rms" else word for word in _CURRENT.findall(text.lower())}
    return found.pop() if len(found) == 1 else ""


def folded_word(text: str) -> str:
    """Return a word as it is compared: letters and digits only, lower case.

    >>> folded_word("SOT-223") == folded_word("sot 223"), folded_word("two-way")
    (True, 'twoway')
    """
    return re.sub(r"[^\w+]|_", "", text.casefold())


def words_of(text: str) -> tuple[str, ...]:
    """Return the words of a list in a cell, upper case.

    >>> words_of("VCC out, REF GND")
    ('VCC', 'OUT', 'REF', 'GND')
    """
    return tuple(word for word in _SPLIT.split(text.strip().upper()) if word)
