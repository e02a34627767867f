"""What every hypothesis predicts: solved operating points and how tolerances move them, as Gaussian clusters."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from reworkkit.compute.diagnosis.comparators import ROUNDS, Placed, placed, turned_over
from reworkkit.compute.diagnosis.hypotheses import Catalogue
from reworkkit.compute.diagnosis.hypothesis import Hypothesis
from reworkkit.compute.diagnosis.meter import meters_on, with_meters
from reworkkit.compute.diagnosis.offsets import by_offsets
from reworkkit.compute.diagnosis.reach import firm_nets
from reworkkit.compute.diagnosis.sensitivity import Levers, folding, loadings, loose_columns
from reworkkit.compute.diagnosis.starved import by_levers, starved
from reworkkit.compute.diagnosis.switched import outputs, pushed_by_light, switched_over
from reworkkit.compute.diagnosis.ties import ties
from reworkkit.compute.formulas.junction import Array, Rows
from reworkkit.compute.formulas.network import Solution, Template, solve, solve_from_above, solve_near, solve_working
from reworkkit.compute.formulas.network.equations import Equations
from reworkkit.compute.formulas.network.steered import at_rest, pulled_in
from reworkkit.compute.formulas.network.template import REGULATORS

MODEL_ERROR = 1.3
"""Spreads are widened: for tolerances wider than stated, and a circuit that is not quite the model."""
LEVEL_SHARE = 0.25
"""How far a chip's pin may hold its net from where it floats: one spread, as a share of the chip's supply."""
DECIDED_SHARE = 0.03
"""The same where the level is known, but not how low it is."""
COUPLED_SHARE = 0.02
"""The same at the output of an optocoupler, as a share of the highest rail."""
FIRM_SHARE = 0.02
"""The same at a part of unknown behaviour whose net is fed firmly, as by a fuse."""
PUSHED_V = 0.15
"""The same where a lamp moves an output between two rails: what it leaves of them differs by type."""
BETWEEN_STEPS = 12
"""So many plain steps are made for a board between two that are solved."""
AFRESH = 2
"""So often boards that no neighbour's answer led to are solved from nothing, as their outputs then switch."""
UNSETTLED_SHARE = 0.3
"""Spread of a board without a stable operating point, as a share of the supply voltage."""


@dataclass(frozen=True)
class Dictionary:
    """One cluster for each size of each hypothesis: weight within it, state of all unknowns, loadings of spreads.

    `owner` (clusters) is the hypothesis' place in the catalogue; `loads` (clusters, unknowns, factors) is widened
    already; `pins` maps (designator, pin role) to an unknown, `supplies` the net of a supply to that of its current.
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
    supplies: dict[str, int]
    loose: Array
    """Further spread of each node's voltage (clusters, nodes) where little or nothing holds it [V]."""
    leaked: Array
    """Further spread of each node's voltage (clusters, nodes) by what leaks into it [V]."""
    alone: Array
    """What each unknown gains (clusters, unknowns) when the meter is at it alone, not at every node [V]."""
    turned: Array
    """What each unknown gains (clusters, unknowns) where an undecided comparator turns over."""
    turns: Array
    """The chance that it does, for each cluster; 0 where none is undecided."""
    currents: dict[int, int]
    """Regulator's place among the elements -> unknown that is its output current."""

    @property
    def healthy_state(self) -> Array:
        """The state of the healthy board."""
        return np.asarray(self.states[0])

    def current_of(self, net: str) -> int:
        """Return the unknown that is the current of the supply at a net; of the first one where none is named."""
        return self.supplies[net or self.catalogue.setting.supply]

    def with_hypotheses(
        self, finer: Mapping[int, Hypothesis], near: Sequence[int], between: bool = False
    ) -> "Dictionary":
        """Return the dictionary with some hypotheses replaced by others of the same fault.

        `near` names for each new cluster in order the present one to start from. Clusters `between` present ones take
        over the solution of those where a few steps find none.
        """
        if not finer:
            return self
        chosen = sorted(finer)
        made = replace(self.catalogue, hypotheses=(self.catalogue.hypotheses[0], *(finer[n] for n in chosen)))
        few = build(made, self.states[[*np.flatnonzero(self.owner == 0), *near]], between)
        hypotheses = tuple(finer.get(n, one) for n, one in enumerate(self.catalogue.hypotheses))
        return _merged(self, few, chosen, replace(self.catalogue, hypotheses=hypotheses))


def build(catalogue: Catalogue, near: Array | None = None, between: bool = False) -> Dictionary:
    """Return the dictionary of a catalogue: one batched solve, one batched linear solve for the tolerances.

    `near` (clusters, unknowns) is where to start from, the states of like boards; without it from the healthy board.
    Where boards lie `between` those, a start from which a few steps find nothing is itself taken for the answer.
    """
    template = with_meters(catalogue.template)
    healthy = np.concatenate([catalogue.healthy, template.nominal[len(catalogue.template.parameters) :]])
    meant, owner, weight = _rows(catalogue, healthy)
    start = solve_working(template, healthy).state if near is None else near
    following = placed(template, catalogue.comparators)
    rows, solution = _with_switching(catalogue, template, following, meant, start, between)
    if near is None:
        rows, solution = _powered_up(catalogue, template, following, meant, rows, solution)
    columns = loose_columns(template, healthy)
    held = _held(catalogue, template, healthy)
    pins = {one.net for one in catalogue.enables}
    starving = starved(template, rows, solution.state)
    levers, meters = Levers(list(held), list(starving)), meters_on(template)
    moved = loadings(template, columns, rows, solution.state, levers, meters, pins)
    tolerance, by_volt = moved.by_figures[:, :, : len(columns)], moved.by_figures[:, :, len(columns) :]
    tolerance *= folding(template, columns, rows, solution.state)[:, None, :]
    driven = by_levers(template, held, starving, by_volt)
    equations = Equations(template, rows[:1])
    parts = [MODEL_ERROR * _bounded(tolerance, catalogue), _size_loads(catalogue, owner, solution)]
    loads = np.concatenate([*parts, _bounded(driven, catalogue)], axis=2)
    undecided = ties(template, rows, solution.state, loads, following)
    loads = np.concatenate([loads, _bounded(by_offsets(template, rows, solution.state), catalogue)], axis=2)
    on = {e.ref: n for n, e in enumerate(template.elements) if e.kind == "supply" and e.ref in catalogue.setting.on}
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
        {ref: equations.unknowns.nodes + equations.sources[n] for ref, n in on.items()},
        moved.drift.loose,
        moved.drift.leaked,
        _bounded(moved.alone, catalogue),
        undecided.gain,
        undecided.chance,
        {
            n: equations.unknowns.nodes + place
            for n, place in equations.sources.items()
            if template.elements[n].kind in REGULATORS and healthy[template.column[n, "fitted"]]
        },
    )


def _merged(old: Dictionary, few: Dictionary, chosen: list[int], catalogue: Catalogue) -> Dictionary:
    """Return the old dictionary with the clusters of the chosen hypotheses replaced by those of another."""
    kept = np.flatnonzero(~np.isin(old.owner, chosen))
    new = np.flatnonzero(few.owner > 0)
    owner = np.concatenate([old.owner[kept], np.array(chosen)[few.owner[new] - 1]])
    order = np.argsort(owner, kind="stable")
    parts: dict[str, Any] = {
        name: np.concatenate([getattr(old, name)[kept], getattr(few, name)[new]])[order]
        for name in ("rows", "weight", "states", "settled", "loads", "loose", "leaked", "alone", "turned", "turns")
    }
    return replace(old, catalogue=catalogue, owner=owner[order], **parts)


def _with_switching(
    catalogue: Catalogue,
    template: Template,
    following: Sequence[Placed],
    meant: Array,
    start: Array,
    between: bool,
) -> tuple[Array, Solution]:
    """Solve all rows, then those again whose chips switch otherwise than they were `meant` to, a few times."""
    rows = meant.copy()

    def over(states: Array) -> Rows:
        turned = turned_over(template, rows, states, following)
        return np.union1d(turned, switched_over(template, rows, meant, states, catalogue.enables))

    if len(start) == len(rows):
        over(start)
    solution = solve_family(template, rows, start, between)
    for _ in range(ROUNDS if catalogue.comparators or catalogue.enables else 0):
        changed = over(solution.state)
        if not len(changed):
            break
        again = solve_family(template, rows[changed], solution.state[changed], between)
        solution = _put(solution, changed, again)
    left = np.flatnonzero(~solution.settled)
    for _ in range(AFRESH if not between else 0):
        if not len(left):
            break
        solution = _put(solution, left, solve(template, rows[left]))
        if len(changed := over(solution.state)):
            solution = _put(solution, changed, solve_family(template, rows[changed], solution.state[changed]))
        left = changed[~solution.settled[changed]]
    left = np.flatnonzero(~solution.settled)
    if len(left) and not between:
        above = solve_from_above(template, rows[left])
        solution = _put(solution, left[above.settled], above.of_state(above.state[above.settled]))
    return rows, solution


def _powered_up(
    catalogue: Catalogue,
    template: Template,
    following: Sequence[Placed],
    meant: Array,
    rows: Array,
    solution: Solution,
) -> tuple[Array, Solution]:
    """Return the boards as they stand once they are powered up: with their relays at rest first, then free to pull in.

    A relay that its own contact keeps pulled in would else be so on every board, though a fault never let it. Where
    that leaves the healthy board otherwise than it was solved, a hand pulled it in: then nothing is changed.
    """
    pulled = pulled_in(template, rows, solution.state)
    closed = np.flatnonzero(pulled.any(axis=1))
    if not len(closed) or closed[0] != 0:
        return rows, solution
    first = at_rest(template, meant[closed])
    first, resting = _with_switching(catalogue, template, following, first, solution.state[closed], False)
    last = meant[closed]
    for one in following:
        outs = [template.column[one.driver, name] for name in ("low", "high")]
        last[:, outs] = first[:, outs]
    last, ended = _with_switching(catalogue, template, following, last, resting.state, False)
    before, after = pulled[closed], pulled_in(template, last, ended.state)
    if not ended.settled[0] or (before[0] != after[0]).any():
        return rows, solution
    other = np.flatnonzero(ended.settled & resting.settled & (before != after).any(axis=1))
    rows[closed[other]] = last[other]
    return rows, _put(solution, closed[other], ended.of_state(ended.state[other]))


def _put(solution: Solution, places: Rows, other: Solution) -> Solution:
    """Return the solution with the boards at some places replaced by those of another."""
    states, settled = solution.state.copy(), solution.settled.copy()
    states[places], settled[places] = other.state, other.settled
    return replace(solution.of_state(states), settled=settled)


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
    columns = [c for net in catalogue.setting.on for c in catalogue.template.columns(net, "volts", ["supply"])]
    most = max(float(catalogue.healthy[columns].max()), 1.0)
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
        if (element.ref, node) in catalogue.inputs or node in catalogue.setting.held:
            continue
        known = (element.ref, node) in decided
        share = DECIDED_SHARE if known else catalogue.levels.get(element.ref, LEVEL_SHARE)
        if node not in catalogue.rails and node != template.ground and share > 0:
            volts = catalogue.rail_volts.get(rail, 5.0)
            found[template.index[node]] = max(found.get(template.index[node], 0.0), share * volts)
    found |= {template.index[node]: PUSHED_V for node in pushed_by_light(template)}
    most = max(catalogue.rail_volts.values(), default=5.0)
    firm = firm_nets(template.elements, template.ground) | catalogue.rails
    ends = [template.elements[n].nodes for n in outputs(template)]
    for node in {node for pair in ends for node in pair if not firm & (set(pair) - {node, template.ground})}:
        if node not in firm:
            found[template.index[node]] = COUPLED_SHARE * most
    for node in sorted(catalogue.unknown - catalogue.rails - {template.ground}):
        if node in template.index:
            found[template.index[node]] = most * (FIRM_SHARE if node in firm else 1.0)
    return found


def solve_family(template: Template, rows: Array, start: Array, between: bool = False) -> Solution:
    """Solve many like boards: by plain steps from `start`, from the answers of others, from nothing, from others again.

    Boards `between` those that `start` comes from stop at the first: where plain steps fail the start is the answer.
    """
    solution = solve_near(template, rows, start, *([BETWEEN_STEPS] if between else []))
    left = np.flatnonzero(~solution.settled)
    if len(left) and between:
        states, settled = solution.state.copy(), solution.settled.copy()
        states[left], settled[left] = start[left], True
        return replace(solution.of_state(states), settled=settled)
    for way in (_from_nearest, _from_nothing, _from_nearest):
        if not len(left):
            break
        solution = _put(solution, left, way(template, rows, solution, left))
        left = left[~solution.settled[left]]
    return solution


def _from_nothing(template: Template, rows: Array, _: Solution, left: Rows) -> Solution:
    return solve(template, rows[left], patient=False)


def _from_nearest(template: Template, rows: Array, solution: Solution, left: Rows) -> Solution:
    """Return the boards that are left, as plain steps reach them from those that differ in the fewest figures."""
    settled = np.flatnonzero(solution.settled)
    if not len(settled):
        return solve_near(template, rows[left], solution.state[left])
    differ = (rows[left][:, None] != rows[settled][None]).sum(axis=2) + np.abs(left[:, None] - settled) / len(rows)
    return solve_near(template, rows[left], solution.state[settled[np.argmin(differ, axis=1)]])
