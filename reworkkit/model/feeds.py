"""What to set on a supply that feeds a hold point beside the first one."""

from typing import NamedTuple

from reworkkit.model.values import Band


class FurtherFeed(NamedTuple):
    """One more supply that is on at a hold point: where it goes, what to set, and what its display may show."""

    supply: str
    feed: str
    volts_v: float
    limit_a: Band
    draw_a: Band
    charge_s: Band | None
    expect_a: Band
