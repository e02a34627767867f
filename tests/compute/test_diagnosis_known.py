"""What is written down already is the base of the diagnosis; outputs that chips switch follow what switches them."""

from pathlib import Path

import pytest

from reworkkit.compute.diagnosis import Known, Stage, diagnose
from reworkkit.model.diagnosis import Certainty, Diagnosis, DiagnosisVerdict
from reworkkit.model.measuring import Reading
from reworkkit.model.messages import message
from reworkkit.model.vocabulary import Mode, ReadingForm
from tests.compute.small_boards import first_faults, opened, reading, written

BOM = """Designator,Quantity,Value,Package,Description
J1,1,12 V in,Terminal 5.08 2-way,screw terminal
F1,1,1 A,1206,fuse
U1,1,LP2950-5.0,SOIC-8,low drop linear regulator 5 V with enable pin
C2,1,10u,0805,ceramic capacitor
R1,1,10k,0603,resistor 1 %
R2,1,10k,0603,resistor 1 %
R3,1,1k,0603,resistor 1 %
R4,1,10k,0603,resistor 1 %
R5,1,10k,0603,resistor 1 %
R6,1,10k,0603,resistor 1 %
U2,1,PC817A,DIP-4,"optocoupler, transistor output"
"""
NETLIST = """designator,pin,net,name
J1,1,VIN,
J1,2,GND,
F1,1,VIN,
F1,2,V12,
U1,1,V12,IN
U1,2,GND,GND
U1,3,EN,EN
U1,4,V5,OUT
C2,1,V5,
C2,2,GND,
R1,1,V5,
R1,2,HALF,
R2,1,HALF,
R2,2,GND,
R3,1,V12,
R3,2,LAMP,
R4,1,V5,
R4,2,OUT,
R5,1,V12,
R5,2,EN,
R6,1,EN,
R6,2,GND,
U2,1,LAMP,A
U2,2,GND,K
U2,3,GND,E
U2,4,OUT,C
"""
FACTS = """name = "Known faults"
[board]
ground = ["GND"]
[supplies]
VIN = "12 V, limit 0.3 A"
[rails]
V5 = { volts = "5 V", tolerance = "4 %", made_by = "U1" }
[loads]
V5 = "20 mA 30 %"
[parts]
U1 = { kind = "linear regulator", out = "5 V" }
[[hold_points]]
name = "rails"
supply = "VIN"
measure = ["V5"]
"""
HEALTHY = {"V12": 12.0, "V5": 5.0, "HALF": 2.5, "EN": 6.0, "OUT": 0.1, "LAMP": 1.15}
"""Ohm's law, a transistor full on and an infrared lamp: common practice, no source."""
WRONG = Known("R2", "wrong_part", message("known-wrong-part", ref="R2", where="fitted.csv:3"))


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return written(tmp_path_factory.mktemp("known"), {"bom.csv": BOM, "netlist.csv": NETLIST, "board.toml": FACTS})


def answer(folder: Path, volts: dict[str, float], *known: Known, ohms: dict[str, float] | None = None) -> Diagnosis:
    board, circuit = opened(folder)
    found = [reading(point, value, hold_point="rails") for point, value in volts.items()]
    found += [reading(point, value, Mode.OHMS) for point, value in (ohms or {}).items()]
    return diagnose(board, circuit, found, Stage("rails", "VIN", 0.3, None, known))


def test_a_known_fault_alone_leaves_nothing_to_explain(folder: Path) -> None:
    seen = HEALTHY | {"HALF": 5 * 1 / 11}
    assert ("R2", "decade_low") in first_faults(answer(folder, seen))
    told = answer(folder, seen, WRONG, ohms={"R2": 950.0})
    assert told.verdict is DiagnosisVerdict.NO_FAULT_SEEN
    assert [one.slug for one in told.known] == ["known-wrong-part"]
    assert all(not fault.kind.startswith("decade") for one in told.groups for fault in one.faults if fault.ref == "R2")


def test_the_finding_is_about_what_a_known_fault_leaves(folder: Path) -> None:
    seen = HEALTHY | {"HALF": 5 * 1 / 11, "OUT": 5.0, "LAMP": 0.0}
    told = answer(folder, seen, WRONG)
    assert told.verdict is DiagnosisVerdict.FAULT
    assert {ref for ref, _ in first_faults(told)} <= {"R3", "U2", "LAMP to GND", "GND to LAMP"}


def test_damage_without_a_meaning_is_said_and_stays_to_be_weighed(folder: Path) -> None:
    hurt = Known("R3", "damaged", message("known-damaged", ref="R3", where="fitted.csv:4"))
    told = answer(folder, HEALTHY | {"OUT": 5.0, "LAMP": 0.0}, hurt)
    assert not told.known
    assert [one.slug for one in told.in_doubt] == ["known-damaged"]
    assert "R3" in {ref for group in told.groups for ref in (f.ref for f in group.faults)}


def test_a_group_that_leaves_a_reading_outside_its_band_is_never_called_probable(folder: Path) -> None:
    told = answer(folder, HEALTHY | {"HALF": 3.4, "V5": 5.25})
    best = [(point.reading.value or 0.0, point.best) for point in told.points if point.best]
    assert any(not (band.low or 0.0) <= value <= (band.high or 0.0) for value, band in best)
    assert told.groups[0].likely_percent > 60
    assert told.groups[0].certainty is Certainty.ONE_OF_THESE


def test_a_reading_far_outside_every_fault_matches_none(folder: Path) -> None:
    assert answer(folder, HEALTHY | {"HALF": 9.0, "EN": 0.4}).verdict is DiagnosisVerdict.NO_LISTED_FAULT_FITS


def test_the_output_of_a_coupler_follows_its_lamp(folder: Path) -> None:
    assert answer(folder, HEALTHY).verdict is DiagnosisVerdict.NO_FAULT_SEEN
    dark = answer(folder, HEALTHY | {"OUT": 5.0})
    assert ("U2", "out_open") in first_faults(dark)
    assert {ref for ref, _ in first_faults(answer(folder, HEALTHY | {"OUT": 5.0, "LAMP": 0.0}))} & {"R3", "U2"}


def test_a_regulator_without_its_enable_is_off(folder: Path) -> None:
    off = HEALTHY | {"V5": 0.0, "HALF": 0.0, "OUT": 0.0, "EN": 0.0}
    told = answer(folder, off)
    assert told.verdict is DiagnosisVerdict.FAULT
    assert {ref for ref, _ in first_faults(told)} & {"R5", "R6", "EN to GND", "GND to EN"}


@pytest.mark.parametrize("share", [1.0, 0.5, 0.2])
def test_a_short_behind_a_limit_that_folds_back_is_a_short(folder: Path, share: float) -> None:
    """Ohm's law at 0.7 ohm; how far regulators fold back: from memory."""
    board, circuit = opened(folder)
    limit = next(e.parameters["limit"].nominal or 0.0 for e in circuit.elements if e.kind == "regulator")
    held = 0.7 * share * limit
    seen = HEALTHY | {"V5": held, "HALF": held / 2, "OUT": 0.1}
    drawn = share * limit + (12 - 1.15) / 1000
    found = [reading(point, volts) for point, volts in seen.items()]
    found.append(Reading("supply", Mode.AMPS, ReadingForm.VALUE, drawn, "A", False, "rails", f"{drawn:g} A"))
    told = diagnose(board, circuit, found, Stage("rails", "VIN", 3.0, None))
    assert told.verdict is DiagnosisVerdict.FAULT
    assert ("C2", "shorted") in first_faults(told)


def test_a_plug_that_is_not_fitted_feeds_nothing(folder: Path) -> None:
    board, circuit = opened(folder)
    there = frozenset(board.parts) - {"J1"}
    found = diagnose(board, circuit, [reading("V5", 4.2)], Stage("rails", "VIN", 0.3, there))
    assert found.groups
    assert all(fault.kind != "back_feed" for group in found.groups for fault in group.faults)
