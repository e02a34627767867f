"""What boards that carry real power have: IGBTs, current sensors of several makes, supplies for gates, latches."""

from pathlib import Path
from typing import Any

import pytest

from tests.compute.test_circuit_chips import derived, followed, ohms, solved
from tests.compute.test_circuit_drivers import of_two


@pytest.mark.parametrize("number", ["IRG4PC50UD", "IKW40N60T", "FGA25N120ANTD", "STGW30NC60WD", "HGTG20N60"])
def test_an_igbt_drops_a_junction_when_it_is_on(tmp_path: Path, published: Any, number: str) -> None:
    rows = f"Q1,{number},TO-247,\n" + ohms(("R1", "100R"), ("R2", "10k"))
    on = solved(tmp_path, rows, "R1 1=V 2=C\nR2 1=V 2=G\nQ1 1=G 2=C 3=GND", 15.0)
    source = "0.6 to 1 V at small currents: collector curves of makers' sheets, from memory"
    published(f"{number}, collector at 0.14 A [V]", float(on.at("C")[0]), 0.75, source=source, absolute=0.25)
    off = solved(tmp_path, rows, "R1 1=V 2=C\nR2 1=GND 2=G\nQ1 1=G 2=C 3=GND", 15.0)
    assert float(off.at("C")[0]) > 14.9


LEADS = "1=P 2=P 3=P 4=Q 5=Q 6=Q 8=OUT 9=GND 10=V"


@pytest.mark.parametrize(
    ("number", "volts", "pins", "zero", "per_a"),
    [
        ("LTSR 25-NP", 5.0, LEADS, 2.5, 0.025),
        ("LTSR 6-NP", 5.0, LEADS, 2.5, 0.625 / 6),
        ("HO 15-NP", 5.0, "1=V 2=GND 3=OUT 8=P 9=P 10=P 11=Q 12=Q 13=Q", 2.5, 0.8 / 15),
        ("HO 25-NP-SP33", 3.3, "1=V 2=GND 3=OUT 8=P 9=P 10=P 11=Q 12=Q 13=Q", 1.65, 0.46 / 25),
    ],
)
def test_current_sensors_by_their_sheets(
    tmp_path: Path, published: Any, number: str, volts: float, pins: str, zero: float, per_a: float
) -> None:
    """Pins as in KiCad's library; zero (a reference of its own) and sensitivity as in the maker's sheets (memory)."""
    rows = f"U1,{number},,current sensor\n" + ohms(("R1", "10R"))
    found = solved(tmp_path, rows, f"R1 1=V 2=P\nU1 {pins}", volts).at("OUT")
    published(f"{number}, no current [V]", float(found[0]), zero, source="maker's sheet, from memory", absolute=0.02)
    on = solved(tmp_path, rows, f"R1 1=V 2=P\nU1 {pins.replace('Q', 'GND')}", volts)
    supply, out, after = (float(on.at(net)[0]) for net in ("V", "OUT", "P"))
    amps = (supply - after) / 10
    source = "maker's sheet, from memory"
    published(f"{number}, V/A", (out - zero) / amps, per_a, source=source, tolerance=0.03)


def test_a_current_sensor_between_two_supplies(tmp_path: Path, published: Any) -> None:
    rows = "U1,HX 10-P,,current sensor\n" + ohms(("R1", "12R"), ("R2", "10k"))
    nets = "R1 1=V 2=P\nR2 1=OUT 2=GND\nU1 1=V 2=N 3=OUT 4=GND 5=P 6=GND"
    out = float(of_two(tmp_path, rows, nets, 12.0).at("OUT")[0])
    published("HX 10-P at 1 A [V]", out, 0.4, source="4 V at 10 A: maker's sheet, from memory", absolute=0.03)


@pytest.mark.parametrize(
    ("number", "above", "below"),
    [("R15P21509D", 15.0, 9.0), ("MGJ2D151509SC", 15.0, 9.0), ("MGJ2D152005SC", 20.0, 5.0)],
)
def test_supplies_of_gates_have_two_voltages(
    tmp_path: Path, published: Any, number: str, above: float, below: float
) -> None:
    """Loaded with about half a watt each way; unregulated, so that light loads lift them."""
    rows = f"U1,{number},,\n" + ohms(("R1", "470R"), ("R2", "220R"))
    nets = "U1 1=V 2=GND 5=M 6=GND 7=P\nR1 1=P 2=GND\nR2 1=M 2=GND"
    found = solved(tmp_path, rows, nets, 15.0)
    published(f"{number}, above", float(found.at("P")[0]), above, source="the type number", tolerance=0.12)
    published(f"{number}, below", -float(found.at("M")[0]), below, source="the type number", tolerance=0.12)


@pytest.mark.parametrize(("number", "volts"), [("HLK-PM12", 12.0), ("HLK-PM01", 5.0), ("HLK-5M24", 24.0)])
def test_mains_modules_run_from_a_direct_voltage_link(
    tmp_path: Path, published: Any, number: str, volts: float
) -> None:
    found = solved(tmp_path, f"U1,{number},,\n" + ohms(("R1", "1k")), "U1 1=V 2=GND 3=GND 4=P\nR1 1=P 2=GND", 320.0)
    published(number, float(found.at("P")[0]), volts, source="the type number", tolerance=0.03)


@pytest.mark.parametrize(
    ("value", "role", "high"),
    [("Raspberry Pi Pico", "GP2 high", 3.3), ("ESP32-DevKitC", "GP2 high", 3.3), ("Arduino Nano", "GP2 high", 5.0),
     ("control board", "GP2 high (3.3 V)", 3.3)],
)  # fmt: skip
def test_ports_reach_the_voltage_of_their_board(
    tmp_path: Path, published: Any, value: str, role: str, high: float
) -> None:
    facts = f'[parts]\nA1 = {{ role = "{role}", kind = "microcontroller" }}\n'
    circuit = derived(tmp_path, f"A1,{value},,controller board\n" + ohms(("R1", "10k")), PORT, 5.0, facts)
    driver = next(e for e in circuit.elements if e.kind == "driver" and e.nodes[0] == "OUT")
    made = {e.nodes[1]: e.parameters["volts"].nominal for e in circuit.elements if e.kind == "regulator"}
    published(f"{value}, a pin that is high", made.get(driver.nodes[1], 5.0) or 0.0, high, source="makers", absolute=0)


def test_a_buffer_for_such_a_board_keeps_its_own_supply(tmp_path: Path) -> None:
    rows = "U1,XYZ125,SOIC-14,buffer to the ESP32\n" + ohms(("R1", "10k"))
    circuit = derived(tmp_path, rows, "U1 14:VCC=V 7:GND=GND 3:Y=OUT\nR1 1=OUT 2=GND")
    assert [e.nodes[1] for e in circuit.elements if e.kind == "driver" and e.nodes[0] == "OUT"] == ["V"]


def test_an_old_regulator_is_no_module_of_the_mains(tmp_path: Path) -> None:
    circuit = derived(tmp_path, "U1,LD1117AS12TR,SOT-223,\n" + ohms(("R1", "1k")), "U1 1=GND 2=P 3=V\nR1 1=P 2=GND")
    assert "isolated" not in {e.kind for e in circuit.elements if e.ref == "U1"}


PORT = "A1 1:5V=V 2:GND=GND 3:GP2=OUT\nR1 1=OUT 2=GND"


@pytest.mark.parametrize("ohm", ["100R", "10k"])
def test_a_controller_of_an_n_channel_transistor_holds_20_millivolts(tmp_path: Path, published: Any, ohm: str) -> None:
    rows = "U1,LM74700QDBVRQ1,SOT-23-6,\nQ1,AOD4184A,TO-252,N-MOSFET\n" + ohms(("R1", ohm))
    nets = "U1 1=CAP 2=GND 3=V 4=OUT 5=G 6=V\nQ1 1=G 2=OUT 3=V\nR1 1=OUT 2=GND"
    at = float(solved(tmp_path, rows, nets, 12.0).at("OUT")[0])
    published("drop of the ideal diode", 12.0 - at, 0.02, source="LM74700 sheet, from memory", absolute=0.008)


@pytest.mark.parametrize("chip", ["74HC00", "74HC02"])
@pytest.mark.parametrize("clears", [True, False])
def test_two_gates_that_hold_each_other_are_a_latch(tmp_path: Path, published: Any, chip: str, clears: bool) -> None:
    """The truth table of a latch of two gates (any textbook): what is asserted decides, else the reset capacitor."""
    rest, end = ("V", "GND") if chip == "74HC00" else ("GND", "V")
    rows = f"U1,{chip},SOIC-14,\nC1,100n,0603,\n" + ohms(("R1", "10k"), ("R2", "10k"))
    pins = "1=S 2=QN 3=Q 4=R 5=Q 6=QN" if chip == "74HC00" else "1=Q 2=S 3=QN 4=QN 5=R 6=Q"
    nets = f"R1 1=S 2={rest}\nR2 1=R 2={rest}\nC1 1={'R' if clears else 'S'} 2={end}\nU1 {pins} 7=GND 14=V"
    at = followed(tmp_path, rows, nets)
    high = clears if chip == "74HC02" else not clears
    published(f"{chip}, {'cleared' if clears else 'set'}", at["Q"], 5.0 * high, source="truth table", absolute=0.05)
    published(f"{chip}, its other output", at["QN"], 5.0 * (not high), source="truth table", absolute=0.05)


def test_a_thermal_switch_rests_closed(tmp_path: Path) -> None:
    circuit = derived(tmp_path, "TS1,KSD9700 80C,,\n" + ohms(("R1", "1k")), "TS1 1=V 2=A\nR1 1=A 2=GND")
    assert [e.kind for e in circuit.elements if e.ref == "TS1"] == ["link"]


@pytest.mark.parametrize("number", ["MMBT3904", "BC847B", "PMBT2222A"])
def test_types_that_come_in_one_outline_need_none(tmp_path: Path, number: str) -> None:
    circuit = derived(tmp_path, f"Q1,{number},,\n", "Q1 1=B 2=E 3=C")
    (element,) = [e for e in circuit.elements if e.ref == "Q1" and e.kind == "npn"]
    assert element.nodes == ("C", "B", "E")


def test_an_outline_that_is_only_a_library_name_is_none(tmp_path: Path, published: Any) -> None:
    rows = "U1,R-78E5.0-0.5,Converter_DCDC:Converter_DCDC_RECOM_R-78E-0.5_THT,\n" + ohms(("R1", "1k"))
    found = solved(tmp_path, rows, "U1 1=V 2=GND 3=P\nR1 1=P 2=GND", 12.0)
    published("R-78E5.0", float(found.at("P")[0]), 5.0, source="the type number", tolerance=0.01)


@pytest.mark.parametrize("number", ["1EDI60N12AF", "UCC5350SBD", "SI8271AB"])
@pytest.mark.parametrize("high", [True, False])
def test_isolated_gate_drivers_with_outputs_apart(tmp_path: Path, published: Any, number: str, high: bool) -> None:
    level = "V" if high else "GND"
    rows = f"U1,{number},SOIC-8,\n" + ohms(("R1", "1k"), ("R2", "22R"), ("R3", "10R"), ("R4", "10k"))
    pins = "1=V 2=IN 3=GND 4=GND 5=V 6=OP 7=OM 8=GND"
    if number.startswith("SI"):
        pins = "1=IN 2=V 3=GND 4=V 5=GND 6=OM 7=OP 8=V"
    nets = f"R1 1={level} 2=IN\nR2 1=OP 2=G\nR3 1=OM 2=G\nR4 1=G 2=GND\nU1 {pins}"
    published(number, followed(tmp_path, rows, nets)["G"], 5.0 * high, source="maker's sheet (memory)", absolute=0.05)


def test_a_contact_behind_a_plug_is_as_its_role_says(tmp_path: Path, published: Any) -> None:
    rows = "J2,start contact,Terminal,terminal\n" + ohms(("R1", "10k"))
    nets = "R1 1=V 2=A\nJ2 1=A 2=GND"
    for role, volts in (("start contact closed", 0.0), ("stop contact, left open", 5.0)):
        found = solved(tmp_path, rows, nets, 5.0, f'[parts]\nJ2 = {{ role = "{role}" }}\n')
        published(role, float(found.at("A")[0]), volts, source="Ohm's law", absolute=0.01)


@pytest.mark.parametrize(
    ("role", "share"),
    [
        ("wiper at 80 % of the voltage on pin 1", 0.8),
        ("at 80 %", 0.2),
        ("at half travel", 0.5),
        ("wiper at 70 %: 7k from wiper to ground", 0.7),
        ("Schleifer gegen Masse 2k5", 0.25),
        ("3k between pin 1 and the wiper", 0.7),
        ("4k to GND", 0.4),
        ("wiper to V is 2k", 0.8),
    ],
)
def test_a_wiper_stands_where_its_role_says(tmp_path: Path, published: Any, role: str, share: float) -> None:
    facts = f'[parts]\nP1 = {{ role = "{role}", kind = "potentiometer" }}\n'
    found = solved(tmp_path, "P1,10k lin,,potentiometer\n" + ohms(("R1", "1M")), WIPER, 5.0, facts)
    published(role, float(found.at("W")[0]), 5.0 * share, source="divider", absolute=0.05)


WIPER = "P1 1=V 2=W 3=GND\nR1 1=W 2=GND"


def test_the_inputs_of_an_l298_draw_a_little(tmp_path: Path, published: Any) -> None:
    nets = "U1 1=GND 2=A 3=B 4=V 5=IN 6=V 7=GND 8=GND 9=V 10=GND 11=GND 12=GND 13=C 14=D 15=GND\nR1 1=V 2=IN"
    rows = "U1,L298N,MULTIWATT-15,\n" + ohms(("R1", "10k"))
    amps = (5.0 - float(solved(tmp_path, rows, nets).at("IN")[0])) / 10e3
    published("current of a high input [A]", amps, 30e-6, source="ST, L298, typical, from memory", absolute=5e-6)


def test_a_controller_of_pulses_that_is_held_off_drives_nothing(tmp_path: Path) -> None:
    """TL494: the dead time is all of the period while its pin is above some 3.3 V (sheet), as at the reference."""
    pins = "U1 1=GND 2=REF 3=CMP 4=DTC 5=CT 6=RT 7=GND 8=V 9=EA 10=EB 11=V 12=V 13=REF 14=REF 15=REF 16=GND"
    rows = "U1,KA7500B,DIP-16,\nC1,1n,0603,\n" + ohms(("R1", "10k"), ("R2", "12k"), ("R3", "10k"))
    more = "R2 1=RT 2=GND\nC1 1=CT 2=GND\nR3 1=EA 2=GND"
    off = derived(tmp_path, rows, f"{pins}\nR1 1=REF 2=DTC\n{more}", 12.0)
    on = derived(tmp_path, rows, f"{pins}\nR1 1=DTC 2=GND\n{more}", 12.0)
    assert [any("EA" in e.nodes for e in one.elements if e.ref == "U1") for one in (off, on)] == [False, True]


@pytest.mark.parametrize("high", [True, False])
def test_a_half_bridge_driver_with_its_own_bootstrap_diode(tmp_path: Path, published: Any, high: bool) -> None:
    nets = f"U1 1=LIN 2=GND 3=V 4=GND 5=LO 6=GND 7=HO 8=VB\nR1 1=LIN 2={'V' if high else 'GND'}\nR2 1=LO 2=GND"
    at = followed(tmp_path, "U1,L6387E,DIP-8,\n" + ohms(("R1", "470R"), ("R2", "100k")), nets, 12.0)
    published("low side", at["LO"], 12.0 * high, source="ST, L6387E, truth table, from memory", absolute=0.05)
    published("bootstrap pin", at["VB"], 12.0, source="driver to the bootstrap inside: ST sheet", absolute=0.1)
