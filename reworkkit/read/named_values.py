"""Rows of several designators whose one value cell tells each its own: `R8 180k, R9 18k`."""

import re

from reworkkit.model.part import PartLine


def told_apart_by_name(line: PartLine) -> tuple[PartLine, ...]:
    """Return a row as one row a designator where its value cell names each of them with a value behind, else as it is.

    >>> from reworkkit.model.values import Where
    >>> from reworkkit.model.vocabulary import Fit
    >>> row = PartLine(("R8", "R9"), "", "R8 180k, R9 = 18k", "", "", "", 2, Fit.FIT, None, (), Where("bom.csv", 2))
    >>> [(one.refs, one.value_text, one.quantity) for one in told_apart_by_name(row)]
    [(('R8',), '180k', 1), (('R9',), '18k', 1)]
    """
    if len(line.refs) < 2 or not line.value_text.upper().startswith(line.refs):
        return (line,)
    names = "|".join(sorted(map(re.escape, line.refs), key=len, reverse=True))
    found = re.split(rf"(?:^|[\s,;/]+)({names})(?![A-Za-z0-9])\s*[:=]?\s*", line.value_text, flags=re.IGNORECASE)
    values = {ref.upper(): value.strip() for ref, value in zip(found[1::2], found[2::2], strict=True)}
    if set(values) != set(line.refs) or not all(values.values()):
        return (line,)
    count = 1 if line.quantity == len(line.refs) else line.quantity
    return tuple(line._replace(refs=(ref,), value_text=values[ref], quantity=count) for ref in line.refs)
