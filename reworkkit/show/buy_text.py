"""`shortage` and `compare` on a terminal, as JSON and as CSV: what decides first, sources and passes on demand."""

import sys
from typing import TYPE_CHECKING

from reworkkit.model.comparison import (
    Amount,
    CandidateResult,
    Comparison,
    ComparisonRow,
    Consequence,
    Outcome,
    SubstituteVerdict,
)
from reworkkit.model.designator_list import in_short
from reworkkit.model.messages import Message, message
from reworkkit.model.shopping import PriceBreak, ShoppingLine, Shortage
from reworkkit.model.vocabulary import Basis
from reworkkit.show.documents import Document, document, not_judged_document
from reworkkit.show.spreadsheet import table_text
from reworkkit.show.terminal import Report
from reworkkit.show.texts import sentence

if TYPE_CHECKING:
    from reworkkit.model.answer import Answer

CSV_HEADINGS = (
    *("to_buy", "kind", "value", "package", "part_number", "refs", "missing", "to_replace", "spares", "from_stock"),
    *("not_inspected", "urgency", "instead_of", "lead_time", "prices", "order_problem"),
)
_OPEN_VERDICTS = (SubstituteVerdict.NOT_JUDGED, SubstituteVerdict.NO)


def print_shortage(answer: "Answer[Shortage]", language: str, every: bool = False) -> None:
    """Print the shopping list: rare and long-lead parts first, then what cannot be ordered as it is written."""
    report, result = Report(language, named=answer.named), answer.result
    report.board_line(answer.board, answer.situation)
    buy = [line for line in result.lines if line.to_buy]
    report.say("shortage-total", lines=len(buy), pieces=sum(line.to_buy for line in buy), copies=result.copies)
    for urgency in ("rare", "dear", "plain", "hardware"):
        lines = [line for line in buy if line.urgency == urgency]
        if lines:
            report.screen.heading(report.words(message("shortage-heading-" + urgency)))
            report.screen.table([_shopping_row(report, line, result.copies) for line in lines], _headings(report), 30)
    _print_doubts(report, buy)
    _print_stock(report, result, every)
    report.findings(answer.board.findings and [f for f in answer.board.findings if f.message.slug in _OWN_FINDINGS])
    report.findings(result.findings, every)
    if any(one.message.slug == "shortage-stock-maybe" for one in result.findings):
        report.say("shortage-stock-how", indent=2, style="quiet")
    report.screen.line()
    report.not_judged(result.not_judged)
    report.next_command("reworkkit checks --purpose goods_in")


_OWN_FINDINGS = ("substitute-in-place", "substitute-figures-not-known")


def _headings(report: Report) -> tuple[str, ...]:
    return tuple(report.words(message(slug)) for slug in ("shortage-col-buy", "shortage-col-what", "shortage-col-for"))


def _shopping_row(report: Report, line: ShoppingLine, copies: int) -> tuple[str, str, str]:
    what = " ".join(dict.fromkeys(text for text in (line.value, line.part_number, line.package) if text))
    why = next((report.words(one) for one in line.remarks if one.slug.startswith("shortage-spares-")), "")
    notes = [report.words(message("shortage-spares", count=line.spares, why=why))] if line.spares else []
    notes += [report.words(message("shortage-instead", listed=line.instead_of))] if line.instead_of else []
    notes += [report.words(message("shortage-taken", count=line.from_stock))] if line.from_stock else []
    notes += [report.words(message("shortage-lead", text=line.lead_time))] if line.lead_time else []
    notes += [prices_text(line.prices, line.to_buy, report.language)] if line.prices else []
    if copies > 1 and len(set(line.copies)) > 1:
        notes.append(report.words(message("shortage-per-copy", counts=", ".join(map(str, line.copies)))))
    notes += [report.words(remark) for remark in line.remarks if not remark.slug.startswith(_FOLDED)]
    where = in_short(line.refs)
    return str(line.to_buy), what, "; ".join([where, *notes] if where else notes)


_FOLDED = ("shortage-hardware", "shortage-spares-")


def prices_text(prices: tuple[PriceBreak, ...], pieces: int, language: str) -> str:
    """Return the price that holds for a quantity, and the next break where buying up to it costs no more."""
    holds = [one for one in prices if one.pieces <= pieces] or list(prices[:1])
    now = holds[-1]
    text = sentence(message("shortage-price", each=f"{now.each} {now.currency}".strip()), language)
    later = next((one for one in prices if one.pieces > pieces), None)
    if later and later.pieces * float(later.each) <= pieces * float(now.each):
        more = sentence(message("shortage-next-break", pieces=later.pieces, each=later.each), language)
        return f"{text}; {more}"
    return text


def _print_doubts(report: Report, lines: list[ShoppingLine]) -> None:
    doubtful = [line for line in lines if line.doubts]
    if not doubtful:
        return
    report.screen.heading(report.words(message("shortage-doubts", count=len(doubtful))))
    for line in doubtful:
        name = in_short(line.refs) or line.value
        words = " ".join(report.words(doubt) for doubt in line.doubts)
        report.screen.line(f"{name} ({line.value or '-'}): {words}", indent=2)


def _print_stock(report: Report, result: Shortage, every: bool) -> None:
    served = [line for line in result.lines if line.from_stock and not line.to_buy]
    unseen = [line for line in result.lines if line.not_inspected and not line.missing and not line.to_replace]
    if served:
        report.screen.heading(report.words(message("shortage-in-stock", count=len(served))))
        rows = [(str(line.from_stock), f"{line.value} {line.package}", in_short(line.refs)) for line in served]
        report.screen.table(rows, widest=30)
    if unseen:
        pieces = sum(line.not_inspected for line in unseen)
        refs = in_short({ref for line in unseen for ref in line.refs})
        report.say("shortage-unseen", count=pieces, refs=refs)


def print_shortage_csv(answer: "Answer[Shortage]", language: str) -> None:
    """Print the shopping list as CSV that is safe in a spreadsheet."""
    rows = [
        (
            *(line.to_buy, line.kind, line.value, line.package, line.part_number, in_short(line.refs), line.missing),
            *(line.to_replace, line.spares, line.from_stock, line.not_inspected, line.urgency, line.instead_of),
            line.lead_time,
            "; ".join(f"{one.pieces}: {one.each} {one.currency}".strip() for one in line.prices),
            " ".join(sentence(doubt, language) for doubt in line.doubts),
        )
        for line in answer.result.lines
    ]
    sys.stdout.write(table_text(CSV_HEADINGS, rows))


def shortage_json(answer: "Answer[Shortage]", language: str) -> Document:
    """Return `reworkkit.shortage/1`."""
    result = answer.result
    body = {"copies": result.copies, "lines": [_line_document(line, language) for line in result.lines]}
    findings = [one for one in answer.board.findings if one.message.slug in _OWN_FINDINGS]
    return document("shortage", answer.situation, (*findings, *result.findings), result.not_judged, body, language)


def _line_document(line: ShoppingLine, language: str) -> Document:
    return {
        "key": line.key,
        "kind": line.kind,
        "value": line.value,
        "package": line.package,
        "part_number": line.part_number,
        "refs": list(line.refs),
        "missing": line.missing,
        "to_replace": line.to_replace,
        "not_inspected": line.not_inspected,
        "spares": line.spares,
        "from_stock": line.from_stock,
        "to_buy": line.to_buy,
        "copies": list(line.copies),
        "urgency": line.urgency,
        "lead_time": line.lead_time,
        "instead_of": line.instead_of,
        "prices": [one._asdict() for one in line.prices],
        "order_problems": [sentence(one, language) for one in line.doubts],
        "remarks": [sentence(one, language) for one in line.remarks],
    }


def shortage_is_open(answer: "Answer[Shortage]") -> bool:
    """Return whether something is still to buy."""
    return any(line.to_buy for line in answer.result.lines)


def print_comparison(answer: "Answer[Comparison]", language: str, every: bool = False) -> None:
    """Print each candidate, best first: verdict, what to change, what fails or stays open, what else changes."""
    report, result = Report(language, named=answer.named), answer.result
    report.board_line(answer.board, answer.situation)
    report.say("compare-title", ref=result.ref, part=result.original or "-", kind=result.kind.replace("_", " "))
    for one in result.candidates:
        _print_candidate(report, one, every)
    if not result.candidates and result.wanted:
        report.screen.heading(report.words(message("compare-wanted")))
        rows = [(_term(report, row.parameter), _text(row.needed), _text(row.original)) for row in result.wanted]
        report.screen.table(rows, [report.words(message("compare-col-" + name)) for name in _COLUMNS[:3]])
    report.screen.line()
    report.not_judged(result.not_judged)
    report.findings(result.findings)
    report.next_command(_next(answer))


def _next(answer: "Answer[Comparison]") -> str:
    best = next((one for one in answer.result.candidates if one.verdict not in _OPEN_VERDICTS), None)
    if best is None:
        return "reworkkit shortage"
    begun = answer.situation.basis is Basis.JOB
    return (
        f'reworkkit substitute {answer.result.ref} --with {best.part_number} --reason "____"'
        if begun
        else ("reworkkit begin")
    )


def verdict_words(one: CandidateResult) -> Message:
    """Return the verdict in words; while figures are missing, with what it can become at best."""
    if one.verdict is SubstituteVerdict.NOT_JUDGED:
        return message("compare-verdict-open", best=sentence(message(_verdict_slug(one.at_best))))
    return message(_verdict_slug(one.verdict))


def _verdict_slug(verdict: SubstituteVerdict) -> str:
    return "compare-verdict-" + verdict.value.replace("_", "-")


def _print_candidate(report: Report, one: CandidateResult, every: bool) -> None:
    screen = report.screen
    style = "warning" if one.verdict is SubstituteVerdict.NO else ""
    screen.heading(f"{one.part_number}: {report.words(verdict_words(one))}")
    for change in one.changes if one.verdict is not SubstituteVerdict.NO else ():
        screen.line(f"- {report.words(change)}", "caution", indent=2)
    shown = [row for row in one.rows if every or (row.outcome is not Outcome.PASS and (row.effect or row.blocks))]
    headings = [report.words(message("compare-col-" + name)) for name in _COLUMNS]
    screen.table([_row_cells(report, row) for row in _worst_first(shown)], headings, 15)
    for row in _worst_first(shown) if every else ():
        screen.line(_rule_line(report, row), "quiet", indent=2)
    passed = [_term(report, row.parameter) for row in one.rows if row.outcome is Outcome.PASS]
    if passed and not every:
        screen.line(report.words(message("compare-passes", names=", ".join(passed))), style and "quiet", indent=2)
    for row in one.rows if not every else ():
        if row.because and row.because.slug == "compare-used-as-hard":
            hard = message("compare-hard", name=_term(report, row.parameter), why=report.words(row.because))
            screen.line(report.words(hard), "caution", indent=2)
    if one.unsaid:
        names = ", ".join(_term(report, name) for name in one.unsaid)
        screen.line(report.words(message("compare-unsaid", names=names)), "quiet", indent=2)
    for heading, was, now in one.without_rule:
        screen.line(report.words(message("compare-without-rule", name=heading, was=was, now=now)), "caution", indent=2)
    for effect in one.consequences:
        screen.line(_effect_line(report, effect), "warning" if effect.dangerous else "", indent=2)
    report.not_judged(one.not_judged)


_COLUMNS = ("parameter", "needed", "original", "candidate", "margin", "result")


def _worst_first(rows: list[ComparisonRow]) -> list[ComparisonRow]:
    order = {"no": 0, "rework": 1, "change": 2}
    return sorted(rows, key=lambda row: order.get(row.effect or "", 3 if row.blocks else 4))


def _term(report: Report, parameter: str) -> str:
    return report.words(message("compare-term-" + parameter.replace("_", "-")))


def _text(amount: Amount | None) -> str:
    return amount.text if amount else "-"


def _row_cells(report: Report, row: ComparisonRow) -> tuple[str, ...]:
    margin = "-" if row.margin_percent is None else f"{row.margin_percent:+.0f} %"
    result = (
        report.words(message("compare-effect-word-" + row.effect))
        if row.effect
        else (report.words(message("compare-outcome-" + row.outcome.replace("_", "-"))))
    )
    return (
        *(_term(report, row.parameter), _text(row.needed), _text(row.original), _text(row.candidate), margin, result),
    )


def _rule_line(report: Report, row: ComparisonRow) -> str:
    because = f" {report.words(row.because)}" if row.because else ""
    where = f"{row.source.honesty.replace('_', ' ')}: {row.source.key}, {row.source.place}"
    return f"{_term(report, row.parameter)}: {report.words(row.rule)}{because} [{where}]"


def _effect_line(report: Report, effect: Consequence) -> str:
    words = report.words(effect.words)
    return f"{report.words(message('compare-danger'))} {words}" if effect.dangerous else words


def comparison_json(answer: "Answer[Comparison]", language: str) -> Document:
    """Return `reworkkit.compare/1`."""
    result = answer.result
    body = {
        "ref": result.ref,
        "kind": result.kind,
        "original": result.original,
        "wanted": [_row_document(row, language) for row in result.wanted],
        "candidates": [_candidate_document(one, language) for one in result.candidates],
    }
    questions = [*result.not_judged, *(question for one in result.candidates for question in one.not_judged)]
    return document("compare", answer.situation, result.findings, questions, body, language)


def _candidate_document(one: CandidateResult, language: str) -> Document:
    return {
        "part_number": one.part_number,
        "where": one.place,
        "verdict": one.verdict.value,
        "at_best": one.at_best.value,
        "changes": [sentence(change, language) for change in one.changes],
        "not_compared": list(one.unsaid),
        "without_rule": [{"name": name, "original": was, "candidate": now} for name, was, now in one.without_rule],
        "parameters": [_row_document(row, language) for row in one.rows],
        "consequences": [_effect_document(effect, language) for effect in one.consequences],
        "not_judged": [not_judged_document(question, language) for question in one.not_judged],
    }


def _row_document(row: ComparisonRow, language: str) -> Document:
    return {
        "parameter": row.parameter,
        "needed": _amount_document(row.needed),
        "original": _amount_document(row.original),
        "candidate": _amount_document(row.candidate),
        "margin_percent": row.margin_percent,
        "outcome": row.outcome.value,
        "effect": row.effect.value if row.effect else None,
        "decides": row.blocks,
        "rule": sentence(row.rule, language),
        "because": sentence(row.because, language) if row.because else None,
        "source": {"key": row.source.key, "place": row.source.place, "honesty": row.source.honesty.value},
    }


def _amount_document(amount: Amount | None) -> Document | None:
    return None if amount is None else {"text": amount.text, "value": amount.value, "unit": amount.unit}


def _effect_document(effect: Consequence, language: str) -> Document:
    return {
        "slug": effect.words.slug,
        "sentence": sentence(effect.words, language),
        "dangerous": effect.dangerous,
        "figures": [
            {"name": name, "before": _amount_document(before), "after": _amount_document(after)}
            for name, before, after in effect.figures
        ],
    }


def comparison_is_open(answer: "Answer[Comparison]") -> bool:
    """Return whether no candidate fits so far."""
    return all(one.verdict in _OPEN_VERDICTS for one in answer.result.candidates)
