"""Faults of what sets a figure: the resistor of a driver, an amplifier of the same family with another gain."""

from collections.abc import Callable
from pathlib import Path

import pytest

from reworkkit.compute.circuit import derive_circuit
from reworkkit.compute.diagnosis import Stage, diagnose, prepare
from reworkkit.compute.diagnosis.meter import meters_of
from reworkkit.model.facts import BenchFacts
from reworkkit.model.vocabulary import Mode
from reworkkit.read.folder import read_board
from tests.compute.small_boards import first_faults, opened, reading, volts_under, written
from tests.compute.stage_spice import derived

FACTS = 'name = "Bench"\n[board]\nground = ["GND"]\n[supplies]\nV = "{volts} V, limit 2 A"\n[loads]\n{load}\n'
LAMP = {
    "bom.csv": "Designator,Value,Package,Description\nJ1,in,Terminal,terminal\nU1,PT4115,SOT-89-5,LED driver\n"
    "R1,0R33 1%,1206,\nL1,68uH,,coil\nD1,SS24,SMA,Schottky diode\nLED1,white,,LED\nLED2,white,,LED\n",
    "netlist.csv": "Designator,Pin,Net,Name\nJ1,1,V,\nJ1,2,GND,\nU1,1,SW,SW\nU1,2,GND,GND\nU1,4,S,CSN\nU1,5,V,VIN\n"
    "R1,1,V,\nR1,2,S,\nLED1,A,S,\nLED1,K,M,\nLED2,A,M,\nLED2,K,E,\nL1,1,E,\nL1,2,SW,\nD1,A,SW,\nD1,K,V,\n",
    "board.toml": FACTS.format(volts=12, load=""),
}
L200_NETS = "U1 1=V 2=LIM 3=GND 4=REF 5=OUT\nR1 1=OUT 2=LIM\nR2 1=REF 2=GND\nR3 1=LIM 2=REF"
TP4056_NETS = "U1 1:TEMP=GND 2:PROG=P 3:GND=GND 4:VCC=V 5:BAT=CELL 8:CE=V\nR1 1=P 2=GND"
SHUNT = {
    "bom.csv": "Designator,Value,Package,Description\nJ1,in,Terminal,terminal\nJ2,out,Terminal,terminal\n"
    "U1,INA180A2IDBV,SOT-23-5,amplifier of a shunt\nR1,0R1 1%,1206,\n",
    "netlist.csv": "Designator,Pin,Net,Name\nJ1,1,V,\nJ1,2,GND,\nJ2,1,L,\nJ2,2,GND,\nR1,1,V,\nR1,2,L,\nU1,1,OUT,\n"
    "U1,2,GND,\nU1,3,V,\nU1,4,L,\nU1,5,V,\n",
    "board.toml": FACTS.format(volts=5, load='J2 = "10 ohm"'),
}


def test_a_wrong_resistor_at_a_driver_changes_its_current(tmp_path: Path) -> None:
    """PT4115: 0.1 V over the resistor (sheet, from memory), so 3.3 ohm give 30 mA where 0.33 ohm give 0.3 A."""
    board, circuit = opened(written(tmp_path, LAMP))
    stage = Stage(None, "V", 2.0, None)
    volts = {"S": 11.9, "M": 9.1, "E": 6.3, "SW": 6.3}
    read = [reading(net, value) for net, value in volts.items()] + [reading("supply", 0.018, Mode.AMPS)]
    assert ("R1", "decade_high") in first_faults(diagnose(board, circuit, read, stage))


@pytest.mark.parametrize(
    ("parts", "nets", "volts", "limit_a"),
    [
        ("U1,L200CV,Pentawatt,\nR1,0R45 1%,,\nR2,820R,,\nR3,2k,,\n", L200_NETS, 15.0, 1.0),
        ("U1,TP4056,SOP-8,\nR1,1k2 1%,,\n", TP4056_NETS, 5.0, 1.0),
    ],
)
def test_the_resistor_that_sets_a_limit_sets_it_wrong_as_well(
    tmp_path: Path, parts: str, nets: str, volts: float, limit_a: float
) -> None:
    """L200: 0.45 V over its resistor; TP4056: 1200 V over its (sheets, from memory). Ten times the ohms, a tenth."""
    made = derived(tmp_path, parts, nets, volts)
    book = prepare(read_board(tmp_path), made, Stage(None, "V", 2.0, None))
    faults = [h.fault for h in book.catalogue.hypotheses]
    place = next(n for n, fault in enumerate(faults) if (fault.ref, fault.kind) == ("R1", "decade_high"))
    (column,) = book.template.columns("U1", "limit", ["regulator"])
    limits = book.rows[list(book.owner).index(place), column], book.rows[0, column]
    assert limits == pytest.approx((limit_a / 10, limit_a), rel=0.01)


def test_the_level_of_a_dimming_pin_tells_the_current(tmp_path: Path, published: Callable[..., None]) -> None:
    """PT4115: from 2.5 V at its dimming pin on all of its current, below in proportion (sheet, from memory)."""
    files = LAMP | {
        "bom.csv": LAMP["bom.csv"] + "R2,9k1 1%,0603,\nR3,1k 1%,0603,\n",
        "netlist.csv": LAMP["netlist.csv"] + "U1,3,DIM,DIM\nR2,1,V,\nR2,2,DIM,\nR3,1,DIM,\nR3,2,GND,\n",
    }
    board = read_board(written(tmp_path, files))
    for guessing in (True, False):
        made = prepare(board, derive_circuit(board, guessing=guessing), Stage(None, "V", 2.0, None))
        (column,) = made.template.columns("U1", "limit")
        low, high = (made.template.parameters[column][n] for n in (4, 6))
        assert (high < 2 * low) is guessing
        at = volts_under(made)
        if guessing:
            across, level = at["V"] - at["S"], at["DIM"] / 2.5
            published("PT4115 dimmed, share of 0.1 V", across / 0.1, level, source="maker's sheet", absolute=0.02)


def test_an_amplifier_of_another_gain_is_found(tmp_path: Path) -> None:
    """INA180A1 has a gain of 20, A2 of 50 (sheet): half an ampere over 0.1 ohm gives 1 V in place of 2.5 V."""
    board, circuit = opened(written(tmp_path, SHUNT))
    read = [reading("L", 4.95), reading("OUT", 0.99), reading("supply", 0.495, Mode.AMPS)]
    found = diagnose(board, circuit, read, Stage(None, "V", 2.0, None))
    assert ("U1", "wrong_variant") in first_faults(found)
    told = next(one for one in found.groups[0].faults if one.kind == "wrong_variant")
    assert told.words.slug == "fault-wrong-gain"


def test_a_current_in_fine_steps_is_of_a_better_ammeter_unless_the_bench_states_it() -> None:
    usual = meters_of(BenchFacts()).amps
    assert meters_of(BenchFacts(), ["17.2 mA"]).amps.fixed < usual.fixed
    assert meters_of(BenchFacts(), ["17.2 mA", "20 mA"]).amps == meters_of(BenchFacts(), ["0.02 A"]).amps == usual
    assert meters_of(BenchFacts(supply_accuracy="1 % + 1 mA"), ["20 mA"]).amps.fixed == 1e-3
