"""What the cells of a column say about it, whatever its heading: designators, a count of them, values."""

import re
from collections.abc import Collection, Sequence
from functools import cache

from reworkkit.model.designator import canonical, class_letters, looks_numbered
from reworkkit.model.designator_cell import expand_cell
from reworkkit.read.text import visible
from reworkkit.tables import rows

Body = Sequence[Sequence[str]]

_SAMPLE = 300
_LONGEST = 4000
"""Of cells longer than this only the beginning is looked at for evidence."""
_NUMBER = re.compile(
    r"[x×*]?\s*(\d{1,9})(?:[.,]0+)?\s*(?:x|×|pcs?\.?|pieces?|off|nos?\.?|stk\.?|stck\.?|st\.?|stück|szt\.?|шт\.?|бр\.?|ks\.?|kpl|db\.?"
    r"|uds?\.?|un\.?|unid\.?|pz\.?|buc\.?|adet|個|个|只|片|개|ea\.?)?"
)
_VALUE = re.compile(
    r"\W*\d+(?:[.,]\d+)?\s?(?:(?:[pnuµμmkKMRGΩ]|meg|ohms?|Ом|кОм|МОм|мк|нФ|пФ)\s?\d*|[EFHVWA]\b).*|\W*[RkKMpnuµ]\d+.*"
)
_PASSIVE = re.compile(r"\s*[RCL]\d")
_MORE_LETTERS = frozenset(
    [
        "IC",
        "CI",
        "DA",
        "DD",
        "VD",
        "VT",
        "HL",
        "XS",
        "XP",
        "XT",
        "SA",
        "SB",
        "TP",
        "FID",
        "H",
        "MH",
        "MK",
        "MP",
        "JMP",
        "CONN",
        "BZ",
        "LS",
        "M",
        "D",
        "ANT",
        "AE",
        "NT",
        "PS",
        "PL",
        "SK",
        "U",
        "Q",
        "TC",
        "CE",
        "RN",
        "EC",
        "ZD",
        "XL",
        "KK",
        "CON",
        "LD",
        "SP",
        "T",
        "IR",
        "VO",
        "BUZZER",
    ]
)


@cache
def _place_letters() -> frozenset[str]:
    return frozenset(row["letters"] for row in rows("class_letters")) | _MORE_LETTERS


def texts_of(index: int, body: Body) -> list[str]:
    """Return the filled cells of a column (a sample)."""
    return [row[index].strip() for row in body[:_SAMPLE] if index < len(row) and row[index].strip()]


@cache
def whole_number(text: str) -> int | None:
    """Return a count as a whole number (`4`, `4.0`, `4 pcs`, `x4`); None for anything else.

    >>> [whole_number(t) for t in ("4", "4.0", "x4", "4 St.", "0.5", "OPEN")]
    [4, 4, 4, 4, None, None]
    """
    match = _NUMBER.fullmatch(visible(text).casefold())
    return int(match[1]) if match else None


def designator_share(index: int, body: Body) -> float:
    """Return the share of filled cells of a column (a sample) in which all that stands are numbered designators."""
    cells = texts_of(index, body)
    return sum(map(_all_numbered, cells)) / len(cells) if cells else 0.0


def _all_numbered(cell: str) -> bool:
    if looks_numbered(cell):
        return True
    found = expand_cell(_beginning(cell))
    return bool(found.refs) and not found.unread and all(looks_numbered(canonical(ref)) for ref in found.refs)


def _beginning(cell: str) -> str:
    return cell if len(cell) <= _LONGEST else cell[:_LONGEST].rpartition(",")[0]


def refs_of(index: int, body: Body) -> list[str]:
    """Return the designators that the cells of a column name (a sample, of very long cells only the beginning)."""
    return [ref for cell in texts_of(index, body) for ref in expand_cell(_beginning(cell)).refs]


def place_share(index: int, body: Body) -> float:
    """Return how far the designators of a column are those of places: usual letters, short numbers, none twice.

    Part numbers (`BC547`, `L78M05`, `R0805`) have the shape of designators, but not this.
    """
    refs = refs_of(index, body)
    if not refs:
        return 0.0
    usual = sum(class_letters(ref) in _place_letters() and _short_number(ref) for ref in refs)
    return usual / len(refs) * len(set(refs)) / len(refs)


def _short_number(ref: str) -> bool:
    number = ref[len(class_letters(ref)) :]
    return number[:1] != "0" and len(number) <= 4 if number else False


def quantity_agreement(index: int, at: Sequence[int], body: Body) -> float:
    """Return the share of rows whose figure is the number of designators in the columns `at`.

    -1 where there are no figures, 0 where nothing is filled.
    """
    figures = agree = filled = 0
    for row in body[:_SAMPLE]:
        refs = ", ".join(row[n] for n in at if n < len(row) and row[n].strip())
        if index >= len(row) or not refs or len(refs) > _LONGEST or not row[index].strip():
            continue
        filled += 1
        number = whole_number(row[index])
        figures += number is not None
        agree += number is not None and number == len(expand_cell(refs, number).refs)
    return agree / figures if figures and 2 * figures >= filled else (-1.0 if filled else 0.0)


def best_agreement(at: Sequence[int], counts: Collection[int], body: Body) -> float:
    """Return the best agreement of any column of counts with the designators of the columns `at`; -1 without one."""
    return max((quantity_agreement(n, at, body) for n in counts if n not in at), default=-1.0)


def value_share(index: int, at: int, body: Body) -> float:
    """Return the share of resistors, capacitors and inductors whose cell opens with a value (`4k7`, `2,2 µF`)."""
    cells = [
        row[index].strip()
        for row in body[:_SAMPLE]
        if index < len(row) and at < len(row) and _PASSIVE.match(canonical(row[at][:12]))
    ]
    filled = [cell for cell in cells if cell]
    if 4 * len(filled) < len(cells) or not filled:
        return 0.0
    return sum(bool(_VALUE.fullmatch(visible(cell)[:80])) for cell in filled) / len(filled)


def short_names(index: int, body: Body) -> bool:
    """A column headed as designators whose cells are all names without a figure (`OLED`, `VBAT+`), none told twice."""
    cells = texts_of(index, body)
    return len(set(cells)) == len(cells) and all(len(c) <= 16 and " " not in c and ":" not in c for c in cells)
