"""The bench itself: stored cases come back from the simulator, boards are those of the sections, the grader grades."""

import json
import math
import shutil
from typing import Any

import pytest

from tests.fault_bench.meter import METERS
from tests.fault_bench.second.boards import board_files
from tests.fault_bench.second.deck import pairs
from tests.fault_bench.second.faults import UNLISTED, Fault, listed, unlisted
from tests.fault_bench.second.generate import BOARDS, CASES, WIDE, readings
from tests.fault_bench.second.sections import sections

REGENERATED = (
    ("charger-control", "single"),
    ("battery-monitor", "healthy"),
    ("rail-chain", "double"),
    ("opto-inputs", "unlisted"),
    ("load-switch", "wide"),
)
ALL = sorted(sections())


def stored(name: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads((CASES / f"{name}.json").read_text(encoding="utf-8"))
    return found


@pytest.mark.spice
@pytest.mark.parametrize(("name", "kind"), REGENERATED)
def test_a_stored_case_comes_back_from_the_simulator(name: str, kind: str) -> None:
    if shutil.which("ngspice") is None:
        pytest.skip("ngspice is not installed here; the stored cases are used as they are")
    said = next(case for case in stored(name)["cases"] if case["set"] == kind)
    faults = tuple(Fault.from_json(fault) for fault in said["faults"])
    width = WIDE if kind == "wide" else 1.0
    again = readings(sections()[name], faults, said["board"], width, f"{name}:{said['id']}")
    for key, absolute in (("volts", 0.005), ("ohms", 0.1), ("diode", 0.005), ("diode_swapped", 0.005)):
        for got, kept in zip(again[key], said[key], strict=True):
            assert (got is None) == (kept is None), key
            assert got is None or math.isclose(got, kept, rel_tol=0.003, abs_tol=absolute), key
    assert math.isclose(again["amps"], said["amps"], rel_tol=0.003, abs_tol=0.0002)


@pytest.mark.parametrize("name", ALL)
def test_the_board_folder_is_that_of_the_section(name: str) -> None:
    for file, text in board_files(sections()[name]).items():
        assert (BOARDS / name / file).read_text(encoding="utf-8") == text


@pytest.mark.parametrize("name", ALL)
def test_the_board_folder_reads_without_a_complaint(name: str) -> None:
    board = pytest.importorskip("reworkkit.read.folder").read_board(BOARDS / name)
    section = sections()[name]
    assert set(board.parts) == {part.ref for part in section.parts}
    assert all(board.pins[part.ref, n].net == part.roles[r] for part in section.parts for r, n in part.pins.items())
    assert not [finding for finding in board.findings if finding.severity != "note"]


@pytest.mark.parametrize("name", ALL)
def test_a_section_has_the_size_it_should_have(name: str) -> None:
    section = sections()[name]
    assert 12 <= len(section.parts) <= 35
    assert len(section.points) == 13
    nets = {net for part in section.parts for net in part.nets}
    assert all(point in nets or "." in point for point in section.points)
    refs = [part.ref for part in section.parts]
    assert len(refs) == len(set(refs))


def test_there_are_enough_cases_of_each_set() -> None:
    counts: dict[str, int] = {}
    for name in ALL:
        for case in stored(name)["cases"]:
            counts[case["set"]] = counts.get(case["set"], 0) + 1
    least = {"single": 230, "double": 60, "unlisted": 80, "healthy": 46, "wide": 46}
    assert {kind: counts[kind] >= n for kind, n in least.items()} == dict.fromkeys(least, True)
    assert sum(path.stat().st_size for path in CASES.iterdir()) < 3_000_000


@pytest.mark.parametrize("name", ALL)
def test_stored_cases_fit_their_section(name: str) -> None:
    kept, section = stored(name), sections()[name]
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
    section = sections()[name]
    for case in stored(name)["cases"]:
        for shown in (case, *case.get("after", ())):
            top = section.supply_v * (1 + (section.supply_percent * WIDE + 1.0) / 100) + 0.03
            assert max(shown["volts"]) < top
            lowest = -top if "supply:swapped" in {f["id"] for f in case["faults"]} else 0.0
            assert min(shown["volts"]) > lowest - 0.04
            floor = METERS[section.meter].amp[1] + METERS[section.meter].amp_step
            assert -floor - 0.001 < shown["amps"] < section.limit_a * 1.08 + floor


@pytest.mark.parametrize("name", ALL)
def test_partners_are_mutual(name: str) -> None:
    partners = stored(name)["partners"]
    assert all(a in partners[b] for a, others in partners.items() for b in others)
