"""Optocouplers with other outputs than a transistor: logic, gate drivers, MOSFET relays, triacs, two stages."""

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from reworkkit.compute.circuit import derive_circuit
from reworkkit.compute.diagnosis import Stage, prepare
from reworkkit.compute.formulas.network import compile_circuit, solve
from reworkkit.compute.formulas.network.equations import Equations
from reworkkit.compute.power_up.powered import power
from reworkkit.read.folder import read_board
from tests.compute.small_boards import volts_under
from tests.compute.test_circuit_chips import derived, ohms
from tests.compute.test_circuit_contacts import at

SHEET = "maker's sheet, from memory"


def lit(number: str, package: str, nets: str, amps: float, volts: float, pull: str) -> tuple[str, str]:
    """Return list and netlist of a coupler whose lamp has so much current, and what pulls at its output."""
    series = (volts - 1.4) / amps if amps else 1e9
    rows = f"U1,{number},{package},\n" + ohms(("R1", f"{series:.0f}"), ("R2", "10k"), ("R3", "10M"))
    return rows, f"U1 {nets}\nR1 1=V 2=A\nR2 {pull}\nR3 1=A 2=GND"


SPLIT = "2=A 3=GND 5=GND 6=O 8=V"


@pytest.mark.parametrize(
    ("number", "amps", "least", "most"),
    [("6N136", 16e-3, 0.19, 0.5), ("6N135", 16e-3, 0.07, 0.5), ("6N138", 1.6e-3, 3.0, 26), ("6N139", 1.6e-3, 5.0, 26)],
)
def test_outputs_carry_the_transfer_ratio_of_their_sheet(
    tmp_path: Path, number: str, amps: float, least: float, most: float
) -> None:
    """Transfer ratios of the makers' sheets (from memory): 6N135 7 %, 6N136 19 %, 6N138 300 %, 6N139 500 % and more."""
    rows, nets = lit(number, "DIP-8", SPLIT, amps, 5.0, "1=V 2=O")
    seen = at(tmp_path, rows.replace("R2,10k", "R2,10"), nets, 5.0)
    lamp = (seen["V"] - seen["A"]) / ((5 - 1.4) / amps)
    assert least <= (seen["V"] - seen["O"]) / 10 / lamp <= most


def test_what_an_opto_coupled_driver_leaves_of_a_rail_is_not_known_to_the_millivolt(tmp_path: Path) -> None:
    rows, nets = lit("TLP250", "DIP-8", SPLIT, 0.0, 15.0, "1=O 2=GND")
    circuit = derived(tmp_path, rows, nets, 15.0)
    made = prepare(read_board(tmp_path), circuit, Stage(None, "V", 1.0, None))
    place = made.template.index["O"]
    assert 0.05 < float(np.linalg.norm(made.loads[0, place])) < 0.5


@pytest.mark.parametrize(
    ("number", "package", "nets", "volts", "pull", "high_when_lit", "levels"),
    [
        ("6N136", "DIP-8", SPLIT, 5.0, "1=V 2=O", False, (0.4, 4.9)),
        ("6N139", "DIP-8", SPLIT, 5.0, "1=V 2=O", False, (0.4, 4.9)),
        ("6N137", "DIP-8", SPLIT, 5.0, "1=V 2=O", False, (0.6, 4.9)),
        ("HCPL-0601", "SOIC-8", SPLIT, 5.0, "1=V 2=O", False, (0.6, 4.9)),
        ("HCPL-2630", "DIP-8", "1=A 2=GND 5=GND 7=O 8=V", 5.0, "1=V 2=O", False, (0.6, 4.9)),
        ("H11L1M", "DIP-6", "1=A 2=GND 4=O 5=GND 6=V", 5.0, "1=V 2=O", False, (0.4, 4.9)),
        ("TLP250", "DIP-8", SPLIT, 15.0, "1=O 2=GND", True, (1.0, 12.0)),
        ("HCPL-3120", "DIP-8", SPLIT, 18.0, "1=O 2=GND", True, (0.5, 14.0)),
        ("FOD3120", "DIP-8", SPLIT, 18.0, "1=O 2=GND", True, (0.5, 14.0)),
        ("TLP2361", "SO-6", "1=A 3=GND 4=GND 5=O 6=V", 5.0, "1=O 2=GND", False, (0.4, 3.0)),
        ("4N33", "DIP-6", "1=A 2=GND 4=GND 5=O", 5.0, "1=V 2=O", False, (1.0, 4.9)),
        ("PC815", "DIP-4", "1=A 2=GND 3=GND 4=O", 5.0, "1=V 2=O", False, (1.0, 4.9)),
    ],
)
def test_levels_lit_and_dark(
    tmp_path: Path,
    number: str,
    package: str,
    nets: str,
    volts: float,
    pull: str,
    high_when_lit: bool,
    levels: tuple[float, float],
) -> None:
    """At most the first when low, at least the second when high (makers' sheets, from memory)."""
    for amps in (10e-3, 0.0):
        rows, wires = lit(number, package, nets, amps, volts, pull)
        out = at(tmp_path, rows, wires, volts)["O"]
        high = high_when_lit is bool(amps)
        assert out >= levels[1] if high else 0 <= out <= levels[0], (amps, out)
        made = derived(tmp_path, rows, wires, volts)
        assert not [one for one in made.not_judged if "U1" in one.about]
        assert all(e.assumed for e in made.elements if e.ref == "U1" and e.kind == "led")


def test_a_fast_coupler_needs_its_supply_and_its_enable_pin(tmp_path: Path, published: Any) -> None:
    rows, nets = lit("6N137", "DIP-8", "2=A 3=GND 5=GND 6=O 7=EN 8=V", 10e-3, 5.0, "1=V 2=O")
    rows += "\n" + ohms(("R4", "470"))
    assert at(tmp_path, rows, nets + "\nR4 1=EN 2=GND", 5.0)["O"] > 4.9
    assert at(tmp_path, rows, nets + "\nR4 1=EN 2=V", 5.0)["O"] < 0.6
    made = derived(tmp_path, rows, nets + "\nR4 1=EN 2=V", 5.0)
    own = next(e for e in made.elements if e.ref == "U1" and e.kind == "load")
    assert own.nodes[0] != "V", "what else draws from that net stays open"
    published("6N137 supply current [A]", own.parameters["current"].nominal, 7e-3, source=SHEET, tolerance=0.3)


@pytest.mark.parametrize(
    ("number", "package", "nets", "closed_when_lit", "ohm"),
    [
        ("AQY212EH", "DIP-4", "1=A 2=GND 3=V 4=O", True, 0.85),
        ("AQV212", "DIP-6", "1=A 2=GND 4=V 6=O", True, 0.83),
        ("G3VM-61A1", "DIP-4", "1=A 2=GND 3=V 4=O", True, 1.0),
        ("TLP222A", "DIP-4", "1=A 2=GND 3=V 4=O", True, 1.0),
        ("CPC1017N", "SOP-4", "1=A 2=GND 3=V 4=O", True, 16),
        ("TLP172A", "SOP-4", "1=A 2=GND 3=V 4=O", True, 1.0),
        ("VO1400AEF", "SOP-4", "1=A 2=GND 3=V 4=O", True, 1.5),
        ("AQW212", "DIP-8", "1=A 2=GND 8=V 7=O", True, 10),
        ("AQY410EH", "DIP-4", "1=A 2=GND 3=V 4=O", False, 18),
        ("LH1540AAB", "DIP-6", "1=A 2=GND 4=V 6=O", True, 20),
    ],
)
def test_mosfet_relays_follow_their_lamp(
    tmp_path: Path, published: Any, number: str, package: str, nets: str, closed_when_lit: bool, ohm: float
) -> None:
    for amps in (5e-3, 0.0):
        rows, wires = lit(number, package, nets, amps, 12.0, "1=O 2=GND")
        seen = at(tmp_path, rows.replace("R2,10k", "R2,100"), wires, 12.0)
        if closed_when_lit is bool(amps):
            on = 100 * (seen["V"] - seen["O"]) / seen["O"]
            published(f"{number} on [ohm]", on, ohm, source=SHEET + ", typical", tolerance=1.0)
        else:
            assert seen["O"] < 0.01


def test_a_lamp_the_wrong_way_round_closes_nothing(tmp_path: Path) -> None:
    rows, nets = lit("AQY212", "DIP-4", "1=GND 2=A 3=V 4=O", 5e-3, 12.0, "1=O 2=GND")
    assert at(tmp_path, rows, nets, 12.0)["O"] < 0.01


@pytest.mark.parametrize(
    ("number", "package", "nets"),
    [
        ("MOC3041", "DIP-6", "1=A 2=GND 4=V 6=O"),
        ("MOC3021", "DIP-6", "1=A 2=GND 4=O 6=V"),
        ("IL420", "DIP-6", "1=A 2=GND 4=V 6=O"),
        ("TLP3063", "DIP-6", "1=A 2=GND 4=V 6=O"),
        ("S202S02", "SIP-4", "3=A 4=GND 1=V 2=O"),
    ],
)
def test_triac_couplers_are_open_while_dark_and_say_what_they_do_lit(
    tmp_path: Path, number: str, package: str, nets: str
) -> None:
    """On-state 1.2 to 3 V at 100 mA (makers' sheets, from memory)."""
    for amps in (20e-3, 0.0):
        rows, wires = lit(number, package, nets, amps, 12.0, "1=O 2=GND")
        seen = at(tmp_path, rows.replace("R2,10k", "R2,100"), wires, 12.0)
        assert (0.7 < seen["V"] - seen["O"] < 3) if amps else seen["O"] < 0.01
    made = derived(tmp_path, rows, wires, 12.0)
    said = {told.slug for e in made.elements if e.ref == "U1" for told in e.assumed}
    assert "circuit-coupler-triac" in said


def test_an_unknown_output_stays_a_question(tmp_path: Path) -> None:
    made = derived(tmp_path, "U1,TLP590B,DIP-6,photovoltaic coupler", "U1 1:A=A 2:K=GND 4:X=X 6:Y=Y")
    assert any("U1" in one.about for one in made.not_judged)


def test_faults_of_a_mosfet_relay_are_those_of_its_output(tmp_path: Path) -> None:
    rows, nets = lit("AQY212", "DIP-4", "1=A 2=GND 3=V 4=O", 5e-3, 12.0, "1=O 2=GND")
    derived(tmp_path, rows, nets, 12.0)
    board = read_board(tmp_path)
    made = prepare(board, derive_circuit(board), Stage(None, "V", 1.0, None))
    assert volts_under(made)["O"] > 11
    assert volts_under(made, "U1", "reversed")["O"] < 0.1
    assert volts_under(made, "U1", "out_open")["O"] < 0.1
    assert ("U1", "out_closed") in {(h.fault.ref, h.fault.kind) for h in made.catalogue.hypotheses}


def test_bands_of_a_gate_driver_stay_between_its_supplies(tmp_path: Path) -> None:
    """Invariant: no tolerance of a lamp that is surely lit takes an output past its supplies, or the draw far up."""
    rows, nets = lit("TLP250", "DIP-8", SPLIT, 10e-3, 15.0, "1=O 2=GND")
    circuit = derived(tmp_path, rows, nets, 15.0)
    powered = power(circuit, ("V",), frozenset(read_board(tmp_path).parts), ("O",), 1.0)
    spread = powered.spreads["O"]
    assert 12.0 < spread.low < spread.high < 15.2
    assert powered.spreads["supply"].high < 0.03


def test_a_stated_load_stands_for_what_the_type_draws(tmp_path: Path) -> None:
    rows, nets = lit("6N137", "DIP-8", SPLIT, 10e-3, 5.0, "1=V 2=O")
    derived(tmp_path, rows, nets, 5.0)
    toml = tmp_path / "board.toml"
    toml.write_text(toml.read_text() + '[loads]\nV = "20 mA"\n')
    made = derive_circuit(read_board(tmp_path))
    assert not [e for e in made.elements if e.kind == "load" and e.ref == "U1"]


@pytest.mark.parametrize("amps", [10e-3, 1e-3, 0.0])
def test_slopes_are_those_of_the_residuals(tmp_path: Path, amps: float) -> None:
    """Invariant: central differences of the residuals, lit, at the edge and dark."""
    rows, nets = lit("AQY212", "DIP-4", "1=A 2=GND 3=V 4=O", amps, 12.0, "1=O 2=GND")
    template = compile_circuit(derived(tmp_path, rows, nets, 12.0))
    row = template.powered("V")
    equations, x = Equations(template, row[None]), solve(template, row).state
    x = x + np.random.default_rng(2).normal(0, 1e-5, x.shape)
    _, slopes = equations.evaluate(x)
    step = 1e-8 * np.eye(x.shape[1])
    seen = np.stack([(equations.evaluate(x + d)[0] - equations.evaluate(x - d)[0])[0] / 2e-8 for d in step], 1)
    assert (np.abs(seen - slopes[0]) / (1 + np.abs(slopes[0]))).max() < 1e-4
