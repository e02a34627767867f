"""`diagnose` on a terminal and as JSON: the best fit so far, what to measure next, and what each answer would mean."""

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from reworkkit.model.board import Board
from reworkkit.model.diagnosis import (
    PIN_OPEN,
    AnswerMeans,
    Certainty,
    DiagnosisVerdict,
    Fault,
    FaultGroup,
    NextCheck,
    PointFit,
)
from reworkkit.model.messages import Message, message
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import Mode
from reworkkit.show.documents import Document, band_document, document
from reworkkit.show.terminal import Report
from reworkkit.show.texts import sentence

if TYPE_CHECKING:
    from reworkkit.model.answer import Answer
    from reworkkit.model.board import Board
from reworkkit.model.diagnosis import Diagnosis

VERDICTS: dict[DiagnosisVerdict, Message] = {
    DiagnosisVerdict.NO_FAULT_SEEN: message("diagnose-no-fault-seen"),
    DiagnosisVerdict.NO_LISTED_FAULT_FITS: message("diagnose-none-fits"),
    DiagnosisVerdict.NOT_ENOUGH: message("diagnose-not-enough"),
}
CERTAIN: dict[Certainty, Message] = {
    Certainty.ALMOST_CERTAINLY: message("certainty-almost"),
    Certainty.PROBABLY: message("certainty-probably"),
    Certainty.ONE_OF_THESE: message("certainty-one-of"),
    Certainty.POSSIBLE: message("certainty-possible"),
}
MODES: dict[Mode, Message] = {
    Mode.VOLTS: message("diagnose-mode-volts"),
    Mode.AMPS: message("diagnose-mode-amps"),
    Mode.OHMS: message("diagnose-mode-ohms"),
    Mode.DIODE: message("diagnose-mode-diode"),
}
LEAST_PERCENT = 0.2
"""Groups below this are for --all: what to look at when the others have been looked at."""
GROUPS_SHOWN, FAULTS_SHOWN, ALIKE_SHOWN = 4, 6, 8
CHECKS_SHOWN = 3
"""So many checks are printed; the document has all."""
_TWO_NETS = frozenset(("bridge", "base_to_emitter", "base_to_collector", "gate_shorted", "gate_leaks", "gate_to_drain"))
_PREFIXES = ((1e6, "M"), (1e3, "k"), (1.0, ""), (1e-3, "m"), (1e-6, "u"))


def diagnosis_is_open(answer: "Answer[Diagnosis]") -> bool:
    """Return whether something is open: anything but "no fault seen" at the points measured."""
    return answer.result.verdict is not DiagnosisVerdict.NO_FAULT_SEEN


def figure_text(value: float, unit: str) -> str:
    """Return a figure as a meter shows it, three digits.

    >>> figure_text(4700, "ohm"), figure_text(0.0123, "A"), figure_text(3.30, "V")
    ('4.7 kohm', '12.3 mA', '3.3 V')
    """
    size = abs(value)
    if unit == "V" or size == 0:
        return f"{round(value, 3) + 0.0:.3g} {unit}"
    scale, prefix = next(((s, p) for s, p in _PREFIXES if size >= 0.9995 * s), _PREFIXES[-1])
    if unit == "ohm" and scale < 1:
        scale, prefix = 1.0, ""
    return f"{value / scale:.3g} {prefix}{unit}"


def range_text(band: Band, over: bool, language: str = "en") -> str:
    """Return what a meter would show for an answer: `OL`, `below 3 V`, `1 to 2 V`."""
    if over:
        return "OL"
    if band.low is None and band.high is None:
        return sentence(message("diagnose-anything"), language)
    if band.low is None or (band.unit != "V" and band.low < 1e-6):
        return sentence(message("diagnose-below", value=figure_text(band.high or 0.0, band.unit)), language)
    if band.high is None:
        return sentence(message("diagnose-above", value=figure_text(band.low, band.unit)), language)
    low, high = figure_text(band.low, band.unit), figure_text(band.high, band.unit)
    return sentence(message("diagnose-between", low=low, high=high), language)


def band_words(band: Band | None) -> str:
    """Return an expected band: `4.75 to 5.25 V`."""
    if band is None or band.low is None or band.high is None:
        return "-"
    low, high = figure_text(band.low, band.unit), figure_text(band.high, band.unit)
    same = low.rpartition(" ")[2] == high.rpartition(" ")[2]
    return f"{low.rpartition(' ')[0] if same else low} to {high}"


def names(faults: Sequence[Fault], language: str, most: int = FAULTS_SHOWN) -> str:
    """Return faults in words, joined by "or"; beyond `most` only how many."""
    words = [sentence(fault.words, language) for fault in faults[:most]]
    joined = f" {sentence(message('diagnose-or'), language)} ".join(words)
    return joined if len(faults) <= most else f"{joined} (+{len(faults) - most})"


def print_diagnosis(answer: "Answer[Diagnosis]", language: str, every: bool) -> None:
    """Print stops and input errors first, then the best fit, the readings beside it, and what to measure next."""
    report, result = Report(language, named=answer.named), answer.result
    report.board_line(answer.board, answer.situation)
    for stop in result.stops:
        report.screen.line(report.words(stop), "warning")
    report.findings(result.findings)
    _print_known(report, result)
    _print_first(report, result)
    _print_verdict(report, result, every)
    _print_points(report, result.points)
    if result.verdict is DiagnosisVerdict.NOT_ENOUGH:
        report.say("diagnose-start", indent=2)
    else:
        _print_next(report, result.next[:CHECKS_SHOWN])
    _print_stress(report, result)
    _print_not_checked(report, result)
    if every or result.verdict is DiagnosisVerdict.NOT_ENOUGH:
        report.not_judged(result.not_judged)
    elif result.not_judged:
        report.say("diagnose-more-open", style="quiet", count=len(result.not_judged))
    report.next_command(_command_after(result))


def known_lines(result: "Diagnosis", language: str) -> list[str]:
    """Return what is written down already, one line for what was taken as so and one for what stays open."""
    known, doubt = ("; ".join(sentence(one, language) for one in found) for found in (result.known, result.in_doubt))
    lines = [sentence(message("diagnose-known", faults=known), language)] if known else []
    return [*lines, *([sentence(message("diagnose-in-doubt", faults=doubt), language)] if doubt else [])]


def _print_known(report: Report, result: "Diagnosis") -> None:
    lines = known_lines(result, report.language)
    if lines:
        report.screen.line()
    for line in lines:
        report.screen.line(line)


def _command_after(result: "Diagnosis") -> str:
    if result.next:
        return f"reworkkit reading {_typed(result.next[0])} VALUE"
    return "reworkkit reading POINT VALUE"


def _typed(check: NextCheck) -> str:
    text = check.check.point.text
    words = f'"{text}"' if " " in text else text
    return words + (" --mode diode" if check.check.mode is Mode.DIODE else "") + (" --swapped" * _swapped(check))


def _swapped(check: NextCheck) -> bool:
    return check.check.id.endswith(" swapped")


def _print_verdict(report: Report, result: "Diagnosis", every: bool) -> None:
    report.screen.line()
    if result.verdict is DiagnosisVerdict.FAULT:
        shown = [group for group in result.groups[:GROUPS_SHOWN] if group.likely_percent >= LEAST_PERCENT]
        for number, group in enumerate(result.groups if every else shown or result.groups[:1]):
            _print_group(report, group, number == 0)
    else:
        report.screen.line(report.words(VERDICTS[result.verdict]), "heading")
        if result.verdict is DiagnosisVerdict.NO_LISTED_FAULT_FITS:
            report.say("diagnose-none-fits-do", indent=2)
            if result.groups:
                nearest = names([group.faults[0] for group in result.groups], report.language, 4)
                report.say("diagnose-nearest", indent=2, faults=nearest)
    for remark in result.remarks:
        report.screen.line(report.words(remark), indent=2)
    if result.verdict is not DiagnosisVerdict.NOT_ENOUGH:
        _print_alike(report, result)


def _print_group(report: Report, group: FaultGroup, first: bool) -> None:
    words = report.words(CERTAIN[group.certainty])
    report.screen.line(f"{words}: {names(group.faults, report.language)}.", "heading" if first else "")
    if group.tell_apart is not None:
        report.screen.line(report.words(group.tell_apart), "quiet", indent=2)


def _print_alike(report: Report, result: "Diagnosis") -> None:
    points = len(result.measured)
    if result.same_look:
        same = names(result.same_look, report.language, ALIKE_SHOWN)
        report.say("diagnose-same-look", indent=2, style="quiet", count=points, faults=same)
    else:
        report.say("diagnose-at-points", indent=2, style="quiet", count=points)


def _print_points(report: Report, points: Iterable[PointFit]) -> None:
    rows = point_rows(points, report.language)
    if rows:
        report.screen.heading(report.words(message("diagnose-heading-points")))
        report.screen.table(rows, point_headings(report.language), widest=18)


def point_headings(language: str) -> tuple[str, ...]:
    """Return the headings of the table of readings."""
    slugs = (
        message("diagnose-column-point"),
        message("diagnose-column-measured"),
        message("diagnose-column-healthy"),
        message("diagnose-column-best"),
    )
    return tuple(sentence(slug, language) for slug in slugs)


def point_rows(points: Iterable[PointFit], language: str) -> list[tuple[str, ...]]:
    """Return one row a powered reading: point, measured, healthy band, what the best fit says; those outside first."""
    powered = (Mode.VOLTS, Mode.AMPS)
    shown = [one for one in points if one.reading.mode in powered and one.reading.value is not None]
    ordered = sorted(shown, key=lambda one: one.inside is not False)
    outside = sentence(message("diagnose-outside"), language)
    return [
        (
            one.reading.point,
            f"{one.reading.text}{f' {outside}' if one.inside is False else ''}",
            band_words(one.healthy),
            band_words(one.best),
        )
        for one in ordered
    ]


def check_lines(
    check: NextCheck, number: int, language: str
) -> tuple[str, tuple[str, ...], tuple[tuple[str, str], ...]]:
    """Return a check in words: its heading, its cautions, and (reading, meaning) of each answer."""
    mode = sentence(MODES[check.check.mode], language)
    point = check.check.point.text
    heading = sentence(message("diagnose-next-check", n=number, mode=mode, point=point), language)
    if check.instead:
        heading = f"{heading} {sentence(message('diagnose-instead-note'), language)}"
    cautions = tuple(sentence(one, language) for one in check.cautions)
    return heading, cautions, tuple(answer_row(one, language) for one in check.answers)


def answer_row(means: AnswerMeans, language: str) -> tuple[str, str]:
    """Return one answer: the reading, and the faults it would point to."""
    faults = [fault for fault in means.faults if fault.ref]
    told = names(faults, language, 4)
    if len(faults) < len(means.faults):
        none = sentence(message("fault-none"), language)
        told = f"{none} {sentence(message('diagnose-or'), language)} {told}" if told else none
    return range_text(means.reading, means.over_range, language), told


def _print_next(report: Report, checks: Sequence[NextCheck]) -> None:
    if not checks:
        report.say("diagnose-nothing-more", indent=2)
        return
    report.screen.heading(report.words(message("diagnose-heading-next")))
    for number, check in enumerate(checks, start=1):
        heading, cautions, rows = check_lines(check, number, report.language)
        report.screen.line(heading, "heading" if number == 1 else "", indent=2)
        for caution in cautions:
            report.screen.line(caution, "caution", indent=4)
        report.screen.table([(f"  {reading}", told) for reading, told in rows], widest=24)


def stress_lines(result: "Diagnosis", language: str) -> tuple[str, ...]:
    """Return what saw more than its rating, one line a part."""
    slugs = {
        "voltage": "diagnose-stress-voltage",
        "reverse": "diagnose-stress-reverse",
        "power": "diagnose-stress-power",
    }
    found = []
    for one in result.over_stressed:
        told = message(
            slugs[one.quantity], ref=one.ref, saw=one.saw, rating=one.rating, fault=sentence(one.fault.words, language)
        )
        assumed = f" {sentence(message('diagnose-rating-assumed'), language)}" if one.assumed else ""
        found.append(sentence(told, language) + assumed)
    return (*found, sentence(result.over_stressed[0].how_long, language)) if found else ()


def _print_stress(report: Report, result: "Diagnosis") -> None:
    lines = stress_lines(result, report.language)
    if lines:
        report.screen.heading(report.words(message("diagnose-heading-stress")))
        for line in lines:
            report.screen.line(line, indent=2)


def _print_first(report: Report, result: "Diagnosis") -> None:
    """Print the questions that make a fault no fault at all: they come before any verdict."""
    if result.verdict is not DiagnosisVerdict.NO_FAULT_SEEN:
        report.screen.heading(report.words(message("diagnose-heading-first")))
        for question in result.first:
            report.screen.line(report.words(question), indent=2)


def _print_not_checked(report: Report, result: "Diagnosis") -> None:
    report.screen.line()
    for one in result.not_checked:
        report.screen.line(report.words(one), "quiet")


def diagnose_json(answer: "Answer[Diagnosis]", language: str) -> Document:
    """Return `reworkkit.diagnose/1`."""
    result = answer.result
    body = {
        "verdict": result.verdict.value,
        "hold_point": result.hold_point,
        "groups": [_group(group, answer.board, language) for group in result.groups],
        "next": [_check(check, language) for check in result.next],
        "over_stressed": [
            {
                "ref": one.ref,
                "quantity": one.quantity,
                "saw": one.saw,
                "rating": one.rating,
                "assumed": one.assumed,
                "under": _fault(one.fault, language),
                "certainty": one.certainty.value,
                "how_long": sentence(one.how_long, language),
            }
            for one in result.over_stressed
        ],
        "points": [_point(one) for one in result.points],
        "same_look": [_fault(fault, language) for fault in result.same_look],
        "first": [sentence(one, language) for one in result.first],
        "known": [sentence(one, language) for one in result.known],
        "known_in_doubt": [sentence(one, language) for one in result.in_doubt],
        "remarks": [sentence(one, language) for one in result.remarks],
        "stops": [sentence(one, language) for one in result.stops],
        "not_checked": [sentence(one, language) for one in result.not_checked],
    }
    return document("diagnose", answer.situation, result.findings, result.not_judged, body, language)


def _fault(fault: Fault, language: str) -> Document:
    found: Document = {"ref": fault.ref, "kind": fault.kind, "words": sentence(fault.words, language)}
    return found | {"nets": list(fault.nets[:2])} if fault.kind in _TWO_NETS else found


def _pins(fault: Fault, board: Board) -> Document:
    """Return the pin numbers that a fault of one pin is about; of a unit of a chip all, the output among them."""
    if not fault.kind.endswith("_open"):
        return {}
    nets = fault.nets if fault.kind == PIN_OPEN else fault.nets[:1]
    return {"pins": [pin.number for pin in board.pins.values() if pin.ref == fault.ref and pin.net in nets]}


def _group(group: FaultGroup, board: Board, language: str) -> Document:
    return {
        "faults": [_fault(fault, language) | _pins(fault, board) for fault in group.faults],
        "certainty": group.certainty.value,
        "probability": round(group.likely_percent / 100, 4),
        "tell_apart": sentence(group.tell_apart, language) if group.tell_apart else None,
    }


def _check(check: NextCheck, language: str) -> Document:
    point, swapped = check.check.point, _swapped(check)
    return {
        "check": check.check.mode.value,
        "point": point.text,
        "between": [end for end in ((point.b, point.a) if swapped else (point.a, point.b)) if end],
        "swapped": swapped,
        "instead": check.instead,
        "powered": check.powered,
        "hold_point": check.check.hold_point,
        "cost": check.check.cost,
        "cautions": [sentence(one, language) for one in check.cautions],
        "answers": [
            {
                "reading": "OL" if one.over_range else band_document(one.reading),
                "faults": [_fault(fault, language) for fault in one.faults],
                "probability": round(one.likely_percent / 100, 4),
            }
            for one in check.answers
        ],
    }


def _point(one: PointFit) -> Document:
    return {
        "point": one.reading.point,
        "mode": one.reading.mode.value,
        "reading": one.reading.text,
        "healthy": band_document(one.healthy),
        "best_fit": band_document(one.best),
        "inside": one.inside,
    }
