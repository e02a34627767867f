"""Half bridges that tell their current, dimmed LED drivers, protected switches, timers before relays, leakage."""

from pathlib import Path
from typing import Any

import pytest

from reworkkit.compute.circuit import derive_circuit
from reworkkit.compute.diagnosis import Stage, prepare
from reworkkit.compute.formulas.network import compile_circuit, solve
from reworkkit.read.folder import read_board
from tests.compute.test_circuit_chips import derived, followed, ohms


@pytest.mark.parametrize(("number", "ratio"), [("BTS7960B", 8500), ("BTN8982TA", 19500), ("IFX007T", 19500)])
@pytest.mark.parametrize("tab", ["", " 8=OUT"])
def test_a_half_bridge_tells_its_current(tmp_path: Path, published: Any, number: str, ratio: int, tab: str) -> None:
    """Load current over the ratio, through the resistor to ground; the tab of TO-263-7 is the output."""
    rows = f"U1,{number},TO-263-7,\n" + ohms(("R1", "1k"), ("R2", "24"))
    nets = f"U1 1=GND 2=V 3=V 4=OUT 5=GND 6=IS 7=V{tab}\nR1 1=IS 2=GND\nR2 1=OUT 2=GND"
    at = followed(tmp_path, rows, nets, 12.0)
    published("output of a half bridge [V]", at["OUT"], 12.0, source="maker's sheet: milliohms", absolute=0.1)
    expected = 0.5 / ratio * 1000
    published(f"{number}, current sense [V]", at["IS"], expected, source="maker's sheet (from memory)", tolerance=0.05)


def test_a_current_that_no_single_resistor_takes_is_not_judged(tmp_path: Path) -> None:
    """Two resistors side by side at the sense pin: no voltage there is claimed."""
    rows = "U1,BTS7960B,TO-263-7,\n" + ohms(("R1", "1k"), ("R2", "24"), ("R3", "1k"))
    nets = "U1 1=GND 2=V 3=V 4=OUT 5=GND 6=IS 7=V\nR1 1=IS 2=GND\nR2 1=OUT 2=GND\nR3 1=IS 2=GND"
    made = derived(tmp_path, rows, nets, 12.0)
    assert ("IS",) in [e.nodes for e in made.elements if e.ref == "U1" and e.kind == "unmodelled"]


@pytest.mark.parametrize(("inhibit", "volts"), [("V", 0.0), ("GND", 12.0)])
def test_a_half_bridge_lets_go_when_it_is_inhibited(tmp_path: Path, published: Any, inhibit: str, volts: float) -> None:
    rows = "U1,BTS7960B,TO-263-7,\n" + ohms(("R1", "1k"), ("R2", "24"))
    nets = f"U1 1=GND 2=GND 3={inhibit} 4=OUT 5=GND 6=IS 7=V\nR1 1=IS 2=GND\nR2 1=OUT 2=V"
    at = followed(tmp_path, rows, nets, 12.0)
    published("half bridge, input low [V]", at["OUT"], volts, source="maker's sheet: truth table", absolute=0.1)


def test_the_low_side_of_a_motor_driver_ends_in_its_sense_resistor(tmp_path: Path, published: Any) -> None:
    """DRV8870 with the pad below as pin 9: the load's current also flows through the resistor at ISEN."""
    rows = "U1,DRV8870DDAR,HSOP-8,\n" + ohms(("R1", "0.5"), ("R2", "24"), ("R3", "10k"), ("R4", "10k"))
    nets = """U1 1=GND 2=GND 3=V 4=REF 5=V 6=A 7=ISEN 8=B 9=GND
R1 1=ISEN 2=GND
R2 1=A 2=B
R3 1=V 2=REF
R4 1=REF 2=GND"""
    at = followed(tmp_path, rows, nets, 12.0)
    amps = 12.0 / (24 + 0.5 + 2 * 0.28)
    source = "Ohm's law; output resistance from the maker's sheet (from memory)"
    published("ISEN of a DRV8870 [V]", at["ISEN"], 0.5 * amps, source=source, tolerance=0.05)
    published("high output [V]", at["A"], 12 - 0.28 * amps, source=source, tolerance=0.02)


LED_ROWS = "U1,AL8805W5-7,SOT-25,\nLED1,white,,\nL1,100u,,\nD1,SS16,,\n" + ohms(("R1", "0.33"), ("R2", "100k"))
LED_NETS = "U1 1=SW 2=GND 3=DIM 4=SET 5=V\nR1 1=V 2=SET\nLED1 A=SET K=LK\nL1 1=LK 2=SW\nD1 A=SW K=V\n"


@pytest.mark.parametrize(
    ("rest", "least"),
    [("R2 1=V 2=NC1", 0.95), ("R2 1=DIM 2=V", 0.95), ("R2 1=DIM 2=X", 0.05)],
)
def test_a_dimmed_led_driver_gives_nobody_knows_how_much(
    tmp_path: Path, published: Any, rest: str, least: float
) -> None:
    """Open or at its supply the dimming pin leaves the full 0.1 V over the resistor; else it takes the current down."""
    made = derived(tmp_path, LED_ROWS, LED_NETS + rest, 12.0)
    limit = next(e.parameters["limit"] for e in made.elements if e.kind == "isolated")
    assert limit.low is not None
    published(
        "least share of the full current", limit.low / (0.1 / 0.33), least, source="maker's sheet", tolerance=0.01
    )


def test_a_protected_switch_draws_at_its_input_and_ground(tmp_path: Path, published: Any) -> None:
    """BTS428L2 with 150 ohm in its ground and 4.7 kohm before its input."""
    rows = "U1,BTS428L2,TO-252-5,\n" + ohms(("R1", "150"), ("R2", "4k7"), ("R3", "22"), ("R4", "100k"))
    nets = "U1 1=GP 2=IN 3=V 4=ST 5=OUT\nR1 1=GP 2=GND\nR2 1=V 2=IN\nR3 1=OUT 2=GND\nR4 1=ST 2=V"
    at = followed(tmp_path, rows, nets, 12.0)
    source = "maker's sheet (from memory): input 20 to 90 uA, ground 0.5 to 3 mA"
    published("current into the input [uA]", (12 - at["IN"]) / 4.7e3 * 1e6, 90, source=source, absolute=70)
    published("current out of the ground pin [mA]", at["GP"] / 150 * 1e3, 1.75, source=source, absolute=1.25)


def test_an_amplifier_with_hysteresis_and_a_zener_supply_compares(tmp_path: Path, published: Any) -> None:
    """A Zener diode feeds both dividers: what the output does to it is no feedback, the resistor to IN+ is."""
    rows = "U1,LM358N,DIP-8,\nD1,BZX79-C5V6,DO-35,\n" + ohms(
        ("R1", "1k"), ("R2", "47k"), ("R3", "220k"), ("R4", "10k"), ("R5", "10k"), ("R6", "470k"), ("R7", "100k")
    )
    nets = """U1 1=OUT 2=REF 3=IN 4=GND 5=GND 6=B 7=B 8=V
D1 A=GND K=Z
R1 1=V 2=Z
R2 1=Z 2=IN
R3 1=IN 2=GND
R4 1=Z 2=REF
R5 1=REF 2=GND
R6 1=OUT 2=IN
R7 1=OUT 2=GND"""
    at = followed(tmp_path, rows, nets, 12.0)
    source = "maker's sheet: high within 1.5 V of the supply"
    published("LM358 with hysteresis, input above [V]", at["OUT"], 10.7, source=source, absolute=0.4)
    across = (5.6 / 47 + at["OUT"] / 470) / (1 / 47 + 1 / 220 + 1 / 470)
    published("its input [V]", at["IN"], across, source="Millman's theorem", tolerance=0.02)


TIMER = "U1,NE555P,DIP-8,\nQ1,BC337-40,TO-92,\nK1,G5LE-1 DC12,,relay 12 V 360 ohm\nD1,1N4148,,\n" + ohms(
    ("R1", "47k"), ("R2", "10k"), ("R3", "2k2"), ("R4", "1k")
)
TIMER_NETS = """U1 1=GND 2=TRIG 3=OUT 4=V 5=CTRL 6=TIM 7=TIM 8=V
R1 1=V 2=TIM
R2 1=TRIG 2=GND
R3 1=OUT 2=B
Q1 1=C 2=B 3=GND
K1 1=V 2=V 3=LOAD 5=C
D1 A=C K=V
R4 1=LOAD 2=GND"""


def test_a_relay_behind_a_timer_stands_as_the_timer_says(tmp_path: Path, published: Any) -> None:
    """Trigger low: output high, the relay pulls in; of a G5LE 1 is the common, 3 closes, 2 and 5 are the coil."""
    made = derived(tmp_path, TIMER, TIMER_NETS, 12.0)
    found = prepare(read_board(tmp_path), made, Stage(None, "V", 1.0, None))
    assert "LOAD" not in found.catalogue.unknown
    at = dict(zip(found.template.nodes, found.states[0], strict=False))
    published(
        "contact of the relay [V]", float(at["LOAD"]), 12.0, source="the maker's drawing of its pins", absolute=0.1
    )


def test_an_electrolytic_leaks_less_than_makers_state(tmp_path: Path, published: Any) -> None:
    """Makers state 0.01 C V after two minutes as the most: what the model has lies below, and has a spread."""
    made = derived(tmp_path, "C1,220u 16V,,electrolytic\n" + ohms(("R1", "47k")), "C1 +=A -=GND\nR1 1=V 2=A", 12.0)
    leak = next(e.parameters["leakage"] for e in made.elements if e.ref == "C1")
    most = 1 / (0.01 * 220e-6)
    assert leak.nominal is not None
    assert leak.nominal > most
    found = prepare(read_board(tmp_path), made, Stage(None, "V", 1.0, None))
    spread = abs(found.loads[0, found.template.index["A"]]).max()
    published("spread of a node behind 47 kohm [V]", float(spread), 0.09, source="0.003 C V +- a half", absolute=0.06)


def test_a_protector_in_the_way_of_its_own_supply_begins_on(tmp_path: Path, published: Any) -> None:
    """With a resistor in place of the cell the protector would have no supply if it had begun off."""
    rows = "U1,DW01A,SOT-23-6,\nU2,FS8205A,TSSOP-8,\n" + ohms(("R1", "100"), ("R2", "68"), ("R3", "1k"))
    nets = """U1 1=OD 2=CS 3=OC 5=VD 6=BN
U2 1=M 2=BN 3=BN 4=OD 5=OC 6=GND 7=GND 8=M
R1 1=V 2=VD
R2 1=V 2=BN
R3 1=CS 2=GND"""
    at = followed(tmp_path, rows, nets, 4.2)
    published("negative end of the cell [V]", at["BN"], 0.0, source="62 mA through two MOSFETs", absolute=0.05)


@pytest.mark.parametrize("beside", ["D1 A=C K=V", "D1 A=GND K=V"])
def test_a_relay_whose_netlist_numbers_otherwise_is_not_taken_by_its_type(tmp_path: Path, beside: str) -> None:
    """A diode across pins 1 and 2, or a transistor at 2, tells that these are the coil here, not 2 and 5."""
    nets = TIMER_NETS.replace("K1 1=V 2=V 3=LOAD 5=C", "K1 1=V 2=C 3=V 5=LOAD").replace("D1 A=C K=V", beside)
    made = derived(tmp_path, TIMER, nets, 12.0)
    coil = next(e for e in made.elements if e.ref == "K1" and e.kind == "inductor")
    assert set(coil.nodes) == {"V", "C"}
    assert not [e for e in made.elements if e.ref == "K1" and e.kind == "contact"]


@pytest.mark.parametrize(("turns", "words"), [(1, ""), (5, "5 turns through the hole"), (3, "3 Windungen")])
def test_a_closed_loop_sensor_whose_conductor_is_on_the_board(
    tmp_path: Path, published: Any, turns: int, words: str
) -> None:
    """LA 55-P, 1:1000: the current of the board, as often as it goes through the hole, in the measuring resistor."""
    rows = f"U1,LA 55-P,,{words}\n" + ohms(("R1", "100"), ("R2", "24"))
    nets = "U1 +=V -=N M=IM P1=V P2=B\nR1 1=IM 2=GND\nR2 1=B 2=GND"
    made = derived(tmp_path, rows, nets, 12.0, '"N" = "-12 V, limit 1 A"\n')
    template = compile_circuit(made)
    found = solve(template, template.powered("V", "N"))
    source = "maker's sheet: a thousandth of ampere-turns"
    expected = 12 / 24 * turns / 1000 * 100
    published(f"{turns} turns, 0.5 A in 100 ohm [V]", float(found.at("IM")[0]), expected, source=source, tolerance=0.03)


def test_amps_that_a_role_states_count_where_the_conductor_ends_at_plugs(tmp_path: Path, published: Any) -> None:
    rows = "U1,LA 55-P,,\nJ2,2p,,terminal\n" + ohms(("R1", "100"))
    nets = "U1 +=V -=N M=IM P1=A P2=B\nR1 1=IM 2=GND\nJ2 1=A 2=B"
    facts = '"N" = "-12 V, limit 1 A"\n[parts]\nU1 = { role = "20 A through the hole" }\n'
    template = compile_circuit(derived(tmp_path, rows, nets, 12.0, facts))
    found = solve(template, template.powered("V", "N"))
    source = "maker's sheet: a thousandth"
    published(
        "20 A that nothing on the board drives, in 100 ohm [V]",
        float(found.at("IM")[0]),
        2.0,
        source=source,
        tolerance=0.01,
    )


def test_the_main_contacts_of_a_contactor_make_for_the_diagnosis_alone(tmp_path: Path) -> None:
    """What is forecast before power takes no contact for open that nobody named."""
    rows = "K1,contactor 12V coil 120R,,\nQ1,BC337-40,TO-92,\n" + ohms(("R1", "1k"), ("R2", "100"))
    nets = "K1 A1=V A2=C 1=V 2=OUT\nQ1 1=C 2=B 3=GND\nR1 1=V 2=B\nR2 1=OUT 2=GND"
    made = derived(tmp_path, rows, nets, 12.0)
    assert not [e for e in made.elements if e.kind == "contact"]
    guessed = derive_circuit(read_board(tmp_path), guessing=True)
    (contact,) = [e for e in guessed.elements if e.kind == "contact"]
    assert set(contact.nodes) == {"V", "OUT"}


def test_how_far_the_inputs_of_an_old_isolated_driver_pull_up_is_left_open(tmp_path: Path, published: Any) -> None:
    """HCPL-316J: 0.4 mA out of an input that is held at 0.4 V, and nobody counts on it: a band down to nothing."""
    rows = "U1,HCPL-316J,SO-16,\n" + ohms(("R1", "470"))
    nets = "U1 1=IN 2=GND 3=V 4=GND 5=V 6=F 9=N 10=N 11=O 12=P 13=P 14=D 16=M\nR1 1=IN 2=GND"
    made = derived(tmp_path, rows, nets, 5.0)
    (pull,) = [e.parameters["resistance"] for e in made.elements if e.kind == "inner" and e.nodes == ("V", "IN")]
    most_ma = (5.0 - 0.4) / (pull.low or 0.0) * 1e3
    published("HCPL-316J, most input current [mA]", most_ma, 0.5, source="maker's sheet (from memory)", absolute=0.1)
    assert (pull.nominal or 0.0) < (5.0 - 0.4) / 0.4e-3 * 5 < (pull.high or 0.0)


def test_the_dead_time_pin_of_an_isolated_driver_has_a_level_of_its_own(tmp_path: Path) -> None:
    rows = "U1,UCC21520DW,SOIC-16,\n" + ohms(("R1", "20k"))
    nets = "U1 1=GND 2=GND 3=V 4=GND 5=GND 6=DT 8=V 9=GND 10=OB 11=V 14=GND 15=OA 16=V\nR1 1=DT 2=GND"
    made = derived(tmp_path, rows, nets, 5.0)
    assert ("DT",) in [e.nodes for e in made.elements if e.kind == "unmodelled"]
