"""`desolder` on a terminal and as JSON: warnings first, then each part, then the probes of the bare place."""

from typing import TYPE_CHECKING

from reworkkit.model.designator_list import in_short
from reworkkit.model.messages import Message, message
from reworkkit.model.removal import BareProof, DesolderPlan, PinHeat, Procedure, RemovalPlan, Save, Wire
from reworkkit.model.results import Alert
from reworkkit.model.vocabulary import AlertLevel, Basis
from reworkkit.show.bare_text import print_bare
from reworkkit.show.check_text import check_document
from reworkkit.show.documents import Document, document
from reworkkit.show.following import board_words
from reworkkit.show.plan_text import setup_text
from reworkkit.show.terminal import Report
from reworkkit.show.texts import sentence

if TYPE_CHECKING:
    from reworkkit.model.answer import Answer


def print_desolder(answer: "Answer[DesolderPlan]", language: str) -> None:
    """Print how the parts come off; what stands against it comes first."""
    report, plan = Report(language), answer.result
    report.board_line(answer.board, answer.situation)
    for finding in plan.findings:
        report.finding(finding)
    if plan.coating or plan.coating_steps:
        report.screen.heading(report.words(message("desolder-coating-heading")))
        _alerts(report, plan.coating, 2)
        for step in plan.coating_steps:
            report.screen.line(f"- {report.words(step)}", indent=2)
        report.not_judged(plan.not_judged)
    said: set[Message] = set()
    for part in plan.parts:
        _print_part(report, part, said)
    _print_proof(report, plan)
    report.screen.line()
    if any(part.procedures and part.fitted for part in plan.parts):
        report.say("desolder-editions", style="quiet")
    report.say("desolder-source", style="quiet")
    off = in_short(part.ref for part in plan.parts if part.fitted)
    if off and answer.situation.basis is Basis.JOB:
        report.say("desolder-off", refs=off)
    board = f" --board{board_words(answer.named)}" if answer.named else ""
    report.next_command(f"reworkkit checks --purpose bare_place{board}")


def _alerts(report: Report, alerts: tuple[Alert, ...], indent: int) -> None:
    for level in AlertLevel:
        for text in (text for of, text in alerts if of is level):
            report.screen.line(f"{level.value.upper()}: {report.words(text)}", level.value, indent=indent)


def _print_part(report: Report, part: RemovalPlan, said: set[Message]) -> None:
    screen = report.screen
    kind = part.kind.replace("_", " ")
    title = "desolder-title" if part.fitted else "desolder-title-off"
    screen.heading(report.words(message(title, ref=part.ref, kind=kind, package=part.package or "-")))
    for site in part.sites:
        kind = report.words(message(f"site-{site.kind.value.replace('_', '-')}"))
        report.say("desolder-site", style="caution", indent=2, point=site.point, kind=kind, text=site.text)
    if part.fitted:
        _print_way(report, part, said)
    for after in _new(part.afterwards, said):
        report.say("desolder-after", indent=2, text=report.words(after))
    if part.procedures:
        names = "; ".join(procedure_words(one, report.language) for one in part.procedures)
        report.say("desolder-procedures", style="quiet", indent=2, names=names)


def _new(texts: tuple[Message, ...], said: set[Message]) -> list[Message]:
    """Return the texts that were not said yet: what holds for every part is said at the first."""
    fresh = [text for text in texts if text not in said]
    said.update(fresh)
    return fresh


def _print_way(report: Report, part: RemovalPlan, said: set[Message]) -> None:
    slug = "desolder-save-part" if part.save is Save.PART else "desolder-save-board"
    report.say(slug, indent=2, why=report.words(part.save_why))
    _alerts(report, part.alerts, 2)
    for text in _new(part.before, said):
        report.say("desolder-before", indent=2, text=report.words(text))
    report.say("desolder-way", indent=2, way=report.words(part.method_words))
    for text in _new(part.added, said):
        report.say("desolder-added", indent=2, text=report.words(text))
    _print_pins(report, part)
    if part.neighbours and not part.method.startswith("air"):
        report.say("desolder-hot-zone", indent=2, refs=in_short(one.ref for one in part.neighbours))
    if sensitive := [one.ref for one in part.neighbours if one.sensitive]:
        report.say("desolder-sensitive", style="caution", indent=2, refs=in_short(sensitive))
    if part.again:
        report.say("desolder-again", indent=2, again=report.words(part.again))
    report.not_judged(part.not_judged)


def _print_pins(report: Report, part: RemovalPlan) -> None:
    """Print the pins in order; neighbours in the order that ask the same stand in one row."""
    if not part.method or not part.pins or part.method.startswith("air"):
        return
    if part.order_why is not None:
        report.screen.line(report.words(part.order_why), indent=2)
    rows: list[tuple[list[str], list[str], str, str]] = []
    at_once = part.order_why is not None and part.order_why.slug == "removal-order-at-once"
    for pin in part.pins[-1:] if at_once else part.pins:
        name = f"{part.ref}.{pin.pin}" if pin.pin else part.ref
        heat, what = pin.heat_class.value.replace("_", " "), pin_words(pin, report.language)
        if rows and rows[-1][2:] == (heat, what):
            rows[-1][0].append(name)
            rows[-1][1].append(pin.net or "-")
        else:
            rows.append(([name], [pin.net or "-"], heat, what))
    report.screen.table(
        [(" ".join(names), " ".join(dict.fromkeys(nets)), heat, what) for names, nets, heat, what in rows], widest=22
    )


def pin_words(pin: PinHeat, language: str) -> str:
    """Return what one joint asks: set-up and window, or the remedy where nothing at hand will do."""
    if pin.setup is None:
        return sentence(pin.remedy or message("desolder-pin-class"), language)
    setup = setup_text(pin.setup)
    if pin.window_c is None:
        return sentence(message("desolder-pin", setup=setup), language)
    low, high = pin.window_c
    return sentence(message("desolder-pin-window", setup=setup, low=low, high=high), language)


def procedure_words(procedure: Procedure, language: str) -> str:
    """Return a procedure by standard and name, with its number where one is sourced."""
    slug = "desolder-procedure-number" if procedure.number else "desolder-procedure"
    words = message(slug, standard=procedure.standard, name=procedure.name, number=procedure.number)
    return sentence(words, language)


def _print_proof(report: Report, plan: DesolderPlan) -> None:
    proof = plan.proof
    report.screen.heading(report.words(message("desolder-proof-heading")))
    for finding in proof.sheet.findings:
        report.finding(finding)
    print_bare(report, proof.sheet)
    if proof.proven:
        report.say("bare-proven", indent=2, points=", ".join(proof.proven))
    if not proof.sheet.checks and not proof.wires and not proof.sheet.not_judged:
        report.say("bare-all-proven", indent=2)
    report.not_judged(proof.sheet.not_judged)
    holes = [check.point.a for check in proof.sheet.checks if check.why.slug == "bare-probe-hole"]
    if holes:
        report.say("desolder-record", style="quiet", indent=2, pin=holes[-1])


def desolder_is_open(answer: "Answer[DesolderPlan]") -> bool:
    """Return whether something is open: no way off, a probe not made, a wire to run, a question."""
    plan = answer.result
    proof = plan.proof
    return bool(plan.findings or plan.not_judged or proof.sheet.checks or proof.wires or proof.sheet.not_judged)


def desolder_json(answer: "Answer[DesolderPlan]", language: str) -> Document:
    """Return `reworkkit.desolder/1`."""
    plan = answer.result
    body = {
        "coating": {
            "alerts": _alert_documents(plan.coating, language),
            "steps": [sentence(step, language) for step in plan.coating_steps],
        },
        "parts": [_part_document(part, language) for part in plan.parts],
        "proof": _proof_document(plan.proof, language),
    }
    open_questions = [*plan.not_judged, *(q for part in plan.parts for q in part.not_judged)]
    open_questions += plan.proof.sheet.not_judged
    findings = [*plan.findings, *plan.proof.sheet.findings]
    return document("desolder", answer.situation, findings, open_questions, body, language)


def _alert_documents(alerts: tuple[Alert, ...], language: str) -> list[Document]:
    return [{"level": level.value, "slug": text.slug, "sentence": sentence(text, language)} for level, text in alerts]


def _part_document(part: RemovalPlan, language: str) -> Document:
    def words(texts: tuple[Message, ...]) -> list[str]:
        return [sentence(text, language) for text in texts]

    return {
        "ref": part.ref,
        "kind": part.kind,
        "package": part.package,
        "fitted": part.fitted,
        "save": part.save.value,
        "save_why": sentence(part.save_why, language),
        "method": part.method or None,
        "method_sentence": sentence(part.method_words, language),
        "source": part.method_source.key if part.method_source else None,
        "pins": [_pin_document(n, pin, language) for n, pin in enumerate(part.pins, start=1)],
        "alerts": _alert_documents(part.alerts, language),
        "before": words(part.before),
        "added": words(part.added),
        "neighbours": [
            {"ref": one.ref, "peak_c": one.peak_c, "heat_sensitive": one.sensitive} for one in part.neighbours
        ],
        "fitted_again": sentence(part.again, language) if part.again else None,
        "afterwards": words(part.afterwards),
        "procedures": [
            {"name": p.name, "standard": p.standard, "number": p.number or None, "source": p.source.key}
            for p in part.procedures
        ],
        "sites": [{"point": site.point, "kind": site.kind.value, "text": site.text} for site in part.sites],
    }


def _pin_document(n: int, pin: PinHeat, language: str) -> Document:
    return {
        "order": n,
        "pin": pin.pin or None,
        "net": pin.net,
        "class": pin.heat_class.value,
        "setup": pin.setup._asdict() if pin.setup else None,
        "window_c": list(pin.window_c) if pin.window_c else None,
        "reachable": pin.reachable,
        "remedy": sentence(pin.remedy, language) if pin.remedy else None,
    }


def _proof_document(proof: BareProof, language: str) -> Document:
    return {
        "probes": [check_document(check, language) for check in proof.sheet.checks],
        "alerts": _alert_documents(proof.sheet.alerts, language),
        "proven": list(proof.proven),
        "wires": [_wire_document(wire, language) for wire in proof.wires],
    }


def _wire_document(wire: Wire, language: str) -> Document:
    because = sentence(wire.because, language)
    return {"net": wire.net, "from": wire.a, "to": wire.b, "length_mm": wire.length_mm, "because": because}
