"""readings.csv, candidates.csv, stock.csv: what is taken, and what is told instead (invented rows; invariants)."""

from pathlib import Path

import pytest

from reworkkit.errors import ReworkkitError
from reworkkit.model.quantity import parse_quantity
from reworkkit.model.reading_text import parse_reading
from reworkkit.model.values import Where
from reworkkit.model.vocabulary import Mode, ReadingForm
from reworkkit.read.candidates import read_candidates
from reworkkit.read.readings import read_readings
from reworkkit.read.stock import read_stock
from reworkkit.show.texts import sentence


def written(folder: Path, name: str, text: str) -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("text", "form", "value", "unit"),
    [
        ("11.98V", ReadingForm.VALUE, 11.98, "V"),
        ("-12V", ReadingForm.VALUE, -12.0, "V"),
        ("11,98 V", ReadingForm.VALUE, 11.98, "V"),
        ("4k7", ReadingForm.VALUE, 4700.0, "ohm"),
        ("0.59", ReadingForm.VALUE, 0.59, ""),
        ("25 mA", ReadingForm.VALUE, 0.025, "A"),
        ("OL", ReadingForm.OVER_RANGE, None, ""),
        ("0L", ReadingForm.OVER_RANGE, None, ""),
        ("over range", ReadingForm.OVER_RANGE, None, ""),
        ("rising to 2M", ReadingForm.RISING, 2e6, "ohm"),
        ("rising", ReadingForm.RISING, None, ""),
        ("jumps", ReadingForm.JUMPS, None, ""),
    ],
)
def test_what_a_meter_shows(text: str, form: ReadingForm, value: float | None, unit: str) -> None:
    assert parse_reading(text) == (form, value, unit)


@pytest.mark.parametrize("text", ["", "about 3 V", "3 V 4", "rising to nothing", "1,000"])
def test_what_is_no_reading(text: str) -> None:
    assert parse_reading(text) is None


def test_readings_are_read_with_their_hold_point_and_copy(tmp_path: Path) -> None:
    text = (
        "Point,Value,Mode,Hold point,Swapped,Copy\n"
        "+5V,5.02V,,logic rails,,1\n"
        "+3V3 to GND,rising to 2M,,,,2\n"
        "D4,0.59,diode,,,1\n"
        "D4,OL,diode,,yes,1\n"
        "VNEG,-12V,,logic rails,no,\n"
    )
    found = read_readings(written(tmp_path, "readings.csv", text), "readings.csv")
    assert found.findings == ()
    assert [copy for copy, _ in found.readings] == [1, 2, 1, 1, 0]
    rail, rising, forward, reverse, negative = (reading for _, reading in found.readings)
    assert (rail.mode, rail.value, rail.hold_point) == (Mode.VOLTS, 5.02, "logic rails")
    assert (rising.mode, rising.form, rising.value, rising.hold_point) == (Mode.OHMS, ReadingForm.RISING, 2e6, None)
    assert (forward.mode, forward.unit, forward.leads_swapped) == (Mode.DIODE, "V", False)
    assert (reverse.form, reverse.leads_swapped) == (ReadingForm.OVER_RANGE, True)
    assert (negative.value, negative.text) == (-12.0, "-12V")


def test_a_unit_column_serves_bare_numbers(tmp_path: Path) -> None:
    text = "Point;Reading;Unit\n+5V;5,02;V\nR4;4,7;k\nTP1;3V3;V\n"
    found = read_readings(written(tmp_path, "readings.csv", text), "readings.csv")
    assert [(r.value, r.mode) for _, r in found.readings] == [
        (5.02, Mode.VOLTS),
        (4700.0, Mode.OHMS),
        (3.3, Mode.VOLTS),
    ]
    assert [one.message.slug for one in found.findings] == ["readings-for-every-copy"]


def test_readings_that_cannot_be_read_are_told_and_left_out(tmp_path: Path) -> None:
    text = (
        "Point,Reading,Mode,Swapped,Copy\n"
        "+5V,5.02,,,1\n"
        "+5V,roughly five,,,1\n"
        "D4,OL,,,1\n"
        "D4,0.6,sideways,,1\n"
        "D4,0.6 A,diode,,1\n"
        "D4,0.6,diode,perhaps,1\n"
        "D4,0.6,diode,,left\n"
    )
    found = read_readings(written(tmp_path, "readings.csv", text), "readings.csv")
    assert found.readings == ()
    assert [(one.message.slug, one.where[0].line) for one in found.findings] == [
        ("reading-mode-open", 2),
        ("reading-unreadable", 3),
        ("reading-mode-open", 4),
        ("reading-mode-unreadable", 5),
        ("reading-mode-open", 6),
        ("reading-cell-unreadable", 7),
        ("reading-cell-unreadable", 8),
    ]
    assert all(sentence(one.message) for one in found.findings)
    assert found.findings[-1].message.fact("text") == "left"


def test_readings_without_their_columns_are_refused(tmp_path: Path) -> None:
    with pytest.raises(ReworkkitError):
        read_readings(written(tmp_path, "readings.csv", "Colour,Weight\nred,5\n"), "readings.csv")


def test_candidates_keep_figures_as_quantities_or_text(tmp_path: Path) -> None:
    text = (
        "Part number,For,Kind,Voltage (V),Ripple current,Dielectric,Price,Stock\n"
        'INV-100,"C5, C7-C8",aluminium electrolytic capacitor,25,850 mA,,0.42,120\n'
        "INV-200,,ceramic capacitor,16 V,,X7R,,\n"
        ",C9,film capacitor,63,,,,\n"
    )
    found = read_candidates(written(tmp_path, "candidates.csv", text), "candidates.csv")
    first, second = found.candidates
    assert first.fits == ("C5", "C7", "C8")
    assert first.kind == "aluminium_electrolytic_capacitor"
    assert {name: getattr(figure, "value", figure) for name, figure in first.figures.items()} == {
        "voltage": 25,
        "ripple_current": parse_quantity("850 mA").value,  # type: ignore[union-attr]
    }
    assert (first.price, first.stock) == ("0.42", "120")
    assert (second.fits, second.figures["dielectric"], second.price) == ((), "X7R", None)
    assert [(one.message.slug, one.where) for one in found.findings] == [
        ("candidate-without-number", (Where("candidates.csv", 4),))
    ]


def test_stock_counts_are_whole_numbers_or_open(tmp_path: Path) -> None:
    text = "Part number,Value,Package,Stock,Drawer\nINV-1,10k,0805,25,A3\nINV-2,1k,0805,some,A4\nINV-3,,,,\n,,,5,A5\n"
    found = read_stock(written(tmp_path, "stock.csv", text), "stock.csv")
    assert [(line.part_number, line.pieces, line.location) for line in found.lines] == [
        ("INV-1", 25, "A3"),
        ("INV-2", None, "A4"),
        ("INV-3", None, ""),
        ("", 5, "A5"),
    ]
    assert [one.message.slug for one in found.findings] == ["stock-count-unreadable", "stock-without-name"]
    assert found.input_file.role == "stock"
