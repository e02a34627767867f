"""Substitutes compared: original, need of the circuit, candidate, margin, rule and source for each parameter.

A candidate passes a parameter only against a need that is known, or by being at least as good as the original. A figure
that decides and is missing keeps the verdict open: nothing is passed on faith.
"""

from dataclasses import replace

from reworkkit.compute.comparison.amounts import Figure, folded_word, words_of
from reworkkit.compute.comparison.effects import consequences, junction_row, light_needs, light_row
from reworkkit.compute.comparison.figures import (
    Figures,
    assumed_figures,
    candidate_figures,
    case_figures,
    figures_without_rule,
    is_original,
    original_figures,
)
from reworkkit.compute.comparison.judging import judge_row
from reworkkit.compute.comparison.needs import Needs, circuit_needs
from reworkkit.compute.comparison.rules import Rule, must_pass, rules_for, swap
from reworkkit.compute.comparison.surroundings import Bands, Surroundings, stated_bands
from reworkkit.model.board import Board, Candidate
from reworkkit.model.comparison import (
    Amount,
    CandidateResult,
    Comparison,
    ComparisonRow,
    Consequence,
    Effect,
    Outcome,
    SubstituteVerdict,
)
from reworkkit.model.messages import Message, NotJudged, message
from reworkkit.model.results import Circuit
from reworkkit.tables import source
from reworkkit.tables.marks import kind_row

__all__ = ["compare_part", "net_bands"]

_VERDICTS = tuple(SubstituteVerdict)
_CLASS_2 = ("X", "Y", "Z")
_SMALL_F = 1e-6
_SIZES = {"diameter", "length", "width"}


def net_bands(circuit: Circuit | None) -> Bands:
    """Return what each net can be at as far as the circuit states it: the widest of rails, ranges and supplies."""
    found: dict[str, list[tuple[float, float]]] = {}
    bands = {}
    for element in circuit.elements if circuit else ():
        band = element.parameters.get("volts")
        if element.kind in ("rail", "range", "supply") and band and band.low is not None and band.high is not None:
            found.setdefault(element.nodes[0], []).append((band.low, band.high))
            bands[element.nodes[0]] = band
    for net, ends in found.items():
        bands[net] = replace(bands[net], low=min(low for low, _ in ends), high=max(high for _, high in ends))
    return bands


def compare_part(board: Board, ref: str, circuit: Circuit | None = None, bands: Bands | None = None) -> Comparison:
    """Return every candidate for a place against the original and the circuit, best verdict first.

    `bands` are the voltages of the nets; without them those that the circuit states are used. Raises KeyError for a
    place that is not on the board.
    """
    part = board.parts[ref]
    kind = part.identity.kind
    around = Surroundings(
        board, ref, {**stated_bands(board.facts), **net_bands(circuit)} if bands is None else bands, circuit
    )
    rows = [row for row in board.candidates if _fits(row, ref, around)]
    original = original_figures(board, ref, kind, rows)
    around = replace(around, order=words_of(original["pin_order"].text) if "pin_order" in original else ())
    needs = circuit_needs(around)
    results = [_candidate(around, needs, original, row) for row in rows if not is_original(part.identity, row)]
    results.sort(key=lambda result: (_VERDICTS.index(result.verdict), result.part_number))
    name = part.identity.part_number or part.identity.value.text
    wanted = [judge_row(rule, needs.get(rule.parameter), original.get(rule.parameter), None, True)
              for rule in rules_for(kind)]  # fmt: skip
    known = tuple(one for one in wanted if one and (one.needed or one.original))
    return Comparison(ref, kind, name, tuple(results), known, (), _open_questions(ref, kind, bool(results)))


def _fits(row: Candidate, ref: str, around: Surroundings) -> bool:
    identity = around.part.identity
    names = {folded_word(text) for text in (identity.value.text, identity.part_number, identity.key)} - {""}
    return any(one == ref or folded_word(one) in names for one in row.fits)


def _open_questions(ref: str, kind: str, found: bool) -> tuple[NotJudged, ...]:
    asked = message("compare-which", ref=ref)
    questions = []
    if not found:
        line = f"candidates.csv: Fits = {ref}, Part number = ____"
        questions.append(NotJudged((ref,), asked, message("compare-no-candidates", ref=ref), line))
    if not rules_for(kind):
        because = message("compare-no-rules", kind=kind.replace("_", " "))
        told = f'[parts] {ref} = {{ kind = "____" }}' if kind == "unknown" else None
        questions.append(NotJudged((ref,), asked, because, told))
    return tuple(questions)


def _candidate(around: Surroundings, needs: Needs, original: Figures, candidate: Candidate) -> CandidateResult:
    kind = around.part.identity.kind
    figures = candidate_figures(candidate, kind)
    assumed = assumed_figures(candidate, kind)
    needs = needs | light_needs(around, figures) if kind == "led" else needs
    rows = [row for row in (_kind_row(kind, candidate),) if row]
    remedies = {"kind": swap(kind, candidate.kind)}
    for rule in rules_for(kind):
        name = rule.parameter
        stops = _must_be_known(rule, around, needs, original, figures)
        row = judge_row(rule, needs.get(name), original.get(name), figures.get(name), stops)
        if row and name in assumed and rule.missing == "known" and not stops:
            row = None
        elif row and name in assumed and not _is_ample(row):
            row = judge_row(rule, needs.get(name), original.get(name), None, True)
        if row:
            rows.append(row)
    if kind == "led" and (lit := light_row(around, figures)):
        rows.append(lit)
    heat: tuple[Consequence, ...] = ()
    if kind == "linear_regulator" and (made := junction_row(needs, original, figures)):
        rows.append(made[0])
        heat = (made[1],)
    rows = _guarded(kind, _heat_settled(rows))
    effects, questions = consequences(around, original, figures)
    by_rule = {rule.parameter: rule.remedy for rule in rules_for(kind)}
    by_rule["kind"] = remedies["kind"][1] if remedies["kind"] else ""
    place = str(candidate.where)
    more = figures_without_rule(candidate, kind, around.part.identity, around.board.candidates)
    questions = (*_missing(around.ref, candidate, rows), *_by_hand(around.ref, candidate, more), *questions)
    verdict, best = _verdict(kind, rows, bool(more))
    changes = _changes(rows, by_rule)
    unsaid = _unsaid(kind, rows)
    return CandidateResult(
        *(candidate.part_number, place, tuple(rows), verdict, best, changes, (*effects, *heat), questions, unsaid, more)
    )


def _unsaid(kind: str, rows: list[ComparisonRow]) -> tuple[str, ...]:
    """Return the parameters that no row judges and that do not stop the verdict."""
    settled = {row.parameter for row in rows if row.outcome is not Outcome.NOT_JUDGED or row.blocks}
    settled |= _SIZES - {row.parameter for row in rows}  # of which nobody says anything, beside the name of the case
    return tuple(dict.fromkeys(rule.parameter for rule in rules_for(kind) if rule.parameter not in settled))


def _kind_row(kind: str, candidate: Candidate) -> ComparisonRow | None:
    """Return a row where the candidate is of another kind than the original."""
    if candidate.kind in ("", kind) or (kind.startswith("tvs") and candidate.kind.startswith("tvs")):
        return None  # which ways a suppressor works is a parameter of its own
    cost = swap(kind, candidate.kind)
    known = kind_row(candidate.kind)["key"] == candidate.kind and candidate.kind != "unknown"
    outcome, effect, blocks = Outcome.FAIL, (cost[0] if cost else Effect.NO), False
    shown = [Amount(one.replace("_", " ")) for one in (kind, candidate.kind)]
    why = None if cost else message("compare-other-kind")
    rule = message("compare-rule-same-text", percent=0, order="-")
    return ComparisonRow(
        *("kind", None, shown[0], shown[1], None, outcome if known else Outcome.NOT_JUDGED),
        *(effect if known else None, blocks or not known, rule, why if known else message("compare-unreadable")),
        source("practice", "another construction"),
    )


def _must_be_known(rule: Rule, around: Surroundings, needs: Needs, original: Figures, candidate: Figures) -> bool:
    """Return whether the verdict hangs on this parameter when it cannot be judged."""
    if rule.missing == "open":
        return True
    if rule.missing == "bias":
        return _loses_capacitance(original, candidate)
    if rule.missing == "other_case":
        return not _same(original, candidate, "package")
    if _is_of_case(rule.parameter, around, original, candidate):
        return False
    return rule.missing == "known" and (rule.parameter in needs or rule.parameter in original)


def _is_of_case(name: str, around: Surroundings, original: Figures, candidate: Figures) -> bool:
    """Return whether a size is known only from the name of the case, and the candidate's case has the same name."""
    of_case = case_figures(around.part.identity).get(name)
    return of_case is not None and original.get(name) == of_case and _same(original, candidate, "package")


def _loses_capacitance(original: Figures, candidate: Figures) -> bool:
    """Return whether a class 2 ceramic may hold less under voltage than the original did: smaller case or rating."""
    dielectric, value = candidate.get("dielectric"), candidate.get("capacitance")
    if dielectric is not None and not dielectric.text.upper().startswith(_CLASS_2):
        return False
    if value is not None and value.low is not None and value.low < _SMALL_F:
        return False
    return not (_same(original, candidate, "package") and _rated_as_high(original, candidate))


def _is_ample(row: ComparisonRow) -> bool:
    """Return whether a rating that is only usual for the size may pass: twice what is needed, or the original's own."""
    if row.outcome is not Outcome.PASS:
        return False
    if row.needed is None:
        return row.original == row.candidate
    return row.margin_percent is not None and row.margin_percent >= 100


def _same(original: Figures, candidate: Figures, name: str) -> bool:
    one, other = original.get(name), candidate.get(name)
    return one is not None and other is not None and folded_word(one.text) == folded_word(other.text)


def _rated_as_high(original: Figures, candidate: Figures) -> bool:
    one: Figure | None = original.get("voltage")
    other: Figure | None = candidate.get("voltage")
    if one is None or other is None or one.low is None or other.low is None:
        return False
    return other.low >= one.low


def _heat_settled(rows: list[ComparisonRow]) -> list[ComparisonRow]:
    """With a junction temperature the thermal resistance alone no longer stops the verdict."""
    if all(row.parameter != "junction" for row in rows):
        return rows
    return [replace(row, blocks=False) if row.parameter == "thermal_resistance" else row for row in rows]


def _guarded(kind: str, rows: list[ComparisonRow]) -> list[ComparisonRow]:
    """Parts that guard people: every row that must pass stops the verdict where it is not judged."""
    wanted = must_pass(kind)
    return [
        replace(row, blocks=True) if row.parameter in wanted and row.outcome is Outcome.NOT_JUDGED else row
        for row in rows
    ]


def _by_hand(ref: str, candidate: Candidate, more: tuple[tuple[str, str, str], ...]) -> tuple[NotJudged, ...]:
    """Return the question that figures without a rule leave: they differ, and nobody says whether that matters."""
    if not more:
        return ()
    names = ", ".join(name for name, _, _ in more)
    asked = message("compare-verdict-asked", part=candidate.part_number, ref=ref)
    return (NotJudged((ref,), asked, message("compare-by-hand", part=candidate.part_number, names=names), None),)


def _verdict(
    kind: str, rows: list[ComparisonRow], differs_elsewhere: bool
) -> tuple[SubstituteVerdict, SubstituteVerdict]:
    """Return the verdict, and the best it can become when the open figures turn out well."""
    effects = {row.effect for row in rows}
    if Effect.NO in effects:
        best = SubstituteVerdict.NO
    elif Effect.REWORK in effects:
        best = SubstituteVerdict.REWORK
    else:
        best = SubstituteVerdict.AFTER_CHANGE if Effect.CHANGE in effects else SubstituteVerdict.DROP_IN
    passed = {row.parameter for row in rows if row.outcome is Outcome.PASS}
    open_rows = any(row.blocks for row in rows) or not rules_for(kind) or bool(must_pass(kind) - passed)
    open_rows = open_rows or differs_elsewhere
    if best is SubstituteVerdict.NO or not open_rows:
        return best, best
    return SubstituteVerdict.NOT_JUDGED, best


def _changes(rows: list[ComparisonRow], remedies: dict[str, str]) -> tuple[Message, ...]:
    """Return what must be changed or reworked, each thing once."""
    found: dict[Message, None] = {}
    for row in rows:
        remedy = remedies.get(row.parameter)
        if row.effect in (Effect.CHANGE, Effect.REWORK) and remedy:
            found.setdefault(message("compare-remedy-" + remedy.replace("_", "-")))
    return tuple(found)


def _missing(ref: str, candidate: Candidate, rows: list[ComparisonRow]) -> tuple[NotJudged, ...]:
    """Return one question that names every figure the row lacks, and one for each that cannot be judged."""
    lacking = [row.parameter for row in rows if row.blocks and row.candidate is None]
    unsure = [row for row in rows if row.blocks and row.candidate is not None]
    asked = message("compare-verdict-asked", part=candidate.part_number, ref=ref)
    found = []
    if lacking:
        names = ", ".join(name.replace("_", " ") for name in lacking)
        because = message("compare-figures-missing", part=candidate.part_number, names=names)
        line = f"{candidate.where.file}: {candidate.part_number}: {names}"
        found.append(NotJudged((ref,), asked, because, line))
    for row in unsure:
        name = row.parameter.replace("_", " ")
        because = message("compare-row-open", part=candidate.part_number, name=name)
        found.append(NotJudged((ref,), asked, because, None))
    return tuple(found)
