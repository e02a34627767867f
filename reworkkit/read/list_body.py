"""The rows under the headings, mended: widths, wrapped rows, designators in several columns, rows that are no data."""

from collections.abc import Sequence
from itertools import pairwise

from reworkkit.model.designator import canonical, looks_numbered
from reworkkit.model.designator_cell import expand_cell
from reworkkit.model.messages import Finding, message
from reworkkit.model.values import Where
from reworkkit.model.vocabulary import Severity
from reworkkit.read.delimited_split import Row
from reworkkit.read.heading_words import meanings
from reworkkit.read.list_wrapped import first_table, is_wrapped, unwrapped
from reworkkit.read.quirks import RowContext, mended


def padded(row: Row, width: int) -> Row:
    """Return the row with blank cells up to the width."""
    return Row(row.line, [*row.cells, *[""] * (width - len(row.cells))])


def usual_width(headings: Sequence[str], body: Sequence[Row]) -> int:
    """Return the width of the table: the headings, or more where most rows carry cells under no heading.

    Cells that are designators spilled from their column (no quotes) make no column of their own.
    """
    width = len(headings)
    longer = [row.cells for row in body[:1000] if len(row.cells) > width and any(row.cells[width:])]
    filled = sum(any(row.cells) for row in body[:1000])
    if not longer or 2 * len(longer) <= filled:
        return width
    at = next(
        (i for i, h in enumerate(headings) if any(a.role == "designator" and a.rank < 3 for a in meanings(h))), -1
    )
    if at >= 0 and sum(_spilled(cells, at, width) for cells in longer) >= 0.8 * len(longer):
        return width
    return max(map(len, longer))


def _spilled(cells: Sequence[str], at: int, width: int) -> bool:
    filled = max(n for n, cell in enumerate(cells) if cell.strip()) + 1
    run = [cell for cell in cells[at : at + filled - width + 1] if cell.strip()]
    found = expand_cell(", ".join(run))
    return len(run) > 1 and all(looks_numbered(canonical(cell)) or cell.strip() in found.remark for cell in run)


def without_second_heading(heading: Row, body: Sequence[Row], at: int | None) -> Sequence[Row]:
    """Return the rows without a second line of headings right below the first."""
    first = next((n for n, row in enumerate(body[:3]) if any(cell.strip() for cell in row.cells)), None)
    if first is None or at is None or at >= len(body[first].cells):
        return body
    cells = body[first].cells
    filled = [cell for cell in cells if cell.strip()]
    named = sum(bool(meanings(cell)) and not any(c.isdigit() for c in cell) for cell in filled)
    if meanings(cells[at]) and not any(c.isdigit() for c in cells[at]) and 2 * named >= len(filled) and named > 1:
        return [*body[:first], *body[first + 1 :]]
    return body


def stacked(headings: list[str], body: Sequence[Row]) -> tuple[list[str], Sequence[Row], bool]:
    """Return one table for two or more with the same headings side by side, the further ones below the first."""
    starts = [i for i, heading in enumerate(headings) if i and heading and heading == headings[0]]
    if not starts or not headings[0]:
        return headings, body, False
    edges = [0, *starts, len(headings)]
    blocks = [headings[a:b] for a, b in pairwise(edges)]
    own = [heading for heading in blocks[0] if heading]
    if len(own) < 2 or any([heading for heading in block if heading] != own for block in blocks):
        return headings, body, False
    width = len(blocks[0])
    rows = [
        Row(row.line, [*row.cells[a:b], *[""] * width][:width])
        for a, b in pairwise(edges)
        for row in body
        if any(cell.strip() for cell in row.cells[a:b])
    ]
    return blocks[0], rows, True


def joined(rows: Sequence[Row], at: int, more: Sequence[int]) -> list[Row]:
    """Return the rows with the designators of several columns in one cell."""
    return [Row(row.line, _joined(row.cells, at, more)) for row in rows]


def _joined(cells: list[str], at: int, more: Sequence[int]) -> list[str]:
    refs = ", ".join(cells[n].strip() for n in (at, *more) if n < len(cells) and cells[n].strip())
    return [refs if n == at else "" if n in more else cell for n, cell in enumerate(cells)]


def rows_mended(
    body: Sequence[Row], width: int, context: RowContext, name: str
) -> tuple[list[Row], tuple[Finding, ...]]:
    """Return the rows fit for reading, and a finding for each kind of oddity that was mended or left out."""
    heading = context.heading
    if all(len(cells) == width and cells[0] and cells != heading for _, cells in body):
        return list(body), ()
    kept: list[Row] = []
    odd: dict[str, list[Where]] = {}
    for row in first_table(body, context):
        cells = row.cells
        if len(cells) == width and cells[0] and cells != context.heading:
            kept.append(row)
            continue
        if not any(cells):
            continue
        if kept and is_wrapped(cells, kept[-1].cells, context):
            kept[-1] = unwrapped(kept[-1], cells, context)
            odd.setdefault("list-refs-wrapped", []).append(Where(name, row.line))
            continue
        row, slug = mended(row, width, context)
        if slug:
            odd.setdefault(slug, []).append(Where(name, row.line))
        if row.cells:
            kept.append(padded(row, width) if len(row.cells) < width else row)
    findings = tuple(
        Finding(message(s, count=len(w)), _WEIGHT.get(s, Severity.NOTE), (), tuple(w[:20])) for s, w in odd.items()
    )
    return kept, findings


_WEIGHT = {"list-row-long": Severity.CHECK}
