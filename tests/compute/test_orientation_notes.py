"""Notes about how a part faces: what is read, what is not, and what each verdict rests on.

The geometry expected here is drawn by hand in the comments (independent); marks come from the table of
constructions, whose rows name their sources.
"""

import re
import tomllib
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reworkkit.compute.orientation import Toward, judge_orientation, parse_note, with_first_of_kind
from reworkkit.compute.orientation.facing import words_of_mark
from reworkkit.compute.orientation.marks import mark_for
from reworkkit.compute.orientation.notes import MARKS
from reworkkit.model.board import Board
from reworkkit.model.facts import BoardFacts, PartFacts
from reworkkit.model.job import PlaceState, Situation
from reworkkit.model.measuring import FIRST_OF_A_KIND
from reworkkit.model.messages import message
from reworkkit.model.netlist import Net, Pad, Pin, Placement
from reworkkit.model.part import Note, Package, Part, PartIdentity, PartValue
from reworkkit.model.results import OrientationVerdict
from reworkkit.model.values import Source, Where
from reworkkit.model.vocabulary import (
    Basis,
    FacesBasis,
    Fit,
    Honesty,
    Mount,
    Place,
    PolarityVerdict,
    Side,
    WayRound,
    YesNo,
)
from reworkkit.show.polarity_text import polarity_document
from reworkkit.show.texts import sentence
from reworkkit.tables import rows
from tests.conftest import PROJECT

REFS = frozenset({"K1", "J2", "TP1", "U2", "C4", "R5", "U22"})
NETS = frozenset({"GND", "+12V", "VCC", "J5.2"})
LIST = Where("bom.csv", 4)
FACTS = Where("board.toml", 9)
FITTED = Where("fitted.csv", 2)


@pytest.mark.parametrize(
    ("text", "mark", "toward", "target"),
    [
        ("band towards K1", "band", Toward.REF, "K1"),
        ("stripe to pad 1", "stripe", Toward.PAD, "1"),
        ("dot north", "dot", Toward.COMPASS, "n"),
        ("notch: up", "notch", Toward.COMPASS, "n"),
        ("bevel upper left", "bevel", Toward.COMPASS, "nw"),
        ("chamfer towards pin 3", "chamfer", Toward.PAD, "3"),
        ("tab down", "tab", Toward.COMPASS, "s"),
        ("flat facing TP1", "flat", Toward.REF, "TP1"),
        ("long lead to +12V", "long_lead", Toward.NET, "+12V"),
        ("shorter leg towards GND", "short_lead", Toward.NET, "GND"),
        ("square pad nearest J2", "square_pad", Toward.REF, "J2"),
        ("+ to +12V", "plus", Toward.NET, "+12V"),
        ("minus at pad 2", "minus", Toward.PAD, "2"),
        ("cathode to the relay K1", "cathode", Toward.REF, "K1"),
        ("A towards K1", "anode", Toward.REF, "K1"),
        ("pin 1 NW", "pin_1", Toward.COMPASS, "nw"),
        ("arrow towards U22.3", "arrow", Toward.REF_PIN, "U22.3"),
        ("groove -> C4", "groove", Toward.REF, "C4"),
        ("stripe at the left edge of the board", "stripe", Toward.COMPASS, "w"),
        ("plus at square pad", "plus", Toward.SQUARE_PAD, "square pad"),
        ("matches silkscreen", "", Toward.SILKSCREEN, "silkscreen"),
        ("orientation as printed", "", Toward.SILKSCREEN, "silkscreen"),
        ("pin 1 = cathode", "cathode", Toward.PAD, "1"),
        ("A black band towards k1.", "band", Toward.REF, "K1"),
        ("observe polarity, band towards K1 (white part)", "band", Toward.REF, "K1"),
        ("band towards J5.2", "band", Toward.NET, "J5.2"),
        ("Band zu K1", "band", Toward.REF, "K1"),
        ("Strich oben", "stripe", Toward.COMPASS, "n"),
        ("Kathode nach rechts", "cathode", Toward.COMPASS, "e"),
        ("Plus an Pad 1", "plus", Toward.PAD, "1"),
    ],
)
def test_a_note_is_a_mark_and_a_direction(text: str, mark: str, toward: Toward, target: str) -> None:
    note = parse_note(text, REFS, NETS)
    assert note is not None
    assert (note.mark, note.toward, note.target) == (mark, toward, target)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "band",
        "reversed",
        "band away from K1",
        "band not towards K1",
        "band towards K9",
        "band towards K1 or J2",
        "band top side",
        "towards K1",
        "a left",
        "Q1 hot",
        "handle with care",
        "<b>band</b> towards K1",
    ],
)
def test_what_is_no_note_is_not_guessed(text: str) -> None:
    assert parse_note(text, REFS, NETS) is None


def test_a_word_that_is_a_direction_and_a_name_is_not_guessed() -> None:
    assert parse_note("band N", REFS, {"N"}) is None
    assert parse_note("band north", REFS, {"N"}) is not None


def test_with_no_netlist_an_unlisted_name_is_kept_as_written() -> None:
    note = parse_note("band towards TP9", REFS, ())
    assert note is not None
    assert (note.toward, note.target) == (Toward.NAME, "TP9")
    assert parse_note("band towards me", REFS, ()) is None


def test_the_examples_of_the_docs_are_notes() -> None:
    page = (PROJECT / "docs" / "board-toml.md").read_text(encoding="utf-8")
    (block,) = [one for one in re.findall(r"```toml\n(.*?)```", page, re.DOTALL) if "faces =" in one]
    for said in tomllib.loads(block)["parts"].values():
        text = said if isinstance(said, str) else said["faces"]
        assert parse_note(text, REFS, NETS), text


def test_a_note_may_name_the_terminal_of_its_mark() -> None:
    note = parse_note("cathode stripe to pad 1", REFS, NETS)
    assert note is not None
    assert (note.mark, note.states) == ("stripe", "cathode")


@given(st.sampled_from(["band", "stripe", "cathode", "plus"]), st.sampled_from(sorted(REFS)))
def test_reading_ignores_case_and_blanks(mark: str, ref: str) -> None:
    plain = parse_note(f"{mark} towards {ref}", REFS, NETS)
    assert plain is not None
    assert parse_note(f"  {mark.upper()}   TOWARDS  {ref.lower()} ", REFS, NETS)._replace(words="") == plain._replace(  # type: ignore[union-attr]
        words=""
    )


@given(st.text(max_size=40))
def test_any_text_is_read_or_not_without_error(text: str) -> None:
    parse_note(text, REFS, NETS)


def test_every_reliable_construction_names_a_mark_a_note_can_use() -> None:
    silent = {"transistor_outline", "tvs_two_way"}
    for row in rows("polarity_marks"):
        if row["reliable"] == "yes" and row["construction"] not in silent:
            assert words_of_mark(row["mark"]), row["construction"]


def identity(kind: str, outline: str = "band", polarised: YesNo = YesNo.YES) -> PartIdentity:
    source = Source("memory", "", Honesty.FROM_MEMORY)
    package = Package(
        "x", "x", Mount.SMD, 5, 3, 2, 2, None, None, 0, None, None, None, outline, source
    )  # fmt: skip
    return PartIdentity(kind, PartValue(None, None, None, None, None, ""), package, "x", "", "", polarised, kind)


DIODE = identity("diode")
TANTALUM = identity("capacitor_tantalum", "moulded")
CAN = identity("capacitor_aluminium_electrolytic", "can")
LED_CHIP = identity("led", "chip")


def pin(ref: str, number: str, net: str | None, x: float, y: float, name: str | None = None) -> Pin:
    pad = Pad(x, y, 1.0, 1.0, 0.0, None, True, Side.TOP)
    return Pin(ref, number, name, net, (pad,), LIST)


def board(
    what: PartIdentity, *notes: tuple[str, str], pins: tuple[Pin, ...] = (), side: Side = Side.TOP, **more: Any
) -> Board:
    """An invented board: D4 in the middle, its pads 4 mm apart on the x axis, J2 to its right, K1 to its left."""
    where = {"list": LIST, "board_toml": FACTS, "fitted": FITTED}
    said = tuple(Note(source, text, where[source]) for source, text in notes)
    other = identity("connector", polarised=YesNo.NO)
    parts = {
        "D4": Part("D4", what, Fit.FIT, said, LIST),
        "J2": Part("J2", other, Fit.FIT, (), LIST),
        "K1": Part("K1", other, Fit.FIT, (), LIST),
    }
    places = {
        "D4": Placement("D4", 50, 20, 0, side, LIST),
        "J2": Placement("J2", 70, 25, 0, Side.TOP, LIST),
        "K1": Placement("K1", 30, 22, 0, Side.TOP, LIST),
        "TP7": Placement("TP7", 50, 60, 0, Side.TOP, LIST),
    }
    nets = {name: Net(name, name, ()) for one in pins if (name := one.net)}
    return Board(
        "invented", None, (), (), parts, placements=places, pins={(p.ref, p.number): p for p in pins}, nets=nets, **more
    )


PINS = (pin("D4", "1", "GND", 48, 20), pin("D4", "2", "+12V", 52, 20))


def verdict(found: Board) -> OrientationVerdict:
    (only,) = judge_orientation(found)
    told = [only.why, *(one.message for one in only.findings)]
    told += [only.question.question, only.question.because] if only.question else []
    assert all(sentence(one) for one in told)
    return only


def test_no_note_asks_and_shows_the_line() -> None:
    only = verdict(board(DIODE))
    assert only.verdict is PolarityVerdict.NO_NOTE
    assert only.question is not None
    assert only.question.about == ("D4",)
    assert only.question.answer == '[parts]\nD4 = "band towards K1"'
    assert only.faces_basis is FacesBasis.UNKNOWN


def test_a_note_is_translated_by_the_rule_of_its_construction() -> None:
    diode = verdict(board(DIODE, ("list", "band towards J2"), pins=PINS))
    tantalum = verdict(board(TANTALUM, ("list", "band towards J2"), pins=PINS))
    can = verdict(board(CAN, ("list", "stripe towards J2"), pins=PINS))
    assert diode.faces == {"cathode": "J2"}
    assert tantalum.faces == {"plus": "J2"}
    assert can.faces == {"minus": "J2"}
    assert {one.verdict for one in (diode, tantalum, can)} == {PolarityVerdict.UNDECIDED}
    assert diode.faces_basis is FacesBasis.PAPERS
    assert diode.mark is not None


def test_the_mark_rules_are_those_of_the_handbooks(published: Any) -> None:
    rules = {"diode": DIODE, "moulded tantalum": TANTALUM, "aluminium can": CAN}
    expected = {
        "diode": ("cathode", "P6KE maker's sheet: colour band denotes the cathode"),
        "moulded tantalum": ("plus", "EIA-535 practice, from memory"),
        "aluminium can": ("minus", "common practice, from memory"),
    }
    for name, what in rules.items():
        mark = mark_for(what)
        assert mark is not None
        published(f"band of a {name}", mark.terminal, expected[name][0], source=expected[name][1])


def test_towards_a_part_is_the_nearer_land_and_its_net() -> None:
    # J2 is at x = 70, the lands at 48 and 52: the land at 52 is nearer.
    only = verdict(board(DIODE, ("list", "band towards J2"), pins=PINS))
    assert only.lands == {"cathode": ("2", "+12V"), "anode": ("1", "GND")}
    assert only.why.slug == "polarity-circuit-not-known-land"


def test_left_is_as_seen_from_the_side_the_part_sits_on() -> None:
    # Left from the top is the land with the smaller x; turned over like a page it is the one with the larger x.
    top = verdict(board(DIODE, ("list", "band left"), pins=PINS))
    bottom = verdict(board(DIODE, ("list", "band left"), pins=PINS, side=Side.BOTTOM))
    assert (top.lands["cathode"][0], bottom.lands["cathode"][0]) == ("1", "2")


def test_a_direction_across_the_part_gives_no_land() -> None:
    # TP7 stands straight above the middle of D4: both lands are equally near.
    for note in ("band north", "band towards TP7"):
        only = verdict(board(DIODE, ("list", note), pins=PINS))
        assert only.faces == {"cathode": note.split()[-1]}
        assert only.lands == {}


def test_towards_a_net_is_the_land_on_it() -> None:
    only = verdict(board(DIODE, ("list", "band towards GND"), pins=PINS))
    assert only.lands["cathode"] == ("1", "GND")


def test_a_named_point_stands_for_its_net() -> None:
    facts = BoardFacts(points={"TP3": "GND"})
    only = verdict(board(DIODE, ("board_toml", "band towards TP3"), pins=PINS, facts=facts))
    assert only.lands["cathode"] == ("1", "GND")


def test_without_netlist_the_words_are_kept() -> None:
    only = verdict(board(DIODE, ("list", "band towards J2")))
    assert (only.faces, only.lands) == ({"cathode": "J2"}, {})


def test_an_unknown_construction_is_not_judged_by_its_family() -> None:
    only = verdict(board(identity("capacitor", "chip", YesNo.UNKNOWN), ("list", "band towards J2"), pins=PINS))
    assert only.why.slug == "polarity-construction-not-known"
    assert only.faces == {"band": "J2"}
    assert only.lands == {}
    assert only.question is not None
    assert only.question.answer == '[parts]\nD4 = "plus towards J2"'


def test_a_mark_makers_disagree_on_is_metered() -> None:
    only = verdict(board(LED_CHIP, ("list", "dot towards J2"), pins=PINS))
    assert only.why.slug == "polarity-mark-not-reliable"
    assert only.lands == {}
    named = verdict(board(LED_CHIP, ("list", "cathode towards J2"), pins=PINS))
    assert named.lands["cathode"] == ("2", "+12V")


def test_a_mark_the_construction_has_not_is_not_judged() -> None:
    only = verdict(board(DIODE, ("list", "notch towards J2"), pins=PINS))
    assert only.why.slug == "polarity-other-mark"


def test_the_other_lead_of_a_pair_is_the_other_terminal() -> None:
    leaded = identity("led", "led_round")
    assert verdict(board(leaded, ("list", "short lead towards J2"))).faces == {"cathode": "J2"}
    assert verdict(board(leaded, ("list", "long lead towards J2"))).faces == {"anode": "J2"}


def test_an_unreadable_note_is_a_finding_and_undecided() -> None:
    only = verdict(board(DIODE, ("list", "band away from J2")))
    assert only.verdict is PolarityVerdict.UNDECIDED
    assert [one.message.slug for one in only.findings] == ["polarity-note-unreadable"]
    assert only.findings[0].where == (LIST,)
    assert only.faces == {}


def test_a_remark_about_something_else_is_no_note() -> None:
    assert verdict(board(DIODE, ("list", "buy ten"))).verdict is PolarityVerdict.NO_NOTE


def test_what_board_toml_says_is_always_a_note() -> None:
    assert verdict(board(DIODE, ("board_toml", "sideways"))).verdict is PolarityVerdict.UNDECIDED


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ("band towards J2", "band towards K1"),
        ("band left", "band towards J2"),
        ("cathode at pad 1", "anode at pad 1"),
        ("cathode at pad 1", "band towards +12V"),
    ],
)
def test_two_notes_that_cannot_both_hold_are_a_finding(first: str, second: str) -> None:
    only = verdict(board(DIODE, ("list", first), ("board_toml", second), pins=PINS))
    (finding,) = only.findings
    assert finding.message.slug == "polarity-notes-contradict"
    assert set(finding.where) == {LIST, FACTS}
    assert {finding.message.fact("first"), finding.message.fact("second")} == {first, second}
    assert only.verdict is PolarityVerdict.UNDECIDED
    assert only.lands == {}


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ("band towards J2", "band towards J2"),
        ("band towards J2", "anode towards K1"),
        ("cathode at pad 2", "band right"),
        ("band north", "band east"),
    ],
)
def test_notes_that_agree_or_cannot_be_compared_are_no_finding(first: str, second: str) -> None:
    only = verdict(board(DIODE, ("list", first), ("fitted", second), pins=PINS))
    assert only.findings == ()
    assert only.faces_basis is FacesBasis.SEEN


def test_opposite_sides_contradict_without_a_netlist() -> None:
    only = verdict(board(DIODE, ("list", "band left"), ("board_toml", "band right")))
    assert [one.message.slug for one in only.findings] == ["polarity-notes-contradict"]


@pytest.mark.parametrize("papers", ["list", "board_toml"])
def test_papers_and_board_that_differ_are_a_finding_of_their_own(papers: str) -> None:
    only = verdict(board(DIODE, (papers, "band towards J2"), ("fitted", "band towards K1"), pins=PINS))
    (finding,) = only.findings
    assert finding.message.slug == "polarity-papers-against-board"
    assert (finding.message.fact("papers"), finding.message.fact("seen")) == ("band towards J2", "band towards K1")
    assert only.verdict is PolarityVerdict.UNDECIDED
    assert only.lands == {}


@pytest.mark.parametrize(("note", "told"), [("tab down", []), ("tab towards J2", ["polarity-note-not-needed"])])
def test_how_a_tab_lies_is_no_finding(note: str, told: list[str]) -> None:
    only = verdict(board(identity("mosfet", "tab"), ("list", note)))
    assert only.verdict is PolarityVerdict.NOT_POLARISED
    assert [one.message.slug for one in only.findings] == told


def equals(count: int) -> Board:
    """Return an invented board with some equal diodes."""
    found = board(DIODE)
    return replace(found, parts={f"D{n}": Part(f"D{n}", DIODE, Fit.FIT, (), LIST) for n in range(1, count + 1)})


def situation(**states: PlaceState) -> Situation:
    return Situation(1, Basis.FILES, None, states)


@pytest.mark.parametrize(
    ("count", "states", "told"),
    [
        (6, {}, [("D1", "5")]),
        (FIRST_OF_A_KIND - 1, {}, []),
        (6, {"D4": PlaceState("D4", way_round=WayRound.MEASURED)}, []),
        (6, {"D4": PlaceState("D4", way_round=WayRound.SEEN)}, [("D1", "5")]),
        (4, {"D2": PlaceState("D2", Place.FITTED), "D3": PlaceState("D3", Place.EMPTY)}, [("D1", "2")]),
        (3, {f"D{n}": PlaceState(f"D{n}", Place.FITTED) for n in (1, 2, 3)}, []),
    ],
)
def test_the_first_of_a_kind_is_proven_before_the_others(
    count: int, states: dict[str, PlaceState], told: list[tuple[str, str]]
) -> None:
    found = equals(count)
    verdicts = with_first_of_kind(found, situation(**states), judge_orientation(found))
    notes = [(one.ref, finding.message) for one in verdicts for finding in one.findings]
    assert [(ref, note.fact("count")) for ref, note in notes] == told
    assert all(note.slug == "polarity-first-of-kind" for _, note in notes)


def test_findings_equal_but_for_the_part_are_one_line_with_all_parts() -> None:
    resistor = identity("resistor", "chip", YesNo.NO)
    found = board(resistor)
    note = Note("list", "band towards J2", LIST)
    found = replace(found, parts={f"Q{n}": Part(f"Q{n}", resistor, Fit.FIT, (note,), LIST) for n in range(1, 5)})
    document = polarity_document(situation(), judge_orientation(found), (), "en")
    (only,) = document["findings"]
    assert only["refs"] == ["Q1", "Q2", "Q3", "Q4"]
    assert "Q1-Q4" in only["sentence"]


def test_every_reason_that_presumes_says_so() -> None:
    """The rules that rest on what is usual, not on what is known; each reason names what it takes for granted."""
    granted = (
        "plug bias sinks joins return turn-off-granted pulled-apart usual-coupler lights-range lights-mostly "
        "plus-mostly charges net-name string pump-start clamp crosses"
    )
    for name in granted.split():
        told = message(f"polarity-need-{name}", **dict.fromkeys(_BLANKS, "X"))
        assert "Taken for granted: " in sentence(told), name


_BLANKS = ("ref", "net", "store", "high", "low", "signal", "rail", "transistor", "pin")


def test_a_mark_called_by_the_wrong_terminal_is_a_finding() -> None:
    only = verdict(board(TANTALUM, ("list", "minus stripe towards J2")))
    assert [one.message.slug for one in only.findings] == ["polarity-mark-misnamed"]


def test_a_note_against_the_name_of_its_pin_is_a_finding() -> None:
    named = (pin("D4", "1", "GND", 48, 20, "A"), pin("D4", "2", "+12V", 52, 20, "K"))
    assert verdict(board(DIODE, ("list", "band towards J2"), pins=named)).findings == ()
    wrong = verdict(board(DIODE, ("list", "band towards K1"), pins=named))
    assert [one.message.slug for one in wrong.findings] == ["polarity-note-against-pin"]
    facts = BoardFacts(parts={"D4": PartFacts(pins={"anode": "2"})})
    stated = verdict(board(DIODE, ("list", "band towards J2"), pins=PINS, facts=facts))
    assert [one.message.slug for one in stated.findings] == ["polarity-note-against-pin"]


@pytest.mark.parametrize("kind", ["capacitor_film", "capacitor_ceramic", "varistor", "tvs_two_way"])
def test_what_only_looks_polarised_is_said_to_be_not(kind: str) -> None:
    only = verdict(board(identity(kind, "chip", YesNo.NO)))
    assert only.verdict is PolarityVerdict.NOT_POLARISED
    assert only.question is None


def test_a_note_on_a_part_without_polarity_is_noted() -> None:
    only = verdict(board(identity("resistor", "chip", YesNo.NO), ("list", "band towards J2")))
    assert only.verdict is PolarityVerdict.NOT_POLARISED
    assert [one.message.slug for one in only.findings] == ["polarity-note-not-needed"]


def test_an_outline_that_fits_one_way_needs_no_note() -> None:
    assert verdict(board(identity("transistor", "sot"))).why.slug == "polarity-fits-one-way"


def test_a_tab_on_the_surface_fits_one_way_and_one_on_leads_does_not() -> None:
    surface = identity("mosfet", "tab")
    assert surface.package is not None
    leaded = replace(surface, package=replace(surface.package, mount=Mount.THROUGH_HOLE))
    assert verdict(board(surface)).verdict is PolarityVerdict.NOT_POLARISED
    assert verdict(board(leaded)).verdict is PolarityVerdict.NO_NOTE


def test_parts_not_to_be_fitted_are_left_out() -> None:
    found = board(DIODE)
    found.parts["D4"] = found.parts["D4"]._replace(fit=Fit.DO_NOT_FIT)
    assert judge_orientation(found) == ()


def test_every_mark_word_reads_as_itself() -> None:
    for name in MARKS:
        if name in ("cathode", "anode", "plus", "minus"):
            note = parse_note(f"{name} left", REFS, NETS)
            assert note is not None
            assert note.states == name
