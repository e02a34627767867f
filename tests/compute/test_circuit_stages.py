"""Amplifiers that drive transistors, the 723, shunt references, discrete stages: against ngspice and closed forms."""

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from reworkkit.compute.circuit import derive_circuit
from reworkkit.compute.formulas.network import compile_circuit, solve
from reworkkit.compute.formulas.network.equations import Equations
from reworkkit.model.results import Circuit
from reworkkit.read.folder import read_board
from tests.compute.stage_boards import BOARDS
from tests.compute.stage_spice import compared, derived, ngspice, with_fault
from tests.spice.netlist import NGSPICE

PLACES = [(name, fault) for name, board in BOARDS.items() if board.faults for fault in ("", *board.faults)]


def of(folder: Path, name: str) -> Circuit:
    board = BOARDS[name]
    return derived(folder, board.rows, board.nets, board.volts)


def volts(circuit: Circuit) -> dict[str, float]:
    template = compile_circuit(circuit)
    found = solve(template, template.powered("V"))
    assert found.settled[0]
    return {node: float(found.at(node)[0]) for node in template.nodes}


@pytest.mark.skipif(NGSPICE is None, reason="ngspice is not installed")
@pytest.mark.parametrize(("name", "fault"), PLACES)
def test_every_node_within_the_spread_of_a_junction(tmp_path: Path, name: str, fault: str) -> None:
    """Independent equations: Gummel and Poon, square law, one pole; 0.15 V."""
    circuit = of(tmp_path, name)
    circuit = with_fault(circuit, fault) if fault else circuit
    gates = {"G", "O"} if name == "high side source pfet" and fault == "R2 open" else ()
    assert compared(volts(circuit), ngspice(circuit, tmp_path), gates) == {}


@pytest.mark.parametrize(
    ("name", "node", "expected", "within", "why"),
    [
        ("opto stage", "OUT", 2 * 5.31, 0.05, "1 + 10k/10k times 5.3 V of a Zener diode at 13 mA"),
        ("lm317 adj driven", "OUT", 2 * 5.31, 0.05, "the amplifier holds the divider, the regulator follows"),
        ("pnp pass with npn driver", "OUT", 2 * 5.31, 0.05, "two stages that turn round"),
        ("self referenced", "FB", 5.11, 0.06, "the Zener diode holds one input, the divider the other"),
        ("pfet rail", "+10V", 2 * 5.31, 0.05, "a rail that the stage makes is part of its way"),
        ("npn current high drop", "S", 12 * 9.1 / 10.1, 0.03, "the shunt drops what the divider asks"),
        ("dual led driver 5v rails", "S", 5 / 48, 0.003, "the shunt drops what the divider asks"),
        ("instr sense", "S", 12 / 11 / 11, 0.003, "shunt times 11 is the reference"),
        ("sense amp loop", "FB", 2.46, 0.05, "out of reach: 5 V over 10.1 ohm through the shunt, times 50"),
        ("two loops on current", "S", 5.35 * 2.2 / 49.2, 0.01, "the loop that asks for less has the transistor"),
        ("two loops on voltage", "OUT", 2 * 5.35, 0.1, "the loop that asks for less has the transistor"),
        ("723 named", "OUT", 2 * 7.15, 0.02, "1 + 10k/10k times the reference"),
        (
            "723 raw supply",
            "OUT",
            2 * 7.15,
            0.02,
            "1 + 10k/10k times the reference, though its supply has a diode in it",
        ),
        ("tl431 comparator", "K", 1.85, 0.15, "the cathode's least voltage, sheet (from memory): 1.8 to 2 V"),
        ("tlv431 comparator", "K", 0.9, 0.15, "the cathode's least voltage, sheet (from memory): 0.9 V"),
        ("relay driver window", "O", 0.02, 0.02, "no way back: it stands at its lower supply"),
    ],
)
def test_closed_forms(
    tmp_path: Path, published: Any, name: str, node: str, expected: float, within: float, why: str
) -> None:
    published(f"{name}: {node} [V]", volts(of(tmp_path, name))[node], expected, source=why, absolute=within)


@pytest.mark.parametrize(
    ("name", "kind"),
    [
        ("npn series regulator", "amplifier"),
        ("pfet series regulator", "amplifier"),
        ("wrong sign", "comparator"),
        ("schmitt", "comparator"),
        ("hyst by transistor", "comparator"),
        ("unknown transistor", "driver"),
    ],
)
def test_what_the_output_does(tmp_path: Path, name: str, kind: str) -> None:
    """The sign of the whole way decides; a transistor of unknown type leaves it open."""
    kinds = {e.kind for e in of(tmp_path, name).elements if e.ref == "U1"}
    kinds -= {"ic", "unmodelled", "inner", "inner_diode", "load"}
    assert kinds - ({"driver"} if kind == "comparator" else set()) == {kind}


def test_pin_names_and_numbers_of_the_723(tmp_path: Path, published: Any) -> None:
    """14 pins in two rows and ten of a round can: the same regulator."""
    rows = "U1,LM723,{},\nR1,10k,0603,1%\nR2,10k,0603,1%\nR4,500,0603,1%"
    rest = "\nR1 1=OUT 2=INV\nR2 1=INV 2=GND\nR4 1=OUT 2=GND"
    for outline, pins in (
        ("DIP-14", "12=V 11=V 7=GND 6=REF 5=REF 4=INV 10=OUT 2=OUT 3=OUT 13=CP"),
        ("TO-100", "8=V 7=V 5=GND 4=REF 3=REF 2=INV 6=OUT 10=OUT 1=OUT 9=CP"),
    ):
        at = volts(derived(tmp_path, rows.format(outline), f"U1 {pins}{rest}", 24.0))
        published(f"{outline} [V]", at["OUT"], 14.3, source="twice 7.15 V, maker's sheet from memory", absolute=0.05)


def test_a_723_without_feedback_is_a_question(tmp_path: Path) -> None:
    rows = "U1,LM723,DIP-14,\nR4,500,0603,1%"
    circuit = derived(tmp_path, rows, "U1 12=V 11=V 7=GND 6=REF 5=REF 4=GND 10=OUT\nR4 1=OUT 2=GND", 24.0)
    assert not any(e.kind in ("amplifier", "npn") for e in circuit.elements)
    assert any(one.because.slug == "circuit-723-no-feedback" for one in circuit.not_judged)


def test_slopes_of_a_shunt_are_those_of_its_currents(tmp_path: Path) -> None:
    """Invariant: central differences of the residuals."""
    template = compile_circuit(of(tmp_path, "tl431 sink"))
    equations = Equations(template, np.atleast_2d(template.powered("V")))
    rng = np.random.default_rng(3)
    for least in (0.5, 2.0, 6.0):
        x = rng.uniform(0, 0.3, (1, equations.unknowns.size))
        x[0, template.index["E"]], x[0, template.index["B"]] = 2.4951, least
        _, slopes = equations.evaluate(x)
        for n in (template.index["E"], template.index["B"]):
            step = np.zeros_like(x)
            step[0, n] = 1e-6
            above, below = (equations.evaluate(x + way * step, slopes=False)[0] for way in (1, -1))
            assert (above - below)[0] / 2e-6 == pytest.approx(slopes[0, :, n], rel=1e-3, abs=1e-8)


def test_the_board_is_read_once_more_alike(tmp_path: Path) -> None:
    """Invariant: amplifiers are told last, yet elements stand in the order of their designators."""
    of(tmp_path, "opto stage")
    refs = [e.ref for e in derive_circuit(read_board(tmp_path)).elements if e.ref[:1] in "RQU" and e.ref[1:].isdigit()]
    assert refs == sorted(refs, key=lambda ref: (ref[0], int(ref[1:])))


def test_equations_of_no_board_at_all(tmp_path: Path) -> None:
    """A family of which nothing is left asks for none: there is nothing to add up."""
    template = compile_circuit(of(tmp_path, "tl431 sink"))
    equations = Equations(template, np.atleast_2d(template.nominal))
    nobody = np.zeros(0, dtype=np.intp)
    f, j = equations.evaluate(np.zeros((0, equations.unknowns.size)), nobody)
    assert f.shape == (0, equations.unknowns.size)
    assert j.shape == (0, *2 * (equations.unknowns.size,))
