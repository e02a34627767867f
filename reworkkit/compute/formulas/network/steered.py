"""Switches that something beside them closes: load switches by a pin, contacts by the coil or lamp of their part."""

from collections.abc import Callable, Mapping
from typing import NamedTuple

import numpy as np

from reworkkit.compute.formulas.junction import THERMAL_VOLTAGE, Array, Rows, diode_current, log_saturation
from reworkkit.compute.formulas.network.shapes import smooth
from reworkkit.compute.formulas.network.template import Template, steering_of

_WIDTH_V = 0.05
"""Width of the step from off to on."""
_LAMP_SHARE = 1 / 40
"""The same by the current of a lamp, as a share of the current that lights it."""
_ROUND_V = 1e-3
"""Rounding of the size of a coil's voltage about zero."""


class Lamp(NamedTuple):
    """The junction of a lamp whose current steers a switch."""

    log_is: Array
    slope_v: Array
    series_ohm: Array


class Enabled(NamedTuple):
    """One switch for many rows: its nodes, the nodes that steer it, conductance when on, threshold, and 1 or -1.

    `there` is a factor on what steers it: 0 where the coil is open, -1 where the lamp is the wrong way round. Without
    a lamp the threshold is a voltage [V], with one its current [A]; `either_way`: a coil pulls whichever way it is fed.
    """

    inside: int
    out: int
    enable: int
    ground: int
    on: Array
    threshold: Array
    sign: float
    there: Array
    either_way: bool = False
    lamp: Lamp | None = None


def enabled_of(template: Template, at: Callable[[int, str], Array], index: Mapping[str, int], n: int) -> Enabled:
    """Return the switch that element `n` of a template is, with figures from `at` and the places of its nodes."""
    element = template.elements[n]
    on = at(n, "fitted") / np.maximum(at(n, "resistance"), 1e-6)
    sign = -1.0 if (element.parameters["threshold"].nominal or 0.0) < 0 else 1.0
    threshold, there = np.abs(at(n, "threshold")), np.ones_like(on)
    inside, out = (index[node] for node in element.nodes[:2])
    if element.kind != "contact":
        plus, minus = (index[node] for node in element.nodes[2:])
        return Enabled(inside, out, plus, minus, on, threshold, sign, there)
    by = steering_of(template, n)
    plus, minus = (index[node] for node in template.elements[by].nodes)
    there = at(by, "fitted")
    if template.elements[by].kind != "led":
        return Enabled(inside, out, plus, minus, on, threshold, sign, there, either_way=True)
    slope_v, series = at(by, "ideality") * THERMAL_VOLTAGE, at(by, "series")
    lamp = Lamp(log_saturation(at(by, "forward"), at(by, "at"), slope_v, series), slope_v, series)
    there = there * (1.0 - 2.0 * at(by, "turned"))
    return Enabled(inside, out, plus, minus, on, threshold, sign, there, lamp=lamp)


def steering(template: Template, row: Array, state: Array, n: int) -> float:
    """Return what steers the switch at place `n`, for one row and its state: volts, or amps of a lamp."""
    volts = np.concatenate([state[: len(template.nodes)], [0.0]])[None]
    one = enabled_of(template, lambda m, name: row[[template.column[m, name]]], template.index, n)
    return float(_steering(one, np.zeros(1, dtype=np.intp), volts)[0][0])


def moved_over(template: Template, row: Array, state: Array) -> Array:
    """Return a row with those contacts moved over that stand in between: not surely moved, nor surely at rest."""
    changed = row.copy()
    for n, element in enumerate(template.elements):
        if element.kind != "contact" or not row[template.column[n, "fitted"]]:
            continue
        column = template.column[n, "threshold"]
        low, nominal, high = (abs(end) for end in template.parameters[column][4:7])
        size = steering(template, row, state, n)
        if min(low, high) < size < max(low, high):
            changed[column] *= 1e3 if size > nominal else 1e-3
    return changed


def _steering(one: Enabled, pick: Rows, full: Array) -> tuple[Array, Array]:
    """Return what steers a switch, and its slope against the voltage that does."""
    there = one.there[pick]
    across = full[:, one.enable] - full[:, one.ground]
    if one.lamp is not None:
        figures = (part[pick] for part in one.lamp)
        way = np.where(there < 0, -1.0, 1.0)
        amps, slope = diode_current(way * across, *figures)
        return np.maximum(amps, 0.0) * np.abs(there), np.where(amps > 0, slope, 0.0) * there
    if not one.either_way:
        return there * across, there
    size = np.sqrt((there * across) ** 2 + _ROUND_V**2)
    return size, there * there * across / size


def add_enabled(one: Enabled, pick: Rows, full: Array, f: Array, j: Array, slopes: bool) -> None:
    """Add the current through a switch that a voltage or a lamp elsewhere turns on."""
    on, threshold = one.on[pick], one.threshold[pick]
    size, way = _steering(one, pick, full)
    width = _WIDTH_V if one.lamp is None else threshold * _LAMP_SHARE
    share, slope = smooth(one.sign * (size - threshold), width)
    across = full[:, one.inside] - full[:, one.out]
    f[:, one.inside] += on * share * across
    f[:, one.out] -= on * share * across
    if not slopes:
        return
    turn = on * slope * one.sign * across * way
    for node, end in ((one.inside, 1.0), (one.out, -1.0)):
        j[:, node, one.inside] += end * on * share
        j[:, node, one.out] -= end * on * share
        j[:, node, one.enable] += end * turn
        j[:, node, one.ground] -= end * turn
