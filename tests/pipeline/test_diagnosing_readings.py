"""Which readings count as read under power, where no hold point tells."""

from dataclasses import replace
from pathlib import Path

from reworkkit.model.measuring import Reading
from reworkkit.model.vocabulary import Mode, ReadingForm
from reworkkit.pipeline.diagnosing import diagnosis_of, read_when_off
from reworkkit.pipeline.opening import Request, open_work
from reworkkit.pipeline.work import Work


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


def test_a_supply_whose_current_was_read_was_on_though_the_hold_point_names_another(tmp_path: Path) -> None:
    files = {
        "bom.csv": "Designator,Value,Package\nJ1,in,Terminal\nJ2,in,Terminal\nR1,1k,0603\nR2,1k,0603\n",
        "netlist.csv": "Net,Pins\nA,J1.1 R1.1\nB,J2.1 R2.1\nGND,J1.2 J2.2 R1.2 R2.2\n",
        "board.toml": 'name = "Two"\n[board]\nground = "GND"\n'
        '[supplies]\nA = "12 V, limit 0.1 A"\nB = "5 V, limit 0.1 A"\n'
        '[[hold_points]]\nname = "first"\nsupply = "A"\n',
    }
    for name, text in files.items():
        (tmp_path / name).write_text(text)
    work = open_work(Request(tmp_path))
    amps = [reading("supply", 0.012, Mode.AMPS, "first"), reading("B", 0.005, Mode.AMPS, "first")]
    for used in (amps[:1], amps):
        found = diagnosis_of(Work(work.board, replace(work.situation, readings=tuple(used))), tmp_path)
        assert found.verdict.value == "no_fault_seen"
        assert set(found.measured) == {one.point for one in used}
