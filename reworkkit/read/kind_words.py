"""The words and numbers by which a list names the kinds of part."""

import re
from functools import cache
from typing import NamedTuple

from reworkkit import tables


class Kind(NamedTuple):
    """A row of part_kinds.csv made ready for matching."""

    key: str
    letters: frozenset[str]
    numbers: re.Pattern[str] | None
    row: tables.Row


@cache
def kinds() -> dict[str, Kind]:
    """Return the kinds of part by key."""
    return {row["key"]: _ready(row) for row in tables.rows("part_kinds")}


def _ready(row: tables.Row) -> Kind:
    numbers = "|".join(row["numbers"].split())
    pattern = re.compile(f"(?:{numbers})", re.IGNORECASE) if numbers else None
    return Kind(row["key"], frozenset(row["letters"].split()), pattern, row)


@cache
def words() -> tuple[re.Pattern[str], dict[str, tuple[Kind, ...]]]:
    """Return one pattern for all words of the table, longest first, and the kinds of each word.

    A word matches whole, with * behind it any ending, with * before it any beginning (`Printrelais`); letters of any
    script count as letters.
    """
    by_word: dict[str, tuple[Kind, ...]] = {}
    forms = set()
    for kind in kinds().values():
        for word in filter(None, kind.row["words"].casefold().split("|")):
            stem = word.strip("*")
            by_word[stem] = (*by_word.get(stem, ()), kind)
            forms.add((word.startswith("*"), stem, "" if word.endswith("*") else r"(?![^\W_])"))
    longest_first = sorted(forms, key=lambda form: (-len(form[1]), form))
    whole, ending = (
        "|".join(re.escape(w) + end for any_, w, end in longest_first if any_ is at) for at in (False, True)
    )
    return re.compile(rf"(?<![^\W_])(?:{whole})|{ending}"), by_word


def kind_named(text: str) -> str | None:
    """Return the key of the kind that a person names (`linear regulator`, `LED`, `Schottky diode`), or None.

    A word that means one kind alone names it too: `buck converter`.

    >>> kind_named("linear regulator"), kind_named("Magnetic current sensor"), kind_named("gadget")
    ('linear_regulator', 'magnetic_current_sensor', None)
    >>> kind_named("buck converter"), kind_named("flux capacitor")
    ('switching_regulator', None)
    """
    plain = re.sub(r"[\s_-]+", " ", text.strip().casefold())
    for key, kind in kinds().items():
        if plain in (key.replace("_", " "), kind.row["name"].casefold().replace("-", " ")):
            return key
    by_word = words()[1].get(text.strip().casefold(), ())
    return by_word[0].key if len(by_word) == 1 else None
