"""Rows against themselves: a designator listed twice, a quantity that differs from the designators beside it."""

from collections.abc import Iterable
from fractions import Fraction

from reworkkit.compute.list_audit.common import listing, over
from reworkkit.model.board import Board
from reworkkit.model.messages import Finding, message
from reworkkit.model.part import PartLine
from reworkkit.model.values import Where
from reworkkit.model.vocabulary import Fit, Severity

_TWICE_TOLD = frozenset({"list-designator-twice", "list-alternative-row"})
_QUANTITY_TOLD = frozenset({"list-quantity-differs"})


def audit_rows(board: Board) -> list[Finding]:
    """Return the findings about designators named twice and about quantities that reading has not made yet."""
    return [*_twice(board), *_quantities(board)]


def _told(board: Board, slugs: frozenset[str]) -> set[Where]:
    """Return the rows about which reading the list has said as much already."""
    return {where for finding in board.findings if finding.message.slug in slugs for where in finding.where}


def _twice(board: Board) -> Iterable[Finding]:
    rows: dict[str, list[PartLine]] = {}
    for line in board.lines:
        if line.alternative_of is None:
            for ref in line.refs:
                rows.setdefault(ref, []).append(line)
    groups: dict[tuple[int, ...], tuple[list[str], list[PartLine]]] = {}
    for ref, lines in rows.items():
        if len(lines) > 1:
            key = tuple(line.where.line for line in lines)
            groups.setdefault(key, ([], lines))[0].append(ref)
    told = _told(board, _TWICE_TOLD)
    for refs, lines in groups.values():
        if not told >= {line.where for line in lines}:
            yield _twice_finding(refs, lines)


def _twice_finding(refs: list[str], lines: list[PartLine]) -> Finding:
    """Same text twice is a note; another part, or fit against do-not-fit, changes what gets soldered."""
    where = [line.where for line in lines]
    if len({line.where for line in lines}) == 1:
        said = message("listed-twice-in-row", refs=listing(refs))
        return over(said, Severity.NOTE, refs, where)
    texts = list(dict.fromkeys(_row_text(line) for line in lines))
    if len(texts) == 1:
        return over(message("listed-twice-same", refs=listing(refs), part=texts[0]), Severity.NOTE, refs, where)
    said = message("listed-twice-different", refs=listing(refs), parts=" / ".join(texts))
    fits = {line.fit for line in lines}
    return over(said, Severity.STOP if fits == {Fit.FIT} else Severity.CHECK, refs, where)


def _row_text(line: PartLine) -> str:
    """Return the cells that say what is fitted, blanks and case apart."""
    cells = " ".join(f"{line.value_text} {line.package_text}".split()) or line.part_number or line.description
    return f"{cells} (do not fit)" if line.fit is Fit.DO_NOT_FIT else cells


def _quantities(board: Board) -> Iterable[Finding]:
    counted = [
        line
        for line in board.lines
        if line.refs and line.quantity is not None and line.alternative_of is None and not _is_unfitted_zero(line)
    ]
    told = _told(board, _QUANTITY_TOLD)
    wrong = [line for line in counted if line.quantity != len(set(line.refs)) and line.where not in told]
    copies = _copies(counted)
    if copies is not None:
        said = message("quantity-for-copies", copies=copies, rows=len(counted))
        yield over(said, Severity.NOTE, (), [counted[0].where])
    elif wrong:
        rows = "; ".join(f"{line.where.line}: {line.quantity} / {len(set(line.refs))}" for line in wrong[:20])
        refs = [ref for line in wrong for ref in line.refs]
        said = message("quantity-differs", rows=rows, count=len(wrong))
        yield over(said, Severity.CHECK, refs, [line.where for line in wrong])


def _is_unfitted_zero(line: PartLine) -> bool:
    return line.quantity == 0 and line.fit is Fit.DO_NOT_FIT


def _copies(counted: list[PartLine]) -> int | None:
    """Return how many boards the quantities are for, where at least nine rows of ten agree on more than one."""
    ratios = [Fraction(line.quantity or 0, len(set(line.refs))) for line in counted]
    usual = max(set(ratios), key=ratios.count, default=Fraction(1))
    whole = usual.denominator == 1 and usual > 1 and len(ratios) >= 3
    return int(usual) if whole and ratios.count(usual) >= 0.9 * len(ratios) else None
