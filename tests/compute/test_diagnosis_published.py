"""The dictionary of faults beside a published one: a transistor stage, each resistor open or shorted in turn."""

from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest

from reworkkit.compute.circuit import derive_circuit
from reworkkit.compute.diagnosis import Stage, diagnose, prepare
from reworkkit.compute.diagnosis.dictionary import Dictionary
from reworkkit.model.measuring import Reading
from reworkkit.model.vocabulary import Mode, ReadingForm
from reworkkit.read.folder import read_board
from tests.compute.small_boards import opened, volts_under, written

SOURCE = "Transistor fault finding, a course sheet, studylib.net/doc/18622570: what each open resistor does, 9 V stage"
STAGE = Stage("all", "V9", 0.1, None)
FILES = {
    "bom.csv": """Designator,Value,Package,Description
J1,9 V in,Terminal 5.08 2-way,screw terminal
R1,39k,0805,resistor 1 %
R2,8k2,0805,resistor 1 %
R3,2k2,0805,resistor 1 %
R4,470,0805,resistor 1 %
Q1,BC847,SOT-23,NPN transistor
""",
    "netlist.csv": """designator,pin,net,name
J1,1,V9,
J1,2,GND,
R1,1,V9,
R1,2,BASE,
R2,1,BASE,
R2,2,GND,
R3,1,V9,
R3,2,COLL,
R4,1,EMIT,
R4,2,GND,
Q1,1,BASE,B
Q1,2,EMIT,E
Q1,3,COLL,C
""",
    "board.toml": """name = "One stage, invented values"
[board]
ground = ["GND"]
[supplies]
V9 = "9 V, limit 0.1 A"
[[hold_points]]
name = "all"
supply = "V9"
measure = ["COLL"]
""",
}


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return written(tmp_path_factory.mktemp("stage"), FILES)


@cache
def prepared(folder: Path) -> Dictionary:
    return prepare(*opened(folder), STAGE)


def volts(folder: Path, ref: str = "", kind: str = "none") -> dict[str, float]:
    return volts_under(prepared(folder), ref, kind)


def test_r1_open_leaves_the_transistor_without_bias(folder: Path, published: Callable[..., None]) -> None:
    found = volts(folder, "R1", "open")
    for net, expected in (("BASE", 0.0), ("EMIT", 0.0), ("COLL", 9.0)):
        published(f"R1 open: {net} [V]", found[net], expected, source=SOURCE, absolute=0.05)


def test_r2_open_drives_it_hard(folder: Path, published: Callable[..., None]) -> None:
    found, healthy = volts(folder, "R2", "open"), volts(folder)
    published("R2 open: collector lower", found["COLL"] < healthy["COLL"], True, source=SOURCE)
    published("R2 open: emitter higher", found["EMIT"] > healthy["EMIT"], True, source=SOURCE)


def test_r3_open_lets_base_current_alone_flow(folder: Path, published: Callable[..., None]) -> None:
    found, healthy = volts(folder, "R3", "open"), volts(folder)
    published("R3 open: base lower", found["BASE"] < healthy["BASE"], True, source=SOURCE)
    published("R3 open: emitter [V]", found["EMIT"], 0.1, source=SOURCE, absolute=0.05)
    published("R3 open: base less emitter [V]", found["BASE"] - found["EMIT"], 0.6, source=SOURCE, absolute=0.1)
    published("R3 open: base less collector [V]", found["BASE"] - found["COLL"], 0.6, source=SOURCE, absolute=0.1)


def test_r4_open_leaves_no_current(folder: Path, published: Callable[..., None]) -> None:
    found, healthy = volts(folder, "R4", "open"), volts(folder)
    published("R4 open: base higher", found["BASE"] > healthy["BASE"], True, source=SOURCE)
    published("R4 open: collector [V]", found["COLL"], 9.0, source=SOURCE, absolute=0.05)
    published("R4 open: emitter above ground, by the meter", found["EMIT"] > 0.3, True, source=SOURCE)


def test_readings_as_published_name_the_resistor(folder: Path, published: Callable[..., None]) -> None:
    board = read_board(folder)
    shown = {"V9": 9.0, "BASE": 0.0, "EMIT": 0.0, "COLL": 9.0}
    readings = [
        Reading(net, Mode.VOLTS, ReadingForm.VALUE, value, "V", False, "all", f"{value} V")
        for net, value in shown.items()
    ]
    found = diagnose(board, derive_circuit(board), readings, STAGE)
    named = ("R1", "open") in {(fault.ref, fault.kind) for fault in found.groups[0].faults}
    published("no base voltage and the collector at 9 V: R1 open", named, True, source=SOURCE)
