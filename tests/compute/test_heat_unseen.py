"""Joints worked out by an own finite volume script before the heat model's code was read, from files to setting.

`unseen.json` beside tests/heat_reference/unseen_reference.py. Two faults came to light and were mended (round
lands taken for square ones; a land whose rim no plane cools), so they are blind no longer: docs/heat.md has the first.
"""

import json
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from reworkkit.compute.heat_demand.figures import usual_tips
from reworkkit.compute.heat_demand.iron import gains
from reworkkit.compute.heat_demand.needed import alloy_wish, iron_on, model_of, need
from reworkkit.compute.heat_demand.scene import scene_of
from reworkkit.compute.joints import find_joints
from reworkkit.model.facts import BenchFacts
from reworkkit.read.folder import read_board
from tests.compute.heat_unseen_boards import BOARDS, write

STORED = Path(__file__).parent.parent / "heat_reference" / "unseen.json"
SOURCE = "independent: finite volumes in three dimensions (tests/heat_reference/unseen_reference.py)"
LIMIT = 0.03
"""A part of the rise."""
ROOM_C = 25.0


@cache
def stored() -> dict:
    return json.loads(STORED.read_text(encoding="utf-8"))


def test_every_board_has_a_reference_that_settles_with_the_mesh() -> None:
    assert set(stored()) == set(BOARDS)
    for name, found in stored().items():
        coarse, fine = (np.array(found[mesh]["held"])[2:4] for mesh in ("coarse", "fine"))
        assert np.abs(fine / coarse - 1).max() < 0.015, name


@pytest.mark.parametrize("name", BOARDS)
def test_from_the_files_to_the_setting(published, tmp_path: Path, name: str) -> None:
    write(name, tmp_path)
    board = read_board(tmp_path)
    joints = find_joints(board)
    scene = scene_of(board, joints, BenchFacts())
    place = max(
        (n for n, joint in enumerate(joints) if joint.pin == BOARDS[name].pin), key=lambda n: joints[n].area_mm2
    )
    right = stored()[name]["limit"]
    cases, tip = (scene.cases[place],), usual_tips()["medium"]
    model, wish = model_of(cases), alloy_wish(scene.solder, ROOM_C, right["dwell_s"])
    gain = gains(model.responses[0], iron_on(cases, tip), right["dwell_s"])
    rises = right["held"][right["times_s"].index(right["dwell_s"])]
    for end, got, expected in zip(right["ends"], (gain.near[0], gain.far[0]), rises, strict=False):
        published(f"{name}, rise of the {end} end", got, expected, source=SOURCE, tolerance=LIMIT)
    found = need(model, tip, wish)
    rise = float(found.middle_c[0]) - ROOM_C
    published(f"{name}, setting needed", rise, right["needed_c"] - ROOM_C, source=SOURCE, tolerance=LIMIT)
    assert found.low_c[0] <= right["needed_c"] <= found.high_c[0]
