"""Junctions and loads: a current that the voltage between two nodes decides."""

from typing import NamedTuple

import numpy as np

from reworkkit.compute.formulas.junction import Array, Rows, diode_current
from reworkkit.compute.formulas.network.shapes import load_current
from reworkkit.compute.formulas.network.stamps import Stamps


class Junction(NamedTuple):
    """Junctions: their nodes, their figures, and 1 where one is fitted, -1 the wrong way round, 0 not at all."""

    anode: Rows
    cathode: Rows
    log_is: Array
    slope_v: Array
    series_ohm: Array
    there: Array


class Load(NamedTuple):
    """Loads: their nodes, what they draw [A], and from which voltage on [V]."""

    plus: Rows
    minus: Rows
    current: Array
    from_volts: Array


def add_junctions(those: Junction, full: Array, stamps: Stamps) -> None:
    """Add the currents through junctions."""
    sign = np.where(those.there < 0, -1.0, 1.0)
    across = sign * (full[:, those.anode] - full[:, those.cathode])
    current, slope = diode_current(across, those.log_is, those.slope_v, those.series_ohm)
    stamps.flow(those.anode, those.cathode, current * those.there)
    if stamps.slopes:
        slope = slope * np.abs(those.there)
        stamps.flow_slope(those.anode, those.cathode, those.anode, those.cathode, slope)


def add_loads(those: Load, full: Array, stamps: Stamps) -> None:
    """Add the currents of loads."""
    current, slope = load_current(full[:, those.plus] - full[:, those.minus], those.current, those.from_volts)
    stamps.flow(those.plus, those.minus, current)
    if stamps.slopes:
        stamps.flow_slope(those.plus, those.minus, those.plus, those.minus, slope)
