"""A designator cell expanded: lists, ranges, designators run together, and names that only look like ranges.

`J1-2` is a name or a range; the quantity of the row and the other rows decide. Nothing is guessed: what cannot be
read comes back as `unread`, and a reading that the quantity does not bear out is marked `doubtful`.
"""

import re
import unicodedata
from collections.abc import Collection
from typing import NamedTuple

from reworkkit.model.designator import canonical, is_designator, looks_numbered

LONGEST_RANGE = 5000
"""A range over more places than this is taken as a slip, not expanded."""

_PLAIN = re.compile(r"[A-Za-z]{1,6}[0-9]{1,5}")
_DASHES = str.maketrans(dict.fromkeys("‐‑‒–—―−－～〜∼", "-"))
_COMMAS = re.compile(
    r"[,;|\n\r\t，、；،・·•]+|\s&\s|\s+(?:and|und|u\.|et|e|y|en|och|og|ja|oraz|i|és|ve|și|si|и|і|та|和|と|및)\s+",
    re.IGNORECASE,
)
_RANGE_WORD = re.compile(
    r"(?<=\d)\s?:\s?(?=[A-Za-z]{1,4}\d)|\s*,\s*\.{2,5}\s*,\s*|\s*(?:\.{2,5}|…|~|÷|→|->)\s*"
    r"|(?<=\d)\s+(?:to|thru|through|till|until|bis|à|al|até|hasta|t/m|tot|do|až|až do|til|до|по)"
    r"\s+(?=[^\W\d]{0,4}\d)|(?<=\d)\s?(?:至|到|から)\s?(?=[^\W\d]{0,4}\d)",
    re.IGNORECASE,
)
_FROM_WORD = re.compile(r"(?:from|von|de|da|dal|du|del|od|с|fra|från)\s+(?=[^\W\d]{1,4}\d)", re.IGNORECASE)
_TO_OR_AND = re.compile(r"(?<=\d)\s+a\s+(?=[A-Za-z]{1,4}\d)", re.IGNORECASE)
_TO = "\ue000"
_EITHER = "\ue001"
"""Stands for `a`: `to` in three languages, `and` in two; the quantity decides."""
_SPACED_DASH = re.compile(r"(?:(?<=\d)|(?<=\d[A-Za-z]))(?:\s*-\s+|\s+-\s*)(?=[^\W\d]{0,12}[_$]?\s?\d)", re.IGNORECASE)
_RANGE = re.compile(r"(\S*?[^\W\d]|\S*?[_$])(\d{1,18})(-|\ue000|\ue001)(\S*?[^\W\d]|\S*?[_$]|)(\d{1,18})")
_LETTER_RANGE = re.compile(r"(\w*\d)([A-Z])(?:-|\ue000)(\w*\d)([A-Z])")
_REMARK = re.compile(r"(?<=[\s,;\w])\(([^()]*)\)")
_RUN = re.compile(r"(?:[A-Za-z]{1,4}[0-9]{1,4}){2,}")
_RUN_PART = re.compile(r"[A-Za-z]{1,4}[0-9]{1,4}")
_LETTERS_ONLY = re.compile(r"[A-Za-z]{1,6}")
_NUMBER_ONLY = re.compile(r"\d{1,5}")
_SHORT_FOLLOW = re.compile(r"(\d{1,5})(?:-(\d{1,5}))?")
_SLASHED = re.compile(r"[A-Za-z]{1,4}\d{1,4}(?:[/+][A-Za-z]{1,4}\d{1,4})+")
_SLASHED_RANGES = re.compile(
    r"[A-Za-z]{1,4}\d{1,4}(?:-[A-Za-z]{0,4}\d{1,4})?(?:/[A-Za-z]{1,4}\d{1,4}(?:-[A-Za-z]{0,4}\d{1,4})?)+"
)
_SLASHED_NUMBERS = re.compile(r"([A-Za-z]{1,3})(\d{1,4}(?:/\d{1,4})+)")
_NOTHING = frozenset(["-", "--", "---", "—", "~", "n/a", "na", "n.a.", "none", "*", "?", ".", "/", "tbd", "nil", "x"])
_AND_SO_ON = frozenset(["ETC", "USW", "U.S.W", "ECC", "ITD", "ATD", "ENZ"])
_SHEET_ERROR = re.compile(r"#(?:N/A|REF!|NAME\?|VALUE!|DIV/0!|NULL!|NUM!|NV|BEZUG!|WERT!)", re.IGNORECASE)
_MARKS = frozenset(["DNP", "DNI", "DNF", "DNS", "DNM", "NOSTUFF", "NOPOP", "NOFIT", "NOMOUNT", "N/F", "N/P", "N.B."])
"""Codes for `leave empty`: behind a designator they are a remark, never a designator of their own."""
_SPLIT_REF = re.compile(r"(.*?)(\d+)([A-Za-z]?)")


class Cell(NamedTuple):
    """What a designator cell names: the designators in order, what could not be read, and whether it is in doubt."""

    refs: tuple[str, ...]
    unread: tuple[str, ...] = ()
    doubtful: bool = False
    remark: str = ""
    """What stands in brackets behind designators: `R5 (DNP)`."""


class _Reading(NamedTuple):
    """One piece of a cell and its possible meanings, the likeliest first."""

    meanings: tuple[tuple[str, ...], ...]


def expand_cell(text: str, quantity: int | None = None, known: Collection[str] = ()) -> Cell:
    """Return the designators of a cell, with the row's quantity and the designators known elsewhere as evidence.

    >>> expand_cell("C1-C3, C11").refs
    ('C1', 'C2', 'C3', 'C11')
    >>> expand_cell("LED1-8", 8).refs == expand_cell("LED1..LED8").refs
    True
    >>> expand_cell("J1-2", 1).refs, expand_cell("R1R2R3").refs, expand_cell("VBAT+ U$1 3.3V", 3).refs
    (('J1-2',), ('R1', 'R2', 'R3'), ('VBAT+', 'U$1', '3.3V'))
    """
    if _PLAIN.fullmatch(text):
        return Cell((text.upper(),))
    cleaned = _cleaned(text)
    if cleaned.casefold() in _NOTHING or not cleaned or _SHEET_ERROR.fullmatch(cleaned):
        return Cell(())
    bracketed = _REMARK.findall(cleaned) if "(" in cleaned else []
    readings, unread, marks = _pieces(_REMARK.sub(" ", cleaned) if bracketed else cleaned, quantity, known)
    refs, doubtful = _settled(readings, quantity)
    return Cell(tuple(dict.fromkeys(refs)), tuple(unread), doubtful, ", ".join([*bracketed, *marks]))


def _cleaned(text: str) -> str:
    if not text.isascii():
        text = unicodedata.normalize("NFKC", text.translate(_DASHES).replace("…", "..")).translate(_DASHES)
    return text.strip().strip("\"'`[]{}").strip(" ,;:")


def _pieces(text: str, quantity: int | None, known: Collection[str]) -> tuple[list[_Reading], list[str], list[str]]:
    readings: list[_Reading] = []
    unread: list[str] = []
    marks: list[str] = []
    before = ""
    ranges = _RANGE_WORD.sub(_TO, _TO_OR_AND.sub(_EITHER, text))
    for piece in _COMMAS.split(_FROM_WORD.sub("", ranges)):
        if not piece or not piece.strip():
            continue
        for token in _tokens(_SPACED_DASH.sub(_TO, piece.strip()), quantity):
            if readings and token.strip("-*:=_").upper() in _MARKS:
                marks.append(token)
                continue
            reading = _read_token(token, before, known)
            if reading is None and token.strip("-:=*"):
                unread.append(token.replace(_TO, " - "))
            elif reading is not None:
                readings.append(reading)
                before = reading.meanings[0][-1]
    return readings, unread, marks


def _tokens(piece: str, quantity: int | None) -> list[str]:
    """Split a piece at blanks where that gives designators; a name written with a blank (`C 5`) stays whole."""
    words = piece.split()
    if len(words) == 1:
        return words
    joined: list[str] = []
    for word in words:
        if joined and _NUMBER_ONLY.fullmatch(word) and _LETTERS_ONLY.fullmatch(joined[-1]):
            joined[-1] += word
        else:
            joined.append(word)
    if any(len(word) > 2 and word.isalpha() and word.islower() for word in joined):
        return [piece]
    shaped = sum(looks_numbered(canonical(word)) or _TO in word or _EITHER in word or "-" in word for word in joined)
    if (
        quantity == len(joined)
        or 2 * shaped >= len(joined)
        or all(is_designator(w) and not w.isalpha() for w in joined)
    ):
        return joined
    return ["".join(words)] if len(words) <= 4 and len(piece) <= 30 else [piece]


def _read_token(token: str, before: str, known: Collection[str]) -> _Reading | None:
    ref = canonical(token)
    if len(ref) > 80 or len(token.split()) > 1 or ref.rstrip(".") in _AND_SO_ON:
        return None
    if (plain := ref.replace(_TO, "-")).count("-") and _SLASHED_RANGES.fullmatch(plain) and "/" in plain:
        read = [_read_token(part.replace("-", _TO), "", known) for part in plain.split("/")]
        if all(read):
            return _Reading((tuple(r for one in read if one for r in one.meanings[0]), (plain,)))
    if match := _RANGE.fullmatch(ref):
        meanings = _range_meanings(ref, match, known)
        return _Reading(meanings) if meanings else None
    if letters := _letter_range(ref):
        return _Reading(letters)
    if before and (follow := _SHORT_FOLLOW.fullmatch(ref.replace(_TO, "-"))) and (short := _followed(before, follow)):
        return _Reading((short, (ref.replace(_TO, "-"),)))
    if _RUN.fullmatch(ref) and (run := _run_together(ref)):
        return _Reading(run)
    if _SLASHED.fullmatch(ref):
        return _Reading((tuple(re.split("[/+]", ref)), (ref,)))
    if numbers := _SLASHED_NUMBERS.fullmatch(ref):
        places = tuple(numbers[1] + figure for figure in numbers[2].split("/"))
        return _Reading((places, (ref,)) if len(places) > 2 else ((ref,), places))
    ref = ref.replace(_TO, "-")
    return _Reading(((ref,),)) if is_designator(ref) else None


def _range_meanings(ref: str, match: re.Match[str], known: Collection[str]) -> tuple[tuple[str, ...], ...]:
    """Return range and name, likeliest first; empty where the figures forbid both."""
    stem, first, dash, stem2, last = match.groups()
    stem, stem2 = canonical(stem + "1")[:-1], canonical(stem2 + "1")[:-1]
    name = (ref.replace(_TO, "-").replace(_EITHER, "-"),)
    low, high = int(first), int(last)
    if stem2 not in ("", stem) or high == low:
        return (name,)
    if abs(high - low) >= LONGEST_RANGE:
        return ()
    width = len(first) if first.startswith("0") else 0
    step = 1 if high > low else -1
    places = tuple(f"{stem}{n:0{width}d}" for n in range(low, high + step, step))
    if dash == _EITHER:
        return (places, (stem + first, stem + last))
    if dash == _TO or stem2:
        return (places, name)
    likely_name = high < low or len(places) < 3 or name[0] in known or stem + first in known
    return (name, places) if likely_name else (places, name)


def _letter_range(ref: str) -> tuple[tuple[str, ...], ...]:
    """`U1A-U1D`: one part in four pieces, written as a range of letters; the quantity has to say so."""
    match = _LETTER_RANGE.fullmatch(ref)
    if not match or match[1] != match[3] or match[2] >= match[4]:
        return ()
    name = (ref.replace(_TO, "-"),)
    pieces = tuple(match[1] + chr(c) for c in range(ord(match[2]), ord(match[4]) + 1))
    return (pieces, name) if _TO in ref else (name, pieces)


def _followed(before: str, follow: re.Match[str]) -> tuple[str, ...]:
    """`R1, 2, 5-7`: bare figures go on with the letters before them."""
    stem = _SPLIT_REF.fullmatch(before)
    if not stem or not stem[1] or stem[3]:
        return ()
    low, high = int(follow[1]), int(follow[2] or follow[1])
    if not 0 <= high - low < LONGEST_RANGE:
        return ()
    return tuple(f"{stem[1]}{n}" for n in range(low, high + 1))


def _run_together(ref: str) -> tuple[tuple[str, ...], ...]:
    """`R1R2R3` is three places; `U1A1` or `CON2X20` is one name, unless the quantity says otherwise."""
    parts = tuple(_RUN_PART.findall(ref))
    same = len({part.rstrip("0123456789") for part in parts}) == 1
    return (parts, (ref,)) if same else ((ref,), parts)


def _settled(readings: list[_Reading], quantity: int | None) -> tuple[list[str], bool]:
    """Choose between the meanings: the whole row must come nearest to the quantity; without one, the likeliest."""
    open_ones = [reading for reading in readings if len(reading.meanings) > 1]
    likeliest = [ref for reading in readings for ref in reading.meanings[0]]
    if not open_ones:
        return likeliest, False
    if quantity is None or quantity <= 0:
        return likeliest, any(len(r.meanings[0]) == 1 or len(r.meanings[0]) == 2 for r in open_ones)
    others = [ref for reading in readings for ref in reading.meanings[-1 if len(reading.meanings) > 1 else 0]]
    if len(set(others)) == quantity != len(set(likeliest)):
        return others, False
    mixed = _mixed(readings, quantity)
    if mixed and len(set(likeliest)) != quantity:
        return mixed, False
    far = abs(len(set(likeliest)) - quantity) > abs(len(set(others)) - quantity)
    return (others if far else likeliest), len(set(likeliest)) != quantity


def _mixed(readings: list[_Reading], quantity: int) -> list[str]:
    """Some pieces names and some ranges: take the one combination that gives the quantity, if only one does."""
    options = [reading.meanings for reading in readings]
    if sum(len(o) > 1 for o in options) > 10:
        return []
    rows: list[list[str]] = [[]]
    for meanings in options:
        rows = [[*row, *meaning] for row in rows for meaning in meanings]
    fitting = [row for row in rows if len(set(row)) == quantity]
    return fitting[0] if len(fitting) == 1 else []
