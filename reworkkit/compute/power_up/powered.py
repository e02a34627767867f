"""The board powered at a hold point: operating point, spread of each output, unknown levels of signal pins."""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from reworkkit.compute.formulas.junction import Array
from reworkkit.compute.formulas.network import Solution, Template, compile_circuit, solve, solve_linear
from reworkkit.compute.formulas.network.template import Parameter
from reworkkit.compute.power_up.bands import Spread, spread
from reworkkit.model.results import Circuit

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
    """The operating point of one fitted set with one supply on."""

    template: Template
    supply: str
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


def power(circuit: Circuit, supply: str, fitted: frozenset[str], points: tuple[str, ...], limit_a: float) -> Powered:
    """Return the operating point with the parts fitted and one supply on, and the spread of every point.

    `limit_a` is the limit to set; the spread of the supply current is under the name `supply`.
    """
    template = compile_circuit(circuit)
    row = template.with_fitted(template.powered(supply), fitted)
    row[template.columns(supply, "limit", ["supply"])] = limit_a
    solution = solve(template, row)
    known = tuple(point for point in points if point in template.index)
    if not solution.settled[0]:
        return Powered(template, supply, row, solution, known, {}, {})
    return Powered(
        template,
        supply,
        row,
        solution,
        known,
        _spreads(template, supply, row, solution, known),
        _levels(template, supply, row, solution, known),
    )


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


def _below(p: Parameter) -> float:
    return (p.nominal - p.low) / (p.high - p.low)


def _loose(template: Template, row: Array) -> list[int]:
    """Return the columns of figures that have a tolerance and whose element is fitted."""
    there = {p.element: row[n] for n, p in enumerate(template.parameters) if p.name == "fitted"}
    return [
        n
        for n, p in enumerate(template.parameters)
        if p.low < p.high and p.name not in _NOT_A_TOLERANCE and there[p.element] > 0 and p.name != "capacitance"
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
    template: Template, supply: str, row: Array, solution: Solution, points: tuple[str, ...]
) -> dict[str, Driven]:
    """Return how each output changes when every signal pin of a fitted part is low, and when it is high."""
    rows = np.repeat(row[None], 2, axis=0)
    for n, p in enumerate(template.parameters):
        if p.name in ("low", "high"):
            rows[0 if p.name == "low" else 1, n] = 1.0
    moved = _outputs(solve(template, rows, solution.state), supply, points) - _outputs(solution, supply, points)
    return {name: Driven(float(moved[0, n]), float(moved[1, n])) for n, name in enumerate((*points, SUPPLY))}
