"""Which command comes next: begin, audit, survey, diff, plan, next, as far as the board has them behind it."""

from pathlib import Path

from reworkkit.model.board import Board
from reworkkit.model.job import Situation
from reworkkit.model.survey import Survey
from reworkkit.model.vocabulary import Basis, Fit, Place


def board_words(named: Path | None) -> str:
    """Return the board as it must be typed again: a blank and the path, or nothing where none was typed.

    >>> board_words(None), board_words(Path("my board"))
    ('', ' "my board"')
    """
    if named is None:
        return ""
    text = str(named)
    return f' "{text}"' if any(c in text for c in " ()&;'*?$[]") else f" {text}"


def still_to_look(board: Board, situation: Situation) -> bool:
    """Return whether a survey comes first: nobody has looked, or a survey was put down before its end."""
    if not situation.looked:
        return True
    if board.fitted is None or board.fitted.others != "not_inspected":
        return False
    named = {state.ref for state in board.fitted.states}
    return any(
        ref not in named
        and part.fit is Fit.FIT
        and (state := situation.states.get(ref)) is not None
        and state.place is Place.NOT_INSPECTED
        for ref, part in board.parts.items()
    )


def after_audit(board: Board, situation: Situation) -> str:
    """Return the command after `audit`: look at the board, or compare where somebody has looked."""
    return "reworkkit survey" if still_to_look(board, situation) else "reworkkit diff"


def after_diff(board: Board, situation: Situation) -> str:
    """Return the command after `diff`."""
    return "reworkkit survey" if still_to_look(board, situation) else "reworkkit plan"


def after_plan(board: Board, situation: Situation) -> str:
    """Return the command after `plan`: look first where nobody has, begin the job where there is none, else go on."""
    if still_to_look(board, situation):
        return "reworkkit survey"
    return "reworkkit next" if situation.basis is Basis.JOB else "reworkkit begin"


def after_begin(board: Board, situation: Situation) -> str:
    """Return the command after `begin`: the papers where nobody has looked yet, else the first operation."""
    if not situation.looked:
        return "reworkkit audit"
    return "reworkkit survey" if still_to_look(board, situation) else "reworkkit next"


def after_survey(survey: Survey, board: str) -> str:
    """Return what comes after a sitting of the survey; `board` is what `board_words` gives."""
    if survey.look == 1 and not survey.begun_again:
        return f"reworkkit survey{board}, or reworkkit diff{board}"
    return f"reworkkit diff{board}" if survey.look == 3 else f"reworkkit survey{board}"
