"""board.toml [loads]: figures by their unit in any words; watts become amps by P = U I; what is open is refused."""

from decimal import Decimal

import pytest

from reworkkit.errors import ReworkkitError
from reworkkit.read.board_facts import read_board_facts


def loads(tmp_path, written, more=""):
    (tmp_path / "board.toml").write_text(f"{more}[loads]\nX = {written}\n", encoding="utf-8")
    return read_board_facts(tmp_path).facts.loads["X"]


def figure(quantity):
    return quantity and (float(quantity.value), quantity.unit)


@pytest.mark.parametrize(
    ("written", "amps", "ohms", "what"),
    [
        ('"80 mA"', 0.08, None, None),
        ('"12 V fan, 80 mA"', 0.08, None, "fan"),
        ('"22 mA (the module itself)"', 0.022, None, "the module itself"),
        ('"LED strip 300mA @ 12V"', 0.3, None, "LED strip"),
        ('"12 V / 100 mA"', 0.1, None, None),
        ('"~20 mA"', 0.02, None, None),
        ('"pump M1 0.5 A +/- 10 %"', 0.5, None, "pump M1"),
        ('"relay 400R"', None, 400, "relay"),
        ('"47R 5 W"', None, 47, None),
        ('"12 V lamp 6 W"', 0.5, None, "lamp"),
        ('{ watts = "6 W", volts = "24 V" }', 0.25, None, None),
    ],
)
def test_a_load_in_an_owners_words(tmp_path, written, amps, ohms, what):
    found = loads(tmp_path, written)
    assert figure(found.amps) == (amps and (amps, "A"))
    assert figure(found.ohms) == (ohms and (ohms, "ohm"))
    assert found.what == what
    assert found.from_volts is None


def test_watts_are_at_the_volts_of_the_load_else_of_its_net(tmp_path):
    rail = '[rails]\nX = "24 V"\n'
    assert loads(tmp_path, '"12 W"', rail).amps.value == Decimal("0.5")
    assert loads(tmp_path, '"12 V 12 W"', rail).amps.value == 1


def test_watts_at_no_volts_are_not_taken_at_those_of_the_net(tmp_path):
    with pytest.raises(ReworkkitError) as refused:
        loads(tmp_path, '{ watts = "6 W", volts = "0 V" }', '[rails]\nX = "24 V"\n')
    assert refused.value.message.slug == "load-watts-without-volts"


def test_where_a_load_starts_to_draw_keeps_its_own_word(tmp_path):
    assert figure(loads(tmp_path, '"0.5 A from 9 V"').from_volts) == (9, "V")


@pytest.mark.parametrize(
    ("written", "slug"),
    [
        ('"fan"', "value-unreadable"),
        ('"10"', "value-without-unit"),
        ('"300mAA"', "value-unreadable"),
        ('"2 x 80 mA"', "value-without-unit"),
        ('"80 mA 400R"', "load-amps-and-ohms"),
        ('"6 W"', "load-watts-without-volts"),
        ('"0 V 6 W"', "load-watts-without-volts"),
    ],
)
def test_a_load_that_leaves_its_draw_open_is_refused_with_its_line(tmp_path, written, slug):
    with pytest.raises(ReworkkitError) as refused:
        loads(tmp_path, written)
    assert (refused.value.message.slug, refused.value.where[0].line) == (slug, 2)
