"""Isolated gate drivers, digital isolators, fast optocouplers and isolated bus transceivers, by pin number."""

from pathlib import Path
from typing import Any

import pytest

from tests.compute.test_circuit_chips import derived, followed, ohms

SHEET = "maker's data sheet, from memory"
LOADS = ohms(("R1", "10k"), ("R2", "10k"))


def first_and_second(folder: Path, number: str, package: str, pins: str, volts: float = 5.0) -> dict[str, float]:
    """Follow a part whose outputs OA and OB have resistors to ground."""
    return followed(folder, f"U1,{number},{package},\n{LOADS}", f"U1 {pins}\nR1 1=OA 2=GND\nR2 1=OB 2=GND", volts)


QUAD = "1=V 2=GND 3=V 4=GND 8=GND 9=GND 15=GND 16=V 13=OB 14=OA"


@pytest.mark.parametrize(
    ("number", "package", "pins", "levels"),
    [
        ("ADUM1400ARWZ", "SOIC-16W", QUAD + " 5=GND 6=GND", (5.0, 0.0)),
        ("ADUM1401BRWZ", "SOIC-16W", QUAD + " 5=GND 11=GND", (5.0, 0.0)),
        ("ISO7741DWR", "SOIC-16W", QUAD + " 5=GND 11=GND 10=V", (5.0, 0.0)),
        ("SI8642BD-B-IS", "SOIC-16W", QUAD + " 11=GND 12=GND 10=V", (5.0, 0.0)),
        ("SI8642BD-B-IS", "SOIC-16W", QUAD + " 11=GND 12=GND 10=GND", (0.0, 0.0)),
        ("ADUM1301ARWZ", "SOIC-16W", QUAD + " 12=GND", (5.0, 0.0)),
        ("ISO7720DR", "SOIC-8", "1=V 2=V 3=GND 4=GND 5=GND 6=OB 7=OA 8=V", (5.0, 0.0)),
        ("ISO7820DW", "SOIC-16W", "1=GND 3=V 4=V 5=GND 7=GND 9=GND 12=OB 13=OA 14=V 16=GND", (5.0, 0.0)),
        ("SI8421BB-D-IS", "SOIC-8", "1=V 2=OA 3=GND 4=GND 5=GND 6=OB 7=V 8=V", (5.0, 0.0)),
        ("SI8622BC-B-IS", "SOIC-8", "1=V 2=GND 3=OA 4=GND 5=GND 6=V 7=OB 8=V", (5.0, 0.0)),
    ],
)
def test_channels_of_isolators_go_their_way(
    tmp_path: Path, published: Any, number: str, package: str, pins: str, levels: tuple[float, float]
) -> None:
    """The first channel's input is high, the second's low; a low enable pin lets go, an open one does not."""
    at = first_and_second(tmp_path, number, package, pins)
    published(f"{number}, first output [V]", at["OA"], levels[0], source=SHEET, absolute=0.1)
    published(f"{number}, second output [V]", at["OB"], levels[1], source=SHEET, absolute=0.1)


def test_a_channel_that_goes_back_is_read_at_the_other_side(tmp_path: Path, published: Any) -> None:
    at = first_and_second(tmp_path, "ISO7741DW", "SOIC-16W", "1=V 2=GND 3=GND 6=OB 8=GND 9=GND 11=V 14=OA 16=V")
    published("ISO7741, channel D to pin 6 [V]", at["OB"], 5.0, source=SHEET, absolute=0.1)


PAIR = "3=V 4=GND 8=V 9=GND 10=OB 11=V 14=GND 15=OA 16=V"


@pytest.mark.parametrize(
    ("number", "pins", "levels"),
    [
        ("UCC21520DW", "1=V 2=GND 5=GND", (5.0, 0.0)),
        ("UCC21520DW", "1=V 2=GND 5=V", (0.0, 0.0)),
        ("UCC21530DWKR", "1=V 2=GND 5=V", (5.0, 0.0)),
        ("UCC21530DWKR", "1=V 2=GND 5=GND", (0.0, 0.0)),
        ("UCC20520DW", "1=GND 5=GND", (0.0, 5.0)),
        ("UCC20520DW", "1=V 5=GND", (5.0, 0.0)),
        ("SI8233BB-D-IS", "1=V 2=V 5=GND", (0.0, 0.0)),
        ("SI8235BB-D-IS", "1=V 2=V 5=GND", (5.0, 5.0)),
        ("SI8234BB-D-IS", "1=GND 5=GND", (0.0, 5.0)),
        ("ADUM4223ARWZ", "1=GND 2=V 5=GND", (0.0, 5.0)),
    ],
)
def test_pairs_of_isolated_drivers(
    tmp_path: Path, published: Any, number: str, pins: str, levels: tuple[float, float]
) -> None:
    """Disable or enable at pin 5; one input for both; both inputs high."""
    at = first_and_second(tmp_path, number, "SOIC-16W", f"{pins} {PAIR}")
    published(f"{number}, first output [V]", at["OA"], levels[0], source=SHEET + ": truth table", absolute=0.1)
    published(f"{number}, second output [V]", at["OB"], levels[1], source=SHEET + ": truth table", absolute=0.1)


SINGLE = "1=V 2={0} 3={1} 4=GND 5=V 6=OA 7=OB 8=GND"


@pytest.mark.parametrize(
    ("number", "package", "pins", "volts"),
    [
        ("UCC5350", "SOIC-8", SINGLE.format("V", "GND"), 5.0),
        ("UCC5390ECDWV", "SOIC-8", SINGLE.format("V", "GND").replace("7=OB", "7=GND"), 5.0),
        ("UCC5310MCD", "SOIC-8", SINGLE.format("V", "V"), 0.0),
        ("1ED3122MU12H", "SOIC-8", SINGLE.format("V", "GND"), 5.0),
        ("1EDI60N12", "SOIC-8", SINGLE.format("GND", "GND"), 0.0),
        ("NCD57080BDR2G", "SOIC-8", SINGLE.format("V", "GND"), 5.0),
        ("ADUM4120ARIZ", "SOIC-6", "1=V 2=V 3=GND 4=GND 5=OA 6=V", 5.0),
        ("ADUM4121ARIZ", "SOIC-8", "1=V 2=V 3=GND 4=GND 5=GND 6=OB 7=OA 8=V", 5.0),
        ("NCV57000DWR2G", "SOIC-16W", "1=GND 3=GND 4=OA 5=V 6=OA 8=GND 9=GND 10=V 11=GND 14=V 15=V 16=GND", 5.0),
        ("ISO5500DW", "SOIC-16W", "1=V 2=GND 3=V 4=GND 5=V 8=GND 9=GND 10=GND 11=OA 12=V 13=V 16=GND", 5.0),
    ],
)
def test_isolated_drivers_of_one_channel(
    tmp_path: Path, published: Any, number: str, package: str, pins: str, volts: float
) -> None:
    at = first_and_second(tmp_path, number, package, pins)
    published(f"{number}, output [V]", at["OA"], volts, source=SHEET, absolute=0.1)


LAMP = "R3 1=V 2=A"


@pytest.mark.parametrize(
    ("number", "package", "pins", "lit", "dark"),
    [
        ("UCC23513DWYR", "SOIC-6", "1=A 3=GND 4=GND 5=OA 6=V", (14.5, 15.0), (0.0, 0.2)),
        ("ACPL-W346-000E", "SSO-6", "1=A 3=GND 4=GND 5=OA 6=V", (14.5, 15.0), (0.0, 0.2)),
        ("TLP701", "SDIP-6", "1=A 3=GND 4=GND 5=OA 6=V", (11.0, 15.0), (0.0, 0.6)),
        ("HCNW3120", "DIP-8", "2=A 3=GND 5=GND 6=OA 7=OA 8=V", (11.0, 15.0), (0.0, 0.6)),
        ("PC923", "DIP-8", "2=A 3=GND 5=V 6=OA 7=GND 8=V", (11.0, 15.0), (0.0, 0.6)),
        ("PC929", "SOIC-14", "1=GND 2=GND 3=A 10=GND 11=OA 12=V 13=V 14=GND", (11.0, 15.0), (0.0, 0.6)),
        ("TLP555", "DIP-8", "2=A 3=GND 5=GND 6=OA 7=V 8=V", (11.0, 15.0), (0.0, 0.6)),
        ("TLP558", "DIP-8", "2=A 3=GND 5=GND 6=OA 7=V 8=V", (0.0, 0.6), (11.0, 15.0)),
        ("HCPL-2202", "DIP-8", "2=A 3=GND 5=GND 6=OA 8=V", (11.0, 15.0), (0.0, 0.6)),
        ("HCPL-2201", "DIP-8", "2=A 3=GND 5=GND 7=OA 8=V", (11.0, 15.0), (0.0, 0.6)),
    ],
)
def test_drivers_with_a_lamp(
    tmp_path: Path, number: str, package: str, pins: str, lit: tuple[float, float], dark: tuple[float, float]
) -> None:
    """Near the supply while lit (MOSFET), or up to 4 V below; TLP558 the other way; sheets seen and from memory."""
    for ohm, (low, high) in (("1k2", lit), ("1M", dark)):
        rows = f"U1,{number},{package},\n{LOADS}\n" + ohms(("R3", ohm), ("R4", "10M"))
        nets = f"U1 {pins}\nR1 1=OA 2=GND\nR2 1=V 2=GND\n{LAMP}\nR4 1=A 2=GND"
        assert low - 0.01 <= followed(tmp_path, rows, nets, 15.0)["OA"] <= high + 0.01, ohm


def test_the_upper_transistor_of_an_old_driver_takes_its_current_through_a_pin(tmp_path: Path) -> None:
    """PC923: O1 is the collector of the upper transistor (sheet, inner circuit): a resistor before it drops volts."""
    rows = f"U1,PC923,DIP-8,\n{LOADS}\n" + ohms(("R3", "1k2"), ("R4", "10k"))
    nets = f"U1 2=A 3=GND 5=TOP 6=OA 7=GND 8=V\nR1 1=OA 2=GND\nR2 1=V 2=GND\n{LAMP}\nR4 1=V 2=TOP"
    assert followed(tmp_path, rows, nets, 15.0)["OA"] < 8.0


FAST = "2=A 3=GND 5=GND 6=OA 8=V"


@pytest.mark.parametrize(
    ("number", "package", "pins", "low_when_lit"),
    [
        ("6N137", "DIP-8", FAST + " 7=EN", True),
        ("HCNW137", "DIP-8", FAST, True),
        ("HCPL-4504", "DIP-8", FAST, True),
        ("TLP2531", "DIP-8", "1=A 2=GND 5=GND 7=OA 8=V", True),
        ("PS9701", "SOP-5", "1=A 2=GND 3=GND 4=OA 5=V", True),
        ("TLP2362", "SO-6", "1=A 3=GND 4=GND 5=OA 6=V", True),
        ("ACPL-M61L", "SO-5", "1=A 3=GND 4=GND 5=OA 6=V", True),
    ],
)
def test_fast_couplers_are_low_while_lit(
    tmp_path: Path, number: str, package: str, pins: str, low_when_lit: bool
) -> None:
    """10 mA, 4.7 kohm to the supply (sheets, from memory); an enable pin that is left open lifts itself."""
    for ohm, is_lit in (("330", True), ("1M", False)):
        rows = f"U1,{number},{package},\n" + ohms(("R1", "4k7"), ("R2", "10k"), ("R3", ohm), ("R4", "10M"))
        nets = f"U1 {pins}\nR1 1=OA 2=V\nR2 1=V 2=GND\n{LAMP}\nR4 1=A 2=GND"
        out = followed(tmp_path, rows, nets, 5.0)["OA"]
        assert out < 0.6 if is_lit is low_when_lit else out > 4.5, (ohm, out)


def test_the_resistor_inside_an_ipm_coupler(tmp_path: Path, published: Any) -> None:
    """HCPL-4506 with pins 6 and 7 joined, dark, 20 kohm outside to ground: half its supply."""
    rows = "U1,HCPL-4506,DIP-8,\n" + ohms(("R1", "20k"), ("R3", "1M"), ("R4", "10M"))
    nets = f"U1 2=A 3=GND 5=GND 6=OA 7=OA 8=V\nR1 1=OA 2=GND\n{LAMP}\nR4 1=A 2=GND"
    volts = followed(tmp_path, rows, nets, 5.0)["OA"]
    published("HCPL-4506, dark [V]", volts, 2.5, source=SHEET + ": 20 kohm", absolute=0.3)


def test_an_isolated_transceiver_drives_its_lines(tmp_path: Path, published: Any) -> None:
    rows = "U1,ADM2483BRWZ,SOIC-16W,\n" + ohms(("R1", "120"), ("R2", "10k"))
    nets = "U1 1=V 2=GND 3=RO 4=GND 5=V 6=V 7=V 8=GND 9=GND 12=A 13=B 15=GND 16=V\nR1 1=A 2=B\nR2 1=RO 2=GND"
    at = followed(tmp_path, rows, nets, 5.0)
    assert at["A"] - at["B"] > 1.5, "maker's sheet: 1.5 V and more into 54 ohm, true for 120 ohm"
    published("receiver output [V]", at["RO"], 5.0, source=SHEET, absolute=0.1)


@pytest.mark.parametrize(("number", "order"), [("ISO1050DUB", "2=R 3=V"), ("ISO1042DWV", "2=V 3=R")])
def test_an_isolated_bus_at_rest(tmp_path: Path, published: Any, number: str, order: str) -> None:
    """Transmit and receive pins of the two have changed places (sheets)."""
    rows = f"U1,{number},SOIC-8,\n" + ohms(("R1", "60"), ("R2", "10k"))
    nets = f"U1 1=V {order} 4=GND 5=GND 6=L 7=H 8=V\nR1 1=H 2=L\nR2 1=R 2=GND"
    at = followed(tmp_path, rows, nets, 5.0)
    published(f"{number}, line at rest [V]", at["H"], 2.5, source="maker's sheet: half its supply", absolute=0.2)
    published(f"{number}, received [V]", at["R"], 5.0, source="maker's sheet: high at rest", absolute=0.1)


def test_a_transceiver_that_makes_its_own_supply(tmp_path: Path, published: Any) -> None:
    """ADM2587E, its output joined to its input at the far side; the ground there is joined for the measurement."""
    rows = "U1,ADM2587EBRWZ,SOIC-20W,\n" + ohms(("R1", "120"), ("R2", "10k"), ("R3", "10k"))
    nets = """U1 1=GND 2=V 3=GND 4=RO 5=GND 6=V 7=V 8=V 9=GND 10=GND 11=GND 12=ISO 13=Y 14=GND 15=Z 16=GND
U1 17=Z 18=Y 19=ISO 20=GND
R1 1=Y 2=Z
R2 1=RO 2=GND
R3 1=ISO 2=GND"""
    at = followed(tmp_path, rows, nets, 5.0)
    published("isolated supply [V]", at["ISO"], 3.3, source=SHEET + ": 3.3 V", absolute=0.2)
    assert at["Y"] - at["Z"] > 1.5


@pytest.mark.parametrize("number", ["ADUM1251ARZ", "ISO1540DR"])
def test_an_isolator_of_a_two_wire_bus_draws_and_swings(tmp_path: Path, number: str) -> None:
    rows = f"U1,{number},SOIC-8,\n" + ohms(("R1", "4k7"), ("R2", "4k7"))
    made = derived(tmp_path, rows, "U1 1=V 2=D 3=C 4=GND 5=GND 6=C2 7=D2 8=V\nR1 1=V 2=D\nR2 1=V 2=C")
    kinds = {(e.kind, e.nodes[0]) for e in made.elements if e.ref == "U1"}
    assert {("unmodelled", "D"), ("unmodelled", "C")} <= kinds
    assert any(e.kind == "load" for e in made.elements if e.ref == "U1")


@pytest.mark.parametrize("number", ["NCV57000DWR2G", "ISO7820DW", "NCP51561BADWR2G"])
def test_isolated_parts_are_no_regulators(tmp_path: Path, number: str) -> None:
    made = derived(tmp_path, f"U1,{number},SOIC-16W,\n{LOADS}", "U1 1=GND 3=V 9=GND 16=V\nR1 1=V 2=GND\nR2 1=V 2=GND")
    assert not [e for e in made.elements if e.ref == "U1" and e.kind == "regulator"]


@pytest.mark.parametrize("joined", [True, False])
def test_an_isolator_joins_no_grounds(tmp_path: Path, joined: bool) -> None:
    """What a converter returns to floats though an isolator stands between both sides, until a resistor ties it."""
    rows = "U1,ADUM1201ARZ,SOIC-8,\nU2,B0505S-1W,SIP-4,\n" + ohms(("R1", "1k"), ("R2", "10"))
    nets = "U2 1=GND 2=V 3=G2 4=V2\nU1 1=V 2=RX 3=V 4=GND 5=G2 6=OB 7=V2 8=V2\nR1 1=OB 2=G2\nR2 1=G2 2=G3"
    made = derived(tmp_path, rows, nets.replace("G3", "GND" if joined else "G2"), 5.0)
    assert [e.nodes for e in made.elements if e.kind == "floating"] == ([] if joined else [("G2",)])
