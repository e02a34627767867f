"""What drives taught: sensors with a reference, controllers held off, tapped windings, brakes, clamp pins."""

from pathlib import Path
from typing import Any

import pytest

from reworkkit.compute.formulas.network import compile_circuit, solve
from tests.compute.test_circuit_chips import derived, followed, ohms

SHEET = "maker's data sheet, from memory"


@pytest.mark.parametrize(
    ("number", "supply_v", "zero_v"),
    [("HO 25-NP/SP33", 3.3, 1.65), ("HO 25-NP/SP33", 5.0, 1.65), ("HO 25-NP", 5.0, 2.5), ("LTSR 15-NP", 4.75, 2.5)],
)
def test_a_sensor_with_its_own_reference(
    tmp_path: Path, published: Any, number: str, supply_v: float, zero_v: float
) -> None:
    """Without current its output stands at the reference, whatever the supply is."""
    ho = "1=V 2=GND 3=OUT 4=REF 5=OCD 8=A 13=A"
    pins = ho if number.startswith("HO") else "1=A 2=A 3=A 4=A 5=A 6=A 7=REF 8=OUT 9=GND 10=V"
    pins = pins.replace("13=A", "13=B").replace("4=A 5=A 6=A", "4=B 5=B 6=B")
    rows = f"U1,{number},,current sensor\n" + ohms(("R1", "10k"), ("R2", "100k"))
    at = followed(tmp_path, rows, f"U1 {pins}\nR1 1=OUT 2=GND\nR2 1=REF 2=GND", supply_v)
    published(f"{number} at {supply_v} V, output [V]", at["OUT"], zero_v, source=SHEET, absolute=0.03)
    published(f"{number} at {supply_v} V, reference [V]", at["REF"], zero_v, source=SHEET, absolute=0.03)


CONTROLLER = "1=COMP 2=NI 5=CT 6=RT 7=CT 9=COMP 10=SD 11=OA 12=GND 13=V 14=OB 15=V 16=REF"


def test_a_controller_that_is_shut_down(tmp_path: Path, published: Any) -> None:
    """SG3525A: 5.1 V, both outputs low while pin 10 is high; half the reference at the input it only listens to."""
    rows = "U1,SG3525AN,DIP-16,\n" + ohms(("R1", "10k"), ("R2", "10k"), ("R3", "2k2"), ("R4", "10k"), ("R5", "10k"))
    nets = f"U1 {CONTROLLER}\nR1 1=REF 2=NI\nR2 1=NI 2=GND\nR3 1=REF 2=SD\nR4 1=OA 2=V\nR5 1=OB 2=GND"
    at = followed(tmp_path, rows, nets, 12.0)
    published("SG3525A, reference [V]", at["REF"], 5.1, source=SHEET, absolute=0.05)
    published("SG3525A, half of it [V]", at["NI"], 2.55, source="Ohm's law", absolute=0.03)
    published("SG3525A, output while shut down [V]", at["OA"], 0.0, source=SHEET, absolute=0.1)


def test_an_input_that_an_output_of_the_controller_shares_is_not_known(tmp_path: Path) -> None:
    """Pins 1 and 9 are joined: the error amplifier holds them."""
    rows = "U1,SG3525AN,DIP-16,\n" + ohms(("R1", "10k"))
    made = derived(tmp_path, rows, f"U1 {CONTROLLER}\nR1 1=COMP 2=GND", 12.0)
    driven = {e.nodes[0] for e in made.elements if e.ref == "U1" and e.kind == "driver"}
    assert "COMP" in driven
    assert "NI" not in driven


@pytest.mark.parametrize(
    ("row", "pins"),
    [
        ("transformer,,10V-0-10V primary", "1=A 2=TAP 3=B"),
        ("transformer,,Trafo mit Mittelanzapfung", "1=A 2=TAP 3=B"),
        ("Trafo 2x9V/230V 100VA,,transformer", "1=A 2=TAP 3=B"),
        ("transformer,,push-pull", "P1=A P2=TAP P3=B S1=X S2=Y"),
    ],
)
def test_a_tapped_winding_carries_direct_current(tmp_path: Path, published: Any, row: str, pins: str) -> None:
    rows = f"T1,{row}\n" + ohms(("R1", "1k"), ("R2", "1k"), ("R3", "1k"))
    at = followed(tmp_path, rows, f"T1 {pins}\nR1 1=V 2=TAP\nR2 1=A 2=GND\nR3 1=B 2=GND", 12.0)
    published("end of a winding [V]", at["A"], 4.0, source="Ohm's law: 1k above two of 1k", absolute=0.02)
    published("other end [V]", at["B"], 4.0, source="Ohm's law: 1k above two of 1k", absolute=0.02)


def test_a_transformer_of_unknown_windings_stays_unknown(tmp_path: Path) -> None:
    made = derived(tmp_path, "T1,transformer,,\n" + ohms(("R1", "1k")), "T1 1=A 2=B 3=X 4=Y\nR1 1=V 2=A", 12.0)
    assert {e.kind for e in made.elements if e.ref == "T1"} == {"unmodelled"}


@pytest.mark.parametrize(
    ("row", "ohm"),
    [
        ("BR1,holding brake 24V 12W (48 ohm),wired,", 48.0),
        ("BR1,Haltebremse 24V 48 Ohm,,", 48.0),
        ("HB1,Heated bed 3.3 ohm,wired,", 3.3),
        ("HB1,bed,wired,heated bed 12 V 3.3 ohm", 3.3),
    ],
)
def test_a_brake_or_a_bed_is_its_ohms(tmp_path: Path, published: Any, row: str, ohm: float) -> None:
    ref = row.split(",")[0]
    at = followed(tmp_path, f"{row}\n" + ohms(("R1", "10")), f"{ref} 1=V 2=OUT\nR1 1=OUT 2=GND", 12.0)
    published(f"{ref} above 10 ohm [V]", at["OUT"], 120 / (10 + ohm), source="Ohm's law", absolute=0.1)


def test_a_bridge_of_wire_is_a_link(tmp_path: Path, published: Any) -> None:
    """`Brücke` is a bridge rectifier and a bridge; of two leads and of wire it is the latter."""
    rows = 'BR1,Brücke Sternpunkt,"Draht 2,5 mm²",\n' + ohms(("R1", "1k"), ("R2", "1k"))
    at = followed(tmp_path, rows, "R1 1=V 2=A\nBR1 1=A 2=B\nR2 1=B 2=GND", 10.0)
    published("behind a bridge of wire [V]", at["B"], 5.0, source="Ohm's law", absolute=0.02)


@pytest.mark.parametrize("package", ["wired", "on wires"])
def test_a_brake_that_is_wired_is_no_wire(tmp_path: Path, package: str) -> None:
    """Without ohms nobody knows what it takes: taken for a link it would short the supply (reasoning)."""
    made = derived(tmp_path, f"BR1,holding brake,{package},\n" + ohms(("R1", "1k")), "BR1 1=V 2=A\nR1 1=A 2=GND")
    assert {e.kind for e in made.elements if e.ref == "BR1"} == {"unmodelled"}


def test_a_clamp_pin_lets_a_gate_go(tmp_path: Path, published: Any) -> None:
    """ISO5852S: without its turn-off resistor the gate is where its own resistor ties it; the clamp acts below 2 V."""
    pins = "1=GND 3=COM 5=V 6=OUTL 7=GATE 8=GND 9=GND 10=GND 11=GND 14=L 15=L 16=GND"
    rows = "U1,ISO5852SDW,SOIC-16W,\nU2,LM7805,TO-220,\n" + ohms(("R1", "10k"), ("R2", "10k"), ("R3", "10k"))
    nets = f"U1 {pins}\nU2 1=V 2=GND 3=L\nR1 1=COM 2=GATE\nR2 1=V 2=COM\nR3 1=COM 2=GND"
    at = followed(tmp_path, rows, nets, 20.0)
    published("gate without its turn-off resistor [V]", at["GATE"], 10.0, source=SHEET, absolute=0.5)


@pytest.mark.parametrize(
    ("number", "level_v"),
    [("ADUM1201ARZ", 5.0), ("ISO7721D", 5.0), ("ISO7721FD", 0.0), ("SI8621BB-B-IS", 0.0), ("SI8621EB-B-IS", 5.0)],
)
def test_an_isolator_whose_other_side_has_no_supply(
    tmp_path: Path, published: Any, number: str, level_v: float
) -> None:
    pins = "1=DEAD 2=A 3=B 4=GND 5=GND 6=OUT 7=C 8=V"
    rows = f"U1,{number},SOIC-8,\n" + ohms(("R1", "10k"), ("R2", "1k"), ("R3", "10k"), ("R4", "10k"))
    nets = f"U1 {pins}\nR1 1=OUT 2=GND\nR2 1=DEAD 2=GND\nR3 1=B 2=GND\nR4 1=C 2=GND"
    at = followed(tmp_path, rows, nets, 5.0)
    published(f"{number}, without the other side [V]", at["OUT"], level_v, source=SHEET + ": truth table", absolute=0.2)


def test_the_pad_below_may_be_called_ep(tmp_path: Path, published: Any) -> None:
    rows = "U1,DRV8871DDA,HSOP-8,\n" + ohms(("R1", "24"), ("R2", "47k"))
    pins = "1=GND 2=GND 3=V 4=LIM 5=V 6=A 7=GND 8=B EP=GND"
    at = followed(tmp_path, rows, f"U1 {pins}\nR1 1=A 2=B\nR2 1=LIM 2=GND", 12.0)
    published("DRV8871, high output [V]", at["A"], 12 - 0.28 * 12 / 24.56, source=SHEET, absolute=0.1)


@pytest.mark.parametrize(
    ("number", "pins", "package"),
    [
        ("TBD62083APG", "1=V 2=GND 9=GND 10=V 17=B 18=A", "DIP-18"),
        ("TBD62003AFWG", "1=V 2=GND 8=GND 9=V 15=B 16=A", "SOIC-16"),
        ("TPL7407LAD", "1=V 2=GND 8=GND 9=V 15=B 16=A", "SOIC-16"),
    ],
)
def test_arrays_of_mosfets_pull_low(tmp_path: Path, published: Any, number: str, pins: str, package: str) -> None:
    """Some ohms where the input is high, open where it is low; no 0.8 V of a Darlington."""
    rows = f"U1,{number},{package},\n" + ohms(("R1", "1k"), ("R2", "1k"))
    at = followed(tmp_path, rows, f"U1 {pins}\nR1 1=V 2=A\nR2 1=V 2=B", 12.0)
    published(f"{number}, output that is on [V]", at["A"], 0.018, source=SHEET, absolute=0.03)
    published(f"{number}, output that is off [V]", at["B"], 12.0, source=SHEET, absolute=0.05)


def test_an_emergency_stop_under_letters_of_its_own(tmp_path: Path, published: Any) -> None:
    """`SE1`, a word that the reader does not know, and `role = "closed"`."""
    rows = "SE1,seta de paro NC,panel,\n" + ohms(("R1", "1k"), ("R2", "1k"))
    facts = '[parts]\nSE1 = { role = "closed" }\n'
    made = derived(tmp_path, rows, "R1 1=V 2=A\nSE1 1=A 2=B\nR2 1=B 2=GND", 10.0, facts)
    template = compile_circuit(made)
    got = float(solve(template, template.powered("V")).at("B")[0])
    published("behind a closed stop [V]", got, 5.0, source="Ohm's law", absolute=0.02)


def test_an_unknown_part_that_is_on_is_no_contact(tmp_path: Path) -> None:
    """A load may be on as well: only what is closed is a contact (reasoning)."""
    facts = '[parts]\nSE1 = { role = "on" }\n'
    made = derived(tmp_path, "SE1,cosa,,\n" + ohms(("R1", "1k")), "R1 1=V 2=A\nSE1 1=A 2=GND", 10.0, facts)
    assert {e.kind for e in made.elements if e.ref == "SE1"} == {"unmodelled"}


def test_a_wire_through_a_sensor_by_its_ends_and_a_makers_name(tmp_path: Path, published: Any) -> None:
    """LA 55-P, 1:1000: 12 V through 24 ohm, half an ampere; 150 ohm at M to ground."""
    rows = "CS1,LEM LA 55-P module (wire through the hole),,\nG1,B1212S-1W,SIP-4,\n" + ohms(("R1", "24"), ("R2", "150"))
    nets = "CS1 +=V -=N M=M IN=V OUT=L\nG1 1=GND 2=V 3=N 4=GND\nR1 1=L 2=GND\nR2 1=M 2=GND"
    at = followed(tmp_path, rows, nets, 12.0)
    published("M of an LA 55-P at 0.5 A [V]", at["M"], 0.5 / 1000 * 150, source=SHEET + ": 1:1000", absolute=0.005)


def test_a_gate_driver_of_bipolar_transistors_stays_below_its_supply(tmp_path: Path, published: Any) -> None:
    """HCPL-316J: typically 2.0 V below its supply at 650 uA."""
    pins = "1=V 2=GND 3=V 4=GND 5=V 6=FLT 8=GND 9=GND 10=GND 11=OUT 12=H 13=H 14=DES 16=GND"
    rows = "U1,HCPL-316J,SOIC-16W,\nU2,B0515S-1W,SIP-4,\n" + ohms(("R1", "20k"), ("R2", "10k"), ("R3", "1k"))
    nets = f"U1 {pins}\nU2 1=GND 2=V 3=GND 4=H\nR1 1=OUT 2=GND\nR2 1=FLT 2=V\nR3 1=DES 2=GND"
    at = followed(tmp_path, rows, nets, 5.0)
    published("HCPL-316J, supply less output [V]", at["H"] - at["OUT"], 2.0, source=SHEET, absolute=0.3)


def test_what_09_means_in_a_module_for_gates(tmp_path: Path, published: Any) -> None:
    """MGJ2D051509SC: +15 V and -8.7 V, with as many watts at each (unregulated: with less somewhat more)."""
    rows = "U1,MGJ2D051509SC,SIP-7,\n" + ohms(("R1", "330"), ("R2", "110"))
    at = followed(tmp_path, rows, "U1 1=V 2=GND 5=M 6=GND 7=P\nR1 1=P 2=GND\nR2 1=M 2=GND", 5.0)
    published("ratio of the outputs of an MGJ2D051509SC", at["M"] / at["P"], -8.7 / 15, source=SHEET, tolerance=0.03)
