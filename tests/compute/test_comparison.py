"""Substitutes: hand-worked truths for every kind, needs of the circuit, and what can never happen."""

from collections import Counter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reworkkit import tables
from reworkkit.compute.comparison import compare_part
from reworkkit.compute.comparison.figures import parameters_of
from reworkkit.compute.comparison.rules import rules_for, term
from reworkkit.model.comparison import CandidateResult, Outcome, SubstituteVerdict
from tests.compute.comparison_boards import board, cases, identity, row

CASES = cases()
FITTING = {"drop_in", "fits_after_change", "fits_with_rework"}
GRADE = {"drop_in": 0, "fits_after_change": 1, "fits_with_rework": 2, "not_judged": 3, "no": 4}


def judged(kind: str, original: dict[str, str], candidate: dict[str, str]) -> CandidateResult:
    figures = {name: value for name, value in candidate.items() if name != "kind"}
    rows = (row("ORIG-1", "X1", kind, **original), row("CAND-2", "X1", candidate.get("kind", kind), **figures))
    made = board({"X1": identity(kind, "", "", "ORIG-1")}, rows)
    return compare_part(made, "X1").candidates[0]


@pytest.mark.parametrize("case", CASES, ids=[f"{n}-{one[0]}-{one[4][:30]}" for n, one in enumerate(CASES)])
def test_verdict_is_the_hand_worked_truth(case: tuple[str, dict[str, str], dict[str, str], str, str]) -> None:
    kind, original, candidate, expected, reason = case
    result = judged(kind, original, candidate)
    shown = [(r.parameter, r.outcome.value, r.effect, r.blocks) for r in result.rows if r.effect or r.blocks]
    assert result.verdict.value == expected, f"{reason}: {shown}"


def test_no_candidate_that_does_not_fit_is_called_fitting() -> None:
    """Zero wrong passes over the whole case file, counted apart from the exact verdicts."""
    wrong = [c for c in CASES if GRADE[judged(c[0], c[1], c[2]).verdict.value] < min(GRADE[c[3]], 3)]
    assert wrong == []


def test_every_kind_with_rules_has_at_least_six_cases() -> None:
    counts = Counter(kind for kind, *_ in CASES)
    kinds = {kind for line in tables.rows("comparison_rules") for kind in line["kinds"].split()} - {"tvs"}
    assert {kind: counts[kind] for kind in kinds if counts[kind] < 6} == {}


@pytest.mark.parametrize("kind", sorted({kind for kind, *_ in CASES}))
def test_a_candidate_without_figures_is_never_called_fitting(kind: str) -> None:
    original = next(one for k, one, *_ in CASES if k == kind)
    result = judged(kind, original, {})
    assert result.verdict is SubstituteVerdict.NOT_JUDGED
    assert result.not_judged


@pytest.mark.parametrize("kind", sorted({kind for kind, *_ in CASES}))
def test_the_original_itself_is_a_drop_in(kind: str) -> None:
    original = next(one for k, one, *_ in CASES if k == kind)
    assert judged(kind, original, dict(original)).verdict is SubstituteVerdict.DROP_IN


@settings(max_examples=120, deadline=None)
@given(st.data())
def test_taking_a_figure_away_never_makes_the_verdict_better(data: st.DataObject) -> None:
    """Invariant: what is not known can open a verdict, never improve it."""
    kind, original, candidate, *_ = data.draw(st.sampled_from(CASES))
    # The kind of a TVS states its direction, so taking the column away does not take the fact away; a relay whose row
    # says nothing of its action is taken for a plain one.
    gone = data.draw(st.sampled_from(sorted(set(candidate) - {"kind", "direction", "action"})))
    fewer = {name: value for name, value in candidate.items() if name != gone}
    full, less = judged(kind, original, candidate), judged(kind, original, fewer)
    assert less.verdict.value not in FITTING or GRADE[less.verdict.value] >= GRADE[full.verdict.value], gone


@settings(max_examples=120, deadline=None)
@given(st.data())
def test_a_figure_of_the_original_taken_away_opens_the_verdict_or_is_named(data: st.DataObject) -> None:
    """Invariant: a parameter that can no longer be compared is either a reason to wait or named as not compared."""
    kind, original, candidate, *_ = data.draw(st.sampled_from(CASES))
    gone = data.draw(st.sampled_from(sorted(original)))
    fewer = {name: value for name, value in original.items() if name != gone}
    full, less = judged(kind, original, candidate), judged(kind, fewer, candidate)
    better = GRADE[less.verdict.value] < min(GRADE[full.verdict.value], 3)
    assert not better or set(less.unsaid) - set(full.unsaid), gone


def test_parts_that_guard_people_are_never_drop_in_without_marks() -> None:
    for kind in ("fuse", "capacitor_safety", "varistor", "fusible_resistor", "optocoupler", "relay"):
        original = next(one for k, one, *_ in CASES if k == kind)
        for marks in ({}, {"approvals": ""}):
            bare = {name: value for name, value in original.items() if name != "approvals"}
            assert judged(kind, original, {**bare, **marks}).verdict is not SubstituteVerdict.DROP_IN
            assert judged(kind, bare, dict(original)).verdict is not SubstituteVerdict.DROP_IN


def test_every_rule_has_a_term_a_source_and_a_known_direction() -> None:
    for line in tables.rows("comparison_rules"):
        assert term(line["parameter"]).words
        assert tables.source(line["source"], line["place"])
        assert line["missing"] in ("open", "known", "note", "bias", "other_case")
        assert line["failed"] in ("no", "change", "rework")
        assert bool(line["remedy"]) == (line["failed"] != "no" or line["direction"] == "window"), line["key"]


def test_no_two_parameters_of_a_kind_share_the_first_heading() -> None:
    for kind in {kind for kind, *_ in CASES}:
        words = [term(parameter).words[0] for parameter in parameters_of(kind)]
        assert len(words) == len(set(words)), kind


def test_a_kind_without_rules_is_not_judged() -> None:
    rows = (row("CAND-2", "U3", "microcontroller", package="LQFP-32"),)
    made = board({"U3": identity("microcontroller", "VC3230", "LQFP-32")}, rows)
    result = compare_part(made, "U3")
    assert not rules_for("microcontroller")
    assert result.candidates[0].verdict is SubstituteVerdict.NOT_JUDGED
    assert result.not_judged[0].because.slug == "compare-no-rules"


def test_every_row_names_rule_and_source() -> None:
    for kind, original, candidate, *_ in CASES[::7]:
        for one in judged(kind, original, candidate).rows:
            assert one.rule.slug.startswith("compare-rule-")
            assert one.source.key
            assert (one.outcome is Outcome.FAIL) == (one.effect is not None)
