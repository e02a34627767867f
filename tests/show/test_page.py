import dataclasses
import json
import re
from html.parser import HTMLParser
from pathlib import Path

import pytest

from reworkkit.model.results import Operation, SetUp
from reworkkit.model.vocabulary import Fit
from reworkkit.show.page import environment, render_sheet
from reworkkit.show.sheet_words import KINDS
from reworkkit.show.texts import area
from tests.show.boards import (
    EMPTY_PLAN,
    ROWS,
    make_board,
    make_difference,
    make_plan,
    make_sheet,
    make_situation,
    stop_finding,
    unseen,
)

HOSTILE = [
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "</style><b>",
    "{{ 7 * 7 }}",
    "=cmd|' /C calc'!A0",
    "\x1b[31mred",
    "</script><script>window.taken=1</script>",
    "' onfocus='alert(1)",
]


class Outline(HTMLParser):
    """Collects tags, attributes and ids; notes what is left open."""

    VOID = frozenset({"meta", "input", "link", "br", "img"})

    def __init__(self, page):
        super().__init__(convert_charrefs=True)
        self.tags, self.ids, self.links, self.open = [], [], [], []
        self.feed(page)
        self.close()

    def handle_starttag(self, tag, attrs):
        found = dict(attrs)
        self.tags.append((tag, found))
        self.ids += [found["id"]] if "id" in found else []
        self.links += [found[name] for name in ("href", "src", "action") if name in found]
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.handle_starttag(tag, attrs)
        if tag not in self.VOID:
            self.open.pop()

    def handle_endtag(self, tag):
        assert self.open.pop() == tag


@pytest.fixture(scope="module")
def page():
    return render_sheet(make_sheet())


def hostile_page():
    rows = tuple((*row[:2], HOSTILE[n % 8], HOSTILE[(n + 3) % 8], *row[4:]) for n, row in enumerate(ROWS))
    board = make_board(rows, name=HOSTILE[0])
    marks = {str(row[0]): (HOSTILE[1], HOSTILE[6]) for row in rows}
    return render_sheet(make_sheet(board, difference=make_difference(board, rows), marks=marks, job=HOSTILE[6]))


def test_same_inputs_same_bytes(page):
    assert render_sheet(make_sheet()) == page


def test_the_page_is_well_formed_and_its_ids_are_unique(page):
    outline = Outline(page)
    assert outline.open == []
    assert len(outline.ids) == len(set(outline.ids))


def test_every_link_stays_on_the_page(page):
    outline = Outline(page)
    assert all(link.startswith("#") for link in outline.links)
    assert {link[1:] for link in outline.links} <= set(outline.ids)


def test_no_outside_address_and_a_policy_that_says_so(page):
    assert not re.findall(r"https?:|//[a-z]|url\(|@import", page)
    assert "default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; img-src data:" in page


def test_no_handler_and_no_inline_style_stands_in_a_tag(page):
    for _, found in Outline(page).tags:
        assert not [name for name in found if name.startswith("on") or name == "style"]


def test_hostile_cells_stay_text():
    page = hostile_page()
    outline, plain = Outline(page), Outline(render_sheet(make_sheet()))
    assert {tag for tag, _ in outline.tags} == {tag for tag, _ in plain.tags}
    assert sum(tag == "script" for tag, _ in outline.tags) == 2
    assert "49" not in re.findall(r">\s*(\d+)\s*<", page)
    assert all(not name.startswith("on") for _, found in outline.tags for name in found)


def test_hostile_facts_of_the_script_read_back_as_they_were():
    found = re.search(r'<script type="application/json" id="facts">(.*?)</script>', hostile_page(), re.S)
    facts = json.loads(found[1])
    assert facts["name"] == HOSTILE[0]
    assert facts["job"] == HOSTILE[6]


def test_an_unknown_name_in_a_template_is_an_error():
    with pytest.raises(Exception, match="undefined"):
        environment().from_string("{{ nothing_of_this_name }}").render()


def test_everything_is_in_the_document_without_script(page):
    for row in ROWS:
        assert f'<th scope="row">{row[0]}</th>' in page
    for card in make_sheet().operations:
        for step in card.steps:
            assert f'id="{step.key}"' in page
    assert page.count('type="checkbox"') == sum(len(card.steps) for card in make_sheet().operations)


def test_pictures_have_titles_and_the_board_drawing_has_title_desc_and_table(page):
    drawn = re.findall(r"<svg[^>]*role=\"img\"[^>]*>(.{7})", page)
    assert drawn
    assert set(drawn) == {"<title>", "<title "}
    assert page.count("<desc") == 2
    assert page.count('<table class="survey') == 1


def test_what_nobody_looked_at_is_not_called_missing():
    board = make_board()
    situation = make_situation(False, looked=False, done=())
    page = render_sheet(make_sheet(board, job=None, difference=unseen(board), plan=EMPTY_PLAN, situation=situation))
    assert "Nobody has looked yet" in page
    assert 'class="is-missing"' not in page
    assert "No operation stands in the work order." in page


def test_where_nobody_looked_the_survey_stands_before_the_work_order():
    board = make_board()
    situation = make_situation(False, looked=False, done=())
    page = render_sheet(make_sheet(board, job=None, difference=unseen(board), plan=EMPTY_PLAN, situation=situation))
    assert page.index('id="in-hand"') < page.index('id="places"') < page.index('id="work"')
    assert Outline(page).open == []
    assert render_sheet(make_sheet()).index('id="work"') < render_sheet(make_sheet()).index('id="places"')


def test_when_every_step_is_done_that_is_said_on_top():
    plan = dataclasses.replace(make_plan(), operations=make_plan().operations[:1])
    done = frozenset({("photograph", "TOP"), ("photograph", "BOTTOM")})
    page = render_sheet(make_sheet(plan=plan, done=done, hold_points=()))
    assert "reworkkit report --record" in page
    assert "reworkkit report --record" not in render_sheet(make_sheet())


def test_a_stop_finding_stands_before_the_work_order():
    difference = dataclasses.replace(make_difference(make_board()), findings=(stop_finding(),))
    page = render_sheet(make_sheet(difference=difference))
    assert page.index("R9 is not on this board.") < page.index('id="work"')


def test_words_of_the_page_are_all_used():
    """Every text of the page's area is asked for by a template, the script, or the code of show."""

    folder = Path(__file__).resolve().parents[2] / "reworkkit" / "show"
    sources = "".join(
        path.read_text(encoding="utf-8") for path in folder.rglob("*") if path.suffix in {".py", ".j2", ".js"}
    )
    slugs = set(area("en", "page"))
    asked = {slug for slug in slugs if f'"{slug}"' in sources or f'"{slug.removeprefix("page-script-")}"' in sources}
    assert slugs - asked - {"page-script-inside", "page-script-outside", "page-script-not-judged"} == set()


def many(count):
    kinds = (
        ("R", "resistor", "10k", "R chip 0603", 2, 1.6, 0.8, "smd"),
        ("C", "capacitor_ceramic", "100n", "C chip 0402", 2, 1.0, 0.5, "smd"),
        ("U", "ic", "logic", "SOIC-14", 14, 8.6, 3.9, "smd"),
    )
    picked = [(n, kinds[n % 3]) for n in range(count)]
    rows = tuple(
        (f"{kind[0]}{n}", *kind[1:], n % 50 * 4.0, n // 50 * 4.0, 0, "bottom" if n % 3 else "top", "missing")
        for n, kind in picked
    )
    refs = [str(row[0]) for row in rows]
    operations = [
        Operation(0, kind, tuple(refs[start : start + 60]), SetUp("iron"), (), (), None, (), KINDS[kind], "page-work")
        for start in range(0, count, 60)
        for kind in ("solder", "inspect")
    ]
    numbered = tuple(
        Operation(n, op.kind, op.refs, op.setup, (), (), None, (), op.title, op.group)
        for n, op in enumerate(operations, start=1)
    )
    board = dataclasses.replace(make_board(rows), outline=(), pins={})
    plan = dataclasses.replace(make_plan(), operations=numbered, conflicts=())
    return make_sheet(board, difference=make_difference(board, rows), plan=plan, verdicts=(), hold_points=())


@pytest.mark.parametrize(("count", "bytes_at_most"), [(200, 1_000_000), (2000, 4_000_000)])
def test_size_of_a_page(count, bytes_at_most):
    assert len(render_sheet(many(count)).encode()) < bytes_at_most


def test_a_lone_list_of_nothing_renders():
    board = dataclasses.replace(make_board(), parts={}, placements={}, pins={}, files=(), outline=())
    difference = dataclasses.replace(make_difference(make_board()), items=())
    page = render_sheet(
        make_sheet(board, job=None, difference=difference, verdicts=(), plan=EMPTY_PLAN, hold_points=())
    )
    assert Outline(page).open == []


def test_a_part_that_is_not_to_be_fitted_still_has_its_row():
    board = make_board()
    parts = {**board.parts, "R1": board.parts["R1"]._replace(fit=Fit.DO_NOT_FIT)}
    difference = dataclasses.replace(make_difference(board), items=())
    page = render_sheet(make_sheet(dataclasses.replace(board, parts=parts), difference=difference))
    assert "stays empty" in page
