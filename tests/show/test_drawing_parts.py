import itertools
import xml.etree.ElementTree as ElementTree

import pytest

from reworkkit.show.drawing_marks import draw_part, picture_key, sign_of
from reworkkit.show.drawing_parts import SHAPES
from reworkkit.show.drawings import Disc, Picture, Rect, lead_places, svg_of

JEDEC = "JEDEC outlines: pin 1 at the upper left seen from above, pins counted against the clock; from memory"
SIGNS = ("band", "bevel", "flat", "notch", "plus", "dot", "groove", "pointer")


def leads(picture: Picture) -> list[Rect]:
    return [piece for piece in picture.pieces if isinstance(piece, Rect) and piece.look.startswith("metal")]


@pytest.mark.parametrize("shape", sorted(SHAPES))
@pytest.mark.parametrize("pins", [2, 3, 4, 5, 8, 14, 44, 144])
def test_every_picture_is_xml_and_stays_inside_its_frame(shape, pins):
    picture = SHAPES[shape](pins)
    ElementTree.fromstring(f"<svg>{svg_of(picture.pieces)}</svg>")
    for piece in picture.pieces:
        if isinstance(piece, Rect):
            assert piece.x >= 0
            assert piece.y >= 0
            assert piece.x + piece.width <= picture.width
            assert piece.y + piece.height <= picture.height
        if isinstance(piece, Disc):
            assert piece.radius <= piece.x <= picture.width - piece.radius


@pytest.mark.parametrize(("shape", "pins"), [("soic", 8), ("soic", 14), ("dip", 16), ("qfp", 44), ("qfn", 32)])
def test_number_of_leads(shape, pins, published):
    published(f"leads drawn on {shape} with {pins} pins", len(leads(SHAPES[shape](pins))), pins, source=JEDEC)


@pytest.mark.parametrize("shape", ["soic", "dip", "qfp", "qfn"])
def test_pin_1_is_at_the_upper_left(shape, published):
    picture = SHAPES[shape](16)
    x, y = picture.first
    corner = ("left" if x < picture.width / 2 else "right", "upper" if y < picture.height / 2 else "lower")
    published(f"corner of pin 1, {shape}", corner, ("left", "upper"), source=JEDEC)


@pytest.mark.parametrize(
    ("pins", "below", "above"), [(3, 2, 1), (5, 3, 2), (6, 3, 3), (8, 4, 4)], ids=lambda value: str(value)
)
def test_sot23_family_has_its_leads_on_two_sides(pins, below, above, published):
    picture = SHAPES["sot23"](pins)
    middle = picture.body.y + picture.body.height / 2
    got = (sum(lead.y > middle for lead in leads(picture)), sum(lead.y < middle for lead in leads(picture)))
    published(
        f"leads below and above, SOT-23 with {pins} pins",
        got,
        (below, above),
        source="JEDEC TO-236, MO-178; from memory",
    )


def test_three_leaded_power_parts_have_three_legs_and_the_tab_packages_cut_the_middle_one():
    to252 = SHAPES["to252"](3)
    legs = [lead for lead in leads(to252) if lead.y > to252.body.y + to252.body.height - 5]
    assert len(legs) == 3
    assert min(legs, key=lambda leg: leg.height) == legs[1]
    assert len(leads(SHAPES["to247"](3))) == 3


def test_leads_stand_at_equal_distance():
    """Invariant: one pitch, equal margins."""
    places = lead_places(7, 100.0, 8.0)
    gaps = {round(b - a, 9) for a, b in itertools.pairwise(places)}
    assert len(gaps) == 1
    assert places[0] == pytest.approx(100.0 - places[-1])


@pytest.mark.parametrize("shape", sorted(SHAPES))
def test_without_a_mark_the_picture_is_plain(shape):
    """A picture never says more than the verdict: no piece of it looks like a mark."""
    assert not any("mark" in piece.look for piece in draw_part(shape, 8).pieces)


@pytest.mark.parametrize("sign", SIGNS)
@pytest.mark.parametrize("shape", ["chip", "sma", "radial", "can", "soic", "to220", "led_leaded", "sot23"])
def test_the_mark_sits_on_the_marked_end(shape, sign):
    picture = draw_part(shape, 8, sign)
    marks = [piece for piece in picture.pieces if "mark" in piece.look]
    assert marks
    lefts = [x for piece in marks for x in ([p[0] for p in piece.points] if hasattr(piece, "points") else [piece.x])]
    assert min(lefts) <= picture.width / 2
    ElementTree.fromstring(f"<svg>{svg_of(picture.pieces)}</svg>")


def test_a_mark_in_doubt_is_drawn_otherwise_and_carries_a_question_mark():
    sure, doubt = draw_part("led_chip", 2, "dot"), draw_part("led_chip", 2, "dot", reliable=False)
    assert "doubt" not in svg_of(sure.pieces)
    assert "doubt" in svg_of(doubt.pieces)
    assert "?" in svg_of(doubt.pieces)


@pytest.mark.parametrize(
    ("words", "sign"),
    [
        ("band round one end", "band"),
        ("no band", "none"),
        ("band or bevelled edge", "band"),
        ("bar across one end", "band"),
        ("black mark on the top", "band"),
        ("stripe down the side", "band"),
        ("groove round the can", "groove"),
        ("plus sign and longer lead", "plus"),
        ("dot, arrow, T or green mark", "dot"),
        ("cut corner", "bevel"),
        ("flat on the rim and short lead", "flat"),
        ("mark at one corner", "dot"),
        ("shape of the outline", "shape"),
        ("metal tab", "shape"),
        ("1, triangle or square land", "pointer"),
    ],
)
def test_signs_of_the_words_of_the_mark_table(words, sign):
    assert sign_of(words) == sign


def test_keys_tell_apart_what_looks_different():
    keys = {picture_key("soic", 8, None), picture_key("soic", 14, None), picture_key("soic", 8, "dot")}
    assert len(keys) == 3
    assert picture_key("chip", 2, None) == picture_key("chip", 99, None)
    assert picture_key("no such shape", 2, None) == "block"
