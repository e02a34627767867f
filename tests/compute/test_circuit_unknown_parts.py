"""Parts of unknown type: rails that only they can make, and what follows nets that were read where such parts are."""

from pathlib import Path
from typing import Any

import pytest

from reworkkit.compute.circuit import derive_circuit
from reworkkit.compute.diagnosis import Stage, diagnose
from reworkkit.compute.formulas.network import Solution, compile_circuit, solve
from reworkkit.model.measuring import Reading
from reworkkit.model.results import Circuit
from reworkkit.model.vocabulary import Mode, ReadingForm
from reworkkit.read.folder import read_board
from tests.compute.test_circuit_chips import derived as known
from tests.compute.test_circuit_chips import ohms


def derived(folder: Path, rows: str, nets: str, volts: float) -> Circuit:
    """Derive a section as readings are weighed against it."""
    known(folder, rows, nets, volts)
    return derive_circuit(read_board(folder), guessing=True)


def solved(folder: Path, rows: str, nets: str, volts: float) -> Solution:
    template = compile_circuit(derived(folder, rows, nets, volts))
    found = solve(template, template.powered("V"))
    assert found.settled[0]
    return found


def volts_at(point: str, volts: float) -> Reading:
    return Reading(point, Mode.VOLTS, ReadingForm.VALUE, volts, "V", False, None, f"{volts} V")


LINEAR = "U1 1=VIN 2=GND 3=+5V\nD1 A=V K=VIN\nR1 1=+5V 2=OUT\nR2 1=OUT 2=GND"
PARTS = "D1,1N4007,DO-41,\n" + ohms(("R1", "1k"), ("R2", "1k"))


def test_a_rail_that_only_an_unknown_part_can_make(tmp_path: Path, published: Any) -> None:
    found = solved(tmp_path, "U1,XQ7705,TO-220,\n" + PARTS, LINEAR, 12.0)
    asked = derive_circuit(read_board(tmp_path), guessing=True).not_judged
    assert [one.answer for one in asked if one.because.slug == "circuit-makes-unknown"] == [
        '[rails] "+5V" = { volts = "5 V", made_by = "U1" }'
    ]
    published("the rail by its name", float(found.at("+5V")[0]), 5.0, source="+5V", absolute=0.01)
    drawn = float(found.current("V")[0])
    published("a linear regulator takes what it gives", drawn, 2.5e-3, source="5 V over 2 kohm", absolute=4e-3)


def test_the_line_that_answers_is_taken(tmp_path: Path) -> None:
    known(tmp_path, "U1,XQ7705,TO-220,\n" + PARTS, LINEAR, 12.0, '[rails]\n"+5V" = { volts = "5 V", made_by = "U1" }\n')
    made = derive_circuit(read_board(tmp_path), guessing=True)
    assert [e.nodes[:2] for e in made.elements if e.kind == "regulator"] == [("VIN", "+5V")]
    assert not [one for one in made.not_judged if one.because.slug == "circuit-makes-unknown"]


def test_a_stated_maker_is_not_overruled(tmp_path: Path) -> None:
    """R9 is no regulator: a wrong fact, but nobody else is taken in its place."""
    facts = '[rails]\n"+5V" = { volts = "5 V", made_by = "R9" }\n'
    known(tmp_path, "U1,XQ7705,TO-220,\nR9,1k,0603,1%\n" + PARTS, LINEAR + "\nR9 1=VIN 2=GND", 12.0, facts)
    made = derive_circuit(read_board(tmp_path), guessing=True)
    assert not [e for e in made.elements if e.kind == "regulator"]


def test_nothing_is_guessed_for_what_is_forecast_before_power(tmp_path: Path) -> None:
    makers = [e for e in known(tmp_path, "U1,XQ7705,TO-220,\n" + PARTS, LINEAR, 12.0).elements if e.ref == "U1"]
    assert not [e for e in makers if e.kind in ("regulator", "converter")]


def test_behind_a_coil_it_is_taken_as_a_switching_regulator(tmp_path: Path) -> None:
    rows = "U1,XQ3301,SOT-23-6,\nL1,22uH,4x4,\n" + PARTS
    nets = LINEAR.replace("3=+5V", "3=SW 4=+5V") + "\nL1 1=SW 2=+5V"
    (maker,) = [e for e in derived(tmp_path, rows, nets, 12.0).elements if e.ref == "U1" and e.kind == "converter"]
    assert maker.nodes == ("VIN", "SW", "GND", "+5V")


@pytest.mark.parametrize("second", ["U2 1=VIN 2=GND 3=+5V", "J2 1=+5V 2=GND"])
def test_two_that_could_are_not_chosen_from(tmp_path: Path, second: str) -> None:
    """Of two unknown parts neither is taken; a plug at the rail changes nothing."""
    rows = "U1,XQ7705,TO-220,\nU2,XQ7706,TO-220,\nJ2,out,JST 2,\n" + PARTS
    makers = [e for e in derived(tmp_path, rows, f"{LINEAR}\n{second}", 12.0).elements if e.kind == "regulator"]
    assert len(makers) == (0 if second.startswith("U2") else 1)


def test_a_reverse_diode_across_the_part_feeds_nothing(tmp_path: Path) -> None:
    """From the output back to the input: the rail is made by the part all the same."""
    rows = "U1,XQ7705,TO-220,\nD2,1N4007,DO-41,\n" + PARTS
    made = derived(tmp_path, rows, f"{LINEAR}\nD2 A=+5V K=VIN", 12.0)
    assert [e.nodes[:2] for e in made.elements if e.kind == "regulator"] == [("VIN", "+5V")]


COMPARED = """U1 1=OUT 2=REF 3=IN 4=GND 8=+5V
U2 1=REF 2=REF 3=GND
R1 1=+5V 2=REF
R2 1=+5V 2=IN
R3 1=IN 2=GND
R4 1=+5V 2=OUT
J1 1=+5V 2=GND"""


@pytest.mark.parametrize(("reference", "out"), [(1.2, 5.0), (2.5, 0.0)])
def test_a_comparator_follows_a_net_that_was_read_at_an_unknown_part(
    tmp_path: Path, reference: float, out: float
) -> None:
    """IN stands at 1.67 V; the unknown reference at what was read: an output of the other level would be a fault."""
    rows = "U1,LM393N,DIP-8,\nU2,XQ431,TO-92,\nJ1,5 V in,JST 2,\n"
    rows += ohms(("R1", "1k"), ("R2", "20k"), ("R3", "10k"), ("R4", "10k"))
    made = derived(tmp_path, rows, COMPARED.replace("+5V", "V"), 5.0)
    board, stage = read_board(tmp_path), Stage(None, "V", 1.0, None)
    read = [volts_at("V", 5.0), volts_at("REF", reference), volts_at("IN", 1.667)]
    verdicts = [diagnose(board, made, [*read, volts_at("OUT", level)], stage).verdict for level in (out, 5.0 - out)]
    assert [one.value for one in verdicts] == ["no_fault_seen", "fault"]


def test_windings_of_a_stepper_by_their_ohms(tmp_path: Path, published: Any) -> None:
    nets = "M1 A+=V A-=P B+=V B-=Q\nR1 1=P 2=GND\nR2 1=Q 2=GND"
    rows = 'M1,"stepper, 2 windings 10 ohm",4-way header,\n' + ohms(("R1", "10R"), ("R2", "30R"))
    found = solved(tmp_path, rows, nets, 12.0)
    published("through one winding", float(found.at("P")[0]), 6.0, source="Ohm's law", absolute=0.05)
    published("through the other", float(found.at("Q")[0]), 9.0, source="Ohm's law", absolute=0.05)


def test_an_amplifier_compares_what_a_temperature_sensor_gives(tmp_path: Path) -> None:
    rows = "U1,LM2902N,DIP-14,\nU3,LM35DZ,TO-92,\n" + ohms(("R1", "10k"), ("R2", "1k"), ("R3", "10k"))
    nets = "U1 4=V 8=OUT 9=T 10=TMP 11=GND\nU3 1=V 2=TMP 3=GND\nR1 1=V 2=T\nR2 1=T 2=GND\nR3 1=OUT 2=GND"
    made = derived(tmp_path, rows, nets, 12.0)
    assert [e.nodes for e in made.elements if e.kind in ("amplifier", "comparator")]


def test_the_pin_for_a_reset_by_hand_is_pulled_up_inside(tmp_path: Path, published: Any) -> None:
    rows = "U1,TPS3823-33DBVT,SOT-23-5,\nS1,reset,6x6,push button\n" + ohms(("R1", "10k"))
    found = solved(tmp_path, rows, "U1 1=RST 2=GND 3=MR 5=V\nS1 1=MR 2=GND\nR1 1=RST 2=GND", 3.3)
    published(
        "open button", float(found.at("MR")[0]), 3.3, source="maker's sheet: pull-up inside (memory)", absolute=0.05
    )


def test_what_a_program_sets_is_where_it_was_read(tmp_path: Path) -> None:
    """Two fifths of the supply at a converter's output, and half of that at a divider: no fault, and none to find."""
    rows = "U1,MCP4725A0T-E/CH,SOT-23-6,\nJ1,5 V in,JST 2,\n" + ohms(("R1", "10k"), ("R2", "10k"))
    nets = "U1 1=DAC 2=GND 3=V 4=SDA 5=SCL\nR1 1=DAC 2=HALF\nR2 1=HALF 2=GND\nJ1 1=V 2=GND"
    made = derived(tmp_path, rows, nets, 5.0)
    board, stage = read_board(tmp_path), Stage(None, "V", 1.0, None)
    read = [volts_at("V", 5.0), volts_at("DAC", 2.0)]
    verdicts = [diagnose(board, made, [*read, volts_at("HALF", half)], stage).verdict for half in (1.0, 2.0)]
    assert [one.value for one in verdicts] == ["no_fault_seen", "fault"]


FUSED = ohms(("R1", "100R")) + "\nC1,100n,0603,\nC2,22uF,1210,"


def test_a_protected_switch_of_unknown_type_by_its_nets(tmp_path: Path, published: Any) -> None:
    """From the supply to the only net with a reservoir; nothing of the kind where the words name no switch."""
    nets = "U1 1=GND 2=DV 3=UV 4=V 5=OUT 6=FLT\nR1 1=OUT 2=GND\nC1 1=DV 2=GND\nC2 1=OUT 2=GND"
    found = solved(tmp_path, "U1,XQ7713,SOIC-8,eFuse 2 A\n" + FUSED, nets, 12.0)
    published("behind the switch", float(found.at("OUT")[0]), 12.0, source="a closed switch", absolute=0.1)
    made = derived(tmp_path, "U1,XQ7713,SOIC-8,monitor\n" + FUSED, nets, 12.0)
    assert not [e for e in made.elements if e.kind == "load_switch"]


def test_stated_pins_make_a_switch_of_unknown_type_known(tmp_path: Path) -> None:
    """The line that answers: it is off while its enable pin is low, and nothing is asked any more."""
    nets = "U1 1=GND 3=UV 4=V 5=OUT\nR1 1=OUT 2=GND\nR2 1=UV 2=GND\nC1 1=UV 2=GND\nC2 1=OUT 2=GND"
    facts = '[parts]\nU1 = { pins = { IN = "4", OUT = "5", EN = "3" } }\n'
    made = known(tmp_path, "U1,XQ7713,SOIC-8,eFuse 2 A\n" + FUSED + "\nR2,1k,0603,1%", nets, 12.0, facts)
    assert [e.nodes for e in made.elements if e.kind == "load_switch"] == [("V", "OUT", "UV", "GND")]
    assert not [one for one in made.not_judged if one.because.slug == "circuit-switch-by-nets"]
