"""Marks printed on parts, against EIA-96, IEC 60062 and real records; encode and decode agree."""

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reworkkit.model.part_value import SERIES, parse_part_value
from reworkkit.model.value_marks import (
    capacitor_code,
    colour_rings,
    eia96_mark,
    eia96_ohms,
    eia198_mark,
    printed_marks,
    read_capacitor_code,
    read_colour_rings,
    read_eia198_mark,
    read_resistor_mark,
    resistor_number,
    tantalum_voltage_letter,
)

REPOSITORY = "marks on real boards in public repositories"
E96 = "EIA-96: the E96 list of IEC 60063 numbered from 100; letters from memory"
MEMORY = "from memory"


@pytest.mark.parametrize(
    ("mark", "ohm", "source"),
    [
        ("122", "1200", REPOSITORY),
        ("472", "4700", REPOSITORY),
        ("4R7", "4.7", REPOSITORY),
        ("01C", "10000", REPOSITORY),
        ("01F", "10000000", REPOSITORY),
        ("1002", "10000", MEMORY),
        ("4992", "49900", MEMORY),
        ("R100", "0.1", MEMORY),
        ("0", "0", "Royal Ohm sheet, jumper"),
        ("000", "0", "Royal Ohm sheet, jumper"),
        ("0000", "0", "Royal Ohm sheet, jumper"),
        ("01A", "100", E96),
        ("68X", "49.9", E96),
        ("68C", "49900", E96),
        ("96A", "976", E96),
        ("25B", "1780", E96),
    ],
)
def test_resistor_marks(published: Any, mark: str, ohm: str, source: str) -> None:
    published(f"resistor mark {mark}, ohm", read_resistor_mark(mark), (Decimal(ohm),), source=source)


def test_mark_with_two_meanings_gives_both() -> None:
    """Invariant: `47R` is 47 ohm, and by EIA-96 letter R the 47th member times 0.01."""
    assert read_resistor_mark("47R") == (Decimal(47), Decimal(SERIES["E96"][46]) / 100)


@pytest.mark.parametrize("mark", ["97A", "00A", "47Q", "A47", "", "12345", "4R7R"])
def test_no_mark_no_value(mark: str) -> None:
    assert read_resistor_mark(mark) == ()


@pytest.mark.parametrize(
    ("code", "farad"),
    [("104", "1e-7"), ("475", "4.7e-6"), ("229", "2.2e-12"), ("228", "0.22e-12"), ("4R7", "4.7e-12"), ("100", "1e-11")],
)
def test_capacitor_codes(published: Any, code: str, farad: str) -> None:
    published(f"capacitor code {code}, F", read_capacitor_code(code), Decimal(farad).normalize(), source=MEMORY)


def test_eia198(published: Any) -> None:
    published("EIA-198 mark S3, F", read_eia198_mark("S3"), Decimal("4.7e-9"), source="EIA-198, from memory")
    published("EIA-198 mark of 4.7 nF", eia198_mark(Decimal("4.7e-9")), "S3", source="EIA-198, from memory")


@pytest.mark.parametrize(
    ("rings", "ohm", "percent"),
    [
        ("brown black orange gold", "10000", "5"),
        ("yellow violet red gold", "4700", "5"),
        ("yellow violet black brown brown", "4700", "1"),
        ("red red gold gold", "2.2", "5"),
        ("brown black black", "10", "20"),
        ("blue grey silver silver", "0.68", "10"),
    ],
)
def test_colour_rings(published: Any, rings: str, ohm: str, percent: str) -> None:
    found = read_colour_rings(tuple(rings.split()))
    published(f"rings {rings}", found, (Decimal(ohm), Decimal(percent)), source="IEC 60062 Table I, from memory")
    assert colour_rings(Decimal(ohm), Decimal(percent)) == tuple(rings.split())


def test_tantalum_letters(published: Any) -> None:
    volts = ["4", "6.3", "10", "16", "20", "25", "35", "50"]
    letters = "".join(tantalum_voltage_letter(Decimal(v)) or "?" for v in volts)
    published("tantalum voltage letters of 4 6.3 10 16 20 25 35 50 V", letters, "GJACDEVT", source=MEMORY)


E24_VALUES = st.builds(lambda m, p: Decimal(m).scaleb(p), st.sampled_from(SERIES["E24"]), st.integers(-1, 7))
E96_VALUES = st.builds(lambda m, p: Decimal(m).scaleb(p), st.sampled_from(SERIES["E96"]), st.integers(-2, 5))


@settings(max_examples=100, deadline=None)
@given(E24_VALUES)
def test_numbers_and_rings_round_trip(ohms: Decimal) -> None:
    """Invariant: what is printed is read back."""
    mark = resistor_number(ohms)
    assert mark is not None
    assert ohms in read_resistor_mark(mark)
    rings = colour_rings(ohms, Decimal(5))
    assert rings is not None
    assert read_colour_rings(rings) == (ohms, Decimal(5))


@settings(max_examples=100, deadline=None)
@given(E96_VALUES)
def test_eia96_round_trip(ohms: Decimal) -> None:
    """Invariant: what is printed is read back."""
    mark = eia96_mark(ohms)
    assert mark is not None
    assert eia96_ohms(mark) == ohms


@settings(max_examples=100, deadline=None)
@given(st.sampled_from(SERIES["E24"]), st.integers(-13, -6))
def test_capacitor_code_round_trip(member: int, power: int) -> None:
    """Invariant: what is printed is read back; EIA-198 too where its letter exists."""
    farads = Decimal(member).scaleb(power)
    code = capacitor_code(farads)
    assert code is not None
    assert read_capacitor_code(code) == farads
    letter = eia198_mark(farads)
    assert letter is None or read_eia198_mark(letter) == farads


@pytest.mark.parametrize(
    ("kind", "text", "package", "expected"),
    [
        ("resistor", "4k7", "R chip 0805", ("472", "4701")),
        ("resistor", "49.9k 1%", "R chip 0603", ("4992", "68C")),
        ("resistor", "10k", "R chip 0402", ()),
        ("resistor", "10k 5%", "R axial 0207", ("brown black orange gold",)),
        ("capacitor_ceramic", "100nF", "Disc P5", ("104",)),
        ("capacitor_tantalum", "10uF 16V", "Moulded 3216-18", ("106", "C106")),
        ("capacitor_aluminium_electrolytic", "47uF", "Can 6.3x5.4", ("47",)),
        ("ic", "LM358", "SOIC-8", ()),
    ],
)
def test_printed_marks(kind: str, text: str, package: str, expected: tuple[str, ...]) -> None:
    """Independent: written down by a person from the codes above."""
    assert printed_marks(kind, parse_part_value(text, kind), package) == expected
