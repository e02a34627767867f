"""Rows that belong to others: designators wrapped onto the next row, and a second table below the first."""

from collections.abc import Iterable, Iterator, Sequence

from reworkkit.model.designator import canonical, looks_numbered
from reworkkit.model.designator_cell import expand_cell
from reworkkit.read.column_cells import whole_number
from reworkkit.read.delimited_split import Row
from reworkkit.read.heading_words import meanings
from reworkkit.read.quirks import RowContext


def is_wrapped(cells: Sequence[str], before: Sequence[str], context: RowContext) -> bool:
    """Tell whether a row holds nothing but more designators of the row before it.

    The row before must end in a comma, or its quantity must need these, alone or with more below.
    """
    at = context.designator
    if at is None or at >= len(cells) or at >= len(before) or len(context.headings) < 2:
        return False
    text = cells[at].strip()
    if not text or sum(bool(cell.strip()) for cell in cells) != 1:
        return False
    refs = expand_cell(text).refs
    if not refs or not all(looks_numbered(canonical(ref)) for ref in refs):
        return False
    if before[at].rstrip().endswith((",", ";")):
        return True
    index = context.quantity
    wanted = whole_number(before[index]) if index is not None and index < len(before) else None
    return wanted is not None and wanted >= len(expand_cell(before[at]).refs) + len(refs)


def unwrapped(before: Row, cells: Sequence[str], context: RowContext) -> Row:
    """Return the row before with the wrapped designators put back."""
    at = context.designator or 0
    joined = f"{before.cells[at].rstrip().rstrip(',;')}, {cells[at].strip()}"
    return Row(before.line, [*before.cells[:at], joined, *before.cells[at + 1 :]])


def first_table(body: Iterable[Row], context: RowContext) -> Iterator[Row]:
    """Yield the rows under the headings, without those of another table (other headings) that stands below.

    Only a row after a gap can be another table's headings: a known heading where the designator would stand, and
    most of its other cells known too.
    """
    own, gap = True, False
    for row in body:
        filled = [cell.strip() for cell in row.cells if cell.strip()]
        if len(filled) < 2:
            gap = True
            if own:
                yield row
            continue
        if gap and _is_other_heading(row.cells, filled, context):
            same = [c.strip() for c in row.cells if c.strip()] == [c.strip() for c in context.heading if c.strip()]
            own = same
        if own:
            yield row
        gap = False


def _is_other_heading(cells: Sequence[str], filled: Sequence[str], context: RowContext) -> bool:
    at = context.designator
    if at is None or at >= len(cells) or not meanings(cells[at]) or looks_numbered(canonical(cells[at])):
        return False
    known = sum(len(cell) < 40 and bool(meanings(cell)) for cell in filled)
    return 2 * known >= len(filled) and known >= 2
