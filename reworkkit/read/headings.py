"""Which column is what: headings looked up in `tables/headings.csv`, and the cells asked where a heading is vague."""

import re
from collections.abc import Collection, Mapping, Sequence
from functools import cache
from typing import NamedTuple

from reworkkit.model.designator import canonical, looks_numbered
from reworkkit.model.designator_cell import expand_cell
from reworkkit.read.text import visible
from reworkkit.tables import rows

_NOT_WORD = re.compile(r"[\W_]+")
_SAMPLE = 300
_STRONG_WORDS = frozenset(["designator", "designators", "refdes", "reference", "references", "ref", "refs"])
_NOT_A_PLACE = frozenset(["supplier", "vendor", "manufacturer", "order", "library", "lib"])
_OTHER_COLUMNS = frozenset(["value", "package", "x", "y", "rotation", "side"])
_QUANTITY_WORDS = frozenset(["qty", "quantity", "menge", "anzahl", "qté", "cantidad", "数量", "pcs"])


class Alias(NamedTuple):
    """One meaning of a heading; rank 1 says so plainly, 2 usually, 3 only where the cells agree."""

    role: str
    rank: int


class Columns(NamedTuple):
    """The columns found: role -> index; and which of them only the cells made certain (role -> heading)."""

    roles: dict[str, int]
    by_cells: dict[str, str]


def folded(heading: str) -> str:
    """Return a heading as it is looked up: visible characters, lower case, runs of signs as one blank.

    >>> folded(" Part_Number(s)"), folded("№ Qté.")
    ('part number s', 'no qté')
    """
    return _NOT_WORD.sub(" ", visible(heading).casefold()).strip()


@cache
def _aliases() -> dict[str, tuple[Alias, ...]]:
    found: dict[str, list[Alias]] = {}
    for row in rows("headings"):
        found.setdefault(folded(row["heading"]), []).append(Alias(row["role"], int(row["rank"])))
    return {heading: tuple(sorted(set(a), key=lambda alias: alias.rank)) for heading, a in found.items()}


@cache
def meanings(heading: str) -> tuple[Alias, ...]:
    """Return what a heading may mean, plainest first; empty where nobody knows it."""
    text = folded(heading)
    known = _aliases()
    if text in known:
        return known[text]
    for shorter in (text.removesuffix(" s"), text.replace(" ", ""), re.sub(r"\s*\d+$", "", text), _without_unit(text)):
        if shorter and shorter in known:
            return known[shorter]
    words = frozenset(text.split())
    others = {alias.role for word in words - _STRONG_WORDS for alias in known.get(word, ()) if alias.rank == 1}
    if len(words) > 4 or others & _OTHER_COLUMNS or words & _NOT_A_PLACE:
        return ()
    if words & _STRONG_WORDS:
        return (Alias("designator", 3),)
    if words & _QUANTITY_WORDS:
        return (Alias("quantity", 2),)
    return ()


def _without_unit(text: str) -> str:
    words = [word for word in text.split() if word not in ("mm", "mil", "mils", "inch", "in", "deg", "degrees", "eur")]
    return " ".join(words)


def roles_in(cells: Sequence[str], wanted: Collection[str]) -> set[str]:
    """Return the roles that the cells of a row name, if it were the heading row."""
    return {alias.role for cell in cells if cell and len(cell) < 60 for alias in meanings(cell) if alias.role in wanted}


def heading_cells(cells: Sequence[str], wanted: Collection[str]) -> int:
    """Return how many cells of a row are headings that somebody knows."""
    return sum(any(a.role in wanted for a in meanings(cell)) for cell in cells if cell and len(cell) < 60)


def find_columns(
    headings: Sequence[str], body: Sequence[Sequence[str]], wanted: Collection[str], said: Mapping[str, str]
) -> Columns:
    """Give each wanted role its column: the person's word first, then the plainest heading, then what the cells say."""
    roles = said_columns(headings, said, wanted)
    by_cells: dict[str, str] = {}
    taken = set(roles.values())
    if "designator" in wanted and "designator" not in roles:
        index, sure = _designator_column(headings, body, taken)
        if index is not None:
            roles["designator"] = index
            taken.add(index)
            if not sure:
                by_cells["designator"] = headings[index]
    for rank in (1, 2, 3):
        for role in sorted(set(wanted) - set(roles), key=_ORDER.get):  # type: ignore[arg-type]
            fits = [i for i, h in enumerate(headings) if i not in taken and Alias(role, rank) in meanings(h)]
            index = _best_of(role, fits, body, roles)
            if index is not None:
                roles[role] = index
                taken.add(index)
    return Columns(roles, by_cells)


_ROLE_ORDER = (
    "designator quantity value package part_number description not_fitted fitted_flag manufacturer note "
    "x y rotation side xy state copy fits kind price stock location point reading unit mode hold_point swapped "
    "swept_position swept_a swept_b swept_celsius swept_amperes swept_seconds"
)
_ORDER = {role: n for n, role in enumerate(_ROLE_ORDER.split())}


def said_columns(headings: Sequence[str], said: Mapping[str, str], wanted: Collection[str]) -> dict[str, int]:
    """Return the columns that a person named: role -> index; a name that no heading has is left out."""
    plain = [folded(h) or h.strip() for h in headings]
    found = {}
    for role, name in said.items():
        key = folded(name) or name.strip()
        if role in wanted and key in plain:
            found[role] = plain.index(key)
        elif role in wanted and name.strip().isdigit() and 0 < int(name) <= len(headings):
            found[role] = int(name) - 1
    return found


def _best_of(role: str, fits: list[int], body: Sequence[Sequence[str]], roles: Mapping[str, int]) -> int | None:
    if role == "quantity" and "designator" in roles:
        told = {i: _quantity_agreement(i, roles["designator"], body) for i in fits}
        fits = [i for i in fits if told[i] >= 0]
        return max(fits, key=lambda i: (told[i], -i), default=None)
    if role == "value" or role == "part_number":
        return max(fits, key=lambda i: (_filled(i, body), -i), default=None)
    return fits[0] if fits else None


def _filled(index: int, body: Sequence[Sequence[str]]) -> bool:
    return any(index < len(row) and row[index].strip() for row in body[:_SAMPLE])


def _quantity_agreement(index: int, at: int, body: Sequence[Sequence[str]]) -> float:
    """Return the share of rows whose figure is the number of their designators; -1 where there are no figures."""
    figures = agree = filled = 0
    for row in body[:_SAMPLE]:
        if index >= len(row) or at >= len(row) or not row[at].strip() or not row[index].strip():
            continue
        filled += 1
        number = whole_number(row[index])
        figures += number is not None
        agree += number is not None and number == len(expand_cell(row[at], number).refs)
    return agree / figures if figures and 2 * figures >= filled else (-1.0 if filled else 0.0)


_NUMBER = re.compile(
    r"[x×*]?\s*(\d{1,9})(?:[.,]0+)?\s*(?:x|×|pcs?\.?|pieces?|stk\.?|stück|szt\.?|шт\.?|ks|個|个|ea\.?)?"
)


@cache
def whole_number(text: str) -> int | None:
    """Return a count as a whole number (`4`, `4.0`, `4 pcs`, `x4`); None for anything else.

    >>> [whole_number(t) for t in ("4", "4.0", "x4", "4 pcs", "0.5", "OPEN")]
    [4, 4, 4, 4, None, None]
    """
    match = _NUMBER.fullmatch(visible(text).casefold())
    return int(match[1]) if match else None


def designator_share(index: int, body: Sequence[Sequence[str]]) -> float:
    """Return the share of filled cells of a column (a sample) in which all that stands are numbered designators."""
    filled = shaped = 0
    for row in body[:_SAMPLE]:
        cell = row[index].strip() if index < len(row) else ""
        if cell:
            filled += 1
            shaped += _all_numbered(cell)
    return shaped / filled if filled else 0.0


def _all_numbered(cell: str) -> bool:
    if looks_numbered(cell):
        return True
    if len(cell) > 4000:
        cell = cell[:4000].rpartition(",")[0]
    found = expand_cell(cell)
    return bool(found.refs) and not found.unread and all(looks_numbered(canonical(ref)) for ref in found.refs)


def _designator_column(
    headings: Sequence[str], body: Sequence[Sequence[str]], taken: Collection[int]
) -> tuple[int | None, bool]:
    """Return the column of designators and whether its heading alone says so."""
    best: tuple[float, int, int] | None = None
    for index, heading in enumerate(headings):
        ranks = [alias.rank for alias in meanings(heading) if alias.role == "designator"]
        if not ranks or index in taken:
            continue
        share = designator_share(index, body)
        if (ranks[0] == 3 and share < 0.5) or (ranks[0] == 2 and share < 0.3 and _filled(index, body)):
            continue
        if share < 0.05 and _filled(index, body) and not _short_names(index, body):
            continue
        score = share + {1: 1.0, 2: 0.5, 3: 0.0}[ranks[0]]
        if best is None or score > best[0]:
            best = (score, index, ranks[0])
    return (best[1], best[2] < 3) if best else (None, False)


def _short_names(index: int, body: Sequence[Sequence[str]]) -> bool:
    """A column headed as designators whose cells are all names without a figure (`OLED`, `VBAT+`), none told twice."""
    cells = [row[index].strip() for row in body[:_SAMPLE] if index < len(row) and row[index].strip()]
    return len(set(cells)) == len(cells) and all(len(c) <= 16 and " " not in c and ":" not in c for c in cells)
