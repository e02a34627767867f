"""The same network solved another way: all nodes, dense, exact exponentials. For tests only."""

import numpy as np
import scipy.linalg

from reworkkit.compute.heat_demand.grid import Grid
from reworkkit.compute.heat_demand.response import apply


def matrices(grid: Grid, joint: int = 0):
    """Return conductance [W/K] and capacity [J/K] matrices of one joint, every node, the part last."""
    columns, levels, _ = grid.capacity.shape
    nodes = columns * levels
    one = Grid(*(field[..., joint : joint + 1] for field in grid))
    unit = np.eye(nodes + 1)
    flow = apply(one, unit[:nodes].reshape(columns, levels, nodes + 1, 1), unit[nodes][:, None])
    capacity = np.diag(np.append(one.capacity.reshape(-1), one.leaf_capacity))
    for column in range(columns):
        for level in range(levels - 1):
            node = column * levels + level
            capacity[node, node + 1] = capacity[node + 1, node] = one.shared[column, level, 0]
    return flow[:, :, 0], capacity


def step_response(grid: Grid, times, joint: int = 0):
    """Return near and far temperature per watt [K/W] at the times after one watt is switched on."""
    conductance, capacity = matrices(grid, joint)
    decay, shapes = scipy.linalg.eigh(conductance, capacity)
    growth = (1 - np.exp(-np.outer(times, decay))) / decay
    far = grid.far_level if grid.leaf_last[joint] else 0
    return growth @ shapes[0] ** 2, growth @ (shapes[0] * shapes[far])
