"""The step response of each joint, once: finite volumes reduced to a few modes by projection.

The network is symmetric, so its solutions at a few rates `s` span a space in which the small system keeps positive
capacities and conductances: every mode decays, and heat is conserved. Rates follow the logarithm, as for the rational
Krylov method (Druskin, Knizhnerman, SIAM J. Sci. Comput. 32 (2010) 3537).
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from reworkkit.compute.heat_demand.grid import Grid, Mesh, build
from reworkkit.compute.heat_demand.site import Site

Floats = NDArray[np.float64]
RATES = np.concatenate(([0.0], np.geomspace(3e-3, 6e1, 8)))
"""Rates [1/s] at which the network is solved: steady state, then 300 s down to 16 ms."""
CHUNK = 48


class Response(NamedTuple):
    """Modes of B joints: T(s) = sum over modes of near * x / (s + decay) per watt into the joint.

    Axes: joint, mode. `near` is the joint under the tip, `far` seven eighths down the hole (the same for pads);
    `spread` (joint, column, mode) the top of the board at the radii `radius` [m].
    """

    decay: Floats
    near: Floats
    far: Floats
    spread: Floats
    radius: Floats

    def at(self, rates: NDArray[np.complex128]) -> tuple[NDArray[np.complex128], NDArray[np.complex128]]:
        """Return near and far temperature per watt [K/W] at complex rates; axes: joint, rate."""
        factor = 1.0 / (self.decay[:, :, None] + rates)
        weights = np.stack([self.near * self.near, self.near * self.far], axis=1)
        both = np.matmul(weights.astype(complex), factor)
        return both[:, 0], both[:, 1]

    def steady(self) -> tuple[Floats, Floats]:
        """Return near and far temperature per watt [K/W] after a very long time."""
        return (self.near**2 / self.decay).sum(axis=1), (self.near * self.far / self.decay).sum(axis=1)

    def pick(self, rows: NDArray[np.intp]) -> "Response":
        """Return the responses of the rows given, in that order."""
        return Response(*(field[rows] for field in self))


def respond(sites: tuple[Site, ...], mesh: Mesh = Mesh(), rates: Floats = RATES) -> Response:  # noqa: B008
    """Return the step responses of all sites, in their order."""
    parts = [_reduce(build(sites[i : i + CHUNK], mesh), rates) for i in range(0, len(sites), CHUNK)]
    return Response(*(np.concatenate(field) for field in zip(*parts, strict=True)))


def _reduce(grid: Grid, rates: Floats) -> Response:
    columns, levels, count = grid.capacity.shape
    nodes = columns * levels
    temperature, leaf = _solve(grid, rates)
    main, side = _root(grid)
    weighed = main[:, :, None] * temperature
    weighed[:, :-1] += side[:, :, None] * temperature[:, 1:]
    leaf_root = np.sqrt(grid.leaf_capacity)
    flat = np.concatenate([weighed.reshape(nodes, len(rates), count), (leaf_root * leaf)[None]])
    scaled = np.ascontiguousarray(flat.transpose(2, 0, 1))
    scaled /= np.linalg.norm(scaled, axis=1, keepdims=True)
    base, _ = np.linalg.qr(scaled)
    shapes = base.transpose(1, 2, 0).copy()
    inner = shapes[:nodes].reshape(columns, levels, len(rates), count)
    for level in range(levels - 1, -1, -1):
        if level + 1 < levels:
            inner[:, level] -= side[:, level, None] * inner[:, level + 1]
        inner[:, level] /= main[:, level, None]
    shapes[nodes] /= leaf_root
    flow = apply(grid, shapes[:nodes].reshape(columns, levels, len(rates), count), shapes[nodes])
    stiff = np.matmul(shapes.transpose(2, 1, 0), flow.transpose(2, 0, 1))
    decay, turn = np.linalg.eigh((stiff + stiff.transpose(0, 2, 1)) / 2)
    spread = np.matmul(shapes[0:nodes:levels].transpose(2, 0, 1), turn)
    far = np.where(grid.leaf_last, grid.far_level, 0)
    under = np.take_along_axis(shapes[:levels], far[None, None, :].astype(int), axis=0)[0]
    return Response(
        np.maximum(decay, 1e-9),
        spread[:, 0].copy(),
        np.matmul(under.T[:, None], turn)[:, 0],
        spread,
        ((grid.faces[:-1] + grid.faces[1:]) / 2).T,
    )


def _root(grid: Grid) -> tuple[Floats, Floats]:
    """Return the triangular root of the heat capacities: main line and what ties a level to the next deeper one."""
    main, side = np.empty_like(grid.capacity), np.empty_like(grid.shared)
    main[:, 0] = np.sqrt(grid.capacity[:, 0])
    for level in range(grid.shared.shape[1]):
        side[:, level] = grid.shared[:, level] / main[:, level]
        main[:, level + 1] = np.sqrt(grid.capacity[:, level + 1] - side[:, level] ** 2)
    return main, side


def apply(grid: Grid, temperature: Floats, leaf: Floats) -> Floats:
    """Return the heat [W] leaving every node at given temperatures; axes: node (the part last), case, joint."""
    flow = grid.loss[:, :, None] * temperature
    step = grid.through[:, :, None] * np.diff(temperature, axis=1)
    flow[:, :-1] -= step
    flow[:, 1:] += step
    step = grid.along[1:, :, None] * np.diff(temperature, axis=0)
    flow[:-1] -= step
    flow[1:] += step
    level = np.where(grid.leaf_last, temperature.shape[1] - 1, 0)
    joints = np.arange(temperature.shape[3])
    into = grid.leaf_conductance * (temperature[0, level, :, joints].T - leaf)
    flow[0, level, :, joints] += into.T
    rest = grid.leaf_loss * leaf - into
    return np.concatenate([flow.reshape(-1, *flow.shape[2:]), rest[None]])


def _solve(grid: Grid, rates: Floats) -> tuple[Floats, Floats]:
    """Solve the network at all rates for one watt into the joint, from the outermost column inwards and back."""
    columns, levels, count = grid.capacity.shape
    inverse = np.empty((columns, levels, levels, len(rates), count))
    blocks = _diagonals(grid, rates)
    steps = np.arange(levels)
    for column in range(columns - 1, -1, -1):
        block = np.zeros((levels, levels, len(rates), count))
        block[steps, steps] = blocks[column]
        link = rates[:, None] * grid.shared[column][:, None] - grid.through[column][:, None]
        block[steps[:-1], steps[1:]] = block[steps[1:], steps[:-1]] = link
        if column + 1 < columns:
            outward = grid.along[column + 1]
            block -= (outward[:, None] * outward[None])[:, :, None] * inverse[column + 1]
        inverse[column] = _inverse(block)
    temperature = np.empty((columns, levels, len(rates), count))
    temperature[0] = inverse[0, :, 0]
    for column in range(1, columns):
        pushed = grid.along[column][:, None] * temperature[column - 1]
        temperature[column] = np.einsum("ijsb,jsb->isb", inverse[column], pushed)
    level = np.where(grid.leaf_last, levels - 1, 0)
    seen = np.take_along_axis(temperature[0], level[None, None, :], axis=0)[0]
    whole = grid.leaf_conductance + grid.leaf_loss + rates[:, None] * grid.leaf_capacity
    return temperature, grid.leaf_conductance * seen / whole


def _diagonals(grid: Grid, rates: Floats) -> Floats:
    """Return the diagonal of the network at all rates; axes: column, level, rate, joint. The part is folded in."""
    own = grid.loss.copy()
    own[:, :-1] += grid.through
    own[:, 1:] += grid.through
    own[1:] += grid.along[1:]
    own[:-1] += grid.along[1:]
    blocks = own[:, :, None] + rates[:, None] * grid.capacity[:, :, None]
    g = grid.leaf_conductance
    part = g - g * g / (g + grid.leaf_loss + rates[:, None] * grid.leaf_capacity)
    blocks[0, 0] += np.where(grid.leaf_last, 0.0, part)
    blocks[0, -1] += np.where(grid.leaf_last, part, 0.0)
    return blocks


def _inverse(block: Floats) -> Floats:
    """Invert small positive definite blocks on the first two axes, in place, by Gauss-Jordan without pivoting."""
    for pivot in range(len(block)):
        scale = 1.0 / block[pivot, pivot]
        column = block[:, pivot].copy()
        row = block[pivot] * scale
        block -= column[:, None] * row[None]
        block[pivot] = row
        block[:, pivot] = -column * scale
        block[pivot, pivot] = scale
    return block
