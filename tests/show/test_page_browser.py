"""The page in a real browser: offline, by keyboard, by touch width, dark, on paper, without script, without storage."""

import dataclasses
import json
import os
import re
import shutil
import subprocess

import pytest

from reworkkit.model.judging import judge
from reworkkit.model.measuring import Check, Point, Reading
from reworkkit.model.messages import message
from reworkkit.model.reading_text import parse_reading
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis, CheckPurpose, Mode, ReadingForm
from reworkkit.record.merge import parse_page_state
from reworkkit.show.page import render_sheet
from tests.show.boards import make_sheet
from tests.show.test_page import HOSTILE, hostile_page, many

pytestmark = pytest.mark.browser

BROWSERS = ("chromium", "chromium-browser", "google-chrome")
ON_CI = os.environ.get("CI", "").lower() in {"1", "true"}
CSS_PIXELS_PER_MM = 96 / 25.4
CAP_HEIGHT = 0.7
"""Height of capitals as a share of the type size, common sans-serif faces: 0.70 to 0.73 (common practice)."""


def missing(what):
    """Skip on a bench without the tool; on CI its absence is a failure."""
    if ON_CI:
        pytest.fail(f"{what} is required where CI=true")
    pytest.skip(f"{what} is not on this machine")


def wait_until(page, condition):
    """Wait for a condition, asked from outside: the page's own policy forbids it to evaluate text again and again."""
    for _ in range(300):
        if page.evaluate(condition):
            return
        page.wait_for_timeout(100)
    pytest.fail(f"never true: {condition}")


@pytest.fixture(scope="module")
def browser():
    path = next((found for name in BROWSERS if (found := shutil.which(name))), None)
    if not path:
        missing("a Chromium browser")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        arguments = ["--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage"]
        running = playwright.chromium.launch(executable_path=path, args=arguments)
        yield running
        running.close()


@pytest.fixture(scope="module")
def address(tmp_path_factory):
    file = tmp_path_factory.mktemp("bench") / "bench-sheet.html"
    file.write_text(render_sheet(make_sheet()), encoding="utf-8")
    return file.as_uri()


@pytest.fixture
def opened(browser, address):
    """Open a page offline; at the end nothing but the file may have been asked for, and no error said."""
    contexts, said, asked = [], [], []

    def open_page(where=address, *, init="", allowed=(), **options):
        context = browser.new_context(offline=True, accept_downloads=True, **options)
        contexts.append(context)
        if init:
            context.add_init_script(init)
        page = context.new_page()
        page.on("pageerror", lambda error: said.append(str(error)))
        page.on("console", lambda line: said.append(line.text) if line.type == "error" else None)
        page.on("request", lambda request: asked.append(request.url))
        page.on("dialog", lambda dialog: said.append(dialog.message))
        page.goto(where)
        return page

    yield open_page
    for context in contexts:
        context.close()
    assert said == []
    assert all(url.startswith(("file:", "blob:")) for url in asked)


def state_of(page):
    with page.expect_download() as waiting:
        page.click("#save")
    with open(waiting.value.path(), encoding="utf-8") as file:
        return json.load(file)


def tick(page, key):
    page.check(f"#{key} input[type=checkbox]")


def ticked(page, key):
    """Wait for the tick: a page opened at once may be told by the browser a moment later what the last one kept."""
    page.wait_for_selector(f"#{key} input:checked")
    return True


DEVICE = "localStorage.getItem('reworkkit page / device')"


def arrive(page, where, device):
    """Open a page where this device is kept; a busy browser just begun hands on what it keeps a second late."""
    page.wait_for_timeout(2000)
    page.goto(where)
    assert page.evaluate(DEVICE) == device, "the browser hands on nothing of what it kept"


def leave_for(page, where):
    arrive(page, where, page.evaluate(DEVICE))


def test_ticks_survive_a_reload_and_leave_as_a_file(opened):
    page = opened()
    tick(page, "step-solder-R1")
    page.reload()
    assert ticked(page, "step-solder-R1")
    assert not page.is_checked("#step-inspect-R1 input")
    state = state_of(page)
    assert {name: state[name] for name in ("format", "job", "copy", "plan", "at_event")} == {
        "format": "reworkkit.page_state/1",
        "job": "2f6f9a",
        "copy": 1,
        "plan": "4f1c22d90a",
        "at_event": 12,
    }
    (event,) = state["events"]
    assert (event["kind"], event["subject"], event["copy"], event["undoes"]) == ("done", "R1", 1, None)
    assert event["detail"]["operation"] == "solder"
    assert re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", event["at"])
    assert event["device"] == state["device"]


def test_a_reload_on_an_emptied_storage_still_has_the_ticks(opened):
    page = opened()
    tick(page, "step-solder-R1")
    page.evaluate("localStorage.clear()")
    page.reload()
    assert ticked(page, "step-solder-R1")
    (kept,) = page.evaluate("Object.values(localStorage).filter((kept) => kept.startsWith('['))")
    (event,) = json.loads(kept)
    assert event["subject"] == "R1", "and keeps them again"
    assert event["device"] == page.evaluate(DEVICE)


def test_a_tick_taken_back_is_an_undo_of_that_event(opened):
    page = opened()
    tick(page, "step-solder-R1")
    page.uncheck("#step-solder-R1 input")
    page.reload()
    assert not page.is_checked("#step-solder-R1 input")
    done, undo = state_of(page)["events"]
    assert (undo["kind"], undo["undoes"]) == ("undo", done["id"])
    assert done["id"] != undo["id"]


def test_the_tool_reads_what_the_page_writes(opened):
    page = opened()
    page.fill("#who", "Ada")
    page.locator("#who").blur()
    tick(page, "step-solder-C1")
    page.fill("#meter-logic_20_rail-on-c2", "3.31V")
    page.locator("#meter-logic_20_rail-on-c2").blur()
    page.click("#survey")
    page.keyboard.press("d")
    page.keyboard.press("Escape")
    taken = parse_page_state(json.dumps(state_of(page)))
    assert [event.kind.value for event in taken.events] == ["done", "reading", "found"]
    assert {event.who for event in taken.events} == {"Ada"}
    reading, found = taken.events[1:]
    assert reading.detail == {
        "mode": "volts",
        "form": "value",
        "value": 3.31,
        "unit": "V",
        "leads_swapped": False,
        "hold_point": "logic rail",
        "text": "3.31V",
    }
    assert found.detail["facets"] == {"place": "fitted", "part": "damaged"}


def test_two_boards_and_two_copies_do_not_share_ticks(opened, browser, tmp_path):
    page = opened()
    tick(page, "step-solder-R1")
    other = tmp_path / "other.html"
    other.write_text(render_sheet(make_sheet(job="77aa10")), encoding="utf-8")
    page.goto(other.as_uri())
    assert not page.is_checked("#step-solder-R1 input")


def test_ticks_made_before_the_job_can_be_taken_over(opened, tmp_path):
    before = tmp_path / "before.html"
    before.write_text(render_sheet(make_sheet(job=None)), encoding="utf-8")
    page = opened(before.as_uri())
    tick(page, "step-solder-R1")
    after = tmp_path / "after.html"
    after.write_text(render_sheet(make_sheet()), encoding="utf-8")
    leave_for(page, after.as_uri())
    assert not page.is_checked("#step-solder-R1 input")
    page.click("#take-over")
    assert ticked(page, "step-solder-R1")
    assert page.is_hidden("#take-over")
    assert [event["subject"] for event in state_of(page)["events"]] == ["R1"]


def test_a_new_plan_keeps_the_ticks(opened, tmp_path):
    page = opened()
    tick(page, "step-solder-R1")
    newer = tmp_path / "newer.html"
    newer.write_text(render_sheet(dataclasses.replace(make_sheet(), plan_id="0000")), encoding="utf-8")
    leave_for(page, newer.as_uri())
    assert ticked(page, "step-solder-R1")


def test_two_windows_on_one_job_keep_both_their_ticks(opened):
    page = opened()
    second = page.context.new_page()
    arrive(second, page.url, page.evaluate(DEVICE))
    tick(page, "step-solder-R1")
    assert ticked(second, "step-solder-R1"), "the other window hears of it without a reload"
    tick(second, "step-inspect-R1")
    assert ticked(page, "step-inspect-R1")
    assert [event["detail"]["operation"] for event in state_of(page)["events"]] == ["solder", "inspect"]


def test_a_window_that_heard_nothing_writes_over_nothing(opened):
    page = opened()
    second = page.context.new_page()
    second.add_init_script("addEventListener('storage', (event) => event.stopImmediatePropagation(), true)")
    arrive(second, page.url, page.evaluate(DEVICE))
    tick(page, "step-solder-R1")
    wait_until(second, "Object.values(localStorage).some((kept) => kept.includes('R1'))")
    assert [event["subject"] for event in state_of(second)["events"]] == ["R1"], "a saved file has what any window kept"
    tick(second, "step-inspect-R1")
    page.reload()
    assert ticked(page, "step-solder-R1")
    assert ticked(page, "step-inspect-R1")


REFUSED = "Object.defineProperty(window, 'localStorage', {get() { throw new Error('refused'); }})"


def test_refused_storage_is_said_and_ticks_still_leave(opened):
    page = opened(init=REFUSED)
    assert "refuses to keep ticks" in page.inner_text("#told")
    tick(page, "step-solder-R1")
    assert [event["subject"] for event in state_of(page)["events"]] == ["R1"]


def test_refused_copying_shows_the_text_to_copy_by_hand(opened):
    page = opened(init="Object.defineProperty(navigator, 'clipboard', {value: undefined})")
    tick(page, "step-solder-R1")
    page.click("#copy")
    assert json.loads(page.input_value("#by-hand"))["events"][0]["subject"] == "R1"


def test_one_step_at_a_time_by_keyboard(opened):
    page = opened(viewport={"width": 1280, "height": 800})
    page.click("#one")
    assert page.locator(".step:visible").count() == 1
    first = page.locator(".step.now").get_attribute("id")
    page.keyboard.press(" ")
    assert page.is_checked(f"#{first} input")
    second = page.locator(".step.now").get_attribute("id")
    assert second != first
    page.keyboard.press("ArrowLeft")
    assert page.locator(".step.now").get_attribute("id") == first
    page.keyboard.press(" ")
    assert not page.is_checked(f"#{first} input")
    page.keyboard.press("PageDown")
    assert page.locator(".op.now").get_attribute("id") == "operation-2"
    page.keyboard.press("Escape")
    assert page.locator(".step:visible").count() == page.locator(".step").count()


def test_a_note_is_kept_as_an_event_and_space_in_it_types_a_blank(opened):
    page = opened()
    page.click("#one")
    page.click("#note-open")
    page.keyboard.type("pad a bit loose")
    page.keyboard.press("Enter")
    page.click("#close")
    (event,) = state_of(page)["events"]
    assert (event["kind"], event["detail"]) == ("note", {"text": "pad a bit loose"})


def test_the_operation_in_hand_stands_on_top_and_a_hold_point_is_not_passed_over(opened):
    page = opened()
    assert page.inner_text("#in-hand a") == "1. Photograph: front"
    holds = page.evaluate("Array.from(document.querySelectorAll('#work .hold')).length")
    assert holds == 2
    for box in page.locator("#operation-6 .step input[type=checkbox], #operation-5 .step input[type=checkbox]").all():
        box.check()
    for box in page.locator(".op:not(#operation-7) > .op-body > .steps > .step > .tick input:enabled").all():
        box.check()
    assert page.inner_text("#in-hand a") == "Hold point: logic rail"
    page.click("#one")
    assert page.inner_text(".hold.now h3") == "Hold point: logic rail"


def test_a_part_is_found_by_its_designator(opened):
    page = opened(viewport={"width": 360, "height": 740})
    page.fill("#find-part", "c2")
    page.keyboard.press("Enter")
    assert page.get_attribute(".step.now", "data-ref") == "C2"
    page.click("#close")
    page.fill("#find-part", "J1")
    page.click("#find button")
    assert "no step in the work order" in page.inner_text("#told")
    assert page.get_attribute(".sought", "data-r") == "J1"
    page.fill("#find-part", "Z9")
    page.click("#find button")
    assert "not on this board" in page.inner_text("#told")


def test_enter_goes_from_one_reading_to_the_next(opened):
    page = opened()
    page.fill("#meter-logic_20_rail-off-c1", "1k2")
    page.keyboard.press("Enter")
    page.keyboard.type("3.31V")
    page.keyboard.press("Enter")
    readings = [event["detail"]["text"] for event in state_of(page)["events"] if event["kind"] == "reading"]
    assert readings == ["1k2", "3.31V"]


def test_saving_is_in_reach_from_the_middle_of_the_page(opened):
    page = opened(viewport={"width": 360, "height": 740})
    page.click("#one")
    for _ in range(8):
        page.click("#next")
    page.click("#close")
    inside = "(b => b.top >= 0 && b.bottom <= innerHeight)(document.querySelector('#save').getBoundingClientRect())"
    assert page.evaluate("scrollY") > 1000
    assert page.evaluate(inside)


def test_where_the_browser_can_hand_on_a_file_the_ticks_can_be_sent(opened):
    share = (
        "navigator.canShare = () => true; window.sent = [];"
        "navigator.share = async (given) => { window.sent.push(await given.files[0].text()); };"
    )
    page = opened(init=share)
    tick(page, "step-solder-R1")
    page.click("#send")
    wait_until(page, "window.sent.length === 1")
    taken = parse_page_state(page.evaluate("window.sent[0]"))
    assert [event.subject for event in taken.events] == ["R1"]
    plain = opened(init="Object.defineProperty(navigator, 'canShare', {value: undefined})")
    assert plain.is_hidden("#send")


def test_hold_points_stand_in_the_row_of_steps_and_are_never_ticked(opened):
    page = opened()
    page.click("#one")
    for _ in range(40):
        if page.locator(".hold.now").count():
            break
        page.keyboard.press("ArrowRight")
    assert page.inner_text(".hold.now h3") == "Hold point: logic rail"
    page.keyboard.press(" ")
    page.keyboard.press("Escape")
    assert state_of(page)["events"] == []


@pytest.mark.parametrize("width", [360, 1280])
def test_the_designator_is_at_least_7_mm_high(opened, width):
    """Capitals at CSS pixels; a phone with 160 CSS pixels an inch shows them at 96/160 of that."""
    page = opened(viewport={"width": width, "height": 740})
    page.click("#one")
    size = page.eval_on_selector(".step.now .ref", "node => parseFloat(getComputedStyle(node).fontSize)")
    shrink = 96 / 160 if width < 500 else 1
    assert size * CAP_HEIGHT / CSS_PIXELS_PER_MM * shrink >= 7


def test_survey_one_key_each(opened):
    page = opened(viewport={"width": 360, "height": 740})
    page.click("#survey")
    for key in "tecdwr":
        page.keyboard.press(key)
    page.keyboard.press("ArrowLeft")
    page.keyboard.press("ArrowRight")
    page.click("#seek-close")
    found = [event["detail"]["state"] for event in state_of(page)["events"]]
    assert found == ["fitted", "empty", "not inspected", "damaged", "wrong part", "reversed"]
    page.reload()
    wait_until(page, "document.querySelectorAll('.survey td.said').length === 6")
    page.click("#survey")
    assert "Place 7 of 12" in page.inner_text("#seek-region")


def test_a_second_look_runs_the_other_way_and_lists_what_differs(opened):
    page = opened()
    page.click("#survey")
    for _ in range(12):
        page.keyboard.press("t")
    first_look = page.inner_text("#seek-ref")
    page.click("#seek-second")
    assert page.inner_text("#seek-ref") == first_look
    assert page.get_attribute(".answers button[data-state=fitted]", "aria-pressed") == "false"
    page.keyboard.press("t")
    page.keyboard.press("e")
    assert re.fullmatch(r"\w+: first there, then empty; look again\.", page.inner_text("#seek-differ"))
    page.keyboard.press("ArrowLeft")
    page.keyboard.press("t")
    assert page.inner_text("#seek-differ") == ""
    page.keyboard.press("Escape")
    kinds = [event["kind"] for event in state_of(page)["events"]]
    assert kinds == ["found"] * 14 + ["undo", "found"]


READINGS = (
    *(
        "3.31V",
        "3,31 V",
        "-12V",
        "4k7",
        "4R7",
        "470 ohm",
        "2M",
        "120 mA",
        "0.55V",
        "25 C",
        "-0.02 mV",
        "1.5 kohm",
        "100uA",
    ),
    *("OL", "O.L", "over-range", "open", "jumps", "rising to 2M", "rising", "rises to 4k7"),
    *("about 3", "3.3.3 V", "12 parsec", ""),
)


@pytest.mark.parametrize("text", READINGS)
def test_page_and_tool_read_the_same_from_a_meter(opened_once, text):
    """Independent: two parsers written apart must agree."""
    expected = parse_reading(text)
    got = opened_once.evaluate("text => window.reworkkitPage.parseReading(text)", text)
    if expected is None:
        assert not got
        return
    assert got["form"] == expected.form.value
    assert got["unit"] == expected.unit
    assert got["value"] == (None if expected.value is None else pytest.approx(expected.value))


BANDS = [
    Band(3.2, 3.3, 3.4, "V", BandBasis.STATED),
    Band(None, None, 0.1, "V", BandBasis.STATED),
    Band(800.0, None, None, "ohm", BandBasis.STATED),
    ReadingForm.OVER_RANGE,
    ReadingForm.RISING,
    None,
]


@pytest.mark.parametrize("expect", BANDS, ids=lambda band: str(band)[:30])
@pytest.mark.parametrize("text", ["3.31V", "3.2V", "3.4V", "3.5V", "0V", "1k", "OL", "jumps", "rising to 2M", "rising"])
def test_page_and_tool_judge_alike(opened_once, expect, text):
    taken = parse_reading(text)
    point = Point("X", "X")
    check = Check(
        "x", CheckPurpose.HOLD_POINT, point, Mode.VOLTS, None, expect, None, (), None, message("page-work"), 1.0
    )
    reading = Reading("X", Mode.VOLTS, taken.form, taken.value, taken.unit, False, None, text)
    rule = expect.value if isinstance(expect, ReadingForm) else expect
    if isinstance(expect, Band):
        rule = {"low": expect.low, "high": expect.high, "unit": expect.unit}
    got = opened_once.evaluate(
        "([rule, text]) => window.reworkkitPage.judge(rule, window.reworkkitPage.parseReading(text))", [rule, text]
    )
    assert got == judge(check, reading).verdict.value


@pytest.fixture(scope="module")
def opened_once(browser, address):
    context = browser.new_context(offline=True)
    page = context.new_page()
    page.goto(address)
    yield page
    context.close()


def test_an_outside_reading_is_said_and_never_called_a_failure(opened):
    page = opened()
    field = page.locator("#meter-logic_20_rail-on-c2")
    field.fill("5.0V")
    field.blur()
    words = page.inner_text(".probe:has(#meter-logic_20_rail-on-c2)")
    assert "outside" in words
    field.fill("about three")
    field.blur()
    assert "Not read as a reading" in page.inner_text(".probe:has(#meter-logic_20_rail-on-c2)")


@pytest.mark.parametrize("mode", ["sheet", "one", "survey"])
def test_usable_at_360_pixels(opened, mode):
    page = opened(viewport={"width": 360, "height": 740}, has_touch=True)
    if mode != "sheet":
        page.click(f"#{mode}")
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    small = page.evaluate(
        "Array.from(document.querySelectorAll('button'))"
        ".filter(b => b.offsetParent && b.getBoundingClientRect().height < 44).map(b => b.id)"
    )
    assert small == []


@pytest.mark.parametrize("width", [360, 600, 768, 1000, 1280])
@pytest.mark.parametrize("mode", ["sheet", "one"])
def test_what_to_expect_and_its_field_are_in_sight_side_by_side(opened, width, mode):
    page = opened(viewport={"width": width, "height": 800})
    page.add_style_tag(content=".op { content-visibility: visible !important; }")
    if mode == "one":
        page.click("#one")
        while not page.locator(".now .probe:visible").count():
            page.keyboard.press("ArrowRight")
    found = page.evaluate(
        "Array.from(document.querySelectorAll('.probe')).filter(p => p.offsetParent).map(p => {"
        "const [e, i] = ['.exp', '.reads input'].map(q => p.querySelector(q).getBoundingClientRect());"
        "return [e.width, i.width, i.right]; })"
    )
    assert found
    assert all(expect > 100 and field > 90 and right <= width for expect, field, right in found), found


def test_complete_without_script(opened):
    page = opened(java_script_enabled=False, viewport={"width": 800, "height": 900})
    assert page.is_hidden("#tools")
    assert page.is_visible("#no-script")
    assert page.locator(".step:visible").count() == sum(len(card.steps) for card in make_sheet().operations)
    page.check("#step-solder-R1 input")
    assert page.is_checked("#step-solder-R1 input")


def test_light_and_dark_follow_the_system(opened):
    shade = "getComputedStyle(document.body).backgroundColor"
    light, dark = (opened(color_scheme=scheme).evaluate(shade) for scheme in ("light", "dark"))
    brightness = [sum(map(int, re.findall(r"\d+", colour)[:3])) for colour in (light, dark)]
    assert brightness[0] > 600
    assert brightness[1] < 150


def test_paper_is_black_on_white_with_boxes_and_without_tools(opened):
    page = opened(color_scheme="dark")
    page.click("#one")
    page.emulate_media(media="print")
    assert page.is_hidden("#tools")
    assert page.is_hidden("#dock")
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
    assert page.evaluate("getComputedStyle(document.body).color") == "rgb(0, 0, 0)"
    assert page.locator(".step:visible").count() == page.locator(".step").count()
    border = page.eval_on_selector(".step input", "node => parseFloat(getComputedStyle(node).borderTopWidth)")
    assert border >= 1
    assert page.pdf(prefer_css_page_size=True).startswith(b"%PDF")


def test_two_hundred_places_soldered_and_inspected_are_few_sheets_of_paper(opened, tmp_path):
    """A bound of our own: what a person would still print, twenty steps and their share of the list on a sheet."""
    file = tmp_path / "many.html"
    file.write_text(render_sheet(many(200)), encoding="utf-8")
    page = opened(file.as_uri())
    sheets = len(re.findall(rb"/Type\s*/Page\b", page.pdf(prefer_css_page_size=True)))
    assert 2 < sheets <= 20


def test_hostile_cells_do_nothing(opened, tmp_path):
    file = tmp_path / "hostile.html"
    file.write_text(hostile_page(), encoding="utf-8")
    page = opened(file.as_uri())
    assert page.evaluate("typeof window.taken") == "undefined"
    assert page.inner_text("h1") == HOSTILE[0]
    page.click("#one")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Escape")
    page.click("#survey")
    page.keyboard.press("t")
    page.keyboard.press("Escape")
    assert state_of(page)["job"] == HOSTILE[6]


def test_two_thousand_parts_stay_usable(opened, tmp_path):
    file = tmp_path / "many.html"
    file.write_text(render_sheet(many(2000)), encoding="utf-8")
    page = opened(file.as_uri())
    page.click("#one")
    page.keyboard.press(" ")
    page.keyboard.press("Escape")
    assert len(state_of(page)["events"]) == 1


@pytest.fixture(scope="session")
def node_tools(tmp_path_factory):
    """Install the accessibility and markup checkers into a folder of their own, through npm."""
    if not (shutil.which("npm") and shutil.which("node")):
        missing("node with npm")
    folder = tmp_path_factory.mktemp("node")
    command = ["npm", "install", "--no-save", "--no-audit", "--no-fund", "--silent", "--prefix", str(folder)]
    done = subprocess.run([*command, "axe-core@4", "html-validate@10"], capture_output=True, check=False, timeout=150)
    if done.returncode:
        missing("a registry with axe-core and html-validate")
    return folder


PHONE = {"width": 360, "height": 740}


@pytest.mark.parametrize(
    ("mode", "options"),
    [
        ("sheet", {}),
        ("sheet", {"color_scheme": "dark", "viewport": PHONE}),
        ("one", {"color_scheme": "dark"}),
        ("one", {"viewport": PHONE}),
        ("survey", {"color_scheme": "dark", "viewport": PHONE}),
    ],
)
def test_axe_finds_nothing(opened, node_tools, mode, options):
    page = opened(**options)
    if mode != "sheet":
        page.click(f"#{mode}")
    page.evaluate((node_tools / "node_modules" / "axe-core" / "axe.min.js").read_text(encoding="utf-8"))
    found = page.evaluate("async () => (await axe.run()).violations.map(v => v.id + ' ' + v.nodes[0].html)")
    assert found == []


def test_markup_is_valid(node_tools, tmp_path):
    rules = {
        "root": True,
        "extends": ["html-validate:recommended"],
        "rules": {"long-title": "off", "no-inline-style": "error"},
    }
    (tmp_path / "rules.json").write_text(json.dumps(rules), encoding="utf-8")
    for name, page in {"page": render_sheet(make_sheet()), "hostile": hostile_page()}.items():
        (tmp_path / f"{name}.html").write_text(page, encoding="utf-8")
        tool = node_tools / "node_modules" / "html-validate" / "bin" / "html-validate.mjs"
        command = ["node", str(tool), "--config", str(tmp_path / "rules.json"), str(tmp_path / f"{name}.html")]
        done = subprocess.run(command, capture_output=True, text=True, check=False, timeout=60)
        assert done.returncode == 0, done.stdout + done.stderr
