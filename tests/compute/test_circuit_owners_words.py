"""What words and ordering codes tell of a part: coils, LEDs in a row, draws, switches, magnets, chargers."""

from pathlib import Path
from typing import Any

import pytest

from reworkkit.compute.circuit.loads import coil_number_volts
from reworkkit.compute.diagnosis import Stage, fed_by_one, prepare
from reworkkit.compute.diagnosis.contacts import undecided
from reworkkit.compute.diagnosis.meter import with_meters
from reworkkit.compute.diagnosis.reach import firm_nets
from reworkkit.compute.formulas.network import compile_circuit, solve
from reworkkit.model.results import Circuit
from reworkkit.read.folder import read_board
from tests.compute.test_circuit import board_from, pins
from tests.compute.test_circuit_parts import SUPPLY, derived, of, volts

ORDERING_KEYS = "makers' ordering keys of relays (from memory)"


@pytest.mark.parametrize(
    ("value", "coil_v"),
    [
        ("Finder 36.11.9.024", 24),
        ("40.52.7.012.5000", 12),
        ("Schrack RT314024", 24),
        ("RTE24005", 5),
        ("HF115F/012-1ZS3", 12),
        ("HF46F/5-HS1", 5),
        ("G5LE-1-DC12", 12),
        ("G2R-1 24DC", 24),
        ("RM84-2012-35-1012", 12),
        ("JS-12N-K", 12),
        ("RZ03-1C4-D048", 48),
        ("ALQ112", 12),
        ("V23105-A5003-A201", None),
        ("relay SPDT", None),
        ("relay DC 10A", None),
    ],
)
def test_the_number_of_a_relay_tells_its_coil(tmp_path: Path, published: Any, value: str, coil_v: int | None) -> None:
    part = board_from(tmp_path, f"K1,{value},,relay\n", pins("K1", "A", "B")).parts["K1"]
    got = coil_number_volts(part)
    if coil_v is None:
        assert got is None
    else:
        published(f"coil of {value} [V]", got or 0.0, coil_v, source=ORDERING_KEYS, absolute=0.0)


def test_a_coil_behind_a_diode_is_made_for_the_rail_that_feeds_it(tmp_path: Path) -> None:
    parts = "D1,1N4007,,\nK1,SPDT 400R,,relay\nR1,1k,,\nR2,1R,,\n"
    nets = pins("D1", "VP", "+12V").replace("D1,1", "D1,K").replace("D1,2", "D1,A")
    nets += "K1,A1,VP\nK1,A2,LOW\nK1,COM,VP\nK1,NO,OUT\n" + pins("R1", "OUT", "GND") + pins("R2", "LOW", "GND")
    assert volts(derived(tmp_path, parts, nets), "OUT")[0] > 11


@pytest.mark.parametrize(
    ("words", "drop_v"),
    [("white", 3.2), ("3x white, three in series", 9.6), ("white, two LEDs in series", 6.4), ("weiß, 3 in Reihe", 9.6)],
)
def test_leds_in_a_row_drop_their_sum(tmp_path: Path, words: str, drop_v: float) -> None:
    """Kirchhoff: equal drops add; 2.8 to 3.6 V of one white chip is common practice, no source."""
    made = derived(tmp_path, f'LED1,LED,,"LED {words}"\nR1,330,,\n', "LED1,A,A\nLED1,K,GND\n" + pins("R1", "+12V", "A"))
    assert volts(made, "A") == [pytest.approx(drop_v, rel=0.15)]


def test_a_drop_that_is_stated_of_a_row_is_not_counted_twice(tmp_path: Path) -> None:
    facts = f'{SUPPLY}[parts]\nLED1 = {{ forward = "9.3 V" }}\n'
    nets = "LED1,A,A\nLED1,K,GND\n" + pins("R1", "+12V", "A")
    made = derived(tmp_path, 'LED1,LED,,"white, three in series"\nR1,330,,\n', nets, facts)
    assert volts(made, "A") == [pytest.approx(9.3, rel=0.03)]


def test_leds_in_a_row_across_a_rail_are_no_module(tmp_path: Path) -> None:
    made = derived(tmp_path, 'LED1,LED,,"white, four in series"\n', "LED1,A,+12V\nLED1,K,GND\n")
    assert [e.kind for e in of(made, "LED1")] == ["led"]


@pytest.mark.parametrize(
    ("said", "amps"), [("takes 60 mA", 0.06), ("nimmt etwa 0,1 A", 0.1), ("draws about 5mA", 0.005)]
)
def test_a_role_says_what_a_module_takes(tmp_path: Path, said: str, amps: float) -> None:
    facts = f'{SUPPLY}[parts]\nU1 = {{ role = "radio, {said}" }}\n'
    made = derived(tmp_path, "U1,RFM95,,radio module\n", "U1,3V3,+12V\nU1,GND,GND\n", facts)
    assert [e.parameters["current"].nominal for e in of(made, "U1", "load")] == [pytest.approx(amps)]


@pytest.mark.parametrize("row", ["M1,pump 12 V,,diaphragm pump", "FAN1,12 V fan,,"])
def test_a_running_motor_stands_at_the_ohms_of_its_role(tmp_path: Path, row: str) -> None:
    """Ohm's law: 40 ohm behind 40 ohm halve 12 V."""
    ref = row.partition(",")[0]
    facts = f'{SUPPLY}[parts]\n{ref} = {{ role = "40 ohm when running" }}\n'
    made = derived(tmp_path, f"{row}\nR1,40R,,\n", pins("R1", "+12V", "M") + pins(ref, "M", "GND"), facts)
    assert volts(made, "M") == [pytest.approx(6.0, abs=0.05)]


@pytest.mark.parametrize(
    ("role", "out_v"),
    [
        ("pressed", 12),
        ("not pressed", 0),
        ("slide switch, on", 12),
        ("slide switch, off", 0),
        ("Melder: Kontakt zu", 12),
        ("Kontakt offen", 0),
        ("gedrückt", 12),
        ("released", 0),
    ],
)
def test_how_a_switch_stands(tmp_path: Path, role: str, out_v: float) -> None:
    facts = f'{SUPPLY}[parts]\nS1 = {{ role = "{role}" }}\n'
    made = derived(tmp_path, "S1,push button,,\nR1,1k,,\n", pins("S1", "+12V", "OUT") + pins("R1", "OUT", "GND"), facts)
    assert volts(made, "OUT") == [pytest.approx(out_v, abs=0.01)]


@pytest.mark.parametrize(("role", "low"), [("magnet in front", 1.0), ("no magnet", 0.0), ("lid sensor", None)])
def test_a_magnet_that_is_stated_is_there(tmp_path: Path, role: str, low: float | None) -> None:
    facts = f'{SUPPLY}[parts]\nU1 = {{ role = "{role}" }}\n'
    made = derived(
        tmp_path, "U1,A1120LLHLT-T,SOT-23,\nR1,10k,,\n", pins("U1", "+12V", "H", "GND") + pins("R1", "+12V", "H"), facts
    )
    (gate,) = of(made, "U1", "gate")
    assert ("outside" in gate.parameters) is (low is None)
    assert gate.parameters["invert"].nominal == (low or 0.0)


@pytest.mark.parametrize(
    ("part", "nets", "port"),
    [
        ("ATTINY85-20SU,SOIC-8", "U1,4,GND\nU1,8,+12V\nU1,5,OUT\n", "PB0"),
        ("ATTINY84A,SOIC-14", "U1,14,GND\nU1,1,+12V\nU1,13,OUT\n", "PA0"),
        ("ATMEGA328P-PU,DIP-28", "U1,8,GND\nU1,7,+12V\nU1,19,OUT\n", "PB5"),
        ("PIC12F675,DIP-8", "U1,8,GND\nU1,1,+12V\nU1,5,OUT\n", "GP2"),
        ("PIC16F628A,DIP-18", "U1,5,GND\nU1,14,+12V\nU1,6,OUT\n", "RB0"),
    ],
)
def test_ports_of_a_controller_by_pin_number(tmp_path: Path, part: str, nets: str, port: str) -> None:
    """Pin drawings of the makers' sheets, from memory."""
    facts = f'{SUPPLY}[parts]\nU1 = {{ role = "{port} high = pump on" }}\n'
    made = derived(tmp_path, f"U1,{part},microcontroller\nR1,1k,,\n", nets + pins("R1", "OUT", "GND"), facts)
    assert [e.nodes[0] for e in of(made, "U1", "gate")] == ["OUT"]


CHARGER = pins("U1", "STAT", "GND", "BAT", "+12V", "PROG") + pins("R1", "PROG", "GND")


def test_a_charger_holds_the_full_cell_or_its_current(tmp_path: Path, published: Any) -> None:
    """Maker's formula 1000 V / R at PROG: 2 k make 0.5 A; 68 ohm take less than that, 4.7 ohm more."""
    parts, supply = (
        "U1,MCP73831T-2ACI/OT,SOT-23-5,\nR1,2k,,\nR2,10k,,\n",
        SUPPLY.replace('"12 V, limit 1 A"', '"6 V, limit 1 A"'),
    )
    nets = CHARGER + pins("R2", "+12V", "STAT")
    at = {ohm: derived(tmp_path, parts, nets, f'{supply}[loads]\nBAT = "{ohm} ohm"\n') for ohm in (68, 4.7)}
    source = "MCP73831: 4.20 V, I = 1000 V / R (maker's sheet, from memory)"
    published("MCP73831 at 68 ohm [V]", volts(at[68], "BAT")[0], 4.2, source=source, tolerance=0.005)
    published("MCP73831 at 4.7 ohm [V]", volts(at[4.7], "BAT")[0], 0.5 * 4.7, source=source, tolerance=0.02)
    assert any(e.kind == "gate" for e in of(at[68], "U1"))
    alone = derived(tmp_path, parts, nets, supply)
    assert not any(e.kind == "gate" for e in of(alone, "U1"))


def test_an_audio_amplifier_rests_at_half_its_supply(tmp_path: Path, published: Any) -> None:
    made = derived(
        tmp_path,
        "U1,LM386N-1,DIP-8,\nR1,10k,,\n",
        "U1,2,GND\nU1,3,IN\nU1,4,GND\nU1,5,OUT\nU1,6,+12V\n" + pins("R1", "OUT", "GND"),
    )
    published(
        "LM386 at rest [V]",
        volts(made, "OUT")[0],
        6.0,
        source="maker's sheet: biased to half the supply",
        tolerance=0.02,
    )


def test_a_low_trigger_of_a_bipolar_timer_lifts_its_resistor(tmp_path: Path) -> None:
    """NE555: some 0.5 uA, at most 2 uA (maker's sheet, from memory): 470 k stand at 0.02 to 0.5 V, not at nothing."""
    nets = (
        pins("U1", "GND", "T", "Q", "+12V", "CV", "T") + "U1,8,+12V\n" + pins("R1", "T", "GND") + pins("R2", "Q", "GND")
    )
    bipolar = derived(tmp_path, "U1,NE555P,DIP-8,\nR1,470k,,\nR2,10k,,\n", nets)
    assert 0.02 < volts(bipolar, "T")[0] < 0.5
    cmos = derived(tmp_path, "U1,TLC555,DIP-8,\nR1,470k,,\nR2,10k,,\n", nets)
    assert volts(cmos, "T")[0] < 0.01


def test_a_coil_whose_draw_is_stated_stands_once(tmp_path: Path) -> None:
    """Ohm's law: 24 ohm behind 24 ohm halve 12 V; the word coil alone would short it."""
    parts, nets = "R1,24R,,\nJ3,bobina del freno,,morsetto\n", pins("R1", "+12V", "BRAKE") + pins("J3", "BRAKE", "GND")
    made = derived(tmp_path, parts, nets, f'{SUPPLY}[loads]\nJ3 = "24 ohm"\n')
    assert volts(made, "BRAKE") == [pytest.approx(6.0, abs=0.05)]


RELAY = "K1,relay 12 V 400R,,\nQ1,2N3904,TO-92,\nR1,10k,,\nR2,100,,\nF1,1 A,,fuse\nJ2,2p,,terminal\n"
RELAY_NETS = (
    "K1,A1,VF\nK1,A2,LOW\nK1,COM,VF\nK1,NO,OUT\nQ1,C,LOW\nQ1,B,B\nQ1,E,GND\n"
    + pins("R1", "IN", "B") + pins("R2", "OUT", "GND") + pins("F1", "+12V", "VF") + pins("J2", "IN", "GND")
)  # fmt: skip


def test_a_net_that_a_fuse_feeds_stands_though_its_contact_may_not(tmp_path: Path) -> None:
    made = derived(tmp_path, RELAY, RELAY_NETS)
    assert "VF" in firm_nets(made.elements, "GND")
    assert "LOW" not in firm_nets(made.elements, "GND")
    assert undecided(made, ()) == {"OUT"}


def test_a_plug_whose_load_is_stated_steers_no_contact(tmp_path: Path) -> None:
    assert undecided(derived(tmp_path, RELAY, RELAY_NETS, f'{SUPPLY}[loads]\nIN = "8 ohm"\n'), ()) == set()


@pytest.mark.parametrize(
    ("role", "volts_out"), [("31 degrees in the house", 0.31), ("25 Grad", 0.25), ("40 deg", 0.40)]
)
def test_degrees_without_their_letter(tmp_path: Path, role: str, volts_out: float) -> None:
    """LM35: 10 mV per degree Celsius (maker's sheet, from memory)."""
    facts = f'{SUPPLY}[parts]\nU1 = {{ role = "{role}" }}\n'
    made = derived(
        tmp_path, "U1,LM35DZ,TO-92,\nR1,100k,,\n", pins("U1", "+12V", "T", "GND") + pins("R1", "T", "GND"), facts
    )
    assert volts(made, "T") == [pytest.approx(volts_out, abs=0.002)]


def test_a_load_at_a_plug_of_three_nets_is_at_its_rail(tmp_path: Path) -> None:
    """Ohm's law: 24 ohm behind 24 ohm halve 12 V; the data lines of the socket draw nothing."""
    parts = "R1,24R,,\nJ3,USB-A,,\nR2,47k,,\n"
    nets = pins("R1", "+12V", "V5") + pins("J3", "V5", "DP", "GND") + pins("R2", "DP", "GND")
    made = derived(tmp_path, parts, nets, f'{SUPPLY}[rails]\nV5 = "6 V"\n[loads]\nJ3 = "24 ohm"\n')
    assert volts(made, "V5") == [pytest.approx(6.0, abs=0.05)]


def test_a_heating_film_is_no_capacitor(tmp_path: Path) -> None:
    nets = pins("R1", "+12V", "A") + pins("HT1", "A", "GND")
    made = derived(tmp_path, "R1,8R2,,\nHT1,heating film,,\n", nets, f'{SUPPLY}[loads]\nHT1 = "8.2 ohm"\n')
    assert volts(made, "A") == [pytest.approx(6.0, abs=0.05)]


@pytest.mark.parametrize(
    ("number", "pulls_up"), [("DRV5032FBDBZR", 1.0), ("DRV5033FAQDBZ", 0.0), ("DRV5032FDDBZ", 0.0)]
)
def test_hall_switches_that_drive_both_ways(tmp_path: Path, number: str, pulls_up: float) -> None:
    """Output stages by the maker's ordering table, from memory."""
    made = derived(
        tmp_path, f"U1,{number},SOT-23,\nR1,10k,,\n", pins("U1", "+12V", "H", "GND") + pins("R1", "H", "GND")
    )
    assert [e.parameters["pulls_up"].nominal for e in of(made, "U1", "gate")] == [pulls_up]


@pytest.mark.parametrize(
    ("number", "nets", "reference_v"),
    [
        ("UC3843AN,DIP-8", "U1,5,GND\nU1,7,+12V\nU1,8,REF\n", 5.0),
        ("TL494CN,DIP-16", "U1,7,GND\nU1,12,+12V\nU1,14,REF\n", 5.0),
        ("SG3525AN,DIP-16", "U1,12,GND\nU1,15,+12V\nU1,16,REF\n", 5.1),
    ],
)
def test_a_controller_of_a_switched_supply_makes_its_reference(
    tmp_path: Path, published: Any, number: str, nets: str, reference_v: float
) -> None:
    made = derived(tmp_path, f"U1,{number},\nR1,10k,,\n", nets + pins("R1", "REF", "GND"))
    source = "makers' sheets, from memory"
    published(f"reference of {number}", volts(made, "REF")[0], reference_v, source=source, tolerance=0.002)


def test_an_enable_pin_that_leads_to_ground_inside_loads_its_resistor(tmp_path: Path) -> None:
    """TPS563201: 225 to 900 kohm at its enable pin (maker's sheet, from memory): 100 k leave 8.3 to 10.8 V of 12 V."""
    nets = pins("U1", "GND", "SW", "+12V", "FB", "EN", "BST") + pins("L1", "SW", "V5") + pins("R3", "+12V", "EN")
    nets += pins("R1", "V5", "FB") + pins("R2", "FB", "GND")
    made = derived(tmp_path, "U1,TPS563201DDCR,SOT-23-6,\nL1,4u7,,inductor\nR1,54k9,,\nR2,10k,,\nR3,100k,,\n", nets)
    assert 8.3 < volts(made, "EN")[0] < 10.8


BOOST = (
    "U1,MT3608,SOT-23-6,\nL1,22uH,,inductor\nD1,SS34,,\nR1,191k,,\nR2,10k,,\nJ2,2p,,valve\nQ1,AO3400A,SOT-23,\n"
    "D2,SS14,,\nR3,1k,,\n"
)
BOOST_NETS = (
    pins("U1", "SW", "GND", "FB", "V", "V") + pins("L1", "V", "SW") + "D1,A,SW\nD1,K,OUT\nD2,A,LOW\nD2,K,OUT\n"
    + pins("R1", "OUT", "FB") + pins("R2", "FB", "GND") + pins("J2", "OUT", "LOW") + pins("Q1", "G", "GND", "LOW")
    + pins("R3", "V", "G")
)  # fmt: skip


def test_a_valve_at_a_step_up_converter_is_not_its_coil(tmp_path: Path) -> None:
    """By the circuit: without its coil a step-up converter gives nothing, whatever hangs at its output."""
    facts = '[board]\nground = ["GND"]\n[supplies]\nV = "5 V, limit 2 A"\n[loads]\nJ2 = "47 ohm"\n'
    template = compile_circuit(derived(tmp_path, BOOST, BOOST_NETS, facts))
    row = template.powered("V")
    assert float(solve(template, row).at("OUT")[0]) == pytest.approx(12.06, rel=0.01)
    row[template.columns("L1", "fitted")] = 0.0
    assert float(solve(template, row).at("OUT")[0]) < 0.5


def test_a_meter_at_the_switched_net_hides_no_coil(tmp_path: Path) -> None:
    facts = '[board]\nground = ["GND"]\n[supplies]\nV = "3.8 V, limit 2 A"\n'
    parts = "U1,TPS61023DRLR,SOT-563,\nL1,1uH,,inductor\nR1,732k,,\nR2,100k,,\n"
    nets = pins("U1", "FB", "V", "V", "GND", "SW", "OUT") + pins("L1", "V", "SW")
    made = derived(tmp_path, parts, nets + pins("R1", "OUT", "FB") + pins("R2", "FB", "GND"), facts)
    template = with_meters(compile_circuit(made))
    assert template.boost_ways


def test_an_amplifier_may_follow_another_of_the_same_chip(tmp_path: Path) -> None:
    """By the circuit: 8 V buffered is above 4 V, so the second unit is high."""
    parts = "U1,MCP6002-I/SN,SOIC-8,\nR1,10k,,\nR2,20k,,\nR3,20k,,\nR4,10k,,\nR5,10k,,\n"
    nets = pins("U1", "BUF", "BUF", "HIGH", "GND", "BUF", "LOW", "OUT", "V")
    nets += pins("R1", "V", "HIGH") + pins("R2", "HIGH", "GND") + pins("R3", "V", "LOW") + pins("R4", "LOW", "GND")
    facts = '[board]\nground = ["GND"]\n[supplies]\nV = "5 V"\n'
    made = derived(tmp_path, parts, nets + pins("R5", "OUT", "GND"), facts)
    template = compile_circuit(made)
    assert float(solve(template, template.powered("V")).at("OUT")[0]) > 4.8


def test_the_anode_of_an_adjustable_shunt_need_not_be_ground(tmp_path: Path) -> None:
    """By the circuit: its divider ends at its anode in the middle; 2.495 V x 4 above -12 V (maker's formula)."""
    facts = '[board]\nground = ["GND"]\n[supplies]\n"-12V" = "-12 V"\n'
    nets = pins("U1", "TAP", "-12V", "K") + pins("R1", "K", "TAP") + pins("R2", "TAP", "-12V") + pins("R3", "GND", "K")
    template = compile_circuit(derived(tmp_path, "U1,TL431CLP,TO-92,\nR1,30k,,\nR2,10k,,\nR3,470,,\n", nets, facts))
    assert float(solve(template, template.powered("-12V")).at("K")[0]) == pytest.approx(-12 + 4 * 2.495, abs=0.1)


def test_a_supply_is_on_where_a_net_is_alive_that_it_alone_feeds(tmp_path: Path) -> None:
    facts = '[board]\nground = ["GND"]\n[supplies]\nA = "24 V"\nB = "-24 V"\n'
    parts = "F1,1 A,,fuse\nF2,1 A,,fuse\nR1,1k,,\nR2,1k,,\nR3,1k,,\n"
    nets = pins("F1", "A", "AF") + pins("F2", "B", "BF") + pins("R1", "AF", "MID") + pins("R2", "BF", "MID")
    made = derived(tmp_path, parts, nets + pins("R3", "MID", "GND"), facts)
    assert fed_by_one(made) == {"A": set(), "B": set()}
    apart = derived(tmp_path, parts, nets.replace("R2,2,MID", "R2,2,LOW") + pins("R3", "LOW", "GND"), facts)
    assert fed_by_one(apart) == {"A": {"AF", "MID"}, "B": {"BF", "LOW"}}


def followed(folder: Path, made: Circuit, beside: str) -> dict[str, float]:
    """Return the volts of the healthy board as the diagnosis has them: outputs follow their inputs."""
    found = prepare(read_board(folder), made, Stage(None, "+12V", 1.0, None, beside=(beside,)))
    return dict(zip(found.template.nodes, (float(v) for v in found.states[0]), strict=False))


H_BRIDGE = "common practice, no source: of two half bridges the one whose input is high lifts its end of the motor"


@pytest.mark.parametrize(
    ("part", "nets"),
    [
        ("DRV8871DDAR,HSOP-8", pins("U1", "GND", "IN2", "IN1", "LIM", "+12V", "MA", "GND", "MB")),
        ("L9110S,SO-8", pins("U1", "MA", "+12V", "+12V", "MB", "GND", "IN1", "IN2", "GND")),
        ("L298N,MULTIWATT-15", pins("U1", "GND", "MA", "MB", "+12V", "IN1", "V5", "IN2", "GND", "V5")),
        ("L293D,DIP-16", pins("U1", "V5", "IN1", "MA", "GND", "GND", "MB", "IN2", "+12V") + "U1,16,V5\n"),
    ],
)
def test_a_motor_between_two_half_bridges(tmp_path: Path, published: Any, part: str, nets: str) -> None:
    facts = f'{SUPPLY}V5 = "5 V"\n'
    rows = f"U1,{part},\nR1,100,,\nR2,10k,,\nR3,10k,,\n"
    nets += pins("R1", "MA", "MB") + pins("R2", "V5", "IN1") + pins("R3", "IN2", "GND")
    at = followed(tmp_path, derived(tmp_path, rows, nets, facts), "V5")
    across = at["MA"] - at["MB"]
    published(f"{part}: across the motor [V]", across, 12.0, source=H_BRIDGE, tolerance=0.12)


@pytest.mark.parametrize(("direction", "out_v"), [("V3", 12.0), ("GND", 0.0)])
def test_a_level_shifter_drives_the_side_that_its_pin_says(tmp_path: Path, direction: str, out_v: float) -> None:
    """SN74LVC1T45: DIR high is A to B (maker's sheet, from memory); its supplies differ for the test's sake."""
    facts = f'{SUPPLY}V3 = "3.3 V"\n'
    nets = pins("U1", "V3", "GND", "A", "B", direction, "+12V") + pins("R1", "V3", "A") + pins("R2", "B", "GND")
    made = derived(tmp_path, "U1,SN74LVC1T45DBV,SOT-23-6,\nR1,1k,,\nR2,100k,,\n", nets, facts)
    assert followed(tmp_path, made, "V3")["B"] == pytest.approx(out_v, abs=0.1)
