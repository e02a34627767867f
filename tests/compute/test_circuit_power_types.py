"""Regulators, converters, high-side switches and a charger by type number alone: the table's orders and levels."""

from pathlib import Path
from typing import Any

import pytest

from reworkkit.compute.circuit import derive_circuit
from reworkkit.compute.diagnosis import Stage, prepare
from reworkkit.read.folder import read_board
from tests.compute.test_circuit_chips import derived, followed, ohms

SHEET = "maker's data sheet, from memory"
COIL = "L1,10u,,\n"


def converter(number: str, outline: str, top: str, low: str) -> str:
    """Return the list of a converter with its coil, its divider and a load."""
    return f"U1,{number},{outline},\n{COIL}" + ohms(("R1", top), ("R2", low), ("R3", "1k"), ("R9", "100k"))


@pytest.mark.parametrize(
    ("number", "outline", "pins", "top", "low", "volts", "out"),
    [
        ("LM5164DDAR", "SOIC-8", "1=GND 2=V 3=EN 4=RT 5=FB 6=PG 7=BST 8=SW", "316k", "100k", 24.0, 4.99),
        ("TPS54335ADDAR", "SOIC-8", "1=BST 2=V 3=SW 4=GND 5=FB 6=CMP 7=EN 8=RT", "52.3k", "10k", 12.0, 4.98),
        ("TPS560430XFDBVR", "SOT-23-6", "1=BST 2=GND 3=FB 4=EN 5=V 6=SW", "88.7k", "22.1k", 24.0, 5.01),
        ("AP1510SG-13", "SOIC-8", "1=FB 2=EN 3=OCS 4=V 5=SW 6=SW 7=GND 8=GND", "6.8k", "1.3k", 12.0, 4.98),
        ("AP3503EMPTR-G1", "SOIC-8", "1=BST 2=V 3=SW 4=GND 5=FB 6=CMP 7=EN 8=SS", "44.2k", "10k", 12.0, 5.01),
        ("AP3418KTR-G1", "SOT-23-5", "1=EN 2=GND 3=SW 4=V 5=FB", "100k", "50k", 5.0, 1.8),
        ("L4978", "DIP-8", "1=GND 2=SS 3=OSC 4=SW 5=V 6=BST 7=CMP 8=FB", "2.7k", "5.6k", 24.0, 4.98),
        ("ST1S10PHR", "SOIC-8", "1=V 2=EN 3=FB 4=GND 5=GND 6=V 7=SW 8=GND", "52.3k", "10k", 12.0, 4.98),
        ("ADP2303ARDZ", "SOIC-8", "1=BST 2=V 3=EN 4=PG 5=FB 7=GND 8=SW", "31.6k", "10k", 12.0, 3.33),
    ],
)
def test_a_step_down_converter_holds_its_reference_at_the_divider(
    tmp_path: Path, published: Any, number: str, outline: str, pins: str, top: str, low: str, volts: float, out: float
) -> None:
    """The output is the reference times one and the ratio of the divider; the enable pin is pulled to the supply."""
    nets = f"U1 {pins}\nL1 1=SW 2=OUT\nR1 1=OUT 2=FB\nR2 1=FB 2=GND\nR3 1=OUT 2=GND"
    nets += "\nR9 1=EN 2=V" if "=EN" in pins else ""
    at = followed(tmp_path, converter(number, outline, top, low), nets, volts)
    published(f"output of {number} [V]", at["OUT"], out, source=f"{SHEET}: reference and divider", tolerance=0.02)


@pytest.mark.parametrize(("enable", "out"), [("GND", 3.3), ("V", 0.0)])
def test_some_linear_regulators_are_on_while_their_enable_pin_is_low(
    tmp_path: Path, published: Any, enable: str, out: float
) -> None:
    """TPS7133 and TPS76933: the third and the second pin have a bar over their names."""
    rows = "U1,TPS7133QD,SOIC-8,\nU2,TPS76933DBVR,SOT-23-5,\n" + ohms(("R1", "1k"), ("R2", "1k"))
    nets = f"""U1 1=GND 2={enable} 3=V 4=V 5=A 6=A 7=A 8=PG
U2 1=V 2=GND 3={enable} 4=NC 5=B
R1 1=A 2=GND
R2 1=B 2=GND"""
    at = followed(tmp_path, rows, nets, 5.0)
    published("TPS7133 [V]", at["A"], out, source=f"{SHEET}: pin functions", absolute=0.07)
    published("TPS76933 [V]", at["B"], out, source=f"{SHEET}: pin functions", absolute=0.1)


def test_orders_that_differ_from_the_usual_one(tmp_path: Path, published: Any) -> None:
    """MCP1804 in SOT-223 and TPS715 in SC-70; the tab of SOT-223 is the second pin."""
    rows = "U1,MCP1804T-3302I/DB,SOT-223,\nU2,TPS71550DCKR,SC-70-5,\n" + ohms(("R1", "1k"), ("R2", "1k"))
    nets = """U1 1=A 2=GND 3=V
U2 1=N1 2=GND 3=N3 4=V 5=B
R1 1=A 2=GND
R2 1=B 2=GND"""
    at = followed(tmp_path, rows, nets, 12.0)
    published("MCP1804-33 [V]", at["A"], 3.3, source="public symbol library, maker's data sheet", tolerance=0.02)
    published("TPS71550 [V]", at["B"], 5.0, source="public symbol library, maker's data sheet", tolerance=0.02)


def test_a_high_voltage_regulator_and_its_divider(tmp_path: Path, published: Any) -> None:
    """TPS7A4901 in MSOP-8: 1.194 V at FB."""
    rows = "U1,TPS7A4901DGNR,MSOP-8,\n" + ohms(("R1", "90.9k"), ("R2", "10k"), ("R3", "1k"), ("R4", "10k"))
    nets = "U1 1=OUT 2=FB 3=N 4=GND 5=EN 6=NR 7=D 8=V\nR1 1=OUT 2=FB\nR2 1=FB 2=GND\nR3 1=OUT 2=GND\nR4 1=V 2=EN"
    at = followed(tmp_path, rows, nets, 15.0)
    published("TPS7A4901 [V]", at["OUT"], 12.05, source=f"{SHEET}: 1.194 V", tolerance=0.025)


NEGATIVE = """name = "Bench"
[board]
ground = ["GND"]
[supplies]
"V" = "-15 V, limit 1 A"
"""


@pytest.mark.parametrize(
    ("number", "outline", "pins", "out"),
    [
        ("TPS7A3001DGNR", "MSOP-8", "1=OUT 2=FB 3=N 4=GND 5=V 6=NR 7=D 8=V", -12.05),
        ("LT1964ES5-SD", "TSOT-23-5", "1=GND 2=V 3=V 4=FB 5=OUT", -12.42),
    ],
)
def test_a_negative_regulator_holds_its_feedback_below_ground(
    tmp_path: Path, published: Any, number: str, outline: str, pins: str, out: float
) -> None:
    """References of -1.184 and -1.22 V from feedback pin to ground."""
    rows = f"U1,{number},{outline},\n" + ohms(("R1", "91.8k"), ("R2", "10k"), ("R3", "1k"))
    nets = f"U1 {pins}\nR1 1=OUT 2=FB\nR2 1=FB 2=GND\nR3 1=OUT 2=GND"
    derived(tmp_path, rows, nets, 15.0)
    (tmp_path / "board.toml").write_text(NEGATIVE)
    made = prepare(read_board(tmp_path), derive_circuit(read_board(tmp_path)), Stage(None, "V", 1.0, None))
    at = dict(zip(made.template.nodes, (float(v) for v in made.states[0]), strict=False))
    published(f"output of {number} [V]", at["OUT"], out, source=SHEET, tolerance=0.025)


def test_a_converter_both_ways_makes_its_voltage_from_less_and_from_more(tmp_path: Path, published: Any) -> None:
    """TPS63001: the coil lies between its two switch pins, its feedback pin at the output."""
    rows = "U1,TPS63001DRCR,VSON-10,\nL1,1.5u,,\n" + ohms(("R1", "1k"))
    nets = "U1 1=OUT 2=LB 3=GND 4=LA 5=V 6=V 7=V 8=V 9=GND 10=OUT\nL1 1=LA 2=LB\nR1 1=OUT 2=GND"
    for volts in (2.5, 5.0):
        at = followed(tmp_path, rows, nets, volts)
        published(f"TPS63001 at {volts} V [V]", at["OUT"], 3.3, source=f"{SHEET}: 3.3 V fixed", tolerance=0.03)


@pytest.mark.parametrize(("level", "out"), [("GND", 12.0), ("V", 0.0)])
def test_a_high_side_switch_that_is_pulled_on(tmp_path: Path, published: Any, level: str, out: float) -> None:
    """BTS443P: its input is pulled to ground to turn it on; its tab is the supply."""
    rows = "U1,BTS443P,TO-252-5,\n" + ohms(("R1", "100"), ("R2", "1k"), ("R3", "1k"))
    nets = f"U1 1=OUT 2=IN 3=V 4=IS 5=OUT\nR1 1=OUT 2=GND\nR2 1=IN 2={level}\nR3 1=IS 2=GND"
    at = followed(tmp_path, rows, nets, 12.0)
    published("BTS443P [V]", at["OUT"], out, source=f"{SHEET}: circuit diagram", absolute=0.1)


@pytest.mark.parametrize(("level", "out"), [("V", 12.0), ("GND", 0.0)])
def test_a_high_side_switch_in_sot_223(tmp_path: Path, published: Any, level: str, out: float) -> None:
    rows = "U1,BTS4141N,SOT-223,\n" + ohms(("R1", "100"), ("R2", "4k7"))
    nets = f"U1 1=OUT 2=GND 3=IN 4=V\nR1 1=OUT 2=GND\nR2 1=IN 2={level}"
    at = followed(tmp_path, rows, nets, 12.0)
    published("BTS4141N [V]", at["OUT"], out, source=f"{SHEET}: 0.2 ohm", absolute=0.1)


def test_a_step_up_converter_in_eight_leads(tmp_path: Path, published: Any) -> None:
    """LT1372: 1.245 V at its feedback pin."""
    rows = "U1,LT1372CS8,SOIC-8,\nL1,22u,,\nD1,MBRS130,SMB,\n" + ohms(("R1", "53.6k"), ("R2", "6.19k"), ("R3", "1k"))
    nets = """U1 1=VC 2=FB 3=NFB 4=V 5=V 6=GND 7=GND 8=SW
L1 1=V 2=SW
D1 A=SW K=OUT
R1 1=OUT 2=FB
R2 1=FB 2=GND
R3 1=OUT 2=GND"""
    at = followed(tmp_path, rows, nets, 5.0)
    published("LT1372 [V]", at["OUT"], 12.03, source=f"{SHEET}: typical application", tolerance=0.03)


@pytest.mark.parametrize(
    ("number", "outline", "pins", "ohm", "out"),
    [
        ("LT3080EST", "SOT-223", "1=SET 2=OUT 3=V", "121k", 1.21),
        ("LT3080ET", "TO-220-5", "1=N 2=SET 3=OUT 4=V 5=V", "165k", 1.65),
        ("LT3045EDD", "DFN-10", "1:IN=V 3:EN/UV=V 7:SET=SET 8:GND=GND 9:OUTS=OUT 10:OUT=OUT", "49.9k", 4.99),
    ],
)
def test_a_current_through_one_resistor_sets_the_output(
    tmp_path: Path, published: Any, number: str, outline: str, pins: str, ohm: str, out: float
) -> None:
    """10 microampere of an LT3080 and 100 of an LT3045 from the set pin; a meter takes a little of it."""
    rows = f"U1,{number},{outline},\n" + ohms(("R1", ohm), ("R2", "1k"))
    at = followed(tmp_path, rows, f"U1 {pins}\nR1 1=SET 2=GND\nR2 1=OUT 2=GND", 9.0)
    published(f"output of {number} [V]", at["OUT"], out, source="maker's data sheet: SET pin current", tolerance=0.02)


def test_further_makers_names_of_usual_amplifiers(tmp_path: Path, published: Any) -> None:
    """HA17904 is an LM2904: a follower of half the supply; HA17903 an LM2903, its output pulled up."""
    rows = "U1,HA17904,DIP-8,\nU2,HA17903,DIP-8,\n" + ohms(("R1", "10k"), ("R2", "10k"), ("R3", "10k"))
    nets = """U1 1=A 2=A 3=H 4=GND 5=H 6=B 7=B 8=V
U2 1=C 2=GND 3=H 4=GND 5=GND 6=H 7=D 8=V
R1 1=V 2=H
R2 1=H 2=GND
R3 1=V 2=C"""
    at = followed(tmp_path, rows, nets, 12.0)
    published("follower [V]", at["A"], 6.0, source="plain reasoning", tolerance=0.01)
    published("comparator, plus above minus [V]", at["C"], 12.0, source="plain reasoning", absolute=0.1)
