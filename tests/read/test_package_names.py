"""Package names of JEDEC, EIA, IPC-7351, layout programs; collisions are said or asked, near misses never applied."""

import time
from pathlib import Path
from typing import Any

import pytest

from reworkkit.errors import ReworkkitError
from reworkkit.model.vocabulary import Honesty, Mount
from reworkkit.read.package_names import find_package, resolve_package

IPC = "IPC-7351B naming convention (public first part and examples)"


@pytest.mark.parametrize(
    ("text", "kind", "name"),
    [
        ("CAPC1608X87", "capacitor", "C chip 0603"),
        ("CAPC1608X90N", "capacitor", "C chip 0603"),
        ("RESC1005X40N", "resistor", "R chip 0402"),
        ("RESC2013X60X35NL10T20", "resistor", "R chip 0805"),
        ("SOIC127P600X175-8N", "ic", "SOIC-8"),
        ("SOP50P490X110-10N", "ic", "MSOP-10"),
        ("SOP65P640X120-20N", "ic", "TSSOP-20"),
        ("SOT95P237X112-3", "transistor", "SOT-23"),
        ("DIOM5226X229", "diode", "SMA"),
        ("DIOM5336X262", "diode", "SMB"),
        ("DIOM7959X262", "diode", "SMC"),
        ("TO228P991X239-3", "mosfet", "TO-252"),
        ("TO254P1524X483-3", "mosfet", "TO-263"),
        ("QFN50P500X500X90-33N", "ic", "QFN-32 5x5"),
        ("CAPMP7343X310N", "capacitor_tantalum", "Moulded 7343-31"),
    ],
)
def test_land_pattern_names(published: Any, text: str, kind: str, name: str) -> None:
    package = find_package(text, kind).package
    assert package is not None
    published(f"land pattern {text}", package.name, name, source=IPC)


@pytest.mark.parametrize(
    ("text", "kind", "name"),
    [
        ("Lib:C_0603_1608Metric", "capacitor", "C chip 0603"),
        ("C0603", "capacitor", "C chip 0603"),
        ("R_0805_2012Metric_Pad1.20x1.40mm_HandSolder", "resistor", "R chip 0805"),
        ("R0402_SM", "resistor", "R chip 0402"),
        ("0805", "led", "LED chip 0805"),
        ("1608", "capacitor", "C chip 0603"),
        ("CP_Elec_8x10", "capacitor", "Can 8x10.5"),
        ("CP_Radial_D5.0mm_P2.00mm", "capacitor", "Radial can D5"),
        ("D_DO-35_SOD27_P7.62mm_Horizontal", "diode", "DO-35"),
        ("D_MiniMELF", "diode", "MiniMELF"),
        ("SOT23-3", "transistor", "SOT-23"),
        ("sot 23", "transistor", "SOT-23"),
        ("TO-236AB", "transistor", "SOT-23"),
        ("DPAK", "mosfet", "TO-252"),
        ("MS-012AA", "ic", "SOIC-8"),
        ("SO8", "ic", "SOIC-8"),
        ("LQFP-48_7x7mm_P0.5mm", "ic", "LQFP-48 7x7"),
        ("QFN-32-1EP_5x5mm_P0.5mm_EP3.1x3.1mm", "ic", "QFN-32 5x5"),
        ("SOIC-8_3.9x4.9mm_P1.27mm", "ic", "SOIC-8"),
        ("SOIC-8_5.23x5.23mm_P1.27mm", "ic", "SOIC-8W"),
        ("SOIC-8-1EP_3.9x4.9mm_P1.27mm_EP2.41x3.3mm", "ic", "SOIC-8-EP"),
        ("DIL08", "ic", "DIP-8"),
        ("R_Axial_DIN0207_L6.3mm_D2.5mm_P7.62mm_Horizontal", "resistor", "R axial 0207"),
        ("LED_D3.0mm", "led", "LED 3 mm"),
        ("TerminalBlock_x-2_P5.08mm", "terminal", "Terminal 5.08 2-way"),
        ("Crystal_SMD_3225-4Pin_3.2x2.5mm", "crystal", "Crystal 3225"),
        ("SMB", "diode_schottky", "SMB"),
    ],
)
def test_names_in_use(text: str, kind: str, name: str) -> None:
    """Independent: read by a person."""
    package = find_package(text, kind).package
    assert package is not None
    assert package.name == name
    assert package.written == text


def test_what_the_table_lacks_is_read_from_the_name() -> None:
    package = find_package("PinHeader_1x13_P2.54mm_Vertical", "connector")
    assert package.package is not None
    assert (package.package.pins, package.package.pitch_mm, package.package.mount) == (13, 2.54, Mount.THROUGH_HOLE)
    assert package.package.source.honesty is Honesty.DERIVED
    assert package.assumed[0].slug == "package-from-its-name"
    film = find_package("C_Rect_L9.0mm_W3.3mm_P7.50mm", "capacitor").package
    assert film is not None
    assert (film.length_mm, film.width_mm, film.pitch_mm) == (9.0, 3.3, 7.5)


@pytest.mark.parametrize(("text", "kind"), [("0402", "resistor"), ("C0603", "capacitor")])
def test_code_of_both_systems_is_said(text: str, kind: str) -> None:
    found = find_package(text, kind)
    assert found.package is not None
    assert found.assumed[0].slug == "package-read-as-inches"


def test_pair_of_codes_needs_no_assumption() -> None:
    assert find_package("C_0603_1608Metric", "capacitor").assumed == ()


@pytest.mark.parametrize("text", ["0603M", "0402 metric", "0603Metric"])
def test_hint_at_millimetres_is_asked(text: str) -> None:
    found = resolve_package(text, "resistor")
    assert found.package is None
    assert found.question is not None
    assert found.question.because.slug == "package-two-systems"
    assert found.question.answer is not None


def test_zero_lost_in_a_spreadsheet_is_said() -> None:
    found = find_package("603", "capacitor")
    assert found.package is not None
    assert found.package.name == "C chip 0603"
    assert "package-lost-zero" in [m.slug for m in found.assumed]


def test_family_of_several_sizes_is_asked() -> None:
    found = resolve_package("QFN-16", "ic")
    assert found.package is None
    assert found.question is not None
    assert found.question.because.slug == "package-several-sizes"
    assert "QFN-16 3x3" in str(found.question.because.fact("names"))


@pytest.mark.parametrize("text", ["SOT-32", "SOTT-23", "TSOP-8 x", "0804", "TO-253"])
def test_near_miss_is_never_applied(text: str) -> None:
    found = resolve_package(text, "ic")
    if text == "TO-253":  # JEDEC's own name of SOT-143
        assert found.package is not None
        return
    assert found.package is None or found.package.name in ("TO-126",)  # SOT32 is TO-126


def test_near_miss_is_suggested() -> None:
    found = resolve_package("SOTT-223", "ic")
    assert found.package is None
    assert found.question is not None
    assert found.question.because.fact("near") == "SOT-223"


def test_connector_is_no_diode() -> None:
    assert find_package("SMA", "connector").package is None


def test_pins_complete_a_family() -> None:
    found = find_package("SOIC", "ic", 14)
    assert found.package is not None
    assert found.package.name == "SOIC-14"


@pytest.mark.parametrize(
    "text", ["", "  ", "none", "=1+1", "<b>0603</b>", "../..", "PCB-0wz5cygkzjk26dn1bz6x-1", "ä" * 500]
)
def test_any_text_is_ordinary_input(text: str) -> None:
    found = resolve_package(text, "resistor")
    assert found.package is None


OWN = (
    "name,mount,length_mm,width_mm,height_mm,pins,pitch_mm,tab_length_mm,tab_width_mm,tab_thickness_mm,hidden_pads,"
    "lead_mm2,lead_material,mass_g,mark,source,place\n"
)


def test_rows_of_the_board_folder_win(tmp_path: Path) -> None:
    (tmp_path / "tables").mkdir()
    rows = (
        "SOT-23,smd,3.1,1.4,1.2,3,0.95,,,,0,,,0.01,sot,,\nMy coil,through_hole,20,20,15,2,,,,,0,0.8,copper,12,none,,\n"
    )
    (tmp_path / "tables" / "packages.csv").write_text(OWN + rows, encoding="utf-8")
    changed, added = (find_package(text, "ic", folder=tmp_path).package for text in ("SOT23-3", "my coil"))
    assert changed is not None
    assert added is not None
    assert (changed.length_mm, changed.source.honesty) == (3.1, Honesty.YOURS)
    assert (added.name, added.lead_mm2) == ("My coil", 0.8)
    untouched = find_package("SOIC-8", "ic", folder=tmp_path).package
    assert untouched == find_package("SOIC-8", "ic").package


@pytest.mark.parametrize(
    ("text", "slug"),
    [
        (OWN + "My coil,through_hole,wide,20,15,2,,,,,0,0.8,copper,12,none,,\n", "table-row-not-readable"),
        ("name,length_mm\nMy coil,20\n", "table-row-not-readable"),
        ("name,colour\nMy coil,red\n", "table-unknown-column"),
        ("name,length_mm\nMy coil,20,30\n", "table-row-too-long"),
        ("length_mm\n20\n", "table-row-without-key"),
    ],
)
def test_bad_rows_of_the_board_folder_are_refused(tmp_path: Path, text: str, slug: str) -> None:
    (tmp_path / "tables").mkdir()
    (tmp_path / "tables" / "packages.csv").write_text(text, encoding="utf-8")
    with pytest.raises(ReworkkitError) as caught:
        find_package("SOT-23", "ic", folder=tmp_path)
    assert caught.value.message.slug == slug


def test_unknown_texts_are_cheap() -> None:
    """Invariant: 2,000 distinct unknown names in well under a second of CPU."""
    start = time.process_time()
    for n in range(2000):
        find_package(f"house part {n}", "ic")
    assert time.process_time() - start < 2.0
