"""CSV for spreadsheets: every cell that a spreadsheet would run as a formula is made inert."""

import csv
import io
from collections.abc import Iterable, Sequence

_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n")


def inert(cell: str) -> str:
    """Return the cell with an apostrophe before what a spreadsheet would take for a formula; plain numbers stay.

    >>> inert("=1+1"), inert("-3.5"), inert("+5V")
    ("'=1+1", '-3.5', "'+5V")
    """
    if not cell.startswith(_FORMULA_STARTS):
        return cell
    try:
        float(cell)
    except ValueError:
        return f"'{cell}"
    return cell


def table_text(headings: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """Return a CSV table as text, safe to open in a spreadsheet."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(headings)
    writer.writerows([inert("" if cell is None else str(cell)) for cell in row] for row in rows)
    return out.getvalue()
