"""Operating points of direct-current networks: a circuit compiled once, then many boards solved at once.

    template = compile_circuit(circuit, bridges=[("+5V", "+3V3")])
    row = template.powered("VIN_RAW")                 # nominal, that supply on
    solution = solve(template, rows)                  # rows (boards, parameters)
    solution.at("+3V3"), solution.current("VIN_RAW"), solution.settled, solution.moving

A fault is a change of parameters in one row: `row[column] = figure` with `template.columns(ref, name)`.
"""

from reworkkit.compute.formulas.network.solver import (
    Solution,
    residuals,
    solve,
    solve_from_above,
    solve_linear,
    solve_near,
    solve_working,
)
from reworkkit.compute.formulas.network.template import Template, compile_circuit

__all__ = [
    "Solution",
    "Template",
    "compile_circuit",
    "residuals",
    "solve",
    "solve_from_above",
    "solve_linear",
    "solve_near",
    "solve_working",
]
