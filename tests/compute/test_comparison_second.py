"""Candidates of the second and the third author, through the readers: no candidate may be called better than it is."""

import csv
import tomllib
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from reworkkit.model.comparison import SubstituteVerdict
from reworkkit.pipeline import buying
from reworkkit.pipeline.opening import Request

CASES = [
    Path(__file__).parent.parent / "cases" / f"substitutes_{one}.toml" for one in ("second", "third", "fourth", "fifth")
]
VERDICTS = {
    "drop": SubstituteVerdict.DROP_IN,
    "change": SubstituteVerdict.AFTER_CHANGE,
    "rework": SubstituteVerdict.REWORK,
    "open": SubstituteVerdict.NOT_JUDGED,
    "no": SubstituteVerdict.NO,
}
FITS = (SubstituteVerdict.DROP_IN, SubstituteVerdict.AFTER_CHANGE, SubstituteVerdict.REWORK)
KINDS_ASKED = 22


class Case(NamedTuple):
    """One candidate of a place: its figures beside the original's and what a person says of it."""

    truths: frozenset[SubstituteVerdict]
    figures: dict[str, str]
    why: str


class Judged(NamedTuple):
    """A case and what `compare` says of it."""

    ref: str
    kind: str
    case: Case
    got: SubstituteVerdict

    @property
    def agrees(self) -> bool:
        return self.got in self.case.truths

    @property
    def is_wrong_pass(self) -> bool:
        """Whether it is called fitting and does not fit, or is called better than the best a person says of it."""
        best = min((FITS.index(truth) for truth in self.case.truths if truth in FITS), default=len(FITS))
        return self.got in FITS and FITS.index(self.got) < best


def _figures(text: str) -> dict[str, str]:
    pairs = (one.split("=", 1) for one in text.split(";") if not one.strip().startswith("-"))
    return {name.strip(): value.strip() for name, value in pairs}


def _case(line: str, original: dict[str, str]) -> Case:
    truths, changes, why = (one.strip() for one in line.split("|"))
    gone = {one.strip()[1:] for one in changes.split(";") if one.strip().startswith("-")}
    kept = {name: value for name, value in original.items() if name not in gone}
    return Case(frozenset(VERDICTS[one] for one in truths.split("/")), {**kept, **_figures(changes)}, why)


def _write(path: Path, headings: list[str], rows: list[dict[str, str]]) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, headings, restval="")
        writer.writeheader()
        writer.writerows(rows)


def _board(folder: Path, place: dict[str, Any], rows: list[dict[str, str]]) -> None:
    """Write the folder of a place: parts list, board facts, netlist, candidates."""
    others = [one.split(maxsplit=2) for one in place.get("others", "").split(", ") if one]
    parts = [(place["ref"], place["listed"], place["package"], place["kind"], "ORIGINAL")]
    parts += [(ref, value.replace("_", " "), "", kind, "") for ref, value, kind in others]
    names = ["Designator", "Value", "Package", "Description", "Part number"]
    _write(folder / "bom.csv", names, [dict(zip(names, one, strict=True)) for one in parts])
    pins = [point.split() for point in place["nets"].split(",")]
    nets = [{"Designator": at.partition(".")[0], "Pin": at.partition(".")[2], "Net": net} for at, net in pins]
    _write(folder / "netlist.csv", ["Designator", "Pin", "Net"], nets)
    tables = ("nets_facts", "nets"), ("parts_facts", "parts"), ("loads", "loads"), ("sense", "sense")
    facts = ["format = 1", place.get("facts", ""), 'board = { ground = ["GND"] }']
    facts += [f"{name} = {{ {place[key]} }}" for key, name in tables if key in place]
    (folder / "board.toml").write_text("\n".join(facts) + "\n", encoding="utf-8")
    headings = list(dict.fromkeys(name for row in rows for name in row))
    _write(folder / "candidates.csv", headings, rows)


def _judge(folder: Path, place: dict[str, Any]) -> list[Judged]:
    """Return what `compare` says of every candidate of a place; each candidate is a row of one file."""
    original = _figures(place["original"])
    cases = [_case(line, original) for line in place["cases"]]
    known = {"Fits": place["ref"], "Kind": place["kind"]}
    rows = [{"Part number": "ORIGINAL", **known, **original}]
    for number, case in enumerate(cases, 1):
        figures = {("Kind" if name == "kind" else name): value for name, value in case.figures.items()}
        rows.append({"Part number": f"CANDIDATE-{number}", **known, **figures})
    _board(folder, place, rows)
    answer = buying.compare(Request(folder), place["ref"])
    got = {one.part_number: one.verdict for one in answer.result.candidates}
    return [
        Judged(place["ref"], place["kind"], case, got[f"CANDIDATE-{number}"]) for number, case in enumerate(cases, 1)
    ]


@pytest.fixture(scope="module")
def places() -> list[dict[str, Any]]:
    return [place for file in CASES for place in tomllib.loads(file.read_text(encoding="utf-8"))["place"]]


@pytest.fixture(scope="module")
def judged(places: list[dict[str, Any]], tmp_path_factory: pytest.TempPathFactory) -> list[Judged]:
    return [one for place in places for one in _judge(tmp_path_factory.mktemp(place["ref"]), place)]


def _told(judged: list[Judged]) -> str:
    return "\n".join(
        f"{one.ref} {one.kind}: {one.got} instead of {'/'.join(sorted(one.case.truths))}: {one.case.why}"
        for one in judged
    )


def test_the_cases_are_many_kinds(places: list[dict[str, Any]]) -> None:
    """Invariant of the file: every kind the comparison promises, and sheets of makers among them."""
    assert len({place["kind"] for place in places}) >= KINDS_ASKED
    assert all(len(place["cases"]) >= 2 for place in places)
    assert sum("sheet" in place for place in places) >= 12


def test_nothing_is_called_better_than_it_is(judged: list[Judged]) -> None:
    """Independent: truths by hand, from makers' sheets and from memory, by authors who had not read the rules."""
    wrong = [one for one in judged if one.is_wrong_pass]
    assert not wrong, _told(wrong)


def test_the_verdict_is_the_hand_worked_one(judged: list[Judged]) -> None:
    """Independent, as above: also no fitting part refused."""
    other = [one for one in judged if not one.agrees]
    assert not other, _told(other)


def test_figures_without_a_rule_are_named(tmp_path: Path) -> None:
    """Invariant: a number of the sheet that no rule reads is not passed over in silence where it differs."""
    place = {"ref": "C1", "kind": "aluminium electrolytic capacitor", "listed": "100uF 50V", "package": "Radial D8"}
    known = {"Fits": "C1", "Kind": place["kind"], "Capacitance": "100 uF", "Voltage": "50 V", "Package": "Radial D8"}
    rows = [
        {"Part number": "ORIGINAL", **known, "Life": "10000 h"},
        {"Part number": "CANDIDATE-1", **known, "Life": "2000 h"},
    ]
    _board(tmp_path, {**place, "nets": "C1.1 +24V, C1.2 GND"}, rows)
    (found,) = buying.compare(Request(tmp_path), "C1").result.candidates
    assert found.without_rule == (("life", "10000 h", "2000 h"),)
    assert found.verdict is SubstituteVerdict.NOT_JUDGED


def test_a_candidate_may_have_more_columns_than_the_reader_has_roles(tmp_path: Path) -> None:
    """Invariant: thirteen columns and only four of them roles; most columns of this file are figures."""
    place = {"ref": "R1", "kind": "resistor", "listed": "1k", "package": "0603", "nets": "R1.1 A, R1.2 GND"}
    row = {"Part number": "CANDIDATE-1", "Fits": "R1", "Kind": "resistor", "Package": "0603"}
    _board(tmp_path, place, [{**row, **{f"Figure {number}": "1 V" for number in range(12)}}])
    assert [one.part_number for one in buying.compare(Request(tmp_path), "R1").result.candidates] == ["CANDIDATE-1"]
