"""A comparator follows its inputs under every fault; checks stand in for those that cannot be made."""

from functools import cache
from pathlib import Path

import pytest

from reworkkit.compute.circuit import derive_circuit
from reworkkit.compute.diagnosis import Stage, diagnose, prepare
from reworkkit.compute.diagnosis.comparators import Comparator, comparators, signal_inputs
from reworkkit.compute.diagnosis.dictionary import Dictionary
from reworkkit.model.diagnosis import DiagnosisVerdict
from reworkkit.model.measuring import Reading
from reworkkit.model.vocabulary import Mode, ReadingForm
from reworkkit.read.folder import read_board
from tests.compute.small_boards import opened, volts_under, written

STAGE = Stage("all", "V5", 0.1, None)
FILES = {
    "bom.csv": """Designator,Value,Package,Description
J1,5 V in,Terminal 5.08 2-way,screw terminal
R1,10k,0603,resistor 1 %
R2,10k,0603,resistor 1 %
R3,10k,0603,resistor 1 %
R4,22k,0603,resistor 1 %
R5,10k,0603,resistor 5 %
U1,LMV331,SOT-23-5,"comparator, open drain"
""",
    "netlist.csv": """designator,pin,net,name
J1,1,V5,
J1,2,GND,
R1,1,V5,
R1,2,PLUS,
R2,1,PLUS,
R2,2,GND,
R3,1,V5,
R3,2,MINUS,
R4,1,MINUS,
R4,2,GND,
R5,1,V5,
R5,2,FULL,
U1,1,PLUS,IN+
U1,2,GND,V-
U1,3,MINUS,IN-
U1,4,FULL,OUT
U1,5,V5,V+
""",
    "board.toml": """name = "Tank full, invented"
[board]
ground = ["GND"]
[supplies]
V5 = "5 V, limit 0.1 A"
[rails]
V5 = "5 V 5 %"
[[hold_points]]
name = "all"
supply = "V5"
measure = ["FULL"]
""",
}


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return written(tmp_path_factory.mktemp("full"), FILES)


@cache
def prepared(folder: Path) -> Dictionary:
    return prepare(*opened(folder), STAGE)


def full(folder: Path, ref: str = "", kind: str = "none") -> float:
    return volts_under(prepared(folder), ref, kind)["FULL"]


def test_a_comparator_is_known_by_its_text_and_pins(folder: Path) -> None:
    board = read_board(folder)
    assert comparators(derive_circuit(board)) == (Comparator("U1", "PLUS", "MINUS", "FULL"),)
    assert signal_inputs(board) == {("U1", "PLUS"), ("U1", "MINUS")}


@pytest.mark.parametrize(
    ("ref", "kind", "low"),
    [("", "none", True), ("R1", "open", True), ("R2", "open", False), ("R3", "open", False), ("U1", "open", False)],
)
def test_its_output_is_what_its_inputs_say(folder: Path, ref: str, kind: str, low: bool) -> None:
    """Ohm's law: plus is at 2.5 V, minus at 5 V x 22/32 = 3.4 V; open resistors put them at a rail."""
    if (ref, kind) == ("U1", "open") and ("U1", "open") not in {
        (h.fault.ref, h.fault.kind) for h in prepared(folder).catalogue.hypotheses
    }:
        pytest.skip("a chip without stated supply current has no such fault")
    assert (full(folder, ref, kind) < 0.5) is low


def test_a_fault_at_an_input_is_found_at_the_output(folder: Path) -> None:
    board = read_board(folder)
    shown = {"V5": 5.0, "FULL": 4.98, "PLUS": 2.5, "MINUS": 0.0}
    readings = [
        Reading(net, Mode.VOLTS, ReadingForm.VALUE, value, "V", False, "all", f"{value} V")
        for net, value in shown.items()
    ]
    found = diagnose(board, derive_circuit(board), readings, STAGE)
    assert ("R3", "open") in {(fault.ref, fault.kind) for fault in found.groups[0].faults}


def test_checks_stand_in_for_those_out_of_reach(folder: Path) -> None:
    board = read_board(folder)
    reading = Reading("FULL", Mode.VOLTS, ReadingForm.VALUE, 4.98, "V", False, "all", "4.98 V")
    found = diagnose(board, derive_circuit(board), [reading], STAGE)
    points = [one.check.point.text for one in found.next]
    assert 3 <= len(points) == len(set(points)), "each at another place"
    assert not found.next[0].instead


def nearly_equal(folder: Path) -> Path:
    """Return a board whose comparator sees 2.5 V at both inputs, within the tolerance of four resistors."""
    files = FILES | {"bom.csv": FILES["bom.csv"].replace("R4,22k", "R4,10k")}
    return written(folder, files)


@pytest.mark.parametrize("out", [0.02, 4.98])
def test_an_output_that_tolerances_decide_is_no_fault_either_way(tmp_path: Path, out: float) -> None:
    """Two halves of 5 V by 1 % resistors: which is higher nobody can tell (Ohm's law)."""
    board = read_board(nearly_equal(tmp_path))
    shown = {"V5": 5.0, "FULL": out, "PLUS": 2.5, "MINUS": 2.5}
    readings = [
        Reading(net, Mode.VOLTS, ReadingForm.VALUE, value, "V", False, "all", f"{value} V")
        for net, value in shown.items()
    ]
    found = diagnose(board, derive_circuit(board), readings, STAGE)
    assert found.verdict is DiagnosisVerdict.NO_FAULT_SEEN


def test_an_output_far_from_its_edge_is_decided(folder: Path, tmp_path: Path) -> None:
    assert prepared(folder).turns[0] == 0
    near = prepare(*opened(nearly_equal(tmp_path)), STAGE)
    assert near.turns[0] == pytest.approx(0.5, abs=0.05)


HALL = {
    "bom.csv": """Designator,Value,Package,Description
J1,5 V in,Terminal 5.08 2-way,screw terminal
U1,A3144EUA,TO-92,Hall switch
R1,10k,0603,resistor 1 %
""",
    "netlist.csv": """designator,pin,net,name
J1,1,V5,
J1,2,GND,
U1,1,V5,
U1,2,GND,
U1,3,DOOR,
R1,1,V5,
R1,2,DOOR,
""",
    "board.toml": FILES["board.toml"].replace("FULL", "DOOR"),
}


@pytest.mark.parametrize(("door", "amps"), [(5.0, 0.0041), (0.05, 0.0046)])
def test_a_magnet_may_be_there_or_not(tmp_path: Path, door: float, amps: float) -> None:
    """Common practice, no source: nobody's list says whether the door is shut."""
    board = read_board(written(tmp_path, HALL))
    shown = [("V5", Mode.VOLTS, 5.0, "V"), ("DOOR", Mode.VOLTS, door, "V"), ("supply", Mode.AMPS, amps, "A")]
    readings = [
        Reading(net, mode, ReadingForm.VALUE, v, unit, False, "all", f"{v} {unit}") for net, mode, v, unit in shown
    ]
    found = diagnose(board, derive_circuit(board), readings, STAGE)
    assert found.verdict is DiagnosisVerdict.NO_FAULT_SEEN


STRANGE = {
    "bom.csv": """Designator,Value,Package,Description
J1,12 V in,Terminal 5.08 2-way,screw terminal
U1,XY-99,SOT-223,"low side switch, protected"
R1,1k2,0805,resistor 1 %
LED1,red,0805,LED
""",
    "netlist.csv": """designator,pin,net,name
J1,1,V12,
J1,2,GND,
U1,1,IN,
U1,2,DRAIN,
U1,3,GND,
R1,1,V12,
R1,2,LA,
LED1,A,LA,
LED1,K,DRAIN,
""",
    "board.toml": FILES["board.toml"].replace("FULL", "DRAIN").replace("5 V", "12 V").replace("V5", "V12"),
}


@pytest.mark.parametrize(("drain", "anode", "amps"), [(0.02, 1.97, 0.0084), (10.4, 12.0, 0.0)])
def test_a_part_of_unknown_behaviour_holds_what_was_read(
    tmp_path: Path, drain: float, anode: float, amps: float
) -> None:
    """Ohm's law behind it: 10 V across 1.2 kohm where it is on, none where it is off; neither is a fault."""
    board = read_board(written(tmp_path, STRANGE))
    shown = [("V12", 12.0), ("DRAIN", drain), ("LA", anode)]
    readings = [Reading(net, Mode.VOLTS, ReadingForm.VALUE, v, "V", False, "all", f"{v} V") for net, v in shown]
    readings.append(Reading("supply", Mode.AMPS, ReadingForm.VALUE, amps, "A", False, "all", f"{amps} A"))
    found = diagnose(board, derive_circuit(board), readings, Stage("all", "V12", 0.1, None))
    assert found.verdict is DiagnosisVerdict.NO_FAULT_SEEN
    told = {one.reading.point: one.healthy for one in found.points}
    assert told["DRAIN"] is None, "what such a part should do is not known"
    assert told["LA"] is not None


def test_a_reading_that_no_rail_explains_is_held_by_nothing(tmp_path: Path) -> None:
    board = read_board(written(tmp_path, STRANGE))
    readings = [Reading("DRAIN", Mode.VOLTS, ReadingForm.VALUE, 999.0, "V", False, "all", "999 V")]
    found = diagnose(board, derive_circuit(board), readings, Stage("all", "V12", 0.1, None))
    assert [one.inside for one in found.points] == [False]
