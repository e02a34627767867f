"""What type a regulator is and what it holds: the table of types, else its number, else its words."""

import re
from functools import lru_cache
from typing import NamedTuple

from reworkkit import tables
from reworkkit.compute.circuit.wiring import words_of
from reworkkit.errors import ReworkkitError
from reworkkit.model.messages import Message, message
from reworkkit.model.part import Part

_USUAL_TENTHS = frozenset((9, 10, 11, 12, 13, 15, 17, 18, 20, 25, 26, 27, 28, 29, 30, 31, 32, 33, 35, 36, 40, 45, 50))
"""Outputs in tenths of a volt that small regulators are sold for."""
_ADJUSTABLE = re.compile(r"ADJ|adjustable|einstellbar|réglable|variable", re.IGNORECASE)
_NEGATIVE = re.compile(r"negative|inverting|negativ|invers", re.IGNORECASE)
_BARE = re.compile(r"7[89][LMST]?(?:05|06|08|09|10|12|15|18|20|24|33)[A-Z]{0,3}", re.IGNORECASE)
_LOW_DROP = re.compile(r"\bLDO\b|low[- ]?drop", re.IGNORECASE)
_IN_NUMBER = (
    re.compile(r"(?<![\d.])(\d{1,2}\.\d{1,2})(?!\d)"),
    re.compile(r"(?<!\d)(\d[VRP]\d)(?!\d)", re.IGNORECASE),
    re.compile(r"\d[A-Z]*[-_ ](\d{2})0?(?!\d)", re.IGNORECASE),
    re.compile(r"\d[A-Z]*[-_ ]([3589])V?(?![\d.])", re.IGNORECASE),
    re.compile(r"\d[A-Z]{1,4}(\d{2})0?(?=[A-Z]|$)", re.IGNORECASE),
)
"""Where the output stands in a number of no known type: `-3.3`, `3V3`, `-33`, `-5`, `SN33T1`."""
_VOLTS = re.compile(
    r"(?<![\w.,])(?P<sign>[-−+])?(?P<a>\d{1,2})(?:[.,](?P<b>\d{1,2})\s?V?|V(?P<c>\d)|\s?V)(?:olts?|DC)?(?![\w.])", re.I
)
_OF_INPUT = re.compile(r"(?:(?<!V )(?<!V)\bin(?:put)?|\bvin|max\.?|up to|from|abs)\W*(?:is|=|:)?\s*$", re.IGNORECASE)
_IS_INPUT = re.compile(r"^\W*(?:dc\s*)?(?:in(?:put)?\b|max|to\b|(?:->|→|-)\s*\d)", re.IGNORECASE)


class Held(NamedTuple):
    """An output as number or words tell it [V], below zero for a negative one; `where` is the text it was read from."""

    volts: float
    where: str
    by_words: bool = False


def row_of(part: Part, own: tables.OwnTables) -> tables.Row | None:
    """Return the row of the part's type; the board's own rows are tried first, the words of the list last."""
    known = tables.rows_with("regulators", own)
    mine_first = sorted(known, key=lambda row: row["source"] != "yours")
    for text in texts_of(part):
        for row in mine_first:
            if _matches(row["pattern"], text):
                return dict.fromkeys(known[0], "") | row
    return None


def is_alone(part: Part) -> bool:
    """Return whether the number by itself tells that a part is a regulator, whatever kind the list makes of it."""
    return any(_alone_pattern().match(text) for text in texts_of(part))


@lru_cache(maxsize=1)
def _alone_pattern() -> re.Pattern[str]:
    patterns = (row["pattern"] for row in tables.rows("regulators") if row["alone"] == "yes")
    return re.compile("|".join(f"(?:{pattern})" for pattern in patterns), re.IGNORECASE)


def texts_of(part: Part) -> tuple[str, ...]:
    """Return what may be the type number: the number, the value, and words with figures that begin with a letter.

    `7812` among other words is one too.
    """
    identity = part.identity
    whole = {identity.part_number.strip(), identity.value.text.strip()}
    return tuple(
        text
        for text in identity.type_numbers
        if text in whole or (text[0].isalpha() and len(text) >= 5) or _BARE.fullmatch(text)
    )


def _matches(pattern: str, text: str) -> bool:
    try:
        return compiled(pattern).match(text) is not None
    except re.error as error:
        raise ReworkkitError("table-bad-pattern", table="regulators", pattern=pattern, problem=str(error)) from error


@lru_cache(maxsize=1024)
def compiled(pattern: str) -> re.Pattern[str]:
    """Return a pattern of a table of types, for capitals and small letters alike."""
    return re.compile(pattern, re.IGNORECASE)


def figure(row: tables.Row | None, column: str) -> float | None:
    """Return a figure of the row, None where it has none; ReworkkitError where it is no number."""
    written = row[column] if row else ""
    try:
        return float(written) if written else None
    except ValueError as error:
        raise ReworkkitError("table-not-a-number", table="regulators", column=column, written=written) from error


def is_adjustable(part: Part, row: tables.Row | None) -> bool:
    """Return whether resistors set the output: by the type, else by its number or words."""
    if row is not None:
        return row["form"] in ("adjustable", "feedback", "set", "buck", "boost") or (
            row["form"] == "negative" and bool(row["volts"])
        )
    return any(_ADJUSTABLE.search(text) for text in (*texts_of(part), part.identity.description))


def is_low_drop(part: Part) -> bool:
    """Return whether the words call a regulator a low-dropout one, or its number is that of a series reference."""
    row = reference_row(part)
    return bool(_LOW_DROP.search(words_of(part))) or (row is not None and row["form"] == "series")


def reference_row(part: Part) -> tables.Row | None:
    """Return the row of the part's type among the voltage references."""
    for text in texts_of(part):
        for row in tables.rows("references"):
            if compiled(row["pattern"]).match(text):
                return row
    return None


def held_volts(part: Part, row: tables.Row | None) -> Held | None:
    """Return what a fixed regulator makes, by the table, its number or its words; None where nothing tells.

    Of an adjustable type the volts of the row are its reference, and the number tells nothing.
    """
    if row is not None and (volts := figure(row, "volts")):
        return Held(-volts if row["form"] == "negative" else volts, "")
    if row is not None and row["form"] in ("pump", "adjustable", "feedback", "set", "buck", "boost"):
        return None
    if row is not None and (volts := _by_suffix(part, row)):
        return Held(-volts if row["form"] == "negative" else volts, "")
    return None if is_adjustable(part, row) else told_volts(part, row)


def told_volts(part: Part, row: tables.Row | None) -> Held | None:
    """Return what number or words tell beside the table: also of a type whose fixed variants it does not list."""
    sign = -1.0 if row is not None and row["form"] == "negative" else 1.0
    return _by_any_number(part, sign, row) or _by_words(part, sign)


def _by_suffix(part: Part, row: tables.Row) -> float | None:
    for text in texts_of(part):
        found = re.search(row["suffix"], text, re.IGNORECASE) if row["suffix"] else None
        if found:
            return _figure(found[1], row["digits"] == "volts")
    return None


def _figure(digits: str, whole: bool) -> float:
    """Return digits of a number as volts: `3.3`, `3V3`, `3-3` and `33` are 3.3; `05` is 5; `12` is what `whole` says.

    >>> [_figure("3V3", False), _figure("33", True), _figure("12", True), _figure("12", False), _figure("05", True)]
    [3.3, 3.3, 12.0, 1.2, 5.0]
    """
    text = re.sub(r"[VRP-]", ".", digits, flags=re.IGNORECASE)
    if "." in text or len(text) == 1:
        return float(text)
    if len(text) == 3:
        return float(text) / 10 if whole or text.endswith("0") else float(text) / 100
    if whole and text == "03":
        return 3.3
    whole_volts = whole and text not in ("33", "25", "28", "27", "36", "30", "50")
    return float(text) if whole_volts else float(text) / 10


def _by_any_number(part: Part, sign: float, row: tables.Row | None) -> Held | None:
    """Return what a number of an unknown family names by its usual ending; nothing where that could be two things."""
    whole = row is not None and row["digits"] == "volts"
    for text in (part.identity.part_number.strip(), part.identity.value.text.strip()):
        if not re.match(r"^[A-Z]{1,5}-?\d|^\d{3,}", text, re.IGNORECASE):
            continue
        for pattern in _IN_NUMBER:
            found = pattern.search(text)
            volts = _figure(found[1], whole) if found else 0.0
            if found and (whole or round(volts * 10) in _USUAL_TENTHS or "." in found[1] or len(found[1]) == 1):
                return Held(sign * volts, text)
    return None


def _by_words(part: Part, sign: float) -> Held | None:
    """Return the one output voltage that the words name: `LDO 3.3 V`, `12 V to 5 V`, `5V0 regulator`.

    Figures that are called an input or a limit do not count; where two are left, nothing is told.
    """
    text = f"{part.identity.value.text}; {part.identity.description}"
    if re.search(r"\d\s?V?\s?(?:\.\.+|…)\s?\d", text):
        return None
    found = {}
    for match in _VOLTS.finditer(text):
        before, after = text[: match.start()], text[match.end() :]
        out = re.match(r"\W*out", after, re.IGNORECASE)
        if out or (not _OF_INPUT.search(before) and not _IS_INPUT.search(after)):
            below = match["sign"] in ("-", "−") and not before.rstrip().endswith(tuple("0123456789"))
            volts = float(f"{match['a']}.{match['b'] or match['c'] or 0}")
            found[-volts if below else volts] = match[0].strip()
    if len(found) != 1:
        return None
    volts, where = next(iter(found.items()))
    negative = volts < 0 or sign < 0 or _NEGATIVE.search(text)
    return Held(-abs(volts) if negative else volts, where, by_words=True) if volts else None


def told_of(part: Part, held: Held) -> tuple[Message, ...]:
    """Return how an output was read where no row of the table tells it."""
    if not held.where:
        return ()
    volts = f"{held.volts:g} V"
    if held.by_words:
        return (message("circuit-volts-by-words", ref=part.ref, volts=volts, text=held.where),)
    return (message("circuit-volts-by-number", ref=part.ref, volts=volts, text=held.where),)
