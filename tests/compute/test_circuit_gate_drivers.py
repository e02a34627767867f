"""Gate drivers without isolation: low side, high side, half and full bridges, three phases, by pin number."""

import re
from pathlib import Path
from typing import Any

import pytest

from reworkkit import tables
from tests.compute.test_circuit_chips import followed

SHEET = "maker's data sheet, from memory"
LIBRARY = "pin order: a public symbol library; truth table: maker's data sheet, from memory"
FEED_DROP_V = 0.8
"""A diode before the upper supply keeps at most about this at a fraction of a milliampere."""


def outputs(
    folder: Path, part: str, pins: dict[str, str], levels: dict[str, int], outs: tuple[str, ...], volts: float = 12.0
) -> dict[str, float]:
    """Drive inputs over 1 kohm, load outputs with 100 kohm to ground; a diode feeds each net VB from the supply."""
    rows, nets = [f"U1,{part},gate driver"], ["U1 " + " ".join(f"{pin}={net}" for pin, net in pins.items())]
    for n, (net, level) in enumerate(levels.items(), 1):
        rows.append(f"R{n},1k,0603,")
        nets.append(f"R{n} 1={net} 2={'V' if level else 'GND'}")
    for n, net in enumerate(outs, 50):
        rows.append(f"R{n},100k,0603,")
        nets.append(f"R{n} 1={net} 2=GND")
    for n, net in enumerate(sorted({net for net in pins.values() if net.startswith("VB")}), 1):
        rows.append(f"D{n},UF4007,DO-41,")
        nets.append(f"D{n} A=V K={net}")
    return followed(folder, "\n".join(rows), "\n".join(nets), volts)


def numbered(order: str) -> dict[str, str]:
    """Return pin number -> net of an order of nets; `-` is a pin that leads nowhere."""
    return {str(n): net for n, net in enumerate(order.split(), 1) if net != "-"}


def check(published: Any, at: dict[str, float], what: str, want: dict[str, int], source: str) -> None:
    """Compare outputs: high ones within the drop of a diode of 12 V, low ones at ground."""
    for net, level in want.items():
        expected, spread = (12.0 - FEED_DROP_V / 2, FEED_DROP_V / 2 + 0.1) if level else (0.0, 0.1)
        published(f"{what}: {net} [V]", at[net], expected, source=source, absolute=spread)


HALF = [
    ("IRS2181STRPBF", "HI LI GND LO V GND HO VB", {"HI": 1, "LI": 0}, {"HO": 1, "LO": 0}, LIBRARY),
    ("IRS2181SPBF", "HI LI GND LO V GND HO VB", {"HI": 0, "LI": 1}, {"HO": 0, "LO": 1}, LIBRARY),
    ("IR2183S", "HI LI GND LO V GND HO VB", {"HI": 0, "LI": 0}, {"HO": 0, "LO": 1}, SHEET),
    ("IRS2183", "HI LI GND LO V GND HO VB", {"HI": 1, "LI": 1}, {"HO": 1, "LO": 0}, SHEET),
    ("IR2184PBF", "HI SD GND LO V GND HO VB", {"HI": 1, "SD": 1}, {"HO": 1, "LO": 0}, SHEET),
    ("IRS2184S", "HI SD GND LO V GND HO VB", {"HI": 0, "SD": 1}, {"HO": 0, "LO": 1}, SHEET),
    ("IR2184", "HI SD GND LO V GND HO VB", {"HI": 1, "SD": 0}, {"HO": 0, "LO": 0}, SHEET),
    ("FAN7390MX", "HI LI GND LO V GND HO VB", {"HI": 1, "LI": 0}, {"HO": 1, "LO": 0}, "Fairchild, FAN7390, figure 1"),
    ("FAN7380MX", "LI HI V GND LO GND HO VB", {"HI": 1, "LI": 0}, {"HO": 1, "LO": 0}, "Fairchild, FAN7380, figure 1"),
    ("NCP5304DR2G", "LI HI V GND LO GND HO VB", {"HI": 0, "LI": 1}, {"HO": 0, "LO": 1}, "onsemi, NCP5304, pinout"),
    ("L6398DTR", "LI HI V GND LO GND HO VB", {"HI": 0, "LI": 0}, {"HO": 0, "LO": 1}, "ST, L6398, truth table"),
    ("NCP5106BDR2G", "V HI LI GND LO GND HO VB", {"HI": 1, "LI": 0}, {"HO": 1, "LO": 0}, SHEET),
    ("NCP5104DR2G", "V HI SD GND LO GND HO VB", {"HI": 0, "SD": 1}, {"HO": 0, "LO": 1}, SHEET),
    ("IR2102S", "V HI LI GND LO GND HO VB", {"HI": 0, "LI": 1}, {"HO": 1, "LO": 0}, LIBRARY),
    ("EG2131", "V HI LI GND LO GND HO VB", {"HI": 0, "LI": 0}, {"HO": 0, "LO": 1}, SHEET),
    ("DGD2104MS8-13", "V HI SD GND LO GND HO VB", {"HI": 1, "SD": 1}, {"HO": 1, "LO": 0}, SHEET),
    ("L6384ED", "HI V DT GND LO GND HO VB", {"HI": 0}, {"HO": 0, "LO": 1}, SHEET),
    ("IR2105S", "V HI GND LO - GND HO VB", {"HI": 1}, {"HO": 1, "LO": 0}, LIBRARY),
    ("FAN73711MX", "V HI - GND - GND HO VB", {"HI": 1}, {"HO": 1}, LIBRARY),
    ("IRS2127SPBF", "V HI FLT GND GND CS HO VB", {"HI": 1, "CS": 0}, {"HO": 1}, SHEET),
    ("IR2128", "V HI FLT GND GND CS HO VB", {"HI": 1, "CS": 0}, {"HO": 0}, SHEET),
]  # fmt: skip


@pytest.mark.parametrize(("number", "order", "levels", "want", "source"), HALF)
def test_half_bridges_of_eight_leads(
    tmp_path: Path,
    published: Any,
    number: str,
    order: str,
    levels: dict[str, int],
    want: dict[str, int],
    source: str,
) -> None:
    at = outputs(tmp_path, f"{number},SOIC-8", numbered(order), levels, tuple(want))
    check(published, at, f"{number} at {levels}", want, source)


@pytest.mark.parametrize(
    ("number", "package", "order", "levels", "want"),
    [
        ("IR21844S", "SOIC-14", "IN SD GND DT GND LO V - - - GND HO VB -", {"IN": 1, "SD": 1}, {"HO": 1, "LO": 0}),
        ("IRS21814", "DIP-14", "HI LI GND - GND LO V - - - GND HO VB -", {"HI": 0, "LI": 1}, {"HO": 0, "LO": 1}),
        ("IRS21864", "SOIC-14", "HI LI GND - GND LO V - - - GND HO VB -", {"HI": 1, "LI": 0}, {"HO": 1, "LO": 0}),
        ("IR21094S", "SOIC-14", "V IN SD DT GND GND LO - - - GND HO VB -", {"IN": 0, "SD": 1}, {"HO": 0, "LO": 1}),
        (
            "IR2110", "DIP-14", "LO GND V - GND VB HO - V HI SD LI GND -",
            {"HI": 1, "SD": 0, "LI": 0}, {"HO": 1, "LO": 0},
        ),
        (
            "IR2110STRPBF", "SOIC-16", "LO GND V - - GND VB HO - - V HI SD LI GND -",
            {"HI": 1, "SD": 0, "LI": 0}, {"HO": 1, "LO": 0},
        ),
        (
            "IR2112", "SOIC-16", "LO GND V - - GND VB HO - - V HI SD LI GND -",
            {"HI": 1, "SD": 1, "LI": 1}, {"HO": 0, "LO": 0},
        ),
    ],
)  # fmt: skip
def test_half_bridges_of_more_leads(
    tmp_path: Path,
    published: Any,
    number: str,
    package: str,
    order: str,
    levels: dict[str, int],
    want: dict[str, int],
) -> None:
    """The IR2110 of sixteen leads has another order than that of fourteen."""
    at = outputs(tmp_path, f"{number},{package}", numbered(order), levels, tuple(want))
    check(published, at, f"{number} at {levels}", want, SHEET)


@pytest.mark.parametrize(("number", "high"), [("UCC27211D", 3.3), ("UCC27201ADR", 3.3), ("LM5100AM", 12.0)])
def test_a_boot_diode_inside_feeds_the_upper_driver(tmp_path: Path, published: Any, number: str, high: float) -> None:
    """No diode on the board: the upper supply is a diode below the lower one."""
    rows = f"U1,{number},SOIC-8,gate driver\nU2,AMS1117-3.3,SOT-223,\nR1,1k,0603,\nR2,100k,0603,\nR3,1k,0603,"
    source = "3V3" if high < 5 else "V"
    nets = f"U1 1=V 2=VB 3=HO 4=GND 5=HI 6=LI 7=GND 8=LO\nU2 1=GND 2=3V3 3=V\nR1 1=HI 2={source}\nR2 1=HO 2=GND"
    at = followed(tmp_path, rows, nets + "\nR3 1=LI 2=GND", 12.0)
    published(f"{number}, upper supply [V]", at["VB"], 11.4, source=SHEET, absolute=0.35)
    published(f"{number}, upper output [V]", at["HO"], 11.4, source=SHEET, absolute=0.35)


def test_inputs_of_cmos_do_not_follow_three_volts(tmp_path: Path, published: Any) -> None:
    """UCC27200 at 12 V: high above some 5.8 to 8 V, low below 3 V; 3.3 V comes short of that."""
    rows = "U1,UCC27200D,SOIC-8,gate driver\nU2,AMS1117-3.3,SOT-223,\nR1,1k,0603,\nR2,100k,0603,\nR3,1k,0603,"
    nets = "U1 1=V 2=VB 3=HO 4=GND 5=HI 6=LI 7=GND 8=LO\nU2 1=GND 2=3V3 3=V\nR1 1=HI 2=3V3\nR2 1=HO 2=GND"
    at = followed(tmp_path, rows, nets + "\nR3 1=LI 2=GND", 12.0)
    published("UCC27200 with 3.3 V at its input [V]", at["HO"], 0.0, source=SHEET, absolute=0.1)


LOW = [
    ("UCC27322D", "SOIC-8", "V IN EN GND GND OUT OUT V", {"IN": 1}, 1, SHEET),
    ("UCC37321P", "DIP-8", "V IN EN GND GND OUT OUT V", {"IN": 1}, 0, SHEET),
    ("UCC37322P", "DIP-8", "V IN EN GND GND OUT OUT V", {"IN": 1, "EN": 0}, 0, SHEET),
    ("TC1411NEOA", "SOIC-8", "V IN - GND GND OUT OUT V", {"IN": 1}, 1, SHEET),
    ("TC1411EOA", "SOIC-8", "V IN - GND GND OUT OUT V", {"IN": 1}, 0, SHEET),
    ("MIC4452YM", "SOIC-8", "V IN - GND GND OUT OUT V", {"IN": 0}, 0, SHEET),
    ("MCP1416RT-E/OT", "SOT-23-5", "- GND IN OUT V", {"IN": 1}, 1, LIBRARY),
    ("UCC27519DBVR", "SOT-23-5", "EN GND IN OUT V", {"IN": 1}, 1, "TI, UCC27519, pin functions"),
    ("UCC27518DBVR", "SOT-23-5", "EN GND IN OUT V", {"IN": 0}, 1, "TI, UCC27518, pin functions"),
    ("TPS2828DBVR", "SOT-23-5", "- GND IN OUT V", {"IN": 0}, 1, "TI, UCC27518, pin functions: pin compatible"),
    ("UCC27512DRSR", "WSON-6", "IN GND V OUT GND LOW", {"IN": 1, "LOW": 0}, 1, "TI, UCC27512, pin functions"),
]  # fmt: skip


@pytest.mark.parametrize(("number", "package", "order", "levels", "want", "source"), LOW)
def test_one_driver_below(
    tmp_path: Path,
    published: Any,
    number: str,
    package: str,
    order: str,
    levels: dict[str, int],
    want: int,
    source: str,
) -> None:
    at = outputs(tmp_path, f"{number},{package}", numbered(order), levels, ("OUT",))
    published(f"{number} at {levels} [V]", at["OUT"], 12.0 * want, source=source, absolute=0.1)


@pytest.mark.parametrize("number", ["UCC27511DBVR", "1EDN7511BXUSA1", "MAX5048BAUT+T", "LM5114BMF/NOPB"])
@pytest.mark.parametrize(("levels", "want"), [({"P": 1, "N": 0}, 1), ({"P": 1, "N": 1}, 0), ({"P": 0, "N": 0}, 0)])
def test_a_driver_with_its_outputs_apart(
    tmp_path: Path, published: Any, number: str, levels: dict[str, int], want: int
) -> None:
    """Both outputs on one gate: high where the one input is high and the inverting one low."""
    at = outputs(tmp_path, f"{number},SOT-23-6", numbered("V OUT OUT GND N P"), levels, ("OUT",))
    source = "TI, UCC27511, pin functions; the others have the same pins (from memory)"
    published(f"{number} at {levels} [V]", at["OUT"], 12.0 * want, source=source, absolute=0.1)


@pytest.mark.parametrize(
    ("number", "want"),
    [
        ("2EDN7524F", (0, 1)), ("2EDN7523F", (1, 0)), ("MCP14E4-E/SN", (0, 1)), ("MCP14E3-E/P", (1, 0)),
        ("MCP14E5", (1, 1)), ("FAN3227TMX", (0, 1)), ("FAN3226CMX", (1, 0)), ("PM8834TR", (0, 1)),
        ("MC34152", (0, 1)), ("MC33151D", (1, 0)), ("IRS4427S", (0, 1)), ("IX4428N", (1, 1)), ("LM5111-2M", (1, 0)),
    ],
)  # fmt: skip
def test_two_drivers_below(tmp_path: Path, published: Any, number: str, want: tuple[int, int]) -> None:
    """Input A low, input B high, what stands at pins 1 and 8 open."""
    pins = numbered("- A GND B OB V OA -")
    at = outputs(tmp_path, f"{number},SOIC-8", pins, {"A": 0, "B": 1}, ("OA", "OB"))
    for net, level in zip(("OA", "OB"), want, strict=True):
        published(f"{number}: {net} [V]", at[net], 12.0 * level, source=SHEET, absolute=0.1)


@pytest.mark.parametrize(
    ("number", "want"), [("TC4467CPD", (1, 1, 0)), ("TC4468CPD", (0, 0, 1)), ("MIC4469", (0, 1, 0))]
)
def test_four_drivers_with_gates(tmp_path: Path, published: Any, number: str, want: tuple[int, ...]) -> None:
    """Inputs 0 and 0, 1 and 0, 1 and 1 at the first three gates."""
    pins = numbered("A1 B1 A2 B2 A3 B3 GND GND GND - Y3 Y2 Y1 V")
    levels = {"A1": 0, "B1": 0, "A2": 1, "B2": 0, "A3": 1, "B3": 1}
    at = outputs(tmp_path, f"{number},DIP-14", pins, levels, ("Y1", "Y2", "Y3"))
    for net, level in zip(("Y1", "Y2", "Y3"), want, strict=True):
        published(f"{number}: {net} [V]", at[net], 12.0 * level, source=SHEET, absolute=0.1)


BRIDGE = "VB2 BHI DIS GND BLI ALI AHI HD LD VB1 AHO GND ALO GND V V GND BLO GND BHO"


@pytest.mark.parametrize(
    ("levels", "want"),
    [
        ({"DIS": 0, "AHI": 1, "ALI": 0, "BHI": 0, "BLI": 1}, {"AHO": 1, "ALO": 0, "BHO": 0, "BLO": 1}),
        ({"DIS": 0, "AHI": 1, "ALI": 1, "BHI": 1, "BLI": 1}, {"AHO": 0, "ALO": 1, "BHO": 0, "BLO": 1}),
        ({"AHI": 1, "ALI": 0, "BHI": 1, "BLI": 0}, {"AHO": 0, "ALO": 0, "BHO": 0, "BLO": 0}),
    ],
)
def test_a_full_bridge(tmp_path: Path, published: Any, levels: dict[str, int], want: dict[str, int]) -> None:
    """HIP4081A: a low input high holds the upper output low; an open disable pin is high."""
    at = outputs(tmp_path, "HIP4081AIPZ,DIP-20", numbered(BRIDGE), levels, tuple(want))
    check(published, at, f"HIP4081A at {levels}", want, LIBRARY)


PHASES = "V H1 H2 H3 L1 L2 L3 FLT GND {} GND GND LO3 LO2 LO1 - GND HO3 VB3 - GND HO2 VB2 - GND HO1 VB1"


@pytest.mark.parametrize(
    ("number", "order", "levels", "want"),
    [
        (
            "IR2136S",
            PHASES.format("EN -"),
            {"H1": 0, "L1": 1, "L2": 0, "EN": 1},
            {"HO1": 1, "LO1": 0, "LO2": 1, "HO3": 0},
        ),
        ("IR2136STRPBF", PHASES.format("EN -"), {"H1": 0, "L2": 0, "EN": 0}, {"HO1": 0, "LO2": 0}),
        ("IR2130S", PHASES.format("- -"), {"H2": 0, "L3": 0, "L2": 1}, {"HO2": 1, "LO3": 1, "HO1": 0, "LO2": 0}),
    ],
)
def test_three_phases_with_inputs_active_low(
    tmp_path: Path, published: Any, number: str, order: str, levels: dict[str, int], want: dict[str, int]
) -> None:
    """Open inputs are pulled up inside, so that their outputs are low."""
    at = outputs(tmp_path, f"{number},SOIC-28", numbered(order), levels, tuple(want))
    check(published, at, f"{number} at {levels}", want, SHEET)


def test_three_phases_with_inputs_active_high(tmp_path: Path, published: Any) -> None:
    order = "H1 L1 H2 L2 H3 L3 LO3 GND HO3 VB3 GND V LO2 GND HO2 VB2 LO1 GND HO1 VB1"
    levels, want = {"H1": 1, "L2": 1}, {"HO1": 1, "LO1": 0, "LO2": 1, "HO3": 0}
    at = outputs(tmp_path, "FAN7888MX,SOIC-20", numbered(order), levels, tuple(want))
    check(published, at, f"FAN7888 at {levels}", want, LIBRARY)


@pytest.mark.parametrize(
    ("package", "order"), [("SOT-23-6", "V GND IN GND HO VB"), ("MSOP-8", "IN GND V GND - VB HO GND")]
)
def test_the_number_of_leads_tells_the_order(tmp_path: Path, published: Any, package: str, order: str) -> None:
    at = outputs(tmp_path, f"LTC4440ES6,{package}", numbered(order), {"IN": 1}, ("HO",))
    check(published, at, f"LTC4440 in {package}", {"HO": 1}, LIBRARY)


def test_a_follower_drives_a_gate(tmp_path: Path, published: Any) -> None:
    """ZXGD3005: two emitter followers; each output keeps less than a volt."""
    pins = numbered("V IN GND OUT IN OUT")
    high = outputs(tmp_path, "ZXGD3005E6TA,SOT-23-6", pins, {"IN": 1}, ("OUT",))["OUT"]
    published("ZXGD3005, input high [V]", high, 11.6, source=LIBRARY, absolute=0.4)
    low = outputs(tmp_path, "ZXGD3005E6TA,SOT-23-6", pins, {"IN": 0}, ("OUT",))["OUT"]
    published("ZXGD3005, input low [V]", low, 0.0, source=LIBRARY, absolute=0.4)


@pytest.mark.parametrize(
    ("number", "regulates"),
    [
        ("NCP5104DR2G", False), ("NCP5111DR2G", False), ("NCP81074ADR2G", False), ("ADP3654ARDZ", False),
        ("NCP1117-3.3", True), ("NCP511SN30T1G", True), ("ADP3330-3.3", True), ("RT9013-33", True),
    ],
)  # fmt: skip
def test_a_gate_driver_is_no_regulator(number: str, regulates: bool) -> None:
    """Their numbers begin as those of regulators by the same makers."""
    fits = [row for row in tables.rows("regulators") if re.match(row["pattern"], number)]
    assert bool(fits) is regulates
