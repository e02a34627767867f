"""Operating points: closed forms, a study's figures, Kirchhoff sums, and that everything converges."""

import numpy as np
import pytest

from reworkkit.compute.formulas.network import Template, compile_circuit, residuals, solve
from reworkkit.compute.formulas.network.equations import SINKS_A
from reworkkit.compute.formulas.network.solver import Solution
from reworkkit.model.results import Circuit
from tests.compute.circuit_cases import (
    circuit,
    converter,
    element,
    junction,
    load,
    rail_tree,
    regulator,
    section,
    section_faults,
    supply,
    wild,
)


def answer(made: Circuit, **changes: float) -> Solution:
    template = compile_circuit(made)
    row = powered(template)
    for name, value in changes.items():
        ref, _, parameter = name.partition("__")
        columns = template.columns(ref, parameter)
        assert columns
        row[columns] = value
    return solve(template, row)


def powered(template: Template) -> np.ndarray:
    return template.powered(*(e.ref for e in template.elements if e.kind == "supply"))


def test_a_divider_and_its_current(published: pytest.FixtureRequest) -> None:
    made = circuit(
        supply("IN", 11.64, 1.0),
        element("resistor", "R1", "IN S", resistance=100e3),
        element("resistor", "R2", "S GND", resistance=22e3),
    )
    source = "closed form V R2 / (R1 + R2)"
    published("divider 100k over 22k", float(answer(made).at("S")[0]), 11.64 * 22 / 122, source=source, absolute=2e-5)


def test_a_regulator_with_an_open_ground_pin_passes_its_input(published: pytest.FixtureRequest) -> None:
    """The fault that kills. The study's 7805 on 11.6 V gave 9.83 V with a dropout of about 1.8 V."""
    made = circuit(supply("IN", 11.6, 1.0), regulator("U1", "IN OUT GND OUT", 5.0, dropout=1.77), load("OUT", 0.02))
    assert float(answer(made).at("OUT")[0]) == pytest.approx(5.0, abs=1e-3)
    out = float(answer(made, U1__pin_common=0.0).at("OUT")[0])
    published("7805 with open ground on 11.6 V", out, 9.83, source="feasibility study, section 1", absolute=0.02)


def test_an_idle_regulator_holds_its_output() -> None:
    """Invariant: with nothing connected a regulator still shows its voltage; its diode's leak must not lift it."""
    made = circuit(supply("IN", 12.0, 1.0), regulator("U1", "IN OUT GND OUT", 8.0))
    assert float(answer(made).at("OUT")[0]) == pytest.approx(8.0, abs=1e-3)


def test_zener_supply_design(published: pytest.FixtureRequest) -> None:
    made = circuit(
        supply("IN", 12.0, 2.0),
        element("resistor", "RS", "IN OUT", resistance=17.5),
        junction("zener", "Z", "GND OUT", "zener_forward", breakdown=5.0, breakdown_at=0.4, slope=0.001),
    )
    current = float(answer(made).current("IN")[0])
    published(
        "12 V through 17.5 ohm to a 5 V Zener",
        current,
        0.4,
        source="textbook: 2 W Zener, Rs >= 17.5 ohm",
        tolerance=0.01,
    )


def test_limit_voltage_and_off_are_one_equation() -> None:
    """Closed form: on the limit a supply gives exactly it, above its voltage nothing but what discharges itself."""
    made = circuit(supply("IN", 12.0, 0.1), element("resistor", "R", "IN GND", resistance=10.0))
    on_limit = answer(made)
    assert float(on_limit.current("IN")[0]) == pytest.approx(0.1)
    assert float(on_limit.at("IN")[0]) == pytest.approx(1.0, abs=1e-6)
    two = circuit(supply("IN", 5.0, 1.0), supply("HI", 9.0, 1.0), element("link", "L", "IN HI", resistance=0.01))
    assert float(answer(two).current("IN")[0]) == pytest.approx(-SINKS_A, abs=1e-9)


def test_swapped_leads_clamp_at_the_limit() -> None:
    made = circuit(
        supply("IN", 12.0, 0.2),
        junction("tvs", "D", "GND IN", "tvs_forward", breakdown=16.0, breakdown_at=1e-3, slope=0.5),
    )
    turned = answer(made, IN__turned=1.0)
    assert turned.settled[0]
    assert float(turned.current("IN")[0]) == pytest.approx(-0.2)
    assert -1.0 < float(turned.at("IN")[0]) < -0.5


def test_a_load_draws_nothing_at_zero_volts() -> None:
    made = circuit(supply("IN", 0.0, 1.0), load("IN", 0.5))
    assert abs(float(answer(made).current("IN")[0])) < 1e-12


def test_a_converter_keeps_its_power_and_does_not_start_below_its_threshold() -> None:
    made = circuit(
        supply("IN", 24.0, 1.0),
        converter("U", "IN SW GND OUT", 5.0),
        element("inductor", "L", "SW OUT", resistance=0.1),
        element("resistor", "R", "OUT GND", resistance=50.0),
    )
    on = answer(made)
    drawn = float(on.current("IN")[0])
    assert float(on.at("OUT")[0]) == pytest.approx(5.0, abs=1e-3)
    power = 5.0 * 0.1 + 0.1**2 * 0.1  # what the load and the coil take
    assert drawn == pytest.approx(power / 0.8 / 24.0 + 0.005, rel=0.01)
    off = answer(made, IN__volts=3.0)
    assert float(off.at("OUT")[0]) == pytest.approx(0.0, abs=1e-3)


def test_back_feed_through_a_regulator() -> None:
    """A rail fed from elsewhere lifts the regulator's input to one junction below it: the programmer's 5 V."""
    made = circuit(
        supply("OUT", 5.0, 0.5),
        regulator("U1", "IN OUT GND OUT", 5.0),
        element("resistor", "R", "IN GND", resistance=1e4),
    )
    assert 4.0 < float(answer(made).at("IN")[0]) < 4.8


def test_kirchhoff_holds_in_every_row() -> None:
    """Invariant: what is left over in any node is below a nanoampere, healthy or faulty."""
    for made in section_faults().values():
        template = compile_circuit(made)
        row = powered(template)
        solution = solve(template, row)
        assert solution.settled[0]
        assert np.abs(residuals(template, row, solution.state)[:, : len(template.nodes)]).max() < 1e-9


def test_many_rows_give_what_each_gives_alone() -> None:
    template = compile_circuit(section(), bridges=[("V5", "V33")])
    rows = np.repeat(powered(template)[None], 20, axis=0)
    bridge = template.bridge("V33", "V5")
    assert bridge is not None
    rows[5:, template.columns("R3", "resistance")] *= 10
    rows[10:, bridge] = 20.0
    together = solve(template, rows)
    for n in (0, 7, 15):
        assert np.allclose(solve(template, rows[n]).volts[0], together.volts[n], atol=1e-6)
    warm = solve(template, rows, solve(template, rows[0]).state)
    assert np.allclose(warm.volts, together.volts, atol=1e-6)


def share_settled(maker: object, seeds: range) -> float:
    found = []
    for seed in seeds:
        template = compile_circuit(maker(seed))  # type: ignore[operator]
        solution = solve(template, powered(template))
        found.append(bool(solution.settled[0]))
        if not solution.settled[0]:
            assert solution.moving  # a row that does not settle names its nodes
    return sum(found) / len(found)


def test_rail_trees_and_wild_networks_converge() -> None:
    assert share_settled(rail_tree, range(25)) == 1.0
    assert share_settled(rail_tree, range(635, 636)) == 1.0  # the hardest of the first thousand
    assert share_settled(wild, range(12)) == 1.0


@pytest.mark.proof
def test_a_thousand_rail_trees_converge() -> None:
    """Goal 100 %. Seed 635 (a converter at its start voltage, on the limit, into a bridge) needs the very last way."""
    assert share_settled(rail_tree, range(1000)) == 1.0


@pytest.mark.proof
def test_a_thousand_wild_networks_converge() -> None:
    assert share_settled(wild, range(1000)) >= 0.999
