"""Value cells taken apart (`2u2 10 % 25V X7R`), and the preferred values of IEC 60063."""

import re
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from itertools import pairwise
from typing import NamedTuple

from reworkkit.model.part import PartValue
from reworkkit.model.quantity import parse_quantity
from reworkkit.model.values import Quantity

_UNIT_OF_KIND = {
    "resistor": "ohm",
    "resistor_network": "ohm",
    "fusible_resistor": "ohm",
    "potentiometer": "ohm",
    "thermistor": "ohm",
    "ferrite_bead": "ohm",
    "inductor": "H",
    "transformer": "H",
    "common_mode_choke": "H",
    "supercapacitor": "F",
    "crystal": "Hz",
    "resonator": "Hz",
    "oscillator": "Hz",
    "fuse": "A",
    "resettable_fuse": "A",
    "diode_zener": "V",
    "varistor": "V",
    "battery": "V",
    "relay": "V",
    "lamp": "V",
}
_UNITS_OF_UNKNOWN = ("ohm", "F", "H", "Hz")

SIZE_CODES = frozenset(
    [
        "01005",
        "0201",
        "0402",
        "0603",
        "0805",
        "1206",
        "1210",
        "1218",
        "1806",
        "1808",
        "1812",
        "1825",
        "2010",
        "2220",
        "2225",
        "2512",
        "2816",
        "0204",
        "0207",
        "0102",
    ]
)
"""Chip and MELF sizes: in a value cell these are never ohms."""

_SYMMETRIC = {"B": "0.1", "C": "0.25", "D": "0.5", "F": "1", "G": "2", "J": "5", "K": "10", "M": "20", "N": "30"}
_OF_RESISTOR = {"E": "0.005", "L": "0.01", "P": "0.02", "W": "0.05"} | _SYMMETRIC
_OF_CAPACITOR_PF = {"B": "0.1", "C": "0.25", "D": "0.5", "F": "1"}
_OF_CAPACITOR = {"H": "3"} | _SYMMETRIC
_TEN_PF = Decimal("1E-11")
_IN_CAPITALS = re.compile(r"(?<=[0-9])( ?)M(?=[AW](?![A-Za-z]))")
"""250MA and 500MW in a list of capitals: no part on a board has megaamperes or megawatts."""
_WITH_E = re.compile(r"([0-9]{1,4})[Ee]([0-9]?)")
_MOST_OHM = Decimal("22E6")
"""Resistors of more than this are hardly sold."""

_DIELECTRIC = re.compile(r"(?:C0G|COG|NP0|NPO|[XYZ][4-9][A-Z]|[UST]2[JMH])", re.IGNORECASE)
_SAME_DIELECTRIC = {"COG": "C0G", "NP0": "C0G", "NPO": "C0G"}
_FUSE_CLASS = re.compile(r"(FF|F|M|TT|T)(?=[0-9])|(FF|F|M|TT|T)$")
_FUSE_WORDS = {
    **dict.fromkeys(("SLOW", "SLOW-BLOW", "SLOWBLOW", "TIME-LAG", "TIMELAG", "TIME-DELAY", "TRÄGE", "LENT"), "T"),
    **dict.fromkeys(("FAST", "FAST-BLOW", "QUICK", "QUICK-BLOW", "QUICK-ACTING", "FAST-ACTING", "FLINK"), "F"),
}
"""The class letters and words of IEC 60127 for how fast a fuse opens."""
_SPLIT = re.compile(r"[\s;_/|#*()@,\[\]]+")
_COMMA, _SLASH = "\ue000", "\ue001"
_DECIMAL_COMMA = re.compile(r"(?<![0-9A-Za-z.,])([0-9]*),([0-9]+)")
_WATT_FRACTION = re.compile(r"(?<![0-9])([0-9]{1,2})/([0-9]{1,2})(?= ?[Ww])")
_ONLY_NUMBER = re.compile(r"[±+-]?[0-9]*[.,]?[0-9]+")

_MICROFARADS = re.compile(
    r"(?P<figure>[0-9]*[.,]?[0-9]+)(?:[pnuµμ]F?)?/(?P<volts>[0-9]{1,3})V?|(?P<small>0?[.,][0-9]+)"
)
"""Microfarads over volts, and a figure below one without a unit: common practice, no source."""


class _Token(NamedTuple):
    """A piece of a value cell and the piece joined with the next one (`10` and `10 %`)."""

    text: str
    joined: str | None


def main_unit(kind: str) -> str | None:
    """Return the unit of a kind's main value: ohm, F, H, Hz, A or V; None where its value is a name.

    >>> main_unit("capacitor_film"), main_unit("microcontroller")
    ('F', None)
    """
    return "F" if kind.startswith("capacitor") else _UNIT_OF_KIND.get(kind)


def parse_part_value(text: str, kind: str, bare_numbers: bool = True) -> PartValue:
    """Take a value cell apart; what cannot be read stays in `text`, with `main` None.

    `kind` is a key of `part_kinds.csv`; it decides the unit of the main value and the meaning of tolerance letters.
    `bare_numbers=False` (for free text such as a description) takes no number without a unit or prefix.

    >>> v = parse_part_value("2u2 10 % 25V X7R", "capacitor_ceramic")
    >>> str(v.main.value), v.tolerance.text, v.volts.text, v.dielectric
    ('0.0000022', '10 %', '25V', 'X7R')
    >>> f = parse_part_value("T2A 250V", "fuse")
    >>> f.main.text, f.volts.text, f.dielectric
    ('2A', '250V', 'T')
    """
    value = PartValue(None, None, None, None, None, text)
    skip = False
    for token in _tokens(text):
        if skip:
            skip = False
            continue
        taken = _take(value, token.joined, kind) if token.joined else None
        skip = taken is not None
        value = taken or _take(value, token.text, kind) or value
    if value.main is None and bare_numbers and main_unit(kind) == "ohm":
        value = replace(value, main=_bare_ohms(text))
    return _with_microfarads(value, text) if kind.startswith("capacitor") else value


def is_bare(text: str, kind: str) -> bool:
    """Say whether a cell holds a value without a unit, as benches do: `820` ohm, `.1` and `220/25` of a capacitor.

    >>> is_bare("820", "resistor"), is_bare(".1", "capacitor"), is_bare("220/25 axial", "capacitor")
    (True, True, True)
    >>> is_bare("1/4", "resistor"), is_bare("0805", "resistor"), is_bare("4148", "diode")
    (False, False, False)
    """
    plain = text.strip()
    if kind.startswith("capacitor"):
        return _microfarads(plain) is not None
    return main_unit(kind) == "ohm" and plain not in SIZE_CODES and bool(_ONLY_NUMBER.fullmatch(plain))


def _microfarads(text: str) -> re.Match[str] | None:
    """Return what gives microfarads over volts (`220/25`), or less than one of them (`.1`), at the head of a cell.

    A figure of no series (`4/20`) is rather the range of a trimmer.
    """
    found = _MICROFARADS.fullmatch(text.strip().partition(" ")[0])
    figure = found and (found["figure"] or found["small"]).replace(",", ".")
    return found if figure and in_series(Decimal(f"0{figure}"), "E12") else None


def _with_microfarads(value: PartValue, text: str) -> PartValue:
    """Return a capacitor with the microfarads and volts that the head of its cell gives without a unit."""
    found = _microfarads(text)
    if found is None:
        return value
    main = value.main or parse_quantity(f"0{found['figure'] or found['small']}µF")
    volts = parse_quantity(f"{found['volts']}V") if found["volts"] else None
    return replace(value, main=main and replace(main, text=found[0]), volts=value.volts or volts)


_CYRILLIC = {"мкФ": "uF", "нФ": "nF", "пФ": "pF", "мкГн": "uH", "мГн": "mH", "кОм": "k", "МОм": "M", "Ом": "R",
             "мА": "mA", "А": "A", "мВ": "mV", "кВ": "kV", "В": "V", "мВт": "mW", "Вт": "W"}  # fmt: skip
"""Units in Cyrillic letters as GOST 8.417 has them."""
_CYRILLIC_UNIT = re.compile(rf"(?<=[0-9]) ?({'|'.join(sorted(_CYRILLIC, key=len, reverse=True))})(?![а-яА-Я])")
_PART_OF_AMP = re.compile(r"(?<![0-9/.])([1-9])/([1-9][0-9]?) ?(?:A|amps?|Amps?|AMPS?)(?![A-Za-z])")
_MFD = re.compile(r"(?<=[0-9]) ?mfd(?![a-z0-9])", re.IGNORECASE)
"""Microfarad as old lists write it."""


def _tokens(text: str) -> Iterator[_Token]:
    plain = _PART_OF_AMP.sub(lambda m: f"{int(m[1]) / int(m[2]):g}A", text)
    plain = _MFD.sub("uF", _CYRILLIC_UNIT.sub(lambda m: _CYRILLIC[m[1]], plain))
    marked = _IN_CAPITALS.sub(r"\1m", plain).replace("+/-", "±").replace("+-", "±").replace("± ", "±")
    marked = _WATT_FRACTION.sub(rf"\1{_SLASH}\2", _DECIMAL_COMMA.sub(rf"\1{_COMMA}\2", marked))
    pieces = [p.replace(_COMMA, ",").replace(_SLASH, "/") for p in _SPLIT.split(marked) if p]
    for piece, after in pairwise([*pieces, ""]):
        joins = after and not after[0].isdigit() and _ONLY_NUMBER.fullmatch(piece.split("/")[0])
        yield _Token(piece, f"{piece} {after}" if joins else None)


def _take(value: PartValue, token: str, kind: str) -> PartValue | None:
    """Return the value with what `token` says, or None where it says nothing."""
    if kind == "fuse" and (told := _fuse_class(value, token, kind)):
        return told
    if _DIELECTRIC.fullmatch(token):
        code = token.upper()
        return replace(value, dielectric=value.dielectric or _SAME_DIELECTRIC.get(code, code))
    if value.main is None and (main := _main(token, kind)):
        return replace(value, main=main, tolerance=value.tolerance or _attached_tolerance(token, main, kind))
    if value.main is not None and (letter := tolerance_of_letter(token, kind, value.main)):
        return replace(value, tolerance=value.tolerance or letter)
    return _rating(value, parse_quantity(token), token)


def _fuse_class(value: PartValue, token: str, kind: str) -> PartValue | None:
    """Return a fuse with its class: `T2A`, `2A T`, `2A slow`; two fuses of another class are not the same."""
    word = _FUSE_WORDS.get(token.upper())
    if word:
        return replace(value, dielectric=value.dielectric or word)
    found = _FUSE_CLASS.match(token)
    if found is None:
        return None
    value = replace(value, dielectric=value.dielectric or found[0])
    rest = token[found.end() :]
    return _take(value, rest, kind) if rest else value


def _rating(value: PartValue, quantity: Quantity | None, token: str) -> PartValue | None:
    if quantity is None or quantity.value <= 0:
        return None
    if quantity.unit == "%" and quantity.value <= 100:
        return replace(value, tolerance=value.tolerance or quantity)
    if quantity.unit == "F" and token.startswith("±"):
        return replace(value, tolerance=value.tolerance or quantity)
    if quantity.unit == "V":
        return replace(value, volts=value.volts or quantity)
    return replace(value, watts=value.watts or quantity) if quantity.unit == "W" else None


def _main(token: str, kind: str) -> Quantity | None:
    """Read the main value: with a unit or prefix, of the unit this kind has."""
    if token.startswith("±") or _ONLY_NUMBER.fullmatch(token):
        return None
    unit = main_unit(kind)
    if unit is None:
        found = parse_quantity(token) if kind == "unknown" else None
        return found if found and found.unit in _UNITS_OF_UNKNOWN and found.value >= 0 else None
    found = parse_quantity(token, unit) or (_ohms_by_e(token) if unit == "ohm" else None)
    if found is None and len(token) > 1 and token[-1] in _SYMMETRIC and not _ONLY_NUMBER.fullmatch(token[:-1]):
        found = parse_quantity(token[:-1], unit)
    return replace(found, text=token) if found and found.value >= 0 else None


def _ohms_by_e(token: str) -> Quantity | None:
    """Return the ohms of `220E` and `4E7`, as some countries write 220R and 4R7; None where it may be a power of ten.

    >>> [str(_ohms_by_e(text).value) for text in ("220E", "4E7")], _ohms_by_e("1E3")
    (['220', '4.7'], None)
    """
    found = _WITH_E.fullmatch(token)
    if found is None or (found[2] and Decimal(f"{found[1]}E{found[2]}") <= _MOST_OHM):
        return None
    return parse_quantity(f"{found[1]}R{found[2]}", "ohm")


def _attached_tolerance(token: str, main: Quantity, kind: str) -> Quantity | None:
    """Return the tolerance of a letter written behind the value: `4K7J`, `100nK`."""
    rest, last = token[:-1], token[-1]
    same = parse_quantity(rest, main.unit) if rest and not _ONLY_NUMBER.fullmatch(rest) else None
    if same is None or same.value != main.value or (last == main.unit):
        return None
    return tolerance_of_letter(last, kind, main)


def tolerance_of_letter(letter: str, kind: str, main: Quantity) -> Quantity | None:
    """Return what a tolerance letter of IEC 60062 means for this kind of part, in % or, below 10 pF, in farad.

    P, C and D mean one thing on a resistor and another on a capacitor; the lopsided letters (P, T, Z of a capacitor)
    are no symmetric tolerance and give None.

    >>> tolerance_of_letter("C", "capacitor_ceramic", Quantity(Decimal("4.7E-12"), "F", "4p7")).unit
    'F'
    """
    if len(letter) != 1 or main.unit not in ("ohm", "F", "H"):
        return None
    if kind.startswith("capacitor"):
        small = main.value < _TEN_PF
        if small and letter in _OF_CAPACITOR_PF:
            return Quantity(Decimal(_OF_CAPACITOR_PF[letter]) * Decimal("1E-12"), "F", letter)
        if letter in "CD":
            return Quantity(Decimal(_OF_CAPACITOR_PF[letter]) * Decimal("1E-12"), "F", letter)
        percent = _OF_CAPACITOR.get(letter)
    else:
        percent = (_OF_RESISTOR if main.unit == "ohm" else _SYMMETRIC).get(letter)
    return Quantity(Decimal(percent), "%", letter) if percent else None


def _bare_ohms(text: str) -> Quantity | None:
    """Return the first plain number of a resistor's cell that is no chip size: `R_500_0805` is 500 ohm."""
    for token in _tokens(text):
        if _ONLY_NUMBER.fullmatch(token.text) and token.text not in SIZE_CODES and not _is_percent(token):
            found = parse_quantity(token.text, "ohm")
            return found if found and found.value >= 0 else None
    return None


def _is_percent(token: _Token) -> bool:
    return token.joined is not None and token.joined.endswith("%")


# Preferred values of IEC 60063. E3 to E24 are not a formula (2.7, 3.0, 3.3, 3.6, 3.9, 4.3, 4.7, 8.2 depart from
# rounding); E48 to E192 are round(100 * 10^(i/n)), but for 9.20.
_E24 = (10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91)
_E192 = tuple(920 if i == 185 else round(100 * 10 ** (i / 192)) for i in range(192))
SERIES: dict[str, tuple[int, ...]] = {
    "E3": _E24[::8],
    "E6": _E24[::4],
    "E12": _E24[::2],
    "E24": _E24,
    "E48": _E192[::4],
    "E96": _E192[::2],
    "E192": _E192,
}
"""Members of each series, as two-digit (to E24) or three-digit whole numbers."""


def in_series(value: Decimal, series: str) -> bool:
    """Say whether a value is a preferred value of a series of IEC 60063.

    >>> in_series(Decimal("4.7E-9"), "E6"), in_series(Decimal(4990), "E24"), in_series(Decimal(4990), "E96")
    (True, False, True)
    """
    if value <= 0:
        return False
    members = SERIES[series]
    return value.scaleb(len(str(members[0])) - 1 - value.adjusted()) in members


def nearest_in_series(value: Decimal, series: str) -> Decimal:
    """Return the preferred value nearest to a positive value, by ratio.

    >>> nearest_in_series(Decimal(5000), "E24"), nearest_in_series(Decimal("0.99"), "E12")
    (Decimal('5.1E+3'), Decimal('1.0'))
    """
    if value <= 0:
        raise ValueError("a preferred value is positive")
    members = SERIES[series]
    exponent = value.adjusted() - len(str(members[0])) + 1
    around = [Decimal(members[-1]).scaleb(exponent - 1), *(Decimal(m).scaleb(exponent) for m in members)]
    around.append(Decimal(members[0]).scaleb(exponent + 1))
    return min(around, key=lambda member: abs((member / value).ln()))
