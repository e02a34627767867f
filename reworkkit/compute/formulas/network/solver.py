"""Operating points: Newton's method for many boards at once, with more patient ways for the rows that need them.

Plain steps first; rows that fail start with converters on small limits and amplifiers of small gains, go on with steps
of at most 0.5 V, then 0.1 V, then with every node held back by a capacitor that lets go as the row settles
(pseudo-transient), and from where that came to in the smallest steps. What is left has no stable operating point: the
nodes that still move are named.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from reworkkit.compute.formulas.junction import Array, Flags, Rows
from reworkkit.compute.formulas.network.devices import Amplifier
from reworkkit.compute.formulas.network.equations import Equations
from reworkkit.compute.formulas.network.template import Template

VOLTS_SETTLED = 1e-8
AMPS_SETTLED = 1e-12
MOST_HELD_S = 1e6
"""The most that a capacitor of the patient way holds a node, in siemens: the shortest step."""
PATIENCE, HELD_STEPS, NO_NEARER = 150, 40, 40
"""The patient way: steps in time, Newton steps in each, and how many may bring a board no nearer to the end."""
FREE_STEPS, SHORTER, LONGER = 4, 0.5, 1.3
"""After so many free steps one that goes back is cut to so much of it, and each that goes on may be so much longer."""
PLAIN_STEPS = 40
HARDLY = 1e-4
"""Gain at which a thyristor cannot hold itself."""
REST_A = 3e-10
"""A node that charges with less than this is at rest: a thousandth of what a meter draws at 3 V."""
CLOSE_V = 0.05
CLOSE_STEPS = 120
"""The very last way: from where the charging came to when patience ended, steps of at most this many volts."""
WANDERS_V = 1e-3
"""A board whose equations hold takes no larger step: nodes that nothing holds would go anywhere by it."""
ABSURD_V = 1e6
"""A step to beyond this is no answer, however little the equations have left over beside it."""
SOFT_SHARES = (0.0, 0.01, 0.1, 0.4)
"""Shares of their limits on which converters are started, one after the other, where plain steps do not settle."""
GENTLE_GAINS = (0.0, 3.0, 30.0, 300.0)
"""Gains on which amplifiers are started, one after the other: at their own a stage behind them jumps end to end."""
GENTLE_STEPS = 12
"""Plain steps on each of them, and twice as many short ones where those do not settle."""
ROWS_AT_ONCE = 512


@dataclass(frozen=True)
class Solution:
    """Operating points of the rows asked for.

    `volts` (rows, nodes of the template and ground last), `currents` (rows, sources) in the order of `sources`,
    `settled` (rows): False where no stable operating point was found; `state` is the start of a warm solve.
    """

    template: Template
    volts: Array
    currents: Array
    sources: tuple[str, ...]
    settled: Flags
    moving: tuple[tuple[str, ...], ...]
    """For each row the nodes that would not settle; empty where it did."""
    state: Array

    def of_state(self, state: Array) -> "Solution":
        """Return a solution with other states in place of the solved ones."""
        outer = len(self.template.nodes)
        volts = np.concatenate([state[:, :outer], np.zeros((len(state), 1))], axis=1)
        currents = state[:, state.shape[1] - len(self.sources) :]
        return Solution(
            self.template, volts, currents, self.sources, np.ones(len(state), dtype=bool), ((),) * len(state), state
        )

    def at(self, node: str, other: str | None = None) -> Array:
        """Return the voltages of a node against ground or another node, for every row [V]."""
        index = self.template.index
        base = self.volts[:, index[other]] if other else 0.0
        return np.asarray(self.volts[:, index[node]] - base)

    def current(self, source: str) -> Array:
        """Return the current of a supply or regulator, by net or designator, for every row [A]."""
        return np.asarray(self.currents[:, self.sources.index(source)])


def solve(template: Template, rows: Array, start: Array | None = None, patient: bool = True) -> Solution:
    """Return the operating point of every row of parameters (rows, parameters).

    `start` is the `state` of an earlier solution: one row for all, or one a row. Never raises for a circuit without
    a sane answer: such rows are not `settled`. Without `patient` the slow ways are not tried. Without `start` a
    thyristor is off where it can be: the board is solved with none that holds itself first, and from there as it is.
    """
    latching = [column for (_, name), column in template.column.items() if name == "second_gain"]
    if start is None and latching:
        off = np.atleast_2d(np.asarray(rows, dtype=np.float64)).copy()
        off[:, latching] = HARDLY
        start = _in_parts(template, off, None, lambda equations, x, last: _ladder(equations, x, last, patient)).state
    return _in_parts(template, rows, start, lambda equations, x, last: _ladder(equations, x, last, patient))


def solve_working(template: Template, row: Array) -> Solution:
    """Return the operating point of one board that is taken to work.

    A converter on a bench supply may have two: it runs, or it holds the supply on its limit. Where the way from
    nothing ends in the second, the board is solved as `solve_from_above` does.
    """
    found = solve(template, row)
    if found.settled[0] and not _is_limited(template, row, found):
        return found
    above = solve_from_above(template, np.atleast_2d(row), patient=True)
    return above if above.settled[0] else found


def _is_limited(template: Template, row: Array, found: Solution) -> bool:
    """Return whether a supply of a board is at its limit."""
    values = np.atleast_2d(row)[0]
    return any(
        abs(float(found.current(e.ref)[0])) > AT_LIMIT * values[template.column[n, "limit"]]
        for n, e in enumerate(template.elements)
        if e.kind == "supply" and values[template.column[n, "fitted"]] > 0
    )


def solve_from_above(template: Template, rows: Array, patient: bool = False) -> Solution:
    """Return the operating points that are reached from those without the limits of the supplies.

    Rows where that leads nowhere are not `settled`, without `patient` also those that only the slow ways would solve.
    """
    limits = [n for n, p in enumerate(template.parameters) if (p.kind, p.name) == ("supply", "limit")]
    free = rows.copy()
    free[:, limits] = NO_LIMIT_A
    return solve_near(template, rows, solve(template, free, patient=patient).state)


AT_LIMIT = 0.98
"""Share of its limit from which a supply counts as limited."""
NO_LIMIT_A = 1e3
"""A supply that never limits."""


def solve_near(template: Template, rows: Array, start: Array, steps: int = PLAIN_STEPS) -> Solution:
    """Return the operating points that plain steps from `start` reach, one row of it for all or one a row.

    Quick, for many boards that are alike; what does not settle so is left to slower ways.
    """

    def step(equations: Equations, x: Array, last: Array) -> Rows:
        return _newton(equations, x, last, np.arange(len(x), dtype=np.intp), np.inf, steps)

    return _in_parts(template, rows, start, step)


def _in_parts(
    template: Template, rows: Array, start: Array | None, way: Callable[[Equations, Array, Array], Rows]
) -> Solution:
    rows = np.atleast_2d(np.asarray(rows, dtype=np.float64))
    parts = []
    for first in range(0, len(rows), ROWS_AT_ONCE):
        some = rows[first : first + ROWS_AT_ONCE]
        begin = start if start is None or len(start) == 1 else start[first : first + ROWS_AT_ONCE]
        parts.append(_solve(template, some, begin, way))
    return parts[0] if len(parts) == 1 else _joined(parts)


def residuals(template: Template, rows: Array, state: Array) -> Array:
    """Return what is left over in every equation when `state` (one row) is put into each row of parameters."""
    equations = Equations(template, np.atleast_2d(rows))
    f, _ = equations.evaluate(np.broadcast_to(state, (len(equations.p), equations.unknowns.size)).copy(), slopes=False)
    return f


def solve_linear(template: Template, row: Array, state: Array, rows: Array) -> Array:
    """Return the state of each row to first order, from the operating point `state` of `row`.

    One matrix serves all rows: x = x0 - J^-1 f(x0, row). Good for small changes, such as tolerances.
    """
    equations = Equations(template, np.atleast_2d(row))
    _, j = equations.evaluate(np.atleast_2d(state))
    f = np.concatenate(
        [residuals(template, rows[n : n + ROWS_AT_ONCE], state) for n in range(0, len(rows), ROWS_AT_ONCE)]
    )
    return np.asarray(np.atleast_2d(state) - np.linalg.solve(j[0], f.T).T)


def _joined(parts: list[Solution]) -> Solution:
    first = parts[0]
    return Solution(
        first.template,
        np.concatenate([p.volts for p in parts]),
        np.concatenate([p.currents for p in parts]),
        first.sources,
        np.concatenate([p.settled for p in parts]),
        tuple(m for p in parts for m in p.moving),
        np.concatenate([p.state for p in parts]),
    )


def _solve(
    template: Template, rows: Array, start: Array | None, way: Callable[[Equations, Array, Array], Rows]
) -> Solution:
    equations = Equations(template, rows)
    size = equations.unknowns.size
    x = np.zeros((len(rows), size)) if start is None else np.broadcast_to(start, (len(rows), size)).copy()
    last = np.zeros((len(rows), size))
    return _solution(template, equations, x, last, way(equations, x, last))


def _ladder(equations: Equations, x: Array, last: Array, patient: bool) -> Rows:
    """Settle the rows of x in place by ever more patient ways; return those that did not settle."""
    left = _newton(equations, x, last, np.arange(len(x), dtype=np.intp), np.inf, PLAIN_STEPS)
    for way in (_softly, _gently, _shortly):
        if len(left):
            left = way(equations, x, last, left, patient)
    if len(left) and patient:
        x[left] = 0.0
        left = _patient(equations, x, last, left, PATIENCE, HELD_STEPS)
        left = _newton(equations, x, last, left, CLOSE_V, CLOSE_STEPS) if len(left) else left
    return left


def _shortly(equations: Equations, x: Array, last: Array, left: Rows, _: bool) -> Rows:
    """Settle rows from nothing by short steps; return what did not settle."""
    x[left] = 0.0
    return _newton(equations, x, last, left, 0.5, 2 * PLAIN_STEPS)


def _softly(equations: Equations, x: Array, last: Array, left: Rows, patient: bool, gain: float = np.inf) -> Rows:
    """Settle rows as converters start: on small limits first, from there on their own; return what did not settle.

    On its whole limit a step-up converter would at once draw more than its supply gives, and fall off again.
    """
    if not equations.converts():
        return left
    x[left] = 0.0
    for share in SOFT_SHARES if patient else SOFT_SHARES[:2]:
        equations.ease(gain, share)
        rough = _newton(equations, x, last, left, np.inf, 30) if share else left
        _newton(equations, x, last, rough, 0.5, 60)
        equations.ease(gain)
        begun = x[left].copy()
        failed = _newton(equations, x, last, left, np.inf, 40)
        x[failed] = begun[np.isin(left, failed)]
        left = failed
        if not len(left):
            break
    return left


def _gently(equations: Equations, x: Array, last: Array, left: Rows, patient: bool) -> Rows:
    """Settle rows with amplifiers: without them, then from small gains up to their own; return what did not settle.

    Without them converters are started softly where plain steps do not start them.
    """
    if not equations.has(Amplifier):
        return left
    x[left] = 0.0
    for gain in GENTLE_GAINS:
        equations.ease(gain)
        still = _settle(equations, x, last, left)
        if not gain and len(still):
            _softly(equations, x, last, still, patient, gain)
    equations.ease()
    return _settle(equations, x, last, left)


def _settle(equations: Equations, x: Array, last: Array, left: Rows) -> Rows:
    """Settle rows by plain steps, else by shorter ones from the same start; return what did not settle."""
    begun = x.copy()
    left = _newton(equations, x, last, left, np.inf, GENTLE_STEPS)
    x[left] = begun[left]
    return _newton(equations, x, last, left, 0.5, 2 * GENTLE_STEPS) if len(left) else left


class _Stride:
    """How long the next step of each row may be: less and less while it goes to and fro across a bend."""

    def __init__(self, rows: int, nodes: int, most_v: float) -> None:
        self._most_v = np.full(rows, most_v)
        self._last = np.zeros((rows, nodes))

    def damped(self, dx: Array, rows: Rows, n: int) -> Array:
        """Return the steps `dx` (rows, unknowns) of some rows as far as they may go, in the n-th round."""
        nodes = self._last.shape[1]
        biggest = np.abs(dx[:, :nodes]).max(axis=1, initial=0.0)
        if n > FREE_STEPS:
            back = (dx[:, :nodes] * self._last[rows]).sum(axis=1) < 0.0
            most_v = self._most_v[rows]
            self._most_v[rows] = np.where(back, np.minimum(biggest, most_v) * SHORTER, most_v * LONGER)
        found = np.asarray(dx * np.minimum(1.0, self._most_v[rows] / np.maximum(biggest, 1e-300))[:, None])
        self._last[rows] = found[:, :nodes]
        return found


def _newton(equations: Equations, x: Array, last: Array, left: Rows, most_v: float, steps: int) -> Rows:
    """Step the rows `left` of x in place; return those that did not settle."""
    nodes = equations.unknowns.nodes
    stride = _Stride(len(x), nodes, most_v)
    for n in range(steps):
        f, j = equations.evaluate(x[left], left)
        dx = _step(j, f)
        holds = ~_open_ends(x[left], f, nodes)
        far = np.abs(dx[:, :nodes]).max(axis=1, initial=0.0) > WANDERS_V
        x[left] += np.where((holds & far)[:, None], 0.0, stride.damped(dx, left, n))
        last[left] = dx
        bad = ~(np.abs(x[left][:, :nodes]) < ABSURD_V).all(axis=1) | ~np.isfinite(x[left]).all(axis=1)
        x[left[bad]] = 0.0
        still = bad | (_moves(x[left], dx, nodes) & ~holds)
        left = left if still.all() else left[still]
        if not len(left):
            break
    return left


def _moves(x: Array, dx: Array, nodes: int) -> Flags:
    """Return the rows whose step is not yet small."""
    size = np.abs(x[:, :nodes]).max(axis=1, initial=0.0)
    volts = np.abs(dx[:, :nodes]).max(axis=1, initial=0.0) > VOLTS_SETTLED * (1.0 + size)
    return np.asarray(volts | (np.abs(dx[:, nodes:]) > 1e-9 + 1e-7 * np.abs(x[:, nodes:])).any(axis=1))


def _open_ends(x: Array, f: Array, nodes: int) -> Flags:
    """Return the rows whose equations do not hold to the last digits at x, where `f` is what is left over in them.

    Nodes that only the leak to ground holds may wander by microvolts: their currents tell that all is done.
    """
    size = np.abs(x[:, :nodes]).max(axis=1, initial=0.0)
    return np.asarray(np.abs(f).max(axis=1, initial=0.0) > 1e-12 + AMPS_SETTLED * size)


def _step(j: Array, f: Array) -> Array:
    try:
        return np.asarray(np.linalg.solve(j, -f[:, :, None])[:, :, 0])
    except np.linalg.LinAlgError:
        held = j + 1e-9 * np.eye(j.shape[1])
        return np.stack([np.linalg.lstsq(a, -b, rcond=None)[0] for a, b in zip(held, f, strict=True)])


def _patient(equations: Equations, x: Array, last: Array, left: Rows, patience: int, inner: int) -> Rows:
    """Follow the charging of a capacitor at every node in ever longer steps; return the rows that never rest.

    A row that not even the shortest step moves is given up, for the next one would be the same again; so is one that
    for many rounds came no nearer to doing without its capacitors.
    """
    nodes = equations.unknowns.nodes
    hold = np.full(len(x), 1.0)
    least, rounds = hold.copy(), np.zeros(len(x), dtype=np.intp)
    stuck = np.zeros(len(x), dtype=bool)
    for _ in range(patience):
        before = x[left]
        charging = hold[left]
        after, done = _held_step(equations, before, hold[left], left, inner)
        moved = np.abs(after - before)[:, :nodes].max(axis=1, initial=0.0)
        x[left[done]] = after[done]
        last[left] = after - before
        hold[left] = np.clip(np.where(done, hold[left] * 0.3, hold[left] * 5.0), 1e-16, MOST_HELD_S)
        resting = (hold[left] < 1e-11) & (moved < 1e-5) | (charging * moved < REST_A)
        rounds[left] = np.where(hold[left] < least[left], 0, rounds[left] + 1)
        least[left] = np.minimum(least[left], hold[left])
        stuck[left] = ~done & (charging == MOST_HELD_S) | ~(done & resting) & (rounds[left] > NO_NEARER)
        left = left[~(done & resting) & ~stuck[left]]
        if not len(left):
            break
    return np.sort(np.concatenate([left, np.flatnonzero(stuck)]))


def _held_step(equations: Equations, before: Array, hold: Array, left: Rows, steps: int) -> tuple[Array, Flags]:
    """Return x after one implicit step from `before` with a capacitor `hold` at each node, and where that worked."""
    nodes = equations.unknowns.nodes
    spot = np.arange(nodes)
    x, done, rows, which = before.copy(), np.zeros(len(left), dtype=bool), np.arange(len(left)), left
    stride = _Stride(len(left), nodes, np.inf)
    for n in range(steps):
        f, j = equations.evaluate(x[rows], which)
        f[:, :nodes] += hold[rows][:, None] * (x[rows] - before[rows])[:, :nodes]
        j[:, spot, spot] += hold[rows][:, None]
        holds = ~_open_ends(x[rows], f, nodes)
        dx = stride.damped(_step(j, f), rows, n)
        x[rows] += dx
        settled = np.isfinite(x[rows]).all(axis=1) & (holds | ~_moves(x[rows], dx, nodes))
        done[rows[settled]] = True
        going = ~settled & np.isfinite(x[rows]).all(axis=1)
        if not going.all():
            rows, which = rows[going], which[going]
        if not len(rows):
            break
    return x, done


def _solution(template: Template, equations: Equations, x: Array, last: Array, left: Rows) -> Solution:
    outer = len(template.nodes)
    settled = np.ones(len(x), dtype=bool)
    settled[left] = False
    volts = np.concatenate([x[:, :outer], np.zeros((len(x), 1))], axis=1)
    currents = x[:, equations.unknowns.nodes :]
    moving = tuple(
        () if settled[row] else tuple(template.nodes[n] for n in np.flatnonzero(np.abs(last[row, :outer]) > 1e-4)[:5])
        for row in range(len(x))
    )
    names = tuple(template.elements[n].ref for n in equations.sources)
    return Solution(template, volts, currents, names, settled, moving, x)
