"""The sheet of the live run in a real browser: one sheet of A4, readable at 360 px, its first warning met first."""

import re
from pathlib import Path
from typing import Any

import pytest

from reworkkit.cli import main
from tests.conftest import PROJECT
from tests.show.test_page_browser import browser  # noqa: F401

pytestmark = pytest.mark.browser
RUNS = {
    "clamp": (str(PROJECT / "example_boards" / "magnet-clamp"),),
    "options alone": (
        *("--volts", "325V", "--capacitance", "680uF", "--load", "converter", "--watts", "150W"),
        *("--lamp", "100W", "--lamp-volts", "230V", "--precharge", "470ohm", "--bleeder", "100k"),
    ),
}


@pytest.fixture(params=RUNS)
def sheet(request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    monkeypatch.chdir(tmp_path)
    assert main(["liverun", *RUNS[request.param], "-o", "sheet.html"]) == 0
    return (tmp_path / "sheet.html").as_uri()


def test_it_prints_on_both_sides_of_one_a4(browser: Any, sheet: str) -> None:  # noqa: F811
    page = browser.new_page()
    page.goto(sheet)
    pdf = page.pdf(prefer_css_page_size=True)
    assert len(re.findall(rb"/Type\s*/Page\b", pdf)) in (1, 2)
    sizes = {tuple(map(float, box.split()[2:])) for box in re.findall(rb"/MediaBox\s*\[([^\]]*)\]", pdf)}
    (size,) = sizes
    assert size == pytest.approx((595.3, 841.9), abs=1.0), "A4 is 210 mm x 297 mm, 595.28 x 841.89 points (ISO 216)"
    page.close()


def test_a_phone_meets_the_first_warning_on_its_first_screen_and_never_scrolls_sideways(
    browser: Any,  # noqa: F811
    sheet: str,
) -> None:
    page = browser.new_page(viewport={"width": 360, "height": 640})
    page.goto(sheet)
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    first = page.locator(".alert.warning").first
    box = first.bounding_box()
    assert box["y"] < 100
    assert box["y"] + box["height"] < 640
    above = page.evaluate("""() => {
        const top = e => e.getBoundingClientRect().top, first = top(document.querySelector('.alert.warning'));
        return [...document.querySelectorAll('.live-figures, table, .chart')].filter(e => top(e) < first).length; }""")
    assert above == 0
    page.close()


def test_every_chart_has_title_description_and_table(browser: Any, sheet: str) -> None:  # noqa: F811
    page = browser.new_page()
    page.goto(sheet)
    charts = page.locator("svg.chart")
    count = charts.count()
    assert count >= 3
    assert page.locator("svg.chart > title").count() == page.locator("svg.chart > desc").count() == count
    assert page.locator("figure table").count() == count
    page.close()
