"""`powerup` on a terminal and as JSON: per hold point what comes first, what to set, what to read, when to stop."""

from typing import TYPE_CHECKING

from reworkkit.model.designator_list import in_short
from reworkkit.model.messages import Message, message
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import AlertLevel, Mode
from reworkkit.show.check_text import check_document
from reworkkit.show.documents import Document, band_document, document
from reworkkit.show.terminal import Report
from reworkkit.show.texts import band_text, sentence

if TYPE_CHECKING:
    from reworkkit.model.answer import Answer
    from reworkkit.model.feeds import FurtherFeed
    from reworkkit.model.job_view import HoldState
    from reworkkit.model.measuring import Check, Expectation
    from reworkkit.model.power import Outside, PowerUp
    from reworkkit.model.results import HoldPoint, Symptom

STATE_WORDS: dict[str, Message] = {
    "open": message("power-state-open"),
    "closed": message("power-state-closed"),
    "not_judged": message("power-state-not-judged"),
}


def print_power(answer: "Answer[PowerUp]", language: str, every: bool) -> None:
    """Print readings that are outside first, then each hold point; what is known of the causes last."""
    report, result = Report(language), answer.result
    report.board_line(answer.board, answer.situation)
    if not result.hold_points:
        report.say("power-none")
        report.say("power-none-answer", style="quiet", indent=2)
    _print_outside(report, result)
    pairs = list(zip(result.hold_points, result.states, strict=True))
    tonight = next((n for n, (_, state) in enumerate(pairs) if state.state != "open"), len(pairs) - 1)
    for n, (point, state) in enumerate(pairs):
        if every or n == tonight:
            _print_point(report, point, state, every)
        else:
            _print_later(report, point, state)
    report.findings(answer.board.findings)
    if every:
        _print_symptoms(report, result.symptoms)
    elif result.hold_points:
        report.say("power-more", style="quiet")
    report.next_command("reworkkit reading POINT VALUE")


def power_is_open(answer: "Answer[PowerUp]") -> bool:
    """Return whether a hold point is not open."""
    return any(state.state != "open" for state in answer.result.states)


def _print_outside(report: Report, result: "PowerUp") -> None:
    outside = [one for one in result.outside if not one.unusual]
    if outside:
        report.screen.heading(report.words(message("power-heading-outside", count=len(outside))))
        for one in outside:
            report.screen.line(f"{one.check.point.text}: {report.words(one.judgement.message)}", "warning", indent=2)
            _print_causes(report, one.symptoms)
        report.say("power-outside-rule", indent=2)
    for one in result.outside:
        if one.unusual:
            point, reading = one.check.point.text, one.judgement.reading.text
            report.say("power-unusual", style="caution", indent=2, point=point, reading=reading)


def _print_causes(report: Report, symptoms: "tuple[Symptom, ...]") -> None:
    for symptom in symptoms[:2]:
        report.say("power-symptom", indent=4, reading=symptom.reading, likely="; ".join(symptom.likely))
        report.say("power-separates", indent=4, separates=symptom.separates)


def _print_later(report: Report, point: "HoldPoint", state: "HoldState") -> None:
    name, words = point.outline.name, report.words(STATE_WORDS[state.state])
    report.screen.heading(report.words(message("power-heading-point", name=name, state=words)))
    for finding in point.findings:
        report.finding(finding)
    report.say("power-later", indent=2, style="quiet", name=name)


def _print_point(report: Report, point: "HoldPoint", state: "HoldState", every: bool) -> None:
    name, words = point.outline.name, report.words(STATE_WORDS[state.state])
    report.screen.heading(report.words(message("power-heading-point", name=name, state=words)))
    for level, alert in point.cautions:
        style = "warning" if level is AlertLevel.WARNING else "caution"
        report.screen.line(f"{level.value.upper()}: {report.words(alert)}", style, indent=2)
    for one in point.to_do:
        report.screen.line(report.words(one), indent=2)
    for finding in point.findings:
        report.finding(finding)
    _print_set(report, point)
    _print_checks(report, message("power-heading-off"), point.unpowered, _usual(point))
    _print_checks(report, message("power-heading-on"), point.powered, _usual(point))
    _print_list(report, message("power-heading-steps"), point.steps, numbered=True)
    _print_list(report, message("power-heading-stop"), point.stop, numbered=False)
    if every:
        _print_list(report, message("power-heading-assumed"), point.assumed, numbered=False)
    elif point.assumed:
        report.say("power-assumed-count", style="quiet", indent=2, count=len(point.assumed))
    report.not_judged(point.not_judged)


def _usual(point: "HoldPoint") -> dict[str, Band]:
    return dict(point.usual)


def _print_set(report: Report, point: "HoldPoint") -> None:
    volts, feed = band_nominal(point.supply_v), point.outline.feed
    refs = in_short(point.draws_unknown)
    if any(step.slug == "power-step-mains" for step in point.steps):
        slug = message("power-set-mains", volts=volts, feed=feed or "-")
    elif not feed or point.supply_v is None:
        slug = message("power-set-nothing")
    elif not (point.limit_a and point.limit_a.nominal):
        slug = message("power-set-unknown", volts=volts, feed=feed)
    elif refs:
        limit, draw = _amps(point.limit_a.nominal), draw_text(point.draw_a)
        slug = message("power-set-least", volts=volts, limit=limit, feed=feed, draw=draw, refs=refs)
    else:
        limit, draw = _amps(point.limit_a.nominal), draw_text(point.draw_a)
        slug = message("power-set", volts=volts, limit=limit, feed=feed, draw=draw)
    report.screen.line(report.words(slug), indent=2)
    for one in point.further:
        limit, draw = _amps(one.limit_a.nominal or 0.0), draw_text(one.draw_a)
        report.say("power-set-further", indent=2, volts=f"{one.volts_v:g} V", feed=one.feed, limit=limit, draw=draw)
        if one.volts_v < 0:
            report.say("power-set-minus", indent=2, feed=one.feed)
    if point.charge_s is not None:
        report.say("power-charge", indent=2, seconds=band_text(point.charge_s))


def band_nominal(band: Band | None) -> str:
    """Return the nominal value of a band with its unit, or that it is not known."""
    return "not known" if band is None or band.nominal is None else f"{band.nominal:g} {band.unit}"


def draw_text(draw: Band | None) -> str:
    """Return the expected draw in words; a few microampere are told as under 1 mA."""
    if draw is None:
        return "not known"
    return "under 1 mA" if draw.high is not None and draw.high < 1e-3 else band_text(draw)


def _amps(value: float) -> str:
    return f"{value * 1000:.0f} mA" if value < 1 else f"{value:.3g} A"


def _print_checks(
    report: Report, title: Message, checks: "tuple[Check, ...]", usual: dict[str, Band] | None = None
) -> None:
    if not checks:
        return
    report.screen.line(report.words(title), "heading", indent=2)
    rows = []
    for check in checks:
        words = [report.words(check.why)]
        if check.swapped is not None and check.swapped != check.expect:
            words.append(report.words(message("power-swapped", band=_expected(check.swapped))))
        if usual and check.id in usual:
            words.append(report.words(message("power-usual", band=usual[check.id])))
        rows.append((check.point.text, _expected(check.expect), " ".join(words)))
    report.screen.table(rows, widest=24)


def _expected(expect: "Expectation | None") -> str:
    if isinstance(expect, Band):
        return band_text(expect)
    return expect.value.replace("_", " ") if expect is not None else "-"


def _print_list(report: Report, title: Message, lines: tuple[Message, ...], *, numbered: bool) -> None:
    if not lines:
        return
    report.screen.line(report.words(title), "heading", indent=2)
    for n, one in enumerate(lines, start=1):
        mark = f"{n}. " if numbered else "- "
        report.screen.line(mark + report.words(one), indent=4)


def _print_symptoms(report: Report, symptoms: "tuple[Symptom, ...]") -> None:
    report.screen.heading(report.words(message("power-heading-symptoms")))
    for symptom in symptoms:
        report.screen.line(symptom.reading, indent=2)
        report.say("power-likely", indent=4, likely="; ".join(symptom.likely))
        report.say("power-separates", indent=4, separates=symptom.separates)


def power_json(answer: "Answer[PowerUp]", language: str) -> Document:
    """Return `reworkkit.powerup/1`."""
    result = answer.result
    points = [_point(p, s, language) for p, s in zip(result.hold_points, result.states, strict=True)]
    body = {"hold_points": points, "outside": [_outside(one, language) for one in result.outside]}
    findings = {finding: None for point in result.hold_points for finding in point.findings}
    questions = {question: None for point in result.hold_points for question in point.not_judged}
    return document("powerup", answer.situation, (*answer.board.findings, *findings), questions, body, language)


def _point(point: "HoldPoint", state: "HoldState", language: str) -> Document:
    outline = point.outline
    return {
        "name": outline.name,
        "state": state.state,
        "why": [sentence(why, language) for why in state.why],
        "supply": outline.supply,
        "feed": outline.feed,
        "supply_v": band_document(point.supply_v),
        "limit": band_document(point.limit_a),
        "draw": band_document(point.draw_a),
        "draws_unknown": list(point.draws_unknown),
        "further": [_further(one) for one in point.further],
        "charge_s": band_document(point.charge_s),
        "needs": list(outline.needs),
        "protects": list(outline.protects),
        "fitted_digest": point.fitted_digest,
        "to_do": [sentence(one, language) for one in point.to_do],
        "unpowered": [_check(check, language, dict(point.usual)) for check in point.unpowered],
        "powered": [_check(check, language, dict(point.usual)) for check in point.powered],
        "steps": [sentence(one, language) for one in point.steps],
        "stop": [sentence(one, language) for one in point.stop],
        "cautions": [{"level": level.value, "sentence": sentence(one, language)} for level, one in point.cautions],
        "assumed": [sentence(one, language) for one in point.assumed],
    }


def _further(one: "FurtherFeed") -> Document:
    return {
        "supply": one.supply,
        "feed": one.feed,
        "volts_v": one.volts_v,
        "limit": band_document(one.limit_a),
        "draw": band_document(one.draw_a),
        "charge_s": band_document(one.charge_s),
    }


def _check(check: "Check", language: str, usual: dict[str, Band] | None = None) -> Document:
    return {**check_document(check, language), "usual": band_document((usual or {}).get(check.id))}


def _outside(one: "Outside", language: str) -> Document:
    return {
        "hold_point": one.hold_point,
        "check": one.check.id,
        "point": one.check.point.text,
        "mode": Mode(one.check.mode).value,
        "reading": one.judgement.reading.text,
        "sentence": sentence(one.judgement.message, language),
        "unusual": one.unusual,
        "may_mean": [
            {
                "key": s.key,
                "reading": s.reading,
                "likely": list(s.likely),
                "separates": s.separates,
                "source": s.source.key,
            }
            for s in one.symptoms
        ],
    }
