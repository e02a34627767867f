"""`liverun`, `input-check` and `checks` as a person uses them; every warning where its step is, on every medium."""

import html
import json
import re
from pathlib import Path
from typing import Any

import pytest

from reworkkit.cli import main
from tests.live_warnings import WARNINGS

ALONE = ("--volts", "48V", "--capacitance", "10mF", "--source-amps", "200A")


def said(capsys: pytest.CaptureFixture[str], *arguments: str, code: int = 0) -> str:
    got = main(list(arguments))
    out, err = capsys.readouterr()
    assert got == code, err
    return out if code == 0 or code == 1 else err


def words(text: str) -> str:
    """Return a text on one line, so that wrapping does not matter."""
    return " ".join(text.split())


def page_words(page: str) -> str:
    """Return what a person reads of a page, in order."""
    body = re.sub(r"<(style|script)[^>]*>.*?</\1>", " ", page[page.index("<body") :], flags=re.DOTALL)
    return words(html.unescape(re.sub(r"<[^>]+>", " ", body)))


@pytest.fixture
def clamp(example_board: Any) -> Path:
    return example_board("magnet-clamp")


@pytest.fixture
def bare(clamp: Path) -> Path:
    """The board with an empty [live]: every figure is a blank, every warning must stand all the same."""
    path = clamp / "board.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text[: text.index("[live]")] + '[live]\nnet = "BUS"\n', encoding="utf-8")
    return clamp


def run_document(capsys: pytest.CaptureFixture[str], board: Path) -> dict[str, Any]:
    return json.loads(said(capsys, "liverun", str(board), "--json"))


def sentences(document: dict[str, Any]) -> dict[str, tuple[str, str]]:
    """Return slug -> (step title, sentence) of every warning and caution."""
    return {a["slug"]: (step["title"], a["sentence"]) for step in document["steps"] for a in step["alerts"]}


@pytest.mark.parametrize("board", ["clamp", "bare"])
def test_every_warning_stands_at_its_step_on_terminal_page_and_sheet(
    board: str, request: pytest.FixtureRequest, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = request.getfixturevalue(board)
    document = run_document(capsys, folder)
    alerts = sentences(document)
    expected = set(WARNINGS) if board == "bare" else set(WARNINGS) - {"live-trigger-energy"}
    assert expected <= set(alerts)
    said(capsys, "liverun", str(folder), "-o", str(tmp_path / "sheet.html"))
    said(capsys, "report", str(folder), "-o", str(tmp_path / "page.html"))
    terminal = words(said(capsys, "liverun", str(folder)))
    sheet = page_words((tmp_path / "sheet.html").read_text(encoding="utf-8"))
    page = page_words((tmp_path / "page.html").read_text(encoding="utf-8"))
    page = page[page.index("First run at high energy 1 ") :]
    titles = [step["title"] for step in document["steps"]]
    for medium in (terminal, sheet, page):
        starts = [medium.index(f"{n} {title}") for n, title in enumerate(titles, start=1)]
        assert starts == sorted(starts)
        for slug in expected:
            title, text = alerts[slug]
            n = titles.index(title)
            step = medium[starts[n] : starts[n + 1] if n + 1 < len(starts) else None]
            assert words(text) in step, slug


def test_nothing_can_be_read_before_the_first_warning(
    clamp: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """In every step, warnings come before figures; the sheet's first words are the first warnings and the blanks."""
    document = run_document(capsys, clamp)
    said(capsys, "liverun", str(clamp), "-o", str(tmp_path / "sheet.html"))
    terminal = words(said(capsys, "liverun", str(clamp)))
    sheet = page_words((tmp_path / "sheet.html").read_text(encoding="utf-8"))
    assert sheet.startswith("1 Who is here WARNING")
    cuts = sheet.index("Cuts the supply, from where")
    for step in document["steps"]:
        for medium in (terminal, sheet):
            at = medium.index(f"{document['steps'].index(step) + 1} {step['title']}")
            alerts = [medium.index(words(a["sentence"]), at) for a in step["alerts"]]
            figures = [medium.index(words(f["sentence"]), at) for f in step["figures"]]
            assert not figures or max(alerts) < min(figures), step["key"]
            assert medium is terminal or not figures or cuts < min(figures)


def test_the_page_meets_the_warnings_before_the_work_and_on_the_card_of_the_hold_point(
    clamp: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    first = [a["sentence"] for a in run_document(capsys, clamp)["steps"][0]["alerts"]]
    said(capsys, "report", str(clamp), "-o", str(tmp_path / "page.html"))
    text = (tmp_path / "page.html").read_text(encoding="utf-8")
    top = html.unescape(text[text.index('id="first"') : text.index('id="work"')])
    assert all(one in top for one in first)
    card = text[text.index('data-ref="bus at 120 V"') :]
    card = html.unescape(card[: card.index("</section>")])
    before_figures = card[: card.index("<dl")]
    assert all(one in before_figures for one in first)
    assert 'id="functional"' in text


def test_an_empty_field_of_people_is_a_stop_everywhere(
    clamp: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = clamp / "board.toml"
    lines = path.read_text(encoding="utf-8").splitlines()
    path.write_text(
        "\n".join(line for line in lines if not line.startswith("who_cuts_supply")) + "\n", encoding="utf-8"
    )
    stop = "Nobody is named who cuts the supply."
    document = run_document(capsys, clamp)
    assert (document["state"], document["stop"]) == ("stop", [stop])
    assert stop in words(said(capsys, "liverun", str(clamp)))[:500]
    said(capsys, "liverun", str(clamp), "-o", str(tmp_path / "sheet.html"))
    assert stop in page_words((tmp_path / "sheet.html").read_text(encoding="utf-8"))[:700]
    said(capsys, "liverun", str(clamp), "--check", code=1)


def test_the_hold_point_stays_closed_until_the_warnings_are_confirmed(
    clamp: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    said(capsys, "begin", str(clamp))
    board = ("--board", str(clamp))
    holds = json.loads(said(capsys, "status", *board, "--json"))
    assert "unconfirmed" in json.dumps(holds) or "not confirmed" in json.dumps(holds).lower()
    assert run_document(capsys, clamp)["state"] == "unconfirmed"
    said(capsys, "liverun", str(clamp), "--check", code=1)
    said(capsys, "confirm", "bus at 120 V", *board, "--reason", " ", code=2)
    assert run_document(capsys, clamp)["state"] == "unconfirmed"
    said(capsys, "confirm", "bus at 120 V", *board, "--reason", "read aloud with Ada")
    document = run_document(capsys, clamp)
    assert (document["basis"], document["state"]) == ("job", "confirmed")
    said(capsys, "liverun", str(clamp), "--check")
    (event,) = [e for e in json.loads(said(capsys, "export", *board))["events"] if e["kind"] == "confirm"]
    shown = set(event["detail"]["cautions"])
    assert set(WARNINGS) - {"live-trigger-energy"} <= shown
    other = json.loads(said(capsys, "liverun", str(clamp), "--volts", "200V", "--json"))
    assert other["state"] != "confirmed", "what was confirmed is another voltage"
    said(capsys, "tick", "R10", "--step", "desolder", *board)
    assert run_document(capsys, clamp)["state"] == "unconfirmed", "a needed part has changed since"


def test_a_confirmation_is_of_the_figures_it_was_given_for(clamp: Path, capsys: pytest.CaptureFixture[str]) -> None:
    said(capsys, "begin", str(clamp))
    board = ("--board", str(clamp))
    said(capsys, "confirm", "bus at 120 V", *board, "--reason", "read aloud with Ada")
    assert run_document(capsys, clamp)["state"] == "confirmed"
    path = clamp / "board.toml"
    path.write_text(
        path.read_text(encoding="utf-8").replace('volts = "120 V"\ncapa', 'volts = "150 V"\ncapa'), encoding="utf-8"
    )
    assert run_document(capsys, clamp)["state"] == "unconfirmed"
    said(capsys, "refresh", str(clamp), "--accept")
    assert run_document(capsys, clamp)["state"] == "unconfirmed"
    said(capsys, "confirm", "bus at 120 V", *board, "--reason", "again, at 150 V")
    assert run_document(capsys, clamp)["state"] == "confirmed"


def test_options_alone_need_no_board(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    document = json.loads(said(capsys, "liverun", *ALONE, "--json"))
    assert document["format"] == "reworkkit.liverun/1"
    figures = {f["key"]: f for step in document["steps"] for f in step["figures"]}
    assert figures["stored_energy_j"]["value"] == pytest.approx(11.52)
    assert figures["stored_energy_j"]["from"] == {"capacitance": "--capacitance", "volts": "--volts"}
    assert document["high_energy"] is True
    assert "spanner" in said(capsys, "liverun", *ALONE)
    told = said(capsys, "liverun", *ALONE, "--fact", "who-cuts-supply=Ada", "--fact", "who-is-in-house=Ada", "--json")
    assert json.loads(told)["state"] == "unconfirmed"
    said(capsys, "liverun", *ALONE, "--sheet")
    assert (tmp_path / "live-run.html").stat().st_size > 5000


def test_options_lie_over_the_file_and_figures_say_their_line(clamp: Path, capsys: pytest.CaptureFixture[str]) -> None:
    lines = (clamp / "board.toml").read_text(encoding="utf-8").splitlines()
    document = json.loads(said(capsys, "liverun", str(clamp), "--volts", "60V", "--json"))
    figure = next(f for step in document["steps"] for f in step["figures"] if f["key"] == "stored_energy_j")
    assert figure["value"] == pytest.approx(3.6)
    file, line = figure["from"]["capacitance"].split(":")
    assert (file, lines[int(line) - 1].split(" =")[0]) == ("board.toml", "capacitance")
    assert figure["from"]["volts"] == "--volts"


@pytest.mark.parametrize(
    "wrong",
    [
        ("--volts", "120A"),
        ("--volts", "much"),
        ("--fact", "loop"),
        ("--fact", "lop=1ohm"),
        ("--fact", "isolated=perhaps"),
    ],
)
def test_a_wrong_option_is_refused_with_its_cure(wrong: tuple[str, str], capsys: pytest.CaptureFixture[str]) -> None:
    err = said(capsys, "liverun", *wrong, code=2)
    assert len(err.strip().splitlines()) == 3
    assert "Traceback" not in err


def test_nothing_known_is_refused(example_board: Any, capsys: pytest.CaptureFixture[str]) -> None:
    assert "[live]" in said(capsys, "liverun", str(example_board("moisture-probe")), code=2)


def test_an_unknown_kind_of_load_is_a_question(clamp: Path, capsys: pytest.CaptureFixture[str]) -> None:
    document = json.loads(said(capsys, "liverun", str(clamp), "--load", "kettle", "--json"))
    assert any("kettle" in question["because"] for question in document["not_judged"])


def test_hostile_words_stay_inert_on_the_sheet(clamp: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    hostile = "<script>alert(1)</script>{{ 7*7 }}"
    said(capsys, "liverun", str(clamp), "--fact", f"who-cuts-supply={hostile}", "-o", str(tmp_path / "s.html"))
    text = (tmp_path / "s.html").read_text(encoding="utf-8")
    assert "<script" not in text
    assert hostile in html.unescape(text)


def test_same_inputs_give_the_same_sheet(clamp: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for name in ("a.html", "b.html"):
        said(capsys, "liverun", str(clamp), "-o", str(tmp_path / name))
    assert (tmp_path / "a.html").read_bytes() == (tmp_path / "b.html").read_bytes()


# ------------------------------------------------------------------ checks and input-check


def test_checks_list_inputs_before_outputs_and_outputs_first_on_a_dummy(
    clamp: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    document = json.loads(said(capsys, "checks", "--board", str(clamp), "--json"))
    sheets = {sheet["purpose"]: sheet for sheet in document["sheets"]}
    order = [sheet["purpose"] for sheet in document["sheets"]]
    assert order.index("input") < order.index("output")
    outputs = [check["id"] for check in sheets["output"]["checks"]]
    assert outputs.index("output:magnet:dummy") < outputs.index("output:magnet:load") == len(outputs) - 1
    assert {check["point"] for check in sheets["input"]["checks"]} >= {"J4.1", "J4.2", "J4.3"}
    assert any(question["about"] == ["J4.4"] for question in document["not_judged"])


def test_a_switch_is_tried_before_power(example_board: Any, capsys: pytest.CaptureFixture[str]) -> None:
    """Every switch and button is checked by its status before power: common practice, no source."""
    folder = example_board("greenhouse-valves")
    document = json.loads(said(capsys, "checks", "--board", str(folder), "--purpose", "input", "--json"))
    first = document["sheets"][0]["checks"][0]
    assert (first["point"], first["mode"]) == ("SW1", "ohms")
    assert "volts first" in said(capsys, "checks", "--board", str(folder), "--purpose", "input")


def test_checks_of_one_place_and_of_an_unknown_purpose(clamp: Path, capsys: pytest.CaptureFixture[str]) -> None:
    document = json.loads(said(capsys, "checks", "J4", "--board", str(clamp), "--purpose", "inputs", "--json"))
    assert len(document["sheets"][0]["checks"]) == 3
    assert "input, output" in said(capsys, "checks", "--board", str(clamp), "--purpose", "luck", code=2)
    assert said(capsys, "checks", "R99", "--board", str(clamp), code=2)


def log(path: Path, dropped: bool = False) -> Path:
    rows = [(p, 0.5 + p / 25, 0.3 + p / 50) for p in [*range(0, 101, 2), *range(100, -1, -2)]]
    lines = [f"{p},{a:.3f},{0.0 if dropped and n == 20 else b:.3f}" for n, (p, a, b) in enumerate(rows)]
    path.write_text("\n".join(["position,A (V),B (V)", *lines]) + "\n", encoding="utf-8")
    return path


def test_input_check_says_inside_or_outside_and_draws(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    good, bad = log(tmp_path / "good.csv"), log(tmp_path / "bad.csv", dropped=True)
    document = json.loads(said(capsys, "input-check", str(good), "--supply", "5V", "--json", "--check"))
    assert (document["format"], document["verdict"]) == ("reworkkit.input-check/1", "inside")
    told = said(capsys, "input-check", str(bad), "--plot", str(tmp_path / "plot.svg"), "--check", code=1)
    assert "OUTSIDE" in told.splitlines()[1]
    assert "bad.csv:22" in told
    svg = (tmp_path / "plot.svg").read_text(encoding="utf-8")
    assert svg.startswith("<svg xmlns=")
    assert svg.count("<title") == svg.count("<desc") == 2


@pytest.mark.parametrize("forbidden", ["safe", "pass", "passed", "OK"])
def test_no_green_light_anywhere(
    forbidden: str, clamp: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    told = said(capsys, "liverun", str(clamp)) + said(capsys, "input-check", str(log(tmp_path / "log.csv")))
    assert not re.search(rf"\b{forbidden}\b", told)


def test_the_pedal_of_the_example_board_loses_contact_where_the_story_says(
    clamp: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    document = json.loads(said(capsys, "input-check", str(clamp / "pedal.csv"), "--supply", "5V", "--json"))
    outside = [(figure["key"], figure["channel"]) for figure in document["figures"] if figure["verdict"] == "outside"]
    assert outside == [("dropouts", "B")]
    lines = (clamp / "pedal.csv").read_text(encoding="utf-8").splitlines()
    (where,) = {place for finding in document["findings"] for place in finding["where"][:1]}
    assert lines[int(where.split(":")[1]) - 1].endswith("0,010")
