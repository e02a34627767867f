"""What makes or holds a voltage: regulators by type and words, converters, pumps, references, Zeners, suppressors."""

from pathlib import Path

import pytest

from reworkkit import tables
from reworkkit.compute.circuit import derive_circuit
from reworkkit.compute.circuit.breakdowns import zener_of
from reworkkit.compute.diagnosis import Stage, prepare
from reworkkit.compute.formulas.network import compile_circuit, solve
from reworkkit.model.results import Circuit, Element
from reworkkit.read.folder import read_board

_HEAD = "Designator,Value,Package,Description\n"


def derived(folder: Path, parts: str, nets: str, facts: str = '[supplies]\nVIN = "12 V, limit 0.5 A"\n') -> Circuit:
    """Parts as rows, nets as `U1 1 VIN` or `U1 1 VIN IN`, with the pin's name, by comma."""
    (folder / "bom.csv").write_text(_HEAD + parts, encoding="utf-8")
    rows = "".join(",".join([*row.split(), ""][:4]) + "\n" for row in nets.split(","))
    (folder / "netlist.csv").write_text("Designator,Pin,Net,Name\n" + rows, encoding="utf-8")
    (folder / "board.toml").write_text('[board]\nground = ["GND"]\n' + facts, encoding="utf-8")
    return derive_circuit(read_board(folder))


def volts(made: Circuit, net: str, **changes: float) -> float:
    """Return a node with every supply on; `changes` are figures by `REF_name`."""
    template = compile_circuit(made)
    row = template.powered(*(e.ref for e in made.elements if e.kind == "supply"))
    for key, value in changes.items():
        row[template.columns(*key.rsplit("_", 1))] = value
    return float(solve(template, row).at(net)[0])


def the(made: Circuit, ref: str, kind: str) -> Element:
    return next(e for e in made.elements if e.ref == ref and e.kind == kind)


_ORDERED = (
    "LP2950ACZ-5.0=5 LM2936Z-3.3=3.3 LM2940CT-12=12 L4931CZ33=3.3 L78M05CDT=5 7905=-5 MC79L12=-12 XC6206P332MR=3.3"
    " ME6211C33M5G=3.3 RT9193-18GB=1.8 TLV75533PDBVR=3.3 TPS7A2018PDBVR=1.8 NCP551SN33T1G=3.3 ADP3338AKCZ-3.3=3.3"
    " MIC5504-1.8YM5=1.8 AP2112K-3.3TRG1=3.3 HT7550-1=5 MCP1703T-5002E=5 LD39015M33R=3.3 S-812C33AY=3.3 LD1117V33=3.3"
    " LT1763CS8-5=5 SPX3819M5-L-3-3=3.3 LM340T-12=12 TPS70950DBVR=5 LM2576HVT-15=15 R-78E5.0-0.5=5 K7803-500=3.3"
)


def test_output_voltages_of_type_numbers(tmp_path: Path, published: pytest.FixtureRequest) -> None:
    """Expected: the makers' ordering tables."""
    source = "makers' ordering tables, from memory"
    for pair in _ORDERED.split():
        number, expected = pair.split("=")
        nets = "U1 IN VIN, U1 GND GND, U1 OUT VOUT, R1 1 VOUT, R1 2 GND"
        made = derived(tmp_path, f"U1,{number},,\nR1,10k,0603,1%\n", nets)
        kind = "converter" if number.startswith(("LM2576", "R-78", "K78")) else "regulator"
        published(number, the(made, "U1", kind).parameters["volts"].nominal, float(expected), source=source)


@pytest.mark.parametrize(
    ("words", "expected"),
    [("LDO 3.3 V 500 mA", 3.3), ("5V regulator", 5.0), ("linear regulator 12 V to 5 V", 5.0), ("LDO 1V8", 1.8)],
)
def test_a_description_tells_the_output_and_says_so(tmp_path: Path, words: str, expected: float) -> None:
    """Independent: what the words say."""
    made = derived(tmp_path, f"U1,XY-7,SOT-23-5,{words}\n", "U1 IN VIN, U1 GND GND, U1 OUT VOUT")
    found = the(made, "U1", "regulator")
    assert found.parameters["volts"].nominal == expected
    assert "circuit-volts-by-words" in [m.slug for m in found.assumed]


def test_two_outputs_in_words_tell_nothing(tmp_path: Path) -> None:
    made = derived(tmp_path, "U1,XY-7,SOT-23-5,LDO 3.3 V or 5 V\n", "U1 IN VIN, U1 GND GND, U1 OUT VOUT")
    assert "circuit-regulator-volts" in [q.because.slug for q in made.not_judged]


def test_a_stated_rail_tells_what_an_unknown_type_makes(tmp_path: Path) -> None:
    facts = '[supplies]\nVIN = "12 V"\n[rails]\nVOUT = "5 V 2 %"\n'
    made = derived(tmp_path, "U1,XY-7,SOT-223,LDO 3.3 V\n", "U1 GND GND, U1 OUT VOUT, U1 IN VIN", facts)
    found = the(made, "U1", "regulator")
    assert found.parameters["volts"].nominal == 5.0
    assert "circuit-volts-by-rail" in [m.slug for m in found.assumed]


def test_enable_pins(tmp_path: Path) -> None:
    """Independent: a low-dropout regulator with its enable pin at ground is off, one on its input is on."""
    parts = "U1,MIC5219-3.0YM5,SOT-23-5,LDO\nR1,1k,0603,1%\nR2,10k,0603,1%\n"
    load = "U1 1 VIN, U1 2 GND, U1 5 VOUT, R1 1 VOUT, R1 2 GND"
    facts = '[supplies]\nVIN = "5 V"\n'
    assert volts(derived(tmp_path, parts, f"{load}, U1 3 GND", facts), "VOUT") == pytest.approx(0, abs=0.01)
    assert volts(derived(tmp_path, parts, f"{load}, U1 3 VIN", facts), "VOUT") == pytest.approx(3, abs=0.01)
    through = derived(tmp_path, parts, f"{load}, U1 3 EN, R2 1 EN, R2 2 GND", facts)
    assert volts(through, "VOUT") == pytest.approx(0, abs=0.01)
    by_jumper = "U1 3 EN, R2 1 EN, R2 2 JP, JP1 1 VIN, JP1 2 JP, JP1 3 GND"
    rows, closed = parts + "JP1,1x3,,jumper\n", '[parts]\nJP1 = {{ role = "{} closed" }}\n'
    asleep = derived(tmp_path, rows, f"{load}, {by_jumper}", facts + closed.format("2-3"))
    assert volts(asleep, "VOUT") == pytest.approx(0, abs=0.01)
    awake = derived(tmp_path, rows, f"{load}, {by_jumper}", facts + closed.format("1-2"))
    assert volts(awake, "VOUT") == pytest.approx(3, abs=0.01)
    pulled = derived(tmp_path, parts, f"{load}, U1 3 EN, R2 1 EN, R2 2 VIN", facts)
    assert the(pulled, "U1", "enable").nodes == ("EN", "GND")
    low = "U1,LM2576T-5.0,TO-220-5,\nL1,100uH,,inductor\n"
    nets = "U1 1 VIN, U1 2 SW, U1 3 GND, U1 4 VOUT, L1 1 SW, L1 2 VOUT"
    assert volts(derived(tmp_path, low, f"{nets}, U1 5 GND"), "VOUT") == pytest.approx(5, abs=0.02)
    assert volts(derived(tmp_path, low, f"{nets}, U1 5 VIN"), "VOUT") == pytest.approx(0, abs=0.05)


@pytest.mark.parametrize(("name", "volts_out"), [("ON/OFF", 5.0), ("INH", 5.0), ("EN", 0.0), ("ENABLE", 0.0)])
def test_a_pin_of_unknown_polarity_tied_to_ground_is_meant_to_be_on(
    tmp_path: Path, name: str, volts_out: float
) -> None:
    """Common practice, no source: nobody ties a regulator off for good; a pin called enable is on when high."""
    parts = "U1,XQ9150,SOT-23-5,5 V LDO regulator\nR1,1k,0603,1%\n"
    nets = f"U1 1 VIN IN, U1 2 GND GND, U1 3 GND {name}, U1 5 VOUT OUT, R1 1 VOUT, R1 2 GND"
    made = derived(tmp_path, parts, nets, '[supplies]\nVIN = "9 V"\n[rails]\nVOUT = "5 V"\n')
    assert volts(made, "VOUT") == pytest.approx(volts_out, abs=0.1)


@pytest.mark.parametrize(("words", "out_v"), [("7812 TO-220", 12.0), ("regulator 78L05 TO-92", 5.0)])
def test_a_bare_number_of_three_leads_among_other_words(tmp_path: Path, words: str, out_v: float) -> None:
    """Common practice, no source: the last two figures are the volts."""
    parts, supply = f"U1,,,{words}\nR1,1k,,1%\n", '[supplies]\nVIN = "18 V"\n'
    nets = "U1 1 VIN IN, U1 2 GND GND, U1 3 OUT OUT, R1 1 OUT, R1 2 GND"
    assert volts(derived(tmp_path, parts, nets, supply), "OUT") == pytest.approx(out_v, abs=0.01)


def test_an_adjustable_shunt_holds_what_its_divider_asks(tmp_path: Path, published: pytest.FixtureRequest) -> None:
    parts = "U1,TL431ACLP,TO-92,\nR1,470,0805,1%\nR2,10k,0603,1%\nR3,10k,0603,1%\n"
    nets = "U1 1 FB, U1 2 GND, U1 3 VREF, R1 1 VIN, R1 2 VREF, R2 1 VREF, R2 2 FB, R3 1 FB, R3 2 GND"
    made = derived(tmp_path, parts, nets)
    source = "maker's formula V = Vref (1 + R1/R2) + Iref R1, 2.495 V and 2 uA"
    published("TL431, 10k and 10k", volts(made, "VREF"), 2.495 * 2 + 0.02, source=source, absolute=0.02)
    alone = volts(made, "VREF", R3_fitted=0.0)
    published("TL431 without its lower resistor", alone, 2.495, source=source, absolute=0.05)
    assert volts(made, "VREF", R2_fitted=0.0) > 10


def test_shunt_references(tmp_path: Path, published: pytest.FixtureRequest) -> None:
    source = "makers' sheets, from memory"
    for number, package, nets, expected in (
        ("LM4040DIM3-4.1", "SOT-23", "U1 1 REF, U1 2 GND", 4.096),
        ("LM385BZ-1.2", "TO-92", "U1 A GND, U1 K REF", 1.235),
        ("LM336Z-2.5", "TO-92", "U1 2 REF, U1 3 GND", 2.49),
        ("TL431", "TO-92", "U1 1 REF, U1 2 GND, U1 3 REF", 2.495),
    ):
        made = derived(tmp_path, f"U1,{number},{package},\nR1,4k7,0603,1%\n", f"{nets}, R1 1 VIN, R1 2 REF")
        published(number, volts(made, "REF"), expected, source=source, absolute=0.01)


_ZENERS = (
    "1N4728A=3.3 1N4733A=5.1 1N4742A=12 1N4764A=100 1N5221B=2.4 1N5231B=5.1 MMSZ5245BT1G=15 1N5281B=200 1N5349B=12"
    " 1N5929B=15 MMSZ4689T1G=5.1 BZX84C5V1=5.1 BZX55C12=12 BZX79-C10=10 BZT52C3V3=3.3 ZMM5V6=5.6 UDZVTE-175.1B=5.1"
    " PDZ5.1B=5.1 ZD12=12 5V1=5.1 DZ2J051=5.1 MM3Z12=12"
)


def test_zener_numbers(published: pytest.FixtureRequest) -> None:
    source = "JEDEC and makers' lists, from memory"
    for pair in _ZENERS.split():
        number, expected = pair.split("=")
        found = zener_of(number)
        published(number, found.volts if found else None, float(expected), source=source)


def test_low_zeners_bend_softly(tmp_path: Path, published: pytest.FixtureRequest) -> None:
    """Expected: dynamic resistance at 5 mA of a maker's sheet (typical): 85 ohm of a 3.3 V, 10 ohm of a 12 V type."""
    for number, held, expected in (("BZX84C3V3", 3.3, 85.0), ("BZX84C12", 12.0, 10.0)):
        at = []
        for amps in (4.5e-3, 5.5e-3):
            parts = f"D1,{number},SOT-23,\nR1,{(24 - held) / amps:.1f},0603,\n"
            nets = "D1 1 GND, D1 3 Z, R1 1 VIN, R1 2 Z"
            at.append(volts(derived(tmp_path, parts, nets, '[supplies]\nVIN = "24 V"\n'), "Z"))
        published(number, (at[1] - at[0]) / 1e-3, expected, source="maker's sheet, typical, from memory", tolerance=0.5)


def test_a_zener_in_sot_23_has_its_cathode_at_pin_3(tmp_path: Path) -> None:
    """Independent: single diodes in SOT-23 have anode 1 and cathode 3 (trade practice)."""
    made = derived(tmp_path, "D1,BZX84C12,SOT-23,zener\nR1,1k,0603,\n", "D1 1 GATE, D1 3 VIN, R1 1 GATE, R1 2 GND")
    assert the(made, "D1", "zener").nodes == ("GATE", "VIN")


def test_suppressors(tmp_path: Path, published: pytest.FixtureRequest) -> None:
    parts = "D1,SMBJ26CA,SMB,\nD2,P6KE33A,DO-15,\nD3,PESD5V0S1BA,SOD-323,\nU1,USBLC6-2SC6,SOT-23-6,ESD protection\n"
    nets = "D1 1 VIN, D1 2 GND, D2 1 VIN, D2 2 GND, D3 1 VIN, D3 2 GND, U1 1 A, U1 2 GND, U1 3 B, U1 5 VIN"
    made = derived(tmp_path, parts, nets, '[supplies]\nVIN = "5 V"\n')
    source = "maker's table: SMBJ26 breaks down from 28.9 V; P6KE33A at 33 V; both from memory"
    published("SMBJ26CA", the(made, "D1", "tvs_two_way").parameters["breakdown"].low, 28.9, source=source, absolute=0.1)
    published("P6KE33A", the(made, "D2", "tvs").parameters["breakdown"].nominal, 33.0, source=source)
    assert (the(made, "D3", "tvs").parameters["breakdown"].low or 0) > 5.0
    assert not [q for q in made.not_judged if {"D1", "D2", "D3", "U1"} & set(q.about)]
    template = compile_circuit(made)
    assert float(solve(template, template.powered("VIN")).current("VIN")[0]) < 1e-5


def test_a_pump_gives_its_input_below_ground(tmp_path: Path, published: pytest.FixtureRequest) -> None:
    parts = "U1,TPS60400DBVR,SOT-23-5,charge pump inverter\nR1,1k,0603,\nC1,1u,0603,\n"
    nets = "U1 1 VNEG, U1 2 VIN, U1 3 CN, U1 4 GND, U1 5 CP, R1 1 VNEG, R1 2 GND, C1 1 CP, C1 2 CN"
    made = derived(tmp_path, parts, nets, '[supplies]\nVIN = "3.3 V, limit 0.1 A"\n')
    template = compile_circuit(made)
    got = solve(template, template.powered("VIN"))
    source = "closed form: -V R / (R + Ro), Ro 12 ohm (maker's sheet typical, from memory)"
    published("TPS60400 at 1 kohm", float(got.at("VNEG")[0]), -3.3 * 1000 / 1012, source=source, absolute=5e-3)
    published("its input current", float(got.current("VIN")[0]), 3.26e-3 + 0.2e-3, source=source, absolute=0.3e-3)
    assert volts(made, "VNEG", U1_fitted=0.0) == pytest.approx(0, abs=1e-3)


def test_a_pump_that_stands_still_clamps_its_output_above_ground(
    tmp_path: Path, published: pytest.FixtureRequest
) -> None:
    """Its output is its substrate: what pulls that up finds a diode to ground. A capacitor pin open makes it stand."""
    parts = "U1,ICL7660,DIP-8,charge pump inverter\nR1,1k,0603,\nC1,10u,,\n"
    nets = "U1 2 CP, U1 3 GND, U1 4 CN, U1 5 VNEG, U1 8 VIN, R1 1 VIN, R1 2 VNEG, C1 1 CP, C1 2 CN"
    made = derived(tmp_path, parts, nets, '[supplies]\nVIN = "5 V, limit 0.1 A"\n')
    found = prepare(read_board(tmp_path), made, Stage(None, "VIN", 0.1, None))
    faults = [h.fault for h in found.catalogue.hypotheses]
    stands = next(n for n, fault in enumerate(faults) if (fault.ref, fault.kind) == ("U1", "pin_open"))
    assert set(faults[stands].nets) == {"CP", "CN"}
    row = list(found.owner).index(stands)
    clamped = float(found.states[row, found.template.index["VNEG"]])
    published("ICL7660 that stands still [V]", clamped, 0.65, source="one junction (from memory)", absolute=0.15)
    off = next(n for n, fault in enumerate(faults) if (fault.ref, fault.kind) == ("U1", "out_open"))
    lifted = float(found.states[list(found.owner).index(off), found.template.index["VNEG"]])
    published("its output pin open [V]", lifted, 5.0, source="Ohm's law: nothing holds it", absolute=0.05)


def test_a_dead_rail_is_pulled_no_further_than_a_junction_past_ground(
    tmp_path: Path, published: pytest.FixtureRequest
) -> None:
    """The fuse of one rail of a split supply is open, and a load between the rails pulls: the substrate conducts."""
    parts = "U1,L7812CV,TO-220,\nU2,L7912CV,TO-220,\nR1,1k,0603,\nF1,1A,,fuse\nF2,1A,,fuse\n"
    nets = "F1 1 VIN, F1 2 VP, U1 1 VP, U1 2 GND, U1 3 +12, F2 1 VN, F2 2 VM, U2 1 GND, U2 2 VM, U2 3 -12"
    facts = '[supplies]\nVIN = "15 V, limit 0.5 A"\nVN = "-15 V, limit 0.5 A"\n'
    made = derived(tmp_path, parts, nets + ", R1 1 +12, R1 2 -12", facts)
    source = "one junction beyond ground (from memory)"
    published("L7812 without input [V]", volts(made, "+12", F1_fitted=0.0), -0.7, source=source, absolute=0.2)
    published("L7912 without input [V]", volts(made, "-12", F2_fitted=0.0), 0.7, source=source, absolute=0.2)


def test_a_step_down_chip_that_inverts(tmp_path: Path, published: pytest.FixtureRequest) -> None:
    parts = "U1,LM2576T-5.0,TO-220-5,\nL1,100uH,,inductor\nD1,1N5822,DO-201,Schottky\nR1,1k,0603,\n"
    nets = (
        "U1 1 VIN, U1 2 SW, U1 3 VNEG, U1 4 GND, U1 5 VNEG, L1 1 SW, L1 2 GND, D1 A VNEG, D1 K SW, R1 1 VNEG, R1 2 GND"
    )
    source = "maker's circuit: ground pin at the output, feedback at ground, so -5 V"
    published("LM2576-5.0 inverting", volts(derived(tmp_path, parts, nets), "VNEG"), -5.0, source=source, absolute=0.05)


def test_an_inverting_converter_whose_output_is_stated(tmp_path: Path, published: pytest.FixtureRequest) -> None:
    """LM2576-ADJ on its own negative output: 1.23 V (1 + R1/R2) below ground, whatever [parts] says beside."""
    parts = "U1,LM2576T-ADJ,TO-220-5,\nL1,68uH,,inductor\nD1,SS34,SMA,\nR1,10k2,0603,1%\nR2,1k82,0603,1%\n"
    nets = "U1 1 VIN, U1 2 SW, U1 3 VNEG, U1 4 FB, U1 5 VNEG, L1 1 SW, L1 2 GND, D1 K SW, D1 A VNEG"
    nets += ", R1 1 GND, R1 2 FB, R2 1 FB, R2 2 VNEG"
    facts = '[supplies]\nVIN = "9 V"\n[rails]\nVNEG = "-8.1 V 5 %"\n[parts]\nU1 = { out = "-8.1 V" }\n'
    made = derived(tmp_path, parts, nets, facts)
    source = "maker's formula, 1.23 V (1 + 10.2/1.82)"
    published("LM2576-ADJ inverting", volts(made, "VNEG"), -1.23 * (1 + 10.2 / 1.82), source=source, absolute=0.1)


def test_a_reference_below_ground(tmp_path: Path) -> None:
    """Of a shunt between ground and a negative rail the cathode is ground."""
    parts = "VR1,LM385Z-2.5,TO-92,\nR1,2k2,0603,1%\nR2,100k,0603,1%\n"
    facts = '[supplies]\nVIN = "-5 V"\n[rails]\nVREF = "-2.5 V 5 %"\n'
    made = derived(tmp_path, parts, "VR1 2 GND, VR1 3 VREF, R1 1 VIN, R1 2 VREF, R2 1 VREF, R2 2 GND", facts)
    assert the(made, "VR1", "zener").nodes == ("VREF", "GND"), "anode, cathode"


@pytest.mark.parametrize(("load", "high"), [("1k", "18k"), ("100k", "12k"), ("220", "18k"), ("1k", "6k8")])
def test_a_step_up_converter_settles(tmp_path: Path, published: pytest.FixtureRequest, load: str, high: str) -> None:
    parts = f"U1,XL6009E1,TO-263-5,\nL1,33u,,inductor\nD1,SS34,SMA,\nR1,{high},,1%\nR2,1k,,1%\nR9,{load},,\n"
    nets = (
        "U1 1 GND, U1 2 VIN, U1 3 SW, U1 4 VIN, U1 5 FB, L1 1 VIN, L1 2 SW, D1 A SW, D1 K VO, R1 1 VO, R1 2 FB,"
        " R2 1 FB, R2 2 GND, R9 1 VO, R9 2 GND"
    )
    made = derived(tmp_path, parts, nets, '[supplies]\nVIN = "5 V, limit 3 A"\n')
    template = compile_circuit(made)
    got = solve(template, template.powered("VIN"))
    assert got.settled[0]
    expected = 1.25 * (1 + float(high.replace("k8", ".8").replace("k", "")))
    source = "maker's formula V = 1.25 (1 + R1/R2)"
    published(f"XL6009 {high} at {load}", float(got.at("VO")[0]), expected, source=source, tolerance=1e-3)


def test_a_light_load_drops_little(tmp_path: Path, published: pytest.FixtureRequest) -> None:
    parts = "U1,LP2950ACZ-5.0,TO-92,\nR1,470,0603,\n"
    nets = "U1 1 VOUT, U1 2 GND, U1 3 VIN, R1 1 VOUT, R1 2 GND"
    out = volts(derived(tmp_path, parts, nets, '[supplies]\nVIN = "5 V"\n'), "VOUT")
    published("LP2950 at 10 mA", 5 - out, 0.1, source="maker's curve, about 0.1 V at 10 mA, from memory", absolute=0.06)


def test_an_isolated_converter_stays_a_question(tmp_path: Path) -> None:
    made = derived(tmp_path, "U1,QX5W,SIP-4,isolated DC/DC converter\n", "U1 1 VIN, U1 2 GND, U1 3 GI, U1 4 V5I")
    assert "circuit-isolated" in [q.because.slug for q in made.not_judged]


def test_every_row_of_the_source_tables_has_a_known_source() -> None:
    for name in ("references", "zener_series", "zener_knees", "regulators"):
        for row in tables.rows(name):
            assert tables.source(row["source"], row["place"]).place
