"""What stands as it was read, or limits: comparators that hold themselves, enable pins, supervisors, load switches."""

from pathlib import Path

import pytest

from reworkkit.compute.diagnosis import Stage, diagnose, prepare
from reworkkit.model.diagnosis import DiagnosisVerdict
from reworkkit.model.vocabulary import Mode
from reworkkit.read.folder import read_board
from tests.compute.small_boards import first_faults, opened, reading, volts_under, written
from tests.compute.stage_spice import derived

FACTS = """name = "One section"
[board]
ground = ["GND"]
[supplies]
V5 = "5 V, limit 0.5 A"
"""
LATCH = """Designator,Quantity,Value,Package,Description
J1,1,5 V in,Terminal,screw terminal
U1,1,LM393N,DIP-8,dual comparator
R1,1,100k,0603,resistor 1 %
R2,1,10k,0603,resistor 1 %
R3,1,10k,0603,resistor 1 %
R4,1,10k,0603,resistor 1 %
D1,1,1N4148,DO-35,diode
"""
LATCH_NETS = """designator,pin,net,name
J1,1,V5,
J1,2,GND,
U1,1,OUT,
U1,2,LEVEL,
U1,3,SENSE,
U1,4,GND,
U1,5,GND,
U1,6,V5,
U1,7,,
U1,8,V5,
R1,1,V5,
R1,2,LEVEL,
R2,1,LEVEL,
R2,2,GND,
R3,1,V5,
R3,2,OUT,
R4,1,SENSE,
R4,2,GND,
D1,1,SENSE,K
D1,2,OUT,A
"""
TRIPPED_V = (5.0 - 0.55) / 2
"""10k and 10k behind a diode that carries 0.2 mA: 0.55 V, from its sheet (from memory)."""


def stage() -> Stage:
    """Return the stage with the one supply."""
    return Stage(None, "V5", 0.5, None)


@pytest.mark.parametrize(("out_v", "sense_v"), [(0.01, 0.0), (TRIPPED_V + 0.55, TRIPPED_V)])
def test_a_comparator_that_holds_itself_may_stand_either_way(tmp_path: Path, out_v: float, sense_v: float) -> None:
    """A diode from its output back to its input: at rest or tripped, the board is healthy (reasoning)."""
    board, circuit = opened(written(tmp_path, {"bom.csv": LATCH, "netlist.csv": LATCH_NETS, "board.toml": FACTS}))
    readings = [reading("V5", 5.0), reading("OUT", out_v), reading("SENSE", sense_v), reading("LEVEL", 5.0 / 11)]
    assert diagnose(board, circuit, readings, stage()).verdict is DiagnosisVerdict.NO_FAULT_SEEN


def test_one_that_is_at_rest_though_its_input_is_high_is_at_fault(tmp_path: Path) -> None:
    """The input above the level, the output low: no state of a healthy board."""
    board, circuit = opened(written(tmp_path, {"bom.csv": LATCH, "netlist.csv": LATCH_NETS, "board.toml": FACTS}))
    readings = [reading("V5", 5.0), reading("OUT", 0.01), reading("SENSE", 2.0), reading("LEVEL", 5.0 / 11)]
    assert diagnose(board, circuit, readings, stage()).verdict is not DiagnosisVerdict.NO_FAULT_SEEN


SEQUENCE = """Designator,Quantity,Value,Package,Description
J1,1,5 V in,Terminal,screw terminal
J2,1,to the other board,JST 2,plug
U1,1,MAX809LEUR,SOT-23,supervisor 4.63 V
U2,1,RT9013-18GB,SOT-23-5,regulator 1.8 V
R1,1,1k,0603,resistor 1 %
"""
SEQUENCE_NETS = """designator,pin,net,name
J1,1,V5,
J1,2,GND,
J2,1,PG,
J2,2,GND,
U1,1,GND,
U1,2,PG,
U1,3,V5,
U2,1,V5,
U2,2,GND,
U2,3,PG,
U2,4,,
U2,5,V18,
R1,1,V18,
R1,2,GND,
"""


def test_a_supervisor_that_stays_low_keeps_a_regulator_off_whatever_listens_at_a_plug(tmp_path: Path) -> None:
    """Low at the enable pin: off (maker's sheet, from memory). Another version of the supervisor does it as well."""
    board, circuit = opened(written(tmp_path, {"bom.csv": SEQUENCE, "netlist.csv": SEQUENCE_NETS, "board.toml": FACTS}))
    healthy = [reading("V5", 5.0), reading("PG", 5.0), reading("V18", 1.8)]
    assert diagnose(board, circuit, healthy, stage()).verdict is DiagnosisVerdict.NO_FAULT_SEEN
    found = diagnose(board, circuit, [reading("V5", 5.0), reading("PG", 0.0), reading("V18", 0.0)], stage())
    kinds = {kind for ref, kind in first_faults(found) if ref == "U1"}
    assert {"pin_open", "wrong_variant"} <= kinds


SWITCH = """Designator,Quantity,Value,Package,Description
J1,1,5 V in,Terminal,screw terminal
J2,1,out,JST 2,plug
U1,1,TPS2553DBVR,SOT-23-6,power switch
R1,1,49k9,0603,resistor 1 %
R2,1,1k,0603,resistor 1 %
C1,1,10uF,0805,capacitor
"""
SWITCH_NETS = """designator,pin,net,name
J1,1,V5,
J1,2,GND,
J2,1,OUT,
J2,2,GND,
U1,1,V5,
U1,2,GND,
U1,3,V5,
U1,4,,
U1,5,SET,
U1,6,OUT,
R1,1,SET,
R1,2,GND,
R2,1,OUT,
R2,2,GND,
C1,1,OUT,
C1,2,GND,
"""


@pytest.mark.parametrize("amps", [0.35, 0.6, 1.4])
def test_a_shorted_output_behind_a_power_switch_that_limits(tmp_path: Path, amps: float) -> None:
    """The supply could give more: the switch limits, at what its resistor sets (maker's sheet, from memory)."""
    facts = FACTS.replace("0.5 A", "3 A")
    board, circuit = opened(written(tmp_path, {"bom.csv": SWITCH, "netlist.csv": SWITCH_NETS, "board.toml": facts}))
    readings = [reading("V5", 4.98), reading("OUT", 0.01), reading("supply", amps, Mode.AMPS)]
    found = diagnose(board, circuit, readings, Stage(None, "V5", 3.0, None))
    assert ("C1", "shorted") in first_faults(found)


DRIVEN = """Designator,Quantity,Value,Package,Description
J1,1,5 V in,Terminal,screw terminal
A1,1,Arduino Nano,,controller
U1,1,TC4427ACOA,SOIC-8,gate driver
R1,1,10k,0603,resistor 1 %
R2,1,22R,0603,resistor 1 %
R3,1,10k,0603,resistor 1 %
"""
DRIVEN_NETS = """designator,pin,net,name
J1,1,V5,
J1,2,GND,
A1,1,IN,D9
A1,2,V5,5V
A1,3,GND,GND
U1,2,IN,
U1,3,GND,
U1,4,GND,
U1,5,,
U1,6,V5,
U1,7,OUT,
R1,1,V5,
R1,2,IN,
R2,1,OUT,
R2,2,GATE,
R3,1,GATE,
R3,2,GND,
"""


def test_a_controller_that_is_not_fitted_decides_nothing(tmp_path: Path) -> None:
    """A resistor lifts the input, so the output is high; with the controller in its socket nobody knows (reasoning)."""
    board, circuit = opened(written(tmp_path, {"bom.csv": DRIVEN, "netlist.csv": DRIVEN_NETS, "board.toml": FACTS}))
    readings = [reading("V5", 5.0), reading("GATE", 0.0), reading("OUT", 5.0)]
    there = frozenset(("J1", "U1", "R1", "R2", "R3"))
    found = diagnose(board, circuit, readings, Stage(None, "V5", 0.5, there))
    assert ("R2", "open") in first_faults(found)
    assert prepare(board, circuit, Stage(None, "V5", 0.5, there)).catalogue.comparators
    assert not prepare(board, circuit, Stage(None, "V5", 0.5, there | {"A1"})).catalogue.comparators


PRE_CHARGE = """Designator,Quantity,Value,Package,Description
J1,1,24 V in,Terminal,screw terminal
R1,1,220R,axial,pre-charge resistor
K1,1,24 V relay 1k4,,pre-charge relay
Q1,1,BC337,TO-92,NPN transistor
D1,1,BZX55C15,DO-35,Zener diode 15 V
R2,1,10k,0603,resistor 1 %
R3,1,2k2,0603,resistor 1 %
R4,1,4k7,0603,load resistor 1 %
D2,1,1N4007,DO-41,diode
"""
PRE_CHARGE_NETS = """designator,pin,net,name
J1,1,V5,
J1,2,GND,
R1,1,V5,
R1,2,LINK,
K1,A1,V5,
K1,A2,COIL,
K1,COM,V5,
K1,NO,LINK,
D1,K,LINK,
D1,A,SENSE,
R2,1,SENSE,
R2,2,BASE,
R3,1,BASE,
R3,2,GND,
Q1,1,COIL,C
Q1,2,BASE,B
Q1,3,GND,E
R4,1,LINK,
R4,2,GND,
D2,A,COIL,
D2,K,V5,
"""


def test_a_relay_that_holds_itself_never_pulls_in_without_what_starts_it(tmp_path: Path) -> None:
    """The pre-charge resistor open: the link is never up, so the relay that bridges the resistor stays off."""
    facts = FACTS.replace("5 V,", "24 V,")
    files = {"bom.csv": PRE_CHARGE, "netlist.csv": PRE_CHARGE_NETS, "board.toml": facts}
    board, circuit = opened(written(tmp_path, files))
    up = [reading("V5", 24.0), reading("LINK", 24.0), reading("COIL", 0.05)]
    assert diagnose(board, circuit, up, stage()).verdict is DiagnosisVerdict.NO_FAULT_SEEN
    assert volts_under(prepare(board, circuit, stage()), "R1", "open")["LINK"] < 0.1
    down = [reading("V5", 24.0), reading("LINK", 0.0), reading("COIL", 24.0), reading("supply", 0.0, Mode.AMPS)]
    assert ("R1", "open") in first_faults(diagnose(board, circuit, down, stage()))


SHUNT = """Designator,Quantity,Value,Package,Description
J1,1,5 V in,Terminal,screw terminal
R1,1,10R,axial,load resistor
R2,1,R050,2512,shunt 1 %
"""
SHUNT_NETS = """designator,pin,net,name
J1,1,V5,
J1,2,GND,
R1,1,V5,
R1,2,SENSE,
R2,1,SENSE,
R2,2,GND,
"""


def test_solder_across_a_shunt(tmp_path: Path) -> None:
    """50 milliohm bridged by some 5: a tenth of the millivolts is left (Ohm's law)."""
    board, circuit = opened(written(tmp_path, {"bom.csv": SHUNT, "netlist.csv": SHUNT_NETS, "board.toml": FACTS}))
    made = prepare(board, circuit, stage())
    sizes = [one for one in made.catalogue.hypotheses if (one.fault.ref, one.fault.kind) == ("R2", "shorted")]
    assert sizes
    volts = volts_under(made, "R2", "shorted")["SENSE"]
    assert volts < 0.2 * 5.0 * 0.05 / 10.05


@pytest.mark.parametrize(("volts", "verdict"), [(11.98, "no_fault_seen"), (9.0, "fault")])
def test_a_part_of_unknown_behaviour_behind_a_fuse_moves_its_net_little(
    tmp_path: Path, volts: float, verdict: str
) -> None:
    """Reasoning: what is fed by a fuse stands at its supply, whatever hangs on it; 3 V less are a poor joint."""
    rows = "F1,1 A,1206,fuse\nX1,XQ9000,,\nR1,100R 1%,,\nR2,100R 1%,,\n"
    made = derived(tmp_path, rows, "F1 1=V 2=VF\nX1 1=VF 2=OUT 3=IN\nR1 1=VF 2=H\nR2 1=H 2=GND", 12.0)
    read = [reading("V", 12.0), reading("VF", volts), reading("H", volts / 2)]
    assert diagnose(read_board(tmp_path), made, read, Stage(None, "V", 1.0, None)).verdict.value == verdict


@pytest.mark.parametrize(("gate_v", "verdict"), [(0.02, "no_fault_seen"), (1.7, "no_fault_seen"), (7.0, "fault")])
def test_a_follower_at_0_volts_stands_where_its_offset_puts_it(tmp_path: Path, gate_v: float, verdict: str) -> None:
    """A current sink set to nothing: an LM358 is off by up to 7 mV either way (maker's sheet, from memory).

    With the one sign it stays low, with the other it holds the gate where the transistor begins; never far above.
    """
    rows = "U1,LM358N,DIP-8,\nQ1,IRLZ44N,TO-220,\nR1,1k 1%,,\nR2,1R 1%,,\nR3,10R 5W,,\n"
    nets = "U1 1=GO 2=SH 3=IN 4=GND 8=V\nQ1 1=GO 2=D 3=SH\nR1 1=IN 2=GND\nR2 1=SH 2=GND\nR3 1=V 2=D"
    made = derived(tmp_path, rows, nets, 9.0)
    read = [reading("V", 9.0), reading("IN", 0.0), reading("SH", 0.0), reading("GO", gate_v), reading("D", 9.0)]
    assert diagnose(read_board(tmp_path), made, read, Stage(None, "V", 1.0, None)).verdict.value == verdict
