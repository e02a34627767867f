"""What each question prints on a terminal: plain words, 80 columns, worst first, the next command last."""

from collections.abc import Iterable, Sequence
from itertools import groupby
from pathlib import Path

from reworkkit.model.board import Board
from reworkkit.model.designator_list import in_short
from reworkkit.model.difference import Difference, DifferenceItem
from reworkkit.model.job import Situation
from reworkkit.model.messages import Finding, Message, NotJudged, message
from reworkkit.model.vocabulary import Basis, DiffStatus, PolarityVerdict, Severity
from reworkkit.show.following import after_audit, after_diff, board_words
from reworkkit.show.screen import Screen
from reworkkit.show.texts import sentence

SHOWN_FIRST = 5
STATUS_ORDER = (
    DiffStatus.TO_TURN,
    DiffStatus.TO_REPLACE,
    DiffStatus.UNEXPECTED,
    DiffStatus.MISSING,
    DiffStatus.NOT_INSPECTED,
)
VERDICT_ORDER = (
    PolarityVerdict.CONTRADICTS,
    PolarityVerdict.NO_NOTE,
    PolarityVerdict.UNDECIDED,
    PolarityVerdict.AGREES,
    PolarityVerdict.NOT_POLARISED,
)
WAITS_FOR_NETLIST = frozenset({"polarity-circuit-not-known", "polarity-circuit-not-known-land"})
"""Causes that a netlist would take away, where the board has none."""
SEVERITY_STYLE = {Severity.STOP: "warning", Severity.CHECK: "caution", Severity.NOTE: ""}


class Report:
    """Prints the answers of one command in one language."""

    def __init__(self, language: str = "en", screen: Screen | None = None, named: Path | None = None) -> None:
        self.language = language
        self.named = named
        self.screen = screen or Screen()

    def say(self, slug: str, *, style: str = "", indent: int = 0, **facts: str | int) -> None:
        """Print the sentence of a slug."""
        self.screen.line(self.words(message(slug, **facts)), style, indent)

    def words(self, text: Message, part: str = "sentence") -> str:
        """Return the words of a message."""
        return sentence(text, self.language, part)

    def board_line(self, board: Board, situation: Situation) -> None:
        """Print which board this is and what the answer rests on."""
        revision = f", {board.revision}" if board.revision else ""
        slug = "basis-job" if situation.basis is Basis.JOB else "basis-files"
        basis = self.words(message(slug, event=situation.at_event or 0, copy=situation.copy))
        self.screen.line(f"{board.name}{revision}: {basis}", "heading")

    def findings(self, findings: Iterable[Finding], every: bool = False) -> None:
        """Print findings, the worst five first; the rest is counted, or shown with --all."""
        ordered = sorted(findings, key=lambda finding: tuple(Severity).index(finding.severity))
        if not ordered:
            return
        self.screen.heading(self.words(message("heading-findings", count=len(ordered))))
        for finding in ordered if every else ordered[:SHOWN_FIRST]:
            self.finding(finding)
        if not every and len(ordered) > SHOWN_FIRST:
            self.say("more-findings", indent=2, style="quiet", count=len(ordered) - SHOWN_FIRST)

    def finding(self, finding: Finding) -> None:
        """Print one finding: where, what, and what to do."""
        place = f"{finding.where[0]}: " if finding.where else ""
        text = f"{place}{self.words(finding.message)}"
        self.screen.line(f"{finding.severity}: {text}", SEVERITY_STYLE[finding.severity], indent=2)
        if cure := self.words(finding.message, "cure"):
            self.screen.line(cure, "quiet", indent=4)

    def not_judged(self, questions: Iterable[NotJudged], no_netlist: bool = False) -> None:
        """Print open questions, those with one cause folded into one line, those that wait for a netlist into one."""
        questions = sorted(questions, key=lambda q: self.words(q.because))
        if waiting := [one for one in questions if no_netlist and one.because.slug in WAITS_FOR_NETLIST]:
            refs = in_short({ref for one in waiting for ref in one.about})
            self.say("waiting-netlist", indent=2, count=len(waiting), refs=refs)
            self.say("waiting-netlist-how", indent=4, style="quiet")
            questions = [one for one in questions if one not in waiting]
        for because, group in groupby(questions, key=lambda q: self.words(q.because)):
            asked = list(group)
            refs = in_short(ref for question in asked for ref in question.about)
            self.say("not-judged-for" if refs else "not-judged", indent=2, refs=refs, because=because)
            if answer := next((question.answer for question in asked if question.answer), None):
                self.say("answer-with", indent=4, style="quiet", line=answer)

    def next_command(self, command: str) -> None:
        """Print which command comes next, with the board as it was typed: an option where it has arguments already."""
        self.screen.line()
        board = board_words(self.named)
        option = " --board" if board and len(command.split()) > len(("reworkkit", "name")) else ""
        self.say("next-command", style="quiet", command=f"{command}{option}{board}")

    def diff(self, board: Board, situation: Situation, difference: Difference, findings: Iterable[Finding]) -> None:
        """Print what is missing, to replace, to turn, not inspected and unexpected."""
        counts = difference.counts
        self.board_line(board, situation)
        self.say("diff-listed", **counts._asdict())
        self.say("diff-found", **counts._asdict())
        for status in STATUS_ORDER:
            if getattr(counts, status.value) and (status is not DiffStatus.NOT_INSPECTED or situation.looked):
                items = [item for item in difference.items if item.status is status]
                title = self.words(message("status-" + status.value.replace("_", "-")))
                self.screen.heading(f"{title} ({len(items)})")
                self.screen.table(_item_rows(items), widest=26)
        self.findings(findings)
        if difference.not_judged:
            self.screen.line()
        self.not_judged(difference.not_judged)
        self.next_command(after_diff(board, situation))

    def audit(self, board: Board, situation: Situation, findings: Sequence[Finding], every: bool) -> None:
        """Print what is doubtful in the papers."""
        self.board_line(board, situation)
        self.say("audit-read", files=len(board.files), parts=len(board.parts), findings=len(findings))
        self.findings(findings, every)
        self.next_command(after_audit(board, situation))


def _item_rows(items: list[DifferenceItem]) -> list[tuple[str, str, str]]:
    """Return one row for each distinct value, package and remark, its designators written the short way."""
    by_part: dict[tuple[str, str, str], list[str]] = {}
    for item in items:
        by_part.setdefault((item.value or item.part_number, item.package, item.note), []).append(item.ref)
    return [
        (value, package, in_short(refs) + (f"  ({note})" if note else ""))
        for (value, package, note), refs in by_part.items()
    ]
