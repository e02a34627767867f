"""Quantities as the trade writes them: RKM codes of IEC 60062, SI prefixes, decimal comma, and back to text.

General number libraries misread values of this field silently (`4k7` as 4, `1R` as 1e27), so this reader is our own:
it reads a text whole or answers None, it never folds the case of `m` and `M`, and it works in `Decimal`.
"""

import math
import re
from decimal import Decimal
from typing import NamedTuple

from reworkkit.model.values import Quantity

_TEN = Decimal(10)
_PREFIXES = {"p": -12, "n": -9, "u": -6, "m": -3, "": 0, "k": 3, "K": 3, "M": 6, "G": 9, "T": 12}
_WRITTEN = {-12: "p", -9: "n", -6: "u", -3: "m", 0: "", 3: "k", 6: "M", 9: "G"}
_LOOSE = {"P": -12, "N": -9, "U": -6}
"""Capital prefixes that lists use for capacitance and inductance, where no other meaning exists."""

_PREFIXED_UNITS = {
    "V": "V V DC VDC Vdc v V AC VAC Vac volt volts",
    "A": "A amp amps",
    "ohm": "ohm Ohm OHM ohms Ohms OHMS Ω R r",
    "F": "F f Fd",
    "H": "H h Hy",
    "W": "W w watt watts",
    "J": "J",
    "s": "s sec",
    "Hz": "Hz HZ hz",
    "V/A": "V/A",
    "g": "g",
}
_PREFIXED = {
    symbol: unit
    for unit, symbols in _PREFIXED_UNITS.items()
    for symbol in (*symbols.replace("V DC", "").replace("V AC", "").split(), *(["V DC", "V AC"] if unit == "V" else []))
}
_PLAIN: dict[str, tuple[str, str]] = {
    "mm": ("mm", "1"),
    "cm": ("mm", "10"),
    "um": ("mm", "0.001"),
    "mil": ("mm", "0.0254"),
    "mils": ("mm", "0.0254"),
    "thou": ("mm", "0.0254"),
    "inch": ("mm", "25.4"),
    "in": ("mm", "25.4"),
    '"': ("mm", "25.4"),
    "mm2": ("mm2", "1"),
    "mm²": ("mm2", "1"),
    "mm^2": ("mm2", "1"),
    "cm2": ("mm2", "100"),
    "cm²": ("mm2", "100"),
    "oz": ("oz", "1"),
    "%": ("%", "1"),
    "percent": ("%", "1"),
    "ppm": ("%", "0.0001"),
    "°C": ("C", "1"),
    "℃": ("C", "1"),
    "degC": ("C", "1"),
    "deg C": ("C", "1"),
    "C": ("C", "1"),
    "K/W": ("K/W", "1"),
    "°C/W": ("K/W", "1"),
    "C/W": ("K/W", "1"),
    "N m": ("N m", "1"),
    "Nm": ("N m", "1"),
    "N·m": ("N m", "1"),
    "cNm": ("N m", "0.01"),
    "cN m": ("N m", "0.01"),
    "mNm": ("N m", "0.001"),
    "mN m": ("N m", "0.001"),
    "kg": ("g", "1000"),
    "mV/mT": ("V/T", "1"),
    "V/T": ("V/T", "1"),
    "mV/T": ("V/T", "0.001"),
    "mV/G": ("V/T", "10"),
    "min": ("s", "60"),
}
_NO_BIG_PREFIX = ("F", "H", "V/A", "s", "g")
_SCALED = frozenset({"V", "A", "ohm", "F", "H", "W", "J", "s", "Hz", "V/A"})
UNITS = frozenset(_PREFIXED_UNITS) | {unit for unit, _ in _PLAIN.values()} | {"K"}
"""Every unit a quantity can carry; the empty text stands for a number without one."""

_OZ_MM = Decimal("0.035")
"""Copper of 1 oz per square foot is called 35 um in the trade."""

_SPACES = str.maketrans(
    {"\u2126": "Ω", "\u00b5": "u", "\u03bc": "u", "\u00a0": " ", "\u2009": " ", "\u202f": " ", "−": "-"}
)
_NUMBER = r"[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+"
_PLAIN_TEXT = re.compile(
    rf"(?P<sign>[+-]?) ?(?P<number>{_NUMBER})(?P<exp>[eE][+-]?[0-9]{{1,2}}(?= ?[a-zA-ZΩ%]))? ?(?P<unit>.*)"
)
_FRACTION = re.compile(r"(?P<top>[0-9]{1,2})/(?P<bottom>[0-9]{1,2}) ?(?P<unit>W|w|watt|in|inch|\")")
_RKM = re.compile(
    r"(?P<whole>[0-9]{0,4})(?P<point>[RrΩKkMGTLmunpUNPVvA])(?P<part>[0-9]{1,3})(?P<tail>F|H|Ω|ohm|Ohm|R|[BCDGJKM])?"
)
_THOUSANDS = re.compile(r"[1-9][0-9]{0,2},[0-9]{3}")


class _Reading(NamedTuple):
    """A value and what the text says of its unit: a unit, or empty; `bare` where not even a prefix was written."""

    value: Decimal
    unit: str
    bare: bool


def parse_quantity(text: str, unit: str | None = None) -> Quantity | None:
    """Read a quantity; None where the text is not one, or carries another unit than the `unit` expected.

    `unit` is the unit a text without one is in: `100n` in a capacitor row is 100 nF. A number without unit and
    prefix is taken only for `ohm` (the custom of lists); with no `unit` given it is returned with an empty unit.
    `p`, `n` and `u` alone mean farad and `R`, `k`, `K`, `M` alone ohm (IEC 60062) unless another unit is expected.
    `1,000` is refused: it is 1 in one country and 1000 in the next.

    >>> parse_quantity("4K7")
    Quantity(value=Decimal('4700'), unit='ohm', text='4K7')
    >>> parse_quantity("0,22 µF").value, parse_quantity("1/4W").value, parse_quantity("1/4W", "ohm")
    (Decimal('2.2E-7'), Decimal('0.25'), None)
    >>> parse_quantity("10", "F") is None, parse_quantity("10", "ohm").value
    (True, Decimal('10'))
    """
    clean = " ".join(text.translate(_SPACES).split()).removeprefix("±").removesuffix(" copper").strip()
    reading = _fraction(clean) or _rkm(clean, unit) or _plain(clean, unit)
    if reading is None:
        return None
    settled = _settle(reading, unit)
    return None if settled is None else Quantity(_tidy(settled[0]), settled[1], text)


def _tidy(value: Decimal) -> Decimal:
    normal = value.normalize()
    return normal.quantize(Decimal(1)) if normal == normal.to_integral_value() and abs(normal) < 10**20 else normal


def _number(written: str) -> Decimal:
    return Decimal(written.replace(",", "."))


def _fraction(text: str) -> _Reading | None:
    found = _FRACTION.fullmatch(text)
    if not found or int(found["bottom"]) == 0:
        return None
    ratio = Decimal(int(found["top"])) / Decimal(int(found["bottom"]))
    return _Reading(ratio, "W", False) if found["unit"][0] in "Ww" else _Reading(ratio * Decimal("25.4"), "mm", False)


def _rkm(text: str, expected: str | None) -> _Reading | None:
    found = _RKM.fullmatch(text)
    if not found or (not found["whole"] and found["point"] in "VvAUNPTG"):
        return None
    point, value = found["point"], Decimal(f"{found['whole'] or 0}.{found['part']}")
    if point in "VvA":
        return None if found["tail"] else _Reading(value, point.upper(), False)
    if point in "RrΩ":
        return _Reading(value, "ohm", False)
    if point == "L":
        return _Reading(value * _TEN**-3, "ohm", False) if expected == "ohm" or found["whole"] else None
    tail = found["tail"] or ""
    said = {"F": "F", "H": "H", "Ω": "ohm", "ohm": "ohm", "Ohm": "ohm", "R": "ohm"}.get(tail, "")
    if said == "F" and point in "kKMGT":
        said = "ohm"  # 4k7F: a resistor of 1 %
    return _prefixed(value, point, said, expected)


def _prefixed(value: Decimal, prefix: str, said: str, expected: str | None) -> _Reading | None:
    """Apply a prefix; capital U N P only where the unit is farad or henry, mega never there."""
    small = (said or expected) in ("F", "H")
    if prefix in _LOOSE and not small:
        return None
    power = _LOOSE[prefix] if prefix in _LOOSE else _PREFIXES[prefix]
    if power > 0 and (said or expected) in _NO_BIG_PREFIX:
        return None
    implied = said or _implied(prefix, expected)
    return _Reading(value * _TEN**power, implied, not prefix)


def _implied(prefix: str, expected: str | None) -> str:
    """Return the unit that a lone prefix stands for by IEC 60062, or empty."""
    if expected:
        return expected if prefix and expected in _PREFIXED_UNITS else ""
    return "F" if prefix in ("p", "n", "u") else "ohm" if prefix in ("k", "K", "M", "G") else ""


def _plain(text: str, expected: str | None) -> _Reading | None:
    found = _PLAIN_TEXT.fullmatch(text)
    if not found or _THOUSANDS.fullmatch(found["number"]):
        return None
    value = _number(found["number"] + (found["exp"] or ""))
    value = -value if found["sign"] == "-" else value
    return _with_unit(value, found["unit"], expected)


def _with_unit(value: Decimal, symbol: str, expected: str | None) -> _Reading | None:
    if symbol == "K" and expected == "K":
        return _Reading(value, "K", False)
    if symbol == "m" and expected == "mm":
        return _Reading(value * 1000, "mm", False)
    if symbol == "L" and expected == "ohm":
        return _Reading(value * _TEN**-3, "ohm", False)
    if symbol in _PLAIN:
        unit, scale = _PLAIN[symbol]
        return _Reading(value * Decimal(scale), unit, False)
    if symbol in _PREFIXED:
        return _Reading(value, _PREFIXED[symbol], False)
    if symbol in _PREFIXES or (symbol in _LOOSE and expected in ("F", "H")):
        return _prefixed(value, symbol, "", expected)
    prefix, rest = symbol[:1], symbol[1:].removeprefix(" ")
    if rest in _PREFIXED and (prefix in _PREFIXES or prefix in _LOOSE):
        return _prefixed(value, prefix, _PREFIXED[rest], expected)
    return None


def _settle(reading: _Reading, expected: str | None) -> tuple[Decimal, str] | None:
    """Join what the text says with what is expected."""
    if expected is None or reading.unit == expected:
        return reading.value, reading.unit
    if expected == "oz" and reading.unit == "mm":
        return reading.value / _OZ_MM, "oz"
    return (reading.value, "ohm") if expected == "ohm" and reading.bare and not reading.unit else None


def format_quantity(quantity: Quantity) -> str:
    """Return the shortest exact text of a quantity; `parse_quantity(text, unit)` gives the same value and unit back.

    >>> format_quantity(Quantity(Decimal(4700), "ohm", "4K7")), format_quantity(Quantity(Decimal("1E-7"), "F", ".1u"))
    ('4.7 kohm', '100 nF')
    """
    value, unit = quantity.value, quantity.unit
    if not unit:
        return f"{value.normalize():f}"
    power = _power(value, unit)
    return f"{(value / _TEN**power).normalize():f} {_WRITTEN[power]}{unit}"


def _power(value: Decimal, unit: str) -> int:
    """Return the power of ten of the prefix that leaves 1 to 999 before it; 0 for units that take none."""
    if value == 0 or unit not in _SCALED:
        return 0
    top = 0 if unit in _NO_BIG_PREFIX else 9
    return min(max(value.adjusted() // 3 * 3, -12), top)


def format_engineering(value: float, unit: str, digits: int = 3) -> str:
    """Return a computed figure with a prefix, rounded to `digits` figures; trailing zeros are left out.

    >>> format_engineering(11.98, "V", 4), format_engineering(4700.0, "ohm"), format_engineering(9.9996e-8, "F")
    ('11.98 V', '4.7 kohm', '100 nF')
    """
    if not math.isfinite(value):
        return f"{value} {unit}".strip()
    rounded = Decimal(f"{value:.{max(digits, 1) - 1}e}")
    return format_quantity(Quantity(rounded + 0, unit, ""))
