"""Value cells as real lists write them; tolerance letters of IEC 60062; preferred values of IEC 60063."""

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reworkkit.model.part_value import (
    SERIES,
    in_series,
    main_unit,
    nearest_in_series,
    parse_part_value,
    tolerance_of_letter,
)
from reworkkit.model.values import Quantity

ESERIES = "IEC 60063, as PyPI eseries 1.2.1 has it"
LETTERS = "code chart of a service manual (Sanyo DP19649, p 41)"
LETTERS_MEMORY = "IEC 60062 clause 4, from memory"


def _text(quantity: Quantity | None) -> str | None:
    return None if quantity is None else f"{quantity.value.normalize():f} {quantity.unit}"


@pytest.mark.parametrize(
    ("text", "kind", "main", "tolerance", "volts", "watts", "dielectric"),
    [
        ("2u2 10 % 25V X7R", "capacitor_ceramic", "0.0000022 F", "10 %", "25 V", None, "X7R"),
        ("100nF_0402_16V", "capacitor", "0.0000001 F", None, "16 V", None, None),
        ("R_500_0805", "resistor", "500 ohm", None, None, None, None),
        ("x7r 1u", "capacitor", "0.000001 F", None, None, None, "X7R"),
        ("tant 10uF", "capacitor_tantalum", "0.00001 F", None, None, None, None),
        ("560pF C0G", "capacitor", "0.00000000056 F", None, None, None, "C0G"),
        ("560pF NP0", "capacitor", "0.00000000056 F", None, None, None, "C0G"),
        ("47000R", "resistor", "47000 ohm", None, None, None, None),
        ("22uF 25V", "capacitor", "0.000022 F", None, "25 V", None, None),
        ("820 1%", "resistor", "820 ohm", "1 %", None, None, None),
        ("2,2k", "resistor", "2200 ohm", None, None, None, None),
        ("15 Ohm, 1%, 1/16W, 0402", "resistor", "15 ohm", "1 %", None, "0.0625 W", None),
        ("10k*", "resistor", "10000 ohm", None, None, None, None),
        ("1.5k 0.1%", "resistor", "1500 ohm", "0.1 %", None, None, None),
        ("4K7J", "resistor", "4700 ohm", "5 %", None, None, None),
        ("4k7F", "resistor", "4700 ohm", "1 %", None, None, None),
        ("4n7F", "capacitor", "0.0000000047 F", None, None, None, None),
        ("100nK", "capacitor", "0.0000001 F", "10 %", None, None, None),
        ("10 J", "resistor", "10 ohm", "5 %", None, None, None),
        ("4k7,1%", "resistor", "4700 ohm", "1 %", None, None, None),
        ("10 % 47k", "resistor", "47000 ohm", "10 %", None, None, None),
        ("24MHz_8pF_2x1.6mm", "crystal", "24000000 Hz", None, None, None, None),
        ("600R@100MHz", "ferrite_bead", "600 ohm", None, None, None, None),
        ("3.3uH 20%", "inductor", "0.0000033 H", "20 %", None, None, None),
        ("5V1", "diode_zener", "5.1 V", None, None, None, None),
        ("100k +/-1%", "resistor", "100000 ohm", "1 %", None, None, None),
        ("220/25", "capacitor", "0.00022 F", None, "25 V", None, None),
        (".1", "capacitor_ceramic", "0.0000001 F", None, None, None, None),
        ("1000u/35", "capacitor", "0.001 F", None, "35 V", None, None),
    ],
)
def test_cells_taken_apart(
    text: str,
    kind: str,
    main: str,
    tolerance: str | None,
    volts: str | None,
    watts: str | None,
    dielectric: str | None,
) -> None:
    """Independent: read by a person."""
    value = parse_part_value(text, kind)
    assert (_text(value.main), _text(value.tolerance), _text(value.volts), _text(value.watts), value.dielectric) == (
        main,
        tolerance,
        volts,
        watts,
        dielectric,
    )
    assert value.text == text


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("1206", "resistor"),
        ("0402", "resistor"),
        ("10", "capacitor"),
        ("104", "capacitor"),
        ("4/20", "capacitor"),
        ("1,000", "resistor"),
        ("LM358", "opamp"),
        ("BZX84C5V1", "diode_zener"),
        ("", "resistor"),
        ("green", "led"),
    ],
)
def test_unclear_cells_stay_text(text: str, kind: str) -> None:
    value = parse_part_value(text, kind)
    assert value.main is None
    assert value.text == text


def test_description_gives_no_bare_number() -> None:
    assert parse_part_value("resistor 100 pieces", "resistor", bare_numbers=False).main is None


@pytest.mark.parametrize(
    ("letter", "kind", "value", "expected", "source"),
    [
        ("C", "capacitor_ceramic", "4.7e-12", "0.00000000000025 F", LETTERS),
        ("D", "capacitor_ceramic", "4.7e-12", "0.0000000000005 F", LETTERS),
        ("D", "resistor", "100", "0.5 %", LETTERS),
        ("F", "resistor", "100", "1 %", LETTERS),
        ("G", "resistor", "100", "2 %", LETTERS),
        ("J", "capacitor_ceramic", "1e-9", "5 %", LETTERS),
        ("K", "capacitor_ceramic", "1e-9", "10 %", LETTERS),
        ("M", "capacitor_ceramic", "1e-9", "20 %", LETTERS),
        ("N", "resistor", "100", "30 %", LETTERS),
        ("B", "resistor", "100", "0.1 %", LETTERS_MEMORY),
        ("C", "resistor", "100", "0.25 %", LETTERS_MEMORY),
        ("P", "resistor", "100", "0.02 %", LETTERS_MEMORY),
        ("W", "resistor", "100", "0.05 %", LETTERS_MEMORY),
        ("H", "capacitor_ceramic", "1e-9", "3 %", LETTERS_MEMORY),
        ("P", "capacitor_ceramic", "1e-9", None, LETTERS),
        ("Z", "capacitor_ceramic", "1e-9", None, LETTERS),
    ],
)
def test_tolerance_letters(
    published: Any, letter: str, kind: str, value: str, expected: str | None, source: str
) -> None:
    main = Quantity(Decimal(value), main_unit(kind) or "", value)
    found = _text(tolerance_of_letter(letter, kind, main))
    published(f"tolerance letter {letter} of a {kind}", found, expected, source=source)


MEMBERS = {
    "E3": "10 22 47",
    "E6": "10 15 22 33 47 68",
    "E12": "10 12 15 18 22 27 33 39 47 56 68 82",
    "E24": "10 11 12 13 15 16 18 20 22 24 27 30 33 36 39 43 47 51 56 62 68 75 82 91",
    "E48": "100 105 110 115 121 127 133 140 147 154 162 169 178 187 196 205 215 226 237 249 261 274 287 301 "
    "316 332 348 365 383 402 422 442 464 487 511 536 562 590 619 649 681 715 750 787 825 866 909 953",
    "E96": "100 102 105 107 110 113 115 118 121 124 127 130 133 137 140 143 147 150 154 158 162 165 169 174 "
    "178 182 187 191 196 200 205 210 215 221 226 232 237 243 249 255 261 267 274 280 287 294 301 309 "
    "316 324 332 340 348 357 365 374 383 392 402 412 422 432 442 453 464 475 487 499 511 523 536 549 "
    "562 576 590 604 619 634 649 665 681 698 715 732 750 768 787 806 825 845 866 887 909 931 953 976",
}


@pytest.mark.parametrize("series", MEMBERS)
def test_preferred_values(published: Any, series: str) -> None:
    published(f"members of {series}", " ".join(map(str, SERIES[series])), MEMBERS[series], source=ESERIES)


def test_e192_departs_once(published: Any) -> None:
    off = [(round(100 * 10 ** (i / 192)), v) for i, v in enumerate(SERIES["E192"]) if v != round(100 * 10 ** (i / 192))]
    published("E192 against round(100 * 10^(i/192))", off, [(919, 920)], source=ESERIES)


@settings(max_examples=100, deadline=None)
@given(st.decimals("1e-12", "1e9", allow_nan=False, allow_infinity=False), st.sampled_from(sorted(SERIES)))
def test_nearest_is_a_member_and_near(value: Decimal, series: str) -> None:
    """Invariant: the nearest member is in the series and no farther than the widest step."""
    if value <= 0:
        return
    nearest = nearest_in_series(value, series)
    assert in_series(nearest, series)
    assert Decimal("0.65") < nearest / value < Decimal("1.55")


@settings(max_examples=100, deadline=None)
@given(st.text(max_size=30), st.sampled_from(["resistor", "capacitor", "inductor", "unknown", "ic", "crystal", "fuse"]))
def test_any_cell_is_read_without_error(text: str, kind: str) -> None:
    """Invariant: no cell of a list can stop the reader, and a value is never negative."""
    value = parse_part_value(text, kind)
    assert value.main is None or value.main.value >= 0


@pytest.mark.parametrize(
    ("text", "amps", "speed", "volts"),
    [
        ("T2A 250V", "2", "T", "250"),
        ("2A T", "2", "T", None),
        ("F500mA", "0.5", "F", None),
        ("FF10A 600V", "10", "FF", "600"),
        ("3.15 A slow", "3.15", "T", None),
        ("6.3A", "6.3", None, None),
        ("TR5 4A", "4", None, None),
    ],
)
def test_a_fuse_states_its_class(text: str, amps: str, speed: str | None, volts: str | None) -> None:
    """Independent: the class letters of IEC 60127, from memory; 2 A slow and 2 A fast are not the same part."""
    value = parse_part_value(text, "fuse")
    assert value.main is not None
    assert value.main.value == Decimal(amps)
    assert value.dielectric == speed
    assert (str(value.volts.value) if value.volts else None) == volts
