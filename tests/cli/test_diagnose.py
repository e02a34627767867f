"""`diagnose` on the example board: the words at the bench, the JSON contract, the page."""

import json
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from reworkkit.cli.commands import application

READINGS = """
VIN_F,23.9 V,volts,,logic rails,
+24V,23.6 V,volts,,logic rails,
+5V,5.02 V,volts,,logic rails,
+3V3,{rail} V,volts,,logic rails,
supply,31 mA,amps,,logic rails,
"""


@pytest.fixture(scope="module")
def answers(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """Return the JSON document, the words and the page of one board with a rail that is too high."""
    import shutil

    source = Path(__file__).resolve().parents[2] / "example_boards" / "greenhouse-valves"
    folder = Path(shutil.copytree(source, tmp_path_factory.mktemp("board") / "greenhouse-valves"))
    with (folder / "readings.csv").open("a", encoding="utf-8") as file:
        file.write(READINGS.format(rail="4.4").lstrip())
    run = CliRunner()
    document = run.invoke(application(), ["diagnose", str(folder), "--json"])
    words = run.invoke(application(), ["diagnose", str(folder), "--check"])
    return {"json": json.loads(document.stdout), "words": words}


def test_the_json_contract(answers: dict[str, Any]) -> None:
    found = answers["json"]
    assert found["format"] == "reworkkit.diagnose/1"
    assert found["verdict"] in ("no_fault_seen", "fault", "no_listed_fault_fits", "not_enough")
    for group in found["groups"]:
        assert group["certainty"] in ("almost_certainly", "probably", "one_of_these", "possible")
        assert all({"ref", "kind"} <= set(fault) for fault in group["faults"])
        assert 0 <= group["probability"] <= 1
    for check in found["next"]:
        assert {"check", "between", "powered", "answers"} <= set(check)
        assert check["cautions"] or check["powered"], "an unpowered check begins with volts first"


def test_a_rail_too_high_is_about_its_regulator(answers: dict[str, Any]) -> None:
    assert answers["json"]["verdict"] == "fault"
    assert {fault["ref"] for fault in answers["json"]["groups"][0]["faults"]} == {"U2"}


def test_what_is_written_down_already_is_said_and_is_not_the_finding(answers: dict[str, Any]) -> None:
    assert any("R8 of the wrong value" in line and "fitted.csv:" in line for line in answers["json"]["known"])
    assert any("U5 damaged" in line for line in answers["json"]["known_in_doubt"])
    assert "R8" not in {fault["ref"] for group in answers["json"]["groups"] for fault in group["faults"]}
    assert "Known already: " in answers["words"].stdout


def test_the_words_never_say_replace_or_safe(answers: dict[str, Any]) -> None:
    words = answers["words"].stdout.casefold()
    assert answers["words"].exit_code == 1, "--check: something is open"
    assert not [word for word in ("replace", "is safe", " pass ") if word in words]
    assert "measure next" in words
