"""The bench itself: stored cases come back from the simulator, boards are those of the sections, the grader grades."""

import json
import math
import shutil
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

from reworkkit.read.folder import read_board
from reworkkit.read.readings import read_readings
from tests.fault_bench import grade
from tests.fault_bench.boards import board_files
from tests.fault_bench.deck import pairs
from tests.fault_bench.faults import UNLISTED, Fault, listed, unlisted
from tests.fault_bench.figures import BenchSet
from tests.fault_bench.generate import SECTIONS, WIDE, readings
from tests.fault_bench.matching import Bench, is_it, named
from tests.fault_bench.meter import METERS
from tests.fault_bench.second.sections import BENCH as SECOND
from tests.fault_bench.sections import BENCH as FIRST

REGENERATED = (
    ("valve-rails", "single"),
    ("tank-sense", "healthy"),
    ("pump-monitor", "double"),
    ("vent-node", "unlisted"),
    ("doser", "wide"),
    ("charger-control", "single"),
    ("battery-monitor", "healthy"),
    ("rail-chain", "double"),
    ("opto-inputs", "unlisted"),
    ("load-switch", "wide"),
)
ALL = sorted(SECTIONS)


def stored(name: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(SECTIONS[name].cases.read_text(encoding="utf-8"))
    return found


@pytest.mark.spice
@pytest.mark.parametrize(("name", "kind"), REGENERATED)
def test_a_stored_case_comes_back_from_the_simulator(name: str, kind: str) -> None:
    if shutil.which("ngspice") is None:
        pytest.skip("ngspice is not installed here; the stored cases are used as they are")
    said = next(case for case in stored(name)["cases"] if case["set"] == kind)
    faults = tuple(Fault.from_json(fault) for fault in said["faults"])
    width = WIDE if kind == "wide" else 1.0
    again = readings(SECTIONS[name], faults, said["board"], width, f"{name}:{said['id']}")
    for key, absolute in (("volts", 0.005), ("ohms", 0.1), ("diode", 0.005), ("diode_swapped", 0.005)):
        for got, kept in zip(again[key], said[key], strict=True):
            assert (got is None) == (kept is None), key
            assert got is None or math.isclose(got, kept, rel_tol=0.003, abs_tol=absolute), key
    assert math.isclose(again["amps"], said["amps"], rel_tol=0.003, abs_tol=0.0002)


@pytest.mark.parametrize("name", ALL)
def test_the_board_folder_is_that_of_the_section(name: str) -> None:
    section = SECTIONS[name]
    for file, text in board_files(section).items():
        assert (section.folder / file).read_text(encoding="utf-8") == text


@pytest.mark.parametrize("name", ALL)
def test_the_board_folder_reads_without_a_complaint(name: str) -> None:
    section = SECTIONS[name]
    board = read_board(section.folder)
    assert set(board.parts) == {part.ref for part in section.parts}
    assert all(board.pins[part.ref, n].net == part.roles[r] for part in section.parts for r, n in part.pins.items())
    assert not [finding for finding in board.findings if finding.severity != "note"]


@pytest.mark.parametrize("name", ALL)
def test_a_section_has_the_size_it_should_have(name: str) -> None:
    section = SECTIONS[name]
    assert 20 <= len(section.parts) <= 35
    assert len(section.points) == 13
    nets = {net for part in section.parts for net in part.nets}
    assert all(point in nets or "." in point for point in section.points)
    refs = [part.ref for part in section.parts]
    assert len(refs) == len(set(refs))


@pytest.mark.parametrize(
    ("bench", "least"),
    [
        (FIRST, {"single": 300, "double": 60, "unlisted": 30, "healthy": 40, "wide": 50}),
        (SECOND, {"single": 230, "double": 60, "unlisted": 80, "healthy": 46, "wide": 46}),
    ],
    ids=("first", "second"),
)
def test_there_are_enough_cases_of_each_set(bench: BenchSet, least: dict[str, int]) -> None:
    names = [name for name in ALL if SECTIONS[name].bench is bench]
    counts = Counter(case["set"] for name in names for case in stored(name)["cases"])
    assert {kind: counts[kind] >= n for kind, n in least.items()} == dict.fromkeys(least, True)
    assert sum(path.stat().st_size for path in (bench.folder / "cases").iterdir()) < 3_000_000


@pytest.mark.parametrize("name", ALL)
def test_stored_cases_fit_their_section(name: str) -> None:
    kept, section = stored(name), SECTIONS[name]
    assert kept["points"] == list(section.points)
    assert kept["pairs"] == [list(pair) for pair in pairs(section)]
    assert [fault["id"] for fault in kept["listed"]] == [fault.id for fault in listed(section)]
    known = {fault.id: fault for fault in (*listed(section), *unlisted(section))}
    for case in kept["cases"]:
        for fault in case["faults"]:
            assert Fault.from_json(fault) == known[fault["id"]]
            assert (fault["kind"] in UNLISTED) == (case["set"] == "unlisted")
        for shown in (case, *case.get("after", ())):
            assert len(shown["volts"]) == 13
            assert {len(shown[key]) for key in ("ohms", "diode", "diode_swapped")} == {len(kept["pairs"])}


@pytest.mark.parametrize("name", ALL)
def test_no_reading_goes_beyond_what_supply_and_parts_can_do(name: str) -> None:
    """Invariant: only a supply feeds the board, so no point is outside its leads, and its limit holds."""
    section = SECTIONS[name]
    (percent, volt), (_, amp) = METERS[section.meter].volt, METERS[section.meter].amp
    top = section.supply_v * (1 + (section.supply_percent * WIDE + percent) / 100) + 1.5 * volt
    for case in stored(name)["cases"]:
        lowest = -top if "supply:swapped" in {fault["id"] for fault in case["faults"]} else 0.0
        for shown in (case, *case.get("after", ())):
            assert max(shown["volts"]) < top
            assert min(shown["volts"]) > lowest - 2 * volt
            assert -1.25 * amp < shown["amps"] < section.limit_a * 1.06 + amp


@pytest.mark.parametrize("name", ALL)
def test_partners_are_mutual(name: str) -> None:
    partners = stored(name)["partners"]
    assert all(a in partners[b] for a, others in partners.items() for b in others)


def test_rows_are_read_as_they_are_meant(tmp_path: Path) -> None:
    case = next(grade.cases("single", sections=("valve-rails",)))
    off = grade.unpowered_row(case, "V5", "GND", "ohms")
    diode = grade.unpowered_row(case, "V5", "GND", "diode")
    assert off
    assert diode
    (tmp_path / "readings.csv").write_text(grade.readings_csv([*grade.rows(case, 3), off, diode]), encoding="utf-8")
    found = [reading for _, reading in read_readings(tmp_path / "readings.csv", "readings.csv").readings]
    assert [(r.point, r.mode.value, bool(r.hold_point)) for r in found] == [
        ("supply", "amps", True),
        ("V12", "volts", True),
        ("V5", "volts", True),
        ("V33", "volts", True),
        ("V5 to GND", "ohms", False),
        ("V5 to GND", "diode", False),
    ]
    assert found[0].value == pytest.approx(case.said["amps"], abs=1e-4)


# --- the grader, graded: an all-knowing diagnosis, a blind one, a sure and wrong one


def oracle(probability: float = 0.97) -> grade.Diagnose:
    """Know every case by its readings; name unlisted faults as none that fits."""
    known: dict[tuple[str, str, str], list[dict[str, Any]]] = {}
    for case in grade.cases("healthy", "single", "wide", "unlisted", "double", sections=ALL):
        versions = [(case.said, case.said["faults"])]
        faults = case.said["faults"]
        versions += list(zip(case.said.get("after", ()), (faults[1:], faults[:1], []), strict=False))
        for shown, left in versions:
            known[_key(case.folder, grade.rows(case, 3, shown))] = left

    def diagnose(folder: Path, rows: list[grade.Row]) -> grade.Answer:
        left = known[_key(folder, rows)]
        if not left:
            return {"verdict": "no_fault_seen", "groups": [], "next": []}
        if left[0]["kind"] in UNLISTED:
            return {"verdict": "no_listed_fault_fits", "groups": [], "next": []}
        groups = [{"faults": [fault], "certainty": "almost certainly", "probability": probability} for fault in left]
        return {"verdict": "fault", "groups": groups, "next": []}

    return diagnose


def _key(folder: Path, rows: list[grade.Row]) -> tuple[str, str, str]:
    return folder.name, rows[0]["Reading"], rows[1]["Reading"] + rows[2]["Reading"] + rows[3]["Reading"]


def blind(folder: Path, rows: list[grade.Row]) -> grade.Answer:
    """Always be sure that the fuse is open."""
    groups = [{"faults": [{"ref": "F1", "kind": "open"}], "certainty": "almost certainly", "probability": 0.99}]
    return {"verdict": "fault", "groups": groups, "next": []}


def test_a_diagnosis_that_knows_all_gets_all() -> None:
    grader = grade.Grader(oracle(), sections=("valve-rails", "doser"))
    table = grader.singles(3)
    assert table["group top-1"] == table["exact top-1"] == table["right when > 0.9"] == 1.0
    assert grader.unlisted(3)["caught"] == 1.0
    assert grader.unlisted(3)["misled"] == 0.0
    doubles = grader.doubles(3)
    assert doubles["both found"] == 1.0
    assert doubles["inspections, median"] == 2
    assert grader.healthy(3)["no fault seen"] == 1.0
    assert not grader.unknown


def test_a_blind_diagnosis_gets_what_it_deserves() -> None:
    grader = grade.Grader(blind, sections=("valve-rails", "doser"))
    table = grader.singles(13)
    assert table["group top-1"] < 0.1
    assert table["says > 0.9"] == 1.0
    assert table["right when > 0.9"] == table["group top-1"]
    assert grader.unlisted(13)["misled"] == 1.0
    assert grader.unlisted(13)["caught"] == 0.0
    assert grader.doubles(13)["both found"] < 0.1
    assert grader.healthy(13)["no fault seen"] == 0.0


def test_guided_takes_the_checks_it_is_offered() -> None:
    def asks(folder: Path, rows: list[grade.Row]) -> grade.Answer:
        offered = [
            {"check": "volts", "between": ["V5", "GND"], "powered": True},
            {"check": "diode", "between": ["V5", "GND"], "powered": False},
            {"check": "ohms", "between": "V12 to GND", "powered": False},
        ]
        group = {
            "faults": [{"ref": "F1", "kind": "open"}],
            "certainty": "",
            "probability": 0.95 if len(rows) > 4 else 0.3,
        }
        return {"verdict": "fault", "groups": [group], "next": offered}

    table = grade.Grader(asks, sections=("valve-rails",), per_section=3).guided()
    assert (table["finished"], table["checks, mean"], table["of them unpowered"]) == (1.0, 4.0, 2.0)


BENCH = Bench(
    {},
    {},
    {"R1": {"1": "1", "2": "2"}, "U1": {"IN": "1", "GND": "2", "OUT": "3"}, "C1": {"+": "1", "-": "2"}},
    {"R1": frozenset({"A", "B"}), "C1": frozenset({"A", "B"})},
)


@pytest.mark.parametrize(
    ("said", "truth", "same"),
    [
        ({"ref": "R1", "kind": "missing"}, {"ref": "R1", "kind": "open"}, True),
        ({"ref": "R1", "kind": "x10"}, {"ref": "R1", "kind": "times_10"}, True),
        ({"ref": "R1", "kind": "open"}, {"ref": "R1", "kind": "times_10"}, False),
        ({"ref": "U1", "kind": "open ground"}, {"ref": "U1", "kind": "pin_open", "pins": ["2"]}, True),
        ({"ref": "U1", "kind": "in_open"}, {"ref": "U1", "kind": "pin_open", "pins": ["2"]}, False),
        ({"ref": "U1.2", "kind": "open"}, {"ref": "U1", "kind": "pin_open", "pins": ["2"]}, True),
        ({"ref": "U1.3", "kind": "open"}, {"ref": "U1", "kind": "pin_open", "pins": ["2"]}, False),
        ({"ref": "A to B", "kind": "bridge"}, {"ref": "U1", "kind": "bridge", "nets": ["B", "A"]}, True),
        ({"ref": "A to C", "kind": "bridge"}, {"ref": "U1", "kind": "bridge", "nets": ["B", "A"]}, False),
        ({"ref": "R1", "kind": "short"}, {"ref": "C1", "kind": "short"}, True),
        ({"ref": "J1", "kind": "supply_limit"}, {"ref": "supply", "kind": "limit_low"}, True),
        (
            {"ref": "U1", "kind": "wrong_variant", "to": "12 V"},
            {"ref": "U1", "kind": "wrong_variant", "to": 3.3},
            False,
        ),
        ({"ref": "R2", "kind": "open"}, {"ref": "R1", "kind": "open"}, False),
    ],
)
def test_words_of_a_diagnosis_are_compared(said: dict[str, Any], truth: dict[str, Any], same: bool) -> None:
    assert is_it(BENCH, named(said), truth) is same
