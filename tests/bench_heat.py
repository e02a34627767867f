"""Speed of the heat model in CPU time, one thread of the linear algebra: `python -m tests.bench_heat`."""

import os
import time

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

GOALS_S = {"200 joints x 27 scenarios": 0.15, "1,000 joints x 27 scenarios": 0.40, "one joint x 27 scenarios": 0.03}


class Timing(NamedTuple):
    """One row of the speed table; goal None where there is none."""

    what: str
    seconds: float
    goal_s: float | None


def distinct(count: int) -> tuple:
    """Return `count` different sites made from the typical cases."""
    from tests.compute.heat_cases import CASES, case

    cases = [case(name) for name in CASES]
    spread = np.linspace(0.8, 1.25, count)
    return tuple(
        made._replace(
            site=made.site._replace(metal_j_per_k=made.site.metal_j_per_k * float(s), board_m=0.028 * float(s))
        )
        for s, made in zip(spread, (cases[n % len(cases)] for n in range(count)), strict=True)
    )


def scenarios(cases: tuple) -> np.ndarray:
    """Step responses once, then 27 irons, settings and preheats: three tips, three powers, three surroundings."""
    from reworkkit.compute.heat_demand.figures import usual_tips
    from reworkkit.compute.heat_demand.iron import gains, needed_rise
    from reworkkit.compute.heat_demand.needed import iron_on
    from reworkkit.compute.heat_demand.response import respond

    response = respond(tuple(c.site for c in cases))
    hole = np.array([c.site.hole for c in cases])
    found = []
    for tip in ("small", "medium", "large"):
        for power in (25.0, 60.0, 90.0):
            gain = gains(response, iron_on(cases, usual_tips()[tip]._replace(power_w=power)), 8.0)
            for around in (25.0, 100.0, 150.0):
                near, far = np.full(len(cases), 260.0 - around), np.where(hole, 220.0 - around, 0.0)
                found.append(around + needed_rise(gain, near, far, power))
    return np.array(found)


def best(work: Callable[[], object], times: int = 5) -> float:
    """Return the least CPU time [s] of several runs."""
    spent = []
    for _ in range(times):
        start = time.process_time()
        work()
        spent.append(time.process_time() - start)
    return min(spent)


def measure() -> tuple[Timing, ...]:
    """Return the rows of the speed table."""
    from reworkkit.compute.heat_demand import heat_demand
    from reworkkit.model.facts import BenchFacts
    from tests.compute.heat_cases import CASES, board

    rows = []
    for what, count in (("one joint", 1), ("200 joints", 200), ("1,000 joints", 1000)):
        cases = distinct(count)
        name = f"{what} x 27 scenarios"
        rows.append(Timing(name, best(lambda cases=cases: scenarios(cases)), GOALS_S[name]))
    joints = tuple(made for layers, ounces, made in CASES.values() if layers == 2)
    on, bench = board(), BenchFacts()
    many = joints * 100
    rows.append(
        Timing(
            f"whole demand, {len(many):,} joints, {len(joints)} distinct",
            best(lambda: heat_demand(on, many, bench)),
            None,
        )
    )
    return tuple(rows)


if __name__ == "__main__":
    for what, seconds, goal in measure():
        print(f"{what:45s} {seconds * 1e3:8.1f} ms" + (f"   goal {goal * 1e3:.0f} ms" if goal else ""))
