"""Current sensors with and without a conductor of their own, voltage transducers, shunt amplifiers, isolated parts."""

from pathlib import Path
from typing import Any

import pytest

from reworkkit.compute.formulas.network import compile_circuit, solve
from tests.compute.test_circuit_chips import derived, followed, ohms

SHEET = "maker's data sheet, from memory"
NEGATIVE = '"N" = "-15 V, limit 1 A"\n'

EIGHT = "1={a} 2={a} 3={b} 4={b} 5=GND 6=F 7=OUT 8=V"
WIDE = "1={a} 2={a} 3={a} 4={a} 5={b} 6={b} 7={b} 8={b} 10=V 12=OUT 13=F 15=GND"
LONG = "1=V 2=GND 3=OUT 4={a} 5={b}"


def at_two(folder: Path, rows: str, nets: str, volts: float, facts: str = "") -> dict[str, float]:
    """Return the volts of a board with a second supply below ground."""
    template = compile_circuit(derived(folder, rows, nets, volts, NEGATIVE + facts))
    found = solve(template, template.powered("V", "N"))
    assert found.settled[0]
    return {net: float(found.at(net)[0]) for net in template.nodes}


@pytest.mark.parametrize(
    ("number", "pins", "supply", "zero", "per_amp"),
    [
        ("ACS713ELCTR-20A-T", EIGHT, 5.0, 0.5, 0.185),
        ("ACS714LLCTR-05B-T", EIGHT, 5.0, 2.5, 0.185),
        ("ACS723LLCTR-05AB-T", EIGHT, 5.0, 2.5, 0.4),
        ("ACS724LMATR-20AB-T", WIDE, 5.0, 2.5, 0.1),
        ("ACS725LMATR-30AU-T", WIDE, 3.3, 0.33, 0.088),
        ("ACS770LCB-050U-PFF-T", LONG, 5.0, 0.5, 0.08),
        ("ACS773LCB-100B-PFF-T", LONG, 3.3, 1.65, 0.0132),
        ("ACS71240LLCBTR-010B5", EIGHT, 5.0, 2.5, 0.2),
        ("TMCS1108A3BQDR", EIGHT, 5.0, 2.5, 0.2),
    ],
)
@pytest.mark.parametrize("load", ["", "10"])
def test_a_sensor_with_its_conductor_inside(
    tmp_path: Path, published: Any, number: str, pins: str, supply: float, zero: float, per_amp: float, load: str
) -> None:
    """The conductor leads from the supply to a load: its zero, and its sensitivity times the current."""
    rows = f"U1,{number},,current sensor\n" + ohms(("R1", load or "1M"))
    at = followed(tmp_path, rows, f"U1 {pins.format(a='V', b='LOAD')}\nR1 1=LOAD 2=GND", supply)
    expected = zero + (supply / float(load) * per_amp if load else 0.0)
    published(f"{number} [V]", at["OUT"], expected, source=SHEET, absolute=0.02)


@pytest.mark.parametrize(
    ("number", "pins", "low", "high"),
    [("ACS714", EIGHT, 0.04, 0.185), ("ACS758", LONG, 0.01, 0.08), ("TMCS1101", EIGHT, 0.05, 0.4)],
)
def test_a_range_that_the_number_does_not_tell(tmp_path: Path, number: str, pins: str, low: float, high: float) -> None:
    """The sensitivity has the width of the family (maker's data sheet, from memory)."""
    made = derived(tmp_path, f"U1,{number},,current sensor\n", f"U1 {pins.format(a='A', b='B')}")
    gain = next(e.parameters["gain"] for e in made.elements if e.ref == "U1" and e.kind == "amplifier")
    assert gain.low is not None
    assert gain.high is not None
    assert gain.high / gain.low == pytest.approx(high / low, rel=0.01)


@pytest.mark.parametrize(("upper", "reference"), [("10k", 2.5), ("20k3", 1.65)])
def test_the_zero_of_a_sensor_is_its_reference_input(
    tmp_path: Path, published: Any, upper: str, reference: float
) -> None:
    """TMCS1100A2: 0.1 V per ampere above the pin VREF, an input; 0.5 A here."""
    rows = "U1,TMCS1100A2QDR,SOIC-8,\n" + ohms(("R1", "10"), ("R2", upper), ("R3", "10k"))
    nets = f"U1 {EIGHT.format(a='V', b='LOAD')}\nR1 1=LOAD 2=GND\nR2 1=V 2=F\nR3 1=F 2=GND"
    at = followed(tmp_path, rows, nets, 5.0)
    published("output of a TMCS1100 [V]", at["OUT"], reference + 0.05, source=SHEET, absolute=0.02)


@pytest.mark.parametrize(
    ("number", "nets", "role", "expected"),
    [
        ("HAL 100-S", "U1 1=V 2=N 3=OUT 4=GND", "50 A through the hole", 2.0),
        ("HAS 200-S", "U1 1=V 2=N 3=OUT 4=GND", "-100 A", -2.0),
        ("HTR 100-SB", "U1 1:+VC=V 2:-VC=N 3:OUT=OUT 4:0V=GND", "", 0.0),
        ("HASS 50-S", "U1 1:+5V=S 2:0V=GND 3:OUT=OUT 4:VREF=R", "40 A", 3.0),
        ("HTFS 400-P", "U1 1:+5V=S 2:0V=GND 3:OUT=OUT 4:VREF=R", "", 2.5),
        ("HO 100-S", "U1 1:+VC=S 2:GND=GND 3:VOUT=OUT 4:VREF=R", "50 A", 2.9),
    ],
)
def test_a_sensor_around_a_conductor(
    tmp_path: Path, published: Any, number: str, nets: str, role: str, expected: float
) -> None:
    """Nothing on the board tells the current: `role` does, and without it there is none."""
    rows = f"U1,{number},,current sensor\nU2,78L05,TO-92,\n" + ohms(("R1", "10k"))
    nets = f"{nets}\nU2 1=S 2=GND 3=V\nR1 1=OUT 2=GND"
    facts = f'[parts]\nU1 = {{ role = "{role}" }}\n' if role else ""
    at = at_two(tmp_path, rows, nets, 15.0, facts)
    published(f"{number} [V]", at["OUT"], expected, source=SHEET, absolute=0.12)


def test_a_sensor_whose_conductor_is_on_the_board(tmp_path: Path, published: Any) -> None:
    """HY 10-P: 4 V at 10 A; 0.625 A from a 15 V supply into 24 ohm."""
    rows = "U1,HY 10-P,,current sensor\n" + ohms(("R1", "24"), ("R2", "10k"))
    at = at_two(tmp_path, rows, "U1 1=V 2=N 3=OUT 4=GND 5=V 6=B\nR1 1=B 2=GND\nR2 1=OUT 2=GND", 15.0)
    published("HY 10-P at 0.625 A [V]", at["OUT"], 0.25, source=SHEET, absolute=0.02)


def test_a_voltage_transducer(tmp_path: Path, published: Any) -> None:
    """LV 25-P: 250 ohm primary, 2500:1000; 15 V through 1.25 kohm are 10 mA and make 25 mA."""
    rows = "U1,LV 25-P,,voltage transducer\n" + ohms(("R1", "1k25"), ("R2", "100"))
    at = at_two(tmp_path, rows, "U1 1:+HT=A 2:-HT=GND 3:+=V 4:-=N 5:M=OUT\nR1 1=V 2=A\nR2 1=OUT 2=GND", 15.0)
    published("LV 25-P, primary [V]", at["A"], 2.5, source=SHEET, tolerance=0.02)
    published("LV 25-P, 25 mA in 100 ohm [V]", at["OUT"], 2.5, source=SHEET, tolerance=0.03)


@pytest.mark.parametrize(
    ("number", "turns"),
    [("LA 55-P", 1000), ("LA 55-P/SP1", 2000), ("LAH 50-P", 2000), ("LF 310-S", 2000), ("LF 510-S", 5000)],
)
def test_ratios_of_closed_loop_sensors(tmp_path: Path, published: Any, number: str, turns: int) -> None:
    rows = f"U1,{number},,current sensor\n" + ohms(("R1", "100"))
    facts = '[parts]\nU1 = { role = "30 A through the hole" }\n'
    at = at_two(tmp_path, rows, "U1 +=V -=N M=OUT\nR1 1=OUT 2=GND", 15.0, facts)
    published(f"{number} [V]", at["OUT"], 30 / turns * 100, source=SHEET, tolerance=0.02)


@pytest.mark.parametrize(
    ("number", "package", "pins", "gain"),
    [
        ("INA194AIDBVR", "SOT-23-5", "1=OUT 2=GND 3=P 4=M 5=V", 50),
        ("INA197AIDBVR", "SOT-23-5", "1=OUT 2=GND 3=V 4=P 5=M", 50),
        ("AD8217BRMZ", "MSOP-8", "1=P 4=GND 5=OUT 8=M", 20),
        ("AD8219BRMZ", "MSOP-8", "1=P 2=V 4=GND 5=OUT 8=M", 60),
        ("INA201AID", "SOIC-8", "1=V 2=OUT 3=GND 4=GND 5=GND 6=C 7=M 8=P", 50),
        ("INA271AID", "SOIC-8", "1=M 2=GND 3=X 4=X 5=OUT 6=V 8=P", 20),
        ("MAX4081SASA", "SOIC-8", "1=P 2=V 4=GND 5=OUT 6=GND 7=GND 8=M", 60),
        ("INA240A1PWR", "TSSOP-8", "1=GND 2=P 3=M 4=GND 5=V 6=GND 7=GND 8=OUT", 20),
        ("INA296A3IDR", "SOIC-8", "1=M 2=GND 3=GND 5=OUT 6=V 7=GND 8=P", 50),
    ],
)
def test_amplifiers_of_a_shunt(tmp_path: Path, published: Any, number: str, package: str, pins: str, gain: int) -> None:
    """0.1 ohm from the supply to a load of 23.9 ohm: 0.5 A and 50 mV."""
    rows = f"U1,{number},{package},\n" + ohms(("R1", "0.1"), ("R2", "23.9"), ("R3", "10k"))
    nets = f"U1 {pins.replace('=P', '=V')}\nR1 1=V 2=M\nR2 1=M 2=GND\nR3 1=OUT 2=GND"
    at = followed(tmp_path, rows, nets, 12.0)
    published(f"{number} [V]", at["OUT"], 0.05 * gain, source=SHEET, tolerance=0.05)


def test_a_monitor_fed_from_its_shunt(tmp_path: Path, published: Any) -> None:
    """ZXCT1110: 10 mA per volt into 1 kohm, a gain of ten."""
    rows = "U1,ZXCT1110W5-7,SOT-23-5,\n" + ohms(("R1", "0.2"), ("R2", "23.8"), ("R3", "1k"))
    nets = "U1 2=GND 3=OUT 4=V 5=M\nR1 1=V 2=M\nR2 1=M 2=GND\nR3 1=OUT 2=GND"
    at = followed(tmp_path, rows, nets, 12.0)
    published("ZXCT1110 [V]", at["OUT"], 1.0, source=SHEET, tolerance=0.05)


@pytest.mark.parametrize(("number", "gain"), [("AMC3301DWER", 8.2), ("AMC3302DWER", 41.0), ("AMC3330DWER", 2.0)])
def test_an_isolated_amplifier_that_feeds_its_own_first_side(
    tmp_path: Path, published: Any, number: str, gain: float
) -> None:
    """20 mV from the 3.2 V it makes: outputs 1.44 V above and below that by half the product."""
    rows = f"U1,{number},SOIC-16,isolated amplifier\n" + ohms(("R1", "15k9"), ("R2", "100"))
    nets = """U1 1=D 2=HG 3=D 5=HV 6=IN 7=HG 8=HG 9=GND 10=ON 11=OP 12=V 13=L 14=F 15=GND 16=L
R1 1=HV 2=IN
R2 1=IN 2=HG"""
    at = followed(tmp_path, rows, nets, 5.0)
    published(f"{number}, its supply [V]", at["HV"] - at["HG"], 3.2, source=SHEET, tolerance=0.05)
    published(f"{number}, common [V]", (at["OP"] + at["ON"]) / 2, 1.44, source=SHEET, tolerance=0.03)
    inside = at["IN"] - at["HG"]
    published(f"{number}, gain", (at["OP"] - at["ON"]) / inside, gain, source=SHEET, tolerance=0.1)


@pytest.mark.parametrize(
    ("number", "into", "pins", "above", "below"),
    [
        ("QA01C", 15.0, "1=V 2=GND 5=NEG 6=GND 7=POS", 20.0, -4.0),
        ("R12P21503D", 12.0, "1=V 2=GND 5=NEG 6=GND 7=POS", 15.0, -3.0),
        ("E0512S-1WR3", 5.0, "1=V 2=GND 4=NEG 5=GND 6=POS", 12.0, -12.0),
        ("IH0512D", 5.0, "1=GND 3=V 4=NEG 5=POS 6=GND", 12.0, -12.0),
        ("ITX1205S", 12.0, "1=GND 2=V 6=POS 7=GND 8=NEG", 5.0, -5.0),
    ],
)
def test_modules_with_two_outputs(
    tmp_path: Path, published: Any, number: str, into: float, pins: str, above: float, below: float
) -> None:
    """Lightly loaded: unregulated ones give some tenth more."""
    rows = f"U1,{number},,DC/DC converter isolated\n" + ohms(("R1", "2k2"), ("R2", "2k2"))
    at = followed(tmp_path, rows, f"U1 {pins}\nR1 1=POS 2=GND\nR2 1=NEG 2=GND", into)
    published(f"{number}, above [V]", at["POS"], above * 1.06, source=SHEET, tolerance=0.08)
    published(f"{number}, below [V]", at["NEG"], below * 1.06, source=SHEET, tolerance=0.08)


@pytest.mark.parametrize(
    ("number", "into", "pins", "out"),
    [
        ("TEN 20-2411WIN", 24.0, "1=V 2=GND 3=POS 5=GND", 5.0),
        ("IE0505S", 5.0, "1=GND 2=V 3=GND 4=POS", 5.0),
        ("H0515S-2W", 5.0, "1=V 2=GND 5=GND 7=POS", 15.0),
        ("NCS1S1205SC", 12.0, "1=GND 2=V 6=POS 7=GND", 5.0),
        ("PDS1-S5-S5-S", 5.0, "1:-VIN=GND 2:+VIN=V 4:-VO=GND 5:+VO=POS", 5.0),
    ],
)
def test_modules_with_one_output(
    tmp_path: Path, published: Any, number: str, into: float, pins: str, out: float
) -> None:
    rows = f"U1,{number},,DC/DC converter isolated\n" + ohms(("R1", "2k2"))
    at = followed(tmp_path, rows, f"U1 {pins}\nR1 1=POS 2=GND", into)
    published(f"{number} [V]", at["POS"], out * 1.06, source=SHEET, tolerance=0.08)


def test_gain_of_an_instrumentation_amplifier(tmp_path: Path, published: Any) -> None:
    """AD8422: 1 + 19.8 kohm / RG is 10 with 2.2 kohm; 0.1 V between its inputs."""
    rows = "U1,AD8422ARZ,SOIC-8,\n" + ohms(
        ("R1", "2k2"), ("R2", "10k"), ("R3", "10k"), ("R4", "200"), ("R5", "10k"), ("R6", "5k")
    )
    nets = """U1 1=A 2=G1 3=G2 4=B 5=GND 6=REF 7=OUT 8=V
R1 1=G1 2=G2
R2 1=V 2=B
R4 1=B 2=A
R3 1=A 2=GND
R5 1=V 2=REF
R6 1=REF 2=GND"""
    at = followed(tmp_path, rows, nets, 10.0)
    out = at["REF"] + 10 * (at["B"] - at["A"])
    published("AD8422 [V]", at["OUT"], out, source=SHEET, tolerance=0.02)
    published("between its inputs [V]", at["B"] - at["A"], 10 * 200 / 20200, source="Ohm's law", tolerance=0.02)


def test_a_linear_hall_chip_of_four_leads(tmp_path: Path, published: Any) -> None:
    """A1366: supply, output, no connection, ground."""
    rows = "U1,A1366LKTTN-2-T,SIP-4,\n" + ohms(("R1", "10k"))
    at = followed(tmp_path, rows, "U1 1=V 2=OUT 4=GND\nR1 1=OUT 2=GND", 5.0)
    published("A1366 without a field [V]", at["OUT"], 2.5, source=SHEET, absolute=0.05)
