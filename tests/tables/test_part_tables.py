"""Plausibility of the tables of packages, kinds, class letters and marks: keys, sources, ranges, order."""

import re
from itertools import pairwise
from typing import Any

import pytest

from reworkkit import tables
from reworkkit.model.vocabulary import Honesty, Mount, YesNo
from tests.conftest import PROJECT

NAMES = ("packages", "package_aliases", "package_families", "part_kinds", "class_letters", "polarity_marks")
RANGES = {
    "length_mm": (0.3, 70),
    "width_mm": (0.1, 45),
    "height_mm": (0.1, 60),
    "pins": (2, 300),
    "pitch_mm": (0.3, 35),
    "tab_length_mm": (1, 20),
    "tab_width_mm": (1, 25),
    "tab_thickness_mm": (0.1, 3),
    "hidden_pads": (0, 300),
    "lead_mm2": (0.04, 2),
    "mass_g": (0.00002, 90),
}


@pytest.mark.parametrize("name", NAMES)
def test_keys_are_unique_and_sources_known(name: str) -> None:
    rows = tables.rows(name)
    keys = [next(iter(row.values())) for row in rows]
    assert len(keys) == len(set(keys))
    for row in rows:
        assert row["place"], row
        assert tables.source(row["source"], row["place"]).honesty in Honesty


@pytest.mark.parametrize("name", NAMES)
def test_no_row_has_too_many_cells(name: str) -> None:
    assert all(None not in row and len(row) == len(tables.rows(name)[0]) for row in tables.rows(name))


def test_every_figure_is_plausible() -> None:
    for row in tables.rows("packages"):
        for column, (low, high) in RANGES.items():
            if row[column]:
                assert low <= float(row[column]) <= high, (row["name"], column)
        assert row["mount"] in set(Mount)
        assert float(row["length_mm"]) >= 0
        assert bool(row["lead_mm2"]) == (row["mount"] == "through_hole"), row["name"]


def test_there_are_enough_packages() -> None:
    assert len(tables.rows("packages")) >= 120


def test_density_is_that_of_a_part() -> None:
    """Independent: plastics, ceramics and metals lie between 0.3 (hollow holder) and 9 g/cm3 (copper)."""
    for row in tables.rows("packages"):
        volume = float(row["length_mm"]) * float(row["width_mm"]) * float(row["height_mm"]) / 1000
        tab = [float(row[k] or 0) for k in ("tab_length_mm", "tab_width_mm", "tab_thickness_mm")]
        volume += tab[0] * tab[1] * tab[2] / 1000
        volume += float(row["lead_mm2"] or 0) * int(row["pins"]) * 20 / 1000  # 20 mm of each lead
        assert 0.2 < float(row["mass_g"]) / volume < 9, row["name"]


@pytest.mark.parametrize(
    "family", ["R chip", "C chip", "L chip", "LED chip", "Moulded .*(?:18|21|28|31|43)$", "TSSOP", "SOIC-[0-9]+W$"]
)
def test_sizes_grow_in_order(family: str) -> None:
    """Invariant: within a family the mass grows with the outline."""
    rows = [row for row in tables.rows("packages") if re.match(family, row["name"])]
    rows = [
        row for row in rows if row["name"] not in ("R chip 1218", "R chip 2010", "C chip 1806", "SOIC-8W", "TSSOP-38")
    ]
    boxes = [
        (float(row["length_mm"]) * float(row["width_mm"]) * float(row["height_mm"]), float(row["mass_g"]))
        for row in rows
    ]
    assert len(boxes) > 3
    assert all(a[1] <= b[1] for a, b in pairwise(sorted(boxes)))


def test_leads_fit_on_the_body() -> None:
    """Invariant: two rows of leads at the pitch are no longer than the body and a lead."""
    for row in tables.rows("packages"):
        if re.match("SOIC|TSSOP|SSOP|MSOP|DIP|QSOP", row["name"]) and row["pitch_mm"]:
            across = (int(row["pins"]) / 2 - 1) * float(row["pitch_mm"])
            assert across < float(row["length_mm"]) + 0.1, row["name"]


OPEN_SIZES = "open data set of package size definitions after JEDEC and makers' sheets, state of 7 October 2020"
ROYAL_OHM = "Royal Ohm thick film chip resistor sheet"


@pytest.mark.parametrize(
    ("name", "length", "width", "source"),
    [
        ("R chip 0402", 1.0, 0.5, ROYAL_OHM),
        ("R chip 0603", 1.6, 0.8, ROYAL_OHM),
        ("R chip 0805", 2.0, 1.25, ROYAL_OHM),
        ("R chip 1206", 3.1, 1.55, ROYAL_OHM),
        ("R chip 2512", 6.35, 3.2, ROYAL_OHM),
        ("C chip 0603", 1.6, 0.8, OPEN_SIZES),
        ("C chip 1210", 3.2, 2.5, OPEN_SIZES),
        ("Moulded 3216-18", 3.2, 1.6, OPEN_SIZES),
        ("Moulded 7343-31", 7.3, 4.3, OPEN_SIZES),
        ("SOT-23-5", 2.9, 1.6, OPEN_SIZES),
        ("TO-252", 6.5, 6.22, OPEN_SIZES),
        ("TO-263", 10.0, 9.25, OPEN_SIZES),
        ("TO-220", 10.0, 4.4, OPEN_SIZES),
        ("TO-247", 15.9, 5.03, OPEN_SIZES),
        ("SOIC-8", 4.9, 3.9, OPEN_SIZES),
        ("SOIC-16W", 10.3, 7.5, OPEN_SIZES),
        ("TSSOP-20", 6.5, 4.4, OPEN_SIZES),
        ("MSOP-8", 3.0, 3.0, OPEN_SIZES),
        ("QFN-32 5x5", 5.0, 5.0, OPEN_SIZES),
        ("LQFP-64 10x10", 10.0, 10.0, OPEN_SIZES),
        ("Can 6.3x5.4", 6.6, 6.6, OPEN_SIZES),
        ("HC-49/U", 10.9, 4.65, OPEN_SIZES),
        ("MiniMELF", 3.6, 1.4, "MELF sizes after EN 140401-803, encyclopedia article"),
    ],
)
def test_outlines(published: Any, name: str, length: float, width: float, source: str) -> None:
    row = next(row for row in tables.rows("packages") if row["name"] == name)
    published(f"body of {name}, mm", (float(row["length_mm"]), float(row["width_mm"])), (length, width), source=source)


IEEE_315 = "IEEE 315 / ASME Y14.44 class letters, as quoted by public lists"


@pytest.mark.parametrize(
    ("letters", "kind"),
    [
        ("R", "resistor"),
        ("C", "capacitor"),
        ("L", "inductor"),
        ("D", "diode"),
        ("CR", "diode"),
        ("DS", "led"),
        ("Q", "transistor"),
        ("U", "ic"),
        ("J", "connector"),
        ("P", "connector"),
        ("F", "fuse"),
        ("XF", "fuse_holder"),
        ("K", "relay"),
        ("S", "switch"),
        ("Y", "crystal"),
        ("BT", "battery"),
        ("LS", "buzzer"),
        ("TB", "terminal"),
        ("TP", "test_point"),
        ("MP", "hardware"),
        ("MH", "mounting_hole"),
        ("FD", "fiducial"),
    ],
)
def test_class_letters(published: Any, letters: str, kind: str) -> None:
    row = next(row for row in tables.rows("class_letters") if row["letters"] == letters)
    published(f"class letters {letters}", row["kind"], kind, source=IEEE_315)


@pytest.mark.parametrize("letters", ["CR", "VR", "V", "T", "X", "L", "RT"])
def test_trap_letters_are_marked(letters: str) -> None:
    """Source: the trap letters of the class-letter lists above."""
    assert next(row for row in tables.rows("class_letters") if row["letters"] == letters)["trap"] == "yes"


def test_kinds_refer_to_what_exists() -> None:
    constructions = {row["construction"] for row in tables.rows("polarity_marks")}
    outlines = {row["mark"] for row in tables.rows("packages")} | {
        row["mark"] for row in tables.rows("package_families")
    }
    for row in tables.rows("part_kinds"):
        assert {row["heat_sensitive"], row["is_part"], row["hardware"]} <= {"yes", "no"}, row["key"]
        assert row["polarised"] in set(YesNo)
        assert row["difficulty"] in {"plain", "fine", "heavy", "delicate"}
        for pair in row["marks"].split():
            outline, _, construction = pair.partition(":")
            assert outline in outlines | {"*"}, row["key"]
            assert construction in constructions, row["key"]


def test_letters_refer_to_kinds() -> None:
    kinds = {row["key"] for row in tables.rows("part_kinds")}
    assert {row["kind"] for row in tables.rows("class_letters")} <= kinds


def test_aliases_refer_to_packages() -> None:
    names = {row["name"] for row in tables.rows("packages")}
    assert {row["name"] for row in tables.rows("package_aliases")} <= names


SAFETY = {
    "diode_band": ("cathode", "yes"),
    "tvs_two_way": ("none", "yes"),
    "tantalum_moulded": ("plus", "yes"),
    "polymer_aluminium_moulded": ("plus", "yes"),
    "aluminium_can": ("minus", "yes"),
    "aluminium_radial": ("minus", "yes"),
    "aluminium_axial": ("plus", "yes"),
    "aluminium_axial_arrows": ("minus", "yes"),
    "tantalum_bead": ("plus", "yes"),
    "led_chip": ("unknown", "no"),
    "led_leaded": ("cathode", "yes"),
    "ic_pin_1": ("pin_1", "yes"),
}


@pytest.mark.parametrize("construction", SAFETY)
def test_marks_mean_what_the_trade_says(published: Any, construction: str) -> None:
    row = next(row for row in tables.rows("polarity_marks") if row["construction"] == construction)
    source = tables.sources()[row["source"]]["title"]
    published(f"mark of {construction}", (row["terminal"], row["reliable"]), SAFETY[construction], source=source)


def test_the_glossary_lists_every_kind_and_construction() -> None:
    """Invariant: the page the person reads and the tables agree."""
    page = (PROJECT / "docs" / "glossary.md").read_text(encoding="utf-8")
    for row in tables.rows("part_kinds"):
        assert f"| {row['name']} | `{row['key']}` |" in page
    for row in tables.rows("polarity_marks"):
        line = f"| {row['construction'].replace('_', ' ')} | {row['mark']} | {row['terminal'].replace('_', ' ')} |"
        assert line in page
