"""The shopping list: sums, true identity, stock that serves or may serve, spares, prices, what cannot be ordered."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reworkkit import tables
from reworkkit.compute.difference import compare_with_list
from reworkkit.compute.shortage import Stocked, doubts_of, price_break, serves, shopping_list, spares_for
from reworkkit.compute.situation import situation_of_files
from reworkkit.model.board import Board, FittedList, FoundState
from reworkkit.model.difference import Difference
from reworkkit.model.facts import BoardFacts, PartFacts
from reworkkit.model.part import PartIdentity, StockLine
from reworkkit.model.shopping import ShoppingLine, Shortage
from reworkkit.model.values import Where
from tests.compute.comparison_boards import board, identity

SPARES = tables.rows("spares")
NONE = ({"kinds": "*", "sizes": "", "percent": "0", "least": "0", "why": ""},)


def with_states(made: Board, *words: tuple[str, str, str]) -> Board:
    """(ref, facet, value) statements; every other place counts as fitted."""
    states = tuple(
        FoundState(ref, value, ((facet, value),), "", None, Where("fitted.csv", n))
        for n, (ref, facet, value) in enumerate(words)
    )
    from dataclasses import replace

    return replace(made, fitted=FittedList(states, "fitted", True))


def difference(made: Board) -> Difference:
    return compare_with_list(made, situation_of_files(made))


def listed(made: Board, *stock: Stocked, copies: int = 1, spares: tuple[dict[str, str], ...] = NONE) -> Shortage:
    return shopping_list(made, (difference(made),) * copies, stock, spares)


def stocked(pieces: int, value: str = "", package: str = "", number: str = "", kind: str = "resistor") -> Stocked:
    line = StockLine(number, value, package, "", pieces, "drawer 1", "", Where("stock.csv", 2))
    return Stocked(line, {kind: identity(kind, value, package, number)} if value else {})


def resistors(*values: str) -> Board:
    parts = {f"R{n}": identity("resistor", value, "0603") for n, value in enumerate(values, start=1)}
    return with_states(board(parts), *((ref, "place", "empty") for ref in parts))


def only(result: Shortage) -> ShoppingLine:
    (line,) = result.lines
    return line


def test_one_value_written_three_ways_is_one_line() -> None:
    """IEC 60062: 4k7, 4700 and 4.7k are one value."""
    line = only(listed(resistors("4k7 1%", "4700R 1 %", "4.7k 1%")))
    assert (line.to_buy, line.refs) == (3, ("R1", "R2", "R3"))


def test_33p_and_33_pf_are_one_and_another_voltage_is_not() -> None:
    parts = {
        "C1": identity("capacitor_ceramic", "33p 50V C0G", "0603"),
        "C2": identity("capacitor_ceramic", "33 pF 50 V NP0", "0603"),
        "C3": identity("capacitor_ceramic", "33p 100V C0G", "0603"),
        "C4": identity("capacitor_ceramic", "33p 50V C0G", "0805"),
    }
    made = with_states(board(parts), *((ref, "place", "empty") for ref in parts))
    assert sorted(line.refs for line in listed(made).lines) == [("C1", "C2"), ("C3",), ("C4",)]


def test_damaged_and_wrong_parts_are_bought_and_reversed_ones_are_not() -> None:
    parts = {f"D{n}": identity("diode", "S1G", "SMA", "S1G") for n in range(1, 5)}
    made = with_states(
        board(parts), ("D1", "part", "damaged"), ("D2", "part", "wrong_part"), ("D3", "way_round", "reversed")
    )
    line = only(listed(made))
    assert (line.missing, line.to_replace, line.to_buy) == (0, 2, 2)


def test_stock_is_taken_off_once() -> None:
    """Two lines may not both take the last piece."""
    made = resistors("10k 1%", "10k 1%", "22k 1%")
    result = listed(made, stocked(1, "10k 1%", "0603"))
    assert {line.value: (line.from_stock, line.to_buy) for line in result.lines} == {
        "10 kohm 1 %": (1, 1),
        "22 kohm 1 %": (0, 1),
    }


@pytest.mark.parametrize(
    ("value", "package", "answer"),
    [
        ("10k 1%", "0603", ()),
        ("10k 0.5%", "0603", ()),
        ("10k", "0603", ("tolerance",)),
        ("10k 5%", "0603", None),
        ("10k 1%", "0805", None),
        ("10k 1%", "", ("package",)),
        ("1k 1%", "0603", None),
        ("100k 1%", "0603", None),
    ],
)
def test_stock_serves_only_where_every_rating_is_stated(
    value: str, package: str, answer: tuple[str, ...] | None
) -> None:
    assert serves(identity("resistor", "10k 1%", "0603"), stocked(9, value, package)) == answer


def test_stock_by_type_number() -> None:
    want = identity("mosfet", "IRLZ44NS", "TO-263", "IRLZ44NS")
    assert serves(want, stocked(4, "IRLZ44NS", "TO-263", "IRLZ44NS", "mosfet")) == ()
    assert serves(want, stocked(4, "IRLZ44N", "TO-220", "IRLZ44N", "mosfet")) is None
    assert serves(want, stocked(4, "IRLZ44NS", "TO-220", "IRLZ44NS", "mosfet")) is None


def test_stock_that_may_do_is_told_and_not_taken() -> None:
    result = listed(resistors("10k 1%"), stocked(40, "10k", "0603"))
    assert only(result).to_buy == 1
    assert [one.message.slug for one in result.findings] == ["shortage-stock-maybe"]


def test_several_boards_add_up() -> None:
    line = only(listed(resistors("10k 1%", "10k 1%"), stocked(3, "10k 1%", "0603"), copies=4))
    assert (line.missing, line.from_stock, line.to_buy, line.copies) == (8, 3, 5, (2, 2, 2, 2))


@settings(max_examples=60, deadline=None)
@given(st.integers(1, 6), st.integers(0, 30), st.integers(1, 5))
def test_sums_hold(places: int, pieces: int, copies: int) -> None:
    """Invariant: to_buy + from_stock = missing + to_replace + spares, and never more is taken than there is."""
    made = resistors(*["10k 1%"] * places)
    line = only(shopping_list(made, (difference(made),) * copies, (stocked(pieces, "10k 1%", "0603"),), SPARES))
    assert line.to_buy + line.from_stock == line.missing + line.to_replace + line.spares
    assert line.missing == places * copies
    assert 0 <= line.from_stock <= pieces
    assert line.to_buy >= 0


def test_spares_by_how_easily_a_part_is_lost() -> None:
    """From memory of hand work, the shipped table: 0402 more than 0603 more than 1206; none of a connector."""
    counts = [spares_for(identity("resistor", "10k", size), 20, SPARES) for size in ("0402", "0603", "1206")]
    assert counts == sorted(counts, reverse=True)
    assert counts[0] > counts[2] > 0
    assert spares_for(identity("connector", "plug", "Header 1x4 2.5"), 3, SPARES) == 0
    assert spares_for(identity("resistor", "10k", "0402"), 0, SPARES) == 0


def test_no_spares_of_dear_parts_and_rare_ones_come_first() -> None:
    parts = {
        "R1": identity("resistor", "10k 1%", "0603"),
        "Q1": identity("mosfet", "IRLZ44NS", "TO-263", "IRLZ44NS"),
        "U1": identity("magnetic_current_sensor", "S-1", "SIP-4", "S-1"),
    }
    facts = BoardFacts(parts={"U1": PartFacts(rare=True), "Q1": PartFacts(dear=True)})
    made = with_states(board(parts, facts=facts), *((ref, "place", "empty") for ref in parts))
    lines = shopping_list(made, (difference(made),), (), SPARES).lines
    assert [(line.refs[0], line.urgency) for line in lines] == [("U1", "rare"), ("Q1", "dear"), ("R1", "plain")]
    assert [line.spares for line in lines][:2] == [0, 0]


@pytest.mark.parametrize(
    ("part", "slugs"),
    [
        (identity("capacitor_ceramic", "100n", "0603"), {"shortage-doubt-volts"}),
        (identity("resistor", "", "0603"), {"shortage-doubt-value"}),
        (identity("resistor", "10k", ""), {"shortage-doubt-package"}),
        (identity("opamp", "amplifier", "SOIC-8"), {"shortage-doubt-number"}),
        (identity("opamp", "LM358", "SOIC-8"), set()),
        (identity("resistor", "10k 1%", "0603"), set()),
    ],
)
def test_what_cannot_be_ordered_is_named(part: PartIdentity, slugs: set[str]) -> None:
    assert {one.slug for one in doubts_of(part)} == slugs


@pytest.mark.parametrize(
    ("heading", "cell", "expected"),
    [
        ("Unit price", "0.12 EUR", (1, "0.12", "EUR")),
        ("Price 100+ (USD)", "0,041", (100, "0.041", "USD")),
        ("Preis ab 25", "€1.50", (25, "1.50", "€")),
        ("Price", "ask", None),
    ],
)
def test_price_columns(heading: str, cell: str, expected: tuple[int, str, str] | None) -> None:
    found = price_break(heading, cell)
    assert (tuple(found) if found else None) == expected


def test_nothing_is_bought_where_nobody_has_looked() -> None:
    parts = {"R1": identity("resistor", "10k 1%", "0603")}
    result = shopping_list(board(parts), (difference(board(parts)),), (), SPARES)
    assert (only(result).to_buy, only(result).not_inspected) == (0, 1)
    assert result.not_judged
