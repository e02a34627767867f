"""Parts of two leads, networks, bridges, LEDs, switches, loads and MOSFETs: which elements a list and netlist give.

Pin orders are those of the makers' sheets, from memory, each named beside its case; values follow from Ohm's law.
"""

from pathlib import Path

import pytest

from reworkkit.compute.circuit import derive_circuit
from reworkkit.compute.formulas.network import compile_circuit, solve
from reworkkit.compute.power_up import fitted_now
from reworkkit.model.job import Basis, Situation
from reworkkit.model.results import Circuit, Element
from tests.compute.test_circuit import board_from, pins

SUPPLY = '[board]\nground = ["GND"]\n[supplies]\n"+12V" = "12 V, limit 1 A"\n'


def derived(folder: Path, parts: str, nets: str, facts: str = SUPPLY) -> Circuit:
    return derive_circuit(board_from(folder, parts, nets, facts))


def of(circuit: Circuit, ref: str, kind: str = "") -> list[Element]:
    return [e for e in circuit.elements if e.ref == ref and kind in ("", e.kind)]


def joined(circuit: Circuit, ref: str) -> set[tuple[str, str]]:
    return {(e.nodes[0], e.nodes[1]) for e in of(circuit, ref)}


def volts(circuit: Circuit, *nets: str) -> list[float]:
    template = compile_circuit(circuit)
    solution = solve(template, template.powered("+12V"))
    return [float(solution.at(net)[0]) for net in nets]


BRIDGE = {("W1", "PLUS"), ("W2", "PLUS"), ("GND", "W1"), ("GND", "W2")}
"""Anode and cathode of the four diodes of any bridge whose minus is ground (circuit of Graetz)."""


@pytest.mark.parametrize(
    ("row", "netlist", "why"),
    [
        ("DF04M,DIP-4,", pins("BR1", "PLUS", "GND", "W1", "W2"), "sheet: 1 +, 2 -, 3 and 4 ~"),
        ("KBP206,SIP-4,", pins("BR1", "PLUS", "W1", "W2", "GND"), "sheet: + ~ ~ - in line"),
        ("W04M,WOM,", pins("BR1", "PLUS", "W1", "GND", "W2"), "sheet: + ~ - ~ round"),
        ("B80C1500,,", "BR1,+,PLUS\nBR1,-,GND\nBR1,AC1,W1\nBR1,AC2,W2\n", "names"),
        ("1 A 400 V,DIP-4,bridge rectifier", "BR1,~1,W1\nBR1,~2,W2\nBR1,DC+,PLUS\nBR1,DC-,GND\n", "names"),
    ],
)
def test_a_bridge_is_four_diodes(tmp_path: Path, row: str, netlist: str, why: str) -> None:
    made = derived(tmp_path, f"BR1,{row}\nR1,1k,0603,\n", netlist + pins("R1", "PLUS", "GND"))
    assert joined(made, "BR1") == BRIDGE, why
    assert {e.kind for e in of(made, "BR1")} == {"diode"}


def test_the_smoothing_capacitor_tells_plus_and_minus_of_a_bridge_whose_numbering_is_odd(tmp_path: Path) -> None:
    parts = "BR1,bridge,special,bridge rectifier\nC1,470u 35V,radial,electrolytic\n"
    made = derived(tmp_path, parts, pins("BR1", "W1", "GND", "W2", "PLUS") + pins("C1", "PLUS", "GND"))
    assert joined(made, "BR1") == BRIDGE


def test_a_bridge_that_nothing_tells_is_asked_for(tmp_path: Path) -> None:
    made = derived(tmp_path, "BR1,bridge,special,bridge rectifier\n", pins("BR1", "A", "B", "C", "D") + "X1,1,GND\n")
    assert [e.kind for e in of(made, "BR1")] == ["unmodelled"]
    assert any(q.answer and q.answer.startswith("[parts] BR1 = { pins") for q in made.not_judged)


@pytest.mark.parametrize(
    ("number", "package", "pairs"),
    [
        ("BAV99", "SOT-23", {("A", "C"), ("C", "B")}),
        ("BAT54S", "SOT-23", {("A", "C"), ("C", "B")}),
        ("BAT54C", "SOT-23", {("A", "C"), ("B", "C")}),
        ("BAV70", "SOT-23", {("A", "C"), ("B", "C")}),
        ("BAW56", "SOT-23", {("C", "A"), ("C", "B")}),
        ("BAT54A", "SOT-23", {("C", "A"), ("C", "B")}),
        ("MBR2045CT", "TO-220", {("A", "B"), ("C", "B")}),
        ("STPS20L45CT", "TO-220", {("A", "B"), ("C", "B")}),
        ("BAS16", "SOT-23", {("A", "C")}),
    ],
)
def test_pairs_of_diodes_in_one_package(tmp_path: Path, number: str, package: str, pairs: set[tuple[str, str]]) -> None:
    """Makers' sheets: BAV99 1 A1, 2 K2, 3 K1 A2; BAV70 common cathode 3; BAW56 common anode 3; CT cathode on 2."""
    made = derived(tmp_path, f"D1,{number},{package},\n", pins("D1", "A", "B", "C") + "X1,1,GND\n")
    assert joined(made, "D1") == pairs


def test_a_diode_in_three_leads_of_which_the_netlist_has_two(tmp_path: Path) -> None:
    made = derived(tmp_path, "D1,BAT54,SOT-23,\n", "D1,1,IN\nD1,3,GND\n")  # sheet: 1 anode, 3 cathode
    assert joined(made, "D1") == {("IN", "GND")}


@pytest.mark.parametrize(
    ("row", "drop", "at", "within"),
    [
        ("1N4148,DO-35,", 0.72, 0.01, 0.1),  # sheet: 0.72 V at 10 mA typical
        ("1N4007,DO-41,", 0.93, 1.0, 0.15),  # sheet: 0.93 V at 1 A typical, 1.1 V at most
        ("1N5819,DO-41,", 0.45, 1.0, 0.15),  # sheet: 0.6 V at most at 1 A; curve 0.45 V
        ("BAT54,SOD-123,", 0.35, 0.01, 0.06),  # sheet: 0.4 V at most at 10 mA
        ("UF4007,DO-41,", 1.3, 1.0, 0.4),  # sheet: 1.7 V at most at 1 A
        ("SS34,SMA,", 0.4, 1.0, 0.12),  # sheet: 0.5 V at most at 3 A
        ("diode,DO-41,Schottky rectifier 1 A", 0.45, 1.0, 0.2),
    ],
)
def test_drops_of_families_of_diodes(tmp_path: Path, row: str, drop: float, at: float, within: float) -> None:
    ohm = (12 - drop) / at
    parts = f"D1,{row}\nR1,{ohm:.4g},0603,1%\n"
    made = derived(tmp_path, parts, "D1,A,OUT\nD1,K,GND\n" + pins("R1", "+12V", "OUT"))
    assert volts(made, "OUT")[0] == pytest.approx(drop, abs=within), "maker's sheet, from memory"


@pytest.mark.parametrize(
    ("row", "low", "high"),
    [
        ("red,0603,LED", 1.6, 2.2),
        ("LED grün,3mm,", 1.8, 3.4),
        ("LED 525nm,0603,", 2.7, 3.5),
        ("LED,0805,true green (InGaN)", 2.7, 3.5),
        ("LED,0805,yellow-green", 1.8, 2.3),
        ("светодиод синий,0805,", 2.6, 3.6),
        ("LTST-C190KRKT,0603,", 1.6, 2.2),
        ("LTST-C171TBKT,0805,", 2.6, 3.6),
        ("LED GN,0805,Vf 3.1 V", 2.8, 3.4),
    ],
)
def test_colours_of_leds(tmp_path: Path, row: str, low: float, high: float) -> None:
    made = derived(tmp_path, f"LED1,{row}\n", pins("LED1", "GND", "OUT"))
    (led,) = of(made, "LED1", "led")
    assert low <= (led.parameters["forward"].nominal or 0) <= high


def test_a_stated_drop_of_a_power_led_is_at_its_own_current(tmp_path: Path) -> None:
    made = derived(tmp_path, "LED1,white 1 W,star,Vf 3.1 V at 250 mA\n", pins("LED1", "GND", "OUT"))
    (led,) = of(made, "LED1", "led")
    assert (led.parameters["forward"].nominal, led.parameters["at"].nominal) == (3.1, 0.25)


@pytest.mark.parametrize("value", ["termometro LED 5V", "LED panel meter", "LED"])
def test_what_stands_across_a_rail_is_no_plain_led(tmp_path: Path, value: str) -> None:
    """Two volts of an LED across twelve would be a short circuit."""
    made = derived(tmp_path, f"LED1,{value},module,red\n", pins("LED1", "GND", "+12V"))
    assert not of(made, "LED1", "led")


@pytest.mark.parametrize(
    ("row", "netlist", "pairs"),
    [
        ("red/green,3mm,LED two-colour common cathode", pins("LED1", "R", "GND", "G"), {("R", "GND"), ("G", "GND")}),
        ("red/green,3mm,LED common anode", pins("LED1", "R", "+12V", "G"), {("+12V", "R"), ("+12V", "G")}),
        ("red/green,3mm,LED", "LED1,AR,R\nLED1,K,GND\nLED1,AG,G\n", {("R", "GND"), ("G", "GND")}),
        ("RGB,5mm,LED", pins("LED1", "R", "GND", "G", "B"), {("R", "GND"), ("G", "GND"), ("B", "GND")}),
        ("RGB,5050,LED", "LED1,A1,R\nLED1,A2,G\nLED1,K1,GND\nLED1,K2,GND\n", {("R", "GND"), ("G", "GND")}),
        ("red/green,3mm,two-colour LED", pins("LED1", "P", "Q"), {("Q", "P"), ("P", "Q")}),
    ],
)
def test_leds_of_several_colours(tmp_path: Path, row: str, netlist: str, pairs: set[tuple[str, str]]) -> None:
    """Usual order of three leads: the middle one is common (makers' sheets of 3 mm and 5 mm types, from memory)."""
    made = derived(tmp_path, f"LED1,{row}\n", netlist + "X1,1,GND\n")
    assert joined(made, "LED1") == pairs
    assert {e.kind for e in of(made, "LED1")} == {"led"}


def test_the_colours_of_a_pair_follow_its_leads(tmp_path: Path) -> None:
    made = derived(tmp_path, "LED1,red/blue,3mm,LED common cathode\n", pins("LED1", "R", "GND", "B"))
    drops = {e.nodes[0]: e.parameters["forward"].nominal or 0 for e in of(made, "LED1")}
    assert drops["R"] < 2.3 < drops["B"]


def test_a_light_bar_has_its_cathodes_opposite(tmp_path: Path) -> None:
    nets = pins("LED1", *[f"A{n}" for n in range(1, 11)], *["GND"] * 10)
    made = derived(tmp_path, "LED1,red,DIP-20,LED bar graph 10 segments\n", nets)
    assert joined(made, "LED1") == {(f"A{n}", "GND") for n in range(1, 11)}


@pytest.mark.parametrize(
    ("row", "netlist", "pairs"),
    [
        (
            "4x10k,1206-8,resistor array isolated",
            pins("RN1", *"ABCDEFGH"),
            {("A", "H"), ("B", "G"), ("C", "F"), ("D", "E")},
        ),
        ("10k,0603x4,resistor array", "RN1,1,A\nRN1,2,B\nRN1,7,G\nRN1,8,H\n", {("A", "H"), ("B", "G")}),
        ("10k,SIP-9,resistor network bussed", pins("RN1", *"ABCDEFGHI"), {("A", x) for x in "BCDEFGHI"}),
        ("4605X-101-103 10k,SIP-5,", pins("RN1", *"ABCDE"), {("A", x) for x in "BCDE"}),
        (
            "10k,SIP-8,resistor network isolated",
            pins("RN1", *"ABCDEFGH"),
            {("A", "B"), ("C", "D"), ("E", "F"), ("G", "H")},
        ),
        ("10k,DIP-16,resistor network", "RN1,1,A\nRN1,16,P\nRN1,2,B\nRN1,15,O\n", {("A", "P"), ("B", "O")}),
        ("10k,SIP-5,network", "RN1,COM,A\nRN1,R1,B\nRN1,R2,C\n", {("A", "B"), ("A", "C")}),
        ("10k,1206-8,array", "RN1,R1.1,A\nRN1,R1.2,B\nRN1,R2.1,C\nRN1,R2.2,D\n", {("A", "B"), ("C", "D")}),
    ],
)
def test_resistor_networks(tmp_path: Path, row: str, netlist: str, pairs: set[tuple[str, str]]) -> None:
    made = derived(tmp_path, f"RN1,{row}\n", netlist + "X1,1,GND\n")
    assert joined(made, "RN1") == pairs
    assert {e.parameters["resistance"].nominal for e in of(made, "RN1")} == {1e4}


def test_a_terminator_network_is_asked_for(tmp_path: Path) -> None:
    made = derived(tmp_path, "RN1,220/330,SIP-8,dual terminator network\n", pins("RN1", *"ABCDEFGH") + "X1,1,GND\n")
    assert [e.kind for e in of(made, "RN1")] == ["unmodelled"]


def test_a_wiper_may_stand_anywhere(tmp_path: Path) -> None:
    made = derived(tmp_path, "RV1,10k,3296W,trimmer\n", pins("RV1", "GND", "W", "+12V"))
    assert joined(made, "RV1") == {("GND", "W"), ("W", "+12V")}
    assert volts(made, "W") == [pytest.approx(6.0, rel=0.02)]
    for element in of(made, "RV1"):
        band = element.parameters["resistance"]
        assert (band.low or 0) <= 0.1e4 + 1
        assert (band.high or 0) >= 0.99e4


def test_a_wiper_whose_place_is_stated_and_one_left_out(tmp_path: Path) -> None:
    facts = SUPPLY + '[parts]\nRV1 = { role = "set to 25 %" }\n'
    parts = "RV1,10k,3296W,trimmer\nRV2,10k,3296W,trimmer\nRV3,10k,3296W,trimmer\n"
    nets = pins("RV1", "GND", "W", "+12V") + "RV2,1,GND\nRV2,3,+12V\n" + pins("RV3", "GND", "X", "X")
    made = derived(tmp_path, parts, nets, facts)
    assert volts(made, "W") == [pytest.approx(3.0, rel=0.02)]  # a quarter of 12 V
    assert [e.parameters["resistance"].nominal for e in of(made, "RV2")] == [1e4]
    assert [e.nodes for e in of(made, "RV3")] == [("GND", "X")]


@pytest.mark.parametrize(
    ("value", "ohm"), [("R005", 0.005), ("5m", 0.005), ("0R01", 0.01), ("10mR", 0.01), ("4k7", 4700), ("2R2", 2.2)]
)
def test_shunts_as_they_are_written(tmp_path: Path, value: str, ohm: float) -> None:
    made = derived(tmp_path, f"R1,{value},2512,1%\n", pins("R1", "A", "GND"))
    assert of(made, "R1", "resistor")[0].parameters["resistance"].nominal == pytest.approx(ohm)


def test_a_four_terminal_shunt_carries_between_its_outer_pins(tmp_path: Path) -> None:
    made = derived(tmp_path, "R1,R010,2512,four-terminal shunt\n", pins("R1", "A", "SA", "SB", "GND"))
    assert [e.nodes for e in of(made, "R1", "resistor")] == [("A", "GND")]
    assert {frozenset(e.nodes) for e in of(made, "R1", "link")} == {frozenset(("A", "SA")), frozenset(("GND", "SB"))}


def test_a_choke_never_joins_ground_to_the_supply(tmp_path: Path) -> None:
    parts = "L1,2x1mH,SMD,common-mode choke\nL2,2x1mH,SMD,common-mode choke\n"
    nets = pins("L1", "VRAW", "VM", "GNDM", "GND") + pins("L2", "VIN", "GND", "PGND", "VOUT")
    made = derived(tmp_path, parts, nets)
    assert joined(made, "L1") == {("VRAW", "VM"), ("GNDM", "GND")}
    assert {frozenset(pair) for pair in joined(made, "L2")} == {frozenset(("VIN", "VOUT")), frozenset(("GND", "PGND"))}


def test_thermistors_at_room_temperature(tmp_path: Path) -> None:
    """A 10 k NTC of B 3950 has 12.5 k at 20 C and 8.0 k at 30 C (its exponential law, by hand)."""
    parts = "TH1,10k NTC,0603,\nRT1,NTC 10D-9,,\nS1,KSD301,,thermostat\nR1,GL5528,,LDR\n"
    nets = pins("TH1", "A", "GND") + pins("RT1", "+12V", "A") + pins("S1", "A", "B") + pins("R1", "B", "GND")
    made = derived(tmp_path, parts, nets)
    band = of(made, "TH1")[0].parameters["resistance"]
    assert (band.low or 0) <= 8.0e3
    assert (band.high or 0) >= 12.5e3
    assert of(made, "RT1")[0].parameters["resistance"].nominal == 10
    assert of(made, "S1")[0].kind == "link"
    assert (of(made, "R1")[0].parameters["resistance"].high or 0) >= 1e5


@pytest.mark.parametrize(
    ("row", "ohm_low", "ohm_high"),
    [("315mA,5x20,fuse", 0.1, 2.5), ("5A,5x20,fuse", 0.002, 0.1), ("500mA,1812,PTC polyfuse", 0.1, 1.5)],
)
def test_fuses_by_their_current(tmp_path: Path, row: str, ohm_low: float, ohm_high: float) -> None:
    """Cold resistances as makers' tables have them: 0.5 ohm at 315 mA, 15 milliohm at 5 A, from memory."""
    made = derived(tmp_path, f"F1,{row}\n", pins("F1", "+12V", "GND"))
    band = of(made, "F1", "fuse")[0].parameters["resistance"]
    assert ohm_low <= (band.nominal or 0) <= ohm_high


# switches and jumpers

REGULATED = "U1,7805,TO-220,linear regulator\n"


@pytest.mark.parametrize(
    ("row", "role", "kind"),
    [
        ("push,6x6,push button", "", "switch"),
        ("on/off,slide,slide switch closed", "", "link"),
        ("slide,SPST,slide switch", "closed", "link"),
        ("slide,SPST,slide switch", "open", "switch"),
        ("E-Stop,,emergency stop switch", "", "link"),
        ("KSD301,,thermostat switch", "", "link"),
        ("toggle,SPST,toggle switch open", "", "switch"),
        ("OPEN,wired,", "open button, held closed", "link"),
        ("BUTTON,wired,", "open button held", "link"),
        ("BUTTON,wired,push button", "held open", "switch"),
        ("slide,SPST,slide switch", "closed limit, open", "switch"),
        ("lever,wired,", "lever at open: 1 and 2 joined", "link"),
        ("flow switch,wired; closed with water,", "", "link"),
    ],
)
def test_switches_by_words(tmp_path: Path, row: str, role: str, kind: str) -> None:
    facts = SUPPLY + (f'[parts]\nSW1 = {{ role = "{role}" }}\n' if role else "")
    made = derived(tmp_path, f"SW1,{row}\nR1,1k,0603,\n", pins("SW1", "A", "B") + pins("R1", "B", "GND"), facts)
    assert [e.kind for e in of(made, "SW1")] == [kind]


def test_a_switch_in_the_way_of_the_power_is_on_and_one_beside_it_is_a_question(tmp_path: Path) -> None:
    parts = f"F1,1A,1206,fuse\nSW1,slide,SPST,slide switch\nSW2,slide,SPST,slide switch\nR1,10k,0603,\n{REGULATED}"
    nets = pins("F1", "+12V", "VF") + pins("SW1", "VF", "VSW") + pins("U1", "VSW", "GND", "+5V")
    nets += pins("SW2", "+5V", "MODE") + pins("R1", "MODE", "GND")
    made = derived(tmp_path, parts, nets)
    assert [e.kind for e in of(made, "SW1")] == ["link"]
    assert [e.kind for e in of(made, "SW2")] == ["unmodelled"]
    assert '[parts] SW2 = { role = "closed" }' in [q.answer for q in made.not_judged]


def test_positions_of_a_change_over_switch_and_a_three_pin_jumper(tmp_path: Path) -> None:
    facts = SUPPLY + '[parts]\nSW1 = { role = "2-3 closed" }\n'
    parts = "SW1,slide,SPDT,slide switch\nJP1,1x3,header,jumper 1-2\n"
    parts += "JP2,SolderJumper_2_Open,,\nJP3,solder,solder jumper bridged,\n"
    nets = pins("SW1", "A", "B", "C") + pins("JP1", "D", "E", "F") + pins("JP2", "A", "GND") + pins("JP3", "C", "GND")
    made = derived(tmp_path, parts, nets, facts)
    assert joined(made, "SW1") == {("B", "C")}
    assert joined(made, "JP1") == {("D", "E")}
    assert [e.kind for e in of(made, "JP2")] == ["switch"]
    assert [e.kind for e in of(made, "JP3")] == ["link"]


# loads


@pytest.mark.parametrize(
    ("row", "ref", "facts", "ohm"),
    [
        ("24 V 3 W,BA15s,lamp", "H1", "", 192.0),
        ("12V/80mA Lampe,BA9s,", "LA1", "", 150.0),
        ("24 V 50 W,,heater", "E1", "", 11.52),
        ("12V 10R,,heater", "HT1", "", 10.0),
        ("24V,,solenoid valve 240 ohm", "Y1", "", 240.0),
        ("24 V 3 W,,", "H1", '[parts]\nH1 = { volts = "24 V", amps = "125 mA" }\n', 192.0),
        ("lamp,Terminal,terminal", "J3", '[parts]\nJ3 = { volts = "12 V", watts = "6 W" }\n', 24.0),
    ],
)
def test_loads_by_their_figures(tmp_path: Path, row: str, ref: str, facts: str, ohm: float) -> None:
    made = derived(tmp_path, f"{ref},{row}\n", pins(ref, "+12V", "GND"), SUPPLY + facts)
    (load,) = of(made, ref)
    assert load.kind == "inductor"
    assert load.parameters["resistance"].nominal == pytest.approx(ohm)  # V / I, V V / P


@pytest.mark.parametrize(
    ("row", "ref"),
    [
        ("12V 0.1A,,fan", "M1"),
        ("12V 100mA,,", "FAN1"),
        ("12V 0.1 A,,siren", "SIR1"),
        ("12V 100mA,,active buzzer", "BZ1"),
    ],
)
def test_fans_and_buzzers_draw_their_current(tmp_path: Path, row: str, ref: str) -> None:
    made = derived(tmp_path, f"{ref},{row}\n", pins(ref, "+12V", "GND"))
    load, idle = of(made, ref)
    assert (load.kind, load.nodes, load.parameters["current"].nominal) == ("load", ("+12V", "GND"), pytest.approx(0.1))
    assert (idle.kind, idle.nodes) == ("inner", load.nodes), "what a switched-off fan still lets through"


@pytest.mark.parametrize(
    ("row", "ref"),
    [
        ("motor 12V 1A,,DC motor", "M1"),
        ("fan,KK-2,connector to the fan", "J3"),
        ("2 pin,JST,fan connector 250 V 3 A", "J4"),
        ("valve,Terminal 2-way,terminal for a valve", "J5"),
    ],
)
def test_motors_and_plain_plugs_stay_outside(tmp_path: Path, row: str, ref: str) -> None:
    made = derived(tmp_path, f"{ref},{row}\n", pins(ref, "+12V", "GND"))
    assert {e.kind for e in of(made, ref)} == {"external"}


def test_a_flyback_diode_of_a_valve_is_no_valve(tmp_path: Path) -> None:
    made = derived(tmp_path, "D1,1N4007,DO-41,valve flyback diode 1 A 1000 V\n", pins("D1", "+12V", "GND"))
    assert [e.kind for e in of(made, "D1")] == ["diode"]


# MOSFETs


@pytest.mark.parametrize(
    ("row", "kind", "nodes"),
    [
        ("AO3401A,SOT-23,", "mosfet_p", ("C", "A", "B")),
        ("2N7002,SOT-23,", "mosfet_n", ("C", "A", "B")),
        ("IRF9540N,TO-220,", "mosfet_p", ("B", "A", "C")),
        ("IRLZ44N,TO-220,", "mosfet_n", ("B", "A", "C")),
        ("FQP27P06,TO-220,", "mosfet_p", ("B", "A", "C")),
        ("IRF4905,TO-220,", "mosfet_p", ("B", "A", "C")),
        ("NDT2955,SOT-223,", "mosfet_p", ("B", "A", "C")),
        ("BS170,TO-92,", "mosfet_n", ("A", "B", "C")),
        ("2N7000,TO-92,", "mosfet_n", ("C", "B", "A")),
        ("MOSFET,SOT-23,P-channel MOSFET", "mosfet_p", ("C", "A", "B")),
    ],
)
def test_mosfets_of_three_leads(tmp_path: Path, row: str, kind: str, nodes: tuple[str, str, str]) -> None:
    """Makers' sheets, from memory: SOT-23 G S D, TO-220 and SOT-223 G D S, BS170 D G S, 2N7000 S G D."""
    made = derived(tmp_path, f"Q1,{row}\n", pins("Q1", "A", "B", "C") + "X1,1,GND\n")
    (element,) = of(made, "Q1")
    assert (element.kind, element.nodes) == (kind, nodes)


def test_mosfets_of_eight_and_six_leads(tmp_path: Path) -> None:
    """Makers' sheets: SO-8 single S S S G D D D D; dual S1 G1 S2 G2 D2 D2 D1 D1; 2N7002DW S1 G1 D2 S2 G2 D1."""
    parts = "Q1,SI4435DY,SOIC-8,\nQ2,IRF7103,SOIC-8,\nQ3,2N7002DW,SOT-363,\nQ4,AO4606,SOIC-8,\n"
    nets = pins("Q1", "S", "S", "S", "G", "D", "D", "D", "D") + pins(
        "Q2", "S1", "G1", "S2", "G2", "D2", "D2", "D1", "D1"
    )
    nets += pins("Q3", "SA", "GA", "DB", "SB", "GB", "DA")
    nets += pins("Q4", "SN", "GN", "SP", "GP", "DP", "DP", "DN", "DN") + "X1,1,GND\n"
    made = derived(tmp_path, parts, nets)
    assert [(e.kind, e.nodes) for e in of(made, "Q1")] == [("mosfet_p", ("D", "G", "S"))]
    assert [e.nodes for e in of(made, "Q2")] == [("D1", "G1", "S1"), ("D2", "G2", "S2")]
    assert [e.nodes for e in of(made, "Q3")] == [("DA", "GA", "SA"), ("DB", "GB", "SB")]
    assert [(e.kind, e.nodes) for e in of(made, "Q4")] == [
        ("mosfet_n", ("DN", "GN", "SN")),
        ("mosfet_p", ("DP", "GP", "SP")),
    ]


def test_reverse_protection_by_a_p_channel_lets_all_volts_through(tmp_path: Path) -> None:
    """The body diode conducts first, then the channel: the drop is some millivolts (common practice), not 0.6 V."""
    parts = "Q1,AO3401A,SOT-23,\nR1,100k,0603,1%\nR2,120,2512,1%\n"
    nets = pins("Q1", "GATE", "OUT", "+12V") + pins("R1", "GATE", "GND") + pins("R2", "OUT", "GND")
    out, gate = volts(derived(tmp_path, parts, nets), "OUT", "GATE")
    assert out == pytest.approx(11.99, abs=0.03)
    assert gate == pytest.approx(0.0, abs=0.01)


def test_a_mosfet_of_unknown_channel_is_told_by_its_source_or_asked_for(tmp_path: Path) -> None:
    parts = "Q1,XY123,SOT-23,MOSFET\nQ2,XY123,SOT-23,MOSFET\n"
    made = derived(tmp_path, parts, pins("Q1", "G", "GND", "D") + pins("Q2", "G", "X", "Y"))
    assert [e.kind for e in of(made, "Q1")] == ["mosfet_n"]
    assert [e.kind for e in of(made, "Q2")] == ["unmodelled"]


def test_thresholds_by_family(tmp_path: Path) -> None:
    """Sheets: AO3401 0.5 to 1.3 V, IRLZ44N 1 to 2 V, IRF9540N 2 to 4 V, from memory."""
    for row, low, high in (("AO3401,SOT-23", 0.4, 1.3), ("IRLZ44N,TO-220", 1.0, 2.6), ("IRF9540N,TO-220", 2.0, 4.0)):
        made = derived(tmp_path, f"Q1,{row},\n", pins("Q1", "A", "B", "C") + "X1,1,GND\n")
        band = of(made, "Q1")[0].parameters["threshold"]
        assert ((band.low or 0) >= low - 0.2, (band.high or 0) <= high + 0.2) == (True, True)


def test_fuse_holders_filters_and_loads_without_figures(tmp_path: Path) -> None:
    parts = "XF1,5x20,,fuse holder\nFL1,NFM21,0805,EMI filter\nBZ1,buzzer,,buzzer\n"
    nets = pins("XF1", "+12V", "A") + pins("FL1", "A", "GND", "B") + pins("BZ1", "B", "GND")
    made = derived(tmp_path, parts, nets)
    assert [(e.kind, e.nodes) for e in of(made, "XF1")] == [("fuse", ("+12V", "A"))]
    assert [(e.kind, e.nodes) for e in of(made, "FL1")] == [("inductor", ("A", "B"))]
    assert [e.kind for e in of(made, "BZ1")] == ["unmodelled"]
    assert '[parts] BZ1 = { volts = "12 V", amps = "20 mA" }' in [q.answer for q in made.not_judged]


def test_a_relay_coil_by_its_family(tmp_path: Path, published: pytest.FixtureRequest) -> None:
    made = derived(tmp_path, "K1,SRD-12VDC-SL-C,,relay\n", "K1,A1,+12V\nK1,A2,GND\nK1,3,COM\n")
    ohm = of(made, "K1", "inductor")[0].parameters["resistance"].nominal
    published("coil of a 12 V relay of 0.36 W", ohm, 400, source="maker's table, from memory", tolerance=0.05)


def test_a_solder_jumper_counts_as_there_at_a_hold_point(tmp_path: Path) -> None:
    board = board_from(tmp_path, "JP1,solder,solder,solder jumper bridged\nR1,1k,0603,\n",
                       pins("JP1", "+12V", "A") + pins("R1", "A", "GND"), SUPPLY)  # fmt: skip
    assert fitted_now(board, Situation(1, Basis.FILES, None, {})) >= {"JP1"}


def test_a_load_of_a_part_without_a_lead_there_is_asked_about_and_goes_to_ground(tmp_path: Path) -> None:
    facts = SUPPLY + '[loads]\n"+12V" = { amps = "20 mA", part = "R2" }\n'
    made = derived(tmp_path, "R1,1k,,\nR2,1k,,\n", pins("R1", "+12V", "GND") + pins("R2", "A", "B"), facts)
    assert [e.nodes for e in of(made, "R2", "load")] == [("+12V", "GND")]
    assert ("R2",) in [one.about for one in made.not_judged if one.because.slug == "circuit-load-elsewhere"]


@pytest.mark.parametrize(
    ("row", "ref"), [("slide switch,,", "SW1"), ("jumper,Header 3,", "JP1"), ("10k,,potentiometer", "RV1")]
)
def test_a_position_that_is_not_read_is_said(tmp_path: Path, row: str, ref: str) -> None:
    facts = SUPPLY + f'[parts]\n{ref} = {{ role = "somewhere" }}\n'
    nets = pins(ref, "A", "B", "C") + pins("R9", "A", "GND")
    made = derived(tmp_path, f"{ref},{row}\nR9,1k,,\n", nets, facts)
    told = [one.because.fact("role") for one in made.not_judged if one.because.slug == "circuit-role-not-read"]
    assert told == ["somewhere"]
