"""What `role` says is plugged in, set, pressed or held while a board is read, in the words of different owners."""

from pathlib import Path

import pytest

from tests.compute.test_circuit import pins
from tests.compute.test_circuit_chips import followed, ohms
from tests.compute.test_circuit_parts import SUPPLY, derived, of, volts

LINE = "J2,host,,\nR1,10k,0603,\n"


@pytest.mark.parametrize(
    ("role", "stands"),
    [
        ("controller plugged in: holds pin 2 (LINE) low with 30 ohm to ground", 0.0),
        ("PLC in: LINE high", 12.0),
        ("host gives 2 low", 0.0),
        ("nothing plugged in", 6.0),
        ("link placed between 2 and 3", 0.0),
        ("jumper: 2 joined to 1", 12.0),
        ("1 and 2 linked by a wire", 12.0),
        ("no controller; LINE (pin 2) linked with a wire to pin 3: called", 0.0),
        ("LINE tied to +12V", 12.0),
        ("link between 2 and 3 removed", 6.0),
        ("sensor connected to 2 and 3", 6.0),
        ("2 not linked to 3", 6.0),
    ],
)
def test_a_line_at_a_plug_stands_as_it_is_held(tmp_path: Path, role: str, stands: float) -> None:
    """Ohm's law: 10 k up and down; what holds the line is far less."""
    nets = "J2,1,+12V\nJ2,2,LINE\nJ2,3,GND\n" + pins("R1", "+12V", "LINE") + pins("R2", "LINE", "GND")
    facts = f'{SUPPLY}[parts]\nJ2 = {{ role = "{role}" }}\n'
    made = derived(tmp_path, LINE + "R2,10k,0603,\n", nets, facts)
    assert volts(made, "LINE")[0] == pytest.approx(stands, abs=0.1)


def test_a_plug_whose_words_are_not_read_may_hold_its_line_anywhere(tmp_path: Path) -> None:
    nets = "J2,1,+12V\nJ2,2,LINE\nJ2,3,GND\n" + pins("R1", "+12V", "LINE")
    facts = f'{SUPPLY}[parts]\nJ2 = {{ role = "the host toggles it" }}\n'
    made = derived(tmp_path, LINE, nets, facts)
    assert {e.kind for e in of(made, "J2") if "LINE" in e.nodes} >= {"external"}


def test_a_two_wire_transmitter_passes_its_current(tmp_path: Path) -> None:
    """Ohm's law: 12 mA through 150 ohm."""
    facts = f'{SUPPLY}[parts]\nJ2 = {{ role = "two-wire transmitter plugged in, passes 12.0 mA" }}\n'
    made = derived(tmp_path, "J2,sensor,,\nR1,150R,,\n", pins("J2", "+12V", "LOOP") + pins("R1", "LOOP", "GND"), facts)
    assert volts(made, "LOOP")[0] == pytest.approx(12e-3 * 150, rel=0.01)


@pytest.mark.parametrize(
    ("role", "shares"),
    [
        ("slide 1 on, slide 2 off, slide 3 on (on joins the pin to ground)", (0, 1, 0)),
        ("1 off, 2 = on, 3: on", (1, 0, 0)),
        ("lever 2 ON, levers 1 and 3 OFF (address 5)", (1, 0, 1)),
        ("Schalter 1 ein, Schalter 2 aus, Schalter 3 aus", (0, 1, 1)),
    ],
)
def test_a_row_of_slides_stands_as_each_is_told(tmp_path: Path, role: str, shares: tuple[int, ...]) -> None:
    """Slide k is between its lead and the one opposite: 1-6, 2-5, 3-4 of six (every body of two rows)."""
    nets = "".join(f"S1,{n},{net}\n" for n, net in enumerate(("A", "B", "C", "GND", "GND", "GND"), 1))
    nets += "".join(pins(f"R{n}", "+12V", net) for n, net in enumerate("ABC", 1))
    rows = "S1,DIP switch 3-way,DIP-6,\n" + "".join(f"R{n},10k,0603,\n" for n in (1, 2, 3))
    made = derived(tmp_path, rows, nets, f'{SUPPLY}[parts]\nS1 = {{ role = "{role}" }}\n')
    assert [round(float(volts(made, net)[0]) / 12) for net in "ABC"] == list(shares)


@pytest.mark.parametrize(
    ("role", "closed"),
    [
        ("pressed once briefly after switching on, then let go", False),
        ("kurz gedrückt, dann losgelassen", False),
        ("pressed and held", True),
    ],
)
def test_a_button_stands_as_it_was_left(tmp_path: Path, role: str, closed: bool) -> None:
    nets = pins("S1", "A", "GND") + pins("R1", "+12V", "A")
    facts = f'{SUPPLY}[parts]\nS1 = {{ role = "{role}" }}\n'
    made = derived(tmp_path, "S1,push button,,\nR1,10k,0603,\n", nets, facts)
    assert (volts(made, "A")[0] < 0.1) == closed


@pytest.mark.parametrize(
    ("role", "share"),
    [
        ("wiper at 66 % counted from pin 3", 0.66),
        ("at 66 % from pin 1", 0.34),
        ("nearly down: 9k from 1 to 2, 1k from 2 to 3", 0.1),
        ("knob set so that 2k are left between the wiper and pin 3", 0.2),
        ("set to 70 %, measured from the pin 3", 0.7),
        ("at 30 % of the track from 3", 0.3),
    ],
)
def test_a_wiper_stands_as_it_is_counted(tmp_path: Path, role: str, share: float) -> None:
    """A divider: 12 V at pin 1, ground at pin 3."""
    nets = "RV1,1,+12V\nRV1,2,W\nRV1,3,GND\n"
    facts = f'{SUPPLY}[parts]\nRV1 = {{ role = "{role}" }}\n'
    made = derived(tmp_path, "RV1,10k,trimmer,potentiometer\n", nets, facts)
    assert volts(made, "W")[0] == pytest.approx(12 * share, rel=0.01)


@pytest.mark.parametrize(("pressed", "lamp", "other"), [(False, 5.0, 0.0), (True, 0.0, 5.0)])
def test_a_program_makes_its_outputs_follow_an_input(tmp_path: Path, pressed: bool, lamp: float, other: float) -> None:
    rows = "U1,ATtiny85-20PU,DIP-8,controller\nS1,push button,,\n" + ohms(("R1", "10k"), ("R2", "10k"), ("R3", "10k"))
    nets = "U1 2=KEY 4=GND 5=LAMP 6=OTHER 8=V\nS1 1=KEY 2=GND\nR1 1=V 2=KEY\nR2 1=LAMP 2=GND\nR3 1=OTHER 2=GND"
    role = (
        "while PB3 (KEY) is high it gives PB0 high, PB1 low; while PB3 is low, PB0 low, PB1 high. PB4 is only measured."
    )
    facts = f'[parts]\nU1 = {{ role = "{role}" }}\nS1 = {{ role = "{"pressed" if pressed else "not pressed"}" }}\n'
    found = followed(tmp_path, rows, nets, 5.0, facts)
    assert (found["LAMP"], found["OTHER"]) == pytest.approx((lamp, other), abs=0.1)
