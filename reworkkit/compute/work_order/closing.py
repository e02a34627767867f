"""What comes after the last part: inputs and outputs tried, screws tightened again, coating put back."""

from reworkkit.compute.work_order.draft import Draft
from reworkkit.model.board import Board
from reworkkit.model.messages import message
from reworkkit.model.results import SetUp
from reworkkit.model.vocabulary import AlertLevel, OperationKind

GROUP = "group-closing"


def closing(board: Board) -> list[Draft]:
    """Return the operations at the end: inputs before outputs, then screws after the warm-up, coating last of all."""
    facts = board.facts
    drafts = [_tests(tuple(facts.inputs), "why-test-inputs")] if facts.inputs else []
    drafts += [_tests(tuple(facts.outputs), "why-test-outputs")] if facts.outputs else []
    if bolted := tuple(dict.fromkeys(ref for one in facts.fasten for ref in one.parts if ref in board.parts)):
        alert = (AlertLevel.WARNING, message("alert-discharge"))
        why = (message("why-torque-again"),)
        drafts.append(Draft(GROUP, OperationKind.TORQUE_AGAIN, bolted, SetUp("screwdriver"), why, (alert,)))
    if facts.board.coating and facts.board.coating.casefold() != "none":
        alert = (AlertLevel.WARNING, message("alert-solvent"))
        why = (message("why-restore-coating", coating=facts.board.coating),)
        drafts.append(Draft(GROUP, OperationKind.RESTORE_COATING, ("BOARD",), SetUp("brush"), why, (alert,)))
    return drafts


def _tests(names: tuple[str, ...], why: str) -> Draft:
    return Draft(GROUP, OperationKind.TEST, names, SetUp("supply", strap=False), (message(why),))
