"""Thyristors and triacs: off until the gate is driven, latching from then; diacs and unijunction transistors."""

import subprocess
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from reworkkit.compute.circuit import derive_circuit
from reworkkit.compute.diagnosis import Stage, diagnose, prepare
from reworkkit.compute.formulas.junction import THERMAL_VOLTAGE, log_saturation
from reworkkit.compute.formulas.network import compile_circuit, solve
from reworkkit.compute.formulas.network.bipolar import REVERSE_GAIN
from reworkkit.compute.formulas.network.equations import Equations
from reworkkit.model.diagnosis import DiagnosisVerdict
from reworkkit.model.vocabulary import Mode
from reworkkit.read.folder import read_board
from tests.compute.small_boards import reading, volts_under
from tests.compute.test_circuit_chips import derived, ohms
from tests.compute.test_circuit_contacts import at
from tests.spice.netlist import NGSPICE, SPICE_VT

SHEET = "maker's sheet, from memory"


@pytest.mark.parametrize(
    ("number", "package", "order"),
    [
        ("BT151-500R", "TO-220", "K A G"),
        ("BT152-600R", "TO-220", "K A G"),
        ("TYN612", "TO-220", "K A G"),
        ("2N5060", "TO-92", "K G A"),
        ("2N5064", "TO-92", "K G A"),
        ("MCR100-6", "TO-92", "K G A"),
        ("C106D", "TO-126", "K A G"),
        ("TIC106D", "TO-220", "K A G"),
        ("X0405MF", "TO-202", "K A G"),
        ("BT136-600E", "TO-220", "MT1 MT2 G"),
        ("BT137-600", "TO-220", "MT1 MT2 G"),
        ("BT139-600", "TO-220", "MT1 MT2 G"),
        ("BTA16-600B", "TO-220", "MT1 MT2 G"),
        ("BTB12-600", "TO-220", "MT1 MT2 G"),
        ("Z0107MN", "SOT-223", "MT1 MT2 G"),
        ("MAC97A8", "TO-92", "MT1 G MT2"),
        ("TIC226D", "TO-220", "MT1 MT2 G"),
        ("2N6027", "TO-92", "A G K"),
    ],
)
def test_pin_orders_by_type(tmp_path: Path, published: Any, number: str, package: str, order: str) -> None:
    made = derived(tmp_path, f"Q1,{number},{package},", "Q1 1=ONE 2=TWO 3=THREE")
    core = next(e for e in made.elements if e.ref == "Q1" and e.kind.startswith("thyristor"))
    roles = ("K", "G", "A") if number.startswith("2N602") else ("A", "G", "K") if "K" in order else ("MT2", "G", "MT1")
    nets = dict(zip(order.split(), ("ONE", "TWO", "THREE"), strict=True))
    published(number, core.nodes[:3], tuple(nets[role] for role in roles), source=SHEET)
    assert {told.slug for told in core.assumed} >= {"circuit-order-by-type"}


@pytest.mark.parametrize("words", ["thyristor 8A 600V", "SCR", "triac 4A"])
def test_one_whose_pins_nothing_tells_is_asked_for(tmp_path: Path, words: str) -> None:
    made = derived(tmp_path, f"Q1,XYZ12,TO-92,{words}", "Q1 1=ONE 2=TWO 3=THREE")
    assert {e.kind for e in made.elements if e.ref == "Q1"} == {"unmodelled"}
    assert any("Q1" in one.about and "pins" in (one.answer or "") for one in made.not_judged)
    named = derived(tmp_path, f"Q1,XYZ12,TO-92,{words}", "Q1 1:A=ONE 2:G=TWO 3:K=THREE 4:MT1=X 5:MT2=Y")
    assert any(e.kind == "thyristor" for e in named.elements)


LAMP = "R1 1=V 2=LOAD\n"


@pytest.mark.parametrize(
    ("number", "package", "pins", "gate_ohm", "fires"),
    [
        ("BT151-500R", "TO-220", "1=GND 2=LOAD 3=G", "220", True),
        ("BT151-500R", "TO-220", "1=GND 2=LOAD 3=G", "100k", False),
        ("MCR100-6", "TO-92", "1=GND 2=G 3=LOAD", "10k", True),
        ("MCR100-6", "TO-92", "1=GND 2=G 3=LOAD", "4M7", False),
        ("C106D", "TO-126", "1=GND 2=LOAD 3=G", "10k", True),
        ("BT136-600E", "TO-220", "1=GND 2=LOAD 3=G", "150", True),
        ("BT136-600E", "TO-220", "1=GND 2=LOAD 3=G", "100k", False),
    ],
)
def test_a_gate_fires_from_the_current_of_its_sheet(
    tmp_path: Path, number: str, package: str, pins: str, gate_ohm: str, fires: bool
) -> None:
    """BT151 2 to 15 mA, MCR100 40 to 200 uA, C106 30 to 200 uA, BT136E up to 10 mA; on-state 0.7 to 1.7 V (sheets)."""
    rows = f"Q1,{number},{package},\n" + ohms(("R1", "100"), ("R2", gate_ohm))
    load = at(tmp_path, rows, f"Q1 {pins}\n{LAMP}R2 1=V 2=G", 12.0)["LOAD"]
    assert 0.7 < load < 1.7 if fires else load > 11.9


def test_off_where_the_gate_is_held_or_left_open(tmp_path: Path) -> None:
    for gate in ("GND", "G"):
        rows = "Q1,BT151-500R,TO-220,\n" + ohms(("R1", "100"), ("R2", "1k"))
        seen = at(tmp_path, rows, f"Q1 1=GND 2=LOAD 3=G\n{LAMP}R2 1=G 2={gate if gate == 'GND' else 'X'}", 12.0)
        assert seen["LOAD"] > 11.9


CROWBAR = "Q1,BT151-500R,TO-220,\nD1,BZX55C15,DO-35,Zener diode 15 V\nF1,1A,5x20,fuse\n" + ohms(
    ("R1", "100"), ("R2", "100"), ("R3", "1k")
)
CROWBAR_NETS = """F1 1=V 2=RAIL
Q1 1=GND 2=RAIL 3=G
D1 1:K=RAIL 2:A=Z
R1 1=Z 2=G
R2 1=G 2=GND
R3 1=RAIL 2=GND
"""


@pytest.mark.parametrize(("volts", "on"), [(12.0, False), (14.0, False), (24.0, True)])
def test_a_crowbar_is_off_below_its_zener_and_latches_above(tmp_path: Path, volts: float, on: bool) -> None:
    """Above 15 V + 0.6 V + the gate's current x 100 ohm it fires; then 1 V is left, whatever the Zener diode does."""
    rail = at(tmp_path, CROWBAR, CROWBAR_NETS, volts)["RAIL"]
    assert rail < 2.0 if on else rail == pytest.approx(volts, rel=0.01)


@pytest.mark.parametrize(("ref", "kind"), [("D1", "shorted"), ("Q1", "shorted")])
def test_a_crowbar_fired_by_a_fault_is_found(tmp_path: Path, ref: str, kind: str) -> None:
    derived(tmp_path, CROWBAR, CROWBAR_NETS, 12.0)
    board, stage = read_board(tmp_path), Stage(None, "V", 0.5, None)
    circuit = derive_circuit(board)
    made = prepare(board, circuit, stage)
    nets = ("V", "RAIL", "G", "Z")
    healthy, faulty = volts_under(made), volts_under(made, ref, kind)
    assert healthy["RAIL"] > 11.5
    assert faulty["RAIL"] < 3.0
    assert diagnose(board, circuit, [reading(n, healthy[n]) for n in nets], stage).verdict is (
        DiagnosisVerdict.NO_FAULT_SEEN
    )
    seen = [*(reading(n, faulty[n]) for n in nets), reading("supply", 0.5, Mode.AMPS)]
    found = diagnose(board, circuit, seen, stage)
    assert found.verdict is DiagnosisVerdict.FAULT
    told = {(fault.ref, fault.kind) for group in found.groups[:2] for fault in group.faults}
    assert (ref, kind) in told, "the first group holds what fires it in another way"


def test_a_gate_that_a_microcontroller_drives_accuses_nobody(tmp_path: Path) -> None:
    rows = "Q1,MCR100-6,TO-92,\nU1,ATmega328P,TQFP-32,microcontroller\n" + ohms(("R1", "100"), ("R2", "1k"))
    circuit = derived(tmp_path, rows, f"Q1 1=GND 2=G 3=LOAD\n{LAMP}R2 1=PIN 2=G\nU1 1:GND=GND 2:VCC=V 3:PB0=PIN", 5.0)
    board, stage = read_board(tmp_path), Stage(None, "V", 0.5, None)
    for volts in (5.0, 0.9):
        found = diagnose(board, circuit, [reading("LOAD", volts), reading("V", 5.0)], stage)
        assert found.verdict is not DiagnosisVerdict.FAULT


def test_a_triac_shows_its_gate_in_ohms(tmp_path: Path) -> None:
    """Some 50 to 100 ohm between gate and MT1 of a triac at a meter's current (bench knowledge, from memory)."""
    rows = "Q1,BT136-600E,TO-220,\n" + ohms(("R1", "100k"), ("R2", "10k"))
    seen = at(tmp_path, rows, "Q1 1=GND 2=LOAD 3=G\nR1 1=V 2=LOAD\nR2 1=V 2=G", 5.0)
    amps = (seen["V"] - seen["G"]) / 10e3
    assert 40 < seen["G"] / amps < 110
    assert seen["LOAD"] > 4.9


def test_a_programmable_unijunction_fires_above_its_gate(tmp_path: Path) -> None:
    """2N6027: off while the anode is below the gate's divider and a junction's drop (maker's sheet, from memory)."""
    rows = "Q1,2N6027,TO-92,\n" + ohms(("R1", "10k"), ("R2", "10k"), ("R3", "{}"), ("R4", "10k"), ("R5", "20"))
    nets = "R1 1=V 2=G\nR2 1=G 2=GND\nR3 1=V 2=A\nR4 1=A 2=GND\nR5 1=K 2=GND\nQ1 1=A 2=G 3=K"
    off = at(tmp_path, rows.format("20k"), nets, 12.0)
    assert off["A"] == pytest.approx(4.0, abs=0.05)  # divider
    assert at(tmp_path, rows.format("1k"), nets, 12.0)["A"] < 2.0


def test_a_unijunction_and_a_diac_carry_nothing_below_their_voltage(tmp_path: Path, published: Any) -> None:
    rows = "Q1,2N2646,TO-18,unijunction transistor\nD1,DB3,DO-35,diac\n" + ohms(("R1", "10k"), ("R2", "10k"))
    nets = "Q1 1=E 2=GND 3=V\nR1 1=E 2=GND\nD1 1=V 2=X\nR2 1=X 2=GND"
    seen = at(tmp_path, rows, nets, 20.0)
    assert abs(seen["E"]) < 1e-3
    assert abs(seen["X"]) < 1e-3
    above = at(tmp_path, rows, nets, 40.0)["X"]
    published("DB3 breaks over [V]", 40.0 - above, 32.0, source="28 to 36 V, " + SHEET, tolerance=0.15)


def _deck_of_core(volts: float, gate_ohm: float, shunt: float) -> str:
    figures = {"forward": 0.85, "at": 0.01, "ideality": 1.6, "series": 0.02}
    slope = figures["ideality"] * THERMAL_VOLTAGE
    base = float(np.exp(log_saturation(*(np.array(v) for v in (0.85, 0.01, slope, 0.02)))))
    nf = 1.6 * THERMAL_VOLTAGE / SPICE_VT
    lines = [
        "thyristor of two transistors",
        f"V1 S 0 DC {volts}",
        "R1 S A 100",
        f"R2 S G {gate_ohm}",
        f"R3 G 0 {shunt}",
        "Q1 N G 0 MN",
        "Q2 G N A MP",
        f".model MN NPN(IS={20 * base:.9e} BF=20 BR={REVERSE_GAIN} NF={nf:.9f} NR={nf:.9f})",
        f".model MP PNP(IS={base:.9e} BF=1 BR={REVERSE_GAIN} NF={nf:.9f} NR={nf:.9f})",
        ".op",
        ".print op v(A) v(G)",
        ".end",
    ]
    return "\n".join(lines) + "\n"


@pytest.mark.skipif(NGSPICE is None, reason="ngspice is not installed")
@pytest.mark.parametrize("gate_ohm", [470.0, 1e6])
def test_on_and_off_agree_with_ngspice(tmp_path: Path, published: Any, gate_ohm: float) -> None:
    rows = "Q1,BT151-500R,TO-220,\n" + ohms(("R1", "100"), ("R2", f"{gate_ohm:.0f}"))
    made = derived(tmp_path, rows, "Q1 1=GND 2=A 3=G\nR1 1=V 2=A\nR2 1=V 2=G", 12.0)
    shunt = next(e.parameters["resistance"].nominal for e in made.elements if e.ref == "Q1" and e.kind == "inner")
    template = compile_circuit(made)
    found = solve(template, template.powered("V"))
    deck = tmp_path / "core.cir"
    deck.write_text(_deck_of_core(float(found.at("V")[0]), gate_ohm, shunt or 0.0))
    told = subprocess.run([str(NGSPICE), "-b", str(deck)], capture_output=True, text=True, check=False).stdout
    seen = {net: float(line.split()[1]) for line in told.splitlines() for net in "ag" if line.split()[:1] == [net]}
    for net in ("A", "G"):
        published(f"V({net})", float(found.at(net)[0]), seen[net.lower()], source="ngspice", absolute=0.02)


def test_slopes_are_those_of_the_residuals(tmp_path: Path) -> None:
    """Invariant: central differences of the residuals, near the operating point."""
    template = compile_circuit(derived(tmp_path, CROWBAR, CROWBAR_NETS, 24.0))
    row = template.powered("V")
    equations, start = Equations(template, row[None]), solve(template, row).state
    _, slopes = equations.evaluate(start)
    step = 1e-8 * np.eye(start.shape[1])
    seen = np.stack([(equations.evaluate(start + d)[0] - equations.evaluate(start - d)[0])[0] / 2e-8 for d in step], 1)
    assert (np.abs(seen - slopes[0]) / (1 + np.abs(slopes[0]))).max() < 1e-3
