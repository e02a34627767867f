"""Goods in: bands of parts in the hand, against tolerances worked by hand and drops of public tables."""

from dataclasses import replace

import pytest

from reworkkit.compute.difference import compare_with_list
from reworkkit.compute.goods_in import goods_in_checks
from reworkkit.compute.situation import situation_of_files
from reworkkit.model.check_sheet import CheckSheet
from reworkkit.model.facts import BenchFacts, BoardFacts, MeterFacts
from reworkkit.model.judging import judge
from reworkkit.model.measuring import Check, Reading
from reworkkit.model.part import PartIdentity
from reworkkit.model.quantity import parse_quantity
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import Mode, ReadingForm, ReadingVerdict
from tests.compute.comparison_boards import board, identity


def sheet(part: PartIdentity, limit: str = "2.8 V", ohms: str = "1 %", refs: tuple[str, ...] = ()) -> CheckSheet:
    meter = MeterFacts(ohms=ohms, diode_test_limit=parse_quantity(limit))
    made = board({"X1": part}, facts=BoardFacts(bench=BenchFacts(meter=meter)))
    return goods_in_checks(made, compare_with_list(made, situation_of_files(made)), {}, refs)


def first(part: PartIdentity, limit: str = "2.8 V", ohms: str = "1 %") -> Check:
    return sheet(part, limit, ohms).checks[0]


def band(check: Check) -> Band:
    assert isinstance(check.expect, Band)
    return check.expect


def verdict(
    check: Check, value: float | None, form: ReadingForm = ReadingForm.VALUE, swapped: bool = False
) -> ReadingVerdict:
    unit = "ohm" if check.mode is Mode.OHMS else "V"
    reading = Reading(check.point.text, check.mode, form, value, unit, swapped, None, "x")
    return judge(check, reading).verdict


def test_resistor_of_1_percent_on_a_1_percent_meter() -> None:
    """Worst case by hand: 10 k -2 % -0.2 ohm to +2 % +0.2 ohm (leads and contact, from memory)."""
    expect = band(first(identity("resistor", "10k 1%", "0603")))
    assert (expect.low, expect.high) == (pytest.approx(9799.8), pytest.approx(10200.2))


def test_a_decade_is_outside_and_the_neighbour_of_a_series_too() -> None:
    check = first(identity("resistor", "10k 1%", "0603"))
    assert [verdict(check, ohm) for ohm in (10e3, 1e3, 100e3, 9.1e3)] == [
        ReadingVerdict.INSIDE,
        *[ReadingVerdict.OUTSIDE] * 3,
    ]


def test_meter_with_digits() -> None:
    expect = band(first(identity("resistor", "100 1%", "0603"), ohms="0.5 % + 1 ohm"))
    assert (expect.low, expect.high) == (pytest.approx(97.3), pytest.approx(102.7))


def test_a_diode_reads_one_way() -> None:
    check = first(identity("diode", "1N4148", "DO-35", "1N4148"))
    assert band(check).low is not None
    assert verdict(check, 0.6) is ReadingVerdict.INSIDE
    assert verdict(check, None, ReadingForm.OVER_RANGE) is ReadingVerdict.OUTSIDE
    assert verdict(check, None, ReadingForm.OVER_RANGE, swapped=True) is ReadingVerdict.INSIDE


def test_schottky_and_silicon_are_told_apart() -> None:
    """Public tables: Schottky 0.15 to 0.45 V, silicon 0.6 to 0.7 V."""
    schottky = band(first(identity("diode_schottky", "SS34", "SMA", "SS34")))
    silicon = first(identity("diode", "1N4148", "DO-35", "1N4148"))
    assert schottky.nominal is not None
    assert verdict(silicon, schottky.nominal) is ReadingVerdict.OUTSIDE


def test_a_blue_led_on_a_weak_meter_reads_open() -> None:
    """Public tables: blue 3.0 to 3.6 V; a diode test that ends at 2 V cannot light it."""
    part = identity("led", "blue", "LED 0805")
    assert first(part, limit="2 V").expect is ReadingForm.OVER_RANGE
    red = first(identity("led", "red", "LED 0805"))
    assert band(red).low == pytest.approx(1.7 - 0.17, abs=0.06)


def test_a_top_beyond_the_meter_is_left_open() -> None:
    check = first(identity("led", "green", "LED 0805"), limit="2.8 V")
    assert band(check).high is None
    assert verdict(check, None, ReadingForm.OVER_RANGE) is ReadingVerdict.INSIDE


def test_a_low_zener_may_break_through_on_a_strong_meter() -> None:
    assert first(identity("diode_zener", "5.6 V", "SOD-123"), limit="2.8 V").swapped is ReadingForm.OVER_RANGE
    assert first(identity("diode_zener", "2.4 V", "SOD-123"), limit="2.8 V").swapped is None


def test_mosfet_has_body_diode_and_closed_gate() -> None:
    checks = sheet(identity("mosfet", "IRLZ44NS", "TO-263", "IRLZ44NS", "N-channel MOSFET")).checks
    assert [check.mode for check in checks] == [Mode.DIODE, Mode.OHMS]
    assert checks[0].why.slug == "goods-in-body-n"
    assert checks[1].expect is ReadingForm.OVER_RANGE
    other = sheet(identity("mosfet", "X1", "SOT-23", "X1", "P-channel MOSFET")).checks
    assert other[0].why.slug == "goods-in-body-p"


def test_a_shorted_capacitor_is_outside() -> None:
    check = first(identity("capacitor_tantalum", "22uF 10V", "3528-21"))
    assert verdict(check, 0.4) is ReadingVerdict.OUTSIDE
    assert verdict(check, 2e6, ReadingForm.RISING) is ReadingVerdict.INSIDE


def test_fuse_and_winding_are_through() -> None:
    for part in (identity("fuse", "5 A", "2410"), identity("inductor", "68uH", "Inductor 12x12x6")):
        check = first(part)
        assert verdict(check, 0.1) is ReadingVerdict.INSIDE
        assert verdict(check, None, ReadingForm.OVER_RANGE) is ReadingVerdict.OUTSIDE


def test_connectors_only_when_asked_for() -> None:
    part = identity("connector", "plug", "Header 1x4 2.5")
    assert not sheet(part).checks
    assert [check.mode for check in sheet(part, refs=("X1",)).checks] == [Mode.LOOK]


def test_unknown_kind_is_asked() -> None:
    part = replace(identity("resistor", "thing", ""), kind="unknown")
    assert sheet(part).not_judged[0].answer == '[parts] X1 = { kind = "____" }'


def test_every_check_is_unpowered_and_made_for_bought_parts() -> None:
    for kind, value in (("resistor", "10k"), ("led", "red"), ("optocoupler", "PC817"), ("transistor_bipolar", "BC847")):
        for check in sheet(identity(kind, value, "0603", value)).checks:
            assert check.hold_point is None
            assert check.id.startswith("goods_in:X1:")


@pytest.mark.parametrize(("package", "told"), [("0603", False), ("Disc P5", True)])
def test_a_ceramic_chip_is_not_put_aside_for_a_mark_it_does_not_carry(package: str, told: bool) -> None:
    """Common practice: most ceramic chips carry nothing; a leaded disc does."""
    part = identity("capacitor_ceramic", "100n 50V X7R", package)
    made = board({"X1": part})
    marks = {"X1": ("104",)}
    found = goods_in_checks(made, compare_with_list(made, situation_of_files(made)), marks)
    assert any("marked 104" in check.point.text for check in found.checks) is told
