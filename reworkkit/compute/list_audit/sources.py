"""List, placement and netlist against each other: one finding for each cause of a difference."""

from collections.abc import Callable, Collection, Iterable
from functools import cache
from typing import NamedTuple

from reworkkit.compute.list_audit.common import class_letters, in_order, is_bare_board, listing, over
from reworkkit.model.board import Board
from reworkkit.model.messages import Finding, Message, message
from reworkkit.model.netlist import Pad
from reworkkit.model.values import Where
from reworkkit.model.vocabulary import Fit, Mount, Severity, Side
from reworkkit.tables import rows

_MACHINE_CLASSES = frozenset({"R", "C", "L", "D", "Q", "U"})
_FEW, _SHARED = 5, 0.3


class Copper(NamedTuple):
    """What the netlist says of each designator: its pads, its nets, and how many pins it has."""

    pads: dict[str, list[Pad]]
    nets: dict[str, set[str]]
    pins: dict[str, int]
    where: dict[str, Where]


class _Cause(NamedTuple):
    """One reason why a designator may be absent from a file; the first that holds is taken."""

    holds: Callable[[str], bool]
    say: Callable[[str, int], Message]
    severity: Severity = Severity.NOTE


def copper_of(board: Board) -> Copper:
    """Return pads, nets, number of pins and first place in the netlist by designator."""
    found = Copper({}, {}, {}, {})
    for pin in board.pins.values():
        found.pads.setdefault(pin.ref, []).extend(pin.pads)
        found.pins[pin.ref] = found.pins.get(pin.ref, 0) + 1
        found.where.setdefault(pin.ref, pin.where)
        if pin.net is not None:
            found.nets.setdefault(pin.ref, set()).add(pin.net)
    return found


def audit_sources(board: Board) -> list[Finding]:
    """Return the findings about designators that one file names and another does not."""
    copper = copper_of(board)
    found: list[Finding] = []
    if board.placements and board.parts:
        found.extend(_against_placement(board, copper))
    if copper.pads and board.parts:
        found.extend(_against_copper(board, copper))
    return found


def _against_placement(board: Board, copper: Copper) -> list[Finding]:
    if few := _strangers(board, board.placements):
        said = message("placement-of-another-board", **few)
        return [over(said, Severity.STOP, (), [_file_of(p.where for p in board.placements.values())])]
    absent = [ref for ref in board.parts if ref not in board.placements]
    unlisted = [ref for ref in board.placements if ref not in board.parts]
    return [
        *_by_cause(absent, _no_placement(board, copper), {r: p.where for r, p in board.parts.items()}),
        *_by_cause(unlisted, _PLACED_UNLISTED, {r: p.where for r, p in board.placements.items()}),
    ]


def _against_copper(board: Board, copper: Copper) -> list[Finding]:
    if few := _strangers(board, copper.pads):
        said = message("netlist-of-another-board", **few)
        return [over(said, Severity.STOP, (), [_file_of(copper.where.values())])]
    absent = [ref for ref in board.parts if ref not in copper.pads]
    unlisted = [ref for ref in copper.pads if ref not in board.parts]
    return [
        *_by_cause(absent, _no_copper(board), {r: p.where for r, p in board.parts.items()}),
        *_by_cause(unlisted, _copper_unlisted(copper), copper.where),
    ]


def _strangers(board: Board, others: Collection[str]) -> dict[str, int]:
    """Return the counts where two files share so few designators that they cannot be of one board."""
    common = sum(ref in board.parts for ref in others)
    smaller = min(len(board.parts), len(others))
    if smaller < _FEW or common >= _SHARED * smaller:
        return {}
    return {"common": common, "listed": len(board.parts), "other": len(others)}


def _file_of(places: Iterable[Where]) -> Where:
    return Where(next(iter(places)).file)


def _by_cause(refs: Iterable[str], causes: Iterable[_Cause], where: dict[str, Where]) -> Iterable[Finding]:
    left = list(refs)
    for cause in causes:
        here = [ref for ref in left if cause.holds(ref)]
        if here:
            taken = set(here)
            left = [ref for ref in left if ref not in taken]
            said = cause.say(listing(in_order(here)), len(here))
            yield over(said, cause.severity, here, dict.fromkeys(where[ref] for ref in here))


def _no_placement(board: Board, copper: Copper) -> tuple[_Cause, ...]:
    """Return why a listed part may have no placement, the plainest reason first."""
    parts = board.parts
    sides = {placement.side for placement in board.placements.values()}
    placed_classes = {class_letters(ref) for ref in board.placements}
    return (
        _Cause(
            lambda ref: parts[ref].fit is Fit.DO_NOT_FIT,
            lambda refs, count: message("no-placement-do-not-fit", refs=refs, count=count),
        ),
        _Cause(
            lambda ref: parts[ref].fit is Fit.NOT_A_PART or is_bare_board(ref),
            lambda refs, count: message("no-placement-not-a-part", refs=refs, count=count),
        ),
        _Cause(
            lambda ref: _through_hole(board, copper, ref),
            lambda refs, count: message("no-placement-through-hole", refs=refs, count=count),
        ),
        _Cause(
            lambda ref: bool(copper.pads) and ref not in copper.pads,
            lambda refs, count: message("no-placement-no-pads", refs=refs, count=count),
        ),
        _Cause(
            lambda ref: len(sides) == 1 and _on_one_side(copper, ref) not in (None, *sides),
            lambda refs, count: message("no-placement-other-side", refs=refs, count=count),
        ),
        _Cause(
            lambda ref: class_letters(ref) not in placed_classes | _MACHINE_CLASSES,
            lambda refs, count: message("no-placement-whole-class", refs=refs, count=count),
        ),
        _Cause(
            lambda ref: True,
            lambda refs, count: message("no-placement", refs=refs, count=count),
            Severity.CHECK,
        ),
    )


def _through_hole(board: Board, copper: Copper, ref: str) -> bool:
    if pads := copper.pads.get(ref):
        return any(pad.drill_mm is not None for pad in pads)
    package = board.parts[ref].identity.package
    return package is not None and package.mount is Mount.THROUGH_HOLE


def _on_one_side(copper: Copper, ref: str) -> Side | None:
    sides = {pad.side for pad in copper.pads.get(ref, ())}
    return next(iter(sides)) if len(sides) == 1 and Side.BOTH not in sides else None


_PLACED_UNLISTED = (
    _Cause(is_bare_board, lambda refs, count: message("placed-not-listed-bare-board", refs=refs, count=count)),
    _Cause(lambda ref: True, lambda refs, count: message("placed-not-listed", refs=refs, count=count), Severity.CHECK),
)


@cache
def _hardware_kinds() -> frozenset[str]:
    return frozenset(row["key"] for row in rows("part_kinds") if row["hardware"] == "yes")


def _no_copper(board: Board) -> tuple[_Cause, ...]:
    """Return why a listed part may have no pads in the netlist."""
    parts = board.parts
    return (
        _Cause(
            lambda ref: parts[ref].fit is Fit.DO_NOT_FIT,
            lambda refs, count: message("no-pads-do-not-fit", refs=refs, count=count),
        ),
        _Cause(
            lambda ref: parts[ref].fit is Fit.NOT_A_PART or is_bare_board(ref),
            lambda refs, count: message("no-pads-not-a-part", refs=refs, count=count),
        ),
        _Cause(
            lambda ref: parts[ref].identity.kind in _hardware_kinds(),
            lambda refs, count: message("no-pads-hardware", refs=refs, count=count),
        ),
        _Cause(lambda ref: True, lambda refs, count: message("no-pads", refs=refs, count=count), Severity.CHECK),
    )


def _copper_unlisted(copper: Copper) -> tuple[_Cause, ...]:
    """Return why pads may have no row in the list: holes and test lands need none."""
    return (
        _Cause(
            lambda ref: is_bare_board(ref) or all(pad.drill_mm and not pad.plated for pad in copper.pads[ref]),
            lambda refs, count: message("pads-not-listed-bare-board", refs=refs, count=count),
        ),
        _Cause(
            lambda ref: copper.pins[ref] == 1 or len(copper.nets.get(ref, ())) == 0,
            lambda refs, count: message("pads-not-listed-single", refs=refs, count=count),
        ),
        _Cause(
            lambda ref: True, lambda refs, count: message("pads-not-listed", refs=refs, count=count), Severity.CHECK
        ),
    )
