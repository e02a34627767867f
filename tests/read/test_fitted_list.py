"""The fitted list, in the many ways people write down what they found."""

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from reworkkit.errors import ReworkkitError
from reworkkit.model.states import WORDS
from reworkkit.read.fitted_list import FittedFile, read_fitted_list
from reworkkit.read.fitted_states import FACETS, states_in
from reworkkit.tables import rows

BOARD = {f"R{n}": "resistor" for n in range(1, 13)} | {f"C{n}": "ceramic_capacitor" for n in range(1, 6)}
BOARD |= {"D1": "diode", "D2": "led", "U1": "ic", "J1-2": "connector", "VBAT+": "solder_pad", "OLED": "display"}

FITTED = {"place": "fitted", "joint": "soldered", "part": "good"}
EMPTY = {"place": "empty", "joint": "none"}
UNSEEN = {"place": "not_inspected"}


def read(tmp_path: Path, text: str, name: str = "fitted.csv", encoding: str = "utf-8") -> FittedFile:
    path = tmp_path / name
    path.write_bytes(text.encode(encoding))
    return read_fitted_list(path, name, BOARD)


def states(got: FittedFile) -> dict[str, dict[str, str]]:
    found: dict[str, dict[str, str]] = {}
    for state in got.fitted.states:
        found.setdefault(state.ref, {}).update(state.facets)
    return found


def slugs(got: FittedFile) -> list[str]:
    return [finding.message.slug for finding in got.findings]


# the table of states: word -> facets, from the project's specification of states
TABLE = {
    "fitted": FITTED,
    "tacked": {"place": "fitted", "joint": "tacked"},
    "leg lifted": {"place": "fitted", "joint": "leg_lifted"},
    "missing": EMPTY,
    "empty": EMPTY,
    "removed": EMPTY | {"part": "removed_on_purpose"},
    "removed (on purpose)": EMPTY | {"part": "removed_on_purpose"},
    "link": {"place": "empty", "part": "temporary_link"},
    "temporary link": {"place": "empty", "part": "temporary_link"},
    "damaged": {"place": "fitted", "part": "damaged"},
    "burnt": {"place": "fitted", "part": "damaged"},
    "wrong part": {"place": "fitted", "part": "wrong_part"},
    "wrong value": {"place": "fitted", "part": "wrong_part"},
    "reversed": {"place": "fitted", "way_round": "reversed"},
    "not inspected": UNSEEN,
    "unknown": UNSEEN,
    "sparkly": UNSEEN,
}


@pytest.mark.parametrize("word", TABLE)
@pytest.mark.parametrize("form", ["ref,state\nD1,{}\n", "Bauteil;Zustand\nD1;{}\n", "D1 {}\n", "d1: {}\n", "D1\t{}\n"])
def test_words_and_forms(tmp_path, word, form):
    got = read(tmp_path, form.format(word))
    assert states(got)["D1"] == TABLE[word]
    assert ("fitted-word-unknown" in slugs(got)) == (word == "sparkly")


@pytest.mark.parametrize(
    ("word", "facet", "value"),
    [
        ("seen right", "way_round", "seen"),
        ("measured right", "way_round", "measured"),
        ("finger-tight", "fastening", "finger_tight"),
        ("Torqued", "fastening", "torqued"),
    ],
)
def test_words_that_imply_a_part_is_there(tmp_path, word, facet, value):
    got = states(read(tmp_path, f"ref,state\nD1,{word}\n"))["D1"]
    assert got == {"place": "fitted", facet: value}
    both = states(read(tmp_path, f"ref,state\nD1,fitted\nD1,{word}\n"))["D1"]
    assert both == FITTED | {facet: value}


def test_words_agree_with_those_of_the_job():
    """A word means the same in the fitted list and in `set`; a place called good must be there to be good."""
    for word, facets in WORDS.items():
        if word != "good":
            assert dict(states_in(word)[0]) == facets, word


def test_every_row_of_the_table_sets_a_facet():
    assert all(any(row[facet] for facet in FACETS) for row in rows("state_words"))
    words = [row["word"].casefold() for row in rows("state_words")]
    assert len(words) == len(set(words))


def test_plain_list_of_designators(tmp_path):
    got = read(tmp_path, "# found on Monday\nR1-R3, R5\nc 5\nC1 C2\n\nVBAT+\nJ1-2\nOLED\n", "fitted.txt")
    assert set(states(got)) == {"R1", "R2", "R3", "R5", "C5", "C1", "C2", "VBAT+", "J1-2", "OLED"}
    assert all(facets == FITTED for facets in states(got).values())
    assert got.fitted.others == "empty"
    assert not got.fitted.others_stated
    assert not got.findings


@pytest.mark.parametrize(
    "line",
    [
        "all resistors except R4",
        "All resistors (except R4)",
        "all resistors except R4 fitted",
        "all resistors: fitted\nR4 missing",
        "alle Widerstände außer R4",
        "toutes résistances sauf R4",
        "all R except R4",
    ],
)
def test_all_of_a_kind(tmp_path, line):
    got = states(read(tmp_path, line + "\n", "fitted.txt"))
    there = {ref for ref, facets in got.items() if facets["place"] == "fitted"}
    assert there == {f"R{n}" for n in range(1, 13) if n != 4}


@pytest.mark.parametrize(
    ("line", "others"),
    [
        ("others: not looked at", "not_inspected"),
        ("others: fitted", "fitted"),
        ("others: empty", "empty"),
        ("Others, not looked at", "not_inspected"),
        ("the rest is fitted", "fitted"),
        ("everything else: missing", "empty"),
        ("alle anderen: nicht geprüft", "not_inspected"),
    ],
)
def test_others(tmp_path, line, others):
    got = read(tmp_path, f"R1 fitted\n{line}\n", "fitted.txt")
    assert (got.fitted.others, got.fitted.others_stated) == (others, True)


def test_others_in_a_table(tmp_path):
    got = read(tmp_path, "ref,state,note\nR1,fitted,\nothers,not looked at,\n")
    assert got.fitted.others == "not_inspected"


def test_notes_copies_and_lines(tmp_path):
    got = read(tmp_path, "ref,state,note,copy\nR1,fitted,,\nD1,fitted,band towards C1,2\n")
    state = got.fitted.states[1]
    assert (state.note, state.copy, state.where.line) == ("band towards C1", 2, 3)


def test_remarks_behind_the_state(tmp_path):
    got = read(tmp_path, "D1 - fitted, seen right, band towards C1\nU1 leg lifted # pin 3\nR4 (burnt)\n", "f.txt")
    found = {state.ref: state for state in got.fitted.states}
    assert dict(found["D1"].facets) == FITTED | {"way_round": "seen"}
    assert found["D1"].note == "band towards C1"
    assert found["U1"].note == "pin 3"
    assert dict(found["R4"].facets)["part"] == "damaged"


def test_headed_paragraphs(tmp_path):
    got = states(read(tmp_path, "Missing:\nR1 R2\nR3\n\nFitted:\nC1\n", "f.txt"))
    assert [got[ref]["place"] for ref in ("R1", "R3", "C1")] == ["empty", "empty", "fitted"]


def test_state_first(tmp_path):
    assert states(read(tmp_path, "missing: R1, R2\ndamaged C1\n", "f.txt"))["R2"] == EMPTY


def test_contradiction_keeps_the_more_careful_word(tmp_path):
    got = read(tmp_path, "ref,state\nR1,fitted\nR1,missing\nR2,fitted\nR2,tacked\nR3,missing\nR3,unknown\n")
    assert states(got)["R1"]["place"] == "empty"
    assert states(got)["R2"]["joint"] == "tacked"
    assert states(got)["R3"]["place"] == "not_inspected"
    assert slugs(got).count("fitted-contradiction") == 3


def test_two_copies_do_not_contradict_each_other(tmp_path):
    got = read(tmp_path, "ref,state,copy\nR1,fitted,1\nR1,missing,2\n")
    assert [dict(s.facets)["place"] for s in got.fitted.states] == ["fitted", "empty"]
    assert not got.findings


def test_unlisted_places_are_kept(tmp_path):
    got = read(tmp_path, "ref,state\nR99,fitted\n")
    assert states(got)["R99"] == FITTED
    assert slugs(got) == ["fitted-not-listed"]


def test_near_miss_is_suggested_and_not_applied(tmp_path):
    got = read(tmp_path, "ref,state\nR1,fited\n")
    assert states(got)["R1"] == UNSEEN
    assert got.findings[0].message.fact("near") == "fitted"


def test_empty_state_is_not_a_state(tmp_path):
    assert states(read(tmp_path, "ref,state\nR1,\nR2,fitted\n"))["R1"] == UNSEEN


def test_yes_and_no_under_fitted(tmp_path):
    got = states(read(tmp_path, "Designator,Fitted\nR1,yes\nR2,no\n"))
    assert (got["R1"]["place"], got["R2"]["place"]) == ("fitted", "empty")


def test_markup_and_formulas_stay_text(tmp_path):
    got = read(tmp_path, '=HYPERLINK("x"),fitted\n<b>R1</b>,fitted\nR2,<script>\n', "f a l s c h é.txt")
    assert set(states(got)) == {"R2"}
    assert got.fitted.states[0].word == "<script>"
    assert slugs(got).count("fitted-unread") == 2


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "cp1252"])
def test_encodings(tmp_path, encoding):
    got = read(tmp_path, "Bauteil;Zustand;Bemerkung\nR1;beschädigt;größer\nR2;fehlt;\n", encoding=encoding)
    assert states(got)["R1"]["part"] == "damaged"
    assert states(got)["R2"] == EMPTY


def test_places_named_in_words_nobody_can_read_are_not_inspected(tmp_path):
    """A place that is named somewhere never counts as empty just because the sentence around it was not read."""
    got = states(read(tmp_path, "R1 is somehow odd where R2 is there and C1 perhaps\nC1 fitted\n", "f.txt"))
    assert (got["R1"], got["R2"], got["C1"]) == (UNSEEN, UNSEEN, FITTED)
    got = states(read(tmp_path, "R1 is missing but R2 is there and C1 too\n", "f.txt"))
    assert (got["R1"], got["R2"], got["C1"]) == (EMPTY, FITTED, FITTED)


def test_two_lines_about_the_others_keep_the_more_careful_one(tmp_path):
    got = read(tmp_path, "R1 fitted\nothers: fitted\nothers: not looked at\n", "f.txt")
    assert got.fitted.others == "not_inspected"
    assert slugs(got) == ["fitted-others-twice"]


@pytest.mark.parametrize("line", ["nothing", "Nothing is fitted yet", "none", "nichts"])
def test_nothing_is_no_designator(tmp_path, line):
    got = read(tmp_path, line + "\n", "f.txt")
    assert (got.fitted.states, got.fitted.others, got.fitted.others_stated) == ((), "empty", True)


def test_a_remark_that_holds_state_words_is_kept_whole(tmp_path):
    got = read(tmp_path, "R2\tdamaged\tcracked in half\n", "f.txt")
    assert got.fitted.states[0].note == "cracked in half"


def test_empty_file_is_refused(tmp_path):
    with pytest.raises(ReworkkitError) as refused:
        read(tmp_path, "\n")
    assert refused.value.message.slug == "fitted-empty"


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.binary(max_size=200) | st.text(max_size=200).map(lambda t: t.encode("utf-8", "replace")))
def test_anything_is_read_or_refused(tmp_path, data):
    path = tmp_path / "any.txt"
    path.write_bytes(data)
    try:
        read_fitted_list(path, "any.txt", BOARD)
    except ReworkkitError:
        return


@pytest.mark.parametrize(
    ("said", "left_out"),
    [
        ("tout est monté", set()),
        ("tous les composants sont soudés sauf R2", {"R2"}),
        ("tutto montato", set()),
        ("tutto tranne R2", {"R2"}),
        ("todo montado excepto R2", {"R2"}),
        ("tudo montado", set()),
        ("wszystko wlutowane", set()),
        ("alle onderdelen geplaatst", set()),
        ("komplett bestückt", set()),
        ("vollbestückt", set()),
        ("todos los componentes montados", set()),
        ("completo", set()),
        ("everything on the list", set()),
        ("Everything as per the parts list, except R2", {"R2"}),
        ("all parts on the list but R2", {"R2"}),
        ("as listed", set()),
        ("nothing missing", set()),
        ("alles laut Stückliste außer R2", {"R2"}),
        ("rien ne manque", set()),
        ("full", set()),
        ("all fitted except R2, its socket is empty", {"R2"}),
    ],
)
def test_everything_is_fitted_in_many_languages(tmp_path: Path, said: str, left_out: set[str]) -> None:
    (tmp_path / "fitted.csv").write_text(said + "\n", encoding="utf-8")
    refs = {"R1": "resistor", "R2": "resistor", "U1": "ic"}
    found = read_fitted_list(tmp_path / "fitted.csv", "fitted.csv", refs).fitted
    assert {state.ref for state in found.states if dict(state.facets)["place"] == "fitted"} == set(refs) - left_out


@pytest.mark.parametrize(
    ("said", "fitted"),
    [("TODO: R2", set()), ("R1 fitted\ntodo: R2, U1", {"R1"}), ("TODO R2 and U1", set()), ("TODO", set())],
)
def test_what_is_to_do_is_not_on_the_board(tmp_path: Path, said: str, fitted: set[str]) -> None:
    (tmp_path / "fitted.txt").write_text(said + "\n", encoding="utf-8")
    found = read_fitted_list(tmp_path / "fitted.txt", "fitted.txt", {"R1": "resistor", "R2": "resistor", "U1": "ic"})
    assert {state.ref for state in found.fitted.states if dict(state.facets)["place"] == "fitted"} == fitted


def test_a_list_of_which_nothing_is_understood_leaves_the_board_not_looked_at(tmp_path: Path) -> None:
    (tmp_path / "fitted.csv").write_text("blah blah blubb\n", encoding="utf-8")
    found = read_fitted_list(tmp_path / "fitted.csv", "fitted.csv", {"R1": "resistor"})
    assert found.fitted.others == "not_inspected"
    assert [f.message.slug for f in found.findings] == ["fitted-unread"]


def test_a_remark_that_says_how_another_place_stands_is_told(tmp_path: Path) -> None:
    path = tmp_path / "fitted.txt"
    path.write_text("D1 reversed near the edge, R1 burnt!!\nC1: tacked (R1 is beside it)\n", encoding="utf-8")
    read = read_fitted_list(path, "fitted.txt", {"D1": "diode", "R1": "resistor", "C1": "capacitor"})
    told = [(f.refs, f.where[0].line) for f in read.findings if f.message.slug == "fitted-remark-names-place"]
    assert told == [(("R1",), 1)]


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ("R1 there, R2 missing, R3 burnt", {"R1": "fitted", "R2": "empty", "R3": "fitted"}),
        ("R1-R3 fitted except R2", {"R1": "fitted", "R3": "fitted"}),
        ("I took R4 off, R5 on", {"R4": "empty", "R5": "fitted"}),
        ("R1 probably missing", {"R1": "not_inspected"}),
        ("R1 reversed?", {"R1": "not_inspected"}),
        ("R1 fitted, rest unknown", {"R1": "fitted"}),
        ("all resistors fitted\nR4 missing", {"R4": "empty", "R5": "fitted"}),
        ("- [x] R1\n- [ ] R2", {"R1": "fitted", "R2": "empty"}),
        ("[ ] R2", {"R2": "not_inspected"}),
    ],
)
def test_a_line_that_says_several_things(tmp_path, line, expected):
    got = states(read(tmp_path, line + "\n", "f.txt"))
    assert {ref: got[ref]["place"] for ref in expected} == expected
