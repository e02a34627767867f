"""Switches that something beside them closes: load switches by a pin, contacts by the coil or lamp of their part."""

from collections.abc import Callable, Mapping
from typing import NamedTuple

import numpy as np

from reworkkit.compute.formulas.junction import THERMAL_VOLTAGE, Array, Rows, diode_current, log_saturation
from reworkkit.compute.formulas.network.shapes import smooth
from reworkkit.compute.formulas.network.stamps import Stamps, stacked
from reworkkit.compute.formulas.network.template import Template, steering_of
from reworkkit.model.results import Element

_WIDTH_V = 0.05
"""Width of the step from off to on."""
_LAMP_SHARE = 1 / 40
"""The same by the current of a lamp, as a share of the current that lights it."""
_ROUND_V = 1e-3
"""Rounding of the size of a coil's voltage about zero."""


class Enabled(NamedTuple):
    """Switches: their nodes, the nodes that steer them, conductance when on, threshold, and 1 or -1.

    `there` is a factor on what steers one: 0 where the coil is open, -1 where the lamp is the wrong way round. Without
    a lamp the threshold is a voltage [V], with one its current [A], and the last three are the lamp's junction.
    `either_way` is 1 for a coil, which pulls whichever way it is fed, else 0.
    """

    inside: Rows
    out: Rows
    enable: Rows
    ground: Rows
    on: Array
    threshold: Array
    sign: Array
    there: Array
    either_way: Array
    log_is: Array | None = None
    slope_v: Array | None = None
    series_ohm: Array | None = None


def enabled_of(template: Template, at: Callable[[int, str], Array], places: Mapping[str, int], n: int) -> Enabled:
    """Return the switch that element `n` of a template is, with figures from `at` and the places of its nodes."""
    element = template.elements[n]
    on = at(n, "fitted") / np.maximum(at(n, "resistance"), 1e-6)
    sign = np.full_like(on, -1.0 if rests_closed(element) else 1.0)
    threshold, there, no = np.abs(at(n, "threshold")), np.ones_like(on), np.zeros_like(on)
    by = steering_of(template, n) if element.kind == "contact" else None
    steered = element.nodes[2:] if by is None else template.elements[by].nodes
    nodes = np.array([places[node] for node in (*element.nodes[:2], *steered)])
    inside, out, plus, minus = nodes
    if by is None:
        return Enabled(inside, out, plus, minus, on, threshold, sign, there, no)
    there = at(by, "fitted")
    if template.elements[by].kind != "led":
        return Enabled(inside, out, plus, minus, on, threshold, sign, there, np.ones_like(on))
    slope_v, series = at(by, "ideality") * THERMAL_VOLTAGE, at(by, "series")
    lamp = log_saturation(at(by, "forward"), at(by, "at"), slope_v, series), slope_v, series
    return Enabled(inside, out, plus, minus, on, threshold, sign, there * (1.0 - 2.0 * at(by, "turned")), no, *lamp)


def rests_closed(switch: Element) -> bool:
    """Return whether a switch is closed while nothing steers it: so a threshold below zero says."""
    return (switch.parameters["threshold"].nominal or 0.0) < 0


def steering(template: Template, rows: Array, states: Array, n: int) -> Array:
    """Return what steers the switch at place `n`, for each row and its state: volts, or amps of a lamp."""
    volts = np.concatenate([states[:, : len(template.nodes)], np.zeros((len(states), 1))], axis=1)
    one = enabled_of(template, lambda m, name: rows[:, template.column[m, name]], template.index, n)
    return _steering(stacked([one])[0], volts)[0][:, 0]


def _made(template: Template) -> list[int]:
    """Return the places of the contacts that are open at rest."""
    return [n for n, e in enumerate(template.elements) if e.kind == "contact" and not rests_closed(e)]


def at_rest(template: Template, rows: Array) -> Array:
    """Return rows in which no contact closes that is open at rest."""
    found = rows.copy()
    found[:, [template.column[n, "fitted"] for n in _made(template)]] = 0.0
    return found


def pulled_in(template: Template, rows: Array, states: Array) -> Array:
    """Return (rows, contacts) where a contact is closed that is open at rest."""
    made = _made(template)
    found = np.zeros((len(rows), len(made)), dtype=bool)
    for k, n in enumerate(made):
        threshold, fitted = (rows[:, template.column[n, name]] for name in ("threshold", "fitted"))
        found[:, k] = (steering(template, rows, states, n) > threshold) & (fitted > 0)
    return found


def moved_over(template: Template, row: Array, state: Array) -> Array:
    """Return a row with those contacts moved over that stand in between: not surely moved, nor surely at rest."""
    changed = row.copy()
    for n, element in enumerate(template.elements):
        if element.kind != "contact" or not row[template.column[n, "fitted"]]:
            continue
        column = template.column[n, "threshold"]
        low, nominal, high = (abs(end) for end in template.parameters[column][4:7])
        size = float(steering(template, row[None], state[None], n)[0])
        if min(low, high) < size < max(low, high):
            changed[column] *= 1e3 if size > nominal else 1e-3
    return changed


def _steering(those: Enabled, full: Array) -> tuple[Array, Array]:
    """Return what steers switches, and its slope against the voltage that does."""
    there = those.there
    across = full[:, those.enable] - full[:, those.ground]
    if those.log_is is not None and those.slope_v is not None and those.series_ohm is not None:
        way = np.where(there < 0, -1.0, 1.0)
        amps, slope = diode_current(way * across, those.log_is, those.slope_v, those.series_ohm)
        return np.maximum(amps, 0.0) * np.abs(there), np.where(amps > 0, slope, 0.0) * there
    size = np.sqrt((there * across) ** 2 + _ROUND_V**2)
    coil = those.either_way > 0
    return np.where(coil, size, there * across), np.where(coil, there * there * across / size, there)


def add_enabled(those: Enabled, full: Array, stamps: Stamps) -> None:
    """Add the currents through switches that a voltage or a lamp elsewhere turns on."""
    size, way = _steering(those, full)
    width = _WIDTH_V if those.log_is is None else those.threshold * _LAMP_SHARE
    share, slope = smooth(those.sign * (size - those.threshold), width)
    across = full[:, those.inside] - full[:, those.out]
    stamps.flow(those.inside, those.out, those.on * share * across)
    if stamps.slopes:
        stamps.flow_slope(those.inside, those.out, those.inside, those.out, those.on * share)
        turn = those.on * slope * those.sign * across * way
        stamps.flow_slope(those.inside, those.out, those.enable, those.ground, turn)
