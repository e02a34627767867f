"""Which column is what: by what its heading means, and by its cells where a heading is vague."""

from collections.abc import Collection, Mapping, Sequence
from itertools import pairwise
from typing import NamedTuple

from reworkkit.read.column_cells import (
    Body,
    best_agreement,
    designator_share,
    place_share,
    quantity_agreement,
    refs_of,
    short_names,
    texts_of,
    value_share,
    whole_number,
)
from reworkkit.read.heading_words import Alias, folded, meanings, says_part


class Columns(NamedTuple):
    """The columns found: role -> index; and which of them only the cells made certain (role -> heading)."""

    roles: dict[str, int]
    by_cells: dict[str, str]
    more_designators: tuple[int, ...] = ()
    """Further columns that go on with the designators of a row."""


def find_columns(headings: Sequence[str], body: Body, wanted: Collection[str], said: Mapping[str, str]) -> Columns:
    """Give each wanted role its column: the person's word first, then the plainest heading, then what the cells say."""
    roles = said_columns(headings, said, wanted)
    is_list = "value" in wanted and "quantity" in wanted
    by_cells: dict[str, str] = {}
    taken = set(roles.values())
    if "designator" in wanted and "designator" not in roles:
        index, sure = _designator_column(headings, body, taken, is_list)
        if index is not None:
            roles["designator"] = index
            taken.add(index)
            if not sure:
                by_cells["designator"] = headings[index]
    also: list[int] = []
    if "designator" in roles and is_list:
        also = [i for i in further_designators(headings, body, roles["designator"]) if i not in taken]
        taken |= set(also)
    for rank in (1, 2, 3):
        for role in sorted(set(wanted) - set(roles), key=_ORDER.get):  # type: ignore[arg-type]
            fits = [i for i, h in enumerate(headings) if i not in taken and Alias(role, rank) in meanings(h)]
            fits = [i for i in fits if role not in ("value", "part_number", "description") or not _counts_rows(i, body)]
            index = _best_of(role, fits, body, roles, also)
            if index is not None:
                roles[role] = index
                taken.add(index)
    if "designator" in roles and is_list:
        roles, by_cells = _with_values(headings, body, roles, by_cells)
    return Columns(_described(headings, body, roles, also) if is_list else roles, by_cells, tuple(also))


def _with_values(
    headings: Sequence[str], body: Body, roles: dict[str, int], by_cells: dict[str, str]
) -> tuple[dict[str, int], dict[str, str]]:
    """Return the columns of a list with that of the values, where only its cells or a word for part tell it."""
    if "value" not in roles:
        free = (i for i, h in enumerate(headings) if i not in roles.values() and says_part(h))
        left = [i for i in free if any(whole_number(text) is None for text in texts_of(i, body))]
        roles = roles | ({"value": left[0]} if left else {})
    index = _values_elsewhere(headings, body, roles)
    if index is None:
        return roles, by_cells
    told = {"description": roles["value"]} if "value" in roles and "description" not in roles else {}
    kept = {role: at for role, at in roles.items() if at != index}
    return kept | told | {"value": index}, by_cells | {"value": headings[index]}


def _described(headings: Sequence[str], body: Body, roles: dict[str, int], also: Sequence[int]) -> dict[str, int]:
    """Return the columns of a list; where none tells what the parts are, the only other one with words does, or notes.

    So a person's own heading is read ("what I used").
    """
    if roles.keys() & {"value", "part_number", "description"}:
        return roles
    free = (i for i, _ in enumerate(headings) if i not in roles.values() and i not in also)
    left = [i for i in free if any(whole_number(text) is None for text in texts_of(i, body))]
    index = left[0] if len(left) == 1 else roles.get("note")
    return roles if index is None else roles | {"description": index}


def _values_elsewhere(headings: Sequence[str], body: Body, roles: Mapping[str, int]) -> int | None:
    """Return the column whose cells are values where none is headed so, or one is loosely and its cells deny it."""
    at, place = roles.get("value"), roles["designator"]
    if at is not None and texts_of(at, body) and Alias("value", 1) in meanings(headings[at]):
        return None
    found = _value_by_cells(headings, body, roles)
    if at is None or found is None:
        return found
    return None if 2 * value_share(at, place, body) > value_share(found, place, body) else found


_ROLE_ORDER = (
    "designator quantity value package part_number description not_fitted fitted_flag manufacturer note purpose "
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


def _counts_rows(index: int, body: Body) -> bool:
    """Return whether a column only numbers the rows: 1 2 3 or 10 20 30, three of them at least."""
    texts = texts_of(index, body)
    if len(texts) < 3 or not all(text.strip(" .").isdecimal() for text in texts):
        return False
    steps = {int(after.strip(" .")) - int(before.strip(" .")) for before, after in pairwise(texts)}
    return len(steps) == 1 and steps <= {1, 10}


def _best_of(role: str, fits: list[int], body: Body, roles: Mapping[str, int], also: Sequence[int]) -> int | None:
    if role == "quantity" and "designator" in roles:
        told = {i: quantity_agreement(i, (roles["designator"], *also), body) for i in fits}
        fits = [i for i in fits if told[i] >= 0]
        return max(fits, key=lambda i: (told[i], -i), default=None)
    if role == "value" or role == "part_number":
        return max(fits, key=lambda i: (bool(texts_of(i, body)), -i), default=None)
    return fits[0] if fits else None


def _designator_column(
    headings: Sequence[str], body: Body, taken: Collection[int], by_cells_too: bool
) -> tuple[int | None, bool]:
    """Return the column of designators and whether its heading alone says so."""
    counts = _count_columns(headings, body)
    best: tuple[float, int, int] | None = None
    for index, heading in enumerate(headings):
        ranks = [alias.rank for alias in meanings(heading) if alias.role == "designator"]
        if not ranks or index in taken:
            continue
        share = designator_share(index, body)
        filled = bool(texts_of(index, body))
        if (ranks[0] == 3 and share < 0.5) or (ranks[0] == 2 and share < 0.3 and filled):
            continue
        if share < 0.05 and filled and not short_names(index, body):
            continue
        bonus = 1.5 * best_agreement((index,), counts, body) + place_share(index, body) if share > 0.5 else 0.0
        score = share + {1: 1.0, 2: 0.5, 3: 0.0}[ranks[0]] + max(bonus, 0.0)
        if best is None or score > best[0]:
            best = (score, index, ranks[0])
    if by_cells_too and (best is None or place_share(best[1], body) < 0.5):
        by_cells = _designators_by_cells(headings, body, [*taken, *([best[1]] if best else [])], counts)
        if by_cells is not None:
            return by_cells, False
    return (best[1], best[2] < 3) if best else (None, False)


def _count_columns(headings: Sequence[str], body: Body) -> list[int]:
    return [i for i, h in enumerate(headings) if any(a.role == "quantity" for a in meanings(h)) and texts_of(i, body)]


def _designators_by_cells(
    headings: Sequence[str], body: Body, taken: Collection[int], counts: Sequence[int]
) -> int | None:
    """Return the one column that no heading names but whose cells can only be places; None where it is not certain."""
    found: list[int] = []
    weaker: list[int] = []
    for index, heading in enumerate(headings):
        texts = texts_of(index, body)
        plain = [alias.role for alias in meanings(heading) if alias.rank == 1]
        known = any(role not in ("designator", "quantity") for role in plain) or (
            "quantity" in plain and any(whole_number(text) is not None for text in texts)
        )
        if index in taken or known or len(texts) < 2:
            continue
        if min(designator_share(index, body) / 0.9, place_share(index, body) / 0.85) < (0.7 if _names(texts) else 1.0):
            continue
        agreement = best_agreement((index,), counts, body)
        several = any("," in text or " " in text for text in texts)
        if agreement >= 0.8 or (agreement < 0 and (several or len(texts) >= 3)) or _is_side(heading):
            found.append(index)
        elif len(texts) >= 3 and place_share(index, body) >= 0.95:
            weaker.append(index)
    if len(found) > 1 and not set(found[1:]) <= set(further_designators(headings, body, found[0])):
        return None
    if not found and len(weaker) == 1:
        return weaker[0]
    return found[0] if found else None


def _names(texts: Sequence[str]) -> bool:
    """Return whether all cells are in capitals without a blank, at most five of them, and none stands twice."""
    return len(set(texts)) == len(texts) and all(len(text) <= 5 and text.isalnum() and text.isupper() for text in texts)


_SIDES = frozenset(
    [
        "top",
        "bottom",
        "front",
        "back",
        "oben",
        "unten",
        "dessus",
        "dessous",
        "arriba",
        "abajo",
        "sopra",
        "sotto",
        "顶层",
        "底层",
        "表",
        "裏",
        "верх",
        "низ",
    ]
)


def _is_side(heading: str) -> bool:
    return bool(set(folded(heading).split()) & _SIDES)


def further_designators(headings: Sequence[str], body: Body, at: int) -> list[int]:
    """Return the further columns that go on with the designators of column `at`: `Ref 2`, `Bottom`, or no heading.

    They must name other places, and where the list counts, the count must need them. Two whole tables side by side
    (another heading stands twice) are no such case.
    """
    named = [folded(h) for i, h in enumerate(headings) if h and not _says_designator(h)]
    if len(set(named)) < len(named):
        return []
    counts = _count_columns(headings, body)
    known = set(refs_of(at, body))
    more: list[int] = []
    for index, heading in enumerate(headings):
        plain = not heading.strip() or _says_designator(heading) or _is_side(heading)
        if index == at or (meanings(heading) and not plain) or designator_share(index, body) < 0.9:
            continue
        refs = set(refs_of(index, body))
        if refs & known or place_share(index, body) < 0.85:
            continue
        gained = best_agreement((at, *more, index), counts, body) - best_agreement((at, *more), counts, body)
        if (plain and gained >= 0 and (heading.strip() or gained > 0)) or gained > 0:
            more.append(index)
            known |= refs
    return more


def _says_designator(heading: str) -> bool:
    return any(alias.role == "designator" and alias.rank < 3 for alias in meanings(heading))


def _value_by_cells(headings: Sequence[str], body: Body, roles: Mapping[str, int]) -> int | None:
    """Return the column whose cells are values where no heading says so; a description may have to give its column."""
    at = roles["designator"]
    own = {index for role, index in roles.items() if role not in ("description", "part_number", "note")}
    shares = [
        (value_share(i, at, body), -i)
        for i, h in enumerate(headings)
        if i not in own and not any(a.role in ("price", "stock", "quantity") for a in meanings(h))
    ]
    share, index = max(shares, default=(0.0, 0))
    return -index if share >= 0.6 else None
