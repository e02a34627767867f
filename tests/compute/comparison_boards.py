"""Small boards for the tests of `compare`: a place, its original, candidates, and a circuit where needed."""

from pathlib import Path

from reworkkit.model.board import Board, Candidate
from reworkkit.model.facts import BoardFacts
from reworkkit.model.netlist import Net, Pin
from reworkkit.model.part import Part, PartIdentity, PartLine
from reworkkit.model.values import Band, Where
from reworkkit.model.vocabulary import BandBasis, Fit
from reworkkit.read.identity import identify_as

CASES = Path(__file__).parent.parent / "cases" / "substitutes.txt"
VERDICTS = {
    "drop": "drop_in",
    "change": "fits_after_change",
    "rework": "fits_with_rework",
    "open": "not_judged",
    "no": "no",
}
HERE = Where("bom.csv", 2)


def identity(kind: str, value: str = "", package: str = "", number: str = "", description: str = "") -> PartIdentity:
    line = PartLine((), "", value, package, description, number, 1, Fit.FIT, None, (), HERE)
    return identify_as(line, "X", kind.replace("_", " "), None)


def row(number: str, fits: str, kind: str, **figures: str) -> Candidate:
    return Candidate(number, (fits,), kind, {**figures}, None, None, Where("candidates.csv", 2))


def board(
    parts: dict[str, PartIdentity],
    candidates: tuple[Candidate, ...] = (),
    nets: str = "",
    facts: BoardFacts | None = None,
) -> Board:
    """`nets` is written `R1.1 +5V, R1.2 GND`."""
    pins: dict[tuple[str, str], Pin] = {}
    for word in filter(None, (one.strip() for one in nets.split(","))):
        point, net = word.split()
        ref, number = point.split(".")
        pins[ref, number] = Pin(ref, number, None, net, (), HERE)
    names = {pin.net for pin in pins.values() if pin.net}
    by_net = {
        net: Net(net, net, tuple((p.ref, p.number) for p in pins.values() if p.net == net)) for net in sorted(names)
    }
    places = {ref: Part(ref, one, Fit.FIT, (), HERE) for ref, one in parts.items()}
    return Board("test", None, (), (), places, {}, pins, by_net, facts=facts or BoardFacts(), candidates=candidates)


def volts(**ends: tuple[float, float]) -> dict[str, Band]:
    return {net: Band(low, None, high, "V", BandBasis.STATED) for net, (low, high) in ends.items()}


def figures_of(text: str) -> dict[str, str]:
    """`a b=1 V; c=2` as figures under the reader's spelling of headings."""
    pairs = (one.split("=", 1) for one in text.split(";") if one.strip() and not one.strip().startswith("-"))
    return {name.strip().replace(" ", "_"): value.strip() for name, value in pairs}


def cases() -> list[tuple[str, dict[str, str], dict[str, str], str, str]]:
    """(kind, original, candidate, expected verdict, reason) of every line of the case file."""
    found = []
    kind, original = "", {}
    for line in CASES.read_text(encoding="utf-8").splitlines():
        if line.startswith("## "):
            kind, _, text = line[3:].partition(":")
            original = figures_of(text)
        elif "|" in line and not line.startswith("#"):
            verdict, changes, reason = (one.strip() for one in line.split("|"))
            gone = {one.strip()[1:].replace(" ", "_") for one in changes.split(";") if one.strip().startswith("-")}
            kept = {name: value for name, value in original.items() if name not in gone}
            found.append((kind, original, {**kept, **figures_of(changes)}, VERDICTS[verdict], reason))
    return found
