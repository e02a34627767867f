"""Which pieces of work a board needs, each with the set-up it asks for."""

from collections.abc import Mapping

from reworkkit.compute.work_order.constraints import spoilt_by_washing
from reworkkit.compute.work_order.records import Piece, WorkKind, hold, off, on
from reworkkit.compute.work_order.setups import common_setups
from reworkkit.model.board import Board
from reworkkit.model.difference import Difference, DifferenceItem
from reworkkit.model.job import Situation
from reworkkit.model.part import Part
from reworkkit.model.results import HeatDemand, HoldOutline, SetUp
from reworkkit.model.vocabulary import DiffStatus, HeatClass, JointState, Mount, PartState

HEAT_RANK = {HeatClass.LIGHT: 0, HeatClass.MODERATE: 1, HeatClass.HEAVY: 2, HeatClass.VERY_HEAVY: 3}
TO_TAKE_OFF = (DiffStatus.TO_REPLACE, DiffStatus.TO_TURN)


def pieces_of(
    board: Board,
    difference: Difference,
    situation: Situation,
    heat: Mapping[str, HeatDemand],
    outlines: tuple[HoldOutline, ...],
) -> tuple[Piece, ...]:
    """Return every piece of work: parts off and on, bolting, hold points, programming."""
    items = [item for item in difference.items if item.ref in board.parts]
    old = [item.ref for item in items if _comes_off(item, situation)]
    new = [item.ref for item in items if _goes_on(item, situation)]
    setups = common_setups(board, tuple(dict.fromkeys((*old, *new))), heat)
    pieces = [_off(board, ref, setups, heat.get(ref)) for ref in old]
    pieces += [_on(board.parts[ref], setups, heat.get(ref)) for ref in new]
    refs = set(new)
    pieces += _bolting(board, refs)
    pieces += [
        Piece(hold(outline.name), WorkKind.HOLD, (outline.name,), SetUp("supply", strap=False), (n,))
        for n, outline in enumerate(outlines)
    ]
    pieces += [
        Piece(f"program:{facts.part}", WorkKind.PROGRAM, (facts.part,), SetUp("programmer", strap=True), (n,))
        for n, facts in enumerate(board.facts.program)
        if facts.part in board.parts
    ]
    if _wash_parts_company(board, refs):
        pieces.append(Piece("wash", WorkKind.WASH, ("BOARD",), SetUp("wash"), (0.0,)))
    return tuple(pieces)


def _comes_off(item: DifferenceItem, situation: Situation) -> bool:
    """A part to replace or to turn, one where none belongs, or a temporary link in the place of a part."""
    state = situation.states.get(item.ref)
    linked = state is not None and state.part is PartState.TEMPORARY_LINK
    return item.status in (*TO_TAKE_OFF, DiffStatus.UNEXPECTED) or (item.status is DiffStatus.MISSING and linked)


def _goes_on(item: DifferenceItem, situation: Situation) -> bool:
    """A part that is missing, comes back after it came off, or has a joint that is only tacked or a lifted leg."""
    state = situation.states.get(item.ref)
    unfinished = state is not None and state.joint in (JointState.TACKED, JointState.LEG_LIFTED)
    return item.status in (DiffStatus.MISSING, *TO_TAKE_OFF) or (item.status is DiffStatus.FITTED and unfinished)


def _wash_parts_company(board: Board, refs: set[str]) -> bool:
    """Return whether some of the parts may be washed and some may not."""
    spoilt = spoilt_by_washing(board)
    kinds = {board.parts[ref].identity.kind for ref in refs}
    return bool(kinds & spoilt) and bool(kinds - spoilt)


def _off(board: Board, ref: str, setups: Mapping[str, SetUp], demand: HeatDemand | None) -> Piece:
    part = board.parts[ref]
    package = part.identity.package
    many = package is not None and package.mount is Mount.SMD and package.pins > 3
    setup = setups[ref]._replace(tool="hot air", tip="", setting_c=None) if many else setups[ref]
    return Piece(off(ref), WorkKind.OFF, (ref,), setup, _rank(part, demand))


def _on(part: Part, setups: Mapping[str, SetUp], demand: HeatDemand | None) -> Piece:
    return Piece(on(part.ref), WorkKind.ON, (part.ref,), setups[part.ref], _rank(part, demand))


def _rank(part: Part, demand: HeatDemand | None) -> tuple[float, ...]:
    """Return where a part stands among pieces with one set-up: less heat, finer pitch, lower body first."""
    package = part.identity.package
    if package is None:
        return (9.0, 9.0, 0.0, 99.0)
    leaded = float(package.mount is Mount.THROUGH_HOLE)
    class_rank = float(HEAT_RANK[demand.heat_class]) if demand else 1.0
    fine = package.pitch_mm or 9.0 if package.pins >= 5 and not leaded else 9.0
    return (class_rank, leaded, fine, package.height_mm)


def _bolting(board: Board, refs: set[str]) -> list[Piece]:
    pieces = []
    for n, facts in enumerate(board.facts.fasten):
        bolted = tuple(ref for ref in facts.parts if ref in refs)
        if bolted:
            pieces.append(Piece(f"bolt:{n}", WorkKind.BOLT, bolted, SetUp("screwdriver"), (n,)))
    return pieces
