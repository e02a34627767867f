"""Parts that the papers leave half open: numbered diodes, boards that make a rail, converters told in words."""

from pathlib import Path

import pytest

from reworkkit.compute.circuit import cathodes_by_number, derive_circuit
from reworkkit.compute.formulas.network import compile_circuit, solve, solve_working
from reworkkit.model.results import Circuit
from reworkkit.pipeline.opening import Request, open_work
from reworkkit.read.folder import read_board
from tests.compute.test_circuit import board_from, only, pins

FACTS = '[board]\nground = ["GND"]\n[supplies]\n"+12V" = "12 V, limit 1 A"\n'
RELAY = (
    "F1,1A,,fuse\nD1,1N4007,DO-41,\nC1,220u 25V,,\nK1,12V,,relay 12V 360R\n"
    "D2,1N4148,DO-35,\nT1,BC547B,TO-92,\nR1,10k,,\n"
)
RELAY_NETS = (
    pins("F1", "+12V", "VF") + pins("D1", "VF", "VP") + pins("C1", "VP", "GND") + pins("K1", "VP", "RL")
    + pins("D2", "RL", "VP") + pins("T1", "RL", "BT", "GND") + pins("R1", "VP", "BT")
)  # fmt: skip


def circuit_of(folder: Path, parts: str, nets: str, facts: str = FACTS) -> Circuit:
    """Return the circuit as the commands see it: with the ways round that the circuit itself asks for."""
    board_from(folder, parts, nets, facts)
    return open_work(Request(folder)).circuit


def volts(circuit: Circuit, *nets: str) -> list[float]:
    template = compile_circuit(circuit)
    solution = solve(template, template.powered("+12V"))
    assert solution.settled[0]
    return [float(solution.at(net)[0]) for net in nets]


def test_diodes_with_numbered_leads_stand_as_the_circuit_needs_them(tmp_path: Path) -> None:
    """Pin 1 is the anode on this board. A diode in the feed conducts, one across a coil blocks (common practice)."""
    alone = derive_circuit(board_from(tmp_path, RELAY, RELAY_NETS, FACTS))
    assert cathodes_by_number(alone) == {"D1": "VF", "D2": "RL"}
    found = circuit_of(tmp_path, RELAY, RELAY_NETS)
    assert only(found, "D1").nodes == ("VF", "VP")
    assert only(found, "D2").nodes == ("RL", "VP")
    assert only(found, "D1").assumed[0].slug == "circuit-role-by-need"
    fed, coil = volts(found, "VP", "RL")
    assert 11.0 < fed < 11.6
    assert coil < 0.3


def test_a_diode_from_a_chips_input_to_a_rail_keeps_it_from_going_above(tmp_path: Path) -> None:
    parts = "D2,BAT85,DO-34,\nR6,10k,,\nC1,100n,,\nU3,MCP6002,SO-8,\n"
    nets = pins("D2", "RXF", "+5V") + pins("R6", "LOOP", "RXF") + pins("C1", "RXF", "GND")
    nets += pins("U3", "ADC", "ADC", "RXF", "GND", "GND", "B", "B", "+5V")
    assert only(derive_circuit(board_from(tmp_path, parts, nets, FACTS)), "D2").nodes == ("RXF", "+5V")


@pytest.mark.parametrize(("text", "amps"), [("LED white 1W 350mA star", 0.35), ("white LED 3mm", 0.02)])
def test_a_power_led_drops_its_volts_at_its_own_current(tmp_path: Path, text: str, amps: float) -> None:
    """White types drop 2.8 to 3.6 V at the current they are made for (makers' sheets, from memory)."""
    parts, nets = f"LED1,{text},,\nR1,{9 / amps:.0f},2512,\n", pins("R1", "+12V", "A") + "LED1,A,A\nLED1,K,GND\n"
    (drop,) = volts(derive_circuit(board_from(tmp_path, parts, nets, FACTS)), "A")
    assert 2.8 < drop < 3.6


def test_a_rail_is_made_by_the_part_that_board_toml_names(tmp_path: Path) -> None:
    parts = "U1,7805,TO-220,\nM2,ESP32 board,,microcontroller board\nR1,330,,\n"
    nets = pins("U1", "+12V", "GND", "5V") + "M2,1,5V\nM2,2,GND\nM2,3,3V3\n" + pins("R1", "3V3", "GND")
    facts = FACTS + '[rails]\n5V = "5 V"\n3V3 = { volts = "3.3 V", made_by = "M2" }\n'
    found = derive_circuit(board_from(tmp_path, parts, nets, facts))
    assert only(found, "M2", "regulator").nodes == ("5V", "3V3", "GND", "3V3")
    assert volts(found, "3V3") == pytest.approx([3.3], abs=0.01)


def test_a_board_with_a_pin_called_3v3_makes_it_where_nothing_else_does(tmp_path: Path) -> None:
    (tmp_path / "netlist.csv").write_text("", encoding="utf-8")
    parts = "U1,7805,TO-220,\nM2,ESP32 board,,controller module\nR1,330,,\n"
    board_from(tmp_path, parts, "")
    text = "Designator,Pin,Net,Pin name\nU1,1,+12V,\nU1,2,GND,\nU1,3,5V,\nM2,1,5V,VIN\nM2,2,GND,GND\n"
    text += "M2,3,3V3,3V3\nR1,1,3V3,\nR1,2,GND,\n"
    (tmp_path / "netlist.csv").write_text(text, encoding="utf-8")
    (tmp_path / "board.toml").write_text(FACTS, encoding="utf-8")
    assert volts(open_work(Request(tmp_path)).circuit, "3V3") == pytest.approx([3.3], abs=0.01)


def test_an_isolated_converter_of_unknown_number_is_told_in_words(tmp_path: Path) -> None:
    """A supply split by a 15 V Zener gives +15 V and the rest below: 20 - 15 = 5 V (its datasheet circuit)."""
    parts = 'PS1,DX-77,,"Isolated converter, 12 V to 20 V, 2 W"\nD2,BZT52C15,SOD-123,\nR1,1k,,\n'
    nets = "PS1,+VIN,+12V\nPS1,-VIN,GND\nPS1,-VOUT,VM\nPS1,+VOUT,VG\nD2,K,VG\nD2,A,GND\n" + pins("R1", "GND", "VM")
    high, low = volts(derive_circuit(board_from(tmp_path, parts, nets, FACTS)), "VG", "VM")
    assert high - low == pytest.approx(20.0, rel=0.02)
    assert high == pytest.approx(15.0, rel=0.05)


def test_a_dead_rail_is_fed_through_the_input_of_a_cmos_chip(tmp_path: Path) -> None:
    """An amplifier without supply clamps its input a diode above the dead rail (MCP6001 sheet: ESD diodes)."""
    parts = "U1,MCP6001T-I/OT,SOT-23-5,\nR1,220k,,\nR2,2k2,,\n"
    nets = pins("U1", "OUT", "GND", "IN", "OUT", "3V3") + pins("R1", "+12V", "IN") + pins("R2", "3V3", "GND")
    found = derive_circuit(board_from(tmp_path, parts, nets, FACTS + '[rails]\n3V3 = "3.3 V"\n'))
    pin, rail = volts(found, "IN", "3V3")
    assert 0.3 < pin - rail < 0.75
    assert rail == pytest.approx((12 - pin) / 220e3 * 2200, rel=0.1)


def test_an_led_strip_is_no_plain_led(tmp_path: Path) -> None:
    parts, nets = "LS1,LED strip 12V,,0.5 m of LED strip\n", pins("LS1", "+12V", "GND")
    assert {e.kind for e in derive_circuit(board_from(tmp_path, parts, nets, FACTS)).elements} & {"led"} == set()


@pytest.mark.parametrize(
    ("row", "notes", "ohms"),
    [
        ("relay 24V 16A", "coil 1k measured", (1000, 1000)),
        ("relay 24V 16A", "", (450, 2500)),
        ("relay 12V 320R", "", (320, 320)),
    ],
)
def test_the_amps_of_a_relay_are_those_of_its_contacts(
    tmp_path: Path, row: str, notes: str, ohms: tuple[float, float]
) -> None:
    """A coil takes 0.2 to 1 W at its own voltage (makers' lists, from memory): 24 V, 576 to 2,880 ohm."""
    (tmp_path / "bom.csv").write_text(f"Ref,Value,Remark\nK1,{row},{notes}\nQ1,BC547B,\nR1,10k,\n", encoding="utf-8")
    nets = "Ref,Pin,Net\nK1,A1,+12V\nK1,A2,RL\nQ1,1,RL\nQ1,2,B\nQ1,3,GND\nR1,1,+12V\nR1,2,B\n"
    (tmp_path / "netlist.csv").write_text(nets, encoding="utf-8")
    (tmp_path / "board.toml").write_text(FACTS, encoding="utf-8")
    band = only(derive_circuit(read_board(tmp_path)), "K1", "inductor").parameters["resistance"]
    assert band.nominal is not None
    assert ohms[0] <= band.nominal <= ohms[1]


def test_a_solar_panel_is_no_load(tmp_path: Path) -> None:
    parts, nets = 'PV1,,,"10W panel lead (second supply, 14 V)"\n', "PV1,+,+12V\nPV1,-,GND\n"
    assert "inductor" not in {e.kind for e in derive_circuit(board_from(tmp_path, parts, nets, FACTS)).elements}


def test_a_boost_converter_runs_on_a_limited_supply(tmp_path: Path) -> None:
    """20 mA at 12 V are 0.24 W: from 5 V some 55 mA at 87 %, far below the limit of 0.5 A (energy in = out)."""
    parts = "U2,MT3608,SOT-23-6,\nL1,10uH,,\nD2,SS14,SMA,\nR2,191k 1%,,\nR3,10k 1%,,\nR1,600,,\n"
    nets = "U2,IN,+5V\nU2,EN,+5V\nU2,GND,GND\nU2,FB,FB\nU2,SW,SW\nL1,1,+5V\nL1,2,SW\nD2,A,SW\nD2,K,12V\n"
    nets += pins("R2", "12V", "FB") + pins("R3", "FB", "GND") + pins("R1", "12V", "GND")
    facts = '[board]\nground = ["GND"]\n[supplies]\n"+5V" = "5 V, limit 0.5 A"\n'
    template = compile_circuit(derive_circuit(board_from(tmp_path, parts, nets, facts)))
    solution = solve_working(template, template.powered("+5V"))
    assert solution.settled[0]
    assert float(solution.at("12V")[0]) == pytest.approx(0.6 * (1 + 191 / 10), rel=0.02)
    assert 0.04 < float(solution.current("+5V")[0]) < 0.08
