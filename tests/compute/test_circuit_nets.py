"""Which nets are ground and which are rails: nothing that a name leaves open is shown as known.

The expected answers follow from the rule in docs/circuit.md, made by hand on small invented circuits: invariants.
"""

from pathlib import Path

import pytest

from reworkkit.compute.circuit import derive_circuit
from reworkkit.compute.potentials import PotentialFinder
from reworkkit.model.board import Board
from reworkkit.model.net_names import is_signal_name, volts_of_name
from reworkkit.model.results import Circuit
from reworkkit.read.folder import read_board


def board_of(folder: Path, parts: str, netlist: str, facts: str = "") -> Board:
    (folder / "bom.csv").write_text("Designator,Value,Package,Description\n" + parts, encoding="utf-8")
    (folder / "netlist.csv").write_text("Designator,Pin,Net,Pin name\n" + netlist, encoding="utf-8")
    (folder / "board.toml").write_text(facts, encoding="utf-8")
    return read_board(folder)


def pins(ref: str, *nets: str) -> str:
    return "".join(f"{ref},{n},{net},\n" for n, net in enumerate(nets, start=1))


def rails(circuit: Circuit) -> dict[str, float | None]:
    return {e.nodes[0]: e.parameters["volts"].nominal for e in circuit.elements if e.kind == "rail"}


def asked(circuit: Circuit) -> dict[str, str | None]:
    slugs = ("circuit-rail-no-plug", "circuit-rail-or-signal", "circuit-ground-or-not")
    return {one.because.slug: one.answer for one in circuit.not_judged if one.because.slug in slugs}


WORDS = ["EN", "PG", "PGOOD", "FB", "SENSE", "SNS", "MON", "DET", "SEL", "CTRL", "OK", "FAULT", "ADC", "DIV"]


@pytest.mark.parametrize("word", WORDS)
@pytest.mark.parametrize("name", ["5V_{}", "+12V_{}", "3V3_N{}", "{}_3V3", "{}_12V", "V5_{}", "VCC_5V_{}", "5V{}"])
def test_a_signal_about_a_voltage_is_no_rail(word: str, name: str) -> None:
    assert is_signal_name(name.format(word))
    assert volts_of_name(name.format(word)) is None


@pytest.mark.parametrize(
    ("name", "volts"), [("+5V", 5), ("5VA", 5), ("3V3_MCU", 3.3), ("24V_IN", 24), ("12V_FAN", 12), ("5V_OUT1", 5)]
)
def test_a_rail_is_still_known_by_its_name(name: str, volts: float) -> None:
    assert volts_of_name(name) == volts


def test_a_signal_that_feeds_a_chip_is_asked_about(tmp_path: Path) -> None:
    parts = "R1,10k,0603,\nR2,10k,0603,\nU1,ABC123,SOIC-8,amplifier IC\n"
    nets = pins("R1", "5V_EN", "GND") + pins("R2", "3V3_ADC", "GND") + "U1,1,3V3_ADC,VDD\nU1,2,GND,GND\n"
    made = derive_circuit(board_of(tmp_path, parts, nets))
    assert rails(made) == {}
    assert asked(made) == {"circuit-rail-or-signal": '[rails] "3V3_ADC" = "3.3 V"'}
    told = derive_circuit(board_of(tmp_path, parts, nets, '[rails]\n"3V3_ADC" = "3.3 V"\n'))
    assert rails(told) == {"3V3_ADC": 3.3}
    assert asked(told) == {}


@pytest.mark.parametrize("part", ["C1,22uF 16V,1210,ceramic capacitor", "L1,600R,0603,ferrite bead"])
def test_a_signal_name_where_a_supply_would_stand_is_asked_about(tmp_path: Path, part: str) -> None:
    nets = pins(part[:2], "5V_SENSE", "GND") + pins("R1", "5V_SENSE", "GND")
    made = derive_circuit(board_of(tmp_path, part + "\nR1,10k,0603,\n", nets))
    assert rails(made) == {}
    assert asked(made) == {"circuit-rail-or-signal": '[rails] "5V_SENSE" = "5 V"'}


VBUS = "J1,{},,{}\nF1,500mA,1206,resettable fuse\nR1,10k,0603,\n"
VBUS_NETS = pins("J1", "PLUG", "GND") + pins("F1", "PLUG", "VBUS") + pins("R1", "VBUS", "GND")


@pytest.mark.parametrize(
    ("value", "words", "volts"),
    [
        ("USB-C 16 pin", "connector", 5.0),
        ("jack", "micro USB socket connector", 5.0),
        ("terminal 2-way", "connector", None),
        ("busbar lug", "connector", None),
    ],
)
def test_vbus_is_5_v_behind_a_usb_plug_only(tmp_path: Path, value: str, words: str, volts: float | None) -> None:
    board = board_of(tmp_path, VBUS.format(value, words), VBUS_NETS)
    made = derive_circuit(board)
    assert rails(made).get("VBUS") == volts
    assert asked(made) == ({} if volts else {"circuit-rail-no-plug": '[rails] "VBUS" = "5 V"'})


def test_vbus_of_a_power_board_is_not_the_cable_of_its_service_port(tmp_path: Path) -> None:
    nets = pins("J1", "USB_5V", "GND") + pins("R1", "VBUS", "GND")
    made = derive_circuit(board_of(tmp_path, "J1,USB-C,,connector\nR1,470k,1206,\n", nets))
    assert "VBUS" not in rails(made)
    assert "circuit-rail-no-plug" in asked(made)


def test_vbus_that_may_be_asked_for_more_is_not_known(tmp_path: Path) -> None:
    parts = VBUS.format("USB-C", "connector") + "U1,ABC,QFN-16,power delivery sink controller\n"
    made = derive_circuit(board_of(tmp_path, parts, VBUS_NETS + pins("U1", "VBUS", "GND")))
    assert "VBUS" not in rails(made)
    assert "circuit-rail-no-plug" in asked(made)


@pytest.mark.parametrize("facts", ['[supplies]\nPLUG = "48 V"\n', '[rails]\nVBUS = "48 V"\n'])
def test_a_stated_vbus_is_not_asked_about(tmp_path: Path, facts: str) -> None:
    made = derive_circuit(board_of(tmp_path, VBUS.format("terminal", "connector"), VBUS_NETS, facts))
    assert asked(made) == {}
    assert rails(made).get("VBUS") != 5.0


def test_vss_alone_is_ground(tmp_path: Path) -> None:
    made = derive_circuit(board_of(tmp_path, "R1,10k,0603,\n", pins("R1", "VDD", "VSS")))
    assert made.ground == "VSS"
    assert asked(made) == {}


def test_a_thermistor_is_no_negative_supply(tmp_path: Path) -> None:
    parts = "R1,10k,0603,\nRT1,10k,0603,thermistor with negative temperature coefficient\n"
    made = derive_circuit(board_of(tmp_path, parts, pins("R1", "VDD", "SENSE") + pins("RT1", "SENSE", "VSS")))
    assert made.ground == "VSS"


def test_vss_beside_another_ground_is_asked_about(tmp_path: Path) -> None:
    nets = pins("R1", "VSS", "GND") + pins("R2", "VDD", "GND")
    board = board_of(tmp_path, "R1,10k,0603,\nR2,10k,0603,\n", nets)
    made = derive_circuit(board)
    assert made.ground == "GND"
    assert not [e for e in made.elements if e.ref == "VSS"]
    assert asked(made) == {"circuit-ground-or-not": '[board] ground = ["GND", "VSS"]'}
    assert "VSS" not in PotentialFinder(board, made).levels.grounds


@pytest.mark.parametrize("link", ["L1,BLM18,0603,ferrite bead", "L1,0R,0603,resistor", "L1,link,,solder jumper"])
def test_vss_that_a_link_joins_to_ground_is_ground(tmp_path: Path, link: str) -> None:
    nets = pins("L1", "VSS", "GND") + pins("R1", "VDD", "VSS") + pins("R2", "VDD", "GND") + pins("R3", "A", "GND")
    made = derive_circuit(board_of(tmp_path, link + "\nR1-R3,10k,0603,\n", nets))
    assert made.ground == "GND"
    assert asked(made) == {}


@pytest.mark.parametrize(
    ("part", "nets"),
    [
        ("U1,LM7905,TO-220,regulator", pins("U1", "COMMON", "RAW", "VSS")),
        ("U1,XY660,SOIC-8,voltage inverter IC", pins("U1", "VDD", "VSS", "COMMON")),
    ],
)
def test_vss_made_below_ground_is_no_ground(tmp_path: Path, part: str, nets: str) -> None:
    made = derive_circuit(board_of(tmp_path, part + "\nR1,10k,0603,\n", nets + pins("R1", "VSS", "COMMON")))
    assert made.ground is None
    assert made.not_judged[0].because.slug == "circuit-no-ground"


def test_a_stated_negative_vss_is_a_rail(tmp_path: Path) -> None:
    nets = pins("R1", "VSS", "GND") + pins("R2", "VDD", "GND")
    made = derive_circuit(board_of(tmp_path, "R1-R2,10k,0603,\n", nets, '[rails]\nVSS = "-12 V"\n'))
    assert (made.ground, rails(made), asked(made)) == ("GND", {"VSS": -12.0}, {})
