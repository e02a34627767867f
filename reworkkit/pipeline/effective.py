"""The board as it is really built: accepted substitutes in place, packages by their proper name."""

from dataclasses import replace

from reworkkit.model.board import Board, Candidate
from reworkkit.model.job import Situation
from reworkkit.model.part import PartIdentity, PartLine
from reworkkit.model.values import Quantity
from reworkkit.model.vocabulary import Fit


def with_substitutes(board: Board, situation: Situation) -> Board:
    """Return the board with the accepted substitutes of a job in place; the same board where there are none."""
    used = {one.candidate: one.ref for one in situation.substitutions if one.accepted and one.ref in board.parts}
    if not used:
        return board
    from reworkkit.compute.effective_board import candidate_row, effective_board

    rows = {name: candidate_row(board, ref, name) for name, ref in used.items()}
    made = {name: identity_of(board, used[name], row) for name, row in rows.items() if row}
    return effective_board(board, situation, made)


def identity_of(board: Board, ref: str, row: Candidate) -> PartIdentity:
    """Return what a candidate is, as if its row stood in the parts list at this place."""
    from reworkkit.read.identity import identify_as

    listed = board.parts[ref].identity
    package = _package_of(board, ref, row) or listed.package_text
    value = _text(row, "value") or _ratings(row)
    line = PartLine((ref,), ref, value or row.part_number, package, _text(row, "description", "remark", "note"),
                    row.part_number, 1, Fit.FIT, None, (), row.where)  # fmt: skip
    kind = (row.kind or listed.kind).replace("_", " ")
    return identify_as(line, ref, kind, package)


def _package_of(board: Board, ref: str, row: Candidate) -> str:
    """Return a candidate's package: the listed one where its row gives the same words as the original's row."""
    listed = board.parts[ref].identity
    names = {text.casefold() for text in (listed.part_number, listed.value.text) if text}
    written = _text(row, *_PACKAGE)
    originals = [one for one in board.candidates if one.part_number.casefold() in names]
    same = any(written and written.casefold() == _text(one, *_PACKAGE).casefold() for one in originals)
    return listed.package_text if same else written


_PACKAGE = ("package", "case", "size")


def _text(row: Candidate, *names: str) -> str:
    for name in names:
        value = row.figures.get(name)
        if value:
            return value.text if isinstance(value, Quantity) else value
    return ""


_RATINGS = ("capacitance", "resistance", "inductance", "zener_voltage", "current", "tolerance", "voltage", "power")


def _ratings(row: Candidate) -> str:
    """Return the ratings of a row as a value cell: `22 uF 10 V`; empty where it has no main value."""
    found = [(name, row.figures.get(name)) for name in (*_RATINGS, "dielectric")]
    words = [value.text if isinstance(value, Quantity) else value for _, value in found if value]
    main = any(row.figures.get(name) for name in _RATINGS[:4])
    return " ".join(words) if main else ""


def with_named_packages(board: Board) -> Board:
    """Return the board with the packages of its candidates under the names the tables use, where they are known."""
    return replace(board, candidates=tuple(_named(board, row) for row in board.candidates))


def _named(board: Board, row: Candidate) -> Candidate:
    from reworkkit.read.identity import kind_in_words
    from reworkkit.read.package_names import find_package

    written = _text(row, *_PACKAGE)
    ref = next((ref for ref in row.fits if ref in board.parts), None)
    kind = kind_in_words(row.kind.replace("_", " ")) if row.kind else None
    kind = kind or row.kind or (board.parts[ref].identity.kind if ref else "")
    found = find_package(written, kind or None).package if written else None
    listed = board.parts[ref].identity if ref else None
    row = replace(row, kind=kind, kind_text=row.kind.replace("_", " "))
    if found is None or (listed and listed.package is None):
        return row
    kept = {name: value for name, value in row.figures.items() if name not in _PACKAGE}
    return replace(row, figures={**kept, "package": found.name})
