"""A plain diagnosis that knows the bench's own device models: a yardstick for one with other models.

    python -m tests.fault_bench.yardstick doser bus-node

Every listed fault is simulated on a few boards; a reading is judged by a normal distribution for each fault, points
taken as independent, sigmas as they are or widened by `SIGMAS`, each fault alike likely. Nothing of it is stored.
"""

import math
import sys
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

from tests.fault_bench.generate import SECTIONS, WORKERS, states
from tests.fault_bench.grade import POINT_COUNTS, Answer, Grader, Row, as_lines
from tests.fault_bench.meter import METERS
from tests.fault_bench.parts import Section
from tests.fault_bench.states import Spread, partners

SIGMAS = 1.5
NONE_FITS = 4.0
"""Largest deviation of a reading, in widened sigmas, above which no listed fault fits."""


def diagnosis(section: Section, known: dict[str, Spread]) -> Callable[[Path, list[Row]], Answer]:
    """Return a diagnosis from the states of a section; readings without power are left aside."""
    same = partners(known, METERS[section.meter])

    def diagnose(folder: Path, rows: list[Row]) -> Answer:
        shown = [(row["Point"], float(row["Reading"].split()[0])) for row in rows if row["Mode"] in ("volts", "amps")]
        scores = {name: _score(section, spread, shown) for name, spread in known.items()}
        best = max(score for score, _ in scores.values())
        weights = {name: math.exp(score - best) for name, (score, _) in scores.items()}
        answer = _answer(weights, same)
        fits = min(worst for _, worst in scores.values()) <= NONE_FITS
        return answer if fits else {**answer, "verdict": "no_listed_fault_fits"}

    return diagnose


def _score(section: Section, spread: Spread, shown: list[tuple[str, float]]) -> tuple[float, float]:
    """Return the logarithm of the likelihood, and the largest deviation in sigmas."""
    total, worst = 0.0, 0.0
    for point, value in shown:
        n = len(section.points) if point == "supply" else section.points.index(point)
        value = value / 1000 if point == "supply" else value
        dial = METERS[section.meter]
        share, floor = dial.amp if point == "supply" else dial.volt
        sigma = SIGMAS * math.hypot(math.sqrt(spread[1][n]), (share / 100 * abs(value) + floor) / math.sqrt(3))
        off = abs(value - spread[0][n]) / sigma
        total, worst = total - off**2 / 2 - math.log(sigma), max(worst, off)
    return total, worst


def _answer(weights: dict[str, float], same: dict[str, list[str]]) -> Answer:
    """Return groups: the likeliest fault with its partners, then the likeliest of the rest with its own, and so on."""
    total, groups, left = sum(weights.values()), [], dict(weights)
    while left:
        first = max(left, key=lambda name: left[name])
        members = [first, *(name for name in same[first] if name in left)]
        groups.append((members, sum(left.pop(name) for name in members) / total))
    if "healthy" in groups[0][0]:
        return {"verdict": "no_fault_seen", "groups": []}
    faults = [[_said(name) for name in members if name != "healthy"] for members, _ in groups]
    return {
        "verdict": "fault",
        "groups": [{"faults": f, "probability": p} for f, (_, p) in zip(faults, groups, strict=True)],
    }


def _said(name: str) -> dict[str, str]:
    ref, kind, *rest = name.split(":")
    more = {"pin_open": "pin", "wrong_variant": "to"}.get(kind)
    return {"ref": ref, "kind": kind} | ({more: rest[0]} if more else {})


def main(names: list[str]) -> None:
    """Print the tables of the sections named."""
    for name in names or SECTIONS:
        section = SECTIONS[name]
        with ProcessPoolExecutor(WORKERS) as pool:
            known = states(section, (), pool)
        grader = Grader(diagnosis(section, known), sections=(name,))
        tables = {f"{name}: singles, {n} points": grader.singles(n) for n in POINT_COUNTS}
        tables |= {"healthy": grader.healthy(13), "unlisted": grader.unlisted(13), "doubles": grader.doubles(13)}
        print("\n".join(as_lines(tables)))


if __name__ == "__main__":
    main(sys.argv[1:])
