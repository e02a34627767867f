"""What every hypothesis predicts: solved operating points and how tolerances move them, as Gaussian clusters."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from reworkkit.compute.diagnosis.hypotheses import Catalogue, with_meters
from reworkkit.compute.diagnosis.sensitivity import loadings, loose_columns
from reworkkit.compute.formulas.junction import Array, Rows
from reworkkit.compute.formulas.network import Solution, Template, solve
from reworkkit.compute.formulas.network.equations import Equations

MODEL_ERROR = 1.5
"""Spreads are widened: for tolerances wider than stated, and a circuit that is not quite the model."""
LEVEL_SHARE = 0.25
"""How far a chip's pin may hold its net from where it floats: one spread, as a share of the chip's supply."""
SLOW_ROWS = 6
"""How many boards of one dictionary may be solved the slow way."""
UNSETTLED_SHARE = 0.3
"""Spread of a board without a stable operating point, as a share of the supply voltage."""


@dataclass(frozen=True)
class Dictionary:
    """One cluster for each size of each hypothesis: weight within it, state of all unknowns, loadings of spreads.

    `owner` (clusters) is the hypothesis' place in the catalogue; `loads` (clusters, unknowns, factors) is doubled
    already; `pins` maps (designator, pin role) to an unknown; supply current is unknown number `supply`.
    """

    catalogue: Catalogue
    template: Template
    rows: Array
    owner: Rows
    weight: Array
    states: Array
    settled: NDArray[np.bool_]
    loads: Array
    pins: dict[tuple[str, str], int]
    supply: int

    @property
    def healthy_state(self) -> Array:
        """The state of the healthy board."""
        return np.asarray(self.states[0])


def build(catalogue: Catalogue) -> Dictionary:
    """Return the dictionary of a catalogue: one batched solve, one batched linear solve for the tolerances."""
    template = with_meters(catalogue.template)
    extra = template.nominal[len(catalogue.template.parameters) :]
    healthy = np.concatenate([catalogue.healthy, extra])
    rows, owner, weight = _rows(catalogue, healthy)
    start = solve(template, healthy).state
    solution = solve_family(template, rows, start)
    columns = loose_columns(template, healthy)
    held = _held(catalogue, template, healthy)
    moved = loadings(template, columns, rows, solution.state, list(held))
    tolerance, driven = moved[:, :, : len(columns)], moved[:, :, len(columns) :] * np.array(list(held.values()))
    equations = Equations(template, rows[:1])
    parts = [MODEL_ERROR * _bounded(tolerance, catalogue), _size_loads(catalogue, owner, solution)]
    loads = np.concatenate([*parts, _bounded(driven, catalogue)], axis=2)
    supplies = [n for n, e in enumerate(template.elements) if e.kind == "supply" and e.ref == catalogue.setting.supply]
    return Dictionary(
        catalogue,
        template,
        rows,
        owner,
        weight,
        solution.state,
        solution.settled,
        loads,
        {(template.elements[n].ref, pin): place - 1 for (n, pin), place in equations.inner.items()},
        equations.unknowns.nodes + equations.sources[supplies[0]],
    )


def _rows(catalogue: Catalogue, healthy: Array) -> tuple[Array, Rows, Array]:
    rows, owner, weight = [], [], []
    for number, hypothesis in enumerate(catalogue.hypotheses):
        for share, changes in hypothesis.sizes:
            row = healthy.copy()
            for column, value in changes:
                row[column] = value
            rows.append(row)
            owner.append(number)
            weight.append(share)
    return np.array(rows), np.array(owner), np.array(weight)


def _bounded(tolerance: Array, catalogue: Catalogue) -> Array:
    """Return the loadings with runaways cut: a linear step larger than the supply tells nothing."""
    most = max(float(catalogue.healthy[catalogue.template.columns(catalogue.setting.supply, "volts")[0]]), 1.0)
    safe = np.nan_to_num(tolerance, nan=0.0, posinf=most, neginf=-most)
    return np.clip(safe, -0.5 * most, 0.5 * most)


def _size_loads(catalogue: Catalogue, owner: Rows, solution: Solution) -> Array:
    """Return one factor: half the way to the neighbouring sizes of a fault whose size is continuous."""
    states = solution.state
    found = np.zeros((len(owner), states.shape[1], 1))
    starts = np.searchsorted(owner, np.arange(len(catalogue.hypotheses)))
    for number, hypothesis in enumerate(catalogue.hypotheses):
        count = len(hypothesis.sizes)
        if not hypothesis.continuous or count < 2:
            continue
        own = states[starts[number] : starts[number] + count]
        step = np.gradient(own, axis=0) / 2
        found[starts[number] : starts[number] + count, :, 0] = step
    return found


def _held(catalogue: Catalogue, template: Template, healthy: Array) -> dict[int, float]:
    """Return the nodes that a chip's pin may hold at a level of its own, and how far [V, one spread]."""
    found: dict[int, float] = {}
    for n, element in enumerate(template.elements):
        if element.kind != "driver" or not healthy[template.column[n, "fitted"]]:
            continue
        node, rail, _ = element.nodes
        share = catalogue.levels.get(element.ref, LEVEL_SHARE)
        if node not in catalogue.rails and node != template.ground and share > 0:
            volts = catalogue.rail_volts.get(rail, 5.0)
            found[template.index[node]] = max(found.get(template.index[node], 0.0), share * volts)
    most = max(catalogue.rail_volts.values(), default=5.0)
    for node in sorted(catalogue.unknown - catalogue.rails - {template.ground}):
        if node in template.index:
            found[template.index[node]] = most
    return found


def solve_family(template: Template, rows: Array, start: Array) -> Solution:
    """Solve many like boards: plain steps from `start`, then the slow way for one and from its answer for the rest."""
    solution = solve(template, rows, start, patient=False)
    states, settled = solution.state.copy(), solution.settled.copy()
    tried: set[int] = set()
    for _ in range(SLOW_ROWS):
        left = np.array([n for n in np.flatnonzero(~settled) if n not in tried], dtype=int)
        if not len(left):
            break
        tried.add(int(left[0]))
        slow = solve(template, rows[left[:1]])
        states[left[:1]], settled[left[0]] = slow.state, slow.settled[0]
        more = solve(template, rows[left], slow.state, patient=False)
        states[left[more.settled]] = more.state[more.settled]
        settled[left[more.settled]] = True
    found = solution.of_state(states)
    return Solution(template, found.volts, found.currents, found.sources, settled, solution.moving, states)
