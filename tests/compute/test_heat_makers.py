"""Steady resistance against a maker's measured table that no figure of the model was chosen by. h is frozen at 15."""

import math

import pytest

from reworkkit.compute.heat_demand.figures import figure
from reworkkit.compute.heat_demand.response import respond
from reworkkit.compute.heat_demand.site import Sheet, Site

OUNCE = 34.8e-6
JUNCTION_TO_CASE = 2.0
"""7-lead DD, K/W, from memory."""
DISC = math.sqrt(2500e-6 / math.pi)
ROWS = [(2500, 25.0), (1000, 27.0)]
"""Copper on top [mm2], measured K/W."""


def test_film_is_frozen() -> None:
    assert figure("film").value == 15.0


def resistance(top: float) -> float:
    core = math.sqrt(10.0 * 7.55e-6 / math.pi)
    sheets = (Sheet(OUNCE, math.sqrt(max(top, 101) * 1e-6 / math.pi)), Sheet(), Sheet(), Sheet(OUNCE, DISC))
    site = Site(False, core, core, core, DISC, 2.38e-3, sheets, 0.35, 0.0, 0.0, 0.0, 0.0, film_w_per_m2_k=15.0)
    return float(respond((site,)).steady()[0][0]) + JUNCTION_TO_CASE


@pytest.mark.parametrize(("top", "measured"), ROWS)
def test_dd_package_on_two_sided_copper(published, top: float, measured: float) -> None:
    what, source = f"DD package, {top} mm2 on top, 2500 mm2 behind", "Linear Technology LT1206, Table 1"
    published(what, resistance(top), measured, source=source, tolerance=0.15)


def test_land_alone_comes_out_high() -> None:
    """Known weakness: with 125 mm2 on top the maker has 35 K/W; leads and tracks of the coupon are not told."""
    assert 1.2 * 35.0 < resistance(125) < 1.6 * 35.0
