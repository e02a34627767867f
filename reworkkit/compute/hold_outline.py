"""Which parts each hold point needs and protects. No figures and no order: those come after the plan."""

from reworkkit.model.board import Board
from reworkkit.model.results import HoldOutline
from reworkkit.model.values import Band, Quantity
from reworkkit.model.vocabulary import BandBasis


def hold_outlines(board: Board) -> tuple[HoldOutline, ...]:
    """Return the hold points of board.toml, in the order written; a stage also needs what earlier stages needed."""
    outlines: list[HoldOutline] = []
    needed: dict[str, None] = {}
    for facts in board.facts.hold_points:
        needed |= dict.fromkeys(facts.needs)
        outlines.append(
            HoldOutline(
                name=facts.name,
                supply=facts.supply,
                feed=facts.feed,
                limit=_stated(facts.limit),
                needs=tuple(needed),
                protects=tuple(ref for ref in facts.before if ref not in needed),
                measure=facts.measure,
                confirm=facts.confirm,
            )
        )
    return tuple(outlines)


def _stated(limit: Quantity | None) -> Band | None:
    if limit is None:
        return None
    return Band(None, float(limit.value), float(limit.value), limit.unit, BandBasis.STATED)
