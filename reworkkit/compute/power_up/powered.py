"""The board powered at a hold point: operating point, spread of each output, unknown levels of signal pins."""

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from reworkkit.compute.formulas.accuracy import figure
from reworkkit.compute.formulas.junction import Array
from reworkkit.compute.formulas.network import Solution, Template, compile_circuit, solve, solve_linear
from reworkkit.compute.formulas.network.steered import moved_over
from reworkkit.compute.formulas.network.template import Parameter
from reworkkit.compute.power_up.bands import Spread, spread
from reworkkit.model.results import Circuit, Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

_NOT_A_TOLERANCE = (
    "fitted",
    "turned",
    "pin_in",
    "pin_out",
    "pin_common",
    "high",
    "low",
    "limit",
    "unpowered",
    "leakage",
)
LEVEL_MATTERS = 0.03
"""A point whose voltage moves by more than this share when the signal pins change level is not forecast."""


class Driven(NamedTuple):
    """How an output changes when all signal pins are low, and when all are high."""

    low: float
    high: float


@dataclass(frozen=True)
class Powered:
    """The operating point of one fitted set; `supply` is the one whose current is the last output."""

    template: Template
    supply: str
    supplies: tuple[str, ...]
    fitted: frozenset[str]
    limit_a: float
    row: Array
    solution: Solution
    points: tuple[str, ...]
    spreads: dict[str, Spread]
    driven: dict[str, Driven]

    @property
    def settled(self) -> bool:
        """Whether there is a stable operating point."""
        return bool(self.solution.settled[0])

    def volts(self, node: str) -> float:
        """Return the nominal voltage of a node [V]."""
        return float(self.solution.at(node)[0])


SUPPLY = "supply"


def power(
    circuit: Circuit,
    supplies: tuple[str, ...],
    fitted: frozenset[str],
    points: tuple[str, ...],
    limit_a: float,
) -> Powered:
    """Return the operating point with the parts fitted and these supplies on, and the spread of every point.

    `limit_a` is the limit to set; the spread of the current of the first supply is under the name `supply`. A meter
    loads each point: what hardly anything holds is read as it shows then.
    """
    supply = supplies[0]
    template = compile_circuit(replace(circuit, elements=(*circuit.elements, *_meters(circuit, points))))
    row = template.with_fitted(template.powered(*supplies), fitted)
    for net in supplies:
        row[template.columns(net, "limit", ["supply"])] = limit_a
    solution = solve(template, row)
    known = tuple(point for point in points if point in template.index)
    if not solution.settled[0]:
        return Powered(template, supply, supplies, fitted, limit_a, row, solution, known, {}, {})
    spreads = _spreads(template, supply, row, solution, known)
    driven = _levels(template, supply, row, solution, spreads)
    return Powered(template, supply, supplies, fitted, limit_a, row, solution, known, spreads, driven)


def _meters(circuit: Circuit, points: tuple[str, ...]) -> tuple[Element, ...]:
    """Return the input resistance of the voltmeter at each point."""
    ohm = figure("meter_input")
    band = Band(0.9 * ohm, ohm, 1.1 * ohm, "ohm", BandBasis.TABLE)
    nets = dict.fromkeys(net for net in points if net in circuit.nodes and net != circuit.ground)
    return tuple(Element("resistor", "", (net, circuit.ground or ""), {"resistance": band}) for net in nets)


def _outputs(solution: Solution, supply: str, points: tuple[str, ...]) -> Array:
    """Return (rows, outputs): the voltage of each point, the supply current last."""
    return np.stack([*(solution.at(point) for point in points), solution.current(supply)], axis=1)


def _spreads(
    template: Template, supply: str, row: Array, solution: Solution, points: tuple[str, ...]
) -> dict[str, Spread]:
    loose = _loose(template, row)
    ends = np.repeat(row[None], 2 * len(loose), axis=0)
    for n, column in enumerate(loose):
        ends[n, column] = template.parameters[column].low
        ends[len(loose) + n, column] = template.parameters[column].high
    states = solve_linear(template, row, solution.state, ends) if loose else np.zeros((0, solution.state.shape[1]))
    moved = _outputs(solution.of_state(states), supply, points) if loose else np.zeros((0, len(points) + 1))
    low, high = moved[: len(loose)], moved[len(loose) :]
    corners = _outputs(_corners(template, row, solution, loose, low, high), supply, points)
    nominal = _outputs(solution, supply, points)[0]
    below = np.array([_below(template.parameters[column]) for column in loose])
    found = {}
    for n, name in enumerate((*points, SUPPLY)):
        worst = (float(corners[2 * n, n]), float(corners[2 * n + 1, n]))
        found[name] = spread(float(nominal[n]), low[:, n], high[:, n], worst, below)
    return found


def _is_set(p: Parameter, steering: set[str]) -> bool:
    """Return whether a figure is no tolerance: the edge of a contact, which stands on one side of it, is none.

    Nor is the drop of a lamp that steers one: to first order its current would change beyond all measure.
    """
    edge = p.kind == "contact" and p.name == "threshold"
    return p.name in _NOT_A_TOLERANCE or edge or (p.kind == "led" and p.ref in steering)


def _below(p: Parameter) -> float:
    return (p.nominal - p.low) / (p.high - p.low)


def _loose(template: Template, row: Array) -> list[int]:
    """Return the columns of figures that have a tolerance and whose element is fitted."""
    there = {p.element: row[n] for n, p in enumerate(template.parameters) if p.name == "fitted"}
    steering = {e.ref for e in template.elements if e.kind == "contact"}
    return [
        n
        for n, p in enumerate(template.parameters)
        if p.low < p.high and not _is_set(p, steering) and there[p.element] > 0 and p.name != "capacitance"
    ]


def _corners(template: Template, row: Array, solution: Solution, loose: list[int], low: Array, high: Array) -> Solution:
    """Solve, for each output, the board with every tolerance at the end that lowers it, then that raises it."""
    outputs = low.shape[1]
    rows = np.repeat(row[None], 2 * outputs, axis=0)
    for n in range(outputs):
        for which, rows_at in ((0, 2 * n), (1, 2 * n + 1)):
            for k, column in enumerate(loose):
                low_is_less = low[k, n] <= high[k, n]
                p = template.parameters[column]
                rows[rows_at, column] = p.low if low_is_less == (which == 0) else p.high
    solved = solve(template, rows, solution.state)
    state = np.where(solved.settled[:, None], solved.state, solution.state)
    return solution.of_state(state)


def _levels(
    template: Template, supply: str, row: Array, solution: Solution, spreads: dict[str, Spread]
) -> dict[str, Driven]:
    """Return how each output changes when every signal pin of a fitted part is low, and when it is high.

    Contacts that stand in between move over with the first.

    What the pins switch on has tolerances of its own: where they raise the supply current, its change is that of the
    worst case.
    """
    points = tuple(name for name in spreads if name != SUPPLY)
    rows = np.repeat(row[None], 2, axis=0)
    for n, p in enumerate(template.parameters):
        if p.name in ("low", "high"):
            rows[0 if p.name == "low" else 1, n] = 1.0
    rows[0] = moved_over(template, rows[0], solution.state[0])
    solved = solve(template, rows, solution.state)
    moved = _outputs(solved, supply, points) - _outputs(solution, supply, points)
    found = {name: Driven(float(moved[0, n]), float(moved[1, n])) for n, name in enumerate((*points, SUPPLY))}
    if max(found[SUPPLY]) <= LEVEL_MATTERS * abs(spreads[SUPPLY].nominal):
        return found
    worst = []
    for n, change in enumerate(found[SUPPLY]):
        there = solved.of_state(solved.state[n : n + 1])
        high = _spreads(template, supply, rows[n], there, ())[SUPPLY].high if change > 0 else 0.0
        worst.append(max(change, high - spreads[SUPPLY].high))
    return {**found, SUPPLY: Driven(*worst)}
