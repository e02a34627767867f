"""Rules that reach further: what is decided is fed back, what a plug is taken to bring, diodes of signals, questions.

Truth is drawn by hand from Kirchhoff's rules and the usual circuits of the trade (independent; common practice).
"""

import re
from typing import Any

import pytest

from reworkkit.compute.circuit import derive_circuit
from reworkkit.compute.orientation import judge_orientation
from reworkkit.compute.potentials import PotentialFinder
from reworkkit.model.board import Board
from reworkkit.model.results import OrientationVerdict
from reworkkit.show.texts import sentence
from reworkkit.tables.transistors import transistor_type
from tests.compute.polarity_circuits import drawn

SUPPLY = "J1; in; connector; 1=+12V 2=GND\n"
CASES = {
    "a pump of unnamed nets": (
        "U1; NE555; timer; 1=GND 3=OSC 8=+12V 4=+12V\nC1; 10uF; aluminium electrolytic capacitor; 1=X 2=OSC; > X\n"
        "D1; 1N4148; diode; 1=X 2=+12V; > +12V\nD2; 1N4148; diode; 1=Y 2=X; > X\n"
        "C2; 10uF; aluminium electrolytic capacitor; 1=Y 2=GND; > Y",
    ),
    "diode gate, and": (
        "R1; 10k; resistor; 1=+12V 2=Y\nU1; 74HC14; logic; 1=Y 2=Q 7=GND 14=+5V\nJ2; a; connector; 1=A 2=B 3=GND\n"
        "D1; 1N4148; diode; 1=A 2=Y; > Y\nD2; 1N4148; diode; 1=B 2=Y; > Y",
    ),
    "across the resistor of a reset": (
        "R1; 10k; resistor; 1=+5V 2=RST\nC1; 1uF; ceramic capacitor; 1=RST 2=GND\n"
        "U1; ATMEGA328P; microcontroller; 1=RST 2=+5V 3=GND\nD1; 1N4148; diode; 1=+5V 2=RST; > RST",
    ),
    "a lamp between rail and plug": (
        "R1; 1k; resistor; 1=+5V 2=N1\nJ2; p; connector; 1=P 2=GND\nLED1; red; LED; 1=N1 2=P; > N1",
    ),
    "a lamp in a string with one that is decided": (
        "R1; 1k; resistor; 1=+12V 2=N1\nLED1; red; LED; 1=N1 2=N2; > N1\nLED2; red; LED; 1=N2 2=GND; > N2",
    ),
    "a Zener diode in front of a base": (
        "R1; 10k; resistor; 1=+12V 2=DLY\nC1; 1uF; ceramic capacitor; 1=DLY 2=GND\n"
        "Q2; BC557; PNP transistor; B=X C=DLY E=+5V\nR2; 1k; resistor; 1=+12V 2=OUT\n"
        "D1; 6V2; Zener diode; 1=DLY 2=B; > B\nQ1; BC547; NPN transistor; B=B C=OUT E=GND",
    ),
    "a ring of four into a base": (
        "J2; line; connector; 1=L1 2=L2\nR1; 10k; resistor; 1=L1 2=W1\nR2; 10k; resistor; 1=L2 2=W2\n"
        "D1; 1N4148; diode; 1=W1 2=P; > W1\nD2; 1N4148; diode; 1=P 2=W2; > W2\nD3; 1N4148; diode; 1=N 2=W1; > N\n"
        "D4; 1N4148; diode; 1=W2 2=N; > N\nQ1; BC547; NPN transistor; B=P C=OUT E=N\nR3; 1k; resistor; 1=+12V 2=OUT",
    ),
    "a gate guarded across the resistor that senses": (
        "U1; LM358; operational amplifier; 1=G 4=GND 8=+12V 2=S 3=GND\nQ1; IRLZ44N; MOSFET; G=G D=LOAD S=S\n"
        "R1; 0R1; resistor; 1=S 2=GND\nD1; 12V; Zener diode; 1=GND 2=G; > GND\nJ2; load; connector; 1=LOAD 2=+12V",
    ),
    "a diode as thermometer": (
        "R1; 10k; resistor; 1=+5V 2=T\nU1; ATMEGA328P; microcontroller; 1=T 2=+5V 3=GND\n"
        "D1; 1N4148; temperature sensor diode; 1=T 2=GND; > T",
    ),
    "a cell charged through a resistor": (
        "R1; 10R; resistor; 1=+12V 2=CHG\nBT1; 9.6V; battery; 1=BAT+ 2=GND\n"
        "D1; SS34; Schottky diode; 1=CHG 2=BAT+; > CHG",
    ),
    "out of saturation": (
        "Q1; BC547; NPN transistor; B=B C=C E=GND\nR1; 1k; resistor; 1=IN 2=B\nJ2; i; connector; 1=IN 2=GND\n"
        "R2; 1k; resistor; 1=+5V 2=C\nD1; BAT85; Schottky diode; 1=B 2=C; > B",
    ),
}


def judged(board: Board) -> dict[str, OrientationVerdict]:
    finder = PotentialFinder(board, derive_circuit(board))
    return {one.ref: one for one in judge_orientation(board, finder.all(), finder.refined)}


def high(verdict: OrientationVerdict) -> str | None:
    end = verdict.needs.get("anode") or verdict.needs.get("plus")
    return end[1] if end else None


@pytest.mark.parametrize("name", CASES)
def test_what_a_reader_of_circuits_sees(name: str) -> None:
    board = drawn(SUPPLY + CASES[name][0], '[supplies]\n"+12V" = "12 V"\n')
    found = judged(board.board)
    assert {ref: high(found[ref]) for ref in board.truth} == board.truth


def test_a_plug_on_a_net_of_a_chip_brings_no_more_than_the_chip_bears() -> None:
    text = SUPPLY + "U1; ATMEGA328P; microcontroller; 1=S 2=+5V 3=GND\nJ2; s; connector; 1=S 2=GND"
    board = drawn(text).board
    (net,) = [one for one in PotentialFinder(board, derive_circuit(board)).all().nets if one.net == "S"]
    assert net.band_v
    assert (net.band_v.low, net.band_v.high) == (0.0, 5.0)


def test_a_plug_is_taken_as_above_ground_only_where_nothing_tells_of_the_other_side() -> None:
    text = SUPPLY + "J2; s; connector; 1=S 2=GND\nD1; SMAJ5.0A; one-way TVS; 1=S 2=GND"
    assert high(judged(drawn(text).board)["D1"]) == "GND"
    below = text + "\nJ3; n; connector; 1=-12V 2=S\n"
    assert judged(drawn(below).board)["D1"].needs == {}


def test_a_net_called_minus_that_a_transistor_switches_is_no_negative_rail() -> None:
    text = SUPPLY + "J2; load; connector; 1=+12V 2=LOAD_NEG\nQ1; IRLZ44N; MOSFET; G=X D=LOAD_NEG S=GND\n"
    text += "D1; SMAJ15A; one-way TVS; 1=LOAD_NEG 2=GND\n"
    assert high(judged(drawn(text, '[supplies]\n"+12V" = "12 V"\n').board)["D1"]) == "GND"


def test_a_store_that_a_rail_may_charge_is_not_taken_as_held_off() -> None:
    text = (
        SUPPLY
        + "C1; 1F; supercapacitor; 1=VBAK 2=GND\nJ2; back; connector; 1=VBAK 2=GND\nD1; BAT54; diode; 1=+5V 2=VBAK\n"
    )
    found = judged(drawn(text, '[supplies]\n"+5V" = "5 V"\n[nets]\nVBAK = "0 V to 5 V"\n').board)["D1"]
    assert high(found) in (None, "+5V")


def test_the_pins_of_a_negative_regulator(published: Any) -> None:
    """LM337 in TO-220: 1 adjust, 2 input, 3 output; makers' data sheets, from memory."""
    board = drawn("U1; LM337; negative regulator; 1=A 2=B 3=C\nJ1; in; connector; 1=GND 2=B").board
    roles = PotentialFinder(board, derive_circuit(board)).all().roles["U1"]
    published("pins of LM337", roles, {"1": "ADJ", "2": "NIN", "3": "NOUT"}, source="makers' data sheets, from memory")


@pytest.mark.parametrize(("value", "presumed"), [("XQ77", True), ("PC817", False)])
def test_pins_of_a_coupler_of_unlisted_type_are_said_to_be_taken_for_granted(value: str, presumed: bool) -> None:
    text = f"R1; 1k; resistor; 1=+12V 2=A\nU1; {value}; optocoupler; 1=A 2=GND 3=GND 4=OUT"
    found = judged(drawn(SUPPLY + text, '[supplies]\n"+12V" = "12 V"\n').board)["U1"]
    assert high(found) == "A"
    assert ("Taken for granted" in sentence(found.why)) is presumed


def test_a_zener_diode_that_sets_a_base_is_not_taken_for_one_in_front_of_it() -> None:
    text = "R1; 10k; resistor; 1=+12V 2=B\nQ1; BC547; NPN transistor; B=B C=+12V E=OUT\n"
    text += "D1; 6V2; Zener diode; 1=B 2=N\nD2; 1N4148; diode; 1=N 2=GND\nR2; 1k; resistor; 1=OUT 2=GND"
    found = judged(drawn(SUPPLY + text, '[supplies]\n"+12V" = "12 V"\n').board)
    assert high(found["D1"]) in (None, "N")


def test_a_stated_range_beats_what_is_taken_for_granted() -> None:
    text = SUPPLY + "J2; s; connector; 1=S 2=GND\nD1; SMAJ5.0A; one-way TVS; 1=S 2=GND"
    assert high(judged(drawn(text, '[nets]\nS = "-5 V to 0 V"\n').board)["D1"]) == "S"


@pytest.mark.parametrize(
    ("net", "is_rail"), [("5V_EN", False), ("VBAT_SENSE", False), ("+5VA", True), ("VCC_3V3", True)]
)
def test_a_signal_about_a_rail_is_no_rail(net: str, is_rail: bool) -> None:
    board = drawn(SUPPLY + f"U1; ATMEGA328P; microcontroller; 1={net} 2=+5V 3=GND").board
    (found,) = [one for one in PotentialFinder(board, derive_circuit(board)).all().nets if one.net == net]
    assert found.why.slug.startswith("potential-by-name") is is_rail


def test_reverse_voltage_is_set_beside_the_rating() -> None:
    text = "J1; in; connector; 1=+48V 2=GND\nD1; {}; {}; 1=+48V 2=GND"
    slugs = {}
    for value, words in (("SS34", "Schottky diode"), ("SS36", "Schottky diode"), ("X1", "Schottky diode 30 V")):
        found = judged(drawn(text.format(value, words)).board)["D1"]
        slugs[value] = [finding.message.slug for finding in found.findings]
    assert slugs == {"SS34": ["polarity-over-reverse"], "SS36": [], "X1": ["polarity-over-reverse"]}


def test_what_is_asked_can_decide() -> None:
    text = SUPPLY + "J2; s; connector; 1=S 2=T\nU9; XYZ9; unknown thing; 1=S 2=T\nD1; 1N4148; diode; 1=S 2=+12V"
    question = judged(drawn(text).board)["D1"].question
    assert question is not None
    assert question.answer
    answer = re.sub(r'"S" = ".*"', '"S" = "0 V to 5 V"', question.answer).replace('role = "clamp"', 'role = "clamp"')
    assert judged(drawn(text, answer + "\n").board)["D1"].needs


@pytest.mark.parametrize(
    ("value", "expected"),
    [("2N7002", "n"), ("BSS84", "p"), ("IRF9540N", "p"), ("IRLZ44N", "n"), ("AO3401A", "p"), ("SI2302", "n")],
)
def test_channels_by_type_number(value: str, expected: str) -> None:
    """Makers' data sheets, from memory."""
    identity = drawn(f"Q1; {value}; MOSFET; 1=A 2=B 3=C").board.parts["Q1"].identity
    assert transistor_type(identity) == expected


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        ("BC547B", "npn"),
        ("BC557", "pnp"),
        ("2N3906", "pnp"),
        ("BC550C", "npn"),
        ("BC560C", "pnp"),
        ("BC850C", "npn"),
        ("BC860B", "pnp"),
        ("BCX17", "pnp"),
        ("BCX19", "npn"),
        ("BCW66", "npn"),
        ("BCW68", "pnp"),
        ("BD442", "pnp"),
        ("BC868", "npn"),
        ("X77", None),
    ],
)
def test_bipolar_types_by_number(value: str, expected: str | None) -> None:
    """Makers' data sheets, from memory."""
    identity = drawn(f"Q1; {value}; bipolar transistor; 1=A 2=B 3=C").board.parts["Q1"].identity
    assert transistor_type(identity) == expected
