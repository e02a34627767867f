"""The survey of the page in a real browser: what it saves is what `survey --from` takes in."""

import json
import subprocess

import pytest

from reworkkit.cli import main
from reworkkit.pipeline.opening import Request, open_work
from tests.show.test_page_browser import browser as browser
from tests.show.test_page_browser import node_tools as node_tools

pytestmark = pytest.mark.browser


def test_from_the_page_to_the_fitted_list(browser, example_board, tmp_path, capsys):
    """Answer five places on the page by key, save, take the file in: the same words stand for the same places."""
    folder = example_board("moisture-probe")
    (folder / "fitted.txt").unlink()
    assert main(["report", str(folder)]) == 0
    page = browser.new_context(offline=True, accept_downloads=True).new_page()
    page.goto((folder / "bench-sheet.html").as_uri())
    page.click("#survey")
    asked = []
    for key in "tecdr":
        asked.append(page.inner_text("#seek-ref").strip())
        page.keyboard.press(key)
    page.keyboard.press("Escape")
    with page.expect_download() as download:
        page.click("#save")
    file = tmp_path / download.value.suggested_filename
    download.value.save_as(file)
    capsys.readouterr()
    assert main(["survey", str(folder), "--from", str(file)]) == 0
    assert "5 answers taken" in capsys.readouterr().out
    states = open_work(Request(folder)).situation.states
    told = [(states[ref].place.value, states[ref].part.value, states[ref].way_round.value) for ref in asked]
    assert told[0][:2] == ("fitted", "good")
    assert told[1][0] == "empty"
    assert told[2][0] == "not_inspected"
    assert told[3][:2] == ("fitted", "damaged")
    assert told[4][2] == "reversed"
    main(["survey", str(folder), "--json"])
    assert json.loads(capsys.readouterr().out)["counts"]["waiting"] == 7


def test_the_printed_sheet_has_no_fault_of_width_or_script(browser, example_board):
    """At 360 px nothing but the table is wider than the screen, and the sheet asks for nothing."""
    folder = example_board("greenhouse-valves")
    assert main(["survey", str(folder), "--sheet"]) == 0
    said, asked = [], []
    page = browser.new_context(offline=True, viewport={"width": 360, "height": 800}).new_page()
    page.on("console", lambda line: said.append(line.text))
    page.on("request", lambda request: asked.append(request.url))
    page.goto((folder / "survey-sheet.html").as_uri())
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    assert (said, len(asked)) == ([], 1)


def test_the_printed_sheet_is_accessible_and_valid(browser, node_tools, example_board, tmp_path):
    """axe-core finds nothing, html-validate finds nothing."""
    folder = example_board("greenhouse-valves")
    assert main(["survey", str(folder), "--sheet"]) == 0
    sheet = folder / "survey-sheet.html"
    page = browser.new_context(offline=True).new_page()
    page.goto(sheet.as_uri())
    page.evaluate((node_tools / "node_modules" / "axe-core" / "axe.min.js").read_text(encoding="utf-8"))
    found = page.evaluate("async () => (await axe.run()).violations.map(v => v.id + ' ' + v.nodes[0].html)")
    assert found == []
    rules = {"root": True, "extends": ["html-validate:recommended"], "rules": {"long-title": "off"}}
    (tmp_path / "rules.json").write_text(json.dumps(rules), encoding="utf-8")
    tool = node_tools / "node_modules" / "html-validate" / "bin" / "html-validate.mjs"
    command = ["node", str(tool), "--config", str(tmp_path / "rules.json"), str(sheet)]
    done = subprocess.run(command, capture_output=True, text=True, check=False, timeout=60)
    assert done.returncode == 0, done.stdout + done.stderr
