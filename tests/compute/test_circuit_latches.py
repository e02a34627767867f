"""Timers, flip-flops, latches, counters: what their set, clear and reset pins hold, and that the rest stays open."""

from pathlib import Path
from typing import Any

import pytest

from reworkkit.compute.circuit import derive_circuit
from reworkkit.compute.diagnosis import Stage, diagnose, prepare
from reworkkit.compute.diagnosis.dictionary import Dictionary
from reworkkit.model.diagnosis import DiagnosisVerdict
from reworkkit.read.folder import read_board
from tests.compute.small_boards import reading, volts_under
from tests.compute.test_circuit_chips import derived, ohms

SHEET = "maker's sheet, from memory"
TIMER = "U1 1=GND 2=TRIG 3=OUT 4=RST 5=CTRL 6=THR 7=DIS 8=V\n"
HELD = "R1 1=V 2={trig}\nR2 1={low} 2=GND\n"
AROUND = "RA 1=OUT 2=MID\nRB 1=V 2=MID\nRC 1=MID 2=GND\nRD 1=V 2=DIS\n"


def prepared(folder: Path, rows: str, nets: str, volts: float) -> Dictionary:
    """Return the dictionary of a section."""
    circuit = derived(folder, rows, nets, volts)
    return prepare(read_board(folder), circuit, Stage(None, "V", 1.0, None))


def timed(
    folder: Path, number: str, trig: str, thr: str, rst: str, volts: float
) -> tuple[Dictionary, dict[str, float]]:
    """Return the dictionary and volts of a timer whose inputs hang at V or GND through 10 kohm each."""
    rows = f"U1,{number},DIP-8,timer\n" + ohms(
        ("RA", "100k"), ("RB", "100k"), ("RC", "100k"), ("RD", "10k"), ("RE", "10k"), ("RF", "10k"), ("RG", "10k")
    )
    nets = TIMER + AROUND + f"RE 1=TRIG 2={trig}\nRF 1=THR 2={thr}\nRG 1=RST 2={rst}\n"
    made = prepared(folder, rows, nets, volts)
    return made, volts_under(made)


@pytest.mark.parametrize("number", ["NE555P", "LM555CN", "TLC555CP", "ICM7555", "LMC555"])
@pytest.mark.parametrize(
    ("trig", "thr", "rst", "high"),
    [
        ("GND", "GND", "V", True),
        ("GND", "V", "V", True),
        ("V", "V", "V", False),
        ("GND", "GND", "GND", False),
        ("V", "GND", "GND", False),
        ("V", "GND", "V", None),
    ],
)
def test_a_timer_by_the_truth_table_of_its_sheet(
    tmp_path: Path, number: str, trig: str, thr: str, rst: str, high: bool | None
) -> None:
    """Function table of the sheet (memory): reset low beats trigger low, that beats threshold high; else as it was."""
    made, seen = timed(tmp_path, number, trig, thr, rst, 12.0)
    assert ({"OUT", "DIS"} <= made.catalogue.unknown) is (high is None)
    if high is not None:
        top = 12 - 1.7 if number in ("NE555P", "LM555CN") else 11.5
        assert (seen["OUT"] > top) if high else (seen["OUT"] < 0.2)
        assert (seen["DIS"] > 11.9) if high else (seen["DIS"] < 0.2)
        assert seen["OUT"] < 11.2 or number not in ("NE555P", "LM555CN")


@pytest.mark.parametrize(
    ("number", "amps", "tolerance"),
    [("NE555P", 10e-3, 0.3), ("LM555CN", 10e-3, 0.3), ("TLC555CP", 0.36e-3, 0.6), ("NE556N", 20e-3, 0.3)],
)
def test_supply_current_and_control_pin(
    tmp_path: Path, published: Any, number: str, amps: float, tolerance: float
) -> None:
    pins = "7=GND 14=V 3=CTRL 5=OUT 6=TRIG 4=V" if "556" in number else "1=GND 8=V 5=CTRL 3=OUT 2=TRIG 4=V"
    rows = f"U1,{number},DIP-{14 if '556' in number else 8},\n" + ohms(("R1", "10k"), ("R2", "10M"), ("R3", "1M"))
    nets = f"U1 {pins}\nR1 1=TRIG 2=GND\nR2 1=CTRL 2=GND\nR3 1=OUT 2=GND"
    made = prepared(tmp_path, rows.replace("\nR3", "\nR3"), nets, 15.0)
    published(f"{number}: control pin [V]", volts_under(made)["CTRL"], 10.0, source="two thirds", tolerance=0.02)
    load = next(e for e in made.template.elements if e.kind == "load" and e.ref == "U1")
    published(f"{number} at 15 V [A]", load.parameters["current"].nominal, amps, source=SHEET, tolerance=tolerance)
    assert load.nodes[0] != "V", "what else draws from that net stays open"


def test_an_astable_is_not_known_and_accuses_nobody(tmp_path: Path) -> None:
    rows = "U1,NE555P,DIP-8,\nC1,10nF,0805,ceramic\n" + ohms(("R1", "10k"), ("R2", "47k"), ("R3", "10k"))
    nets = "U1 1=GND 2=RC 3=OUT 4=V 6=RC 7=DIS 8=V\nR1 1=V 2=DIS\nR2 1=DIS 2=RC\nC1 1=RC 2=GND\nR3 1=OUT 2=GND"
    circuit = derived(tmp_path, rows, nets, 9.0)
    assert any(told.slug == "circuit-timer" for e in circuit.elements for told in e.assumed)
    board, stage = read_board(tmp_path), Stage(None, "V", 1.0, None)
    made = prepare(board, circuit, stage)
    assert {"OUT", "DIS"} <= made.catalogue.unknown
    for out in (0.1, 3.8, 7.6):
        found = diagnose(board, circuit, [reading("V", 9.0), reading("OUT", out), reading("RC", 4.5)], stage)
        assert found.verdict is not DiagnosisVerdict.FAULT
    held = prepared(tmp_path, rows + "\n" + ohms(("R9", "10k")), nets.replace("4=V", "4=RST") + "\nR9 1=RST 2=GND", 9.0)
    assert volts_under(held)["OUT"] < 0.2
    assert "OUT" not in held.catalogue.unknown


def test_a_trigger_resistor_that_is_open_is_found(tmp_path: Path) -> None:
    made, healthy = timed(tmp_path, "TLC555CP", "V", "V", "V", 5.0)
    board, stage = read_board(tmp_path), Stage(None, "V", 1.0, None)
    circuit = derive_circuit(board)
    assert healthy["OUT"] < 0.2
    faulty = volts_under(made, "RE", "open")
    assert faulty["OUT"] > 4.5
    found = diagnose(board, circuit, [reading(net, faulty[net]) for net in ("V", "TRIG", "OUT", "DIS")], stage)
    assert found.verdict is DiagnosisVerdict.FAULT
    assert "RE" in {fault.ref for group in found.groups[:2] for fault in group.faults}


LATCHES = [
    ("74HC74", 14, "14=V 7=GND 4=A 1=B 2=D 3=C 5=Q 6=N", {"VG": (0, 1), "GV": (1, 0), "VV": None}),
    ("CD4013BE", 14, "14=V 7=GND 6=A 4=B 5=D 3=C 1=Q 2=N", {"VG": (1, 0), "GV": (0, 1), "GG": None}),
    ("CD4044BE", 16, "16=V 8=GND 5=V 3=A 4=B 13=Q 9=N", {"VG": (0, None), "GV": (1, None), "VV": None}),
    ("74HC373", 20, "20=V 10=GND 1=GND 11=A 3=B 2=Q 5=N 4=GND", {"VV": (1, 0), "VG": (0, 0), "GV": None}),
    ("74HCT573", 20, "20=V 10=GND 1=GND 11=A 2=B 19=Q 18=N 3=GND", {"VV": (1, 0), "VG": (0, 0), "GG": None}),
    ("74HC273", 20, "20=V 10=GND 1=A 3=B 11=C 2=Q 5=N", {"GV": (0, 0), "GG": (0, 0), "VV": None}),
    ("74HC175", 16, "16=V 8=GND 1=A 4=B 9=C 2=Q 3=N", {"GV": (0, 1), "VV": None}),
    ("74HC164", 14, "14=V 7=GND 9=A 1=B 8=C 3=Q 4=N", {"GV": (0, 0), "VG": None}),
    ("CD4017BE", 16, "16=V 8=GND 15=A 14=B 3=Q 2=N", {"VG": (1, 0), "GG": None}),
    ("CD4040BE", 16, "16=V 8=GND 11=A 10=B 9=Q 7=N", {"VG": (0, 0), "GG": None}),
    ("74HC4060", 16, "16=V 8=GND 12=A 11=B 7=Q 5=N", {"VG": (0, 0), "GV": None}),
    ("74HC393", 14, "14=V 7=GND 2=A 1=B 3=Q 4=N", {"VG": (0, 0), "GG": None}),
]


@pytest.mark.parametrize(
    ("number", "pins", "nets", "a", "b", "want"),
    [
        (number, pins, nets, case[0], case[1], want)
        for number, pins, nets, cases in LATCHES
        for case, want in cases.items()
    ],
)
def test_outputs_that_set_and_clear_pins_hold(
    tmp_path: Path, number: str, pins: int, nets: str, a: str, b: str, want: tuple[int | None, int | None] | None
) -> None:
    """Function tables of the makers' sheets (from memory); what a clock would have made of the rest nobody knows."""
    refs = ("RA", "RB", "RC", "RD", "RE", "RF", "RG")
    rows = f"U1,{number},SOIC-{pins},\n" + ohms(*((ref, "10k" if ref < "RC" else "100k") for ref in refs))
    end = {"V": "V", "G": "GND"}
    wires = f"U1 {nets}\nRA 1=A 2={end[a]}\nRB 1=B 2={end[b]}\nRC 1=Q 2=MID\nRD 1=N 2=MID\nRE 1=V 2=MID\nRF 1=MID 2=GND"
    made = prepared(tmp_path, rows, wires, 5.0)
    seen = volts_under(made)
    for net, level in zip(("Q", "N"), want or (None, None), strict=True):
        if level is None:
            assert net in made.catalogue.unknown
        else:
            assert (seen[net] > 4.5) if level else (seen[net] < 0.5)
            assert net not in made.catalogue.unknown


def test_a_latch_that_holds_a_gate_settles(tmp_path: Path) -> None:
    rows = "U1,74HC74,SOIC-14,\nU2,74HC14,SOIC-14,\n" + ohms(("RA", "10k"), ("RB", "10k"), ("RC", "10k"))
    nets = "U1 14=V 7=GND 4=A 1=B 5=Q\nU2 14=V 7=GND 1=Q 2=Y\nRA 1=A 2=V\nRB 1=B 2=GND\nRC 1=Y 2=GND"
    seen = volts_under(prepared(tmp_path, rows, nets, 5.0))
    assert seen["Q"] < 0.5
    assert seen["Y"] > 4.5


def test_a_timer_for_single_pulses_rests_low(tmp_path: Path) -> None:
    """Maker's circuit of the monostable (from memory): threshold and discharge at one RC, trigger apart."""
    rows = "U1,NE555P,DIP-8,timer\nC1,10u,,electrolytic\n" + ohms(("RA", "100k"), ("RB", "10k"), ("RC", "100k"))
    nets = "U1 1=GND 2=TRIG 3=OUT 4=V 5=CTRL 6=T 7=T 8=V\nRA 1=V 2=T\nC1 1=T 2=GND\nRB 1=V 2=TRIG\nRC 1=OUT 2=GND"
    made = prepared(tmp_path, rows, nets, 12.0)
    seen = volts_under(made)
    assert not {"OUT", "T"} & made.catalogue.unknown
    assert seen["OUT"] < 0.2
    assert seen["T"] < 0.3


def test_a_latch_begins_as_its_reset_capacitor_makes_it(tmp_path: Path) -> None:
    """CD4013 by its function table: a capacitor from the supply to its reset pin clears it as the power comes on."""
    rows = "U1,CD4013BE,SOIC-14,\nC1,100n,,\n" + ohms(("RA", "10k"), ("RB", "100k"), ("RC", "100k"), ("RD", "100k"))
    nets = "U1 14=V 7=GND 6=A 4=B 5=GND 3=GND 1=Q 2=N\nRA 1=A 2=V\nRB 1=A 2=GND\nC1 1=V 2=B\nRC 1=B 2=GND\nRD 1=Q 2=N"
    made = prepared(tmp_path, rows, nets, 5.0)
    seen, without = volts_under(made), volts_under(made, "RA", "open")
    assert seen["Q"] > 4.5 > 0.5 > seen["N"]
    assert without["N"] > 4.5 > 0.5 > without["Q"]


@pytest.mark.parametrize("fuse", ["F1 1=V 2=VF", "F1 1=VF 2=V"])
def test_a_fuse_feeds_firmly_whichever_way_its_pins_are_counted(tmp_path: Path, fuse: str) -> None:
    """A latch beside a part of unknown behaviour is told by pins that hang on a rail behind a fuse."""
    rows = "F1,1A,,fuse\nU1,CD4013BE,SOIC-14,\nX1,QX9,,\n" + ohms(("RA", "10k"), ("RB", "10k"), ("RC", "10k"))
    nets = f"{fuse}\nU1 14=VF 7=GND 6=A 4=GND 5=GND 3=GND 1=Q 2=N\nRA 1=A 2=VF\nRB 1=VF 2=S\nX1 1=S 2=GND\nRC 1=Q 2=N"
    made = prepared(tmp_path, rows, nets, 5.0)
    assert not {"Q", "N"} & made.catalogue.unknown
    assert volts_under(made)["Q"] > 4.5
