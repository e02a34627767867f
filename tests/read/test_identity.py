"""Kinds from letters and words together, what is no part, the key of equal parts, and marks by construction."""

import csv
import io
import re
from decimal import Decimal
from pathlib import Path

import pytest

from reworkkit.model.part import PartIdentity, PartLine
from reworkkit.model.vocabulary import Fit, YesNo
from reworkkit.read.identity import class_letters, fit_of, identify, identify_as, kind_named
from reworkkit.read.package_names import find_package
from reworkkit.tables.marks import mark_for


def _line(value: str = "", package: str = "", description: str = "", number: str = "") -> PartLine:
    from reworkkit.model.values import Where

    return PartLine(("X1",), "X1", value, package, description, number, 1, Fit.FIT, None, (), Where("bom.csv", 2))


def _judge(ref: str, *texts: str) -> PartIdentity:
    return identify(_line(*texts), ref)


@pytest.mark.parametrize(
    ("ref", "texts", "kind"),
    [
        ("R1", ("4k7", "0805"), "resistor"),
        ("R1", ("10k NTC", "0603"), "thermistor"),
        ("R3", ("", "Potentiometer_3296W_Vertical"), "potentiometer"),
        ("C1", ("100n", "C_0603_1608Metric"), "capacitor_ceramic"),
        ("C1", ("100n", "C_0603_1608Metric", "Unpolarized capacitor"), "capacitor_ceramic"),
        ("C1", ("1u", "0805", "X7R 25V"), "capacitor_ceramic"),
        ("C2", ("47u", "CP_Elec_6.3x5.4"), "capacitor_aluminium_electrolytic"),
        ("C2", ("47u", "CP_Radial_D8.0mm_P3.50mm"), "capacitor_aluminium_electrolytic"),
        ("C3", ("10u", "C_Rect_L9.0mm_W3.3mm_P7.50mm_MKT"), "capacitor_film"),
        ("C4", ("tant 10uF", "EIA-3216-18"), "capacitor_tantalum"),
        ("C5", ("Elko 100u/25V",), "capacitor_aluminium_electrolytic"),
        ("C6", ("220u", "7343", "polymer aluminium capacitor"), "capacitor_polymer_aluminium"),
        ("C7", ("68u", "EIA-7343-31"), "capacitor"),
        ("C8", ("100n X2 275VAC", "Film box P15", "film capacitor"), "capacitor_safety"),
        ("C9", ("100n", "0603", "input filter capacitor at X1, important"), "capacitor_ceramic"),
        ("D8", ("", "SMA", "diode in the LED supply"), "diode"),
        ("U6", ("X2102", "", "USB-UART bridge"), "ic"),
        ("U7", ("LLC controller", "", "resonant half bridge"), "ic"),
        ("J4", ("LIM X", "", "NPN sensor"), "connector"),
        ("J5", ("CONTROL", "", "processor board"), "connector"),
        ("J6", ("M1", "", "motor connector"), "connector"),
        ("L1", ("10uH", "L_1210"), "inductor"),
        ("L2", ("600R@100MHz", "0603", "Ferrite bead"), "ferrite_bead"),
        ("D1", ("1N4148", "SOD-123"), "diode"),
        ("D2", ("SS34", "SMA"), "diode_schottky"),
        ("D3", ("green", "LED_0603_1608Metric"), "led"),
        ("D3", ("Blue", "0603"), "led"),
        ("D4", ("5V1", "SOD-123", "Zener diode"), "diode_zener"),
        ("D5", ("SMBJ36A", "SMB"), "tvs_one_way"),
        ("D6", ("SMBJ36CA", "SMB"), "tvs_two_way"),
        ("U8", ("SP3485EN",), "ic"),
        ("U9", ("SP3012-06UTG",), "tvs"),
        ("J7", ("M5 bolts for the bus",), "connector"),
        ("D7", ("M7", "SMA"), "diode"),
        ("BR1", ("10R", "100 W", "in front of the chopper"), "resistor"),
        ("SW1", ("SS12D07", "", "main switch"), "switch"),
        ("D1", ("SS12", "SMA", ""), "diode_schottky"),
        ("DL1", ("10R 200W", "hors carte", "charge de délestage"), "resistor"),
        ("BR2", ("KBPC3510", ""), "bridge_rectifier"),
        ("A1", ("NUCLEO-G031K8",), "microcontroller"),
        ("D7", ("MB6S", "TO-269AA"), "bridge_rectifier"),
        ("Q1", ("2N7002", "SOT-23"), "mosfet"),
        ("Q2", ("BC847", "SOT-23"), "transistor_bipolar"),
        ("Q3", ("BSS84", "SOT-23", "Transistor P-MOSFET with substrate diode"), "mosfet"),
        ("T1", ("BC547B", "TO-92"), "transistor_bipolar"),
        ("T2", ("230V/12V", "", "Trafo"), "transformer"),
        ("U1", ("LM358", "SOIC-8"), "opamp"),
        ("U2", ("AMS1117-3.3", "SOT-223"), "linear_regulator"),
        ("U3", ("PC817", "DIP-4"), "optocoupler"),
        ("U4", ("Hall current sensor", "SIP-4"), "magnetic_current_sensor"),
        ("U5", ("ATmega328P", "TQFP-32"), "microcontroller"),
        ("U6", ("quad NAND", "SOIC-14"), "ic"),
        ("Y1", ("16MHz", "HC-49/U"), "crystal"),
        ("X1", ("16MHz", ""), "crystal"),
        ("F1", ("2A", ""), "fuse"),
        ("RT1", ("PPTC 0.5A", "1812", "resettable fuse"), "resettable_fuse"),
        ("VR1", ("10k", "", "trimmer"), "potentiometer"),
        ("VR2", ("5V", "", "LDO voltage regulator"), "linear_regulator"),
        ("V1", ("", "", ""), "unknown"),
        ("T9", ("", "", ""), "unknown"),
        ("J1", ("Conn_01x02", "PinHeader_1x02_P2.54mm_Vertical"), "connector"),
        ("J2", ("Klemme 2-polig",), "terminal"),
        ("TP1", ("+5V",), "test_point"),
        ("H1", ("MountingHole",), "mounting_hole"),
        ("FID1", ("Fiducial",), "fiducial"),
        ("LOGO1", ("",), "logo"),
        ("NT1", ("NetTie",), "net_tie"),
        ("HS1", ("",), "heat_sink"),
        ("ACTIVITY", ("", "LED1206-R-RD_GREEN"), "led"),
        ("RSENSE", ("10m", "2512"), "resistor"),
        ("RB1", ("", "", "4k7 2W bleeder"), "resistor"),
        ("RB", ("10k 1%",), "resistor"),
        ("RC", ("", "", "", "4k7 1%"), "resistor"),
        ("CB1", ("", "", "4700uF 63V"), "capacitor"),
        ("R7", ("", "", "100R 10W ceramic"), "resistor"),
        ("VR", ("10k",), "potentiometer"),
        ("K1", ("", "", "Printrelais 12 V, Spule 320 Ohm, 1 Schliesser"), "relay"),
        ("RY2", ("", "", "contactor, 24 V coil 360 ohm, main"), "relay"),
        ("IC1", ("", "", "quadruple comparateur"), "ic"),
    ],
)
def test_kinds(ref: str, texts: tuple[str, ...], kind: str) -> None:
    """Independent: judged by a person."""
    assert _judge(ref, *texts).kind == kind


def test_words_beat_the_letter_and_it_is_said() -> None:
    found = _judge("P1", "RESET_PAD", "pads", "Test point for the reset line")
    assert found.kind == "test_point"
    assert "kind-words-over-letter" in [m.slug for m in found.assumed]


def test_a_value_of_the_right_unit_confirms_the_letter() -> None:
    """Invariant: a note about what the part is for does not turn a capacitor into a regulator."""
    assert _judge("C9", "100n", "0603", "for the LDO voltage regulator").kind == "capacitor_ceramic"


@pytest.mark.parametrize("letters", ["CR", "L", "RT"])
def test_trap_letters_alone_are_said(letters: str) -> None:
    assert "kind-from-letters" in [m.slug for m in _judge(f"{letters}1").assumed]


def test_equal_parts_share_a_key() -> None:
    one, two = _judge("C1", "33p", "0603"), _judge("C2", "33 pF", "C_0603_1608Metric")
    assert one.key == two.key
    assert one.key != _judge("C3", "33p", "0805").key
    assert _judge("R1", "4k7", "0805").key == _judge("R2", "4700R", "R0805").key
    assert _judge("U1", "LM358", "SOIC-8").key != _judge("U1", "LM393", "SOIC-8").key


def test_one_text_is_judged_once() -> None:
    assert _judge("R1", "1k", "0805") is _judge("R999", "1k", "0805")


@pytest.mark.parametrize(
    ("ref", "value", "fit", "expected"),
    [
        ("TP1", "pad", Fit.FIT, Fit.NOT_A_PART),
        ("H1", "MountingHole", Fit.FIT, Fit.NOT_A_PART),
        ("FID1", "", Fit.FIT, Fit.NOT_A_PART),
        ("LOGO1", "", Fit.FIT, Fit.NOT_A_PART),
        ("NT1", "NetTie", Fit.FIT, Fit.NOT_A_PART),
        ("TP2", "pad", Fit.DO_NOT_FIT, Fit.DO_NOT_FIT),
        ("R1", "1k", Fit.FIT, Fit.FIT),
        ("R2", "1k", Fit.DO_NOT_FIT, Fit.DO_NOT_FIT),
    ],
)
def test_what_is_not_a_part(ref: str, value: str, fit: Fit, expected: Fit) -> None:
    """Source: the counting rules of diff: do-not-fit as marked, then lands, holes, logos, fiducials, net ties."""
    assert fit_of(_judge(ref, value), fit) is expected


@pytest.mark.parametrize(
    ("ref", "texts", "construction", "terminal"),
    [
        ("D1", ("1N4148", "SOD-123"), "diode_band", "cathode"),
        ("D2", ("SMBJ36CA", "SMB"), "tvs_two_way", "none"),
        ("C1", ("tant 10uF", "EIA-3216-18"), "tantalum_moulded", "plus"),
        ("C2", ("100u polymer aluminium", "EIA-7343-31"), "polymer_aluminium_moulded", "plus"),
        ("C3", ("47u", "CP_Elec_6.3x5.4"), "aluminium_can", "minus"),
        ("C4", ("47u", "CP_Radial_D8.0mm_P3.50mm"), "aluminium_radial", "minus"),
        ("C5", ("10u tantal", "Bead tantalum D4.5"), "tantalum_bead", "plus"),
        ("D3", ("red LED", "LED_0805"), "led_chip", "unknown"),
        ("D4", ("red LED", "LED_D5.0mm"), "led_leaded", "cathode"),
        ("U1", ("LM358", "SOIC-8"), "ic_pin_1", "pin_1"),
    ],
)
def test_marks_by_construction(ref: str, texts: tuple[str, ...], construction: str, terminal: str) -> None:
    """Source: the table of marks, itself tested against the trade's rules."""
    mark = mark_for(_judge(ref, *texts))
    assert mark is not None
    assert (mark.construction, mark.terminal) == (construction, terminal)
    assert mark.reliable == (construction != "led_chip")


@pytest.mark.parametrize(
    ("ref", "texts"),
    [
        ("C1", ("68u", "EIA-7343-31")),  # tantalum or polymer aluminium
        ("C2", ("Elko 100u",)),  # can, radial or axial
        ("C3", ("tantalum 10u", "0805")),
        ("D1", ("1N4007",)),
        ("D2", ("LED red",)),
        ("C4", ("100n", "0603")),
    ],
)
def test_unknown_construction_is_not_judged(ref: str, texts: tuple[str, ...]) -> None:
    """Invariant: never the rule of a family."""
    assert mark_for(_judge(ref, *texts)) is None


def test_moulded_capacitor_of_unknown_make_is_polarised() -> None:
    assert _judge("C1", "68u", "EIA-7343-31").polarised is YesNo.YES
    assert _judge("C2", "100n", "0603").polarised is YesNo.NO


def test_the_person_wins() -> None:
    line = _line("100u", "strange", "")
    found = identify_as(line, "C1", "film capacitor", "Film box P15")
    assert found.kind == "capacitor_film"
    assert found.package is not None
    assert found.package.name == "Film box P15"


def test_unknown_kind_of_the_person_is_said() -> None:
    found = identify_as(_line("100u"), "C1", "flux capacitor", None)
    assert "kind-not-known" in [m.slug for m in found.assumed]


@pytest.mark.parametrize(
    ("ref", "text", "kind"),
    [("RS1", "shunt 0R05 1% 2W 2512", "resistor"), ("JP1", "shunt", "jumper"), ("U3", "shunt monitor", "ic")],
)
def test_a_shunt_is_a_resistor_by_its_letters(ref: str, text: str, kind: str) -> None:
    assert _judge(ref, "", "", text).kind == kind


def test_a_description_of_figures_alone_is_the_value() -> None:
    main = _judge("R9", "", "", "820").value.main
    assert main is not None
    assert main.value == Decimal(820)


def test_kinds_by_their_names() -> None:
    assert kind_named("buck converter") == "switching_regulator"
    assert kind_named("Linear Regulator") == "linear_regulator"
    assert kind_named("LED") == "led"
    assert kind_named("one-way transient suppressor") == "tvs_one_way"
    assert kind_named("thing") is None


@pytest.mark.parametrize(
    ("ref", "letters"), [("R10", "R"), ("LED_G", "LED"), ("U$1", "U"), ("3V3", ""), ("VBAT+", "VBAT")]
)
def test_class_letters(ref: str, letters: str) -> None:
    assert class_letters(ref) == letters


def test_hostile_cells_are_ordinary() -> None:
    for text in ("=HYPERLINK(1)", "<script>", "\x00", "(" * 200, "A" * 5000, "🙂"):
        assert _judge("R1", text, text, text, text).kind


HEADINGS = {
    "ref": ("reference", "references", "designator", "ref", "reference(s)", "parts", "part"),
    "package": ("footprint", "package"),
}


def _package_texts(folder: Path) -> list[tuple[str, str]]:
    found = []
    for file in sorted(folder.iterdir()):
        raw = file.read_bytes()
        text = raw.decode("utf-16" if raw[:2] in (b"\xff\xfe", b"\xfe\xff") else "utf-8", errors="replace")
        for delimiter in ",;\t":
            rows = list(csv.reader(io.StringIO(text.lstrip("\ufeff")), delimiter=delimiter))
            for i, row in enumerate(rows[:20]):
                low = [cell.strip().casefold() for cell in row]
                at = {k: next((low.index(n) for n in names if n in low), None) for k, names in HEADINGS.items()}
                if (r := at["ref"]) is not None and (p := at["package"]) is not None:
                    found += [(x[r].strip(), x[p].strip()) for x in rows[i + 1 :] if len(x) > max(r, p)]
                    break
    return found


def test_packages_of_real_lists(real_boards: Path) -> None:
    """Goal of the house: more than 85 % of the R, C, L, D, U and Q rows of real lists name a package we know."""
    kinds = {"R": "resistor", "C": "capacitor", "L": "inductor", "D": "diode", "U": "ic", "Q": "transistor"}
    rows = [(re.match("[A-Za-z]*", ref)[0], text) for ref, text in _package_texts(real_boards / "bom") if text]  # type: ignore[index]
    rows = [(letters, text) for letters, text in rows if letters in kinds]
    known = [find_package(text, kinds[letters]).package is not None for letters, text in rows]
    assert len(known) > 500
    assert sum(known) / len(known) > 0.85


@pytest.mark.parametrize(
    ("kind", "number", "value"),
    [("R1", "RC0805 10K 1%", "10000"), ("R1", "22K", "22000"), ("C1", "CL 10u 50V", "0.00001")],
)
def test_a_cell_for_everything_holds_the_value(kind: str, number: str, value: str) -> None:
    main = _judge(kind, "", "", "", number).value.main
    assert main is not None
    assert main.value == Decimal(value)


@pytest.mark.parametrize(
    ("ref", "texts", "value"),
    [
        ("R1", ("220E 1%",), "220"),
        ("R5", ("4E7 2W",), "4.7"),
        ("R6", ("", "", "RES 33E 5%"), "33"),
        ("C2", ("", "", "CAP CER 0.1"), "1E-7"),
        ("F1", ("", "", "FUSE GLASS 250MA 250VAC 5X20MM"), "0.25"),
        ("M1", ("82 ohm 5 W", "wirewound"), "82"),
    ],
)
def test_values_as_benches_write_them(ref: str, texts: tuple[str, ...], value: str) -> None:
    main = _judge(ref, *texts).value.main
    assert main is not None
    assert main.value == Decimal(value)


@pytest.mark.parametrize(
    ("ref", "number", "ohm"),
    [("R1", "390", 390), ("R2", "1.5", 1.5), ("R3", "4420", 4420), ("R4", "0805", None), ("R5", "3817215", None)],
)
def test_a_figure_of_a_series_alone_under_part_is_the_value(ref: str, number: str, ohm: float | None) -> None:
    found = _judge(ref, "", "", "1/2W 5%", number).value.main
    assert (found and float(found.value)) == ohm


def test_an_order_code_is_no_value() -> None:
    assert _judge("R1", "", "", "", "QXL2512R0500FEA").value.main is None
    assert _judge("R1", "4k7", "", "", "RC0805 10K").value.main == _judge("R1", "4k7").value.main


@pytest.mark.parametrize(
    ("ref", "texts", "kind"),
    [
        ("Q1", ("", "SO-8", "P-MOSFET AO4407A"), "mosfet"),
        ("V5", ("BC639",), "transistor_bipolar"),
        ("U1", ("", "", "current shunt monitor SOT23-5", "INA169NA"), "ic"),
    ],
)
def test_a_type_number_in_whatever_cell(ref: str, texts: tuple[str, ...], kind: str) -> None:
    assert _judge(ref, *texts).kind == kind


@pytest.mark.parametrize(
    ("ref", "texts", "kind"),
    [
        ("D2", ("6A10", "R-6", "charger to battery"), "diode"),
        ("D2", ("1N4933", "DO-41", "across the relay coil"), "diode"),
        ("R6", ("1.04k 0.1 %", "0207", "dummy bridge in place of the load cell, stands for a wet pot"), "resistor"),
        ("X1", ("30 V DC", "", "zasilanie, zamiast transformatora i mostka"), "unknown"),
        ("LD1", ("white 1 W", "star", "grow lamp over shelf 2"), "led"),
        ("CN1", ("2p 5.08", "", "24 V lamp supply"), "connector"),
        ("RL1", ("", "", "RES 180 OHM 5% 3W"), "resistor"),
        ("EC1", ("100/63", "RAD"), "capacitor_aluminium_electrolytic"),
        ("EC3", ("22/25 TANT",), "capacitor_tantalum"),
        ("FS1", ("1A T", "5X20"), "fuse"),
        ("J2", ("screw term. 2p",), "terminal"),
        ("K7", ("12 V", "", "relay for the pump"), "relay"),
        ("VR1", ("", "", 'TRIM 10K CERMET "LOW"'), "potentiometer"),
        ("ST1", ("cavalier", "2 pts"), "jumper"),
        ("U9", ("", "", "USB to serial module"), "module"),
        ("Z1", ("1A traag", "glas 5x20"), "fuse"),
        ("U1", ("AL8805 (LED driver, step-down)", "SOT25"), "switching_regulator"),
        ("U1", ("TP4056", "", "Li-ion battery charger"), "ic"),
        ("R3", ("10000", "", "resistor with thermistor"), "resistor"),
        ("LED1", ("blue", "", "fan runs"), "led"),
        ("R8", ("", "", "HEATER MAT 33 OHM 50W, CUSTOMER SUPPLIED"), "resistor"),
        ("D2", ("6,2 V", "DO-35"), "diode_zener"),
        ("D3", ("grön", "5 mm", "Lysdiod"), "led"),
        ("D1", ("transil P6KE27A",), "tvs_one_way"),
        ("K1", ("kroonsteen 3",), "terminal"),
        ("K2", ("BNC femelle", "", "sonde"), "connector"),
        ("X1", ("30 V DC", "", "for: entrada, en lugar del transformador y el puente"), "unknown"),
        ("A1", ("Arduino Nano", "2x15 socket", "fed through its 5V pin"), "microcontroller"),
    ],
)
def test_what_a_part_is_for_is_not_what_it_is(ref: str, texts: tuple[str, ...], kind: str) -> None:
    assert _judge(ref, *texts).kind == kind
