"""Grade a diagnosis on the stored cases.

`diagnose(board folder, rows) -> answer`: rows are those of readings.csv as dictionaries, the answer is the JSON
document {"verdict", "groups": [{"faults": [{"ref", "kind"}], "certainty", "probability"}], "next": [...]}, groups best
first. From a terminal: python -m tests.fault_bench.grade [--command reworkkit] [--per-section N] [--section NAME]
"""

import argparse
import csv
import io
import json
import shutil
import statistics
import subprocess
import tempfile
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

from tests.fault_bench.boards import HOLD_POINT
from tests.fault_bench.matching import Bench, Named, accepted, hits, is_it, named, names_place

HERE = Path(__file__).parent
ROOTS = (
    HERE,
    *(HERE / name for name in ("second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth")),
    *(HERE / name for name in ("eleventh", "twelfth", "thirteenth")),
)
"""Thirteen sets of sections, by thirteen authors; each folder holds `cases` and `board_folders`."""
POINT_COUNTS = (3, 5, 8, 13)
SURE, PROBABLE, ONE_OF = 0.9, 0.6, 0.2
VISIBLE_DISTANCE = 3.0
MOST_INSPECTIONS = 6
MOST_CHECKS = 12

Answer = dict[str, Any]
Row = dict[str, str]
Diagnose = Callable[[Path, list[Row]], Answer]


class Case(NamedTuple):
    """One case with what belongs to its section."""

    folder: Path
    stored: dict[str, Any]
    bench: Bench
    said: dict[str, Any]

    @property
    def hold_point(self) -> str:
        """The hold point of the board folder, empty where it has none."""
        return HOLD_POINT if HOLD_POINT in (self.folder / "board.toml").read_text(encoding="utf-8") else ""

    @property
    def distance(self) -> float:
        """How far its single fault lies from healthy, in sigmas, at all points."""
        return float(self.stored["from_healthy"].get(self.said["faults"][0]["id"], 0.0)) if self.said["faults"] else 0.0


class Judged(NamedTuple):
    """What a diagnosis says of a case; `rank` counts groups from 1, None where no group holds the fault."""

    verdict: str
    rank: int | None
    exact_rank: int | None
    probability: float
    size: int


@cache
def _section(path: Path) -> tuple[dict[str, Any], Bench]:
    stored = json.loads(path.read_text(encoding="utf-8"))
    pins: dict[str, dict[str, str]] = {}
    nets: dict[str, set[str]] = {}
    with (_folder(path) / "netlist.csv").open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            pins.setdefault(row["designator"], {})[row["name"] or row["pin"]] = row["pin"]
            nets.setdefault(row["designator"], set()).add(row["net"])
    written, pins = pins, pins | stored.get("pins", {})
    two = {ref: frozenset(found) for ref, found in nets.items() if len(pins[ref]) == 2}
    return stored, Bench({fault["id"]: fault for fault in stored["listed"]}, stored["partners"], pins, two, written)


def _folder(path: Path) -> Path:
    """Return the board folder that belongs to a file of cases."""
    return path.parents[1] / "board_folders" / path.stem


def cases(*sets: str, sections: Sequence[str] = (), per_section: int | None = None) -> Iterator[Case]:
    """Return the cases of some sets: healthy, single, unlisted, double, wide; at most `per_section` of each set."""
    for path in [path for root in ROOTS for path in sorted((root / "cases").glob("*.json"))]:
        if sections and path.stem not in sections:
            continue
        stored, bench = _section(path)
        for one in sets:
            chosen = [said for said in stored["cases"] if said["set"] == one]
            for said in chosen[:per_section]:
                yield Case(_folder(path), stored, bench, said)


def rows(case: Case, points: int, readings: dict[str, Any] | None = None, gain: float = 1.0) -> list[Row]:
    """Return the supply current and the first points as rows of readings.csv; `gain` for a meter that is off."""
    shown = readings or case.said
    amps = shown["amps"]
    found = [] if amps is None else [_row("supply", f"{amps * 1000:.5g} mA", "amps", case.hold_point)]
    return found + [voltage_row(case, n, shown, gain) for n in range(points)]


def voltage_row(case: Case, n: int, shown: dict[str, Any], gain: float = 1.0) -> Row:
    """Return the row of one point with power on."""
    return _row(case.stored["points"][n], f"{shown['volts'][n] * gain:.5g} V", "volts", case.hold_point)


def unpowered_row(case: Case, red: str, black: str, mode: str) -> Row | None:
    """Return the row of a check without power, or None where the case has no such reading."""
    all_pairs = [tuple(pair) for pair in case.stored["pairs"]]
    swapped = (red, black) not in all_pairs
    if (pair := (black, red) if swapped else (red, black)) not in all_pairs:
        return None
    n = all_pairs.index(pair)
    forward, back = case.said["diode"][n], case.said["diode_swapped"][n]
    if mode == "diode":
        value = back if swapped else forward
        return _row(f"{red} to {black}", "OL" if value is None else f"{value:.5g} V", "diode", "")
    if swapped and (forward is None or back is None or abs(forward - back) > 0.05 * forward + 0.01):
        return None
    ohms = case.said["ohms"][n]
    return _row(f"{red} to {black}", "OL" if ohms is None else f"{ohms:.6g} ohm", "ohms", "")


def _row(point: str, reading: str, mode: str, hold_point: str) -> Row:
    return {"Point": point, "Reading": reading, "Mode": mode, "Hold point": hold_point}


def readings_csv(found: Sequence[Row]) -> str:
    """Return rows as the text of readings.csv."""
    out = io.StringIO()
    writer = csv.DictWriter(out, ("Point", "Reading", "Mode", "Hold point"), lineterminator="\n")
    writer.writeheader()
    writer.writerows(found)
    return out.getvalue()


def by_command(*command: str) -> Diagnose:
    """Return a diagnosis that runs `COMMAND diagnose FOLDER --json` on a copy of the board folder."""

    def diagnose(folder: Path, found: list[Row]) -> Answer:
        with tempfile.TemporaryDirectory() as place:
            copy = Path(shutil.copytree(folder, Path(place) / folder.name))
            (copy / "readings.csv").write_text(readings_csv(found), encoding="utf-8")
            full = [*command, "diagnose", str(copy), "--json"]
            done = subprocess.run(full, capture_output=True, text=True, check=False)
            if not done.stdout.strip():
                raise RuntimeError(f"no answer for {folder.name}: {done.stderr[-2000:]}")
            answer: Answer = json.loads(done.stdout)
            return answer

    return diagnose


class Grader:
    """Runs a diagnosis over the sets and counts; `unknown` holds kinds of fault whose word is not understood."""

    def __init__(self, diagnose: Diagnose, sections: Sequence[str] = (), per_section: int | None = None) -> None:
        self.diagnose, self.unknown = diagnose, Counter[str]()
        self._chosen = {"sections": sections, "per_section": per_section}

    def _cases(self, *sets: str) -> Iterator[Case]:
        return cases(*sets, **self._chosen)  # type: ignore[arg-type]

    def _groups(self, answer: Answer) -> list[list[Named]]:
        return [[named(fault, self.unknown) for fault in group["faults"]] for group in answer.get("groups", ())]

    def judged(self, case: Case, answer: Answer) -> Judged:
        """Compare an answer with the (first) fault of a case; "no fault seen" is right where no point shows it."""
        truth, verdict = case.said["faults"][0], answer["verdict"]
        groups = self._groups(answer)
        found = [hits(case.bench, group, truth) for group in groups]
        rank = next((n for n, (_, group) in enumerate(found, 1) if group), None)
        if verdict == "no_fault_seen" and accepted(case.bench, truth)[1]:
            rank = 1
        exact = next((n for n, (one, _) in enumerate(found, 1) if one), None)
        first = answer["groups"][0] if groups else {}
        return Judged(verdict, rank, exact, float(first.get("probability") or 0.0), len(groups[0]) if groups else 0)

    def singles(self, points: int, kind: str = "single", gain: float = 1.0) -> dict[str, float]:
        """Return shares over single faults: group and exact, first and among three; calibration by certainty.

        `gain` 1.02 is a meter that is 2 % off: high on every second case, low on the others.
        """
        found: list[tuple[Case, Judged]] = []
        for n, case in enumerate(self._cases(kind)):
            off = gain if n % 2 else 1 / gain
            found.append((case, self.judged(case, self.diagnose(case.folder, rows(case, points, gain=off)))))
        all_of = [one for _, one in found]
        seen = [one for case, one in found if case.distance > VISIBLE_DISTANCE]
        shares = {
            "cases": float(len(found)),
            "group top-1": _share(one.rank == 1 for one in all_of),
            "group top-3": _share(bool(one.rank and one.rank <= 3) for one in all_of),
            "exact top-1": _share(one.exact_rank == 1 for one in all_of),
            "exact top-3": _share(bool(one.exact_rank and one.exact_rank <= 3) for one in all_of),
            "faults in first group": statistics.fmean([one.size for one in all_of] or [0.0]),
            "visible: group top-1": _share(one.rank == 1 for one in seen),
            "visible: called no fault": _share(one.verdict == "no_fault_seen" for one in seen),
            "visible: called none fits": _share(one.verdict == "no_listed_fault_fits" for one in seen),
        }
        return shares | calibration(all_of)

    def healthy(self, points: int) -> dict[str, float]:
        """Return the share of healthy boards on which no fault is seen."""
        verdicts = [self.diagnose(c.folder, rows(c, points))["verdict"] for c in self._cases("healthy")]
        return {"boards": float(len(verdicts)), "no fault seen": _share(v == "no_fault_seen" for v in verdicts)}

    def unlisted(self, points: int) -> dict[str, float]:
        """Return how unlisted faults that the points show are met.

        Caught: no listed fault fits, or a free-value hypothesis in the first group names the place. Misled: sure of
        something else.
        """
        caught, misled, passed = [], [], []
        for case in self._cases("unlisted"):
            if case.distance <= VISIBLE_DISTANCE:
                continue
            answer = self.diagnose(case.folder, rows(case, points))
            first = (self._groups(answer) or [[]])[0]
            there = any(names_place(one, case.said["faults"][0]) for one in first)
            sure = self.judged(case, answer).probability > SURE
            caught.append(there or answer["verdict"] == "no_listed_fault_fits")
            misled.append(sure and not there and answer["verdict"] == "fault")
            passed.append(answer["verdict"] == "no_fault_seen")
        return {
            "cases": float(len(caught)),
            "caught": _share(caught),
            "misled": _share(misled),
            "called no fault": _share(passed),
        }

    def doubles(self, points: int) -> dict[str, float]:
        """Return how many double faults are found by inspect, repair, measure again, and with how many inspections."""
        found, looks, first = [], [], []
        for case in self._cases("double"):
            number, inspections, at_once = self._repair(case, points)
            found.append(number)
            first.append(at_once)
            if number == 2:
                looks.append(inspections)
        return {
            "cases": float(len(found)),
            "both found": _share(n == 2 for n in found),
            "one found": _share(n == 1 for n in found),
            "one of two in first group": _share(first),
            "inspections, median": float(statistics.median(looks or [0])),
            "inspections, p90": float(sorted(looks)[int(0.9 * (len(looks) - 1))]) if looks else 0.0,
        }

    def _repair(self, case: Case, points: int) -> tuple[int, int, bool]:
        """Inspect place after place in the order of the groups; what is found is repaired, then measured again."""
        left, innocent, inspections, at_once = [0, 1], set[str](), 0, False
        while left:
            answer = self.diagnose(case.folder, rows(case, points, _after(case, left)))
            groups = self._groups(answer)
            faults = {n: case.said["faults"][n] for n in left}
            if len(left) == 2 and groups:
                at_once = any(_finds(case, one, fault) for one in groups[0] for fault in faults.values())
            hit = None
            for one in (one for group in groups for one in group):
                place = _place(one)
                if place in innocent or hit is not None or inspections >= MOST_INSPECTIONS:
                    continue
                inspections += 1
                hit = next((n for n, fault in faults.items() if _finds(case, one, fault)), None)
                innocent |= {place} if hit is None else set()
            if hit is None:
                break
            left.remove(hit)
        return 2 - len(left), inspections, at_once

    def guided(self) -> dict[str, float]:
        """Return how far the next best checks lead: from the supply current and the first point, until sure.

        Right: the true fault or one that no voltage tells from it; exact: the true fault itself. Cases that the
        points do not show are included: unpowered checks may find them.
        """
        done, right, exact, counts, off = [], [], [], [], []
        for case in self._cases("single"):
            one, checks, unpowered = self._guide(case)
            done.append(one is not None)
            if one is not None:
                right.append(one.rank == 1)
                exact.append(one.exact_rank == 1)
                counts.append(checks)
                off.append(unpowered)
        return {
            "cases": float(len(done)),
            "finished": _share(done),
            "right": _share(right),
            "exact": _share(exact),
            "checks, mean": statistics.fmean(counts or [0.0]),
            "of them unpowered": statistics.fmean(off or [0.0]),
        }

    def _guide(self, case: Case) -> tuple[Judged | None, int, int]:
        known, unpowered = rows(case, 1), 0
        for checks in range(1, MOST_CHECKS + 1):
            answer = self.diagnose(case.folder, known)
            one = self.judged(case, answer)
            if one.probability > SURE or (answer["verdict"] == "no_fault_seen" and not answer.get("next")):
                return one, checks, unpowered
            row = next((r for check in answer.get("next", ()) if (r := _answered(case, check, known))), None)
            if row is None:
                return None, checks, unpowered
            known, unpowered = [*known, row], unpowered + (row["Mode"] not in ("volts", "amps"))
        return None, MOST_CHECKS, unpowered

    def all(self) -> dict[str, dict[str, float]]:
        """Return all tables."""
        tables = {f"singles, {n} points": self.singles(n) for n in POINT_COUNTS}
        return tables | {
            "singles, 13 points, tolerances x 1.7": self.singles(13, "wide"),
            "singles, 13 points, meter 2 % off": self.singles(13, gain=1.02),
            "healthy, 13 points": self.healthy(13),
            "unlisted, 13 points": self.unlisted(13),
            "doubles, 13 points": self.doubles(13),
            "guided": self.guided(),
        }


def calibration(found: Sequence[Judged]) -> dict[str, float]:
    """Return for each word of certainty how often it is said, and how often it is right then."""
    bins = {"> 0.9": (SURE, 2.0), "0.6-0.9": (PROBABLE, SURE), "0.2-0.6": (ONE_OF, PROBABLE)}
    shares: dict[str, float] = {}
    for name, (low, high) in bins.items():
        inside = [one for one in found if one.verdict == "fault" and low < one.probability <= high]
        shares[f"says {name}"] = len(inside) / len(found) if found else 0.0
        shares[f"right when {name}"] = _share(one.rank == 1 for one in inside)
    return shares


def _after(case: Case, left: list[int]) -> dict[str, Any]:
    """Return the readings with the faults that are left."""
    return case.said if len(left) == 2 else case.said["after"][0 if left == [1] else 1]


def _place(one: Named) -> str:
    return " ".join(sorted(one.nets)) if one.kind == "bridge" else one.ref


def _finds(case: Case, one: Named, fault: dict[str, Any]) -> bool:
    """Return whether looking where a hypothesis points finds a fault: the part, or the two nets of a bridge."""
    return one.ref == fault["ref"] or is_it(case.bench, one, fault)


def _answered(case: Case, check: dict[str, Any], known: list[Row]) -> Row | None:
    """Return the reading that a proposed check asks for, or None where the case has none or it is known."""
    ends = check.get("between") or check.get("point") or ""
    places = [str(end) for end in ends] if isinstance(ends, list | tuple) else str(ends).split(" to ")
    red, black = (*places, "GND")[:2]
    row = None
    if check.get("powered"):
        points = case.stored["points"]
        row = voltage_row(case, points.index(red), case.said) if red in points and black == "GND" else None
    else:
        mode = "diode" if "diode" in str(check.get("mode") or check.get("check")) else "ohms"
        row = unpowered_row(case, red, black, mode)
    return None if row in known else row


def _share(flags: Any) -> float:
    """Return the share of true ones; nan where there are none, so that a table without cases shows."""
    counted = [bool(flag) for flag in flags]
    return sum(counted) / len(counted) if counted else float("nan")


def as_lines(tables: dict[str, dict[str, float]]) -> Iterator[str]:
    """Return the tables as text: shares in percent, counts and means as numbers."""
    for title, table in tables.items():
        yield title
        for name, value in table.items():
            plain = any(word in name for word in ("cases", "boards", "inspections", "checks", "of them", "faults in"))
            yield f"  {name:<28} {value:8.1f}" if plain else f"  {name:<28} {100 * value:6.1f} %"


def main() -> None:
    """Grade a command and print the tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--command", default="reworkkit")
    parser.add_argument("--section", action="append", default=[])
    parser.add_argument("--per-section", type=int)
    told = parser.parse_args()
    grader = Grader(by_command(*told.command.split()), told.section, told.per_section)
    print("\n".join(as_lines(grader.all())))
    if grader.unknown:
        print("Words for a fault that are not understood (add them to KIND_WORDS):", dict(grader.unknown))


if __name__ == "__main__":
    main()
