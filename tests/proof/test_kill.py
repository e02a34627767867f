"""kill -9 at random moments over tick, set, reading, merge, refresh and begin: nothing acknowledged is lost."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork and SIGKILL")


def counts_of(tmp_path: Path, kills: int, seed: int) -> dict:
    done = subprocess.run(
        [sys.executable, "-m", "tests.proof.kill_driver", str(tmp_path), str(kills), str(seed)],
        capture_output=True,
        text=True,
        check=False,
        cwd=Path(__file__).parents[2],
    )
    assert done.returncode == 0, done.stderr
    print(done.stdout)
    return dict(json.loads(done.stdout))


def judge(counts: dict, kills: int) -> None:
    assert counts["kills"] == kills
    assert counts["acknowledged"] >= kills // 2, "the worker must get to work between kills"
    assert (counts["lost"], counts["corrupt"], counts["derived_wrong"]) == (0, 0, 0)
    assert "corrupt" not in counts["begin"]


def test_twenty_kills(tmp_path: Path) -> None:
    judge(counts_of(tmp_path, 20, 1), 20)


@pytest.mark.proof
@pytest.mark.timeout(3600)
def test_a_thousand_kills(tmp_path: Path) -> None:
    counts = counts_of(tmp_path, 1000, 1000)
    judge(counts, 1000)
    assert set(counts["by_command"]) == {"tick", "set", "reading", "merge", "refresh"}
    assert counts["killed_in_the_middle_of_writing"] > 0, "some kills must hit a transaction"
    assert set(counts["begin"]) == {"none", "whole"}
