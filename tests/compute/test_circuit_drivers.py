"""Instrumentation amplifiers, platinum, gate drivers, bus transceivers, isolators, cell protectors, Hall switches."""

from pathlib import Path
from typing import Any

import pytest

from reworkkit.compute.circuit.platinum import platinum_ohm
from reworkkit.compute.formulas.network import Solution, compile_circuit, solve
from tests.compute.test_circuit_chips import derived, followed, ohms, solved


def of_two(folder: Path, rows: str, nets: str, volts: float) -> Solution:
    """Solve a section with a supply of minus twelve volts on net N as well."""
    template = compile_circuit(derived(folder, rows, nets, volts, BIPOLAR))
    found = solve(template, template.powered("V", "N"))
    assert found.settled[0]
    return found


BIPOLAR = '"N" = "-12 V, limit 1 A"\n'


def test_an_instrumentation_amplifier_by_its_resistor(tmp_path: Path, published: Any) -> None:
    """INA128: 1 + 50k / RG above its reference pin; the gain resistor stands at the two inputs (sheet)."""
    rows = "U1,INA128P,DIP-8,\n" + ohms(("R1", "10k"), ("R2", "10k"), ("R3", "1k"), ("R4", "1k02"), ("R5", "1k"))
    nets = """R1 1=V 2=A
R2 1=V 2=B
R3 1=A 2=GND
R4 1=B 2=GND
R5 1=GA 2=GB
U1 1=GA 2=A 3=B 4=N 5=GND 6=OUT 7=V 8=GB"""
    found = of_two(tmp_path, rows, nets, 12.0)
    a, b, out = (float(found.at(net)[0]) for net in ("A", "B", "OUT"))
    published("INA128 with 1 kohm: 51 times", out, 51 * (b - a), source="maker's sheet: 1 + 50k / RG", tolerance=0.01)
    at_resistor = float(found.at("GB")[0]) - float(found.at("GA")[0])
    published("the difference at RG", at_resistor, b - a, source="maker's sheet, inner circuit", absolute=1e-4)


def test_both_pins_of_the_gain_resistor_may_be_called_alike(tmp_path: Path, published: Any) -> None:
    rows = "U1,INA128P,DIP-8,\n" + ohms(("R1", "10k"), ("R2", "10k"), ("R3", "1k"), ("R4", "1k02"), ("R5", "1k"))
    nets = """R1 1=V 2=A
R3 1=A 2=GND
R2 1=V 2=B
R4 1=B 2=GND
R5 1=P1 2=P8
U1 1:RG=P1 2:VIN-=A 3:VIN+=B 4:V-=N 5:REF=GND 6:VO=OUT 7:V+=V 8:RG=P8
"""
    found = of_two(tmp_path, rows, nets, 12.0)
    a, b, out = (float(found.at(net)[0]) for net in ("A", "B", "OUT"))
    published("INA128 with 1 kohm: 51 times", out, 51 * (b - a), source="maker's sheet: 1 + 50k / RG", tolerance=0.01)


@pytest.mark.parametrize(
    ("number", "gain"), [("AD620AN", 1 + 49.4), ("INA333", 101.0), ("AD627", 205.0), ("INA126P", 85.0)]
)
def test_gains_with_one_kiloohm(tmp_path: Path, published: Any, number: str, gain: float) -> None:
    package = "MSOP-8" if number == "INA333" else "DIP-8"
    rows = f"U1,{number},{package},\n" + ohms(
        ("R1", "10k"), ("R2", "10k"), ("R3", "10k"), ("R4", "10k02"), ("R5", "1k")
    )
    nets = """R1 1=V 2=A
R2 1=V 2=B
R3 1=A 2=GND
R4 1=B 2=GND
R5 1=GA 2=GB
U1 1=GA 2=A 3=B 4=N 5=GND 6=OUT 7=V 8=GB"""
    found = of_two(tmp_path, rows, nets, 12.0)
    a, b, out = (float(found.at(net)[0]) for net in ("A", "B", "OUT"))
    published(f"{number} with 1 kohm", out / (b - a), gain, source="maker's sheet (from memory)", tolerance=0.02)


def test_inputs_near_ground_on_one_supply(tmp_path: Path, published: Any) -> None:
    """AD623 shifts its inputs up, so that a bridge near ground does not drive its first amplifiers into the rail."""
    rows = "U1,AD623AR,SO-8,\n" + ohms(("R1", "3k3"), ("R2", "1k1"), ("R3", "3k3"), ("R4", "1k"), ("R5", "3k3"))
    rows += "\n" + ohms(("R6", "3k"), ("R7", "1k"))
    nets = """R1 1=V 2=P
R2 1=P 2=GND
R3 1=V 2=M
R4 1=M 2=GND
R6 1=V 2=REF
R7 1=REF 2=GND
R5 1=GA 2=GB
U1 1=GA 2=M 3=P 4=GND 5=REF 6=OUT 7=V 8=GB"""
    found = solved(tmp_path, rows, nets, 2.5)
    p, m, ref, out = (float(found.at(net)[0]) for net in ("P", "M", "REF", "OUT"))
    gain = 1 + 100 / 3.3
    published(
        "AD623 above its reference", out - ref, gain * (p - m), source="maker's sheet: 1 + 100k/RG", tolerance=0.02
    )


@pytest.mark.parametrize(
    ("celsius", "ohm"), [(0.0, 100.0), (10.0, 103.90), (25.0, 109.73), (40.0, 115.54), (100.0, 138.51)]
)
def test_platinum_as_its_standard_has_it(published: Any, celsius: float, ohm: float) -> None:
    got = platinum_ohm(100.0, celsius)
    published(f"platinum of 100 ohm at {celsius:g} C", got, ohm, source="IEC 60751, table of Pt100", absolute=0.006)


def test_a_platinum_sensor_is_a_resistor_in_a_room(tmp_path: Path) -> None:
    for text in ("PT1000", "Pt1000 class B", "sensor PT-1000"):
        made = derived(tmp_path, f"RT1,{text},,\n" + ohms(("R1", "10k")), "R1 1=V 2=A\nRT1 1=A 2=GND")
        (element,) = [e for e in made.elements if e.ref == "RT1"]
        band = element.parameters["resistance"]
        assert (band.low or 0.0) < platinum_ohm(1000.0, 22.0) < (band.high or 0.0)
        assert not made.not_judged or all("RT1" not in one.about for one in made.not_judged)


def test_a_chip_below_ground_does_not_short_its_rail(tmp_path: Path, published: Any) -> None:
    """A chip between two rails with a pin on ground: nothing of it leads from ground to the lower rail."""
    rows = "U1,XYZ9999,SOIC-8,integrated circuit\n" + ohms(("R1", "10k"))
    found = of_two(tmp_path, rows, "U1 4=N 5=GND 7=V 6=OUT\nR1 1=OUT 2=GND", 12.0)
    published("lower rail", float(found.at("N")[0]), -12.0, source="its supply", absolute=0.05)


PULLED = ohms(("R1", "10k"), ("R2", "10k"), ("R3", "10k"), ("R4", "10k"))


@pytest.mark.parametrize(
    ("number", "turned"),
    [
        ("TC4420CPA", False),
        ("TC4429CPA", True),
        ("MIC4422", False),
        ("MCP1406", True),
        ("TC4421", True),
        ("IXDN609SI", False),
    ],
)
def test_single_gate_drivers(tmp_path: Path, published: Any, number: str, turned: bool) -> None:
    for level, high in (("GND", False), ("V", True)):
        nets = f"U1 1=V 2=IN 4=GND 5=GND 6=OUT 7=OUT 8=V\nR1 1=IN 2={level}\nR2 1=OUT 2=GND\nR3 1=OUT 2=V"
        at = followed(tmp_path, f"U1,{number},DIP-8,\n" + PULLED, nets, 12.0)
        want = 12.0 if high != turned else 0.0
        published(f"{number} with its input at {level}", at["OUT"], want, source="maker's sheet (memory)", absolute=0.1)


@pytest.mark.parametrize(
    ("number", "turned"),
    [
        ("TC4426", (True, True)), ("TC4427ACPA", (False, False)), ("TC4428", (True, False)),
        ("ICL7667", (True, True)), ("UCC27524", (False, False)), ("UCC27425P", (True, False)),
        ("FAN3223", (True, True)),
    ],
)  # fmt: skip
def test_dual_gate_drivers(tmp_path: Path, published: Any, number: str, turned: tuple[bool, bool]) -> None:
    nets = """U1 2=A 3=GND 4=B 5=OB 6=V 7=OA
R1 1=A 2=GND
R2 1=B 2=V
R3 1=OA 2=GND
R4 1=OB 2=V"""
    at = followed(tmp_path, f"U1,{number},SOIC-8,\n" + PULLED, nets, 12.0)
    want = tuple(12.0 if high != over else 0.0 for high, over in zip((False, True), turned, strict=True))
    for net, volts in zip(("OA", "OB"), want, strict=True):
        published(f"{number}: A low, B high: {net}", at[net], volts, source="maker's sheet (memory)", absolute=0.1)


@pytest.mark.parametrize(
    ("number", "pins", "ends"),
    [
        ("IR2104PBF", "1=V 2=IN 3=SD 4=GND 5=LO 6=GND 7=HO 8=VB", [("IN", "SD", "HO", "LO")]),
        ("IRS2109", "1=V 2=IN 3=SD 4=GND 5=LO 6=GND 7=HO 8=VB", [("IN", "SD", "HO", "LO")]),
    ],
)
def test_a_half_bridge_driver(tmp_path: Path, published: Any, number: str, pins: str, ends: list[Any]) -> None:
    """IR2104: both outputs low while shutdown is low; else the high side as the input, the low side the other way."""
    rows = f"U1,{number},DIP-8,\nD1,UF4007,DO-41,\n" + PULLED
    for level, enable, want in (("GND", "GND", (0, 0)), ("V", "V", (1, 0)), ("GND", "V", (0, 1))):
        nets = f"U1 {pins}\nD1 A=V K=VB\nR1 1=IN 2={level}\nR2 1=SD 2={enable}\nR3 1=HO 2=GND\nR4 1=LO 2=GND"
        at = followed(tmp_path, rows, nets, 12.0)
        tops = (at["VB"], 12.0)
        for name, high, top in zip(("HO", "LO"), want, tops, strict=True):
            key = f"{number} input {level}, shutdown {enable}: {name}"
            published(key, at[name], high * top, source="maker's sheet (from memory)", absolute=0.1)


@pytest.mark.parametrize(("bus", "level"), [("A=V B=V", 1.0), ("A=GND B=GND", 1.0), ("A=GND B=V", 0.0)])
def test_a_bus_receiver_takes_lines_that_are_alike_for_high(
    tmp_path: Path, published: Any, bus: str, level: float
) -> None:
    """Its threshold lies between -10 and -200 mV: shorted or idle lines are no signal, wherever they stand."""
    rows = "U1,SP3485EN,SOIC-8,\n" + PULLED
    nets = (
        f"U1 2:~{{RE}}=GND 3:DE=GND 4:DI=V {bus} 1:RO=RO 8:VCC=V 5:GND=GND\nR3 1=RO 2=GND\nR1 1=V 2=GND\nR2 1=V 2=GND"
    )
    at = followed(tmp_path, rows, nets.replace("A=", "6:A=").replace("B=", "7:B="), 3.3)
    published(f"receiver, {bus}", at["RO"], 3.3 * level, source="maker's sheet: fail-safe", absolute=0.1)


def test_a_floating_supply_is_not_below_its_own_ground(tmp_path: Path, published: Any) -> None:
    """The output of a half bridge up at 18 V, its driver at 12 V: a junction from VS to VB lifts both pins with it."""
    rows = "U1,IR2184,DIP-8,\nD1,UF4004,DO-41,\n" + ohms(("R1", "100"), ("R2", "10k"), ("R3", "1k"))
    nets = """U1 1=GND 2=GND 3=GND 4=LO 5=L 6=V 7=HO 8=VB
D1 A=L K=VB
R1 1=V 2=L
R2 1=HO 2=HG
R3 1=L 2=GND"""
    at = followed(tmp_path, rows, nets, 18.0)
    drop = "silicon junction at a small current (common practice)"
    for pin in ("VB", "HO"):
        published(f"18 V at VS, {pin} [V]", at[pin], 17.5, source=drop, absolute=0.3)


def test_bus_transceivers_at_rest(tmp_path: Path, published: Any) -> None:
    """MAX485 with its driver off: what the resistors make of it, with 12 kohm or more of each input; TJA1050: 2.5 V."""
    rows = (
        "U1,MAX485,SOIC-8,\nU2,TJA1050T,SOIC-8,\n"
        + PULLED
        + "\n"
        + ohms(("R5", "560"), ("R6", "560"), ("R7", "120"), ("R8", "120"))
    )
    nets = """U1 1=RO 2=DE 3=DE 4=DI 5=GND 6=A 7=B 8=V
R1 1=DE 2=GND
R2 1=DI 2=V
R5 1=V 2=A
R6 1=B 2=GND
R7 1=A 2=B
U2 1=TXD 2=GND 3=V 4=RXD 5=REF 6=L 7=H 8=GND
R3 1=TXD 2=V
R4 1=RXD 2=GND
R8 1=H 2=L"""
    at = followed(tmp_path, rows, nets)
    apart = 5.0 * 120 / 1240
    published("A above B", at["A"] - at["B"], apart, source="divider of 560, 120 and 560 ohm", tolerance=0.02)
    assert 2.6 < at["A"] < 5.0 * 680 / 1240
    assert 2.1 < at["B"] < 5.0 * 560 / 1240
    for net in ("H", "L", "REF"):
        published(f"TJA1050 {net} at rest", at[net], 2.5, source="maker's sheet: half its supply", absolute=0.05)
    published("RXD at rest", at["RXD"], 5.0, source="maker's sheet", absolute=0.1)
    sends = followed(
        tmp_path, rows, nets.replace("R1 1=DE 2=GND", "R1 1=DE 2=V").replace("R3 1=TXD 2=V", "R3 1=TXD 2=GND")
    )
    assert sends["A"] > 4.0 > 1.0 > sends["B"]  # DE and DI high: A high, B low (sheet)
    assert sends["H"] - sends["L"] > 1.5
    assert sends["RXD"] < 0.5  # dominant: 1.5 to 3 V apart (ISO 11898-2)


def test_a_bus_of_three_volts_rests_lower(tmp_path: Path, published: Any) -> None:
    nets = "U2 1=TXD 2=GND 3=V 4=RXD 5=REF 6=L 7=H 8=GND\nR3 1=TXD 2=V\nR4 1=RXD 2=GND\nR1 1=H 2=L"
    at = followed(tmp_path, "U2,SN65HVD230D,SOIC-8,\n" + PULLED, nets, 3.3)
    published("SN65HVD230 at rest", at["H"], 2.3, source="maker's sheet (from memory)", absolute=0.1)
    published("SN65HVD230 reference", at["REF"], 1.65, source="maker's sheet: half its supply", absolute=0.05)


def test_an_isolator_follows(tmp_path: Path, published: Any) -> None:
    nets = """U1 1=V 2=IA 3=IB 4=GND 5=GND 6=OB 7=OA 8=V
R1 1=IA 2=V
R2 1=IB 2=GND
R3 1=OA 2=GND
R4 1=OB 2=V"""
    at = followed(tmp_path, "U1,ADuM1200ARZ,SOIC-8,\n" + PULLED, nets)
    published("ADuM1200, high input", at["OA"], 5.0, source="maker's sheet (from memory)", absolute=0.1)
    published("ADuM1200, low input", at["OB"], 0.0, source="maker's sheet (from memory)", absolute=0.1)


def test_a_cell_protector_holds_both_transistors_on(tmp_path: Path, published: Any) -> None:
    rows = "U1,DW01A,SOT-23-6,\n" + ohms(("R1", "100"), ("R2", "1M"), ("R3", "1M"))
    nets = "U1 1=DO 2=GND 3=CO 5=C 6=GND\nR1 1=V 2=C\nR2 1=DO 2=GND\nR3 1=CO 2=GND"
    well = followed(tmp_path, rows, nets, 3.8)
    empty = followed(tmp_path, rows, nets, 2.0)
    source = "maker's sheet (from memory): off below 2.4 V"
    published("DW01A at 3.8 V, discharge", well["DO"], 3.8, source=source, absolute=0.05)
    published("DW01A at 3.8 V, charge", well["CO"], 3.8, source=source, absolute=0.05)
    published("DW01A at 2.0 V", empty["DO"], 0.0, source=source, absolute=0.05)


def test_magnetic_and_thermal_sensors(tmp_path: Path, published: Any) -> None:
    rows = "U1,A1302KUA-T,SIP-3,\nU2,A3144,TO-92,\nT4,LM335Z,TO-92,\n" + ohms(
        ("R1", "10k"), ("R2", "10k"), ("R3", "2k2")
    )
    nets = """U1 1=V 2=GND 3=HALL
R1 1=HALL 2=GND
U2 1=V 2=GND 3=SW
R2 1=SW 2=V
T4 2=K 3=GND
R3 1=V 2=K"""
    at = followed(tmp_path, rows, nets)
    published("A1302 without a field", at["HALL"], 2.5, source="maker's sheet: half its supply", absolute=0.03)
    published("A3144 without a magnet", at["SW"], 5.0, source="maker's sheet: its output is off", absolute=0.01)
    published("LM335 in a room", at["K"], 2.96, source="maker's sheet: 10 mV per kelvin at 296 K", absolute=0.03)


def test_a_blank_microcontroller_holds_nothing(tmp_path: Path) -> None:
    """Before it is programmed its pins are inputs: a pull-down on one of them decides a gate behind it."""
    facts = '[[hold_points]]\nname = "first power"\n[[program]]\npart = "U1"\nafter_hold_point = "first power"\n'
    rows = "U1,ATMEGA328P,DIP-28,microcontroller\n" + ohms(("R1", "10k"))
    nets = "U1 7=V 8=GND 4=X\nR1 1=X 2=GND"
    blank = derived(tmp_path, rows, nets, 5.0, facts).elements
    assert not [e for e in blank if e.kind == "driver"]
    assert any(told.slug == "circuit-blank" for e in blank for told in e.assumed), "it is said"
    assert [e for e in derived(tmp_path, rows, nets).elements if e.kind == "driver"]


def test_a_reference_between_two_pins(tmp_path: Path, published: Any) -> None:
    """INA240 with one reference pin at its supply and one at ground: the output rests at half its supply (sheet)."""
    rows = "U1,INA240A2,SOIC-8,\n" + ohms(("R1", "0R1"), ("R2", "100"), ("R3", "10k"))
    nets = "R1 1=V 2=L\nR2 1=L 2=GND\nU1 1=L 2=GND 3=GND 5=OUT 6=V 7=V 8=V\nR3 1=OUT 2=GND"
    at = followed(tmp_path, rows, nets)
    want = at["V"] / 2 + 50 * (at["V"] - at["L"])
    published("INA240A2 with references apart", at["OUT"], want, source="maker's sheet: gain 50", tolerance=0.01)


@pytest.mark.parametrize(
    ("number", "package", "plus", "minus", "out", "high", "low"),
    [
        ("LF353N", "DIP-8", 3, 2, 1, 8, 4),
        ("TLC271CP", "DIP-8", 3, 2, 6, 7, 4),
        ("OP275GP", "DIP-8", 3, 2, 1, 8, 4),
        ("AD8610AR", "SOIC-8", 3, 2, 6, 7, 4),
        ("KIA358P", "DIP-8", 5, 6, 7, 8, 4),
        ("TLE2144", "DIP-14", 10, 9, 8, 4, 11),
        ("MC33204D", "SOIC-14", 12, 13, 14, 4, 11),
        ("LMC7101", "SOT-23-5", 3, 4, 1, 2, 5),
        ("OPA1678", "SOIC-8", 5, 6, 7, 8, 4),
        ("ICL7612", "DIP-8", 3, 2, 6, 7, 4),
    ],
)
def test_pins_of_amplifiers(
    tmp_path: Path, published: Any, number: str, package: str, plus: int, minus: int, out: int, high: int, low: int
) -> None:
    """A follower by the pin numbers of the sheet holds what its input has."""
    rows = f"U1,{number},{package},\n" + ohms(("R1", "10k"), ("R2", "10k"), ("R3", "10k"))
    nets = f"U1 {high}=V {low}=N {plus}=IN {minus}=O {out}=O\nR1 1=V 2=IN\nR2 1=IN 2=GND\nR3 1=O 2=GND"
    found = of_two(tmp_path, rows, nets, 12.0)
    published(f"{number} as a follower", float(found.at("O")[0]), 6.0, source="maker's sheet (memory)", absolute=0.05)


@pytest.mark.parametrize(
    ("number", "package", "plus", "minus", "out", "high", "low"),
    [
        ("LM319N", "DIP-14", 4, 5, 12, 11, 3), ("LT1720", "SOIC-8", 4, 3, 6, 8, 5),
        ("TLV3501AID", "SOIC-8", 3, 2, 6, 7, 4),
        ("BA10339", "DIP-14", 7, 6, 1, 3, 12), ("TLV9022", "SOIC-8", 3, 2, 1, 8, 4),
        ("CA3290E", "DIP-8", 5, 6, 7, 8, 4),
    ],
)  # fmt: skip
def test_pins_of_comparators(
    tmp_path: Path, published: Any, number: str, package: str, plus: int, minus: int, out: int, high: int, low: int
) -> None:
    rows = f"U1,{number},{package},\n" + PULLED
    for one, other, want in (("H", "GND", 5.0), ("GND", "H", 0.0)):
        nets = f"U1 {high}=V {low}=GND {plus}={one} {minus}={other} {out}=O\nR1 1=V 2=H\nR2 1=H 2=GND\nR3 1=O 2=V"
        at = followed(tmp_path, rows, nets)
        published(f"{number}: plus at {one}", at["O"], want, source="maker's sheet (memory)", absolute=0.1)


@pytest.mark.parametrize(
    ("number", "pins", "levels", "outs"),
    [
        ("74HC138", 16, {1: 1, 2: 0, 3: 1, 4: 0, 5: 0, 6: 1}, {10: 0, 15: 1, 7: 1}),
        ("74HC139", 16, {1: 0, 2: 1, 3: 0, 15: 1, 14: 0, 13: 0}, {5: 0, 4: 1, 12: 1}),
        ("CD4028", 16, {10: 1, 13: 1, 12: 0, 11: 0}, {15: 1, 3: 0}),
        ("74HC153", 16, {1: 0, 14: 1, 2: 1, 3: 1, 6: 0, 15: 1}, {7: 1, 9: 0}),
        ("74HC157", 16, {1: 1, 15: 0, 2: 0, 3: 1, 14: 1, 13: 0}, {4: 1, 12: 0}),
        ("74HC245", 20, {1: 1, 19: 0, 2: 1, 3: 0}, {18: 1, 17: 0}),
        ("74HC541", 20, {1: 0, 19: 0, 2: 1, 9: 0}, {18: 1, 11: 0}),
        ("74HC367", 16, {1: 0, 15: 0, 2: 1, 14: 0}, {3: 1, 13: 0}),
        ("CD4520", 16, {7: 1, 15: 1}, {3: 0, 14: 0}),
        ("74HC165", 16, {1: 0, 6: 1}, {9: 1, 7: 0}),
        ("CD4068", 14, {2: 1, 3: 1, 4: 1, 5: 1, 9: 1, 10: 1, 11: 1, 12: 0}, {13: 1}),
        ("74LVC1G27", 6, {1: 0, 3: 0, 6: 0}, {4: 1}),
        ("NC7WZ14", 6, {1: 1, 3: 0}, {6: 0, 4: 1}),
        ("74LVC3G34", 8, {1: 1, 3: 0}, {7: 1, 5: 0}),
    ],
)  # fmt: skip
def test_logic_by_its_truth_table(
    tmp_path: Path, published: Any, number: str, pins: int, levels: dict[int, int], outs: dict[int, int]
) -> None:
    high, low = {5: (5, 3), 6: (5, 2)}.get(pins, (pins, pins // 2))
    rows = [f"U1,{number},{'SOIC' if pins > 8 else 'SOT-23'}-{pins},"]
    nets = [f"U1 {high}=V {low}=GND " + " ".join(f"{n}=N{n}" for n in (*levels, *outs))]
    for n, level in levels.items():
        rows.append(f"R{n},1k,0603,")
        nets.append(f"R{n} 1=N{n} 2={'V' if level else 'GND'}")
    for n, level in outs.items():
        rows.append(f"R{n},100k,0603,")
        nets.append(f"R{n} 1=N{n} 2={'GND' if level else 'V'}")
    at = followed(tmp_path, "\n".join(rows), "\n".join(nets))
    for n, level in outs.items():
        published(
            f"{number} pin {n}", at[f"N{n}"], 5.0 * level, source="truth table of its sheet (memory)", absolute=0.1
        )


def test_an_analogue_switch(tmp_path: Path, published: Any) -> None:
    """4066: two sections as a divider's taps, one closed and one open."""
    nets = "U1 14=V 7=GND 1=A 2=B 13=V 3=A 4=C 5=L\nR1 1=V 2=A\nR2 1=B 2=GND\nR3 1=C 2=GND\nR4 1=L 2=GND"
    at = followed(tmp_path, "U1,CD4066BE,DIP-14,\n" + PULLED, nets)
    published("behind the closed one", at["B"], 2.5, source="divider of two times 10k", tolerance=0.03)
    published("behind the open one", at["C"], 0.0, source="nothing flows", absolute=0.01)


@pytest.mark.parametrize(("level", "tap"), [("GND", 2.0), ("V", 8.0)])
def test_a_changeover_switch(tmp_path: Path, published: Any, level: str, tap: float) -> None:
    """4053: a at ax while A is low, at ay while it is high (maker's sheet)."""
    nets = (
        f"U1 16=V 8=GND 7=GND 6=GND 12=X 13=Y 14=OUT 11=A\nR1 1=V 2=Y\nR2 1=Y 2=X\nR3 1=X 2=GND\nR4 1=A 2={level}"
        "\nR5 1=OUT 2=GND"
    )
    rows = "U1,CD4053BE,DIP-16,\n" + ohms(("R1", "2k"), ("R2", "6k"), ("R3", "2k"), ("R4", "10k"), ("R5", "1M"))
    out = float(solved(tmp_path, rows, nets, 10.0).at("OUT")[0])
    published(f"common end, A at {level}", out, tap, source="divider of 2k, 6k and 2k", tolerance=0.01)


def test_a_monitor_of_three_leads_gives_a_current(tmp_path: Path, published: Any) -> None:
    rows = "U1,ZXCT1009F,SOT-23,\n" + ohms(("R1", "0R1"), ("R2", "100"), ("R3", "1k"))
    found = solved(tmp_path, rows, "U1 1=LOAD 2=V 3=OUT\nR1 1=V 2=LOAD\nR2 1=LOAD 2=GND\nR3 1=OUT 2=GND", 12.0)
    drop = float(found.at("V")[0]) - float(found.at("LOAD")[0])
    source = "maker's sheet, from memory: 10 mA for each volt"
    published("ZXCT1009 into 1 kohm [V]", float(found.at("OUT")[0]), 10 * drop, source=source, tolerance=0.02)


def test_pin_names_come_before_numbers(tmp_path: Path, published: Any) -> None:
    """The names of the netlist tell the pins, in whatever order it numbers them."""
    rows = "U1,MAX3485,QFN-10,\nU2,TC4427,QFN-8,\n" + PULLED
    nets = """U1 9:~{RE}=GND 2:DE=GND 1:DI=V 4:A=P 5:B=N 6:RO=RO 7:VCC=V 8:GND=GND
R1 1=P 2=V
R2 1=N 2=GND
R3 1=RO 2=GND
U2 1:VDD=V 2:GND=GND 3:OUTA=OA 4:INA=V
R4 1=OA 2=GND"""
    at = followed(tmp_path, rows, nets)
    published("MAX3485 receiver, A above B", at["RO"], 5.0, source="maker's sheet", absolute=0.1)
    published("TC4427 output, input high", at["OA"], 5.0, source="maker's sheet", absolute=0.1)


@pytest.mark.parametrize(
    ("number", "at_25"), [("KTY81-110", 1000.0), ("KTY81-210", 2000.0), ("KTY83-110", 1000.0), ("KTY84-130", 603.0)]
)
def test_silicon_sensors(tmp_path: Path, published: Any, number: str, at_25: float) -> None:
    made = derived(tmp_path, f"RT1,{number},,\n" + ohms(("R1", "10k")), "R1 1=V 2=A\nRT1 1=A 2=GND")
    (element,) = [e for e in made.elements if e.ref == "RT1"]
    got = element.parameters["resistance"].nominal
    published(f"{number} at 23 C", got, at_25 * (1 - 2 * 0.0079), source="maker's sheet (memory)", tolerance=0.01)


def test_a_driver_of_five_leads_is_not_guessed(tmp_path: Path) -> None:
    made = derived(tmp_path, "U1,TC4420CAT,TO-220-5,", "U1 1=IN 2=GND 3=V 4=GND 5=OUT")
    assert {e.kind for e in made.elements if e.ref == "U1"} == {"unmodelled"}


def test_a_line_driver_with_its_own_pumps(tmp_path: Path, published: Any) -> None:
    """MAX232 with a high input: its line at some -8 V; an open receiver reads high through its 5 kohm (sheet)."""
    rows = "U1,MAX232N,DIP-16,\n" + PULLED + "\n" + ohms(("R5", "3k"))
    rows += "\nC1,1u,0805,\nC2,1u,0805,\nC3,1u,0805,\nC4,1u,0805,"
    nets = """U1 1=A 2=VP 3=B 4=C 5=D 6=VN 8=IN2 9=RO2 11=TI1 12=RO1 13=IN1 14=TO1 15=GND 16=V
C1 1=A 2=B
C2 1=C 2=D
C3 1=VP 2=V
C4 1=VN 2=GND
R1 1=TI1 2=V
R2 1=RO1 2=GND
R3 1=RO2 2=GND
R5 1=TO1 2=GND
R4 1=IN1 2=VP"""
    at = followed(tmp_path, rows, nets)
    assert 7.5 < at["VP"] < 10.0  # sheet, from memory
    assert -10.0 < at["VN"] < -7.0  # sheet, from memory
    assert -9.0 < at["TO1"] < -5.0  # -5 V or beyond with 3 kohm (sheet)
    published("receiver with a high line", at["RO1"], 0.0, source="maker's sheet: inverting", absolute=0.2)
    published("receiver with an open line", at["RO2"], 5.0, source="maker's sheet: open reads high", absolute=0.2)


SHUNT = "U1,{number},SOIC-8,isolated amplifier\n" + ohms(("R1", "10k"), ("R2", "{ohm}"))
ACROSS = """R1 1=V 2=A
R2 1=A 2=GND
U1 1:VDD1=V 2:VIN+=A 3:VIN-=GND 4:GND1=GND 5:GND2=GND 6:VOUT-=N 7:VOUT+=P 8:VDD2=V"""


def outputs(folder: Path, number: str, ohm: str, nets: str = ACROSS) -> tuple[float, float]:
    found = solved(folder, SHUNT.format(number=number, ohm=ohm), nets)
    return float(found.at("P")[0]), float(found.at("N")[0])


def test_an_isolated_amplifier_by_its_sheet(tmp_path: Path, published: Any) -> None:
    """HCPL-7800A: Broadcom's sheet, table of electrical specifications at 5 V (typical values)."""
    sheet = "Broadcom, HCPL-7800A, DC electrical specifications"
    rest = outputs(tmp_path, "HCPL-7800A", "1R")
    published("both outputs at rest [V]", sum(rest) / 2, 2.545, source=sheet, absolute=0.01)
    plus, minus = outputs(tmp_path, "HCPL-7800A", "204R")
    at = 5.0 * 204 / 10204
    published("gain at 100 mV", (plus - minus) / at, 8.00, source=sheet, tolerance=0.03)
    plus, minus = outputs(tmp_path, "HCPL-7800A", "870R")
    published("highest output, 400 mV in [V]", plus, 3.80, source=sheet, absolute=0.05)
    published("lowest output, 400 mV in [V]", minus, 1.29, source=sheet, absolute=0.05)


def test_an_isolated_amplifier_without_the_supply_of_its_input(tmp_path: Path) -> None:
    """The output goes to its lower end, as the sheets of AMC1301 and AMC1311 say (from memory)."""
    plus, minus = outputs(tmp_path, "AMC1301", "100R", ACROSS.replace("1:VDD1=V ", "1:VDD1=X "))
    assert plus - minus < -2.4


def test_an_isolated_amplifier_with_one_input_by_pin_numbers(tmp_path: Path) -> None:
    nets = """R1 1=V 2=A
R2 1=A 2=GND
U1 1=V 2=A 3=GND 4=GND 5=GND 6=N 7=P 8=V"""
    plus, minus = outputs(tmp_path, "ACPL-C87BT", "2k5", nets)
    assert plus - minus == pytest.approx(1.0, abs=0.03)
