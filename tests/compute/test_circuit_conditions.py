"""What a part stands at while its board is read: ohms, degrees, pins high or low, loads in ohms or at a plug."""

from pathlib import Path
from typing import Any

import pytest

from reworkkit.compute.circuit import derive_circuit
from reworkkit.compute.circuit.conditions import thermistor_ohm
from reworkkit.compute.circuit.line_levels import stated_levels
from reworkkit.compute.circuit.platinum import platinum_ohm
from reworkkit.compute.diagnosis import Stage, diagnose
from reworkkit.compute.diagnosis.holding import lifted_by_chips
from reworkkit.model.diagnosis import DiagnosisVerdict
from reworkkit.read.folder import read_board
from tests.compute.small_boards import opened, reading, written
from tests.compute.test_circuit import pins
from tests.compute.test_circuit_parts import SUPPLY, derived, of, volts

THERMISTOR_TABLE = "Vishay NTCLE100E3, B25/85 = 3977 K, resistance against temperature (from memory)"
IEC_60751 = "IEC 60751, table of a 100 ohm sensor (from memory)"


@pytest.mark.parametrize(("celsius", "ohm"), [(0.0, 32_650.0), (10.0, 19_900.0), (40.0, 5_330.0)])
def test_a_thermistor_at_a_temperature(celsius: float, ohm: float, published: Any) -> None:
    got = thermistor_ohm(10e3, celsius, 3977.0)
    published(f"10 k thermistor at {celsius:g} degrees [ohm]", got, ohm, source=THERMISTOR_TABLE, tolerance=0.05)


@pytest.mark.parametrize(("celsius", "ohm"), [(100.0, 138.51), (280.0, 204.90), (500.0, 280.98)])
def test_a_platinum_sensor_at_a_temperature(celsius: float, ohm: float, published: Any) -> None:
    got = platinum_ohm(100.0, celsius)
    published(f"Pt100 at {celsius:g} degrees [ohm]", got, ohm, source=IEC_60751, tolerance=0.0002)


@pytest.mark.parametrize(
    ("row", "role", "ohm"),
    [
        ("TH1,10k,probe,NTC thermistor", "28 k, in cold water", 28e3),
        ("LDR1,GL5528,,", "dusk, 150k", 150e3),
        ("RT1,Pt100,,", "280 ohm, kiln at 500 C", 280.0),
        ("RT1,Pt100,,", "at 100 C", 138.51),
        ("TH1,NTC 10k B3977,,", "in ice, 0 °C", 33_900.0),
    ],
)
def test_a_sensor_stands_where_its_role_says(tmp_path: Path, row: str, role: str, ohm: float) -> None:
    """Independent: the ohms as stated; else the formulas of IEC 60751 and IEC 60539-1."""
    ref = row.partition(",")[0]
    facts = f'{SUPPLY}[parts]\n{ref} = {{ role = "{role}" }}\n'
    made = derived(tmp_path, f"{row}\nR1,10k,0603,\n", pins("R1", "+12V", "T") + pins(ref, "T", "GND"), facts)
    (element,) = of(made, ref)
    assert element.kind == "resistor"
    assert element.parameters["resistance"].nominal == pytest.approx(ohm, rel=0.005)


@pytest.mark.parametrize("role", ["at -273 C", "at -275.15 C", "at 5000 C"])
def test_a_temperature_that_no_sensor_stands_is_not_taken(tmp_path: Path, role: str) -> None:
    facts = f'{SUPPLY}[parts]\nTH1 = {{ role = "{role}" }}\n'
    made = derived(tmp_path, "TH1,NTC 10k,,\nR1,10k,0603,\n", pins("R1", "+12V", "T") + pins("TH1", "T", "GND"), facts)
    assert [told.slug for told in of(made, "TH1")[0].assumed] == ["circuit-thermistor"]


@pytest.mark.parametrize("ohms", ["0 ohm", "-5 ohm"])
def test_ohms_that_no_load_has_are_asked_about(tmp_path: Path, ohms: str) -> None:
    facts = f'{SUPPLY}[loads]\nOUT = "{ohms}"\n'
    parts, nets = "R1,1k,0603,\nR2,1k,0603,\n", pins("R1", "+12V", "OUT") + pins("R2", "OUT", "GND")
    made = derived(tmp_path, parts, nets, facts)
    assert "circuit-load-no-net" in {one.because.slug for one in made.not_judged}


def test_a_controller_holds_its_pins_as_its_role_says(tmp_path: Path) -> None:
    facts = f'{SUPPLY}[parts]\nU1 = {{ role = "IO4 high, IO5 low; IO34 input" }}\n'
    nets = "U1,3V3,+12V\nU1,GND,GND\nU1,IO4,A\nU1,IO5,B\nU1,IO34,C\n"
    made = derived(tmp_path, "U1,ESP32,,microcontroller\n", nets, facts)
    levels = {e.nodes[0]: e.parameters["invert"].nominal for e in of(made, "U1", "gate")}
    assert levels == {"A": 0.0, "B": 1.0}
    assert {e.nodes[0] for e in of(made, "U1", "driver")} == {"A", "B"}


@pytest.mark.parametrize(
    ("stated", "netlist"),
    [
        ('OUT = "24 ohm"', pins("J2", "OUT", "GND")),
        ('J2 = "24 ohm"', pins("J2", "OUT", "GND")),
        ('J2 = "24 ohm"', pins("J2", "GND", "OUT")),
        ('OUT = { ohms = "24 ohm", tolerance = "5 %", part = "J2" }', pins("J2", "OUT", "GND")),
    ],
)
def test_a_load_in_ohms_at_a_net_or_at_a_plug(tmp_path: Path, stated: str, netlist: str) -> None:
    """Ohm's law: 12 V over 24 and 24 ohm, less some milliohms of leads, are 6 V."""
    parts = "R1,24R 1%,2512,resistor\nJ2,2p,,screw terminal\n"
    made = derived(tmp_path, parts, pins("R1", "+12V", "OUT") + netlist, f"{SUPPLY}[loads]\n{stated}\n")
    assert volts(made, "OUT") == [pytest.approx(6.0, abs=0.02)]


def test_a_load_between_two_nets_of_a_plug(tmp_path: Path) -> None:
    parts = "R1,24R 1%,2512,resistor\nJ3,2p,,screw terminal\n"
    made = derived(
        tmp_path, parts, pins("J3", "OUT", "+12V") + pins("R1", "OUT", "GND"), f'{SUPPLY}[loads]\nJ3 = "24 ohm"\n'
    )
    assert volts(made, "OUT") == [pytest.approx(6.0, abs=0.02)]


def test_a_comparator_with_an_emitter_of_its_own_pulls_down_to_it(tmp_path: Path) -> None:
    """LM311: pin 1 is the emitter, pin 4 the negative supply (maker's sheet, from memory)."""
    facts = f'{SUPPLY}"-12V" = "-12 V"\n'
    nets = pins("U1", "GND", "A", "B", "-12V", "N5", "N6", "OUT", "+12V")
    made = derived(tmp_path, "U1,LM311N,DIP-8,\nR1,1k,0603,\n", nets + pins("R1", "+12V", "OUT"), facts)
    assert [e.nodes for e in of(made, "U1", "driver")] == [("OUT", "+12V", "GND")]


@pytest.mark.parametrize("word", ["input", "reads the battery", "Eingang", "Eingänge", "entrée", "misst", "entrada"])
def test_words_of_a_pin_that_only_listens(word: str) -> None:
    assert stated_levels(f"IO34 {word}", {"IO34"}) == {"IO34": None}


DRIVEN = {
    "bom.csv": "Designator,Value,Description\nU1,ESP32,microcontroller\nR1,1k 1%,\nR2,1k 1%,\nR3,10k 1%,\n",
    "netlist.csv": "designator,pin,net,name\nU1,3V3,V33,\nU1,GND,GND,\nU1,IO4,LAMP,\nU1,IO5,KEY,\n"
    "R1,1,LAMP,\nR1,2,MID,\nR2,1,MID,\nR2,2,GND,\nR3,1,V33,\nR3,2,KEY,\n",
    "board.toml": '[board]\nground = "GND"\n[supplies]\nV33 = "3.3 V, limit 0.2 A"\n[loads]\nV33 = "20 mA"\n',
}


def test_an_output_of_a_program_that_reads_high_is_driven(tmp_path: Path) -> None:
    """Ohm's law: a pin at 3.2 V leaves 1.6 V between two equal resistors. A pin with a pull-up proves nothing."""
    board, circuit = opened(written(tmp_path, DRIVEN))
    assert lifted_by_chips(circuit) == {"LAMP": "V33"}
    found = diagnose(
        board, circuit, [reading("LAMP", 3.2), reading("MID", 1.6)], Stage(None, "V33", 0.2, None), None, None
    )
    assert found.verdict is DiagnosisVerdict.NO_FAULT_SEEN


PLUGGED = "J2,header,,\nR1,10k,0603,\nR2,10k,0603,\n"


@pytest.mark.parametrize(
    ("words", "role", "drives"),
    [
        ("header", "", True),
        ("header", "controller on", True),
        ("header", "nothing plugged in", False),
        ("header", "encoder unplugged", False),
        ("header", "Frequenzumrichter nicht angeschlossen", False),
        ("header", "rien de branché", False),
        ("header not plugged in", "", False),
        ("header", "open", False),
        ("header", "open collector output", True),
        ("header pin 3 not connected", "", True),
    ],
)
def test_a_plug_with_nothing_in_it_drives_nothing(tmp_path: Path, words: str, role: str, drives: bool) -> None:
    facts = SUPPLY + (f'[parts]\nJ2 = {{ role = "{role}" }}\n' if role else "")
    nets = pins("J2", "A", "GND") + pins("R1", "+12V", "A") + pins("R2", "A", "GND")
    made = derived(tmp_path, PLUGGED.replace("header", words), nets, facts)
    assert bool(of(made, "J2")) == drives


def test_ohms_between_the_pins_of_a_plug(tmp_path: Path) -> None:
    """Ohm's law: 15 k and 18 k to ground below 100 k each, from 12 V."""
    facts = f'{SUPPLY}[parts]\nJ2 = {{ role = "both probes in the water: 1-3 15k, 2 to 3: 18 kohm" }}\n'
    nets = "J2,1,A\nJ2,2,B\nJ2,3,GND\n" + pins("R1", "+12V", "A") + pins("R2", "+12V", "B")
    made = derived(tmp_path, "J2,probes,,\nR1,100k,0603,\nR2,100k,0603,\n", nets, facts)
    assert volts(made, "A")[0] == pytest.approx(12 * 15 / 115, rel=0.01)
    assert volts(made, "B")[0] == pytest.approx(12 * 18 / 118, rel=0.01)


def test_a_potentiometer_keeps_its_track_whatever_ohms_are_told_of_it(tmp_path: Path) -> None:
    facts = f'{SUPPLY}[parts]\nRV1 = {{ role = "2-3 6k" }}\n'
    nets = "RV1,1,+12V\nRV1,2,W\nRV1,3,GND\n" + pins("R1", "W", "GND")
    made = derived(tmp_path, "RV1,10k,trimmer,potentiometer\nR1,1M,0603,\n", nets, facts)
    assert {frozenset(e.nodes) for e in of(made, "RV1", "resistor")} == {
        frozenset(("+12V", "W")),
        frozenset(("W", "GND")),
    }


@pytest.mark.parametrize(
    ("words", "inputs"),
    [
        ("PA0 to PA2 inputs", {"PA0", "PA1", "PA2"}),
        ("PA0-PA2 and PB5 inputs", {"PA0", "PA1", "PA2", "PB5"}),
        ("PA1 bis 3 Eingang", {"PA1", "PA2", "PA3"}),
        ("PA2 to PA1 inputs", {"PA1", "PA2"}),
    ],
)
def test_pins_of_a_controller_by_their_range(words: str, inputs: set[str]) -> None:
    names = {"PA0", "PA1", "PA2", "PA3", "PB5"}
    assert stated_levels(words, names) == dict.fromkeys(inputs)


TI_LS32 = "TI SLLS115, AM26LS32AC: 52 mA usual, 70 mA at most (from memory)"


@pytest.mark.parametrize(("stated", "stands_ma"), [("22 mA", 74.0), ("90 mA", 90.0)])
def test_a_stated_draw_that_one_type_exceeds_is_that_of_the_others(
    tmp_path: Path, published: Any, stated: str, stands_ma: float
) -> None:
    """22 mA of a module beside a receiver that takes 52 by itself; 90 mA hold both."""
    rows = "U1,AM26LS32ACN,DIP-16,\nA1,Arduino Nano,module,\nR1,10k,0603,\n"
    nets = "U1,1,LOW\nU1,2,+5V\nU1,3,Y\nU1,4,+5V\nU1,12,GND\nU1,8,GND\nU1,16,+5V\nA1,5V,+5V\nA1,GND,GND\nA1,D2,Y\n"
    nets += pins("R1", "LOW", "GND")
    facts = f'[board]\nground = ["GND"]\n[supplies]\n"+5V" = "5 V, limit 1 A"\n[loads]\n"+5V" = "{stated}"\n'
    made = derived(tmp_path, rows, nets, facts)
    drawn = 1e3 * sum(e.parameters["current"].nominal or 0.0 for e in made.elements if e.kind == "load")
    published(f"drawn beside {stated} [mA]", drawn, stands_ma, source=TI_LS32, tolerance=0.03)


@pytest.mark.parametrize(("row", "kind"), [("LS1,loudspeaker 8 ohm,,", "inductor"), ("LS1,loudspeaker,,", "external")])
def test_a_loudspeaker_of_known_ohms_is_its_wire(tmp_path: Path, row: str, kind: str) -> None:
    nets = pins("R1", "+12V", "A") + pins("LS1", "A", "GND")
    made = derived(tmp_path, f"{row}\nR1,10k,0603,\n", nets)
    assert {e.kind for e in of(made, "LS1")} == {kind}


def test_a_motor_of_known_ohms_is_guessed_for_readings_only(tmp_path: Path) -> None:
    nets = pins("R1", "+12V", "A") + pins("M1", "A", "GND")
    derived(tmp_path, "M1,pump 12V (10 ohm),wired,\nR1,10R,0603,\n", nets)
    board = read_board(tmp_path)
    kinds = [{e.kind for e in of(derive_circuit(board, guessing=guess), "M1")} for guess in (False, True)]
    assert kinds == [{"external"}, {"inductor"}]
