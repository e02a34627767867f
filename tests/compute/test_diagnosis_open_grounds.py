"""Chips that lose their ground or supply pin, and transistors that carry more than they are driven for."""

from math import log
from pathlib import Path

import pytest

from reworkkit.compute.diagnosis import Stage, diagnose
from reworkkit.compute.formulas.junction import THERMAL_VOLTAGE
from reworkkit.compute.formulas.network import compile_circuit, solve
from reworkkit.model.vocabulary import Mode
from reworkkit.read.folder import read_board
from tests.compute.small_boards import first_faults, reading
from tests.compute.stage_spice import derived

CONTROLLER = "U1,ATMEGA328P-PU,DIP-28,controller\nR1,10k,,\n", "U1 1:RESET=RST 7:VCC=V 8:GND=GND\nR1 1=V 2=RST", 3.3
FOLLOWER = (
    "U1,LM358N,DIP-8,\nR1,100k,,\nR2,100k,,\nR3,10k,,\n",
    "U1 1=OUT 2=OUT 3=IN 4=GND 5=GND 6=NUL 7=NUL 8=V\nR1 1=V 2=IN\nR2 1=IN 2=GND\nR3 1=OUT 2=GND",
    12.0,
)
LOW_DROP = "U1,LP2950CZ-5.0,TO-92,\nR1,10k,,\n", "U1 1=OUT 2=GND 3=V\nR1 1=OUT 2=GND", 12.0
SINK = (
    "U1,LM358N,DIP-8,\nQ1,IRF540N,TO-220,\nR1,0R22 5%,,\nR2,1k,,\nR3,100k 1%,,\nR4,2k 1%,,\nR5,10R 10W,,\n",
    "U1 1=OUT 2=FB 3=SET 4=GND 5=GND 6=NUL 7=NUL 8=V\nQ1 1=OUT 2=D 3=S\nR1 1=S 2=GND\nR2 1=S 2=FB\n"
    "R3 1=V 2=SET\nR4 1=SET 2=GND\nR5 1=V 2=D",
    12.0,
)
LAMP = (
    "Q1,2N7002,SOT-23,\nR1,330R,,\nLED1,red,,LED\nR2,20k,,\nR3,10k,,\n",
    "Q1 1=G 2=GND 3=D\nR1 1=V 2=A\nLED1 A=A K=D\nR2 1=V 2=G\nR3 1=G 2=GND",
    9.0,
)


@pytest.mark.parametrize(
    ("board", "volts", "amps", "fault"),
    [
        pytest.param(
            CONTROLLER, {"RST": 1.6}, 0.2e-3, ("U1", "supply_open"), id="fed through the pull-up of its reset"
        ),
        pytest.param(
            FOLLOWER, {"IN": 6.0, "OUT": 0.68, "NUL": 0.66}, 0.7e-3, ("U1", "supply_open"), id="a junction above ground"
        ),
        pytest.param(LOW_DROP, {"OUT": 11.1}, 1.2e-3, ("U1", "ground_open"), id="0.9 V below its input"),
        pytest.param(
            LAMP, {"A": 8.98, "D": 6.3, "G": 3.0}, 0.11, ("R1", "shorted"), id="a MOSFET in saturation, 0.11 A at 3 V"
        ),
    ],
)
def test_the_fault_is_in_the_first_group(
    tmp_path: Path, board: tuple[str, str, float], volts: dict[str, float], amps: float, fault: tuple[str, str]
) -> None:
    """Common practice, no source: what a meter shows then, within the spread of types."""
    rows, nets, supply = board
    made = derived(tmp_path, rows, nets, supply)
    read = [reading("V", supply), *(reading(net, value) for net, value in volts.items())]
    read.append(reading("supply", amps, Mode.AMPS))
    assert fault in first_faults(diagnose(read_board(tmp_path), made, read, Stage(None, "V", 0.2, None)))


def test_an_input_that_nothing_holds_leaves_its_amplifier_at_either_end(tmp_path: Path) -> None:
    """R2 open: the bias current of a bipolar input lifts it, and the sink it steers is off (reasoning)."""
    rows, nets, supply = SINK
    made = derived(tmp_path, rows, nets, supply)
    volts = {"V": supply, "SET": 12 * 2 / 102, "OUT": 0.0, "S": 0.0, "D": 12.0}
    read = [*(reading(net, value) for net, value in volts.items()), reading("supply", 0.7e-3, Mode.AMPS)]
    found = diagnose(read_board(tmp_path), made, read, Stage(None, "V", 0.2, None))
    assert ("R2", "open") in {(fault.ref, fault.kind) for group in found.groups[:2] for fault in group.faults}


def test_a_base_driven_hard_leaves_the_collector_at_the_emitter(
    tmp_path: Path, published: pytest.FixtureRequest
) -> None:
    """10 mA at the collector, 85 mA at the base: V = VT ln((1 + 1/Br + Ic/(Ib Br)) / (1 - Ic/(Ib B)))."""
    made = derived(tmp_path, "Q1,BC547B,TO-92,\nR1,390R,,\nR2,47R,,\n", "Q1 1=C 2=B 3=GND\nR1 1=V 2=C\nR2 1=V 2=B", 5.0)
    template = compile_circuit(made)
    left = float(solve(template, template.powered("V")).at("C")[0])
    share = (5.0 / 390) / ((5.0 - 1.0) / 47)
    by_formula = THERMAL_VOLTAGE * log((1 + 1 / 2 + share / 2) / (1 - share / 300))
    published("saturation [V]", left, by_formula, source="Ebers and Moll, Proc. IRE 42 (1954) 1761", absolute=0.03)
