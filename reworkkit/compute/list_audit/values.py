"""Values: off the preferred series, a decade off for their size, the wrong unit for their class, spelt two ways."""

import re
from collections.abc import Iterable
from decimal import Decimal
from functools import cache

from reworkkit.compute.list_audit.common import class_letters, folded, in_order, listing, over
from reworkkit.compute.list_audit.series import likely_meant, on_series
from reworkkit.model.board import Board
from reworkkit.model.messages import Finding, message
from reworkkit.model.part import Part, PartIdentity
from reworkkit.model.vocabulary import Fit, Severity, YesNo
from reworkkit.tables import rows

_UNIT_OF_CLASS = {"R": "ohm", "C": "F", "L": "H"}
_FIGURE = r"\d+(?:[.,]\d+)?\s*"
_WRITTEN_UNIT = (
    (re.compile(rf"{_FIGURE}[pnuµμm]?F(?!\w)"), "RL"),
    (re.compile(rf"{_FIGURE}[pn]\d*(?!\w)"), "R"),
    (re.compile(rf"{_FIGURE}[nuµμm]?H(?!\w)"), "RC"),
    (re.compile(rf"{_FIGURE}[kKM]?\s*(?:[oO]hms?|OHMS?|Ω)(?!\w)"), "C"),
    (re.compile(rf"{_FIGURE}k\d*(?!\w)|\d{{1,2}}(?:[.,]\d+)?[KM]\d*(?!\w)"), "C"),
)
"""What can only be one unit, and the classes where it is wrong. `104K` at a C is a code with its tolerance letter."""

_EITHER_OR = re.compile(r"/\s*\d+(?:[.,]\d+)?\s*(?:[pnuµμ]F?|[kKM]?(?:ohm|Ω|R)|[kKM])(?!\w)")
_PREFIXES = ((12, "T"), (9, "G"), (6, "M"), (3, "k"), (0, ""), (-3, "m"), (-6, "µ"), (-9, "n"), (-12, "p"))


def audit_values(board: Board) -> list[Finding]:
    """Return the findings about component values."""
    parts = [part for part in board.parts.values() if part.fit is not Fit.NOT_A_PART]
    wrong = _wrong_unit(parts)
    told = {part.ref for part in wrong}
    sound = [part for part in parts if part.ref not in told]
    return [*_wrong_unit_findings(wrong), *_wrong_decade(sound), *_off_series(sound), *_two_spellings(parts)]


@cache
def limit(name: str) -> float:
    """Return a figure of `tables/audit_limits.csv` in its unit."""
    return next(float(row["value"]) for row in rows("audit_limits") if row["name"] == name)


def spoken(value: Decimal, unit: str) -> str:
    """Return a value with the prefix the trade would use.

    >>> spoken(Decimal("4700"), "ohm"), spoken(Decimal("1e-7"), "F")
    ('4.7 kohm', '100 nF')
    """
    exponent = value.adjusted() if value else 0
    power, prefix = next(((p, text) for p, text in _PREFIXES if exponent >= p), _PREFIXES[-1])
    return f"{(value / Decimal(10) ** power).normalize():f} {prefix}{unit}"


def _of_class(part: Part) -> str:
    """Return R, C or L where the designator says a plain two-terminal part, else nothing."""
    letters = class_letters(part.ref)
    return letters if letters in _UNIT_OF_CLASS else ""


def _wrong_unit(parts: Iterable[Part]) -> list[Part]:
    """Return the capacitances at an R, the ohms at a C and so on. A link of zero ohm may stand anywhere."""
    return [part for part in parts if _of_class(part) and _is_other_unit(part, _of_class(part))]


def _is_other_unit(part: Part, letters: str) -> bool:
    """Return whether a value is in the unit of another class: as written, else as read."""
    main, text = part.identity.value.main, _text(part)
    if main is not None and main.value == 0:
        return False
    if any(letters in classes and pattern.match(text) for pattern, classes in _WRITTEN_UNIT):
        return True
    read = main.unit if main is not None else ""
    return read in _UNIT_OF_CLASS.values() and read != _UNIT_OF_CLASS[letters] and (letters, read) != ("L", "ohm")


def _wrong_unit_findings(wrong: list[Part]) -> Iterable[Finding]:
    if wrong:
        said = message("value-against-class", parts=folded([(p.ref, _text(p)) for p in wrong]), count=len(wrong))
        yield over(said, Severity.CHECK, [part.ref for part in wrong], parts=wrong)


def _text(part: Part) -> str:
    return " ".join(part.identity.value.text.split())


def _wrong_decade(parts: Iterable[Part]) -> Iterable[Finding]:
    wrong = [(part, why) for part in parts if (why := _out_of_range(part.ref, part.identity))]
    if wrong:
        text = folded([(part.ref, f"{_text(part)} {part.identity.package_text} ({why})") for part, why in wrong])
        said = message("value-decade", parts=text, count=len(wrong))
        yield over(said, Severity.CHECK, [part.ref for part, _ in wrong], parts=[part for part, _ in wrong])


def _out_of_range(ref: str, identity: PartIdentity) -> str:
    """Return the bound a value breaks, as text; empty where it breaks none."""
    main = identity.value.main
    if main is None or main.value <= 0 or class_letters(ref) not in ("R", "C"):
        return ""
    value = float(main.value)
    if main.unit == "ohm":
        low, high = limit("resistor_low_ohm"), limit("resistor_high_ohm")
        return _bound(value, low, high, "ohm")
    if main.unit != "F":
        return ""
    if identity.polarised is YesNo.YES:
        return _bound(value, limit("electrolytic_farads"), None, "F")
    return _bound(value, limit("capacitor_low_farad"), _chip_limit(identity), "F")


def _bound(value: float, low: float, high: float | None, unit: str) -> str:
    if value < low:
        return f"< {spoken(Decimal(str(low)), unit)}"
    if high is not None and value > high:
        return f"> {spoken(Decimal(str(high)), unit)}"
    return ""


def _chip_limit(identity: PartIdentity) -> float | None:
    size = identity.outline
    for row in rows("audit_limits"):
        if row["name"].startswith("chip_farads_") and row["name"].rpartition("_")[2] in size:
            return float(row["value"])
    return None


def _off_series(parts: Iterable[Part]) -> Iterable[Finding]:
    """Values off E24 and E192, where the list otherwise keeps to the series; with the value likely meant."""
    suspects: list[tuple[Part, str]] = []
    for unit in _UNIT_OF_CLASS.values():
        suspects.extend(_off_series_of(unit, [p for p in parts if _takes_series(p, unit)]))
    if suspects:
        text = folded([(part.ref, f"{_text(part)} -> {meant}?") for part, meant in suspects])
        said = message("value-off-series", parts=text, count=len(suspects))
        yield over(said, Severity.CHECK, [part.ref for part, _ in suspects], parts=[part for part, _ in suspects])


def _takes_series(part: Part, unit: str) -> bool:
    """Shunts, links, adjustable parts and a choice of two values (`44uF/47uF`) follow no series."""
    main = part.identity.value.main
    if main is None or main.unit != unit or _UNIT_OF_CLASS.get(_of_class(part)) != unit or main.value <= 0:
        return False
    if _EITHER_OR.search(_text(part)):
        return False
    adjustable = any(word in part.identity.kind for word in ("potentiometer", "trimmer", "variable", "thermistor"))
    return not adjustable and not (unit == "ohm" and float(main.value) < limit("shunt_ohm"))


def _off_series_of(unit: str, parts: list[Part]) -> list[tuple[Part, str]]:
    values = {part.identity.value.main.value for part in parts if part.identity.value.main}
    good = {value for value in values if on_series(value) or _is_round(value)}
    if len(values) < limit("series_context_rows") or len(good) < limit("series_context_share") * len(values):
        return []
    found = []
    for part in parts:
        main = part.identity.value.main
        if main and main.value not in good and (meant := likely_meant(main.value, fine=unit == "ohm")) is not None:
            found.append((part, spoken(meant, unit)))
    return found


def _is_round(value: Decimal) -> bool:
    """One significant digit, 25 and its like are sold although they are on no series: 5 pF, 50 ohm, 25 uH."""
    digits = value.normalize().as_tuple().digits
    return len(digits) == 1 or (len(digits) == 2 and digits[1] == 5 and digits[0] in (2, 4, 6))


def _two_spellings(parts: Iterable[Part]) -> Iterable[Finding]:
    """One part (same key) written in two ways: a stock list would order it twice."""
    groups: dict[str, dict[str, list[Part]]] = {}
    for part in parts:
        if part.identity.value.main is not None:
            groups.setdefault(part.identity.key, {}).setdefault(_text(part), []).append(part)
    for spellings in groups.values():
        if len({text.casefold().replace("μ", "µ") for text in spellings}) > 1:
            every = [part for group in spellings.values() for part in group]
            text = "; ".join(f"{text}: {listing(in_order(p.ref for p in group))}" for text, group in spellings.items())
            said = message("one-part-two-spellings", spellings=text)
            yield over(said, Severity.NOTE, [part.ref for part in every], parts=every)
