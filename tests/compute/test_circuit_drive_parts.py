"""What drives are made of: current sensors, gate drivers with a desaturation pin, line receivers, inputs that clamp."""

from pathlib import Path
from typing import Any

import pytest

from reworkkit.compute.circuit.conditions import stated_amps
from reworkkit.compute.diagnosis import Stage, prepare
from reworkkit.compute.formulas.network import compile_circuit, solve
from reworkkit.read.folder import read_board
from tests.compute.test_circuit_chips import derived, followed, ohms, solved

BELOW = '"N" = "-15 V, limit 1 A"\n'


def of_both(folder: Path, rows: str, nets: str, facts: str = "") -> dict[str, float]:
    """Return the volts, and the amps of the upper supply as `V`, of a section between +15 V and -15 V."""
    template = compile_circuit(derived(folder, rows, nets, 15.0, BELOW + facts))
    found = solve(template, template.powered("V", "N"))
    assert found.settled[0]
    return {net: float(found.at(net)[0]) for net in template.nodes} | {"amps": float(found.current("V")[0])}


def both_followed(folder: Path, rows: str, nets: str, facts: str = "") -> dict[str, float]:
    """Return the volts of the healthy section between both supplies as the diagnosis has them."""
    made = derived(folder, rows, nets, 15.0, BELOW + facts)
    prepared = prepare(read_board(folder), made, Stage(None, "V", 1.0, None, beside=("N",)))
    return dict(zip(prepared.template.nodes, (float(v) for v in prepared.states[0]), strict=False))


LA55 = "U1,LA 55-P,,\nR1,100R,0603,1%"
LA55_NETS = "U1 1:+=V 2:-=N 3:M=IM\nR1 1=IM 2=GND"


@pytest.mark.parametrize(("role", "amps"), [("20 A through the hole", 20.0), ("-10 A", -10.0), ("no current", 0.0)])
def test_a_closed_loop_sensor_makes_a_thousandth(tmp_path: Path, published: Any, role: str, amps: float) -> None:
    at = of_both(tmp_path, LA55, LA55_NETS, f'[parts]\nU1 = {{ role = "{role}" }}\n')
    source = "maker's sheet of LA 55-P: 50 A makes 50 mA, offset at most 0.2 mA (memory)"
    published(f"LA 55-P, {role}, into 100 ohm", at["IM"], amps * 1e-3 * 100.0, source=source, absolute=0.01)
    own = 0.010 + max(amps, 0.0) * 1e-3
    published(
        f"LA 55-P, {role}, upper supply", at["amps"], own, source="maker's sheet: 10 mA and the output", tolerance=0.1
    )


def test_a_closed_loop_sensor_without_its_resistor_is_not_judged(tmp_path: Path) -> None:
    made = derived(tmp_path, "U1,LA 55-P,,\nR1,1k,0603,1%", "U1 1:+=V 2:-=GND 3:M=IM\nR1 1=V 2=A", 15.0)
    assert [e.kind for e in made.elements if e.ref == "U1"] == ["unmodelled"]


def test_amps_that_a_role_states_move_the_output(tmp_path: Path, published: Any) -> None:
    rows = "U1,ACS758LCB-050B,,\n" + ohms(("R1", "10k"))
    nets = "U1 1=V 2=GND 3=OUT 4=PA 5=PB\nR1 1=OUT 2=GND"
    found = solved(tmp_path, rows, nets, 5.0, '[parts]\nU1 = { role = "10 A from PA to PB" }\n')
    published("ACS758-050B, 10 A", float(found.at("OUT")[0]), 2.5 + 0.4, source="maker's sheet: 40 mV/A", absolute=0.02)


@pytest.mark.parametrize(
    ("words", "amps"), [("250 mA flowing", 0.25), ("kein Strom", 0.0), ("1,5 A", 1.5), ("on the 24 V bus", None)]
)
def test_amps_in_words(words: str, amps: float | None) -> None:
    assert stated_amps(words) == amps


GATE = ohms(*((f"R{n}", "10k") for n in range(1, 8)))
ISO = """U1 1=N 2=DS 3=GND 4=OH 5=V 6=OL 7=G 8=N 9=GND 10=IN 11=GND 12=RDY 13=FLT 14=RST 15=V5 16=GND
U2 1=V 2=GND 3=V5
R1 1=V5 2=RDY
R2 1=V5 2=FLT
R3 1=V5 2=RST
R4 1=IN 2={level}
R5 1=OH 2=G
R6 1=OL 2=G
R7 1=V5 2=DS"""


@pytest.mark.parametrize(("level", "gate"), [("GND", -15.0), ("V5", 15.0)])
def test_a_driver_between_two_supplies(tmp_path: Path, published: Any, level: str, gate: float) -> None:
    rows = "U1,ISO5852SDW,SOIC-16W,\nU2,L7805CV,TO-220,\n" + GATE
    at = both_followed(tmp_path, rows, ISO.format(level=level))
    source = "maker's sheet: pins and truth table (memory)"
    published(f"gate, input at {level}", at["G"], gate, source=source, absolute=0.1)
    published("ready is released", at["RDY"], 5.0, source=source, absolute=0.1)
    if level == "GND":
        published("desaturation pin held", at["DS"], 0.0, source=source, absolute=0.1)


FOUR = """U1 1={b} 2={a} 3=Y 4=V 5=Y2 6=GND 7=GND 8=GND 9=GND 10=GND 11=Y3 12=GND 13=Y4 14=GND 15=GND 16=V
R1 1=V 2=P
R2 1=P 2=M
R3 1=M 2=GND
R4 1=Y 2=GND"""


@pytest.mark.parametrize(
    ("number", "top", "off"), [("AM26C32N", 5, 0.1), ("DS26LS32CN", 3.1, 0.4), ("SN75175N", 5, 0.1)]
)
@pytest.mark.parametrize(("a", "b", "high"), [("P", "M", True), ("M", "P", False)])
def test_a_line_receiver(
    tmp_path: Path, published: Any, number: str, top: float, off: float, a: str, b: str, high: bool
) -> None:
    """RS-422: high where A is above B by more than 0.2 V; of a 26LS32 2.7 V at least, usually 3.4 V."""
    rows = f"U1,{number},DIP-16,\n" + ohms(("R1", "1k"), ("R2", "120R"), ("R3", "1k"), ("R4", "10k"))
    at = followed(tmp_path, rows, FOUR.format(a=a, b=b))
    source = "TIA/EIA-422-B: 200 mV; pins of the sheet (memory)"
    published(f"{number}, A on {a}", at["Y"], top if high else 0.0, source=source, absolute=off)
    published(
        "what the receiver takes from the pair", at["P"] - at["M"], 5 * 120 / 2120, source="divider", tolerance=0.05
    )


def test_a_line_driver(tmp_path: Path, published: Any) -> None:
    rows = "U1,AM26LS31CN,DIP-16,\n" + ohms(("R1", "1k"), ("R2", "100R"))
    at = followed(tmp_path, rows, "U1 1=I 2=Y 3=Z 4=V 8=GND 12=GND 16=V\nR1 1=V 2=I\nR2 1=Y 2=Z")
    published(
        "true above inverted, 100 ohm", at["Y"] - at["Z"], 4.0, source="at least 2 V (TIA/EIA-422-B)", absolute=2.0
    )


def test_an_input_of_a_controller_clamps_to_its_supply(tmp_path: Path, published: Any) -> None:
    """A divider whose lower half is open feeds an input: its protection diode holds it."""
    rows = "U1,ATmega328P-PU,DIP-28,\nU2,L7805CV,TO-220,\n" + ohms(("R1", "47k"), ("R2", "1k"))
    nets = "U1 7=V5 8=GND 23=A0\nU2 1=V 2=GND 3=V5\nR1 1=V 2=A0\nR2 1=V5 2=GND"
    found = solved(tmp_path, rows, nets, 15.0, '[parts]\nU1 = { role = "PC0 input" }\n')
    source = "common practice, no source: a silicon drop above the supply"
    published("held input", float(found.at("A0")[0]) - float(found.at("V5")[0]), 0.6, source=source, absolute=0.15)


def test_a_converter_that_makes_a_rail_below_ground_does_not_float(tmp_path: Path) -> None:
    """Its positive output is tied to ground."""
    made = derived(tmp_path, "PS1,TMA 1505S,SIP,\nR1,1k,0603,1%", "PS1 1=V 2=GND 4=VEE 6=GND\nR1 1=VEE 2=GND", 15.0)
    assert not [e for e in made.elements if e.kind == "floating"]


def test_ohms_of_a_coil_beside_the_outline(tmp_path: Path, published: Any) -> None:
    """A list may put them into the column of the package."""
    made = derived(tmp_path, 'K1,contactor 48VDC,"flange, coil 190 ohm",', "K1 A1=V A2=GND", 48.0)
    (coil,) = [e for e in made.elements if e.kind == "inductor"]
    published("coil", float(coil.parameters["resistance"].nominal or 0.0), 190.0, source="the list", absolute=1e-9)


@pytest.mark.parametrize(
    ("ref", "text", "kind"),
    [
        ("FS1", "flow switch", "switch"),
        ("FS1", "2A slow", "fuse"),
        ("J2", "encoder", "connector"),
        ("SW1", "encoder", "switch"),
    ],
)
def test_letters_of_two_meanings(tmp_path: Path, ref: str, text: str, kind: str) -> None:
    derived(tmp_path, f"{ref},{text},,\nR1,1k,0603,1%", f"{ref} 1=V 2=A\nR1 1=A 2=GND")
    assert read_board(tmp_path).parts[ref].identity.kind == kind


def test_a_power_amplifier_draws_its_current_of_rest(tmp_path: Path, published: Any) -> None:
    rows = "U1,TDA2030AV,Pentawatt,\n" + ohms(("R1", "10k"), ("R2", "10k"), ("R3", "10k"))
    found = solved(tmp_path, rows, "U1 1=A 2=O 3=GND 4=O 5=V\nR1 1=V 2=A\nR2 1=A 2=GND\nR3 1=O 2=GND", 24.0)
    source = "maker's sheet of TDA2030A: 50 mA, at most 80 mA (memory)"
    published("supply current", float(found.current("V")[0]), 0.052, source=source, absolute=0.03)


def test_the_shutdown_pin_takes_a_current(tmp_path: Path, published: Any) -> None:
    rows = "U1,SG3525AN,DIP-16,\n" + ohms(("R1", "4k7"))
    found = solved(tmp_path, rows, "U1 10=SD 12=GND 13=V 15=V 16=REF\nR1 1=REF 2=SD", 12.0)
    taken = (float(found.at("REF")[0]) - float(found.at("SD")[0])) / 4700
    published(
        "SG3525A, shutdown pin",
        taken,
        0.4e-3,
        source="maker's sheet: 0.4 mA at 2.5 V, at most 1 mA (memory)",
        absolute=2e-4,
    )


@pytest.mark.parametrize(("words", "role", "joined"), [("E-stop", "loop closed", True), ("fan", "on", False)])
def test_a_plug_that_is_closed(tmp_path: Path, words: str, role: str, joined: bool) -> None:
    facts = f'[parts]\nJ2 = {{ role = "{role}" }}\n'
    rows = f"J2,{words},Phoenix 2,\n" + ohms(("R1", "1k"))
    made = derived(tmp_path, rows, "J2 1=V 2=A\nR1 1=A 2=GND", 5.0, facts)
    assert any(e.kind == "link" for e in made.elements if e.ref == "J2") == joined


@pytest.mark.parametrize(("upper", "on"), [("100k", True), ("10M", False)])
def test_an_efuse_by_its_undervoltage_divider(tmp_path: Path, published: Any, upper: str, on: bool) -> None:
    rows = "U1,TPS259630DDAR,HSOP-8,\n" + ohms(("R1", upper), ("R2", "20k"), ("R3", "100R"))
    nets = "U1 1=GND 3=UV 4=V 5=OUT 8=GND\nR1 1=V 2=UV\nR2 1=UV 2=GND\nR3 1=OUT 2=GND"
    found = solved(tmp_path, rows, nets, 12.0)
    source = "maker's sheet: on above 1.2 V at its enable pin (memory)"
    published("behind the fuse", float(found.at("OUT")[0]), 12.0 if on else 0.0, source=source, absolute=0.2)
