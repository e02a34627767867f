"""Designators and designator cells, in the spellings real lists use."""

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reworkkit.model.designator import (
    TRAP_CLASS_LETTERS,
    canonical,
    class_letters,
    is_designator,
    looks_numbered,
    natural_key,
    natural_sorted,
)
from reworkkit.model.designator_cell import LONGEST_RANGE, expand_cell


def span(letters: str, first: int, last: int) -> tuple[str, ...]:
    return tuple(f"{letters}{n}" for n in range(first, last + 1))


@pytest.mark.parametrize(
    ("text", "quantity", "refs"),
    [
        ("R1", 1, ("R1",)),
        ("r1,r2 ; R3", None, ("R1", "R2", "R3")),
        ("C2 C6 C10 C18", 4, ("C2", "C6", "C10", "C18")),
        ("R7, R12,R13, R14, R16", 5, ("R7", "R12", "R13", "R14", "R16")),
        ("R1R2R3", 3, span("R", 1, 3)),
        ("R1-R4", 4, span("R", 1, 4)),
        ("LED1-8", 8, span("LED", 1, 8)),
        ("BTN0-6", 7, span("BTN", 0, 6)),
        ("R24-31", 8, span("R", 24, 31)),
        ("C1 - C4", 4, span("C", 1, 4)),
        ("C5 - C8 ", 4, span("C", 5, 8)),
        ("C1..C5", 5, span("C", 1, 5)),
        ("C1…C5", None, span("C", 1, 5)),
        ("C1–C5", None, span("C", 1, 5)),
        ("C1 to C5", None, span("C", 1, 5)),
        ("C1～C5", None, span("C", 1, 5)),
        ("R1:R4", None, span("R", 1, 4)),
        ("C1-C5, C11", 6, (*span("C", 1, 5), "C11")),
        ("R1, 2, 5-7", 5, ("R1", "R2", "R5", "R6", "R7")),
        ("R01-R03", 3, ("R01", "R02", "R03")),
        ("D1_1-D1_3", 3, ("D1_1", "D1_2", "D1_3")),
        ("U$1-U$3", 3, ("U$1", "U$2", "U$3")),
        ("U1A-U1C", 3, ("U1A", "U1B", "U1C")),
        ("U1A-U1C", 1, ("U1A-U1C",)),
        ("J1-2", 1, ("J1-2",)),
        ("J1-2", 2, ("J1", "J2")),
        ("J1-1, J1-2, J1-3", 3, ("J1-1", "J1-2", "J1-3")),
        ("D1, D2-D4, J1-2", 5, ("D1", "D2", "D3", "D4", "J1-2")),
        ("R1/R2/R3", 3, span("R", 1, 3)),
        ("R1+R2", 2, span("R", 1, 2)),
        ("c 5", 1, ("C5",)),
        ("Ｒ１、Ｒ２", 2, ("R1", "R2")),
        ("ACTIVITY", 1, ("ACTIVITY",)),
        ("OLED", 1, ("OLED",)),
        ("U$1", 1, ("U$1",)),
        ("VBAT+", 1, ("VBAT+",)),
        ("BOOT0_2", 1, ("BOOT0_2",)),
        ("3.3V", 1, ("3.3V",)),
        ("I/O", 1, ("I/O",)),
        ("SWD he", 1, ("SWDHE",)),
        ("CON2X20", 1, ("CON2X20",)),
        ("VBAT+ VBAT- GND", 3, ("VBAT+", "VBAT-", "GND")),
        ("C1,C2,", 2, ("C1", "C2")),
        ("n/a", None, ()),
        ("-", None, ()),
        ("", None, ()),
    ],
)
def test_cells(text, quantity, refs):
    """Expected: as a person at the bench reads them (spellings seen in published lists)."""
    assert expand_cell(text, quantity).refs == refs


def test_a_name_known_elsewhere_is_no_range():
    assert expand_cell("J1-4", None, {"J1"}).refs == ("J1-4",)
    assert expand_cell("LED1-8", None).refs == span("LED", 1, 8)


def test_doubt_is_said():
    assert expand_cell("J1-2").doubtful
    assert not expand_cell("J1-2", 2).doubtful


@pytest.mark.parametrize("text", ["<script>alert(1)</script>", '=HYPERLINK("x")', "R1-R999999999", "four M3 screws"])
def test_what_cannot_be_read_stays_text(text):
    cell = expand_cell(text)
    assert not cell.refs
    assert cell.unread


def test_remark_in_brackets():
    assert expand_cell("R5 (DNP)").remark == "DNP"
    assert expand_cell("R5 (DNP)").refs == ("R5",)


refs = st.builds(lambda a, n: f"{a}{n}", st.sampled_from(("R", "C", "LED", "TP", "SW")), st.integers(1, 999))


@given(st.lists(refs, min_size=1, max_size=30, unique=True), st.sampled_from((",", ", ", " ", ";", "; ", "\n", " , ")))
def test_any_list_comes_back(names, between):
    """Invariant: what is joined is split again, with and without the quantity."""
    assert expand_cell(between.join(names), len(names)).refs == tuple(names)
    assert expand_cell(between.join(names)).refs == tuple(names)


@given(st.integers(0, 500), st.integers(1, 100), st.sampled_from(("-", " - ", "–", "..", " to ", "~")))
def test_any_range_comes_back(first, more, dash):
    assert expand_cell(f"R{first}{dash}R{first + more}", more + 1).refs == span("R", first, first + more)


@given(st.text(max_size=200))
def test_anything_is_expanded_without_an_error(text):
    cell = expand_cell(text, 3)
    assert len(cell.refs) <= 200 * LONGEST_RANGE
    assert all(is_designator(ref) for ref in cell.refs)


@given(st.lists(refs, max_size=20, unique=True))
def test_natural_order_is_one_order(names):
    mixed = random.Random(1).sample(names, len(names))
    assert sorted(mixed, key=natural_key) == sorted(names, key=natural_key)


def test_natural_order():
    assert sorted(["R10", "R2", "R1", "C3", "R2A"], key=natural_key) == ["C3", "R1", "R2", "R2A", "R10"]


@given(st.lists(st.from_regex(r"[RrcCß]{1,2}[0-9]{1,3}|GND|3V3|U\$1|[0-9]{2}|R2A", fullmatch=True), max_size=12))
def test_the_quick_sort_is_the_natural_order(refs: list[str]) -> None:
    assert natural_sorted(refs) == sorted(refs, key=natural_key)


def test_canonical_and_letters():
    assert canonical(" vbat + ") == "VBAT+"
    assert class_letters("VR12") == "VR"
    assert not looks_numbered("0805")
    assert all(len(kinds) > 1 for kinds in TRAP_CLASS_LETTERS.values())
