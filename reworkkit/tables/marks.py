"""Lookups that read and compute share: the row of a kind, and what the mark of a construction means."""

from functools import cache

from reworkkit import tables
from reworkkit.model.part import PartIdentity
from reworkkit.model.results import PolarityMark


@cache
def _kind_rows() -> dict[str, tables.Row]:
    return {row["key"]: row for row in tables.rows("part_kinds")}


def kind_row(key: str) -> tables.Row:
    """Return the row of `part_kinds.csv` of a kind; the row of `unknown` for a key that is not there.

    >>> kind_row("led")["polarised"], kind_row("gadget")["key"]
    ('yes', 'unknown')
    """
    return _kind_rows().get(key, _kind_rows()["unknown"])


def mark_for(identity: PartIdentity) -> PolarityMark | None:
    """Return what the mark of this part's construction means; None where the construction is not known.

    The kind and the outline together give the construction: there is no rule for a family.
    """
    return _mark(identity.kind, identity.package.mark if identity.package else "")


@cache
def _mark(kind: str, outline: str) -> PolarityMark | None:
    made = dict(pair.split(":", 1) for pair in kind_row(kind)["marks"].split())
    construction = made.get(outline) or made.get("*")
    row = next((row for row in tables.rows("polarity_marks") if row["construction"] == construction), None)
    if row is None:
        return None
    authority = tables.source(row["source"], row["place"])
    return PolarityMark(row["construction"], row["mark"], row["terminal"], row["reliable"] == "yes", authority)


_NOT_AGAIN = ("ceramic", "tantalum", "electrolytic")


def not_fitted_again(kind: str) -> bool:
    """Return whether a part of this kind is never fitted again once removed (common practice, no source).

    >>> not_fitted_again("capacitor_tantalum"), not_fitted_again("resistor")
    (True, False)
    """
    return any(word in kind for word in _NOT_AGAIN)
