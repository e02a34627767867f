"""Junctions in closed form against a reference library and printed operating points."""

import numpy as np
import pytest
from scipy.special import wrightomega

from reworkkit.compute.formulas.junction import diode_current, forward_voltage, log_saturation, wright_omega
from reworkkit.compute.formulas.tolerance import adjustable_output, root_sum_of_squares, worst_case


def test_wright_omega_is_that_of_the_reference_library() -> None:
    z = np.concatenate([np.linspace(-740, -20, 500), np.linspace(-20, 20, 20001), np.linspace(20, 5000, 500)])
    assert np.max(np.abs(wright_omega(z) / wrightomega(z) - 1)) < 1e-13


def operating_point(source: float, resistance: float, log_is: float, slope_v: float, series: float = 1e-6) -> float:
    """The drop of a diode behind a resistor, by bisection: an independent way to the answer."""
    low, high = 0.0, source
    for _ in range(200):
        middle = (low + high) / 2
        current, _ = diode_current(np.array(middle), np.array(log_is), np.array(slope_v), np.array(series))
        low, high = (middle, high) if (source - middle) / resistance > current else (low, middle)
    return low


def test_printed_diode_circuits(published: pytest.FixtureRequest) -> None:
    drop = operating_point(5.0, 1000.0, np.log(0.07e-12), 0.026)
    published(
        "diode behind 1 kohm at 5 V", drop, 0.6461929, source="ANU ENGN2211 notes, diode node example", absolute=2e-6
    )
    current = (5.0 - drop) / 1000
    published("its current, 5 V 1 kohm", current, 4.35e-3, source="ANU ENGN2211 notes", absolute=5e-6)
    textbook = operating_point(1.0, 1000.0, np.log(1e-15), 0.025)
    published(
        "diode behind 1 kohm at 1 V, Is 1 fA",
        textbook,
        0.66354,
        source="Sedra and Smith problem 4.34, answer recomputed by an independent study",
        absolute=1e-5,
    )


def test_a_junction_drops_what_it_was_made_from() -> None:
    """Invariant: the saturation current is chosen so that the drop at the test current is the one stated."""
    for forward, at, slope_v, series in ((0.6, 1e-3, 0.04, 0.6), (0.18, 1e-3, 0.027, 0.03), (3.1, 0.01, 0.052, 10.0)):
        log_is = float(log_saturation(np.array(forward), np.array(at), np.array(slope_v), np.array(series)))
        assert forward_voltage(at, log_is, slope_v, series) == pytest.approx(forward, abs=1e-9)
        current, _ = diode_current(np.array(forward), np.array(log_is), np.array(slope_v), np.array(series))
        assert float(current) == pytest.approx(at, rel=1e-9)


def test_tolerance_stacks(published: pytest.FixtureRequest) -> None:
    source = "worked stack 1 %, 1 %, 1.5 % (forum post of 25 Oct 2021); arithmetic checks itself"
    published("worst case of 1, 1, 1.5 %", worst_case([1, 1, 1.5]), 3.5, source=source)
    published("RSS of 1, 1, 1.5 %", root_sum_of_squares([1, 1, 1.5]), 2.06, source=source, absolute=0.005)
    worked = "adjustable regulator 1.25 V, 30k and 10k, worked by hand"
    published("adjustable output nominal", adjustable_output(1.25, 30e3, 10e3), 5.0, source=worked)
    published(
        "its worst case low",
        adjustable_output(1.25 * 0.985, 30e3 * 0.99, 10e3 * 1.01),
        4.8519,
        source=worked,
        absolute=1e-4,
    )
    published(
        "its worst case high",
        adjustable_output(1.25 * 1.015, 30e3 * 1.01, 10e3 * 0.99),
        5.1519,
        source=worked,
        absolute=1e-4,
    )
    parts = [0.015 * 5.0, 0.01 * 3.75, 0.01 * 3.75]
    published("its root sum of squares", root_sum_of_squares(parts), 0.0919, source=worked, absolute=2e-4)
