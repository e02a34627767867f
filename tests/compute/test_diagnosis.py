"""Diagnosis of a small board: readings in, faults and next checks out."""

from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from reworkkit.compute.diagnosis import Priors, Stage, diagnose, engine_of, prepare, reading_twice
from reworkkit.compute.diagnosis.dictionary import Dictionary
from reworkkit.compute.diagnosis.meter import meters_on
from reworkkit.compute.diagnosis.sensitivity import Levers, loadings, loose_columns, spreads
from reworkkit.compute.formulas.network import solve
from reworkkit.model.diagnosis import Certainty, Diagnosis, DiagnosisVerdict
from reworkkit.model.job import PlaceState, Situation
from reworkkit.model.measuring import Reading
from reworkkit.model.vocabulary import Basis, Mode, WayRound
from reworkkit.pipeline.diagnosing import diagnose as diagnose_folder
from reworkkit.pipeline.opening import Request
from tests.compute.small_boards import first_faults, opened, reading, written
from tests.conftest import PROJECT

PRACTICE = "common practice, no source: 12 V in, nothing drawn, about nothing behind it is a reversed series diode"
STAGE = Stage("rails", "VIN", 0.3, None)
BOM = """Designator,Quantity,Value,Package,Description
J1,1,12 V in,Terminal 5.08 2-way,screw terminal
F1,1,1 A,1206,fuse
"D1, D3",2,1N5819,SMA,Schottky diode
C1,1,100u 25V,Radial D6.3,aluminium electrolytic capacitor
U1,1,7805,TO-220,linear regulator 5 V
C2,1,10u 16V,Radial D5,aluminium electrolytic capacitor
R1,1,1k,0805,resistor 5 %
LED1,1,red,LED 0805,LED red
R2,1,10k,0603,resistor 1 %
R3,1,10k,0603,resistor 1 %
"""
NETLIST = """designator,pin,net,name
J1,1,VIN,
J1,2,GND,
F1,1,VIN,
F1,2,VF,
D1,1,V12,K
D1,2,VF,A
C1,1,V12,+
C1,2,GND,-
U1,1,V12,IN
U1,2,GND,GND
U1,3,V5,OUT
C2,1,V5,+
C2,2,GND,-
R1,1,V5,
R1,2,LA,
LED1,1,LA,A
LED1,2,GND,K
R2,1,V5,
R2,2,HALF,
R3,1,HALF,
R3,2,GND,
D3,1,V5,K
D3,2,HALF,A
"""
FACTS = """name = "Small rail"
[board]
ground = ["GND"]
[supplies]
VIN = "12 V, limit 0.3 A"
[rails]
V5 = { volts = "5 V", tolerance = "4 %", made_by = "U1" }
[loads]
V5 = "20 mA 30 %"
[[hold_points]]
name = "rails"
supply = "VIN"
measure = ["V5"]
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return written(tmp_path_factory.mktemp("small"), {"bom.csv": BOM, "netlist.csv": NETLIST, "board.toml": FACTS})


@cache
def prepared(folder: Path) -> Dictionary:
    return prepare(*opened(folder), STAGE)


def volts(point: str, value: float) -> Reading:
    return reading(point, value, hold_point="rails")


def amps(value: float) -> Reading:
    return reading("supply", value, Mode.AMPS, "rails")


def ohms(point: str, value: float | None) -> Reading:
    return reading(point, value, Mode.OHMS)


def asked(folder: Path, *readings: Reading) -> Diagnosis:
    board, circuit = opened(folder)
    return diagnose(board, circuit, readings, STAGE)


HEALTHY = (volts("VF", 12.0), volts("V12", 11.7), volts("V5", 5.02), amps(0.031))


def test_a_healthy_board_shows_no_fault_at_the_points_measured(folder: Path) -> None:
    found = asked(folder, *HEALTHY)
    assert found.verdict is DiagnosisVerdict.NO_FAULT_SEEN
    assert all(one.inside for one in found.points)
    assert ("C1", "open") in {(fault.ref, fault.kind) for fault in found.same_look}, "missing capacitors look the same"


def test_a_reversed_series_diode(folder: Path, published: Callable[..., None]) -> None:
    found = asked(folder, volts("VIN", 12.0), volts("VF", 12.0), volts("V12", 0.0), volts("V5", 0.0), amps(0.0))
    named = ("D1", "reversed") in first_faults(found)
    published("12 V at the input, none behind the diode, nothing drawn", named, True, source=PRACTICE)
    twins = [one for one in found.remarks if one.slug == "diagnose-twins"]
    assert [dict(one.facts)["refs"] for one in twins] == ["D3"], "its twin of the same kind is to be checked"
    assert any(one.slug == "diagnose-hidden" for one in found.remarks)


def test_an_open_ground_pin_lifts_the_rail_and_says_what_to_measure(folder: Path) -> None:
    found = asked(folder, volts("VF", 12.0), volts("V12", 11.7), volts("V5", 9.8), amps(0.045))
    named = {(fault.ref, fault.kind) for group in found.groups for fault in group.faults}
    assert ("U1", "ground_open") in named
    assert any(check.check.mode is Mode.OHMS and check.check.point.text == "U1.2 to GND" for check in found.next)
    proven = asked(
        folder, volts("VF", 12.0), volts("V12", 11.7), volts("V5", 9.8), amps(0.045), ohms("U1.2 to GND", None)
    )
    assert first_faults(proven) == {("U1", "ground_open")}
    denied = asked(
        folder, volts("VF", 12.0), volts("V12", 11.7), volts("V5", 9.8), amps(0.045), ohms("U1.2 to GND", 0.2)
    )
    assert ("U1", "ground_open") not in first_faults(denied)


def test_a_single_reading_is_never_almost_certain(folder: Path) -> None:
    found = asked(folder, volts("V5", 0.0))
    assert all(group.certainty is not Certainty.ALMOST_CERTAINLY for group in found.groups)


def test_impossible_readings_match_no_fault(folder: Path) -> None:
    found = asked(folder, volts("VF", 12.0), volts("V12", 11.7), volts("V5", 5.0), volts("HALF", 30.0), amps(0.031))
    assert found.verdict is DiagnosisVerdict.NO_LISTED_FAULT_FITS
    assert all(group.certainty is Certainty.POSSIBLE for group in found.groups)


def test_without_readings_or_supply_nothing_is_judged(folder: Path) -> None:
    board, circuit = opened(folder)
    assert asked(folder).verdict is DiagnosisVerdict.NOT_ENOUGH
    without = diagnose(board, circuit, HEALTHY, STAGE._replace(supply=None))
    assert without.verdict is DiagnosisVerdict.NOT_ENOUGH
    assert without.not_judged


def test_an_unknown_point_is_a_question_not_a_guess(folder: Path) -> None:
    found = asked(folder, *HEALTHY, volts("NOWHERE", 1.0))
    assert ("NOWHERE",) in [one.about for one in found.not_judged]


def test_the_order_of_readings_changes_nothing(folder: Path) -> None:
    """Invariant."""
    readings = [volts("VF", 12.0), volts("V12", 11.6), volts("V5", 3.1), amps(0.3)]
    one, other = asked(folder, *readings), asked(folder, *reversed(readings))
    assert [set(g.faults) for g in one.groups] == [set(g.faults) for g in other.groups]


def test_a_point_read_twice_differently_is_asked_about() -> None:
    assert [dict(f.message.facts)["point"] for f in reading_twice([volts("V5", 5.0), volts("V5", 3.0)])] == ["V5"]
    assert not reading_twice([volts("V5", 5.0), volts("V5", 5.01)])


def test_answers_of_a_check_cover_what_is_expected(folder: Path) -> None:
    """Invariant: the chances of the answers add up to one, and their ranges follow each other."""
    found = asked(folder, volts("V12", 11.7), volts("V5", 0.0))
    assert found.next
    for check in found.next:
        assert sum(one.likely_percent for one in check.answers) == pytest.approx(100, abs=0.5)


def test_the_answers_of_a_supply_are_not_below_zero() -> None:
    """Invariant: what a supply gives has no sign. The readings are those of the example board."""
    found = diagnose_folder(Request(PROJECT / "example_boards" / "greenhouse-valves")).result
    (supply,) = (check for check in found.next if check.check.mode is Mode.AMPS)
    assert all((one.reading.high or 1.0) > 0 and (one.reading.low or 0.0) >= 0 for one in supply.answers)


def test_capacitors_that_may_be_reversed_stop_the_work(folder: Path) -> None:
    found = asked(folder, volts("VF", 12.0), volts("V12", 11.6), volts("V5", 5.0), amps(0.11))
    assert "diagnose-stop-reversed" in {stop.slug for stop in found.stops}


def test_parts_over_their_rating_are_named(folder: Path) -> None:
    found = asked(folder, volts("VF", 30.2), volts("V12", 30.0), volts("V5", 5.0), volts("VIN", 30.3), amps(0.031))
    stressed = {(one.ref, one.quantity): one.rating for one in found.over_stressed}
    assert stressed.get(("C1", "voltage")) == "25 V"


def test_a_way_round_that_was_measured_lowers_reversed() -> None:
    rows = ({"key": "turned_measured", "kind": "factor", "percent": "0.03", "sizes": ""},)
    state = PlaceState("D1", way_round=WayRound.MEASURED)
    priors = Priors(rows, Situation(1, Basis.FILES, None, {"D1": state}))
    assert priors.factor("D1", "reversed") == pytest.approx(0.03)
    assert priors.factor("D1", "open") == 1.0


def test_linear_spreads_agree_with_solving_again(folder: Path) -> None:
    """Independent: the same tolerance put into the circuit and solved in full."""
    dictionary = prepared(folder)
    template, row = dictionary.template, dictionary.rows[:1]
    columns = loose_columns(template, row[0])
    moved = loadings(template, columns, row, dictionary.states[:1], Levers([], []), meters_on(template)).by_figures
    sigma = spreads(template, columns, row)
    count = len(template.nodes)
    for k, column in enumerate(columns):
        up, down = row.copy(), row.copy()
        up[0, column] += 0.2 * sigma[0, k]
        down[0, column] -= 0.2 * sigma[0, k]
        both = solve(template, np.concatenate([up, down]), dictionary.states[:1]).state
        slope = (both[0] - both[1])[:count] / 0.4
        assert moved[0, :count, k] == pytest.approx(slope, rel=0.05, abs=2e-3), template.parameters[column]


def test_every_hypothesis_of_a_small_board_settles(folder: Path) -> None:
    assert prepared(folder).settled.all()


def test_a_wrong_fact_is_told_first(folder: Path) -> None:
    board, circuit = opened(folder)
    wrong = replace(board.facts.rails["V5"], volts=board.facts.supplies["VIN"].volts)
    facts = replace(board.facts, rails={"V5": wrong})
    found = diagnose(replace(board, facts=facts), circuit, HEALTHY, STAGE)
    assert "diagnose-fact-contradicts" in {finding.message.slug for finding in found.findings}


def test_a_reading_put_into_the_engine_moves_the_shares(folder: Path) -> None:
    board, circuit = opened(folder)
    none, _ = engine_of(board, circuit, prepared(folder), ())
    some, _ = engine_of(board, circuit, prepared(folder), (volts("V5", 0.0),))
    assert some.shares[0] < 0.01 < none.shares[0]
