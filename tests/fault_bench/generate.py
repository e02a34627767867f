"""Make the board folders and the stored cases. Run from the project folder:

python -m tests.fault_bench.generate                  # all sections of both sets
python -m tests.fault_bench.generate doser bus-node   # some of them
python -m tests.fault_bench.generate --boards         # only the board folders
"""

import random
import sys
from collections.abc import Iterable
from concurrent.futures import ProcessPoolExecutor
from typing import Any

from tests.fault_bench.boards import write_board
from tests.fault_bench.deck import NoAnswerError, pairs, run_powered, run_unpowered
from tests.fault_bench.draw import Draw
from tests.fault_bench.faults import Fault, listed, unlisted
from tests.fault_bench.meter import METERS, Meter
from tests.fault_bench.parts import Section
from tests.fault_bench.second.sections import SECTIONS as SECOND
from tests.fault_bench.sections import SECTIONS as FIRST
from tests.fault_bench.states import Spread, as_text, distance, partners, spread_of

SECTIONS = FIRST | SECOND
"""The sections of both sets by name."""
WIDE = 1.7
CLASS_BOARDS = (9001, 9002, 9003, 9004, 9005)
VISIBLE_DISTANCE = 3.0
WORKERS = 2

Readings = dict[str, Any]
Task = tuple[str, str, int, tuple[Fault, ...]]


def readings(section: Section, faults: tuple[Fault, ...], board: int, width: float, case: str) -> Readings:
    """Return what the meter shows on one board with its faults, powered and unpowered; raises NoAnswerError."""
    draw, dial = Draw(board, width), Meter(case, METERS[section.meter])
    powered = run_powered(section, faults, draw)
    off = tuple(fault for fault in faults if fault.ref != "supply")
    unpowered = run_unpowered(section, off, draw)
    return {
        "volts": [dial.volts(v) for v in powered.volts],
        "amps": dial.amps(powered.amps),
        "ohms": [dial.ohms(r) for r in unpowered.ohms],
        "diode": [dial.diode(v) for v in unpowered.diode],
        "diode_swapped": [dial.diode(v) for v in unpowered.diode_swapped],
    }


def case_of(task: Task) -> Readings | None:
    """Return one stored case, or None where the simulator has no answer."""
    name, kind, board, faults = task
    section, width = SECTIONS[name], WIDE if kind == "wide" else 1.0
    case = f"{kind}-{board}"
    try:
        made: Readings = {"id": case, "set": kind, "board": board, "faults": [fault.as_json() for fault in faults]}
        made |= readings(section, faults, board, width, f"{name}:{case}")
        if kind == "double":
            made["after"] = [
                readings(section, left, board, width, f"{name}:{case}:{n}")
                for n, left in enumerate((faults[1:], faults[:1], ()))
            ]
    except NoAnswerError:
        return None
    return made


def _state(task: tuple[str, Fault | None]) -> tuple[str, list[list[float]]]:
    """Return the readings without meter errors of a fault on several boards, supply current last."""
    name, fault = task
    rows = []
    for board in CLASS_BOARDS:
        try:
            powered = run_powered(SECTIONS[name], (fault,) if fault else (), Draw(board))
            rows.append([*powered.volts, powered.amps])
        except NoAnswerError:
            continue
    return fault.id if fault else "healthy", rows


def states(section: Section, extra: Iterable[Fault], pool: ProcessPoolExecutor) -> dict[str, Spread]:
    """Return mean and variance of the readings by state: healthy, the listed faults and some more."""
    tasks: list[tuple[str, Fault | None]] = [(section.name, None)]
    tasks += [(section.name, fault) for fault in (*listed(section), *extra)]
    return {name: spread_of(rows) for name, rows in pool.map(_state, tasks, chunksize=4) if len(rows) > 2}


def tasks_of(section: Section, apart: dict[str, float]) -> list[Task]:
    """Return the cases of a section: which faults on which board, from fixed seeds."""
    chance, counts = random.Random(f"cases:{section.name}"), section.bench.counts
    single, odd = listed(section), unlisted(section)
    visible = [fault for fault in single if apart.get(fault.id, 0.0) > VISIBLE_DISTANCE]
    found: list[tuple[str, tuple[Fault, ...]]] = [("healthy", ())] * counts["healthy"]
    found += [("single", (fault,)) for fault in chance.sample(single, counts["single"])]
    found += [("unlisted", (fault,)) for fault in chance.sample(odd, counts["unlisted"])]
    found += [("wide", (fault,)) for fault in chance.sample(visible, counts["wide"])]
    while sum(kind == "double" for kind, _ in found) < counts["double"]:
        pair = tuple(chance.sample(visible, 2))
        if pair[0].ref != pair[1].ref:
            found.append(("double", pair))
    more = [
        fault for fault in odd if apart.get(fault.id, 0.0) > VISIBLE_DISTANCE and ("unlisted", (fault,)) not in found
    ]
    found += [("unlisted", (fault,)) for fault in chance.sample(more, min(counts["visible unlisted"], len(more)))]
    return [(section.name, kind, 100 + n, faults) for n, (kind, faults) in enumerate(found)]


def section_cases(section: Section, pool: ProcessPoolExecutor) -> Readings:
    """Return what is stored of a section."""
    known = states(section, unlisted(section), pool)
    dial = METERS[section.meter]
    apart = {name: round(distance(spread, known["healthy"], dial), 2) for name, spread in known.items()}
    tasks = tasks_of(section, apart)
    cases = [case for case in pool.map(case_of, tasks, chunksize=2) if case]
    names = {fault.id for fault in listed(section)} | {"healthy"}
    return {
        "section": section.name,
        "points": list(section.points),
        "pairs": [list(pair) for pair in pairs(section)],
        "left_out": len(tasks) - len(cases),
        "from_healthy": apart,
        "partners": partners({name: spread for name, spread in known.items() if name in names}, dial),
        "listed": [fault.as_json() for fault in listed(section)],
        "cases": cases,
    }


def main(arguments: list[str]) -> None:
    """Write boards and cases of the sections named, of all where none is."""
    named = [SECTIONS[name] for name in arguments if not name.startswith("-")] or list(SECTIONS.values())
    for section in named:
        write_board(section)
    if "--boards" in arguments:
        return
    with ProcessPoolExecutor(WORKERS) as pool:
        for section in named:
            stored = section_cases(section, pool)
            section.cases.parent.mkdir(exist_ok=True)
            section.cases.write_text(as_text(stored), encoding="utf-8")
            print(f"{section.name}: {len(stored['cases'])} cases, {stored['left_out']} left out")


if __name__ == "__main__":
    main(sys.argv[1:])
