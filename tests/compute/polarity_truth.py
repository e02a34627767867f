"""Judges the boards of tests/polarity_boards against their truth files: wrong, decided, undecided."""

import csv
import shutil
import tempfile
import tomllib
from pathlib import Path
from typing import NamedTuple

from reworkkit.compute.circuit import derive_circuit
from reworkkit.compute.orientation import judge_orientation
from reworkkit.compute.potentials import PotentialFinder
from reworkkit.model.board import Board
from reworkkit.model.results import OrientationVerdict
from reworkkit.model.vocabulary import PolarityVerdict
from reworkkit.read.folder import read_board

BOARDS = Path(__file__).parents[1] / "polarity_boards"


class Row(NamedTuple):
    """One role of truth and what was judged: the pin the circuit needs there, or None."""

    board: str
    ref: str
    role: str
    pin: str
    judged: str | None
    why: str

    @property
    def outcome(self) -> str:
        """Return right, wrong, undecided; open or guessed where nobody can tell; plain or mistaken without polarity."""
        if self.role == "undecidable":
            return "guessed" if self.judged else "open"
        if self.role == "not_polarised":
            return "mistaken" if self.judged else "plain"
        return "undecided" if self.judged is None else "right" if self.judged == self.pin else "wrong"


def names() -> list[str]:
    """Return the names of the boards."""
    return sorted(path.parent.name for path in BOARDS.glob("*/truth.csv"))


def board_of(name: str, answered: bool) -> Board:
    """Return a board as stated, or with the person's answers in its board.toml as well."""
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / name
        shutil.copytree(BOARDS / name, copy)
        if answered:
            (copy / "board.toml").write_text(_joined(copy / "board.toml", copy / "questions.toml"), encoding="utf-8")
        (copy / "questions.toml").unlink(missing_ok=True)
        (copy / "truth.csv").unlink()
        return read_board(copy)


def _joined(first: Path, second: Path) -> str:
    one, two = (tomllib.loads(path.read_text(encoding="utf-8")) for path in (first, second))
    merged = {**one, **two}
    for key in one.keys() & two.keys():
        if isinstance(one[key], dict):
            merged[key] = {**one[key], **two[key]}
    return "\n".join(
        [f"{key} = {_inline(value)}" for key, value in merged.items() if not isinstance(value, dict)]
        + [line for key, value in merged.items() if isinstance(value, dict) for line in _section(key, value)]
    )


def _section(key: str, table: dict[str, object]) -> list[str]:
    return [f"[{key}]", *(f"{_quoted(name)} = {_inline(value)}" for name, value in table.items())]


def _inline(value: object) -> str:
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{_quoted(k)} = {_inline(v)}" for k, v in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(_inline(one) for one in value) + "]"
    return str(value).lower() if isinstance(value, bool) else str(value) if isinstance(value, int) else _quoted(value)


def _quoted(text: object) -> str:
    return '"' + str(text).replace("\\", "\\\\").replace('"', '\\"') + '"'


def verdicts(board: Board) -> dict[str, OrientationVerdict]:
    """Return the verdict of each part."""
    finder = PotentialFinder(board, derive_circuit(board))
    return {one.ref: one for one in judge_orientation(board, finder.all(), finder.refined)}


def judged(name: str, answered: bool = False) -> list[Row]:
    """Return each row of truth with what was judged."""
    found = verdicts(board_of(name, answered))
    with (BOARDS / name / "truth.csv").open(newline="", encoding="utf-8") as file:
        rows = [(row["ref"], row["role"], row["pin"]) for row in csv.DictReader(file)]
    return [Row(name, ref, role, pin, *_judged(found.get(ref), role, pin)) for ref, role, pin in rows]


def _judged(verdict: OrientationVerdict | None, role: str, pin: str) -> tuple[str | None, str]:
    if verdict is None or (verdict.verdict is PolarityVerdict.NOT_POLARISED and not verdict.needs):
        return None, verdict.why.slug if verdict else "no verdict"
    needs = {key: number for key, (number, _) in verdict.needs.items() if key != "pin_1"}
    if role in ("undecidable", "not_polarised"):
        return next(iter(needs.values()), None), verdict.why.slug
    pins = {number for key, number in needs.items() if key.rpartition("_")[0] == role or key == role}
    return (pin if pin in pins else next(iter(pins), None)), verdict.why.slug


def count(rows: list[Row]) -> dict[str, int]:
    """Return how many parts had each outcome; a part with several roles counts once, by its worst."""
    order = ("wrong", "guessed", "mistaken", "undecided", "right", "open", "plain")
    worst: dict[tuple[str, str], str] = {}
    for row in rows:
        key = row.board, row.ref
        worst[key] = min(row.outcome, worst.get(key, row.outcome), key=order.index)
    return {name: sum(outcome == name for outcome in worst.values()) for name in order}
