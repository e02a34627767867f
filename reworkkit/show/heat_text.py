"""`heat` on the terminal and as JSON."""

from collections.abc import Iterable, Mapping

from reworkkit.model.answer import Answer
from reworkkit.model.messages import Finding, message
from reworkkit.model.results import HeatDemand, HeatExplanation, MeasuredJoint
from reworkkit.show import heat_tables
from reworkkit.show.documents import Document, document
from reworkkit.show.terminal import Report

SHOWN = 20
"""Parts shown when none is named; the rest with --all."""


def heat_json(answer: Answer[tuple[HeatDemand, ...]], findings: tuple[Finding, ...], language: str) -> Document:
    """Return `reworkkit.heat/1`."""
    body = {"joints": heat_tables.heat_items(answer.result, language)}
    return document("heat", answer.situation, (*answer.board.findings, *findings), (), body, language)


def print_heat(
    answer: Answer[tuple[HeatDemand, ...]],
    pads: Mapping[str, str],
    findings: tuple[Finding, ...],
    language: str,
    every: bool,
) -> None:
    """Print one line a joint: class, where to start, what is needed and allowed, how long it takes, what helps.

    Then what heat and moisture do to the parts and their neighbours.
    """
    report = Report(language)
    report.board_line(answer.board, answer.situation)
    shown = answer.result if every else answer.result[:SHOWN]
    _print_joints(report, shown)
    if len(answer.result) > len(shown):
        report.say("heat-more", style="quiet", count=len(answer.result) - len(shown))
    for line in heat_tables.first_pad_lines(pads, language):
        report.screen.line(line)
    report.findings(findings, every=True)
    report.screen.heading(report.words(message("heat-heading-assumed")))
    for line in heat_tables.heat_footer(shown, language):
        report.screen.line(line, "quiet", indent=2)
    report.next_command("reworkkit plan")


def _print_joints(report: Report, demands: Iterable[HeatDemand]) -> None:
    """Print joints; those with the same figures share a line."""
    headings = heat_tables.heat_headings(report.language)
    alike: dict[tuple[str, ...], list[str]] = {}
    for joint, *cells in heat_tables.heat_rows(demands, report.language):
        alike.setdefault(tuple(cells), []).append(joint)
    for (heat_class, *rest), joints in alike.items():
        report.screen.line(f"{' '.join(joints)}  {heat_class}", "heading")
        told = [f"{heading}: {cell}" for heading, cell in zip(headings[2:], rest, strict=True) if cell]
        report.screen.line(", ".join(told) or report.words(message("heat-no-figures")), indent=4)


def print_explained(answer: Answer[tuple[HeatExplanation, ...]], language: str) -> None:
    """Print energy budget, assumptions, and what would narrow the range most; the heaviest joint of each part."""
    report = Report(language)
    report.board_line(answer.board, answer.situation)
    seen: set[str] = set()
    for explanation in answer.result:
        if explanation.joint.ref in seen:
            continue
        seen.add(explanation.joint.ref)
        report.screen.heading(f"{explanation.joint.ref}.{explanation.joint.pin}")
        for line in heat_tables.explanation_lines(explanation, language):
            report.screen.line(line, indent=2)


def print_measured(answer: Answer[MeasuredJoint], language: str) -> None:
    """Print what a timed joint changed, and the lines to write into bench.toml."""
    report = Report(language)
    for line in heat_tables.measured_lines(answer.result, language):
        report.screen.line(line)


def print_coupon(line: str, language: str) -> None:
    """Print the lines to write into bench.toml after a coupon test."""
    report = Report(language)
    report.say("heat-coupon-keep")
    for part in line.splitlines():
        report.screen.line(part, indent=2)
