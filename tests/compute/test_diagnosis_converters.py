"""Diagnosis of converters that nothing comes back to: they climb, and nobody knows how far."""

from pathlib import Path

import pytest

from reworkkit.compute.diagnosis import Stage, diagnose, prepare
from reworkkit.model.vocabulary import Mode
from tests.compute.small_boards import first_faults, opened, reading, written

PARTS = """Designator,Quantity,Value,Package,Description
J1,1,9 V in,Terminal,screw terminal
{converter}
L1,1,47uH,1210,inductor
D1,1,SS34,SMA,Schottky diode
R1,1,{top},0603,resistor 1 %
R2,1,10k,0603,resistor 1 %
R3,1,4k7,1206,resistor 5 %
"""
UP_NETS = """designator,pin,net,name
J1,1,VIN,
J1,2,GND,
U1,1,SW,SW
U1,2,GND,GND
U1,3,FB,FB
U1,4,VIN,EN
U1,5,VIN,IN
L1,1,VIN,
L1,2,SW,
D1,1,OUT,K
D1,2,SW,A
R1,1,OUT,
R1,2,FB,
R2,1,FB,
R2,2,GND,
R3,1,OUT,
R3,2,GND,
"""
BELOW_NETS = """designator,pin,net,name
J1,1,VIN,
J1,2,GND,
U1,1,VIN,VIN
U1,2,SW,OUTPUT
U1,3,OUT,GND
U1,4,FB,FEEDBACK
U1,5,OUT,ON/OFF
L1,1,SW,
L1,2,GND,
D1,1,SW,K
D1,2,OUT,A
R1,1,GND,
R1,2,FB,
R2,1,FB,
R2,2,OUT,
R3,1,OUT,
R3,2,GND,
"""
FACTS = """name = "One converter"
[board]
ground = ["GND"]
[supplies]
VIN = "9 V, limit 0.5 A"
"""
UP = PARTS.format(converter="U1,1,MT3608,SOT-23-6,step-up converter", top="240k")
BELOW = PARTS.format(converter="U1,1,LM2576T-ADJ,TO-220-5,switching regulator", top="56k")


def stage() -> Stage:
    """Return the stage with the one supply."""
    return Stage(None, "VIN", 0.5, None)


@pytest.mark.parametrize("out_v", [24.0, 28.0, 33.0])
def test_a_feedback_pin_without_contact_lets_a_step_up_converter_climb(tmp_path: Path, out_v: float) -> None:
    """The divider still divides what the output climbs to: 240k and 10k make a 25th of it.

    That the output climbs to what the switch stands, of this type 28 V: maker's sheet, from memory.
    """
    board, circuit = opened(written(tmp_path, {"bom.csv": UP, "netlist.csv": UP_NETS, "board.toml": FACTS}))
    readings = [reading("OUT", out_v), reading("FB", out_v / 25), reading("VIN", 9.0)]
    amps = (out_v / 250e3 + out_v / 4700) * out_v / 9 / 0.87
    found = diagnose(board, circuit, [*readings, reading("supply", amps, Mode.AMPS)], stage())
    assert ("U1", "pin_open") in first_faults(found)


@pytest.mark.parametrize("out_v", [-15.0, -22.0, -30.0])
def test_an_open_resistor_lets_a_converter_below_ground_run_away(tmp_path: Path, out_v: float) -> None:
    """Its feedback pin then stands at its own ground, the output: common practice, no source."""
    board, circuit = opened(written(tmp_path, {"bom.csv": BELOW, "netlist.csv": BELOW_NETS, "board.toml": FACTS}))
    readings = [reading("OUT", out_v), reading("FB", out_v), reading("VIN", 9.0)]
    amps = out_v**2 / 4700 / 9 / 0.75 + 0.005
    found = diagnose(board, circuit, [*readings, reading("supply", amps, Mode.AMPS)], stage())
    assert ("R1", "open") in first_faults(found)


def test_a_converter_below_ground_works_as_its_divider_says(tmp_path: Path) -> None:
    """Closed form: 1.23 V (1 + 56/10), below ground."""
    board, circuit = opened(written(tmp_path, {"bom.csv": BELOW, "netlist.csv": BELOW_NETS, "board.toml": FACTS}))
    made = prepare(board, circuit, stage())
    assert made.settled[0]
    assert made.states[0, made.template.nodes.index("OUT")] == pytest.approx(-1.23 * 6.6, abs=0.05)
