"""The hold cards to print: what stands on them, pictures with words, hostile names, and the page in a browser."""

import re
from pathlib import Path
from typing import Any

import pytest

from reworkkit.cli import main
from reworkkit.model.measuring import Check, Point
from reworkkit.model.messages import NotJudged, message
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis, CheckPurpose, Mode
from reworkkit.pipeline.opening import Request
from reworkkit.pipeline.powering import hold_sheet_path, powerup
from reworkkit.show.hold_sheet import band_svg, hold_sheet, hold_sheet_html
from reworkkit.show.sheet_facing import meter_line
from reworkkit.show.sheet_words import Speaker, open_causes
from tests.conftest import PROJECT
from tests.show.test_page_browser import browser  # noqa: F401

VALVES = PROJECT / "example_boards" / "greenhouse-valves"
CLAMP = PROJECT / "example_boards" / "magnet-clamp"


@pytest.fixture(scope="module")
def html() -> str:
    return hold_sheet_html(powerup(Request(VALVES)), "en")


def test_one_card_a_hold_point_with_all_that_is_needed_at_the_bench(html: str) -> None:
    cards = html.split("<article")[1:]
    assert len(cards) == 4
    logic = next(card for card in cards if "Hold point: logic rails" in card)
    for words in ("WARNING", "eyes protected", "Zero volts first", "Current limit", "Feed in at", "on the pin of U2"):
        assert words in logic
    for words in ("Switch off at once if", "Leads swapped", "What tells them apart", "open ground or adjust pin"):
        assert words in logic
    assert logic.index("WARNING") < logic.index("Zero volts first") < logic.index("Power on")
    assert "<script" not in html


def test_each_picture_is_told_in_words_and_has_its_table(html: str) -> None:
    pictures = re.findall(r"<svg class=\"band\".*?</svg>", html)
    assert len(pictures) > 12
    for picture in pictures:
        assert re.search(r"<title[^>]*>[^<]+</title><desc[^>]*>[^<]+</desc>", picture)
    ids = re.findall(r' id="([^"]+)"', html)
    assert len(ids) == len(set(ids))


def test_a_band_with_an_open_end_runs_to_the_edge() -> None:
    def drawn(low: float | None, high: float | None) -> str:
        band = Band(low, None, high, "ohm", BandBasis.STATED)
        point = Point('R<1>&"', "N")
        check = Check(
            "x",
            CheckPurpose.HOLD_POINT,
            point,
            Mode.OHMS,
            None,
            band,
            None,
            (),
            "",
            message("power-why-ohms", where="J1"),
            1,
        )
        return band_svg(band, meter_line(check, "p", Speaker("en")), Speaker("en"))

    assert drawn(None, None) == ""
    assert drawn(100.0, None).count('class="edge"') == 1
    assert drawn(1.0, 2.0).count('class="edge"') == 2
    assert "R<1>" not in drawn(1.0, 2.0)
    assert "R&lt;1&gt;&amp;" in drawn(1.0, 2.0)


def test_one_named_hold_point_is_one_card_and_no_hold_point_says_so(tmp_path: Path) -> None:
    one = powerup(Request(VALVES), "logic rails")
    assert len(hold_sheet(one.result, "n", "", "en").pages) == 1
    (tmp_path / "bom.csv").write_text("Designator,Value\nR1,1k\n", encoding="utf-8")
    assert "No hold point is described" in hold_sheet_html(powerup(Request(tmp_path)), "en")


def test_where_the_cards_go(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert hold_sheet_path(Request(CLAMP), None) == CLAMP / "hold-cards.html"
    assert hold_sheet_path(Request(CLAMP), tmp_path) == tmp_path / "hold-cards.html"
    assert main(["powerup", str(CLAMP), "-o", str(tmp_path / "x.html")]) == 0
    assert "x.html" in capsys.readouterr().out.replace("\n", "")
    assert (tmp_path / "x.html").read_text(encoding="utf-8").startswith("<!DOCTYPE html>")


@pytest.mark.browser
@pytest.mark.parametrize("board", [VALVES, CLAMP], ids=["valves", "clamp"])
def test_printed_each_hold_point_is_one_a4_and_a_telephone_shows_it(browser: Any, tmp_path: Path, board: Path) -> None:  # noqa: F811
    answer = powerup(Request(board))
    file = tmp_path / "cards.html"
    file.write_text(hold_sheet_html(answer, "en"), encoding="utf-8")
    page = browser.new_page(viewport={"width": 360, "height": 740})
    page.goto(file.as_uri())
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    pdf = page.pdf(prefer_css_page_size=True)
    assert len(re.findall(rb"/Type\s*/Page\b", pdf)) == len(answer.result.hold_points)
    sizes = {tuple(map(float, box.split()[2:])) for box in re.findall(rb"/MediaBox\s*\[([^\]]*)\]", pdf)}
    (size,) = sizes
    assert size == pytest.approx((595.3, 841.9), abs=1.0), "A4 is 210 mm x 297 mm (ISO 216)"
    page.close()


def test_why_something_is_open_stands_once_with_all_that_it_is_about() -> None:
    question, one, other = (message(slug) for slug in ("circuit-question", "diagnose-no-readings", "diagnose-rising"))
    asked = [NotJudged((net,), question, one) for net in ("B", "A", "B")] + [NotJudged((), question, other)]
    first, second = open_causes(asked, Speaker("en"))
    assert first.endswith(" (A, B)")
    assert second == Speaker("en").say(other)
