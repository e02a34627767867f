"""The words of a row of the parts list: what a part is, and what it is for, wherever the list has them."""

from functools import cache

from reworkkit.model.part import PartLine
from reworkkit.read.heading_words import meanings, says_part

_FOR = "for: "
"""Before the words of a column that says what a part is for, behind those that say what it is."""


def described(line: PartLine) -> str:
    """Return the description of a row with what further columns say: the sort of part, then what it is for.

    A list may have a column "Type" with "Schottky diode" beside one "Purpose" with "across the fan".
    """
    sorts = [text for heading, text in line.extra if _says(heading) == "description" and not text.isdecimal()]
    purposes = [text for heading, text in line.extra if _says(heading) == "purpose"]
    told = [text for text in (line.description, *sorts) if text]
    told += [_FOR + ", ".join(purposes)] if purposes else []
    return "; ".join(told)


@cache
def _says(heading: str) -> str:
    """Return whether a column that has no other use says what parts are, or what they are for."""
    told = (a.role for a in meanings(heading) if a.role in ("description", "purpose"))
    return next(told, "description" if says_part(heading) else "")


def told_apart(description: str) -> tuple[str, str]:
    """Return the words that say what a part is, and those of columns that say what it is for.

    >>> told_apart("Schottky diode; for: across the fan"), told_apart("for: gate of Q2"), told_apart("for testing")
    (('Schottky diode', 'across the fan'), ('', 'gate of Q2'), ('for testing', ''))
    """
    before, mark, purpose = description.rpartition(_FOR)
    return (before.removesuffix("; "), purpose) if mark else (description, "")
