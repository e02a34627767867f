"""How an operating point moves with each tolerance: one linear solve a board, for many boards at once."""

from collections.abc import Collection
from typing import NamedTuple

import numpy as np

from reworkkit.compute.formulas.junction import Array, Flags
from reworkkit.compute.formulas.network import Template
from reworkkit.compute.formulas.network.equations import Equations
from reworkkit.compute.formulas.network.template import REGULATORS, Parameter

ROWS_AT_ONCE = 256
STEP = 0.1
"""Part of a spread that a figure is moved by to find its slope."""
LIMIT_SHARE = 0.3
"""Spread of the current at which a regulator limits: types differ, and many fold back (from memory)."""
FOLDED, DRAGGED = 2.0, 0.5
"""Further spread of that limit, and the share of its own voltage below which the output counts as dragged down: many
types fold back to a fifth there (from memory)."""
MOST_SHARE = 0.45
"""No spread is more than so much of its figure."""
LOOSE_SHARE, LOOSE_OHM = 0.5, 5e6
"""How far a net that nothing holds may be off, as a share of the board's highest voltage, and the ohms from which that
counts: leakage, flux and fingers are worth some hundred nanoampere (common practice, no source)."""
DEAD_SHARE, STRAY_A, STRAY_MOST_V = 0.3, 10e-6, 0.4
"""Share of its healthy voltage below which a net is dead, what leaks into it from chips that live, and how far that
takes it at most (from memory)."""
_LEAKING = frozenset(("ic", "inner_diode", "schottky", *REGULATORS))
PIN_A = 3e-6
"""What an enable pin draws or gives, one spread: pull-ups and hysteresis currents of 1 to 5 uA (from memory)."""
_SWITCHES = ("fitted", "turned", "pin_in", "pin_out", "pin_common", "high", "low")
NOT_A_TOLERANCE = frozenset((*_SWITCHES, "limit", "unpowered", "leakage", "capacitance", "conductance"))


def loose_columns(template: Template, row: Array) -> list[int]:
    """Return the columns of figures that have a tolerance and whose element is fitted in `row`."""
    there = {p.element: row[n] for n, p in enumerate(template.parameters) if p.name == "fitted"}
    return [
        n
        for n, p in enumerate(template.parameters)
        if there[p.element] > 0
        and (_of_limit(p) or (p.low < p.high and (p.name not in NOT_A_TOLERANCE or _counts(template, p))))
    ]


def _counts(template: Template, parameter: Parameter) -> bool:
    """Return whether a figure that is a limit elsewhere shows at rest.

    The leakage of an electrolytic behind a large resistor does, and the current of a driver that gives a fixed one.
    """
    if parameter.name == "leakage":
        return parameter.kind == "capacitor_polarised"
    return parameter.name == "limit" and "follows" in template.elements[parameter.element].parameters


def _of_limit(parameter: Parameter) -> bool:
    return parameter.name == "limit" and parameter.kind in REGULATORS


def spreads(template: Template, columns: list[int], rows: Array) -> Array:
    """Return one standard deviation of each column in each row: a quarter of its band, in proportion to its figure."""
    chosen = [template.parameters[n] for n in columns]
    sigma = np.array([LIMIT_SHARE * p.nominal if _of_limit(p) else (p.high - p.low) / 4 for p in chosen])
    nominal = np.array([abs(p.nominal) for p in chosen])
    scale = np.abs(rows[:, columns]) / np.where(nominal > 0, nominal, 1.0)
    scaled = sigma * np.where(nominal > 0, scale, 1.0)
    return np.asarray(np.minimum(scaled, MOST_SHARE * np.maximum(np.abs(rows[:, columns]), 1e-12)))


def folding(template: Template, columns: list[int], rows: Array, states: Array) -> Array:
    """Return the factor (rows, columns) of each figure's spread; row 0 is the healthy board.

    More for the limit of a dragged regulator, and for what a load draws away from the voltage it works at.
    """
    found = np.ones((len(rows), len(columns)))
    for k, column in enumerate(columns):
        one = template.parameters[column]
        if one.kind == "load" and one.name in ("current", "from_volts"):
            high, low = template.elements[one.element].nodes
            found[:, k] = _off_its_volts(one, np.abs(template.volts(states, high) - template.volts(states, low)))
        elif _of_limit(one):
            found[dragged(template, one.element, rows, states), k] = FOLDED
    return found


def _off_its_volts(load: Parameter, fed: Array) -> Array:
    """Return the factor of a load's spread at the voltages `fed` (rows) [V], of which the first is the healthy one.

    Away from that its draw may go with the voltage or not: what the voltage is off by is one more spread of it.
    """
    share = min((load.high - load.low) / (4 * max(abs(load.nominal), 1e-12)), MOST_SHARE)
    away = np.abs(fed / max(fed[0], 1e-3) - 1.0).clip(0.0, 1.0)
    return np.asarray(np.hypot(1.0, away / max(share, 1e-3)))


def dragged(template: Template, regulator: int, rows: Array, states: Array) -> Flags:
    """Return the rows in which the output of a regulator, by its place, is far below its own voltage."""
    own = np.abs(rows[:, template.column[regulator, "volts"]])
    return np.asarray(np.abs(given(template, regulator, states)) < DRAGGED * own)


def given(template: Template, regulator: int, states: Array) -> Array:
    """Return the voltage of a regulator's output, by its place, against its common lead [V]."""
    _, out, common, _ = template.elements[regulator].nodes
    return template.volts(states, out) - template.volts(states, common)


class Drift(NamedTuple):
    """How far each node may be off (rows, nodes) [V]: for want of anything that holds it, and by what leaks into it."""

    loose: Array
    leaked: Array


def drift(template: Template, states: Array, ohms: Array, healthy: Array, pins: Collection[str] = ()) -> Drift:
    """Return how far nodes may be off that nothing holds, or that only leakage feeds.

    loose = `LOOSE_SHARE` x the highest voltage at the parts on it x (R / (R + `LOOSE_OHM`))^2, with R the resistance
    that a current put into the node meets, the meter's included. A net that only a meter and a gate are on may be
    anywhere. A net that is dead though on the `healthy` board (unknowns) it is not is fed by what leaks through the
    chips and Schottky diodes on it: `STRAY_A` x R, up to `STRAY_MOST_V`. An enable pin (`pins`: nets) draws or gives
    `PIN_A`. `ohms` (rows, nodes, nodes) tells what a current into one node does to another: what drifts at one does so
    at all that hang on it. leaked = what the model has leak into a dead net, which is known to its own size.
    """
    nodes = len(template.nodes)
    own = np.abs(ohms[:, np.arange(nodes), np.arange(nodes)])
    high = np.zeros((len(states), nodes))
    for element in template.elements:
        places = [place for node in element.nodes if (place := template.index.get(node, nodes)) < nodes]
        top = np.abs(states[:, places]).max(axis=1, initial=0.0)
        high[:, places] = np.maximum(high[:, places], top[:, None])
    loose = LOOSE_SHARE * high * (own / (own + LOOSE_OHM)) ** 2
    leaking = {node for element in template.elements if element.kind in _LEAKING for node in element.nodes}
    dead = np.abs(states[:, :nodes]) < DEAD_SHARE * np.abs(healthy[:nodes])
    dead &= np.array([node in leaking for node in template.nodes])
    amps = np.where(dead, STRAY_A, 0.0) + np.array([PIN_A if node in pins else 0.0 for node in template.nodes])
    stray = np.minimum(amps * own, STRAY_MOST_V)
    fed = np.where(dead, np.minimum(np.abs(states[:, :nodes]), STRAY_MOST_V), 0.0)
    carried = np.divide(ohms, own[:, None, :], out=np.zeros_like(ohms), where=own[:, None, :] > 1e-9)
    found = np.hypot(loose, stray)
    return Drift(np.sqrt(((carried * found[:, None, :]) ** 2).sum(axis=2)), fed)


class Levers(NamedTuple):
    """What moves a board beside its figures: nodes that something holds, and amplifiers, by their places."""

    held: list[int]
    amplifiers: list[int]


class Moved(NamedTuple):
    """How boards answer to what is not exact.

    `by_figures` (rows, unknowns, columns and then levers): by a standard deviation of each loose figure, by a volt
    at each held node and at the output of each amplifier. `alone` (rows, unknowns): what an unknown gains when the
    meter is at it alone.
    """

    by_figures: Array
    alone: Array
    drift: Drift


def loadings(
    template: Template,
    columns: list[int],
    rows: Array,
    states: Array,
    levers: Levers,
    meters: Array,
    pins: Collection[str] = (),
) -> Moved:
    """Return how far each unknown moves, and what holds each node; row 0 is the healthy board.

    `meters` (nodes) is the conductance of the meter that the solved rows have from each node to ground [S]; `pins` are
    the nets of enable pins.
    """
    parts = []
    for first in range(0, len(rows), ROWS_AT_ONCE):
        some = slice(first, first + ROWS_AT_ONCE)
        moved, ohms, alone = _loadings(template, columns, rows[some], states[some], levers, meters)
        parts.append((moved, alone, *drift(template, states[some], ohms, states[0], pins)))
    by_figures, alone, loose, leaked = (np.concatenate(field) for field in zip(*parts, strict=True))
    return Moved(by_figures, alone, Drift(loose, leaked))


def _loadings(
    template: Template, columns: list[int], rows: Array, states: Array, levers: Levers, meters: Array
) -> tuple[Array, Array, Array]:
    equations, nodes, loose = Equations(template, rows), len(template.nodes), len(columns)
    _, slopes = equations.evaluate(states)
    sources = [equations.unknowns.nodes + equations.sources[n] for n in levers.amplifiers]
    outs = [template.index[template.elements[n].nodes[1]] for n in levers.amplifiers]
    pushed = np.zeros((len(rows), states.shape[1], loose + nodes + len(sources)))
    pushed[:, [*range(nodes), *sources], loose + np.arange(nodes + len(sources))] = -1.0
    sigma = spreads(template, columns, rows)
    by_element: dict[int, list[int]] = {}
    for k, column in enumerate(columns):
        by_element.setdefault(template.parameters[column].element, []).append(k)
    for element, which in by_element.items():
        _push(template, equations, element, which, columns, rows, states, sigma, pushed)
    try:
        moved = -np.linalg.solve(slopes, pushed)
    except np.linalg.LinAlgError:
        moved = -np.linalg.solve(slopes + 1e-9 * np.eye(slopes.shape[1]), pushed)
    by_current, by_output = moved[:, :, loose : loose + nodes], moved[:, :, loose + nodes :]
    ohms = by_current[:, np.arange(nodes), np.arange(nodes)]
    by_volt = [
        _by_volt(np.asarray(by_current[:, :, levers.held]), np.asarray(ohms[:, levers.held])),
        _by_volt(np.asarray(by_output), np.asarray(by_output[:, outs, np.arange(len(outs))])),
    ]
    drawn = states[:, :nodes] * meters
    alone = (by_current @ drawn[:, :, None])[:, :, 0]
    alone[:, :nodes] -= ohms * drawn
    by_figures = np.concatenate([moved[:, :, :loose], *by_volt], axis=2)
    return by_figures, np.asarray(by_current[:, :nodes]), alone


def _by_volt(moved: Array, own: Array) -> Array:
    """Return how far unknowns move (rows, unknowns, places) for each volt of their `own` that places move by."""
    return np.asarray(moved / np.where(np.abs(own) > 1e-9, own, np.inf)[:, None])


def _push(
    template: Template,
    whole: Equations,
    element: int,
    which: list[int],
    columns: list[int],
    rows: Array,
    states: Array,
    sigma: Array,
    pushed: Array,
) -> None:
    """Add what one element's equations lose when each of its loose figures moves by one standard deviation."""
    small, own, places = _alone(template, whole, element)
    mine = rows[:, own]
    unknowns = states[:, places]
    for k in which:
        at = own.index(columns[k])
        up, down = mine.copy(), mine.copy()
        up[:, at] += STEP * sigma[:, k]
        down[:, at] -= STEP * sigma[:, k]
        high, _ = Equations(small, up).evaluate(unknowns, slopes=False)
        low, _ = Equations(small, down).evaluate(unknowns, slopes=False)
        pushed[:, places, k] += (high - low) / (2 * STEP)


def _alone(template: Template, whole: Equations, element: int) -> tuple[Template, list[int], list[int]]:
    """Return a template of one element, its columns, and where its unknowns lie among those of the whole.

    A lamp and the output that it lights stay together, a coil and its contacts: what moves the one moves the other.
    """
    some = _together(template, element)
    own = [n for n, p in enumerate(template.parameters) if p.element in some]
    nodes = tuple(dict.fromkeys(node for n in some for node in template.elements[n].nodes if node != template.ground))
    parameters = tuple(template.parameters[n]._replace(element=some.index(template.parameters[n].element)) for n in own)
    small = Template(nodes, template.ground, tuple(template.elements[n] for n in some), parameters)
    places = [template.index[node] for node in nodes]
    inner = [whole.inner[element, pin] for pin in ("pin_in", "pin_out", "pin_common") if (element, pin) in whole.inner]
    source = [whole.unknowns.nodes + whole.sources[element]] if element in whole.sources else []
    return small, own, [*places, *inner, *source]


_COUPLED = ("led", "coupler", "inductor", "contact")


def _together(template: Template, element: int) -> list[int]:
    """Return an element with, at an optocoupler, all lamps and outputs of the part."""
    one = template.elements[element]
    coupled = [n for n, e in enumerate(template.elements) if e.ref == one.ref and e.kind in _COUPLED]
    led = any(template.elements[n].kind in ("coupler", "contact") for n in coupled)
    lit = one.kind in _COUPLED and one.ref and led
    return coupled if lit else [element]
