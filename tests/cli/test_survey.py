"""The survey, driven as a person drives it: keys on a terminal, lines through a pipe, sheets and the page's file."""

import csv
import io
import json
import os
import signal
import sys
import time
from pathlib import Path

import pytest

from reworkkit.cli import main
from reworkkit.model.designator import natural_key
from reworkkit.model.job_input import board_id_of
from reworkkit.model.survey import Looks, Seen
from reworkkit.pipeline.opening import Request, open_work
from reworkkit.record.job_store import JobStore

LIST = "Ref,Value,Package\nR1 R2,10k,0603\nC1,100n,0603\nD1,red,LED 3mm\nU1,555,DIP-8\n"
ORDER = ["C1", "D1", "R1", "R2", "U1"]


@pytest.fixture
def probe(tmp_path, monkeypatch):
    """Return a board folder with a list and nothing else; it is also the folder one is in."""
    folder = tmp_path / "probe"
    folder.mkdir()
    (folder / "bom.csv").write_text(LIST, encoding="utf-8")
    monkeypatch.chdir(folder)
    return folder


@pytest.fixture
def run(monkeypatch, capsys):
    """Return a function that runs a command with lines typed into a pipe, and returns (code, out, err)."""

    def go(*arguments, typed=""):
        monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(typed.encode())))
        code = main(list(arguments))
        out, err = capsys.readouterr()
        return code, out, err

    return go


def states(folder, copy=1):
    return open_work(Request(folder, copy)).situation.states


def rows(path):
    return {row[0]: row[1:] for row in csv.reader(path.read_text(encoding="utf-8").splitlines())}


def lines(*answers):
    return "".join(f"{answer}\n" for answer in answers)


def test_one_key_each_makes_the_fitted_list(probe, run):
    code, out, _ = run("survey", typed=lines("t", "r", "e", "c", "w a 556 sits there"))
    assert code == 0
    now = states(probe)
    assert [now[ref].place.value for ref in ORDER] == ["fitted", "fitted", "empty", "not_inspected", "fitted"]
    assert now["D1"].way_round.value == "reversed"
    assert (now["U1"].part.value, now["U1"].note) == ("wrong_part", "a 556 sits there")
    assert rows(probe / "fitted.csv")["others"][0] == "not looked at"
    assert "photograph both sides" in out
    assert out.index("photograph both sides") < out.index("C1 ")
    assert out.rstrip().endswith("Next: reworkkit survey, or reworkkit diff")


def test_words_do_as_well_as_keys(probe, run):
    run("survey", typed=lines("there", "Reversed", "EMPTY", "cannot see", "damaged, leg torn"))
    now = states(probe)
    assert [now[ref].place.value for ref in ORDER] == ["fitted", "fitted", "empty", "not_inspected", "fitted"]
    assert (now["U1"].part.value, now["U1"].note) == ("damaged", "leg torn")


def test_it_is_put_down_and_taken_up_again(probe, run):
    _, out, _ = run("survey", typed=lines("t", "t", "p", "e", "e"))
    assert "Paused" in out
    assert out.rstrip().endswith("Next: reworkkit survey")
    assert sorted(set(rows(probe / "fitted.csv")) & set(ORDER)) == ["C1", "D1"]
    _, told, _ = run("diff")
    assert told.rstrip().endswith("Next: reworkkit survey")
    run("survey", typed=lines("e", "e", "e"))
    assert [states(probe)[ref].place.value for ref in ORDER] == ["fitted", "fitted", "empty", "empty", "empty"]


def test_nothing_answered_nothing_written(probe, run):
    assert run("survey")[0] == 0
    assert sorted(path.name for path in probe.iterdir()) == ["bom.csv"]


def test_back_one_asks_again_and_the_new_answer_counts(probe, run):
    """Two back and an answer: then it goes on where it was."""
    run("survey", typed=lines("t", "t", "b", "b", "e", "d"))
    now = states(probe)
    assert [now[ref].place.value for ref in ("C1", "D1")] == ["empty", "fitted"]
    assert now["R1"].part.value == "damaged"
    assert now["R2"].place.value == "not_inspected"


def test_an_unknown_key_answers_nothing(probe, run):
    _, out, _ = run("survey", typed=lines("x", "7", "?", "t"))
    assert out.count("No such key.") == 2
    assert set(rows(probe / "fitted.csv")) & set(ORDER) == {"C1"}


def test_a_remark_goes_to_the_last_place(probe, run):
    _, out, _ = run("survey", typed=lines("n too early", "d", "n =HYPERLINK(1)", "t"))
    assert "Answer a place first" in out
    assert rows(probe / "fitted.csv")["C1"][1] == "'=HYPERLINK(1)"


def test_two_looks_that_differ_count_as_not_inspected_until_settled(probe, run):
    run("survey", typed=lines("t", "t", "e", "t", "t"))
    # The second look runs the other way round: U1 R2 R1 D1 C1.
    _, out, _ = run("survey", typed=lines("t", "t", "t", "t", "e"))
    assert "first there, then empty" in out
    now = states(probe)
    assert (now["R1"].place.value, now["C1"].place.value) == ("not_inspected", "not_inspected")
    assert now["C1"].note == "two looks differ: there, then empty"
    document = json.loads(run("survey", "--json")[1])
    assert document["disagreements"] == ["C1", "R1"]
    assert document["counts"]["not_inspected"] == 2
    _, out, _ = run("survey", typed=lines("e", "t"))
    assert out.rstrip().endswith("Next: reworkkit diff")
    now = states(probe)
    assert (now["R1"].place.value, now["C1"].place.value) == ("empty", "fitted")
    assert json.loads(run("survey", "--json")[1])["finished"]


def test_the_second_look_does_not_show_the_first_answers(probe, run):
    run("survey", typed=lines("t", "d burnt", "e", "t", "t"))
    out = run("survey", typed="")[1]
    asked = out[out.index("Second look") : out.index("Paused")]
    assert "burnt" not in asked


def test_what_one_look_cannot_see_the_other_may():
    hidden, there = Seen("not inspected", "not inspected"), Seen("fitted", "fitted")
    for looks in (Looks(hidden, there), Looks(there, hidden)):
        assert not looks.differ
        assert looks.stands.kind == "fitted"
    assert Looks(hidden, hidden).stands.kind == "not inspected"


def test_a_row_changed_by_hand_settles_its_place(probe, run):
    run("survey", typed=lines("t", "t", "e", "t", "t"))
    run("survey", typed=lines("t", "t", "t", "t", "t"))
    text = (probe / "fitted.csv").read_text(encoding="utf-8")
    mended = "\n".join("R1,fitted," if line.startswith("R1,") else line for line in text.splitlines())
    (probe / "fitted.csv").write_text(mended, encoding="utf-8")
    document = json.loads(run("survey", "--json")[1])
    assert document["disagreements"] == []
    assert document["finished"]


@pytest.mark.parametrize("name", ["greenhouse-valves", "moisture-probe", "magnet-clamp"])
def test_a_list_that_a_person_wrote_keeps_what_it_says(name, example_board, run):
    """An invariant: writing the list anew changes no state of a place that was not answered."""
    folder = example_board(name)
    before = states(folder)
    first = json.loads(run("survey", str(folder), "--json")[1])
    code, out, err = run("survey", str(folder), typed="t\n")
    assert code == 0, err
    after = states(folder)
    after_survey = json.loads(run("survey", str(folder), "--json")[1])
    answered = [new["ref"] for old, new in zip(first["places"], after_survey["places"], strict=True) if old != new]
    assert len(answered) == 1
    plain = {ref: (s.place, s.joint, s.part, s.way_round, s.note) for ref, s in before.items() if ref not in answered}
    assert plain == {ref: (s.place, s.joint, s.part, s.way_round, s.note) for ref, s in after.items() if ref in plain}
    spare = folder / "fitted.csv.before-survey"
    assert spare.exists() == (name != "moisture-probe")
    assert ("WARNING" in out) == (name == "magnet-clamp")


def test_a_lone_list_gets_a_folder_with_the_first_answer(tmp_path, monkeypatch, run):
    monkeypatch.chdir(tmp_path)
    Path("my list.csv").write_text(LIST, encoding="utf-8")
    run("survey", "my list.csv")
    assert not Path("my list").exists()
    _, out, _ = run("survey", "my list.csv", typed=lines("t"))
    assert sorted(path.name for path in Path("my list").iterdir()) == ["fitted.csv", "my list.csv"]
    assert out.rstrip().endswith('Next: reworkkit survey "my list"')
    run("survey", "my list.csv", typed=lines("e"))
    assert [states(Path("my list"))[ref].place.value for ref in ("C1", "D1")] == ["fitted", "empty"]


def test_begin_of_a_lone_list_takes_what_the_survey_found(tmp_path, monkeypatch, run):
    monkeypatch.chdir(tmp_path)
    Path("own.csv").write_text(LIST, encoding="utf-8")
    run("survey", "own.csv", typed=lines("t", "e", "t", "t", "t"))
    _, out, _ = run("begin", "own.csv")
    assert out.rstrip().endswith("Next: reworkkit next own")
    assert states(Path("own"))["D1"].place.value == "empty"
    monkeypatch.chdir("own")
    assert run("diff")[0] == 0, "inside the folder no name is needed"


def test_a_list_saved_by_a_spreadsheet_keeps_its_looks(probe, run):
    run("survey", typed=lines("t", "t", "e", "t", "t"))
    run("survey", typed=lines("t", "t", "t", "t"))
    before = json.loads(run("survey", "--json")[1])
    table = list(csv.reader((probe / "fitted.csv").read_text(encoding="utf-8").splitlines()))
    with (probe / "fitted.csv").open("w", encoding="cp1252", newline="") as file:
        csv.writer(file, delimiter=";").writerows(table)
    assert json.loads(run("survey", "--json")[1]) == before


def test_a_list_named_in_board_toml_that_is_no_csv_is_refused(probe, run):
    (probe / "seen.txt").write_text("R1\n", encoding="utf-8")
    (probe / "board.toml").write_text('[files]\nfitted = "seen.txt"\n', encoding="utf-8")
    code, out, err = run("survey", typed="t\n")
    assert (code, out) == (2, "")
    assert "seen.txt" in err


def test_copies_have_rows_of_their_own(probe, run):
    run("survey", typed=lines("t"))
    run("survey", "--copy", "2", typed=lines("e", "e"))
    assert states(probe, 1)["D1"].place.value == "not_inspected"
    assert states(probe, 2)["D1"].place.value == "empty"
    assert states(probe, 1)["C1"].place.value == "fitted"
    text = (probe / "fitted.csv").read_text(encoding="utf-8")
    assert text.splitlines()[0] == "designator,state,note,copy"


# ---- with a job


def found_events(folder, copy=1):
    with JobStore.open(folder / "job.sqlite") as store:
        return {event.subject: event.detail for event in store.standing_events("found", copy)}


def test_with_a_job_the_answers_are_events_and_refresh_agrees(probe, run):
    code, out, _ = run("begin")
    assert code == 0
    assert out.rstrip().endswith("Next: reworkkit audit")
    _, out, _ = run("survey", typed=lines("t", "e", "d burnt"))
    assert "3 places recorded in the job" in out
    found = found_events(probe)
    assert found["C1"]["facets"]["place"] == "fitted"
    assert (found["R1"]["facets"]["part"], found["R1"]["note"]) == ("damaged", "burnt")
    told = run("refresh")[1]
    assert "found" not in told
    assert run("survey")[0] == 0
    assert len(found_events(probe)) == 3, "a second sitting without an answer adds nothing"


def test_with_a_job_a_place_seen_before_and_not_to_be_seen_now_is_open_again(probe, run):
    (probe / "fitted.csv").write_text("designator,state\nC1,fitted\nothers,not looked at\n", encoding="utf-8")
    run("begin")
    run("survey", typed=lines("b", "c", "t"))
    assert states(probe)["C1"].place.value == "not_inspected"


def test_what_was_worked_on_is_not_asked_about(probe, run):
    run("begin")
    run("survey", typed=lines("t", "e", "t", "t", "t"))
    run("refresh", "--accept")
    assert run("set", "fitted", "D1")[0] == 0
    asked = run("survey")[1]
    assert "4 of 4 places" in asked
    assert "D1 " not in asked[asked.index("Second look") :]


# ---- sheets and the page


def test_a_filled_in_sheet_comes_back(probe, run):
    sheet = run("survey", "--sheet", "--csv")[1]
    table = list(csv.DictReader(sheet.splitlines()))
    assert [row["designator"] for row in table] == ORDER
    words = {"C1": "there", "D1": "reversed", "R1": "empty", "R2": "", "U1": "wrong part"}
    for row in table:
        row["state"] = words[row["designator"]]
    table[0]["note"] = "top scratched"
    out = io.StringIO()
    writer = csv.DictWriter(out, table[0].keys(), delimiter=";")
    writer.writeheader()
    writer.writerows(table)
    (probe / "filled.csv").write_text(out.getvalue(), encoding="cp1252")
    told = run("survey", "--from", "filled.csv")[1]
    assert "4 answers taken" in told
    now = states(probe)
    assert (now["C1"].place.value, now["C1"].note) == ("fitted", "top scratched")
    assert now["D1"].way_round.value == "reversed"
    assert now["R2"].place.value == "not_inspected"
    before = (probe / "fitted.csv").read_bytes()
    assert "0 answers taken from filled.csv, 4 were known" in run("survey", "--from", "filled.csv")[1]
    assert (probe / "fitted.csv").read_bytes() == before


def test_a_sheet_that_says_otherwise_is_a_second_look(probe, run):
    run("survey", typed=lines("t", "t"))
    (probe / "other.txt").write_text("C1 empty\nD1 fitted\nX9 fitted\n", encoding="utf-8")
    told = run("survey", "--from", "other.txt")[1]
    assert "X9" in told
    assert json.loads(run("survey", "--json")[1])["disagreements"] == ["C1"]


@pytest.mark.parametrize("text", ["", "Dear neighbour,\n", "designator,state\nC1,\n"])
def test_a_sheet_without_an_answer_is_refused(probe, run, text):
    (probe / "empty.csv").write_text(text, encoding="utf-8")
    code, out, err = run("survey", "--from", "empty.csv")
    assert (code, out) == (2, "")
    assert len(err.strip().splitlines()) >= 2
    assert not (probe / "fitted.csv").exists()


def page_state(answers, board="probe", **changes):
    refs = ["R1", "R2", "C1", "D1", "U1"]
    same = {"copy": 1, "at": "2026-01-05T19:00:00Z", "who": "", "device": "page-1", "kind": "found", "undoes": None}
    events = [
        {**same, "id": f"page{n}", "subject": ref, "detail": {"state": s, "facets": facets, "note": "", "look": look}}
        for n, (ref, s, facets, look) in enumerate(answers)
    ]
    head = {"format": "reworkkit.page_state/1", "board_id": board_id_of(board, refs), "job": None, "copy": 1}
    return json.dumps({**head, "plan": "", "at_event": 0, "device": "page-1", "events": events, **changes})


THERE = {"place": "fitted", "joint": "soldered", "part": "good"}
EMPTY = {"place": "empty", "joint": "none"}
FROM_PAGE = [("C1", "fitted", THERE, 1), ("D1", "empty", EMPTY, 1), ("C1", "empty", EMPTY, 2)]


@pytest.mark.parametrize("way", ["file", "pasted", "typed"])
def test_the_pages_file_or_its_copied_text(way, probe, run):
    text = page_state(FROM_PAGE)
    (probe / "ticks-probe-1.json").write_text(text, encoding="utf-8")
    source = {"file": "ticks-probe-1.json", "pasted": text, "typed": "-"}[way]
    assert "3 answers taken" in run("survey", "--from", source, typed=text)[1]
    assert states(probe)["D1"].place.value == "empty"
    assert json.loads(run("survey", "--json")[1])["disagreements"] == ["C1"]
    before = (probe / "fitted.csv").read_bytes()
    assert run("survey", "--from", source, typed=text)[0] == 0
    assert (probe / "fitted.csv").read_bytes() == before


@pytest.mark.parametrize("text", [page_state(FROM_PAGE, board="another"), page_state(FROM_PAGE)[:200]])
def test_another_boards_page_or_half_a_text_is_refused_whole(text, probe, run):
    code, out, err = run("survey", "--from", text)
    assert (code, out) == (2, "")
    assert "Traceback" not in err
    assert not (probe / "fitted.csv").exists()


def test_with_a_job_the_pages_file_is_merged(probe, run):
    run("begin")
    text = page_state(FROM_PAGE[:2])
    assert run("survey", "--from", text)[0] == 0
    assert states(probe)["D1"].place.value == "empty"
    assert rows(probe / "fitted.csv")["D1"][0] == "empty"
    known = found_events(probe)
    assert run("survey", "--from", text)[0] == 0
    assert found_events(probe) == known
    assert "found" not in run("refresh")[1]


def test_the_printed_sheet_names_every_place_once_and_runs_nothing(probe, run):
    (probe / "bom.csv").write_text(LIST.replace("10k", "<script>alert(1)</script>"), encoding="utf-8")
    told = run("survey", "--sheet")[1]
    assert "survey-sheet.html" in told.replace("\n", "")
    page = (probe / "survey-sheet.html").read_text(encoding="utf-8")
    for ref in ORDER:
        assert page.count(f'<th scope="row">{ref}</th>') == 1
    assert "<script" not in page
    assert "&lt;script&gt;" in page
    assert "http" not in page.replace("http-equiv", "")
    assert run("diff")[0] == 0, "the sheet in the folder is not taken for a list"


# ---- which command comes next


FOLLOWING = {
    "greenhouse-valves": ["diff", "plan", "begin", "next", "diff", "plan", "next"],
    "moisture-probe": ["diff", "plan", "begin", "next", "diff", "plan", "next"],
    "magnet-clamp": ["diff", "plan", "begin", "next", "diff", "plan", "next"],
    "a lone list": ["survey", "survey", "survey"],
    "a list alone in a folder": ["survey", "survey", "survey", "audit", "survey", "survey", "survey"],
}
COMMANDS = ["audit", "diff", "plan", "begin", "audit", "diff", "plan"]


@pytest.mark.parametrize("case", FOLLOWING)
def test_each_command_names_the_following_one(case, example_board, tmp_path, run):
    """The order that was agreed: begin, audit, survey, diff, plan, next, by what is there."""
    board = tmp_path / "own.csv"
    if case == "a list alone in a folder":
        board = tmp_path / "own"
        board.mkdir()
        (board / "bom.csv").write_text(LIST, encoding="utf-8")
    elif case == "a lone list":
        board.write_text(LIST, encoding="utf-8")
    else:
        board = example_board(case)
    for command, following in zip(COMMANDS, FOLLOWING[case], strict=False):
        code, out, err = run(command, str(board))
        assert code == 0, err
        last = out.rstrip().splitlines()[-1] if len(str(board)) < 50 else " ".join(out.split("Next: ")[-1].split())
        assert last.removeprefix("Next: ").startswith(f"reworkkit {following} "), (command, last)


def test_answers_that_wait_for_a_netlist_are_one_line(example_board, run):
    out = run("polarity", str(example_board("moisture-probe")))[1]
    assert out.count("wait for a netlist") == 1
    assert "netlist.csv" in out


# ---- on a real terminal


@pytest.mark.skipif(sys.platform == "win32", reason="a pseudo-terminal is a POSIX thing")
class TestTerminal:
    """Single keys on a pseudo-terminal, as the person's keyboard sends them."""

    def sit(self, folder, *steps):
        """Run `survey` on a pseudo-terminal; each step is (text to wait for, keys to send). Return all it said."""
        import pty

        pid, fd = pty.fork()
        if pid == 0:  # pragma: no cover
            # A background job ignores Control-C and hands that on; a person's terminal does not.
            signal.signal(signal.SIGINT, signal.SIG_DFL)
            environment = {**os.environ, "COLUMNS": "80", "TERM": "xterm", "NO_COLOR": "1"}
            code = "from reworkkit.cli import run; run()"
            os.execve(sys.executable, [sys.executable, "-c", code, "survey", str(folder)], environment)
        said, at = b"", 0
        try:
            for expected, keys in steps:
                said, at = self._wait(fd, said, at, expected.encode())
                os.write(fd, keys)
            said += self._rest(fd)
        finally:
            os.close(fd)
            _, status = os.waitpid(pid, 0)
        assert os.waitstatus_to_exitcode(status) == 0, said.decode()
        return said.decode()

    def _wait(self, fd, said, at, expected):
        until = time.monotonic() + 60
        while expected not in said[at:]:
            assert time.monotonic() < until, (expected, said)
            said += os.read(fd, 4096)
        return said, said.index(expected, at) + len(expected)

    def _rest(self, fd):
        said = b""
        while True:
            try:
                more = os.read(fd, 4096)
            except OSError:
                return said
            if not more:
                return said
            said += more

    def test_one_key_an_answer_without_return(self, probe):
        said = self.sit(
            probe,
            ("C1     100n 0603: ", b"t"),
            ("D1     red LED 3mm: ", b"R\n"),
            ("R1     10k 0603: ", b"\x7f"),
            ("D1     red LED 3mm: ", b"t"),
            ("R1     10k 0603: ", b"n"),
            ("remark on D1: ", b"cathode cool\n"),
            ("R1     10k 0603: ", b"\x1b[D"),
            ("D1     red LED 3mm: ", b"d"),
            ("R1     10k 0603: ", b"\xc3\xa4"),
            ("R1     10k 0603: ", b"p"),
        )
        assert "No such key." in said
        now = states(probe)
        assert (now["C1"].place.value, now["D1"].part.value) == ("fitted", "damaged")
        assert now["R1"].place.value == "not_inspected"

    @pytest.mark.parametrize("key", [b"\x03", b"\x04", b"\x1b", b"p"])
    def test_it_can_be_put_down_with(self, probe, key):
        said = self.sit(probe, ("C1     100n 0603: ", b"e"), ("D1     red LED 3mm: ", key))
        assert "Paused" in said
        assert states(probe)["C1"].place.value == "empty"


def test_control_c_between_two_questions_puts_the_look_down(probe, run, monkeypatch, capsys):
    def interrupted(session):
        raise KeyboardInterrupt

    monkeypatch.setattr("sys.stdin", io.StringIO(""))
    monkeypatch.setattr("reworkkit.cli.survey_session.Session.run", interrupted)
    assert main(["survey"]) == 0
    assert "Paused" in capsys.readouterr().out


def test_every_answer_is_on_the_disk_before_the_next_question(probe, run, monkeypatch):
    """Killed in the middle of the next question: what was answered is there, whole."""
    seen = []

    class Typing(io.StringIO):
        def readline(self, *size):
            seen.append(sorted(set(rows(probe / "fitted.csv")) & set(ORDER)) if seen else [])
            return "t\n" if len(seen) <= 3 else ""

    monkeypatch.setattr("sys.stdin", Typing())
    main(["survey"])
    assert seen == [[], ["C1"], ["C1", "D1"], ["C1", "D1", "R1"]]
    assert not [path for path in probe.iterdir() if path.name.endswith(".part")]


def test_natural_order_within_the_list(probe, run):
    assert sorted(ORDER, key=natural_key) == ORDER
