"""`powerup` from the command line: text for a person, JSON for a program, exit codes."""

import json
from pathlib import Path
from typing import Any

import pytest

from reworkkit.cli.frame import Exit
from reworkkit.pipeline.opening import Request
from reworkkit.pipeline.powering import powerup
from reworkkit.show.power_text import power_is_open, power_json, print_power

CHECK_KEYS = {
    "id",
    "purpose",
    "point",
    "mode",
    "hold_point",
    "expect",
    "swapped",
    "refs",
    "fitted_digest",
    "why",
    "cost",
}
POINT_KEYS = {
    "name",
    "state",
    "supply",
    "feed",
    "limit",
    "charge_s",
    "needs",
    "protects",
    "unpowered",
    "powered",
    "stop",
    "cautions",
}


def test_the_document_keeps_its_contract(example_board: Any) -> None:
    answer = powerup(Request(example_board("greenhouse-valves")))
    document = json.loads(json.dumps(power_json(answer, "en")))
    assert document["format"] == "reworkkit.powerup/1"
    assert {"basis", "at_event", "findings", "not_judged", "hold_points"} <= set(document)
    for point in document["hold_points"]:
        assert set(point) >= POINT_KEYS
        assert point["state"] in ("open", "closed", "not_judged")
        assert point["supply"] == "VIN_RAW"
        for one in (*point["unpowered"], *point["powered"]):
            assert set(one) >= CHECK_KEYS
    ids = [one["id"] for point in document["hold_points"] for one in (*point["unpowered"], *point["powered"])]
    assert len(ids) == len(set(ids))


def test_the_text_says_what_matters(example_board: Any, capsys: pytest.CaptureFixture[str]) -> None:
    answer = powerup(Request(example_board("greenhouse-valves")), "logic rails")
    print_power(answer, "en", every=False)
    told = " ".join(capsys.readouterr().out.split())
    for words in ("WARNING", "U2.1", "on the pin of U2", "with the output off", "Leads swapped", "measure zero", "OFF"):
        assert words in told
    assert "safe" not in told
    assert "pass" not in told
    assert power_is_open(answer)


def test_an_unknown_hold_point_is_refused(example_board: Any, capsys: pytest.CaptureFixture[str]) -> None:
    from reworkkit.cli import main

    folder: Path = example_board("greenhouse-valves")
    assert main(["powerup", str(folder), "--hold-point", "nonsense"]) == Exit.NOTHING_DONE
    assert "logic rails" in capsys.readouterr().err
