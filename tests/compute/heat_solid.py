"""The joints of the three-dimensional reference as sites of the ring model."""

import json
import math
from functools import cache
from pathlib import Path

import numpy as np

from reworkkit.compute.formulas.joint_heat import barrel_section, relief_resistance, tab_resistance
from reworkkit.compute.heat_demand.iron import Iron, gains
from reworkkit.compute.heat_demand.response import Response, respond
from reworkkit.compute.heat_demand.site import COPPER_J_PER_M3_K, FAR, Sheet, Site

FOLDER = Path(__file__).parent.parent / "heat_reference"
NAMES = sorted(path.stem for kind in ("tab", "pad", "hole") for path in FOLDER.glob(f"{kind}_*.json"))
OUNCE, T = 34.8e-6, 1.6e-3
SOLDER_HEAT = 7380.0 * (220.0 + 61000.0 / 235.0)


@cache
def reference(name: str) -> dict:
    return json.loads((FOLDER / f"{name}.json").read_text(encoding="utf-8"))


def site_of(case: dict) -> Site:
    ounces, side = case["ounces"] * OUNCE, case["board"] / 1e3
    disc = side / math.sqrt(math.pi)
    inner = Sheet(case["inner"] * OUNCE, disc) if case["inner"] else Sheet()
    edge = case["edge"] / 1e3 if case["edge"] else FAR
    second = case["second"] / 1e3 if case["second"] else FAR
    common = {"edge_m": edge, "second_edge_m": second}
    if case["kind"] == "hole":
        return _hole(case, ounces, disc, inner, common)
    size = case.get("size", (*case["land"], 0.0))
    area = size[0] * size[1] * 1e-6
    radius = math.sqrt(area / math.pi)
    pour = case["pour"] / 1e3 / math.sqrt(math.pi)
    top = Sheet(ounces, pour, 0.0, case.get("track", 0.0) / 1e3)
    bottom = Sheet(ounces, disc) if case["bottom"] else Sheet()
    metal = size[0] * size[1] * 1e-9 * size[2] * COPPER_J_PER_M3_K
    metal += size[0] * size[1] * 1e-6 * 0.15e-3 * SOLDER_HEAT
    return Site(False, radius, radius, radius, disc, T, (top, inner, inner, bottom), metal, 0, 0, 0, 0, **common)


def _hole(case: dict, ounces: float, disc: float, inner: Sheet, common: dict) -> Site:
    radius, lead = case["hole"] / 2e3, case["lead"] * 1e-6
    section, barrel = math.pi * radius**2, barrel_section(2 * radius, 25e-6)
    axial = barrel * 385 + (section - lead) * 58.0 + lead * case["lead_k"]
    heat = (barrel + lead) * COPPER_J_PER_M3_K + (section - lead) * SOLDER_HEAT
    gap = 0.0
    if case.get("spokes"):
        gap = relief_resistance(4, case["spokes"] / 1e3, 0.25e-3, case["land"] / 2e3 + 0.25e-3, 385.0 * ounces)
    plane = Sheet(ounces, disc, gap)
    row = {"row_m": 2.54e-3 * 4 / 3, "row_count": case["row"] - 1} if case["row"] else {}
    land = case["land"] / 2e3
    return Site(
        True,
        radius,
        land,
        land + 0.25e-3 if gap else land,
        disc,
        T,
        (plane, inner, inner, plane),
        0,
        axial,
        heat,
        0,
        0,
        **row,
        **common,
    )


def path_of(case: dict, solder_w_per_k: float = 58 * 0.15e-3) -> float:
    if case["kind"] != "tab":
        return 0.0
    across, along, height = (v / 1e3 for v in case["size"])
    sheet = 350.0 * height + solder_w_per_k + 385.0 * case["ounces"] * OUNCE
    return tab_resistance(along, across, sheet, 2.4e-3, height)


def iron_of(result: dict) -> Iron:
    one = np.ones(1)
    contact = 1.0 / (1.0 / result["contact_w_per_k"] + path_of(result["case"]))
    return Iron(0.6 * one, contact * one, 0.35 * one, 1.0 * one, 1e9)


def ours(name: str) -> tuple[Response, Iron]:
    result = reference(name)
    return respond((site_of(result["case"]),)), iron_of(result)


def compare(name: str) -> np.ndarray:
    """Return rows of time, our near and far rise, the reference's near and far rise, per kelvin of setting."""
    response, iron = ours(name)
    rows = []
    for time, near, far in reference(name)["rows"]:
        gain = gains(response, iron, time)
        rows.append((time, gain.near[0], gain.far[0], near, far))
    return np.array(rows)
