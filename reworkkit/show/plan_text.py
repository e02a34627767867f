"""The work order on a terminal: groups, set-ups, operations with their reasons and alerts, conflicts with prices."""

from itertools import groupby

from reworkkit.model.answer import Answer
from reworkkit.model.designator_list import in_short
from reworkkit.model.messages import Message, message
from reworkkit.model.results import Conflict, Operation, Plan, SetUp
from reworkkit.show.following import after_plan
from reworkkit.show.terminal import Report


def print_plan(report: Report, answer: Answer[Plan]) -> None:
    """Print the work order, group by group, then the conflicts that were settled."""
    plan = answer.result
    report.board_line(answer.board, answer.situation)
    if not plan.operations:
        report.say("plan-nothing" if answer.situation.looked else "no-fitted-list")
    else:
        _print_size(report, plan)
    setup = SetUp()
    said: set[Message] = set()
    for group, operations in groupby(plan.operations, key=lambda operation: operation.group):
        report.screen.heading(report.words(message(group)))
        for operation in operations:
            _print_operation(report, operation, setup, said)
            setup = operation.setup if _is_a_setup(operation.setup) else setup
    _print_conflicts(report, plan)
    report.findings((*answer.board.findings, *plan.findings))
    report.not_judged(plan.not_judged)
    report.next_command(after_plan(answer.board, answer.situation))


def _print_size(report: Report, plan: Plan) -> None:
    places = len(
        {ref for operation in plan.operations if operation.kind in ("solder", "desolder") for ref in operation.refs}
    )
    minutes = sum(operation.duration_s or 0.0 for operation in plan.operations) / 60
    report.say("plan-size", operations=len(plan.operations), places=places, minutes=round(minutes))
    report.screen.line(report.words(plan.optimality))


def _is_a_setup(setup: SetUp) -> bool:
    return setup.tool in ("iron", "hot air")


def setup_text(setup: SetUp) -> str:
    """Return a set-up in words: `iron, small tip, preheat 100 °C, top side`."""
    words = [setup.tool]
    words += [f"{setup.tip} tip"] if setup.tip else []
    words += [f"{setup.setting_c} °C"] if setup.setting_c is not None else []
    words += [f"preheat {setup.preheat_c} °C"] if setup.preheat_c is not None else []
    words += [f"{setup.side} side"] if setup.side else []
    return ", ".join(words)


def _print_operation(report: Report, operation: Operation, before: SetUp, said: set[Message]) -> None:
    """Print one operation; a set-up is told when it changes, a reason and an alert once and not at every step."""
    screen = report.screen
    if _is_a_setup(operation.setup) and operation.setup != before:
        report.say("setup-line", indent=2, setup=setup_text(operation.setup))
    title = report.words(operation.title)
    screen.line(f"{operation.n:>3}  {title}: {in_short(operation.refs)}", indent=1)
    for level, alert in operation.alerts:
        screen.line(f"{level.value.upper()}: {report.words(alert)}", level.value, indent=6)
    for why in operation.why:
        if why not in said:
            said.add(why)
            screen.line(report.words(why), "quiet", indent=6)


def _print_conflicts(report: Report, plan: Plan) -> None:
    if not plan.conflicts:
        return
    report.screen.heading(report.words(message("heading-conflicts", count=len(plan.conflicts))))
    for conflict in plan.conflicts:
        _print_conflict(report, conflict)


def _print_conflict(report: Report, conflict: Conflict) -> None:
    report.say("conflict-between", indent=2)
    for constraint in conflict.constraints:
        report.screen.line(f"- {report.words(constraint)}", indent=4)
    way, price = conflict.ways_out[conflict.recommended]
    report.say("conflict-way-taken", indent=4, way=report.words(way), price=report.words(price))
    for n, (other, its_price) in enumerate(conflict.ways_out):
        if n != conflict.recommended:
            report.say("conflict-way", style="quiet", indent=4, way=report.words(other), price=report.words(its_price))
    if conflict.rings > 1:
        report.say("conflict-folded", style="quiet", indent=4, count=conflict.rings)


def print_why(report: Report, answer: Answer[Plan], ref: str) -> None:
    """Print every operation a part is in, and every constraint that was kept for it."""
    plan = answer.result
    report.board_line(answer.board, answer.situation)
    report.screen.heading(report.words(message("heading-why", ref=ref)))
    for operation in plan.operations:
        if ref in operation.refs:
            report.screen.line(f"{operation.n:>3}  {report.words(operation.title)}", indent=1)
            for why in operation.why:
                report.screen.line(report.words(why), "quiet", indent=6)
    for subject, constraint in plan.reasons:
        if subject == ref:
            report.screen.line(f"- {report.words(constraint)}", indent=2)
    for conflict in plan.conflicts:
        if any(ref in (first.partition(":")[2], second.partition(":")[2]) for first, second, _ in conflict.ring):
            _print_conflict(report, conflict)
    report.next_command("reworkkit plan")


def print_what_if(report: Report, before: Plan, after: Plan) -> None:
    """Print what one more rule would change: set-up changes and conflicts."""
    report.say(
        "what-if-changes",
        optimality=report.words(after.optimality),
        before=report.words(before.optimality),
        conflicts=len(after.conflicts),
        conflicts_before=len(before.conflicts),
    )
    for conflict in after.conflicts:
        if conflict not in before.conflicts:
            _print_conflict(report, conflict)
    report.findings([finding for finding in after.findings if finding not in before.findings])
    report.next_command("reworkkit plan")
