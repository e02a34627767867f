"""Isolated converters: volts by their number, output between pins of their own, input current by efficiency."""

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from reworkkit.compute.circuit import derive_circuit
from reworkkit.compute.diagnosis import Stage, diagnose, prepare
from reworkkit.compute.formulas.network import compile_circuit, solve
from reworkkit.compute.formulas.network.equations import Equations
from reworkkit.compute.power_up.feeding import returns_to_ground
from reworkkit.model.diagnosis import DiagnosisVerdict
from reworkkit.read.folder import read_board
from tests.compute.small_boards import reading, volts_under
from tests.compute.test_circuit_chips import derived, ohms, solved

SHEET = "maker's sheet, from memory"
FOUR = "U1 1=GND 2=V 3={low} 4=OUT\nR1 1=OUT 2={low}\n"


def across(folder: Path, number: str, nets: str, load: str, volts: float, low: str = "GND") -> tuple[float, float]:
    """Return the volts between output and its return, and the amps of the supply."""
    found = solved(folder, f"U1,{number},module,isolated DC/DC converter\n" + ohms(("R1", load)), nets, volts)
    out = float(found.at("OUT")[0]) - (float(found.at(low)[0]) if low != "GND" else 0.0)
    return out, float(found.current("V")[0])


@pytest.mark.parametrize(
    ("number", "nets", "into", "out", "load"),
    [
        ("B0505S-1W", FOUR, 5.0, 5.0, "25"),
        ("B1212S-1WR2", FOUR, 12.0, 12.0, "144"),
        ("RB-0505S", FOUR, 5.0, 5.0, "25"),
        ("NME1205SC", FOUR, 12.0, 5.0, "25"),
        ("TMA 2405S", "U1 1=V 2=GND 4={low} 6=OUT\nR1 1=OUT 2={low}\n", 24.0, 5.0, "25"),
        ("D1515S-1W", "U1 1=V 2=GND 5={low} 7=OUT\nR1 1=OUT 2={low}\n", 15.0, 15.0, "225"),
        ("TEN 3-1211", "U1 2=GND 3=GND 22=V 23=V 14=OUT 16={low}\nR1 1=OUT 2={low}\n", 12.0, 5.0, "8.33"),
        ("24S05", "U1 1:+VIN=V 2:-VIN=GND 3:+VOUT=OUT 4:-VOUT={low}\nR1 1=OUT 2={low}\n", 24.0, 5.0, "10"),
    ],
)
@pytest.mark.parametrize("low", ["GND", "GND_ISO"])
def test_output_volts_and_input_current_at_full_load(
    tmp_path: Path, published: Any, number: str, nets: str, into: float, out: float, load: str, low: str
) -> None:
    got, amps = across(tmp_path, number, nets.format(low=low), load, into, low)
    published(f"{number} output at full load [V]", got, out, source=SHEET, tolerance=0.06)
    power = got**2 / float(load)
    efficiency = power / (into * amps)
    assert 0.6 < efficiency < 0.92, "70 to 85 % at full load, sheets, from memory"
    light, _ = across(tmp_path, number, nets.format(low=low), load.replace(".", "") + "0k", into, low)
    assert out <= light + 1e-3
    assert light < 1.2 * out


def test_0v_between_two_outputs_is_their_common_pin(tmp_path: Path) -> None:
    rows = "U1,A0512S-1W,SIP-7,DC/DC module\n" + ohms(("R1", "2k2"), ("R2", "2k2"))
    nets = "U1 1:+VIN=V 2:-VIN=GND 4:-VO=NEG 5:0V=GND 6:+VO=POS\nR1 1=POS 2=GND\nR2 1=NEG 2=GND"
    found = solved(tmp_path, rows, nets, facts='[rails]\nPOS = "12 V"\nNEG = "-12 V"\n')
    assert float(found.at("POS")[0]) == pytest.approx(13.2, rel=0.06), "10 % more at light load: sheets, from memory"
    assert float(found.at("NEG")[0]) == pytest.approx(-13.2, rel=0.06)


def test_two_outputs_stand_both_sides_of_their_common_pin(tmp_path: Path) -> None:
    rows = "U1,IA0505S,SIP-7,module isolated\n" + ohms(("R1", "50"), ("R2", "50"))
    found = solved(tmp_path, rows, "U1 1=V 2=GND 4=NEG 5=GND 6=POS\nR1 1=POS 2=GND\nR2 1=NEG 2=GND")
    assert float(found.at("POS")[0]) == pytest.approx(5.0, rel=0.06)
    assert float(found.at("NEG")[0]) == pytest.approx(-5.0, rel=0.06)


def test_a_return_that_floats_is_told_and_its_readings_accuse_nobody(tmp_path: Path) -> None:
    rows = "U1,B0505S-1W,module,isolated DC/DC converter\n" + ohms(("R1", "100"))
    circuit = derived(tmp_path, rows, FOUR.format(low="GND_ISO"))
    assert "circuit-brick-floats" in {told.slug for e in circuit.elements for told in e.assumed}
    assert not returns_to_ground(circuit, "OUT")
    assert returns_to_ground(circuit, "V")
    board, stage = read_board(tmp_path), Stage(None, "V", 1.0, None)
    for out, low in ((5.3, 0.0), (2.6, -2.7), (0.0, -5.3)):
        found = diagnose(board, circuit, [reading("OUT", out), reading("GND_ISO", low), reading("V", 5.0)], stage)
        assert found.verdict is not DiagnosisVerdict.FAULT, (out, low)
    joined = derived(tmp_path, rows + "\n" + ohms(("R2", "0")), FOUR.format(low="GND_ISO") + "R2 1=GND_ISO 2=GND")
    assert "circuit-brick-floats" not in {told.slug for e in joined.elements for told in e.assumed}


def test_a_net_called_ground_on_the_far_side_is_not_joined_by_its_name(tmp_path: Path) -> None:
    rows = "U1,B0505S-1W,module,isolated DC/DC converter\n" + ohms(("R1", "100"))
    circuit = derived(tmp_path, rows, FOUR.format(low="AGND"))
    assert not [e for e in circuit.elements if e.kind == "link"]


def test_pins_that_nothing_tells_are_asked_for(tmp_path: Path) -> None:
    circuit = derived(tmp_path, "U1,24S05,DIP-24,isolated converter\n", "U1 1=V 2=GND 3=OUT 4=LOW")
    assert any("U1" in one.about and "+VOUT" in (one.answer or "") for one in circuit.not_judged)
    assert {e.kind for e in circuit.elements if e.ref == "U1"} == {"unmodelled"}


@pytest.mark.parametrize("kind", ["open", "wrong_output"])
def test_a_dead_or_wrong_brick_is_found(tmp_path: Path, kind: str) -> None:
    rows = "U1,B0505S-1W,module,isolated DC/DC converter\n" + ohms(("R1", "100"))
    circuit = derived(tmp_path, rows, FOUR.format(low="GND"))
    board, stage = read_board(tmp_path), Stage(None, "V", 1.0, None)
    made = prepare(board, circuit, stage)
    assert volts_under(made)["OUT"] > 4.9
    faulty = volts_under(made, "U1", kind)
    found = diagnose(board, circuit, [reading(net, faulty[net]) for net in ("V", "OUT")], stage)
    assert found.verdict is DiagnosisVerdict.FAULT
    assert "U1" in {fault.ref for group in found.groups[:2] for fault in group.faults}


@pytest.mark.parametrize("load", ["25", "0.1", "1M"])
def test_slopes_are_those_of_the_residuals(tmp_path: Path, load: str) -> None:
    """Invariant: central differences of the residuals, in voltage and on the limit."""
    rows = "U1,B0505S-1W,module,\n" + ohms(("R1", load))
    template = compile_circuit(derived(tmp_path, rows, FOUR.format(low="LOW")))
    row = template.powered("V")
    found = solve(template, row)
    assert found.settled[0]
    equations, start = Equations(template, row[None]), found.state
    x = start + np.random.default_rng(1).normal(0, 1e-4, start.shape)
    _, slopes = equations.evaluate(x)
    step = 1e-7 * np.eye(x.shape[1])
    seen = np.stack([(equations.evaluate(x + d)[0] - equations.evaluate(x - d)[0])[0] / 2e-7 for d in step], 1)
    assert (np.abs(seen - slopes[0]) / (1 + np.abs(slopes[0]))).max() < 1e-4


def test_a_supply_too_low_makes_nothing(tmp_path: Path) -> None:
    assert across(tmp_path, "B1212S-1W", FOUR.format(low="GND"), "144", 3.0)[0] < 0.1
    assert derive_circuit(read_board(tmp_path)).elements


def test_an_order_of_pins_that_the_nets_speak_against_is_not_taken(tmp_path: Path) -> None:
    circuit = derived(tmp_path, "U1,B0505S-1W,SIP-4,isolated converter\n", "U1 1=V 2=GND 3=LOW 4=OUT")
    assert not [e for e in circuit.elements if e.kind == "isolated"]
    assert any("U1" in one.about for one in circuit.not_judged)


@pytest.mark.parametrize(("rail", "known"), [("+5V_BUS", True), ("OUT", False)])
def test_a_type_of_two_outputs_without_its_common_pin_is_asked_for(tmp_path: Path, rail: str, known: bool) -> None:
    nets = f"U1 1:+VIN=V 2:-VIN=GND 4:-VOUT=LOW 6:+VOUT={rail}"
    circuit = derived(tmp_path, "U1,IH0505S,SIP-7,isolated converter\n", nets)
    made = [e for e in circuit.elements if e.kind == "isolated"]
    assert [e.nodes for e in made] == ([("V", "GND", rail, "LOW")] if known else [])
    assert any("U1" in one.about for one in circuit.not_judged) is not known


def test_a_floating_side_is_judged_between_its_own_nets(tmp_path: Path) -> None:
    rows = "U1,B0505S-1W,module,isolated DC/DC converter\n" + ohms(("R1", "100"))
    circuit = derived(tmp_path, rows, FOUR.format(low="GND_ISO"))
    board, stage = read_board(tmp_path), Stage(None, "V", 1.0, None)
    good = diagnose(board, circuit, [reading("OUT to GND_ISO", 5.4), reading("V", 5.0)], stage)
    assert good.verdict is DiagnosisVerdict.NO_FAULT_SEEN
    dead = diagnose(board, circuit, [reading("OUT to GND_ISO", 0.0), reading("V", 5.0)], stage)
    assert dead.verdict is DiagnosisVerdict.FAULT
    assert "U1" in {fault.ref for group in dead.groups[:2] for fault in group.faults}
