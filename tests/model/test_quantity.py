"""Quantities against IEC 60062 and SI; traps of the field; round trips."""

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from reworkkit.model.quantity import UNITS, format_engineering, format_quantity, parse_quantity
from reworkkit.model.values import Quantity

RKM_ARTICLE = "RKM code article (IEC 60062), wikimili.com/en/RKM_code"
RKM_MEMORY = "IEC 60062 Tables II and III, from memory"
SI = "SI Brochure, prefixes"
INCH = "international inch of 1959: 25.4 mm"


@pytest.mark.parametrize(
    ("code", "ohm"),
    [
        ("R47", "0.47"),
        ("4R7", "4.7"),
        ("470R", "470"),
        ("4K7", "4700"),
        ("47K", "47000"),
        ("47K3", "47300"),
        ("470K", "470000"),
        ("4M7", "4700000"),
    ],
)
def test_rkm_resistance(published: Any, code: str, ohm: str) -> None:
    found = parse_quantity(code)
    assert found is not None
    assert found.unit == "ohm"
    published(f"RKM {code}, ohm", found.value, Decimal(ohm), source=RKM_ARTICLE)


@pytest.mark.parametrize(
    ("code", "farad"),
    [
        ("p47", "0.47e-12"),
        ("4p7", "4.7e-12"),
        ("47p", "47e-12"),
        ("n47", "0.47e-9"),
        ("4n7", "4.7e-9"),
        ("47n", "47e-9"),
        ("u47", "0.47e-6"),
        ("4u7", "4.7e-6"),
        ("4µ7", "4.7e-6"),
        ("4μ7", "4.7e-6"),
        ("4m7", "4.7e-3"),
    ],
)
def test_rkm_capacitance(published: Any, code: str, farad: str) -> None:
    found = parse_quantity(code, "F")
    assert found is not None
    published(f"RKM {code}, F", found.value, Decimal(farad), source=RKM_MEMORY)


@pytest.mark.parametrize(
    ("code", "ohm"), [("5L", "0.005"), ("4L7", "0.0047"), ("5R", "5"), ("1G", "1e9"), ("1T", "1e12")]
)
def test_rkm_rare_letters(published: Any, code: str, ohm: str) -> None:
    found = parse_quantity(code, "ohm")
    assert found is not None
    published(f"RKM {code}, ohm", found.value, Decimal(ohm), source=RKM_MEMORY)


@pytest.mark.parametrize(
    ("text", "value", "unit", "source"),
    [
        ("100 nF", "1e-7", "F", SI),
        ("0,22 µF", "2.2e-7", "F", SI),
        ("2,2k", "2200", "ohm", SI),
        ("4.7 kΩ", "4700", "ohm", SI),
        ("4.7 k\u2126", "4700", "ohm", SI),
        ("10mΩ", "0.01", "ohm", SI),
        ("10MΩ", "1e7", "ohm", SI),
        ("3V3", "3.3", "V", RKM_MEMORY),
        ("-12 V", "-12", "V", SI),
        ("−12 V", "-12", "V", SI),
        ("50 VDC", "50", "V", SI),
        ("250 mA", "0.25", "A", SI),
        ("1/4 W", "0.25", "W", "a quarter"),
        ("1/16W", "0.0625", "W", "a sixteenth"),
        ("22 µs", "2.2e-5", "s", SI),
        ("12.288MHz", "12288000", "Hz", SI),
        ("32.768 kHz", "32768", "Hz", SI),
        ("1.6 mm", "1.6", "mm", SI),
        ("63 mil", "1.6002", "mm", INCH),
        ("0.1 inch", "2.54", "mm", INCH),
        ("1/8 in", "3.175", "mm", INCH),
        ("35 um", "0.035", "mm", SI),
        ("35 µm copper", "0.035", "mm", SI),
        ("2 oz", "2", "oz", "ounce of copper on a square foot"),
        ("± 5 %", "5", "%", "percent"),
        ("20 ppm", "0.002", "%", "parts per million"),
        ("245 °C", "245", "C", SI),
        ("0.6 N m", "0.6", "N m", SI),
        ("60 cNm", "0.6", "N m", SI),
        ("62 K/W", "62", "K/W", SI),
        ("62 °C/W", "62", "K/W", "one degree difference is one kelvin"),
        ("185 mV/A", "0.185", "V/A", SI),
        ("13 mV/mT", "13", "V/T", SI),
        ("1.3 mV/G", "13", "V/T", "1 G is 0.1 mT"),
        ("36 J", "36", "J", SI),
        ("150 mg", "0.15", "g", SI),
        ("6 cm²", "600", "mm2", SI),
    ],
)
def test_units(published: Any, text: str, value: str, unit: str, source: str) -> None:
    found = parse_quantity(text)
    assert found is not None
    published(
        f"{text}", f"{found.value.normalize()} {found.unit}", f"{Decimal(value).normalize()} {unit}", source=source
    )


@pytest.mark.parametrize(
    ("text", "unit"),
    [
        ("1/4W", "ohm"),  # not 1 ohm
        ("10", "F"),  # a bare number in a capacitor row means nothing
        ("10", "V"),
        ("1,000", "ohm"),  # 1 or 1000
        ("1,000 ohm", None),
        ("10M", "F"),  # mega is no prefix of capacitance
        ("10k", "F"),
        ("100nF", "H"),
        ("5 V", "A"),
        ("٤k7", None),  # not an ASCII digit
        ("4٧0R", None),
        ("1n4148", None),
        ("2N2222", None),
        ("4E7", None),
        ("1.2.3", None),
        ("k", None),
        ("R", None),
        ("V33", None),
        ("", None),
        ("100 ppm/C", None),
        ("10 dB", None),
        ("1/0W", None),
    ],
)
def test_never_a_silent_misreading(text: str, unit: str | None) -> None:
    """Invariant: what is not clear is not read (traps of libraries.md, each misread by some library)."""
    assert parse_quantity(text, unit) is None


def test_milli_is_not_mega() -> None:
    """Invariant: case is never folded."""
    small, large = parse_quantity("1mohm"), parse_quantity("1Mohm")
    assert small is not None
    assert large is not None
    assert large.value == small.value * 10**9


def test_copper_thickness_as_weight(published: Any) -> None:
    found = parse_quantity("35 um", "oz")
    assert found is not None
    published("35 um of copper, oz", found.value, Decimal(1), source="common practice: 1 oz copper is called 35 um")


def test_kelvin_only_where_it_is_expected() -> None:
    assert parse_quantity("10 K") == Quantity(Decimal(10000), "ohm", "10 K")
    assert parse_quantity("10 K", "K") == Quantity(Decimal(10), "K", "10 K")


def test_number_without_unit_has_no_unit() -> None:
    assert parse_quantity("10") == Quantity(Decimal(10), "", "10")


FORMATTED = st.sampled_from(sorted(UNITS - {"oz"}))


@settings(max_examples=150, deadline=None)
@example(value=Decimal("4.7E-12"), unit="F")
@example(value=Decimal("12345678901234567890"), unit="ohm")
@given(
    value=st.decimals("-1e6", "1e9", allow_nan=False, allow_infinity=False, places=9),
    unit=FORMATTED,
)
def test_round_trip(value: Decimal, unit: str) -> None:
    """Invariant: what is written is read back, value and unit."""
    back = parse_quantity(format_quantity(Quantity(value, unit, "")), unit)
    assert back is not None
    assert (back.value, back.unit) == (value, unit)


@settings(max_examples=150, deadline=None)
@given(st.text(alphabet="0123456789.,kKMmunpRVFHWΩµ% /+-±eE", max_size=10))
def test_reading_is_stable(text: str) -> None:
    """Invariant: reading, writing and reading again changes nothing."""
    first = parse_quantity(text)
    if first is not None and first.unit:
        again = parse_quantity(format_quantity(first), first.unit)
        assert again is not None
        assert (again.value, again.unit) == (first.value, first.unit)


@pytest.mark.parametrize(
    ("value", "unit", "digits", "expected"),
    [
        (11.98, "V", 4, "11.98 V"),
        (4700.0, "ohm", 3, "4.7 kohm"),
        (1e-7, "F", 3, "100 nF"),
        (999.96, "ohm", 3, "1 kohm"),
        (0.0, "V", 3, "0 V"),
        (-0.0123, "A", 3, "-12.3 mA"),
        (1234.0, "mm", 3, "1230 mm"),
        (0.335, "mm", 2, "0.34 mm"),
    ],
)
def test_engineering_text(value: float, unit: str, digits: int, expected: str) -> None:
    """Independent: rounded by hand."""
    assert format_engineering(value, unit, digits) == expected
