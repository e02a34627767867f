"""Which way round, on a terminal and as JSON: what contradicts first, then questions, what agrees, the readings."""

from collections.abc import Iterable, Sequence
from dataclasses import replace

from reworkkit.model.board import Board
from reworkkit.model.designator_list import in_short
from reworkkit.model.job import Situation
from reworkkit.model.measuring import Check, Expectation
from reworkkit.model.messages import Fact, Finding, Message, message
from reworkkit.model.results import OrientationVerdict
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import Mode, PolarityVerdict
from reworkkit.show.check_text import check_document
from reworkkit.show.documents import Document, document
from reworkkit.show.terminal import VERDICT_ORDER, Report
from reworkkit.show.texts import band_text, sentence

_FULL = (PolarityVerdict.CONTRADICTS, PolarityVerdict.NO_NOTE, PolarityVerdict.UNDECIDED)


def print_polarity_text(
    report: Report, board: Board, situation: Situation, verdicts: Sequence[OrientationVerdict]
) -> None:
    """Print the verdicts, worst first; parts that agree in one line each, the rest with need and reason."""
    report.board_line(board, situation)
    for verdict in VERDICT_ORDER:
        of_kind = [one for one in verdicts if one.verdict is verdict]
        if not of_kind:
            continue
        title = report.words(message("verdict-" + verdict.value.replace("_", "-")))
        report.screen.heading(f"{title} ({len(of_kind)})")
        if verdict is PolarityVerdict.NOT_POLARISED:
            _folded(report, of_kind)
        elif verdict in _FULL:
            for one in of_kind:
                _part(report, one)
        else:
            report.screen.table([(one.ref, _need(report, one), report.words(one.why)) for one in of_kind], widest=26)
    _readings(report, verdicts)
    first, noticed = _parted(_findings(verdicts))
    for told in first:
        report.screen.line(report.words(told.message), indent=2)
    report.findings(noticed)
    questions = [one.question for one in verdicts if one.question and (one.question.answer or not board.nets)]
    if questions:
        report.screen.line()
    report.not_judged(questions, no_netlist=not board.nets)
    report.next_command("reworkkit plan")


def _folded(report: Report, verdicts: Sequence[OrientationVerdict]) -> None:
    """Print parts without a way round, those of one kind in one line."""
    kinds: dict[tuple[str, str], list[str]] = {}
    for one in verdicts:
        kinds.setdefault((one.why.slug, str(one.why.fact("kind") or _plain(one.kind))), []).append(one.ref)
    for (slug, kind), refs in kinds.items():
        fits = slug == "polarity-fits-one-way"
        group = "polarity-group-one-way" if fits else "polarity-group-either-way"
        report.say(group, indent=2, refs=in_short(refs), kind=kind)


def _part(report: Report, one: OrientationVerdict) -> None:
    style = "caution" if one.verdict is PolarityVerdict.CONTRADICTS else ""
    report.screen.line(f"{one.ref}: {_need(report, one)}", style, indent=2)
    if one.mark is None:
        report.say("no-mark-rule", indent=4)
    elif one.mark.reliable:
        report.say("polarity-mark-shows", indent=4, mark=one.mark.mark, terminal=_plain(one.mark.terminal))
    else:
        report.say("mark-not-reliable", indent=4)
    if one.note:
        report.say("polarity-note-says", indent=4, note=one.note, where=str(one.where or ""))
    report.screen.line(report.words(one.why), indent=4)


def _need(report: Report, one: OrientationVerdict) -> str:
    """Return which terminal goes where, the one its mark shows first: `cathode on pad 1 (+24V)`."""
    if not one.needs:
        return report.words(message("polarity-need-open"))
    shown = one.mark.terminal if one.mark else ""
    order = sorted(one.needs, key=lambda role: (role != shown, role not in ("cathode", "plus", "pin_1")))
    pin, net = one.needs[order[0]]
    return report.words(message("polarity-need-line", role=_plain(order[0]), pin=pin, net=net or "-"))


def _readings(report: Report, verdicts: Sequence[OrientationVerdict]) -> None:
    tests = [check for one in verdicts for check in one.checks if check.mode is Mode.DIODE]
    beeps = [check for one in verdicts for check in one.checks if check.mode is Mode.CONTINUITY]
    if tests:
        report.screen.heading(report.words(message("heading-diode-test", count=len(tests))))
        report.say("polarity-volts-first", indent=2)
        report.screen.table([_reading(report, check) for check in tests], _headings(report), 24)
    if silent := _without_reading(verdicts):
        report.say("polarity-no-reading", indent=2, refs=in_short(silent))
    if beeps:
        report.screen.heading(report.words(message("heading-beep", count=len({check.refs[0] for check in beeps}))))
        report.say("polarity-beep-how", indent=2)
        for (net, role), lands in _beeps(beeps).items():
            report.say("polarity-beep-group", indent=2, net=net, role=role, lands=" ".join(lands))


def _headings(report: Report) -> tuple[str, ...]:
    return tuple(
        report.words(message(slug)) for slug in ("polarity-col-part", "polarity-col-plus", "polarity-col-both")
    )


def _reading(report: Report, check: Check) -> tuple[str, str, str]:
    facts = {"expect": _shown(report, check.expect), "swapped": _shown(report, check.swapped)}
    return check.refs[0], check.point.a, report.words(message("polarity-both-ways", **facts))


def _beeps(checks: Sequence[Check]) -> dict[tuple[str, str], list[str]]:
    """Return (net, terminal) -> the lands that beep to the net, where that terminal goes."""
    found: dict[tuple[str, str], list[str]] = {}
    for check in checks:
        if check.point.b is None:
            key = str(check.why.fact("net")), str(check.why.fact("role"))
            found.setdefault(key, []).append(check.point.a)
    return found


_READ = frozenset({"diode", "diode_schottky", "diode_zener", "led", "tvs", "tvs_one_way", "optocoupler"})


def _without_reading(verdicts: Sequence[OrientationVerdict]) -> list[str]:
    """Return the diodes whose need is known and that no diode test in circuit proves."""
    return [
        one.ref
        for one in verdicts
        if one.kind in _READ and "cathode" in one.needs and not any(check.mode is Mode.DIODE for check in one.checks)
    ]


def _shown(report: Report, expect: Expectation | None) -> str:
    if expect is None:
        return report.words(message("polarity-tells-nothing"))
    return band_text(expect) if isinstance(expect, Band) else report.words(message("polarity-over-range"))


def _findings(verdicts: Sequence[OrientationVerdict]) -> list[Finding]:
    """Return what was noticed; findings that differ in the part alone are one, with all parts."""
    equal: dict[tuple[object, ...], list[Finding]] = {}
    for finding in (finding for one in verdicts for finding in one.findings):
        facts = tuple(fact for fact in finding.message.facts if fact[0] != "ref")
        equal.setdefault((finding.message.slug, finding.severity, facts, finding.source), []).append(finding)
    return [_folded_finding(group) for group in equal.values()]


def _folded_finding(group: Sequence[Finding]) -> Finding:
    """Return one finding for several that are equal but for the part."""
    if len(group) == 1:
        return group[0]
    refs = tuple(dict.fromkeys(ref for one in group for ref in one.refs))
    where = tuple(dict.fromkeys(place for one in group for place in one.where))
    facts = _facts(group[0].message) | {"ref": in_short(refs)}
    return replace(group[0], message=message(group[0].message.slug, **facts), refs=refs, where=where)


def _facts(said: Message) -> dict[str, Fact]:
    return dict(said.facts)


def _parted(findings: Sequence[Finding]) -> tuple[list[Finding], list[Finding]]:
    """Return which part of a kind to prove first, and what else was noticed."""
    first = [one for one in findings if one.message.slug == "polarity-first-of-kind"]
    return first, [one for one in findings if one not in first]


def _plain(words: str) -> str:
    return words.replace("_", " ")


def polarity_document(
    situation: Situation, verdicts: Iterable[OrientationVerdict], findings: Iterable[Finding], language: str
) -> Document:
    """Return `reworkkit.polarity/1`."""
    verdicts = tuple(verdicts)
    parts = [_verdict(verdict, language) for verdict in verdicts]
    questions = [verdict.question for verdict in verdicts if verdict.question]
    noticed = (*findings, *_findings(verdicts))
    return document("polarity", situation, noticed, questions, {"parts": parts}, language)


def _verdict(verdict: OrientationVerdict, language: str) -> Document:
    roles = {role: {"pin": pin, "net": net} for role, (pin, net) in verdict.needs.items()}
    plus = roles.get("anode") or roles.get("plus")
    minus = roles.get("cathode") or roles.get("minus")
    return {
        "ref": verdict.ref,
        "kind": verdict.kind,
        "needs": {
            "anode_or_plus_pin": plus["pin"] if plus else None,
            "cathode_or_minus_pin": minus["pin"] if minus else None,
            "roles": roles,
        },
        "faces": {**verdict.faces, "basis": verdict.faces_basis.value},
        "verdict": verdict.verdict.value,
        "why": sentence(verdict.why, language),
        "question": sentence(verdict.question.question, language) if verdict.question else None,
        "mark": {"mark": verdict.mark.mark, "terminal": verdict.mark.terminal, "reliable": verdict.mark.reliable}
        if verdict.mark
        else None,
        "note": verdict.note,
        "checks": [check_document(check, language) for check in verdict.checks],
    }
