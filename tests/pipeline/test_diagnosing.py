"""What the log says of how long a board stood under power, from the times of its readings."""

from pathlib import Path

import pytest

from reworkkit.cli.commands import application
from reworkkit.model.diagnosis import Diagnosis
from reworkkit.pipeline import diagnosing
from reworkkit.pipeline.job_readings import Probe, reading
from reworkkit.pipeline.opening import Request
from tests.compute.test_diagnosis import BOM, FACTS, NETLIST

SHOWN = (("VF", "30.2 V"), ("V12", "30 V"), ("V5", "5 V"), ("VIN", "30.3 V"), ("supply", "31 mA"))


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    from typer.testing import CliRunner

    for name, text in (("bom.csv", BOM), ("netlist.csv", NETLIST), ("board.toml", FACTS)):
        (tmp_path / name).write_text(text, encoding="utf-8")
    begun = CliRunner().invoke(application(), ["begin", str(tmp_path)])
    assert begun.exit_code == 0, begun.output
    return tmp_path


def measured(folder: Path, step_min: int) -> Diagnosis:
    """Return the diagnosis of readings that many minutes apart."""
    from reworkkit.model.job_view import Actor
    from reworkkit.model.vocabulary import Mode

    for n, (point, value) in enumerate(SHOWN):
        actor = Actor("ann", "bench", f"2026-01-02T03:{n * step_min:02}:00Z", lambda n=n: f"bench-{n:05}")
        mode = Mode.AMPS if point == "supply" else Mode.VOLTS
        reading(folder, point, value, actor, probe=Probe(mode, False, "rails"), anyway=True, reason="a test")
    return diagnosing.diagnose(Request(folder)).result


def test_the_time_under_power_comes_from_the_log(folder: Path) -> None:
    found = measured(folder, 3)
    assert found.over_stressed, "30 V on a capacitor of 25 V"
    told = found.over_stressed[0].how_long
    assert (told.slug, dict(told.facts)) == ("diagnose-how-long-minutes", {"count": "5", "minutes": "12"})


def test_readings_within_a_minute_say_no_time(folder: Path) -> None:
    told = measured(folder, 0).over_stressed[0].how_long
    assert (told.slug, dict(told.facts)) == ("diagnose-how-long", {"count": "5"})


def test_a_supply_that_was_on_without_a_stated_voltage_is_asked_for(folder: Path) -> None:
    facts = (folder / "board.toml").read_text(encoding="utf-8")
    (folder / "board.toml").write_text(facts.replace('supply = "VIN"', 'supply = "VIN, V9"'), encoding="utf-8")
    asked = [one for one in diagnosing.diagnose(Request(folder)).result.not_judged if one.about == ("V9",)]
    assert [one.because.slug for one in asked] == ["diagnose-supply-volts"]
