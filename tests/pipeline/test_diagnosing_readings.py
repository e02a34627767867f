"""Which readings count as read under power, where no hold point tells."""

from reworkkit.model.measuring import Reading
from reworkkit.model.vocabulary import Mode, ReadingForm
from reworkkit.pipeline.diagnosing import read_when_off


def reading(point: str, value: float, mode: Mode = Mode.VOLTS, hold_point: str | None = None) -> Reading:
    unit = "A" if mode is Mode.AMPS else "V"
    return Reading(point, mode, ReadingForm.VALUE, value, unit, False, hold_point, f"{value} {unit}")


def test_a_switch_that_is_on_reads_nothing_under_power() -> None:
    assert read_when_off([reading("+12V", 11.9), reading("RELAY", 0.07)]) == set()


def test_nothing_but_nothing_is_a_board_that_is_off() -> None:
    assert read_when_off([reading("+12V", 0.02), reading("+5V", 0.0)]) == {0, 1}


def test_a_current_that_was_read_says_that_the_supply_was_connected() -> None:
    assert read_when_off([reading("supply", 0.0, Mode.AMPS), reading("+12V", 0.02)]) == set()


def test_volts_first_of_a_point_that_was_alive_is_the_board_that_is_off_again() -> None:
    assert read_when_off([reading("+12V", 11.9), reading("+12V", 0.03)]) == {1}


def test_a_reading_of_a_hold_point_is_read_there() -> None:
    assert read_when_off([reading("+12V", 0.02, hold_point="rails")]) == set()
