"""Check that the truth tables of the polarity boards fit their own lists and netlists; exit 1 and say where not.

Run it as `python tests/polarity_boards/check_truth.py`. It uses the standard library only and nothing of reworkkit, so
that a fault of the tool cannot hide a fault of the data.
"""

import csv
import re
import sys
import tomllib
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

HERE = Path(__file__).parent
ROLES = frozenset({"anode", "cathode", "plus", "minus", "undecidable", "not_polarised"})
NO_PIN = frozenset({"undecidable", "not_polarised"})
JUDGED_LETTERS = frozenset({"D", "LED", "C", "BT", "PD", "BR", "DI"})
"""Parts with these class letters must have a row, so that none is forgotten."""
NAMES = {"anode": "A", "cathode": "K", "plus": "+", "minus": "-"}
FORWARD_V = 1.5
LED_FORWARD_V = 4.5

Range = tuple[float, float]
_VOLTS = re.compile(r"(-?\d+(?:\.\d+)?) V")
_PERCENT = re.compile(r"(\d+(?:\.\d+)?) %")


class Row(NamedTuple):
    """One row of truth.csv."""

    ref: str
    role: str
    pin: str


class Folder(NamedTuple):
    """One board as its files say."""

    name: str
    listed: dict[str, str]
    """Designator -> description."""
    quantities: list[tuple[str, int, int]]
    """The designators of a row, the quantity written, the quantity counted."""
    pins: dict[str, dict[str, str]]
    """Designator -> pin -> net."""
    names: dict[tuple[str, str], str]
    """(Designator, pin) -> name of the pin, where the netlist has names."""
    truth: list[Row]
    facts: tuple[dict[str, Any], dict[str, Any]]
    """board.toml and questions.toml."""


def rows(path: Path) -> list[dict[str, str]]:
    """Return the rows of a CSV file by heading."""
    with path.open(encoding="utf-8", newline="") as handle:
        return list(csv.DictReader(handle))


def load(folder: Path) -> Folder:
    """Return one board read from its folder."""
    listed: dict[str, str] = {}
    quantities = []
    for row in rows(folder / "bom.csv"):
        refs = [ref.strip() for ref in row["Designator"].split(",")]
        quantities.append((row["Designator"], int(row["Quantity"]), len(refs)))
        listed.update(dict.fromkeys(refs, row["Description"]))
    pins: dict[str, dict[str, str]] = {}
    names: dict[tuple[str, str], str] = {}
    for row in rows(folder / "netlist.csv"):
        pins.setdefault(row["designator"], {})[row["pin"]] = row["net"]
        names[row["designator"], row["pin"]] = row.get("name", "")
    truth = [Row(row["ref"], row["role"], row["pin"]) for row in rows(folder / "truth.csv")]
    board, questions = (tomllib.loads((folder / f).read_text("utf-8")) for f in ("board.toml", "questions.toml"))
    return Folder(folder.name, listed, quantities, pins, names, truth, (board, questions))


def two_pins(board: Folder, row: Row) -> tuple[str, str] | None:
    """Return the net of the row's pin and the net of the other pin; None for parts without exactly two pins."""
    pins = board.pins.get(row.ref, {})
    if len(pins) != 2 or row.pin not in pins:
        return None
    return pins[row.pin], next(net for pin, net in pins.items() if pin != row.pin)


def letters(ref: str) -> str:
    """Return the class letters of a designator."""
    found = re.match("[A-Z]+", ref)
    return found[0] if found else ""


def papers(board: Folder) -> Iterator[str]:
    """Yield where list and netlist differ, and designators that should have a row of truth and have none."""
    for ref in sorted(board.listed.keys() ^ board.pins.keys()):
        yield f"{ref}: in the {'list' if ref in board.listed else 'netlist'} only"
    for cell, written, counted in board.quantities:
        if written != counted:
            yield f"{cell}: quantity {written}, counted {counted}"
    known = {row.ref for row in board.truth}
    for ref in board.listed:
        if letters(ref) in JUDGED_LETTERS and ref not in known:
            yield f"{ref}: no row in truth.csv"


def each_row(board: Folder) -> Iterator[str]:
    """Yield rows whose designator, role or pin does not exist, and two-pin parts with both pins on one net."""
    for row in board.truth:
        if row.ref not in board.listed or row.ref not in board.pins:
            yield f"{row.ref}: not in list and netlist"
        elif row.role not in ROLES:
            yield f"{row.ref}: no such role: {row.role}"
        elif (row.role in NO_PIN) != (row.pin == ""):
            yield f"{row.ref}: {row.role} with pin {row.pin!r}"
        elif row.pin and row.pin not in board.pins[row.ref]:
            yield f"{row.ref}: no pin {row.pin}"
        elif (nets := two_pins(board, row)) and nets[0] == nets[1]:
            yield f"{row.ref}: both pins on {nets[0]}"


def together(board: Folder) -> Iterator[str]:
    """Yield rows that cannot stand beside each other."""
    for (ref, role), count in Counter((row.ref, row.role) for row in board.truth).items():
        if count > 1:
            yield f"{ref}: {role} stands {count} times"
    for ref, count in Counter((row.ref) for row in board.truth).items():
        if count > 1 and any(row.ref == ref and row.role in NO_PIN for row in board.truth):
            yield f"{ref}: decided and not decided at once"
    for (ref, pin), count in Counter((row.ref, row.pin) for row in board.truth if row.pin).items():
        if count > 1:
            yield f"{ref}: pin {pin} has {count} roles"


def pin_names(board: Folder) -> Iterator[str]:
    """Yield pins whose name in the netlist says something else than truth, and names that give an open case away."""
    for row in board.truth:
        if row.pin:
            name = board.names.get((row.ref, row.pin), "")
            if name and name != NAMES.get(row.role):
                yield f"{row.ref}.{row.pin}: named {name}, truth says {row.role}"
        elif any(name for (ref, _), name in board.names.items() if ref == row.ref):
            yield f"{row.ref}: {row.role}, but its pins are named"


def ranges(board: Folder) -> dict[str, Range]:
    """Return what each net may be at by board.toml and questions.toml together."""
    stated, asked = board.facts
    found: dict[str, Range] = dict.fromkeys(asked.get("board", {}).get("ground", ["GND"]), (0.0, 0.0))
    for section in ("supplies", "rails"):
        for net, text in stated.get(section, {}).items():
            volts = float(_VOLTS.findall(text)[0])
            percent = _PERCENT.findall(text)
            spread = abs(volts) * float(percent[0] if percent else 2) / 100
            found[net] = volts - spread, volts + spread
    for net, text in asked.get("nets", {}).items():
        low, high = (float(volts) for volts in _VOLTS.findall(text))
        found[net] = low, high
    return found


def volts_possible(board: Folder) -> Iterator[str]:
    """Yield two-pin parts that would conduct, or be charged the wrong way, at every voltage the facts allow."""
    known = ranges(board)
    for row in board.truth:
        nets = two_pins(board, row)
        if not nets or row.role in NO_PIN or not all(net in known for net in nets):
            continue
        upper, lower = nets if row.role in ("cathode", "plus") else nets[::-1]
        limit = {"D": FORWARD_V, "PD": FORWARD_V, "LED": LED_FORWARD_V, "U": FORWARD_V}.get(letters(row.ref), 0.0)
        if known[lower][0] - known[upper][1] > limit:
            yield f"{row.ref}: {upper} {known[upper]} can never be above {lower} {known[lower]}"


def facts_apart(board: Folder) -> Iterator[str]:
    """Yield keys that stand in both fact files, and nets or parts they name that do not exist."""
    stated, asked = board.facts
    for section in ("supplies", "rails", "nets", "parts", "board"):
        for key in set(stated.get(section, {})) & set(asked.get(section, {})):
            yield f"{section}.{key}: in board.toml and in questions.toml"
    nets = {net for pins in board.pins.values() for net in pins.values()}
    named = [net for f in board.facts for s in ("supplies", "rails", "nets") for net in f.get(s, {})]
    for net in (*named, *asked.get("board", {}).get("ground", [])):
        if net not in nets:
            yield f"{net}: no such net"
    for ref, facts in asked.get("parts", {}).items():
        for pin in facts.get("pins", {}).values():
            if pin not in board.pins.get(ref, {}):
                yield f"{ref}.{pin}: no such pin"
        if ref not in board.listed:
            yield f"{ref}: no such part"


CHECKS = (papers, each_row, together, pin_names, volts_possible, facts_apart)


def problems(board: Folder) -> list[str]:
    """Return all that is wrong with one board."""
    return [f"{board.name}: {text}" for check in CHECKS for text in check(board)]


def boards() -> list[Folder]:
    """Return all boards, by name."""
    return [load(path.parent) for path in sorted(HERE.glob("*/truth.csv"))]


def counts(board: Folder) -> tuple[int, int, int]:
    """Return how many parts are decided, undecidable and not polarised."""
    decided = {row.ref for row in board.truth if row.pin}
    open_, none = (sum(row.role == role for row in board.truth) for role in ("undecidable", "not_polarised"))
    return len(decided), open_, none


def main() -> int:
    """Print the counts and the problems; return the exit code."""
    found = []
    total = [0, 0, 0]
    every = boards()
    for board in every:
        found += problems(board)
        one = counts(board)
        total = [a + b for a, b in zip(total, one, strict=True)]
        print(f"{board.name:24} decided {one[0]:3}  undecidable {one[1]:2}  not polarised {one[2]:2}")
    print(f"{len(every)} boards: decided {total[0]}, undecidable {total[1]}, not polarised {total[2]}")
    for text in found:
        print(text, file=sys.stderr)
    return 1 if found or not every else 0


if __name__ == "__main__":
    sys.exit(main())
