"""Accepted substitutes in the places of the listed parts; rejected and unknown ones."""

from decimal import Decimal

from reworkkit.compute.effective_board import effective_board
from reworkkit.model.board import Board
from reworkkit.model.facts import BoardFacts, PartFacts
from reworkkit.model.job import Situation, Substitution
from reworkkit.model.values import Quantity
from reworkkit.model.vocabulary import Basis
from tests.compute.comparison_boards import board, identity, row

OLD = identity("capacitor_tantalum", "22uF 16V", "3528-21", "T-22")
NEW = identity("capacitor_polymer_aluminium", "47uF 10V", "7343-31", "P-47")
FACTS = PartFacts(role="output", volts=Quantity(Decimal(16), "V", "16 V"), rare=True, pins={"+": "1", "-": "2"})


def situation(*used: tuple[str, str, bool]) -> Situation:
    said = tuple(Substitution(ref, part, "why", "not_judged", accepted, (), "e1") for ref, part, accepted in used)
    return Situation(1, Basis.JOB, 5, {}, substitutions=said)


def made() -> Board:
    rows = (row("P-47", "C1", "capacitor_polymer_aluminium", pin_order="- +"),)
    return board({"C1": OLD, "C2": OLD}, rows, facts=BoardFacts(parts={"C1": FACTS}))


def test_without_substitutes_the_board_is_the_same() -> None:
    listed = made()
    assert effective_board(listed, situation(), {}) is listed
    assert effective_board(listed, situation(("C1", "P-47", False)), {"P-47": NEW}) is listed


def test_kind_value_and_pins_come_from_the_substitute_and_the_place_stays() -> None:
    used = effective_board(made(), situation(("C1", "P-47", True)), {"P-47": NEW})
    assert used.parts["C1"].identity is NEW
    assert used.parts["C2"].identity is OLD
    facts = used.facts.parts["C1"]
    assert (facts.role, facts.volts, facts.rare, facts.pins) == ("output", None, None, {"-": "1", "+": "2"})
    assert [one.message.slug for one in used.findings] == ["substitute-in-place"]


def test_a_substitute_of_which_only_the_name_is_known_is_told() -> None:
    used = effective_board(made(), situation(("C1", "X-9", True)), {})
    assert used.parts["C1"].identity.value == OLD.value
    assert used.parts["C1"].identity.part_number == "X-9"
    assert [(one.message.slug, one.severity.value) for one in used.findings] == [
        ("substitute-figures-not-known", "check")
    ]


def test_a_pin_order_with_a_word_twice_keeps_every_pin() -> None:
    rows = (row("S-8", "C1", "capacitor_polymer_aluminium", pin_order="IP+ IP+ IP- IP-"),)
    listed = board({"C1": OLD}, rows, facts=BoardFacts(parts={"C1": FACTS}))
    pins = effective_board(listed, situation(("C1", "S-8", True)), {"S-8": NEW}).facts.parts["C1"].pins
    assert list(pins.values()) == ["1", "2", "3", "4"]
