"""The shared case table of judging, and the words of states. The verdicts are this project's own rules."""

import csv
import json
from itertools import product
from pathlib import Path

import pytest

import reworkkit
from reworkkit.model.judging import judge, point_key
from reworkkit.model.measuring import Check, Point, Reading
from reworkkit.model.messages import message
from reworkkit.model.states import FACETS, WORDS, careful, facets_of, plain_word
from reworkkit.model.steps import expand_refs
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis, CheckPurpose, Mode, ReadingForm

CASES = json.loads((Path(__file__).parents[1] / "cases" / "judging.json").read_text(encoding="utf-8"))["cases"]
WORD_TABLE = Path(reworkkit.__file__).parent / "tables" / "state_words.csv"


def expectation(data):
    if isinstance(data, dict):
        return Band(data["low"], data["nominal"], data["high"], data["unit"], BandBasis(data["basis"]))
    return None if data is None else ReadingForm(data)


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["name"])
def test_the_shared_case_table(case) -> None:
    said, shown = case["check"], case["reading"]
    check = Check(
        "c",
        CheckPurpose.HOLD_POINT,
        Point("V5", "V5"),
        Mode(said["mode"]),
        said["hold_point"],
        expectation(said["expect"]),
        expectation(said["swapped"]),
        (),
        None,
        message("hold-unread", points="V5"),
        1.0,
    )
    reading = Reading(
        "V5",
        Mode(shown["mode"]),
        ReadingForm(shown["form"]),
        shown["value"],
        shown["unit"],
        shown["leads_swapped"],
        shown["hold_point"],
        shown["text"],
    )
    assert judge(check, reading).verdict.value == case["verdict"]


def test_every_verdict_and_form_has_a_case() -> None:
    assert {case["verdict"] for case in CASES} == {"inside", "outside", "not_judged"}
    assert {case["reading"]["form"] for case in CASES} == {form.value for form in ReadingForm}


def test_one_spelling_for_points() -> None:
    assert point_key("v33 TO  gnd") == point_key("V33 to GND") == "V33 to GND"
    assert point_key("Supply") == "supply"


def test_words_set_only_facets_that_exist() -> None:
    for word, facets in WORDS.items():
        assert plain_word(word) == plain_word(plain_word(word))
        for facet, value in facets.items():
            assert FACETS[facet](value).value == value, word


def test_words_agree_with_the_table_of_the_fitted_list() -> None:
    if not WORD_TABLE.is_file():
        pytest.skip("the table of state words is not there")
    lines = [line for line in WORD_TABLE.read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    table = {
        plain_word(row["word"]): {facet: row[facet] for facet in FACETS if row[facet]} for row in csv.DictReader(lines)
    }
    for word in WORDS:
        if (key := plain_word(word)) in table and word != "good":
            assert table[key] == facets_of(word), word
    assert sum(plain_word(word) in table for word in WORDS) >= len(WORDS) - 2


def test_the_careful_word_does_not_depend_on_who_speaks_first() -> None:
    for facet, kinds in FACETS.items():
        for one, other in product([kind.value for kind in kinds], repeat=2):
            assert careful(facet, one, other) == careful(facet, other, one)
            assert careful(facet, one, other) in (one, other)
    assert careful("done", "done", "undone") == "undone"


def test_designators_are_expanded_only_where_they_exist() -> None:
    known = ["R1", "R2", "R3", "J1-2", "VBAT+"]
    assert expand_refs(["R1-3", "R3"], known) == (["R1", "R2", "R3"], [])
    assert expand_refs(["r1-r2,R3"], known) == (["R1", "R2", "R3"], [])
    assert expand_refs(["j1-2", "vbat+"], known) == (["J1-2", "VBAT+"], [])
    assert expand_refs(["R1-R5"], known) == (["R1", "R2", "R3"], ["R4", "R5"])
    assert expand_refs(["R1-C3"], known) == ([], ["R1-C3"])
    assert expand_refs(["R1-R9999999"], known) == ([], ["R9999999"])
    assert expand_refs(["R0-R9999999"], known) == ([], ["R0", "R9999999"])
    assert expand_refs(["R1-R9999999"], {*known, "R9999999"}) == ([], ["R1-R9999999"])
    endless = f"R1-R{'9' * 5000}"
    assert expand_refs([endless], known) == ([], [endless])
