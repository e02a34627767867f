"""What every hypothesis predicts: solved operating points and how tolerances move them, as Gaussian clusters."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from reworkkit.compute.diagnosis.comparators import ROUNDS, turned_over
from reworkkit.compute.diagnosis.hypotheses import Catalogue, with_meters
from reworkkit.compute.diagnosis.sensitivity import folding, loadings, loose_columns
from reworkkit.compute.diagnosis.switched import outputs, switched_over
from reworkkit.compute.formulas.junction import Array, Rows
from reworkkit.compute.formulas.network import Solution, Template, solve, solve_by_charging
from reworkkit.compute.formulas.network.equations import Equations

MODEL_ERROR = 1.5
"""Spreads are widened: for tolerances wider than stated, and a circuit that is not quite the model."""
LEVEL_SHARE = 0.25
"""How far a chip's pin may hold its net from where it floats: one spread, as a share of the chip's supply."""
DECIDED_SHARE = 0.03
"""The same where the level is known, but not how low it is."""
COUPLED_SHARE = 0.02
"""The same at the output of an optocoupler, as a share of the highest rail."""
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
    rows, solution = _with_switching(catalogue, template, rows, start)
    columns = loose_columns(template, healthy)
    held = _held(catalogue, template, healthy)
    moved = loadings(template, columns, rows, solution.state, list(held))
    moved[:, :, : len(columns)] *= folding(template, columns, rows, solution.state)[:, None, :]
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
        {(template.elements[n].ref, pin): place for (n, pin), place in equations.inner.items()},
        equations.unknowns.nodes + equations.sources[supplies[0]],
    )


def _with_switching(catalogue: Catalogue, template: Template, rows: Array, start: Array) -> tuple[Array, Solution]:
    """Solve all rows, then those again whose chips switch otherwise than they were taken to, a few times."""
    solution, meant = solve_family(template, rows, start), rows.copy()
    if not (catalogue.comparators or catalogue.enables or outputs(template)):
        return rows, solution
    for _ in range(ROUNDS):
        over = turned_over(template, rows, solution.state, catalogue.comparators)
        changed = np.union1d(over, switched_over(template, rows, meant, solution.state, catalogue.enables))
        if not len(changed):
            break
        again = solve_family(template, rows[changed], solution.state[changed])
        states, settled = solution.state.copy(), solution.settled.copy()
        states[changed], settled[changed] = again.state, again.settled
        solution = replace(solution.of_state(states), settled=settled)
    return rows, solution


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
    """Return two factors: half the way to the neighbouring sizes of a fault, and of what is known already."""
    states = solution.state
    found = np.zeros((len(owner), states.shape[1], 2))
    starts = np.searchsorted(owner, np.arange(len(catalogue.hypotheses)))
    for number, hypothesis in enumerate(catalogue.hypotheses):
        mine = slice(starts[number], starts[number] + len(hypothesis.sizes))
        own: Array = states[mine].reshape(hypothesis.runs, -1, states.shape[1])
        if hypothesis.continuous and own.shape[1] > 1:
            found[mine, :, 0] = (np.asarray(np.gradient(own, axis=1)) / 2).reshape(-1, states.shape[1])
        if hypothesis.runs > 1:
            found[mine, :, 1] = (np.asarray(np.gradient(own, axis=0)) / 2).reshape(-1, states.shape[1])
    return found


def _held(catalogue: Catalogue, template: Template, healthy: Array) -> dict[int, float]:
    """Return the nodes that a chip's pin may hold at a level of its own, and how far [V, one spread]."""
    found: dict[int, float] = {}
    decided = {(one.ref, one.out) for one in catalogue.comparators}
    for n, element in enumerate(template.elements):
        if element.kind != "driver" or not healthy[template.column[n, "fitted"]]:
            continue
        node, rail, _ = element.nodes
        if (element.ref, node) in catalogue.inputs:
            continue
        known = (element.ref, node) in decided
        share = DECIDED_SHARE if known else catalogue.levels.get(element.ref, LEVEL_SHARE)
        if node not in catalogue.rails and node != template.ground and share > 0:
            volts = catalogue.rail_volts.get(rail, 5.0)
            found[template.index[node]] = max(found.get(template.index[node], 0.0), share * volts)
    most = max(catalogue.rail_volts.values(), default=5.0)
    for node in {node for n in outputs(template) for node in template.elements[n].nodes}:
        if node not in catalogue.rails and node != template.ground:
            found[template.index[node]] = COUPLED_SHARE * most
    for node in sorted(catalogue.unknown - catalogue.rails - {template.ground}):
        if node in template.index:
            found[template.index[node]] = most
    return found


def solve_family(template: Template, rows: Array, start: Array) -> Solution:
    """Solve many like boards: plain steps from `start`, then by charging, then from the answers of the others."""
    solution = solve(template, rows, start, patient=False)
    states, settled = solution.state.copy(), solution.settled.copy()
    left = np.flatnonzero(~settled)
    if len(left):
        charged = solve_by_charging(template, rows[left])
        states[left], settled[left] = charged.state, charged.settled
    for place in np.flatnonzero(~settled):
        near = _nearest(rows, settled, int(place))
        more = solve(template, rows[[place]], states[[near]], patient=False)
        if more.settled[0]:
            states[place], settled[place] = more.state[0], True
    found = solution.of_state(states)
    return Solution(template, found.volts, found.currents, found.sources, settled, solution.moving, states)


def _nearest(rows: Array, settled: NDArray[np.bool_], place: int) -> int:
    """Return the settled board that differs from one in the fewest figures, the closest of the list at a draw."""
    differ = (rows != rows[place]).sum(axis=1) + np.abs(np.arange(len(rows)) - place) / len(rows)
    return int(np.argmin(np.where(settled, differ, np.inf)))
