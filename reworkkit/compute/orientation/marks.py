"""How kinds of part are called in plain words; what their marks mean stands in `tables.marks`."""

from reworkkit.tables.marks import kind_row, mark_for

__all__ = ["kind_name", "mark_for"]


def kind_name(kind: str) -> str:
    """Return how a kind of part is called in plain words.

    >>> kind_name("capacitor_ceramic")
    'ceramic capacitor'
    """
    row = kind_row(kind)
    return row["name"] if row["key"] == kind else kind.replace("_", " ")
