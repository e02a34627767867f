"""Relay contacts: which pins they are, how they move with the coil, which faults of them are found."""

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from reworkkit.compute.circuit import derive_circuit
from reworkkit.compute.diagnosis import Stage, diagnose, prepare
from reworkkit.compute.diagnosis.dictionary import Dictionary
from reworkkit.compute.formulas.network import compile_circuit, solve
from reworkkit.compute.formulas.network.equations import Equations
from reworkkit.compute.power_up.forecast import doubtful_nets
from reworkkit.compute.power_up.powered import power
from reworkkit.model.diagnosis import DiagnosisVerdict
from reworkkit.model.results import Circuit
from reworkkit.read.folder import read_board
from tests.compute.small_boards import first_faults, reading, volts_under
from tests.compute.test_circuit_chips import derived, ohms

COIL = 'K1,"{words}",Relay,relay\n'
NAMED = "K1 1:A1=V 2:A2=LOW 3:COM=V 4:NC=REST 5:NO=PULLED\n"
LOADS = "R1 1=REST 2=GND\nR2 1=PULLED 2=GND\n"


def at(folder: Path, rows: str, nets: str, volts: float = 12.0) -> dict[str, float]:
    """Return the voltage of every net of the board as it stands."""
    template = compile_circuit(derived(folder, rows, nets, volts))
    found = solve(template, template.powered("V"))
    assert found.settled[0]
    return {node: float(found.at(node)[0]) for node in template.nodes}


def contacts_of(made: Circuit, ref: str = "K1") -> set[tuple[tuple[str, str], bool]]:
    """Return the ends of each contact and whether it rests closed."""
    found = [e for e in made.elements if e.ref == ref and e.kind == "contact"]
    return {(tuple(sorted(e.nodes)), (e.parameters["threshold"].nominal or 0) < 0) for e in found}  # type: ignore[misc]


@pytest.mark.parametrize(("series", "pulled"), [("1", True), ("100", True), ("15k", False)])
@pytest.mark.parametrize("turned", [False, True])
def test_contacts_move_with_the_coil_whichever_way_it_is_fed(
    tmp_path: Path, published: Any, series: str, pulled: bool, turned: bool
) -> None:
    rows = COIL.format(words="SPDT 12V 400R") + ohms(("R1", "100"), ("R2", "100"), ("R3", series))
    names = ("A2", "A1") if turned else ("A1", "A2")
    nets = NAMED.replace("1:A1", f"1:{names[0]}").replace("2:A2", f"2:{names[1]}") + LOADS + "R3 1=LOW 2=GND"
    seen = at(tmp_path, rows, nets)
    coil = 12 * 400 / (400 + float(series.replace("k", "e3")))
    assert (coil > 0.75 * 12) is pulled
    assert pulled or coil < 0.1 * 12
    published("coil [V]", seen["V"] - seen["LOW"], coil, source="divider", tolerance=0.02)
    on, off = ("PULLED", "REST") if pulled else ("REST", "PULLED")
    published("closed contact [V]", seen[on], 12 * 100 / 100.12, source="divider, 0.07 and 0.05 ohm", tolerance=0.01)
    assert abs(seen[off]) < 1e-3


@pytest.mark.parametrize(
    ("value", "pins", "facts", "want"),
    [
        ("12V 400R", "1:A1=V 2:A2=L 3:11=C 4:12=B 5:14=M", "", {(("B", "C"), True), (("C", "M"), False)}),
        ("12V 400R", "1:A1=V 2:A2=L 3:13=C 4:14=M", "", {(("C", "M"), False)}),
        ("12V 400R", "1:A1=V 2:A2=L 3:21=C 4:22=M", "", {(("C", "M"), True)}),
        (
            "12V 400R",
            "1:A1=V 2:A2=L 3:11=C 4:12=B 5:14=M 6:21=D 7:22=E 8:24=F",
            "",
            {(("B", "C"), True), (("C", "M"), False), (("D", "E"), True), (("D", "F"), False)},
        ),
        (
            "12V 400R",
            "1:COIL1=V 2:COIL2=L 3:COM1=C 4:NO1=M 5:COM2=D 6:NO2=N",
            "",
            {(("C", "M"), False), (("D", "N"), False)},
        ),
        ("12V 400R", "A1=V A2=L C=C NO=M", "", {(("C", "M"), False)}),
        (
            "G6K-2F-Y 12VDC",
            "1=V 8=L 3=C 2=B 4=M 6=D 7=E 5=F",
            "",
            {(("B", "C"), True), (("C", "M"), False), (("D", "E"), True), (("D", "F"), False)},
        ),
        ("G5V-2-H1 12VDC", "1=V 16=L 4=C 6=B 8=M", "", {(("B", "C"), True), (("C", "M"), False)}),
        ("SRD-12VDC-SL-A", "1=C 2=V 5=L 3=M", "", {(("C", "M"), False)}),
        ("12V 400R SPST-NO", "1=C 2=V 5=L 3=M", "", {(("C", "M"), False)}),
        ("SRD-12VDC-SL-C", "1=C 2=V 5=L 3=M 4=B", "", set()),
        ("12V 400R latching", "1:A1=V 2:A2=L 3:COM=C 4:NO=M", "", set()),
        ("12V 400R", "1=V 2=L 3=C 4=M", "", set()),
        ("12V 400R", "1=V 2=L 3=C 4=M", 'A1 = "1", A2 = "2", COM = "3", NO = "4"', {(("C", "M"), False)}),
    ],
)  # fmt: skip
def test_which_pins_are_contacts(tmp_path: Path, value: str, pins: str, facts: str, want: set[Any]) -> None:
    """EN 50005: 1-2 break, 3-4 make, 1-2-4 change over; COM, NO, NC are the trade's names. Else it is asked."""
    rows = f'K1,"{value}",Relay,relay\nD1,1N4148,SOD-123,diode\n'
    made = derived(tmp_path, rows, f"K1 {pins}\nD1 1=V 2=L")
    if facts:
        toml = tmp_path / "board.toml"
        toml.write_text(toml.read_text() + f"[parts]\nK1 = {{ pins = {{ {facts} }} }}\n")
        made = derive_circuit(read_board(tmp_path))
    assert contacts_of(made) == want
    told = [one for one in made.not_judged if "K1" in one.about]
    assert bool(told) is not bool(want)
    assert all(e.assumed for e in made.elements if e.kind == "contact")
    assert want or any(e.kind == "unmodelled" and e.ref == "K1" for e in made.elements)


def test_a_coil_of_unknown_voltage_takes_that_of_its_rail_and_says_so(tmp_path: Path) -> None:
    made = derived(tmp_path, "K1,400R,Relay,relay\n", "K1 1:A1=V 2:A2=L 3:COM=C 4:NO=M", 12.0)
    assert not contacts_of(made) or "circuit-coil-volts-by-rail" in {
        told.slug for e in made.elements if e.kind == "contact" for told in e.assumed
    }


RELAY = """Q1,BC337-25,TO-92,NPN transistor
D1,1N4148,SOD-123,diode
K1,"SPDT 12V 400R",Relay,relay
R1,{base},0603,1%
R2,220,0603,1%
R3,330,0603,1%
"""
DRIVEN = """Q1 1=LOW 2=BASE 3=GND
D1 1:K=V 2:A=LOW
K1 1:A1=V 2:A2=LOW 3:COM=V 4:NC=REST 5:NO=PULLED
R1 1={from_} 2=BASE
R2 1=REST 2=GND
R3 1=PULLED 2=GND
"""


def board_of(folder: Path, on: bool) -> Stage:
    derived(folder, RELAY.format(base="2k2"), DRIVEN.format(from_="V" if on else "GND"), 12.0)
    return Stage(None, "V", 1.0, None)


@pytest.mark.parametrize(
    ("on", "ref", "kind"),
    [
        (True, "K1", "open"),
        (True, "K1", "contact_open"),
        (True, "Q1", "open"),
        (True, "D1", "reversed"),
        (False, "Q1", "shorted"),
        (False, "K1", "welded"),
        (False, "K1", "contact_open"),
    ],
)
def test_faults_around_a_relay_are_found(tmp_path: Path, on: bool, ref: str, kind: str) -> None:
    stage = board_of(tmp_path, on)
    board = read_board(tmp_path)
    circuit = derive_circuit(board)
    made = prepare(board, circuit, stage)
    healthy = volts_under(made)
    assert (healthy["PULLED"] > 11) is on
    assert (healthy["REST"] > 11) is not on
    seen = farthest(made, ref, kind)
    faulty = [reading(net, seen[net]) for net in ("V", "LOW", "BASE", "REST", "PULLED")]
    found = diagnose(board, circuit, faulty, stage)
    assert found.verdict is DiagnosisVerdict.FAULT
    assert (ref, kind) in first_faults(found)
    good = [reading(net, healthy[net]) for net in ("V", "LOW", "BASE", "REST", "PULLED")]
    assert diagnose(board, circuit, good, stage).verdict is DiagnosisVerdict.NO_FAULT_SEEN


def farthest(made: Dictionary, ref: str, kind: str) -> dict[str, float]:
    """Return the volts under a fault at the size that moves the board most: of several contacts one moves nothing."""
    place = next(n for n, h in enumerate(made.catalogue.hypotheses) if (h.fault.ref, h.fault.kind) == (ref, kind))
    rows = np.flatnonzero(made.owner == place)
    row = rows[int(np.argmax(np.abs(made.states[rows] - made.states[0]).max(axis=1)))]
    return {node: float(made.states[row, n]) for n, node in enumerate(made.template.nodes)}


def test_what_faults_do_by_hand(tmp_path: Path) -> None:
    """Invariants by the circuit: an open coil lets the contact rest; a flyback diode turned round shorts the coil."""
    board_of(tmp_path, True)
    board = read_board(tmp_path)
    made = prepare(board, derive_circuit(board), Stage(None, "V", 1.0, None))
    opened = volts_under(made, "K1", "open")
    assert opened["REST"] > 11
    assert opened["PULLED"] < 0.01
    assert opened["LOW"] < 0.5
    turned = volts_under(made, "D1", "reversed")
    assert turned["REST"] > 0.9 * turned["V"]
    assert turned["PULLED"] < 0.01
    assert turned["V"] - turned["LOW"] < 2


def test_a_contact_that_a_microcontroller_may_move_accuses_nobody(tmp_path: Path) -> None:
    rows = RELAY.format(base="2k2") + "U1,ATmega328P,TQFP-32,microcontroller\n"
    nets = DRIVEN.format(from_="PIN") + "U1 1:GND=GND 2:VCC=V 3:PB0=PIN\n"
    circuit = derived(tmp_path, rows, nets, 12.0)
    board, stage = read_board(tmp_path), Stage(None, "V", 1.0, None)
    made = prepare(board, circuit, stage)
    assert {"REST", "PULLED"} <= made.catalogue.unknown
    for rest, pulled in ((12.0, 0.0), (0.0, 12.0)):
        found = diagnose(board, circuit, [reading("REST", rest), reading("PULLED", pulled)], stage)
        assert found.verdict is not DiagnosisVerdict.FAULT, (rest, pulled)


def test_slopes_are_those_of_the_residuals(tmp_path: Path) -> None:
    """Invariant: central differences of the residuals, near the operating point and at the edge of pulling."""
    board_of(tmp_path, True)
    template = compile_circuit(derive_circuit(read_board(tmp_path)))
    row = template.powered("V")
    equations, start = Equations(template, row[None]), solve(template, row).state
    for seed, low in enumerate((None, 12 - 0.7 * 12, 12 + 0.7 * 12)):
        x = start + np.random.default_rng(seed).normal(0, 0.01, start.shape)
        if low is not None:
            x[:, template.index["V"]], x[:, template.index["LOW"]] = 12.0, low + 0.01
        _, slopes = equations.evaluate(x)
        step = 1e-7 * np.eye(x.shape[1])
        seen = [(equations.evaluate(x + d)[0] - equations.evaluate(x - d)[0])[0] / 2e-7 for d in step]
        error = np.abs(np.stack(seen, axis=1) - slopes[0]) / (1 + np.abs(slopes[0]))
        assert error.max() < 1e-5


@pytest.mark.parametrize(("series", "sure"), [("1", True), ("400", False), ("15k", True)])
def test_power_up_forecasts_no_level_behind_a_contact_that_stands_in_between(
    tmp_path: Path, series: str, sure: bool
) -> None:
    """Half the coil's voltage neither pulls in (0.75) nor lets go (0.1): makers' sheets, from memory."""
    rows = COIL.format(words="SPDT 12V 400R") + ohms(("R1", "100"), ("R2", "100"), ("R3", series))
    circuit = derived(tmp_path, rows, NAMED + LOADS + "R3 1=LOW 2=GND", 12.0)
    powered = power(circuit, ("V",), frozenset(read_board(tmp_path).parts), ("PULLED", "REST", "LOW"), 1.0)
    doubtful = doubtful_nets(circuit, powered, (), ("PULLED", "REST", "LOW"))
    assert ("PULLED" in doubtful, "REST" in doubtful) == (not sure, not sure)
    assert "LOW" not in doubtful


def test_power_up_knows_that_a_signal_pin_may_close_a_contact(tmp_path: Path) -> None:
    rows = RELAY.format(base="2k2") + "U1,ATmega328P,TQFP-32,microcontroller\n"
    nets = DRIVEN.format(from_="PIN") + "U1 1:GND=GND 2:VCC=V 3:PB0=PIN\n"
    circuit = derived(tmp_path, rows, nets, 12.0)
    powered = power(circuit, ("V",), frozenset(read_board(tmp_path).parts), ("PULLED", "REST"), 1.0)
    assert powered.driven["PULLED"].high > 11
    assert powered.driven["REST"].high < -11


@pytest.mark.parametrize("through", ["", "R4"])
def test_power_up_knows_that_a_plug_may_close_a_contact(tmp_path: Path, through: str) -> None:
    """A coil that only a plug reaches, straight or through a resistor, may be driven: its contact is no open one."""
    rows = COIL.format(words="SPDT 12V 400R") + ohms(("R1", "100"), ("R2", "100"), ("R4", "10"))
    nets = NAMED + LOADS + ("R4 1=LOW 2=PLUG\nJ2 1=PLUG" if through else "R4 1=V 2=V\nJ2 1=LOW")
    circuit = derived(tmp_path, rows + "\nJ2,plug,Terminal,terminal", nets, 12.0)
    powered = power(circuit, ("V",), frozenset(read_board(tmp_path).parts), ("PULLED", "REST"), 1.0)
    assert powered.volts("PULLED") < 0.1
    assert max(abs(powered.driven["PULLED"].low), abs(powered.driven["PULLED"].high)) > 11
    board, stage = read_board(tmp_path), Stage(None, "V", 1.0, None)
    for rest, pulled in ((12.0, 0.0), (0.0, 12.0)):
        found = diagnose(board, circuit, [reading("REST", rest), reading("PULLED", pulled)], stage)
        assert found.verdict is not DiagnosisVerdict.FAULT, (rest, pulled)


def test_a_relay_that_only_remarks_describe(tmp_path: Path) -> None:
    """The diode tells the coil of four plain pins, the remark its volts and ohms and that the contact makes."""
    rows = "K1,HX-1,,\nD1,1N4148,DO-35,\nC1,10u,0805,\n" + ohms(("R1", "100"))
    nets = "K1 1=V 2=GND 3=V 4=OUT\nD1 K=V A=GND\nR1 1=OUT 2=GND"
    made = derived(tmp_path, rows, nets, 24.0)
    assert not contacts_of(made)
    text = (tmp_path / "bom.csv").read_text().splitlines()
    told = {"Designator": "Remark", "K1": "Relais 24 VDC 900 Ohm, contact travail"}
    (tmp_path / "bom.csv").write_text("\n".join(f'{row},"{told.get(row.split(",")[0], "")}"' for row in text) + "\n")
    again = derive_circuit(read_board(tmp_path))
    assert contacts_of(again) == {(("OUT", "V"), False)}
    coil = next(e for e in again.elements if e.ref == "K1" and e.kind == "inductor")
    assert coil.parameters["resistance"].nominal == 900
