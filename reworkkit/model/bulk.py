"""Many records at once: long lists are read and compared a column at a time."""

from collections.abc import Iterable
from itertools import repeat
from typing import Any, TypeVar

Record = TypeVar("Record", bound=tuple[Any, ...])


def records(kind: type[Record], *columns: Iterable[Any]) -> list[Record]:
    """Return a record for each place of the columns, which stand in the order of its fields; the shortest ends it.

    Twice as fast as calling the class, which matters for 100,000 rows.

    >>> from reworkkit.model.values import Where
    >>> records(Where, repeat("bom.csv"), [2, 3])
    [Where(file='bom.csv', line=2), Where(file='bom.csv', line=3)]
    """
    return list(map(tuple.__new__, repeat(kind), zip(*columns, strict=False)))
