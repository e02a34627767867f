"""board.toml and bench.toml: what is read, and that each mistake is told at its line.

The expected lines and suggestions are properties of the mistake made here (invariant); nothing is copied from output.
"""

import re
from collections.abc import Callable
from dataclasses import fields
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from reworkkit.errors import ProblemsError, ReworkkitError
from reworkkit.model import facts as facts_module
from reworkkit.model.facts import BoardFacts, Table
from reworkkit.model.values import Where
from reworkkit.read import board_facts as board_facts_module
from reworkkit.read.board_facts import USED_SECTIONS, FactsFile, read_board_facts
from reworkkit.read.facts_problems import ADDED_BY_READER
from reworkkit.read.facts_short_forms import as_tables
from reworkkit.read.toml_lines import lines_of
from reworkkit.show.errors import error_text
from reworkkit.show.texts import sentence
from tests.conftest import PROJECT

FULL = """\
# An invented greenhouse watering controller. Values carry their unit; names with + - / or a point stand in quotes.
format = 1
name = "Greenhouse watering controller"
revision = "B"

[files]
parts = "watering rev B.csv"
placement = ["top.pos", "bottom.pos"]
columns = { designator = "Pos.", value = "Wert" }
encoding = "cp1252"
variant = "24 V"

[board]
layers = 4
thickness = "1.6 mm"
outer_copper = "1 oz"
inner_copper = "0.5 oz"
size = "80 mm x 60 mm"
alloy_used = "SAC305"
ground = ["GND", "PGND"]
planes = { GND = ["inner1", "bottom"], "+12V" = ["inner2"] }
relief = "4 spokes 0.3 mm"
coating = "acrylic"

[supplies]
"+12V" = { volts = "12 V", limit = "0.5 A", at = "J1.1" }

[rails]
"+5V" = "5 V 3 %"
"+3V3" = { volts = "3.3 V", tolerance = "3 %", made_by = "U2", at = "TP3" }

[loads]
"+3V3" = "25 mA 40 %"
"+5V" = { amps = "40 mA", tolerance = "30 %", from_volts = "2.5 V" }

[nets]
BOOT = "5 V to 20 V"
"AC_IN" = { low = "-34 V", high = "34 V" }

[points]
TP1 = "+12V"
TP3 = "+3V3"
"J5.2" = "RESET"

[parts]
D4 = "band towards K1"
D7 = { faces = "band towards TP1", role = "flyback" }
"Q1-Q4" = { height = "16 mm", dear = true, joints = { 2 = { edge = "2 mm", relief = "none" } } }
U2 = { kind = "linear regulator", out = "3.3 V", dropout = "1.1 V", amps = "0.8 A", pins = { GND = "1", OUT = "2" } }
U5 = { kind = "magnetic current sensor", rare = true, body_limit = "245 °C", moisture = "3" }

[[hold_points]]
name = "logic rails"
supply = "+12V"
feed = "TP1"
limit = "150 mA"
needs = ["F1", "D1", "U1", "U2"]
before = ["U3", "U5", "J1"]
measure = ["+12V", "+5V", "+3V3"]

[[hold_points]]
name = "valves"
needs = ["u3"]
before = [
  "Q1-Q4",
]
measure = ["GATE1", "GATE2"]
confirm = true

[[fasten]]
parts = ["Q1", "Q2", "Q3", "Q4"]
to = "heat sink H1"
before_soldering = true
torque = "0.6 N m"
insulated = true

[[program]]
part = "U3"
at = "J5"
after_hold_point = "logic rails"
identity = "watering 2.1"

[order]
rules = ["U3 before J1: the connector hides its pins", "C20 before Q1-Q4: under the heat sink"]
dwell_lead = "3 s"
dwell_tab = "8 s"

[inputs]
"float switch" = { at = "J4.1", does = "LED2 lights" }

[outputs]
"valve 1" = "J7.1: lamp on J7 lights"

[live]
net = "BUS"
volts = "170 V"
capacitance = "2 mF"
load = "converter"
watts = "150 W"
precharge = "470 ohm"
bleeder = "47 kohm"

[bench]
preheat = "100 °C"
supply_amps = "3 A"
"""

SHORT = """\
name = "Greenhouse valve controller"
[board]
layers = 2
alloy_used = "SAC305"
planes = { GND = ["bottom"] }
[supplies]
"+12V" = "12 V, limit 0.5 A"
[rails]
"+5V" = "5 V 3 %"
"+3V3" = "3.3 V 3 %"
[loads]
"+3V3" = "25 mA 40 %"
[[hold_points]]
name = "logic rails"
before = ["U3", "U5"]
"""

Reader = Callable[..., FactsFile]

_LINE_KEY = re.compile(r"^([a-z_]+) = ")
FIXED_KEYS = [(n, found[1]) for n, line in enumerate(FULL.splitlines(), 1) if (found := _LINE_KEY.match(line))]
INLINE_KEYS = [
    (n, key)
    for n, line in enumerate(FULL.splitlines(), 1)
    for key in re.findall(r"[{,] ([a-z_]+) = ", line)
    if not line.startswith("columns")
]
HEADINGS = [
    (n, found[1]) for n, line in enumerate(FULL.splitlines(), 1) if (found := re.match(r"^\[+([a-z_]+)\]+$", line))
]
_UNIT = re.compile(r'"(-?[0-9.]+ )(mm|oz|V|A|mA|mF|W|k?ohm|%|s|N m|°C)"')
UNITS = [
    (n, found.span(2))
    for n, line in enumerate(FULL.splitlines(), 1)
    for found in _UNIT.finditer(line)
    if "variant" not in line
]


@pytest.fixture
def read(tmp_path: Path) -> Reader:
    def reader(text: str | None, bench: str | None = None) -> FactsFile:
        folder = tmp_path / "boards" / "b"
        folder.mkdir(parents=True, exist_ok=True)
        if text is not None:
            (folder / "board.toml").write_text(text, encoding="utf-8")
        if bench is not None:
            (folder.parent / "bench.toml").write_text(bench, encoding="utf-8")
        return read_board_facts(folder)

    return reader


def problems_of(read: Reader, text: str, bench: str | None = None) -> list[ReworkkitError]:
    with pytest.raises(ReworkkitError) as caught:
        read(text, bench)
    error = caught.value
    assert error_text(error), "every problem has words"
    return list(error.problems) if isinstance(error, ProblemsError) else [error]


def with_line(n: int, change: Callable[[str], str]) -> str:
    lines = FULL.splitlines()
    changed = change(lines[n - 1])
    assert changed != lines[n - 1]
    lines[n - 1] = changed
    return "\n".join(lines) + "\n"


def test_the_full_example_is_read(read: Reader) -> None:
    facts = read(FULL).facts
    assert facts.rails["+5V"].volts is not None
    assert facts.rails["+5V"].volts.value == 5
    assert facts.supplies["+12V"].at == "J1.1"
    assert facts.loads["+3V3"].amps is not None
    assert facts.loads["+3V3"].amps.value == Decimal("0.025")
    assert facts.nets["AC_IN"].low is not None
    assert facts.nets["AC_IN"].low.value == -34
    assert facts.parts["D4"].faces == "band towards K1"
    assert facts.points["J5.2"] == "RESET"
    assert facts.hold_points[1].before == ("Q1", "Q2", "Q3", "Q4")
    assert facts.hold_points[1].needs == ("U3",)
    assert facts.outputs["valve 1"].does == "lamp on J7 lights"
    assert facts.board.size is not None
    assert [side.value for side in facts.board.size] == [80, 60]
    assert facts.live is not None
    assert facts.live.capacitance is not None
    assert facts.live.capacitance.si() == 0.002


def test_a_range_of_parts_is_written_out(read: Reader) -> None:
    facts = read(FULL).facts
    assert {"Q1", "Q2", "Q3", "Q4"} <= set(facts.parts)
    assert facts.parts["Q3"].dear is True
    assert facts.parts["Q3"].joints["2"].relief == "none"
    line = next(n for n, text in enumerate(FULL.splitlines(), 1) if text.startswith('"Q1-Q4"'))
    assert facts.where("parts.Q3.height") == Where("board.toml", line)


def test_a_line_of_its_own_beats_the_range(read: Reader) -> None:
    facts = read('[parts]\nq2 = { dear = false }\n"Q1-Q3" = { dear = true, height = "16 mm" }\n').facts
    assert [facts.parts[ref].dear for ref in ("Q1", "Q2", "Q3")] == [True, False, True]
    assert facts.parts["Q2"].height is not None
    assert facts.where("parts.Q2.dear") == Where("board.toml", 2)


def test_the_same_part_twice_is_refused(read: Reader) -> None:
    (problem,) = problems_of(read, '[parts]\nD4 = "band north"\nd4 = "band south"\n')
    assert problem.message.slug == "part-twice"
    assert problem.where == (Where("board.toml", 3),)


def test_fifteen_lines_are_enough(read: Reader) -> None:
    found = read(SHORT)
    assert found.facts.supplies["+12V"].limit is not None
    assert found.facts.supplies["+12V"].limit.value == Decimal("0.5")
    assert found.facts.hold_points[0].name == "logic rails"
    assert [one.role for one in found.input_files] == ["facts"]


def test_no_file_is_no_problem(read: Reader) -> None:
    found = read(None)
    assert found == FactsFile(BoardFacts(), (), ())


@pytest.mark.parametrize(("line", "key"), FIXED_KEYS)
def test_a_misspelt_key_is_told_at_its_line(read: Reader, line: int, key: str) -> None:
    wrong = f"{key}x"
    (problem,) = problems_of(read, with_line(line, lambda text: text.replace(key, wrong, 1)))
    assert problem.message.slug == "unknown-key"
    assert problem.where == (Where("board.toml", line),)
    assert problem.message.fact("key") == wrong
    assert problem.message.fact("near") == key


@pytest.mark.parametrize(("line", "key"), INLINE_KEYS)
def test_a_misspelt_key_in_braces_is_told_at_its_line(read: Reader, line: int, key: str) -> None:
    text = with_line(line, lambda old: re.sub(rf"([{{,]) {key} = ", rf"\1 {key}x = ", old, count=1))
    (problem,) = problems_of(read, text)
    assert (problem.where, problem.message.fact("near")) == ((Where("board.toml", line),), key)


@pytest.mark.parametrize(("line", "key"), HEADINGS)
def test_a_misspelt_heading_is_told_at_its_line(read: Reader, line: int, key: str) -> None:
    found = problems_of(read, with_line(line, lambda text: text.replace(key, f"{key}x")))
    assert (Where("board.toml", line),) in [one.where for one in found]
    assert {one.message.fact("near") for one in found} == {key}


@pytest.mark.parametrize(("line", "span"), UNITS)
def test_a_dropped_unit_is_told_at_its_line(read: Reader, line: int, span: tuple[int, int]) -> None:
    (problem,) = problems_of(read, with_line(line, lambda text: text[: span[0]].rstrip() + text[span[1] :]))
    assert problem.message.slug == "value-without-unit"
    assert problem.where == (Where("board.toml", line),)


def test_the_example_covers_enough() -> None:
    assert len(FIXED_KEYS) >= 48
    assert len(UNITS) >= 20
    assert len(HEADINGS) >= 14


def test_all_problems_are_collected(read: Reader) -> None:
    text = '[board]\naloy = "SAC305"\nthickness = "1.6 V"\n[rails]\n"+5V" = "nearly"\nV9 = "9 V"\n'
    found = problems_of(read, text, bench="preheat = 100\n")
    told = [(str(one.where[0]), one.message.slug) for one in found]
    assert told == [
        ("board.toml:2", "unknown-key"),
        ("board.toml:3", "wrong-unit"),
        ("board.toml:5", "value-unreadable"),
        ("../bench.toml:1", "value-without-unit"),
    ]
    assert found[1].message.fact("found") == "V"
    assert found[2].message.fact("path") == "rails.+5V"


@pytest.mark.parametrize(
    ("text", "line", "slug"),
    [
        ("[points]\nJ5.2 = 'RESET'\n", 2, "toml-name-with-point"),
        ("[rails]\nV3.3 = '3.3 V'\n", 2, "toml-name-with-point"),
        ("[points]\n+5V = 'x'\n", 2, "toml-name-needs-quotes"),
        ("[points]\nTP1 = 'x'\nV+ = 'x'\n", 3, "toml-name-needs-quotes"),
        ("[outputs]\nvalve 1 = 'J7.1'\n", 2, "toml-name-needs-quotes"),
        ("[rails.+5V]\nvolts = '5 V'\n", 1, "toml-name-needs-quotes"),
        ("[board]\nplanes = { +12V = ['bottom'] }\n", 2, "toml-name-needs-quotes"),
        ("[parts]\nU2 = { kind = 'regulator',\n  out = '3.3 V' }\n", 2, "toml-table-over-lines"),
        ("[parts]\nU2 = {\n  out = '3.3 V' }\n", 2, "toml-table-over-lines"),
        ("[parts]\nU2 = { kind = 'regulator'\n, out = '3.3 V' }\n", 2, "toml-table-over-lines"),
        ("[board]\nthickness = 1.6 mm\n", 2, "toml-value-needs-quotes"),
        ("name = Greenhouse\n", 1, "toml-value-needs-quotes"),
        ("[parts\n", 1, "not-toml"),
        ("name = 'a'\nname = 'b'\n", 2, "not-toml"),
        ("[board]\nground = ['GND',\n", 3, "not-toml"),
    ],
)
def test_what_is_not_toml_gets_its_hint(read: Reader, text: str, line: int, slug: str) -> None:
    (problem,) = problems_of(read, text)
    assert problem.message.slug == slug
    assert problem.where[0].line == line


@pytest.mark.parametrize(
    ("text", "slug"),
    [
        ("name = 5\n", "facts-wants-text"),
        ("[parts]\nQ1 = { dear = 'perhaps' }\n", "facts-wants-yes-no"),
        ("[board]\nlayers = 2.5\n", "facts-wants-whole-number"),
        ("[board]\nlayers = true\n", "facts-wants-whole-number"),
        ("[board]\nground = 3\n", "facts-wants-list"),
        ("[board]\nsize = '80 mm'\n", "facts-wants-two"),
        ("[board]\nsize = '80 mm x 60 mm x 2 mm'\n", "facts-wants-two"),
        ("rails = 3\n", "facts-wants-table"),
        ("[rails]\n'+5V' = 5\n", "facts-wants-table"),
        ("[[hold_points]]\nsupply = '+5V'\n", "facts-key-missing"),
        ("format = 2\n", "facts-format-not-known"),
        ("[nets]\nBOOT = '20 V to 5 V'\n", "range-upside-down"),
        ("[nets]\nBOOT = 'low to high'\n", "value-unreadable"),
        ("[rails]\n'+5V' = '5 V 3 % 12 V'\n", "value-unreadable"),
        ("[supplies]\n'+5V' = '5 V rms'\n", "value-unreadable"),
        ("[supplies]\n'+5V' = '5 V negative'\n", "value-unreadable"),
        ("[supplies]\n'+5V' = '5 V 7 Ah battery'\n", "value-without-unit"),
        ("[supplies]\n'+5V' = '5 V battery, fused 2 A'\n", "value-unreadable"),
        ("[supplies]\n'+5V' = '5 V, load 0.5 A'\n", "value-unreadable"),
        ("[supplies]\n'+5V' = 'battery'\n", "value-unreadable"),
        ("[order]\ndwell_lead = true\n", "value-unreadable"),
        ("lines = {}\n", "unknown-key"),
        ("[rails]\n'+5V' = { zzzz = '5 V' }\n", "unknown-key-none-near"),
    ],
)
def test_what_is_no_such_thing_is_refused(read: Reader, text: str, slug: str) -> None:
    slugs = {one.message.slug for one in problems_of(read, text)}
    assert slugs == {slug}


def test_a_file_that_is_not_utf8_is_told_at_its_line(tmp_path: Path) -> None:
    (tmp_path / "board.toml").write_bytes('name = "a"\nrevision = "\xb0"\n'.encode("latin-1"))
    with pytest.raises(ReworkkitError) as caught:
        read_board_facts(tmp_path)
    assert caught.value.message.slug == "facts-not-utf8"
    assert caught.value.where == (Where("board.toml", 2),)


def test_windows_line_ends_and_a_byte_order_mark_read_alike(tmp_path: Path, read: Reader) -> None:
    (tmp_path / "board.toml").write_bytes(b"\xef\xbb\xbf" + FULL.replace("\n", "\r\n").encode())
    assert read_board_facts(tmp_path).facts == read(FULL).facts


def test_bench_is_found_above_and_the_board_beats_it_key_by_key(read: Reader) -> None:
    bench = (
        'preheat = "120 °C"\nsupply_volts = "30 V"\n[meter]\nvolts = "0.5 %"\nohms = "1 %"\n[tips]\nK = "knife 5 mm"\n'
    )
    found = read('[bench]\npreheat = "100 °C"\nmeter = { ohms = "2 %" }\n', bench)
    mine = found.facts.bench
    assert mine.preheat is not None
    assert mine.supply_volts is not None
    assert (mine.preheat.value, mine.supply_volts.value) == (100, 30)
    assert (mine.meter.volts, mine.meter.ohms) == ("0.5 %", "2 %")
    assert mine.tips["K"].size == "knife"
    assert [one.name for one in found.input_files] == ["board.toml", "../bench.toml"]
    assert found.facts.where("bench.supply_volts") == Where("../bench.toml", 2)
    assert found.facts.where("bench.preheat") == Where("board.toml", 2)


def test_bench_in_the_home_folder_is_never_read(read: Reader, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Path, "home", lambda: tmp_path / "boards")
    assert read(None, 'preheat = "120 °C"\n').facts.bench.preheat is None


def test_bench_keys_may_stand_under_a_heading(read: Reader) -> None:
    bench = read(None, '[bench]\npreheat = "120 °C"\n').facts.bench
    assert bench.preheat is not None
    assert bench.preheat.value == 120


def test_sections_without_a_use_are_named_once(read: Reader, monkeypatch: pytest.MonkeyPatch) -> None:
    assert read(FULL).findings == (), "every section has its use"
    monkeypatch.setattr(board_facts_module, "USED_SECTIONS", USED_SECTIONS - {"live", "outputs"})
    (note,) = read(FULL).findings
    assert note.severity == "note"
    assert str(note.message.fact("sections")) == "outputs, live"
    assert "live" in sentence(note.message)


def test_every_key_has_its_line() -> None:
    lines = FULL.splitlines()
    for path, n in lines_of(FULL).items():
        if not path[-1].isdigit():
            assert path[-1] in lines[n - 1]


def test_lines_of_a_long_file_are_found_fast() -> None:
    text = "[points]\n" + "".join(f"TP{n} = 'N{n}'\n" for n in range(1000))
    assert lines_of(text)["points", "TP999"] == 1001


def test_a_list_over_several_lines_counts_from_its_first() -> None:
    text = '[board]\nground = [ # both\n  "GND",\n  "PGND",\n]\ncoating = """\nacrylic\n"""\nlayers = 2\n'
    lines = lines_of(text)
    assert (lines["board", "ground", "1"], lines["board", "coating"], lines["board", "layers"]) == (2, 6, 9)


@pytest.mark.parametrize(
    ("text", "table"),
    [
        ("12 V, limit 0.1 A, at J1.1", {"volts": "12 V", "limit": "0.1 A", "at": "J1.1"}),
        ("17 V DC at one end, limit 3 A (no coil)", {"volts": "17 V DC", "limit": "3 A", "what": "at one end no coil"}),
        ("15 V, Strombegrenzung 1,5 A", {"volts": "15 V", "limit": "1,5 A", "what": "Strombegrenzung"}),
    ],
)
def test_words_of_a_supply_say_what_it_is(text: str, table: dict[str, str]) -> None:
    assert as_tables({"supplies": {"V": text}})["supplies"]["V"] == table


@given(st.permutations(["5 V", "3 %"]), st.sampled_from([" ", ", ", "; "]))
def test_the_short_form_takes_any_order(words: list[str], gap: str) -> None:
    assert as_tables({"rails": {"V5": gap.join(words)}})["rails"]["V5"] == {"volts": "5 V", "tolerance": "3 %"}


@given(st.lists(st.sampled_from(["5 V", "12 V", "3 %", "0.5 A", "nearly", "7"]), min_size=1, max_size=5))
def test_the_short_form_drops_nothing(words: list[str]) -> None:
    table = as_tables({"rails": {"V5": ", ".join(words)}})["rails"]["V5"]
    assert sorted(" ".join(table.values()).split()) == sorted(" ".join(words).split())


def test_records_do_not_load_the_validator() -> None:
    import subprocess
    import sys

    probe = "import sys, reworkkit.model.facts; print('pydantic' in sys.modules, 'pydantic_core' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", probe], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["False", "False"]


def test_the_examples_of_the_docs_are_read(read: Reader) -> None:
    page = (PROJECT / "docs" / "board-toml.md").read_text(encoding="utf-8")
    blocks = re.findall(r"```toml\n(.*?)```", page, re.DOTALL)
    assert len(blocks) >= 2
    for block in blocks:
        assert read(block).facts != BoardFacts()


def test_the_docs_name_every_key() -> None:
    page = (PROJECT / "docs" / "board-toml.md").read_text(encoding="utf-8")
    records = [one for one in vars(facts_module).values() if isinstance(one, type) and issubclass(one, Table)]
    for record in records:
        for one in fields(record) if record is not Table else ():  # type: ignore[arg-type]
            assert one.name in ADDED_BY_READER or one.name in page, f"{record.__name__}.{one.name}"


_WRONG_VALUES = st.sampled_from(
    ["3", "true", "[1]", "[]", "{}", '"x"', "{ a = 1 }", "[{ a = 1 }]", "nan", "1979-01-01"]
)
_KEY_LINES = [n for n, line in enumerate(FULL.splitlines(), 1) if "=" in line and line[0] != "#" and line[-1] != "["]


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=60, deadline=None)
@given(st.sampled_from(_KEY_LINES), _WRONG_VALUES)
def test_any_value_is_read_or_refused_at_its_line(read: Reader, line: int, value: str) -> None:
    assume(not FULL.splitlines()[line - 1].endswith(f"= {value}"))
    text = with_line(line, lambda old: f"{old.partition('=')[0]}= {value}")
    try:
        read(text)
    except ReworkkitError as error:
        problems = error.problems if isinstance(error, ProblemsError) else (error,)
        assert any(one.where[0].line == line for one in problems)


def test_a_key_with_nothing_behind_it_is_named(tmp_path):
    (tmp_path / "board.toml").write_text("name =\n", encoding="utf-8")
    with pytest.raises(ReworkkitError) as refused:
        read_board_facts(tmp_path)
    assert (refused.value.message.slug, refused.value.message.fact("name")) == ("toml-value-missing", "name")
