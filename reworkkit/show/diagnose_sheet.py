"""The diagnosis on the page: readings beside their bands, and a decision sheet for the next checks, for paper."""

from typing import TYPE_CHECKING, NamedTuple

from reworkkit.model.diagnosis import Diagnosis, DiagnosisVerdict
from reworkkit.model.messages import message
from reworkkit.show import diagnose_text as words
from reworkkit.show.texts import sentence

if TYPE_CHECKING:
    from reworkkit.model.messages import Message

GROUPS_SHOWN = 5


class DecisionCard(NamedTuple):
    """One check to make without a computer: what to do, cautions, and (reading, meaning) of each answer."""

    title: str
    cautions: tuple[str, ...]
    answers: tuple[tuple[str, str], ...]


class DiagnosisCard(NamedTuple):
    """All that the page shows of a diagnosis, in words."""

    stops: tuple[str, ...]
    verdict: str
    faults: tuple[str, ...]
    remarks: tuple[str, ...]
    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    checks: tuple[DecisionCard, ...]
    stress: tuple[str, ...]
    first: tuple[str, ...]
    not_checked: tuple[str, ...]


def diagnosis_card(result: Diagnosis, language: str) -> DiagnosisCard | None:
    """Return the card of a diagnosis, or None where no reading was judged."""
    if result.verdict is DiagnosisVerdict.NOT_ENOUGH:
        return None

    def say(one: "Message") -> str:
        return sentence(one, language)

    verdict = (
        message("diagnose-verdict-fault")
        if result.verdict is DiagnosisVerdict.FAULT
        else words.VERDICTS[result.verdict]
    )
    faults = tuple(
        f"{say(words.CERTAIN[group.certainty])}: {words.names(group.faults, language)}."
        + (f" {say(group.tell_apart)}" if group.tell_apart else "")
        for group in result.groups[:GROUPS_SHOWN]
        if group.likely_percent >= words.LEAST_PERCENT
    )
    checks = [
        words.check_lines(check, n, language) for n, check in enumerate(result.next[: words.CHECKS_SHOWN], start=1)
    ]
    same = words.names(result.same_look, language, words.ALIKE_SHOWN)
    alike = message("diagnose-same-look", count=len(result.measured), faults=same)
    at_points = message("diagnose-at-points", count=len(result.measured))
    return DiagnosisCard(
        tuple(say(one) for one in result.stops),
        say(verdict),
        faults,
        (
            *words.known_lines(result, language),
            *(say(one) for one in result.remarks),
            say(alike if result.same_look else at_points),
        ),
        words.point_headings(language),
        tuple(words.point_rows(result.points, language)),
        tuple(DecisionCard(*lines) for lines in checks),
        words.stress_lines(result, language),
        tuple(say(one) for one in result.first),
        tuple(say(one) for one in result.not_checked),
    )
