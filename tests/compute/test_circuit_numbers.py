"""Type numbers: what makers' sheets say of a part must come out of its number alone. Sheet figures from memory."""

from pathlib import Path
from typing import Any

import pytest

from reworkkit.compute.power_up.points import silent_chips
from tests.compute.test_circuit_chips import derived, followed, ohms, solved


@pytest.mark.parametrize(
    ("number", "package", "pins", "low", "high"),
    [
        ("LM35DZ", "TO-92", "1=V 2=OUT 3=GND", 0.1, 0.4),
        ("TMP36GT9Z", "TO-92", "1=V 2=OUT 3=GND", 0.6, 0.9),
        ("MCP9700A-E/TO", "TO-92", "1=V 2=OUT 3=GND", 0.6, 0.9),
        ("LM61CIM3", "SOT-23", "1=V 2=OUT 3=GND", 0.7, 1.0),
        ("DRV5053VA", "SOT-23", "1=V 2=OUT 3=GND", 0.9, 1.1),
    ],
)
def test_a_sensor_tells_a_room(tmp_path: Path, number: str, package: str, pins: str, low: float, high: float) -> None:
    """At 10 and at 40 degrees, by the line of the sheet: its ends are within what is said."""
    rows = f"U1,{number},{package},\n" + ohms(("R1", "100k"))
    made = derived(tmp_path, rows, f"U1 {pins}\nR1 1=OUT 2=GND")
    band = next(e for e in made.elements if e.ref == "U1").parameters["volts"]
    assert band.low is not None
    assert band.high is not None
    assert band.low <= low < high <= band.high
    assert low < float(solved(tmp_path, rows, f"U1 {pins}\nR1 1=OUT 2=GND").at("OUT")[0]) < high


def test_an_amplifier_with_a_current_output_counts_its_resistor(tmp_path: Path, published: Any) -> None:
    """INA169: 1 mA per volt across the shunt, into a resistor to ground."""
    rows = "U1,INA169,SOT-23-5,\n" + ohms(("R1", "0R1"), ("R2", "49R9"), ("R3", "10k"))
    found = solved(tmp_path, rows, "R1 1=V 2=L\nR2 1=L 2=GND\nU1 1=OUT 2=GND 3=V 4=L 5=V\nR3 1=OUT 2=GND")
    drop = float(found.at("V")[0] - found.at("L")[0])
    published("1 mA/V x 10k", float(found.at("OUT")[0]), 10 * drop, source="sheet, from memory", tolerance=0.01)


@pytest.mark.parametrize(
    ("number", "zero", "v_per_a"),
    [
        ("ACS724LLCTR-10AB-T", 2.5, 0.2),
        ("ACS725LLCTR-20AB-T", 1.65, 0.066),
        ("ACS724LLCTR-20AU", 0.5, 0.2),
        ("ACS712-30", 2.5, 0.066),
    ],
)
def test_a_current_sensor_by_its_number(tmp_path: Path, number: str, zero: float, v_per_a: float) -> None:
    volts = 2 * zero if zero > 1 else 10 * zero
    rows = f"U2,{number},SOIC-8,\n" + ohms(("R2", "49R9"), ("R3", "10k"))
    found = solved(tmp_path, rows, "U2 1=V 2=V 3=M 4=M 5=GND 7=HALL 8=V\nR2 1=M 2=GND\nR3 1=HALL 2=GND", volts)
    amps = float(found.at("M")[0]) / 49.9
    assert float(found.at("HALL")[0]) == pytest.approx(zero + v_per_a * amps, rel=0.02)


@pytest.mark.parametrize(
    ("number", "package", "pins", "volts", "released"),
    [
        ("NCP301LSN45T1G", "SOT-23-5", "1=RST 2=V 3=GND", 5.0, True),
        ("NCP301LSN45T1G", "SOT-23-5", "1=RST 2=V 3=GND", 4.2, False),
        ("DS1233-10", "TO-92", "1=GND 2=RST 3=V", 4.6, True),
        ("DS1233-10", "TO-92", "1=GND 2=RST 3=V", 4.2, False),
        ("MAX705CSA", "SOIC-8", "2=V 3=GND 7=RST", 4.5, False),
        ("MCP121T-300E/TT", "SOT-23", "1=RST 2=V 3=GND", 3.3, True),
        ("XC61CN3002MR", "SOT-23", "1=RST 2=GND 3=V", 2.8, False),
        ("APX809-46SAG", "SOT-23", "1=GND 2=RST 3=V", 5.0, True),
        ("APX809-46SAG", "SOT-23", "1=GND 2=RST 3=V", 4.5, False),
    ],
)
def test_a_supervisor_by_its_number(
    tmp_path: Path, number: str, package: str, pins: str, volts: float, released: bool
) -> None:
    """Thresholds: 4.5, 4.375, 4.65, 2.93, 3.0 and 4.63 V."""
    rows = f"U1,{number},{package},supervisor\n" + ohms(("R1", "100k"), ("R2", "1M"))
    found = followed(tmp_path, rows, f"U1 {pins}\nR1 1=V 2=RST\nR2 1=RST 2=GND", volts)
    assert (found["RST"] > volts / 2) is released


@pytest.mark.parametrize(("level", "on"), [("V", True), ("GND", False)])
def test_an_intelligent_high_side_switch_follows_its_input(tmp_path: Path, level: str, on: bool) -> None:
    rows = "U1,BTS5045,SOIC-8,high-side switch\n" + ohms(("R1", "4k7"), ("R2", "150"))
    nets = f"U1 1:GND=GND 2:IN=IN 3:ST=ST 6:OUT=OUT 8:VS=V\nR1 1=IN 2={level}\nR2 1=OUT 2=GND"
    assert (float(solved(tmp_path, rows, nets, 12.0).at("OUT")[0]) > 11.5) is on


@pytest.mark.parametrize(
    ("number", "kind"),
    [
        ("TIP3055", "npn"),
        ("TIP2955", "pnp"),
        ("BD911", "npn"),
        ("BD912", "pnp"),
        ("MJ15003", "npn"),
        ("MJ15004", "pnp"),
        ("FDS6679AZ", "mosfet_p"),
        ("FDS6680A", "mosfet_n"),
        ("NTD2955", "mosfet_p"),
        ("BFY51", "npn"),
        ("2N5415", "pnp"),
    ],
)
def test_the_kind_of_a_transistor_by_its_number(tmp_path: Path, number: str, kind: str) -> None:
    names = "1:G=A 2:D=B 3:S=C" if kind.startswith("mosfet") else "1:B=A 2:C=B 3:E=C"
    word = "MOSFET" if kind.startswith("mosfet") else "transistor"
    rows = f"Q1,{number},,{word}\n" + ohms(("R1", "1k"), ("R2", "1k"), ("R3", "1k"))
    made = derived(tmp_path, rows, f"Q1 {names}\nR1 1=A 2=V\nR2 1=B 2=V\nR3 1=C 2=GND")
    assert {e.kind for e in made.elements if e.ref == "Q1"} - {"unmodelled"} == {kind}


@pytest.mark.parametrize("package", ["", "TO-263-5"])
def test_pins_of_a_type_whose_outline_the_list_does_not_name(tmp_path: Path, package: str) -> None:
    """XL6009: 1 ground, 2 enable, 3 switch, 4 input, 5 feedback."""
    rows = f"U1,XL6009E1,{package},\nL1,47uH,,\nD1,SS34,,\n" + ohms(("R1", "22k"), ("R2", "1k2"))
    nets = "U1 1=GND 2=V 3=SW 4=V 5=FB\nL1 1=V 2=SW\nD1 A=SW K=OUT\nR1 1=OUT 2=FB\nR2 1=FB 2=GND"
    made = derived(tmp_path, rows, nets)
    assert [(e.kind, e.nodes[2:]) for e in made.elements if e.ref == "U1" and e.kind == "boost"] == [
        ("boost", ("GND", "FB"))
    ]


@pytest.mark.parametrize(("number", "package"), [("LM2675N-5.0", "DIP-8"), ("TPS54302DDC", "TSOT-23-6")])
def test_outlines_that_are_numbered_alike(tmp_path: Path, number: str, package: str) -> None:
    pins = "1=B 4=OUT 6=GND 7=V 8=SW" if package == "DIP-8" else "1=GND 2=SW 3=V 4=FB 5=V 6=B"
    rows = f"U1,{number},{package},\nL1,47uH,,\n" + ohms(("R1", "10k"), ("R2", "10k"))
    made = derived(tmp_path, rows, f"U1 {pins}\nL1 1=SW 2=OUT\nR1 1=OUT 2=FB\nR2 1=FB 2=GND", 12.0)
    assert [e.nodes[0] for e in made.elements if e.ref == "U1" and e.kind == "converter"] == ["V"]


@pytest.mark.parametrize(("other", "gate"), [("V", "high"), ("GND", "low")])
def test_an_ideal_diode_gives_way_to_a_higher_supply(tmp_path: Path, other: str, gate: str) -> None:
    """LTC4412: some 20 mV from input to output while it conducts; the gate at the sense pin while it does not."""
    rows = "U1,LTC4412ES6,,\nQ1,AO4407A,SOIC-8,P-MOSFET\nD1,SS34,,\n" + ohms(
        ("R1", "100"), ("R2", "10"), ("R3", "10"), ("R4", "100")
    )
    nets = f"""R2 1=V 2=BAT
R4 1=BAT 2=GND
R3 1={other} 2=ADP
U1 1=BAT 2=GND 3=GND 5=GATE 6=OUT
Q1 D=BAT G=GATE S=OUT
D1 A=ADP K=OUT
R1 1=OUT 2=GND"""
    found = solved(tmp_path, rows, nets, 12.0)
    bat, out, at_gate = (float(found.at(net)[0]) for net in ("BAT", "OUT", "GATE"))
    if gate == "low":
        assert bat - out == pytest.approx(0.02, abs=0.015)
        assert at_gate < bat - 1
    else:
        assert out == pytest.approx(float(found.at("ADP")[0]) - 0.25, abs=0.1)


def test_the_stated_draw_of_a_net_with_one_lamp_is_the_lamp(tmp_path: Path) -> None:
    """12 V over 0.42 A are 28.6 ohm (Ohm's law); behind an open switch the lamp holds its net at ground."""
    rows = "LA1,lamp 12 V 5 W,,\nS1,toggle switch,,\n"
    nets = "LA1 1=OUT 2=GND\nS1 1=V 2=OUT"
    facts = '[loads]\nOUT = "0.42 A 10 %"\n[parts]\nS1 = {{ role = "{}" }}\n'
    for role, volts in (("closed", 12.0), ("open", 0.0)):
        made = derived(tmp_path, rows, nets, 12.0, facts.format(role))
        assert [e.kind for e in made.elements if "OUT" in e.nodes and e.kind in ("load", "inductor")] == ["inductor"]
        band = next(e for e in made.elements if e.ref == "LA1").parameters["resistance"]
        assert band.nominal == pytest.approx(12 / 0.42)
        found = solved(tmp_path, rows, nets, 12.0, facts.format(role))
        assert float(found.at("OUT")[0]) == pytest.approx(volts, abs=0.1)


def test_an_led_driver_holds_its_sense_voltage(tmp_path: Path, published: Any) -> None:
    """PT4115: 0.1 V across the resistor at the top of the string; its input pays for the string by its efficiency."""
    rows = "U1,PT4115,SOT-89-5,\nD1,SS34,SMA,\nL1,68uH,,inductor\nLED1,white 1 W,,LED white\nR1,R33,1206,\n"
    nets = "U1 1=SW 2=GND 4=TOP 5=V\nR1 1=V 2=TOP\nLED1 A=TOP K=LOW\nL1 1=LOW 2=SW\nD1 A=SW K=V"
    found = solved(tmp_path, rows, nets, 12.0)
    amps = (float(found.at("V")[0]) - float(found.at("TOP")[0])) / 0.33
    published("PT4115 with 0.33 ohm", amps, 0.1 / 0.33, source="maker's sheet: 0.1 V / Rs", tolerance=0.01)
    across = float(found.at("TOP")[0]) - float(found.at("SW")[0])
    paid = float(found.current("V")[0])
    published("its supply current", paid, amps * across / 12 / 0.9, source="power, at 90 %", tolerance=0.05)


def test_an_led_driver_without_a_sense_resistor_is_not_judged(tmp_path: Path) -> None:
    rows = "U1,PT4115,SOT-89-5,\nLED1,white 1 W,,LED white\nR1,0R,1206,\n"
    made = derived(tmp_path, rows, "U1 1=SW 2=GND 4=TOP 5=V\nR1 1=V 2=TOP\nLED1 A=TOP K=SW", 12.0)
    assert {e.kind for e in made.elements if e.ref == "U1"} == {"unmodelled"}


def test_a_comparing_reference_has_its_tap_at_the_resistor_to_ground(tmp_path: Path) -> None:
    """A 431 of no outline that compares a divided voltage with 2.495 V: above it the cathode is low."""
    rows = "U1,TL431,,\n" + ohms(("R1", "10k"), ("R2", "10k"), ("R3", "4k7"))
    nets = "R1 1=V 2=TAP\nR2 1=TAP 2=GND\nR3 1=V 2=OUT\nU1 1=TAP 2=GND 3=OUT"
    assert float(solved(tmp_path, rows, nets, 9.0).at("OUT")[0]) < 2.6
    assert float(solved(tmp_path, rows, nets, 4.0).at("OUT")[0]) > 3.8


def test_a_protected_switch_in_five_leads(tmp_path: Path) -> None:
    """BTS432: ground, input, supply, status, output (maker's sheet, from memory)."""
    rows = "U1,BTS432E2,,\n" + ohms(("R1", "1k"), ("R2", "10k"))
    nets = "U1 1=GND 2=IN 3=V 4=ST 5=OUT\nR1 1=OUT 2=GND\nR2 1={} 2=IN"
    assert float(solved(tmp_path, rows, nets.format("V"), 12.0).at("OUT")[0]) > 11.5
    assert float(solved(tmp_path, rows, nets.format("GND"), 12.0).at("OUT")[0]) < 0.5


@pytest.mark.parametrize(
    ("number", "outline", "pins", "milliampere"),
    [
        ("NE5532P", "DIP-8", "1=O 2=O 3=I 4=GND 5=I 6=P 7=P 8=V", 8.0),
        ("TL072CP", "DIP-8", "1=O 2=O 3=I 4=GND 5=I 6=P 7=P 8=V", 2.8),
        ("LM358N", "DIP-8", "1=O 2=O 3=I 4=GND 5=I 6=P 7=P 8=V", 0.6),
        ("OPA1642AID", "SOIC-8", "1=O 2=O 3=I 4=GND 5=I 6=P 7=P 8=V", 3.6),
        ("LM393N", "DIP-8", "1=O 2=I 3=H 4=GND 5=GND 6=GND 7=P 8=V", 0.5),
    ],
)
def test_an_amplifier_draws_by_its_number(
    tmp_path: Path, published: Any, number: str, outline: str, pins: str, milliampere: float
) -> None:
    """Nothing at its outputs: the supply gives what the sheet calls typical, and 0.24 mA through the chip's 50 kohm."""
    rows = f"U1,{number},{outline},\n" + ohms(("R1", "1M"), ("R2", "1M"), ("R3", "2M2"))
    found = solved(tmp_path, rows, f"U1 {pins}\nR1 1=V 2=I\nR2 1=I 2=GND\nR3 1=H 2=I", 12.0)
    drawn = 1e3 * float(found.current("V")[0])
    published(f"draw of {number} [mA]", drawn, milliampere, source="maker's sheet (memory)", absolute=0.3)


@pytest.mark.parametrize("names", ["1=V 2=LIM 3=GND 4=FB 5=OUT", "INPUT=V LIMIT=LIM GND=GND REF=FB OUTPUT=OUT"])
def test_an_l200_holds_its_volts_and_its_current(tmp_path: Path, published: Any, names: str) -> None:
    """2.77 V (1 + R2/R1) while the current stays under 0.45 V over the resistor at its limiting pin."""
    rows = "U1,L200CV,Pentawatt,\n" + ohms(("R1", "1R"), ("R2", "3k3"), ("R3", "820R"), ("R4", "{}"))
    nets = f"U1 {names}\nR1 1=OUT 2=LIM\nR2 1=LIM 2=FB\nR3 1=FB 2=GND\nR4 1=LIM 2=GND"
    held = solved(tmp_path, rows.format("100R"), nets, 24.0)
    source = "maker's sheet (memory): 2.77 V (1 + R2/R1)"
    published(
        "L200 with 3k3 over 820", float(held.at("LIM")[0]), 2.77 * (1 + 3300 / 820), source=source, tolerance=0.01
    )
    over = solved(tmp_path, rows.format("10R"), nets, 24.0)
    amps = float(over.at("OUT")[0] - over.at("LIM")[0]) / 1.0
    published("L200 at 1 ohm [A]", amps, 0.45, source="maker's sheet (memory): 0.45 V / R", tolerance=0.03)


@pytest.mark.parametrize(("volts", "rails"), [(-12.0, '[rails]\nN12 = "-12 V"\n'), (12.0, "")])
def test_a_load_is_drawn_below_ground_and_where_no_rail_is_stated(
    tmp_path: Path, published: Any, volts: float, rails: str
) -> None:
    facts = f'\n{rails}[loads]\nN12 = "100 mA 10 %"\n'
    found = solved(tmp_path, ohms(("R1", "1R")), "R1 1=V 2=N12", volts, facts)
    drop = float(found.at("V")[0] - found.at("N12")[0])
    published("at 1 ohm [V]", drop, 0.1 if volts > 0 else -0.1, source="Ohm's law", absolute=0.002)


def test_a_load_below_ground_tells_of_no_chip_at_ground(tmp_path: Path) -> None:
    """Invariant: the draw of one rail says nothing of a chip that hangs between ground and another."""
    rows = "U1,QX7731,SO-8,\nR1,10k,0603,"
    nets = "U1 1=GND 2=N5\nR1 1=N12 2=GND"
    facts = '\n[rails]\nN12 = "-12 V"\nN5 = "-5 V"\n[loads]\nN12 = "100 mA 10 %"\n'
    circuit = derived(tmp_path, rows, nets, -12.0, facts)
    chips = [e for e in circuit.elements if e.kind == "ic"]
    live = frozenset(node for e in chips for node in e.nodes)
    assert chips
    assert silent_chips(circuit, frozenset(("U1",)), live) == tuple(chips)


@pytest.mark.parametrize(
    ("number", "package", "nets", "amps"),
    [
        ("AMC7135", "SOT-89", "U1 1=K 2=GND 3=V\nR1 1=V 2=K", 0.35),
        ("NSI45020AT1G", "SOD-123", "U1 A=K K=GND\nR1 1=V 2=K", 0.02),
        ("NSI50350ADT4G", "SMB", "U1 A=K K=GND\nR1 1=V 2=K", 0.35),
    ],
)
def test_a_part_of_fixed_current(
    tmp_path: Path, published: Any, number: str, package: str, nets: str, amps: float
) -> None:
    rows = f"U1,{number},{package},LED driver\n" + ohms(("R1", "10"))
    found = solved(tmp_path, rows, nets, 12.0)
    through = (12.0 - float(found.at("K")[0])) / 10
    published(
        f"current of {number} [A]", through, amps, source="its number: maker's sheet, from memory", tolerance=0.02
    )


@pytest.mark.parametrize(("level", "volts"), [("V", 22.3), ("GND", 0.0)])
def test_a_source_driver_gives_its_supply_less_a_darlington(
    tmp_path: Path, published: Any, level: str, volts: float
) -> None:
    rows = "U1,UDN2982A,DIP-18,source driver\n" + ohms(("R1", "10k"), ("R2", "220"))
    nets = f"U1 1=IN 9=V 10=GND 18=OUT\nR1 1=IN 2={level}\nR2 1=OUT 2=GND"
    out = float(solved(tmp_path, rows, nets, 24.0).at("OUT")[0])
    published(f"UDN2982, input at {level} [V]", out, volts, source="maker's sheet, from memory: 1.7 V", absolute=0.3)


def test_a_current_set_by_a_resistor(tmp_path: Path, published: Any) -> None:
    rows = "U1,LM334Z,TO-92,current source\n" + ohms(("R1", "68R1"), ("R2", "100"))
    nets = "U1 1:V+=V 2:R=SET 3:V-=OUT\nR1 1=SET 2=OUT\nR2 1=OUT 2=GND"
    amps = float(solved(tmp_path, rows, nets, 10.0).at("OUT")[0]) / 100
    published("LM334 with 68.1 ohm [A]", amps, 0.0677 / 68.1, source="maker's sheet: 67.7 mV / R", tolerance=0.02)


@pytest.mark.parametrize(
    ("value", "description"),
    [("24V 240 OHM", ""), ("", "RELAY REED SPST-NO 12V COIL 240 OHM 8L02-12-01")],
)
def test_a_coil_by_its_ohms(tmp_path: Path, published: Any, value: str, description: str) -> None:
    ref = "K1" if description else "L1"
    rows = f"{ref},{value},,{description}\n" + ohms(("R1", "240"))
    found = solved(tmp_path, rows, f"R1 1=V 2=MID\n{ref} 1=MID 2=GND", 24.0)
    published(
        "half of its supply behind as many ohms", float(found.at("MID")[0]), 12.0, source="divider", tolerance=0.02
    )


def test_pins_of_a_converter_at_levels_of_their_own_are_not_judged(tmp_path: Path) -> None:
    rows = "U1,LM2576-5.0,TO-220-5,\nL1,100uH,,\nD1,1N5822,,\n" + ohms(("R1", "4k3"), ("R2", "100"))
    nets = (
        "U1 1:IN=V 2:SW=SW 3:GND=GND 4:FB=OUT 5:OSC=OSC\nL1 1=SW 2=OUT\nD1 K=SW A=GND\nR1 1=OSC 2=GND\nR2 1=OUT 2=GND"
    )
    made = derived(tmp_path, rows, nets, 12.0)
    assert ("OSC",) in [e.nodes for e in made.elements if e.kind == "unmodelled"]
