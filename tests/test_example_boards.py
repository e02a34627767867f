"""The example boards: the files of a folder agree with each other, with the circuit, and with the schematic."""

import csv
import re
import tomllib
from collections import Counter
from itertools import combinations
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from reworkkit.compute.situation import situation_of_files
from reworkkit.model.vocabulary import Fit, Severity
from reworkkit.read.candidates import read_candidates
from reworkkit.read.folder import read_board
from reworkkit.read.readings import read_readings
from reworkkit.read.stock import read_stock
from tests.example_board_maker import DESIGNS, PROJECT, Design, Row, generated, read_schematic
from tests.example_packages import OUTLINES

BOARDS = PROJECT / "example_boards"
NAMES = [design.name for design in DESIGNS]
NOT_ELECTRICAL = {"FID1", "FID2", "FID3"}
MAY_OVERLAP = {frozenset({"U5", "W1"})}
"""The wire W1 runs through the opening of the sensor U5."""
PLANTED = {"C6"}
"""The one note that contradicts the circuit on purpose; about.md of the board says so."""

POLARITY = {
    "greenhouse-valves": {
        "D1": ("+24V", "VIN_F"), "D2": ("VIN_F", "GND"), "D3": ("SW", "GND"), "D5": ("+5V", "GND"),
        "D6": ("+3V3", "NRST"), "D7": ("VALVE_P", "V1_OUT"), "D8": ("VALVE_P", "V2_OUT"),
        "D9": ("VALVE_P", "V3_OUT"), "D10": ("VALVE_P", "V4_OUT"), "C1": ("+24V", "GND"), "C2": ("+24V", "GND"),
        "C4": ("+5V", "GND"), "C6": ("+5V", "GND"), "C7": ("+3V3", "GND"), "C8": ("+5VA", "GND"),
        "LED1": ("GND", "LED1_A"), "LED2": ("GND", "LED2_A"),
    },
    "magnet-clamp": {
        "D1": ("BUS", "MAG_N"), "D2": ("+24V", "VLOW_IN"), "D3": ("+24V", "K2_COIL"), "D4": ("+24V", "K1_COIL"),
        "D5": ("GATE", "GND"), "C1": ("BUS", "GND"), "C2": ("BUS", "GND"), "C3": ("+24V", "GND"),
        "C5": ("+15V", "GND"), "LED1": ("GND", "LED1_A"),
    },
}  # fmt: skip
"""What the circuit needs, written by hand from its description: the net of cathode or plus, then the other."""

PINS = {
    "greenhouse-valves": {
        "D4": "1 GND 2 +3V3 3 FLOAT_IN",
        "U1": "1 +24V 2 SW 3 GND 4 +5V 5 GND",
        "U2": "1 GND 2 +3V3 3 +5V 4 +3V3",
        "U4": "1 GND 2 V1_CTL 18 V1_DRV 4 V2_CTL 16 V2_DRV 6 V3_CTL 14 V3_DRV 8 V4_CTL 12 V4_DRV "
        "11 HEAT_CTL 9 HEAT_DRV 10 GND 19 GND 20 +5V",
        "U5": "1 +5VA 2 CUR_OUT 3 CUR_REF 4 GND",
        "Q1": "1 GATE1 2 V1_OUT 3 GND",
        "Q4": "1 GATE4 2 V4_OUT 3 GND",
        "Q5": "1 GATE5 2 HEAT_OUT 3 GND",
    },
    "magnet-clamp": {
        "U1": "2 MAG_LED 3 CTL_RET 5 GND 6 GATE_DRV 7 GATE_DRV 8 +15V",
        "U2": "1 +24V 2 GND 3 +15V",
        "U3": "1 PRE_LED 2 CTL_RET 3 PRE_GATE 4 +15V",
        "U4": "1 MAIN_LED 2 CTL_RET 3 MAIN_GATE 4 +15V",
        "Q1": "1 GATE 2 MAG_N 3 SHUNT",
        "Q2": "1 GND 2 PRE_GATE 3 K2_COIL",
        "Q3": "1 GND 2 MAIN_GATE 3 K1_COIL",
    },
}
"""Pin by pin what the parts need, from memory of their makers' sheets: series pair BAT54S (1 anode, 2 cathode,
3 middle); LM2596 in TO-263-5 (in, switch, ground, feedback, on when low); LM1117 in SOT-223 (ground, out, in, tab
out); 74x244 (1A to 1Y on 2-18, 4-16, 6-14, 8-12; 2A to 2Y on 11-9); MOSFET in TO-263 and TO-220 (gate, drain, source);
7815 (in, ground, out); PC817 (anode, cathode, emitter, collector); 2N7000 in TO-92 (source, gate, drain)."""


class Record(NamedTuple):
    """One pad of the netlist, cut by columns (IPC-D-356A), in millimetres."""

    ref: str
    pin: str
    net: str
    x: float
    y: float
    hole: float


def netlist_records(name: str) -> list[Record]:
    lines = (BOARDS / name / "netlist.ipc").read_text(encoding="ascii").splitlines()
    aliases = {line[3:13]: line[14:].strip() for line in lines if line.startswith("P  NNAME")}
    pads = [line for line in lines if line[:3] in ("317", "327", "367")]
    return [
        Record(
            line[20:26].strip(),
            line[27:31].strip(),
            aliases.get(line[3:17].strip(), line[3:17].strip()),
            int(line[42:49]) / 1000,
            int(line[50:57]) / 1000,
            int(line[33:37].strip() or 0) / 1000,
        )
        for line in pads
    ]


def list_rows(name: str) -> list[dict[str, str]]:
    with (BOARDS / name / "bom.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def listed(name: str) -> list[str]:
    return [ref for row in list_rows(name) for ref in row["Designator"].split(", ") if ref]


def placed(name: str) -> dict[str, dict[str, str]]:
    with (BOARDS / name / "placement.csv").open(encoding="utf-8", newline="") as file:
        return {row["Designator"]: row for row in csv.DictReader(file)}


def facts(name: str) -> dict[str, Any]:
    return tomllib.loads((BOARDS / name / "board.toml").read_text(encoding="utf-8"))


def expand(refs: list[str]) -> set[str]:
    found: set[str] = set()
    for written in refs:
        ends = re.fullmatch(r"([A-Z]+)(\d+)-[A-Z]+(\d+)", written)
        found |= {f"{ends[1]}{i}" for i in range(int(ends[2]), int(ends[3]) + 1)} if ends else {written}
    return found


@pytest.mark.parametrize("design", DESIGNS, ids=NAMES)
def test_generated_files_are_current(design: Design) -> None:
    for path, text in generated(design).items():
        assert path.read_text(encoding="utf-8") == text, f"{path.name}: run python -m tests.example_board_maker"


@pytest.mark.parametrize("name", NAMES)
def test_list_placement_and_netlist_name_the_same_places(name: str) -> None:
    refs = listed(name)
    assert Counter(refs).most_common(1)[0][1] == 1
    assert set(refs) == set(placed(name))
    assert {record.ref for record in netlist_records(name)} == set(refs) - NOT_ELECTRICAL | (
        {"VIA"} if name == "greenhouse-valves" else set()
    )
    for row in list_rows(name):
        assert not row["Designator"] or int(row["Qty"]) == len(row["Designator"].split(", "))


@pytest.mark.parametrize("name", NAMES)
def test_netlist_records_keep_their_columns(name: str) -> None:
    """Columns of IPC-D-356A: `-` in 27, `A` in 39, X in 42, Y in 50, at most 80 columns."""
    for line in (BOARDS / name / "netlist.ipc").read_text(encoding="ascii").splitlines():
        assert len(line) <= 80
        if line[:3] in ("317", "327", "367"):
            assert (line[26], line[38], line[41], line[49], line[57], line[62]) == ("-", "A", "X", "Y", "X", "Y"), line
            assert (line[32] == "D") == (line[:3] != "327")


@pytest.mark.parametrize("name", NAMES)
def test_every_net_joins_at_least_two_pins(name: str) -> None:
    pins = {(record.net, record.ref, record.pin) for record in netlist_records(name)}
    joined = Counter(net for net, ref, _ in pins if net != "N/C" and ref != "VIA")
    assert [net for net, count in joined.items() if count < 2] == []


@pytest.mark.parametrize("name", NAMES)
def test_polarised_parts_have_the_nets_the_circuit_needs(name: str) -> None:
    nets = {(record.ref, record.pin): record.net for record in netlist_records(name)}
    for ref, (first, second) in POLARITY[name].items():
        names = ("K", "A") if (ref, "K") in nets else ("1", "2")
        assert (nets[ref, names[0]], nets[ref, names[1]]) == (first, second), ref


@pytest.mark.parametrize("name", NAMES)
def test_parts_of_three_and_more_pins_are_wired_as_their_sheets_say(name: str) -> None:
    nets = {(record.ref, record.pin): record.net for record in netlist_records(name)}
    for ref, written in PINS[name].items():
        words = written.split()
        expected = dict(zip(words[::2], words[1::2], strict=True))
        assert {pin: nets[ref, pin] for pin in expected} == expected, ref


def test_greenhouse_board_has_many_constructions() -> None:
    rows = {row.ref: row for row in read_schematic("greenhouse-valves")}
    polarised = [*POLARITY["greenhouse-valves"], "D4"]
    assert len({rows[ref].package for ref in polarised}) >= 10
    assert len(rows) - sum(row.package.split()[0] in ("Test", "Hole", "Fiducial") for row in rows.values()) == 74


@pytest.mark.parametrize("name", NAMES)
def test_bodies_and_pads_do_not_overlap(name: str) -> None:
    design = next(design for design in DESIGNS if design.name == name)
    rows = read_schematic(name)
    for row in rows:
        left, bottom, right, top = row.box()
        assert left >= 0
        assert bottom >= 0
        assert right <= design.width
        assert top <= design.height
    for one, other in combinations(rows, 2):
        if frozenset({one.ref, other.ref}) not in MAY_OVERLAP:
            assert not _overlap(one, other), f"{one.ref} and {other.ref}"


def _overlap(one: Row, other: Row) -> bool:
    """Bodies on one side; across the sides only holes reach through."""
    if one.side != other.side:
        return any(
            _inside(x, y, two) for a, two in ((one, other), (other, one)) for land, x, y in a.lands() if land.hole
        )
    (left, bottom, right, top), (left2, bottom2, right2, top2) = one.box(), other.box()
    return left < right2 and left2 < right and bottom < top2 and bottom2 < top


def _inside(x: float, y: float, row: Row) -> bool:
    left, bottom, right, top = row.box()
    return left - 1 < x < right + 1 and bottom - 1 < y < top + 1


NOTE = re.compile(r"(black band|band|cathode|flat|plus|minus)(?: towards| to)?(?: the)? (\S+)$")
WAYS = {"left": (-1, 0), "right": (1, 0), "up": (0, 1), "down": (0, -1)}


@pytest.mark.parametrize("name", NAMES)
def test_notes_agree_with_circuit_and_placement(name: str) -> None:
    """Every note on a two-pin polarised part holds, by the mark rule of its construction; only C6's does not."""
    records = netlist_records(name)
    rows = {row.ref: row for row in read_schematic(name)}
    wrong = set()
    for ref in POLARITY[name]:
        match = NOTE.search(rows[ref].note)
        assert match, f"{ref}: {rows[ref].note}"
        mine = [record for record in records if record.ref == ref]
        minus_end = match[1] in ("minus", "black band")
        marked, far = (mine[1], mine[0]) if minus_end else (mine[0], mine[1])
        if not _points_to(match[2], marked, far, records):
            wrong.add(ref)
    assert wrong == (PLANTED if name == "greenhouse-valves" else set())


def _points_to(target: str, marked: Record, far: Record, records: list[Record]) -> bool:
    if target in WAYS:
        dx, dy = WAYS[target]
        return dx * (marked.x - far.x) + dy * (marked.y - far.y) > 0.5
    if target in {record.net for record in records}:
        return marked.net == target
    pads = [(record.x, record.y) for record in records if record.ref == target]
    assert pads, target
    x, y = (sum(values) / len(pads) for values in zip(*pads, strict=True))
    return (marked.x - x) ** 2 + (marked.y - y) ** 2 < (far.x - x) ** 2 + (far.y - y) ** 2


@pytest.mark.parametrize("name", NAMES)
def test_board_toml_names_only_places_and_nets_that_exist(name: str) -> None:
    toml, refs = facts(name), set(listed(name))
    nets = {record.net for record in netlist_records(name)}
    pins = {f"{record.ref}.{record.pin}" for record in netlist_records(name)}
    tables = [toml[key] for key in ("supplies", "rails", "loads", "nets") if key in toml]
    assert {net for table in tables for net in table} <= nets
    assert set(toml["board"]["planes"]) | set(toml["board"]["ground"]) <= nets
    assert set(toml["points"]) <= refs
    assert set(toml["points"].values()) <= nets
    assert expand(list(toml["parts"])) <= refs
    for point in toml["hold_points"]:
        assert expand(point["needs"] + point.get("before", [])) <= refs
        assert set(point["measure"]) | {point["supply"]} <= nets
        assert point["feed"] in pins
    assert all(expand(entry["parts"]) <= refs for entry in toml["fasten"])
    assert all({entry["part"], entry["at"]} <= refs for entry in toml.get("program", []))
    for signal in [*toml["inputs"].values(), *toml["outputs"].values()]:
        assert signal["at"] in pins | refs
    for rule in toml["order"]["rules"]:
        assert set(re.findall(r"\b[A-Z]+\d+\b", rule)) <= refs
    for ref, said in toml["parts"].items():
        numbers = {pin for pin in pins for one in expand([ref]) if pin.startswith(f"{one}.")}
        used = [*said.get("pins", {}).values(), *said.get("joints", {})] if isinstance(said, dict) else []
        assert {f"{one}.{pin}" for one in expand([ref]) for pin in used} <= numbers


@pytest.mark.parametrize("name", NAMES)
def test_test_points_of_board_toml_lie_on_the_nets_they_name(name: str) -> None:
    nets = {record.ref: record.net for record in netlist_records(name)}
    assert {ref: nets[ref] for ref in facts(name)["points"]} == facts(name)["points"]


@pytest.mark.parametrize("name", [*NAMES, "moisture-probe"])
def test_fitted_list_names_only_listed_places(name: str) -> None:
    if name == "moisture-probe":
        text = (BOARDS / name / "bom.csv").read_text(encoding="utf-8")
        refs = {ref for line in text.splitlines()[1:] for ref in line.split(";")[0].split(", ")}
        assert len(refs) == 12
    else:
        refs = set(listed(name))
    path = next((BOARDS / name).glob("fitted.*"))
    cells = re.split(r"[;\n]", path.read_text(encoding="utf-8")) if path.suffix == ".txt" else _first_cells(path)
    for cell in cells:
        if not cell.startswith("#"):
            named = expand(re.findall(r"\b[A-Z]+\d+(?:-[A-Z]+\d+)?", cell))
            assert named <= refs, cell


def _first_cells(path: Path) -> list[str]:
    lines = path.read_text(encoding="utf-8").splitlines()
    cut = ";" if ";" in lines[0] else ","
    return [cells[0] for cells in csv.reader(lines[1:], delimiter=cut)]


def test_every_board_says_that_it_is_invented() -> None:
    for folder in sorted(BOARDS.iterdir()):
        assert "This board is invented" in (folder / "about.md").read_text(encoding="utf-8")


def test_every_package_has_pads_for_its_pins() -> None:
    for name in NAMES:
        for row in read_schematic(name):
            assert len(row.pins()) == len(row.nets), row.ref
    assert all(outline.length > 0 for outline in OUTLINES.values())


FOUND = {
    "greenhouse-valves": {
        "C2": ("fitted", "tacked", "good", ""), "C13": ("not_inspected", "", "", ""),
        "D1": ("fitted", "soldered", "good", "measured"), "D2": ("fitted", "soldered", "good", "seen"),
        "D5": ("empty", "none", "removed_on_purpose", ""), "D8": ("fitted", "", "good", "reversed"),
        "L2": ("fitted", "leg_lifted", "good", ""), "R8": ("fitted", "", "wrong_part", ""),
        "R12": ("fitted", "soldered", "good", ""), "R15": ("empty", "none", "good", ""),
        "R21": ("fitted", "soldered", "good", ""), "U5": ("fitted", "", "damaged", ""),
        "W1": ("empty", "none", "temporary_link", ""), "Q4": ("empty", "none", "good", ""),
    },
    "magnet-clamp": {
        "F1": ("fitted", "", "wrong_part", ""), "K2": ("empty", "none", "good", ""),
        "Q1": ("fitted", "", "damaged", ""), "R10": ("fitted", "", "damaged", ""),
        "C6": ("not_inspected", "", "", ""), "D5": ("empty", "none", "removed_on_purpose", ""),
    },
    "moisture-probe": {"U2": ("fitted", "", "good", "reversed"), "R2": ("fitted", "soldered", "good", "")},
}  # fmt: skip
"""What about.md and the page on the example boards tell of single places: place, joint, part, way round."""
UNUSUAL_OUTLINES = {"W1", "J1", "J2", "J4", "J5", "R1"}
"""Real lists have parts that no outline table knows; these places stand for them."""


@pytest.mark.parametrize("name", [*NAMES, "moisture-probe"])
def test_readers_find_nothing_to_check_in_the_example_boards(name: str) -> None:
    board = read_board(BOARDS / name)
    assert [finding.message for finding in board.findings if finding.severity is not Severity.NOTE] == []
    fit = {ref: part.identity for ref, part in board.parts.items() if part.fit is Fit.FIT}
    assert [ref for ref, identity in fit.items() if identity.kind == "unknown"] == []
    assert {ref for ref, identity in fit.items() if identity.package is None} <= UNUSUAL_OUTLINES
    assert board.fitted is not None
    assert board.fitted.others_stated
    assert set(board.parts) == set(board.placements) or name == "moisture-probe"


@pytest.mark.parametrize("name", [*NAMES, "moisture-probe"])
def test_fitted_list_says_what_the_story_tells(name: str) -> None:
    board = read_board(BOARDS / name)
    states = situation_of_files(board, 1).states
    for ref, expected in FOUND[name].items():
        state = states[ref]
        said = (state.place, state.joint, state.part, state.way_round)
        assert [got for got, value in zip(said, expected, strict=True) if value] == [v for v in expected if v], ref
    assert board.fitted is not None
    assert {state.ref for state in board.fitted.states} <= board.parts.keys()


def test_the_other_files_of_the_greenhouse_board_are_read_whole() -> None:
    folder = BOARDS / "greenhouse-valves"
    candidates = read_candidates(folder / "candidates.csv", "candidates.csv")
    assert candidates.candidates[0].part_number == "CS4-10-200"
    assert {ref for candidate in candidates.candidates for ref in candidate.fits} == {"U5"}
    stock = read_stock(folder / "stock.csv", "stock.csv")
    readings = read_readings(folder / "readings.csv", "readings.csv")
    for file in (candidates, stock, readings):
        assert [finding for finding in file.findings if finding.severity is not Severity.NOTE] == []
