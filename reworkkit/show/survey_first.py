"""What is told before the first look: photographs of both sides, the board without power, stored energy."""

from reworkkit.model.board import Board
from reworkkit.model.vocabulary import AlertLevel

DANGEROUS_V = 60.0
"""DC volts above which someone can be hurt (touch limit for DC, common practice)."""


def first_alerts(board: Board) -> list[tuple[AlertLevel, str]]:
    """Return (level, slug) of what must be done before a board is handled, worst first.

    The warning stands where board.toml names a live run, or a supply or rail above 60 V.
    """
    stated = [one.volts for one in board.facts.supplies.values()] + [one.volts for one in board.facts.rails.values()]
    high = [volts for volts in stated if volts is not None and abs(float(volts.value)) > DANGEROUS_V]
    if board.facts.live is not None or high:
        return [(AlertLevel.WARNING, "survey-discharge")]
    return [(AlertLevel.CAUTION, "survey-unpowered")]
