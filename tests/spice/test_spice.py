"""Operating points against ngspice: healthy and faulty sections, random rail trees, random networks."""

from pathlib import Path

import pytest

from reworkkit.compute.formulas.network import compile_circuit, solve
from reworkkit.model.results import Circuit
from tests.compute.circuit_cases import section_faults, without_converters
from tests.spice.netlist import NGSPICE, ngspice, with_soft_supplies

pytestmark = [
    pytest.mark.spice,
    pytest.mark.skipif(NGSPICE is None, reason="the circuit simulator ngspice is not installed"),
]
GIVES_UP = {"R7 shorted"}
"""Circuits at which ngspice itself stops; they do not count."""
FAULTS = sorted(set(section_faults()) - GIVES_UP)
TREES = range(12)


def compare(circuit: Circuit, folder: Path) -> float | None:
    """Return the largest difference in volts, beyond 0.05 % of the value; None where the simulator gives up."""
    circuit = with_soft_supplies(circuit)
    other = ngspice(circuit, folder)
    if other is None:
        return None
    template = compile_circuit(circuit)
    solution = solve(template, template.powered(*(e.ref for e in circuit.elements if e.kind == "supply")))
    assert solution.settled[0]
    return max(
        max(abs(float(solution.at(node)[0]) - volts) - 0.0005 * abs(volts), 0.0) for node, volts in other.items()
    )


@pytest.mark.parametrize("name", FAULTS)
def test_a_section_agrees_with_the_simulator(name: str, tmp_path: Path) -> None:
    difference = compare(section_faults()[name], tmp_path)
    assert difference is not None
    assert difference < 1e-3


@pytest.mark.parametrize("seed", TREES)
def test_random_rail_trees_agree_with_the_simulator(seed: int, tmp_path: Path) -> None:
    difference = compare(without_converters(seed), tmp_path)
    assert difference is not None
    assert difference < 1e-3


def test_at_least_thirty_circuits_are_compared() -> None:
    assert len(FAULTS) + len(TREES) >= 30
