"""The circuit of a board: what is derived, what is asked for, and how close lands are found."""

from dataclasses import replace
from pathlib import Path

import pytest

from reworkkit import tables
from reworkkit.compute.circuit import derive_circuit
from reworkkit.compute.formulas.network import compile_circuit, solve
from reworkkit.errors import ReworkkitError
from reworkkit.model.board import Board
from reworkkit.model.results import Circuit, Element
from reworkkit.read.folder import read_board
from tests.conftest import PROJECT


def board_from(folder: Path, parts: str, netlist: str, facts: str = "") -> Board:
    (folder / "bom.csv").write_text("Designator,Value,Package,Description\n" + parts, encoding="utf-8")
    (folder / "netlist.csv").write_text("Designator,Pin,Net\n" + netlist, encoding="utf-8")
    (folder / "board.toml").write_text(facts, encoding="utf-8")
    return read_board(folder)


def pins(ref: str, *nets: str) -> str:
    return "".join(f"{ref},{n},{net}\n" for n, net in enumerate(nets, start=1))


def only(circuit: Circuit, ref: str, kind: str = "") -> Element:
    found = [e for e in circuit.elements if e.ref == ref and (not kind or e.kind == kind)]
    assert len(found) == 1, found
    return found[0]


@pytest.fixture(scope="module")
def valves() -> Circuit:
    return derive_circuit(read_board(PROJECT / "example_boards" / "greenhouse-valves"))


def test_the_greenhouse_board_is_derived(valves: Circuit) -> None:
    assert valves.ground == "GND"
    assert only(valves, "D1").nodes == ("VIN_F", "+24V")
    assert only(valves, "U2", "regulator").nodes == ("+5V", "+3V3", "GND", "+3V3")
    assert only(valves, "U1", "converter").nodes == ("+24V", "SW", "GND", "+5V")
    assert [e.nodes for e in valves.elements if e.ref == "D4"] == [("GND", "FLOAT_IN"), ("FLOAT_IN", "+3V3")]
    assert only(valves, "D5").nodes == ("GND", "+5V")
    assert only(valves, "LED2").nodes == ("LED2_A", "GND")
    assert only(valves, "C1").nodes == ("+24V", "GND")


def test_places_that_are_not_fitted_have_no_element(valves: Circuit) -> None:
    assert not [e for e in valves.elements if e.ref in ("C19", "R21")]


def test_what_is_not_known_is_asked_for(tmp_path: Path, valves: Circuit) -> None:
    assert '[loads] "+5V" = "25 mA 40 %"' not in [question.answer for question in valves.not_judged]
    facts = '[supplies]\n"+5V" = "5 V, limit 0.5 A"\n'
    made = derive_circuit(board_from(tmp_path, "U1,QX7731,SO-8,controller\n", pins("U1", "+5V", "GND"), facts))
    assert '[loads] "+5V" = "25 mA 40 %"' in [question.answer for question in made.not_judged]


def test_without_a_netlist_the_circuit_is_empty_and_says_so() -> None:
    made = derive_circuit(read_board(PROJECT / "example_boards" / "moisture-probe"))
    assert made.elements == ()
    assert made.not_judged[0].because.slug == "circuit-no-netlist"


def test_an_adjustable_regulator_is_known_by_its_topology(tmp_path: Path, published: pytest.FixtureRequest) -> None:
    parts = "U1,LM317,TO-220,adjustable regulator\nR1,240R,0805,1%\nR2,720R,0805,1%\n"
    nets = pins("U1", "ADJ", "OUT", "+12V") + pins("R1", "OUT", "ADJ") + pins("R2", "ADJ", "GND")
    facts = '[supplies]\n"+12V" = "12 V, limit 0.5 A"\n'
    made = derive_circuit(board_from(tmp_path, parts, nets, facts))
    assert only(made, "U1").nodes == ("+12V", "OUT", "ADJ", "OUT")
    template = compile_circuit(made)
    out = float(solve(template, template.powered("+12V")).at("OUT")[0])
    source = "maker's formula V = 1.25 V (1 + R2/R1) + Iadj R2, Iadj 50 uA"
    published("LM317 with 240 and 720 ohm", out, 1.25 * 4 + 50e-6 * 720, source=source, absolute=2e-3)


def test_a_ground_pin_on_no_net_is_a_reason_to_stop(tmp_path: Path) -> None:
    parts = "U1,7805,TO-220,linear regulator\n"
    nets = "U1,1,+12V\nU1,2,\nU1,3,+5V\nJ1,1,GND\nJ1,2,+12V\n"
    facts = '[supplies]\n"+12V" = "12 V"\n[parts]\nU1 = { pins = { IN = "1", GND = "2", OUT = "3" } }\n'
    made = derive_circuit(board_from(tmp_path, parts + "J1,power,Terminal,screw terminal\n", nets, facts))
    assert [finding.message.slug for finding in made.findings] == ["circuit-regulator-ground-open"]


def test_a_fixed_regulator_takes_its_voltage_from_its_number(tmp_path: Path) -> None:
    """Independent: the number of a 78 and a 1117 names its output, as their makers' ordering tables say."""
    for value, package, order, volts in (
        ("LM1117-3.3", "SOT-223", ("GND", "OUT", "+12V"), 3.3),
        ("7812", "TO-220", ("+24V", "GND", "OUT"), 12.0),
        ("78L05", "TO-92", ("OUT", "GND", "+12V"), 5.0),
        ("MCP1700-3302E", "SOT-23", ("GND", "OUT", "+5V"), 3.3),
    ):
        supply = next(net for net in order if net.startswith("+"))
        facts = f'[supplies]\n"{supply}" = "12 V"\n'
        made = derive_circuit(
            board_from(tmp_path, f"U1,{value},{package},linear regulator\n", pins("U1", *order), facts)
        )
        element = only(made, "U1", "regulator")
        assert element.parameters["volts"].nominal == volts
        assert element.nodes == (supply, "OUT", "GND", "OUT")


def test_makers_figures_of_regulators(published: pytest.FixtureRequest) -> None:
    rows = {row["source"]: row for row in tables.rows("regulators")}
    published(
        "LM1117 dropout at 100 mA",
        float(rows["lm1117"]["dropout_v"]),
        1.10,
        source="maker's sheet, April 2006, typical",
    )
    published("78L05 dropout", float(rows["wings_78l05"]["dropout_v"]), 1.7, source="maker's sheet 78L05")
    published("78L05 bias current", float(rows["wings_78l05"]["quiescent_a"]), 3.8e-3, source="maker's sheet 78L05")
    published("L7805 dropout at most", float(rows["l7805_page"]["dropout_v"]), 2.0, source="distributor's page L7805")
    published("LM2596 quiescent", float(rows["lm2596"]["quiescent_a"]), 5e-3, source="maker's sheet LM2596")


def test_every_row_of_the_electrical_tables_has_a_known_source() -> None:
    for name in ("regulators", "forward_drops", "circuit_defaults", "diode_pinouts", "power_up", "rail_symptoms"):
        for row in tables.rows(name):
            assert tables.source(row["source"], row["place"]).place


def test_forward_drops_are_in_order() -> None:
    for row in tables.rows("forward_drops"):
        assert 0 < float(row["low_v"]) < float(row["nominal_v"]) < float(row["high_v"]) < 4.5


def test_close_lands_are_bridge_candidates(valves: Circuit) -> None:
    assert valves.bridges
    for one, other, where in valves.bridges:
        assert one != other
        assert " to " in where


def test_deriving_is_pure(valves: Circuit) -> None:
    board = read_board(PROJECT / "example_boards" / "greenhouse-valves")
    assert derive_circuit(board) == valves
    assert derive_circuit(replace(board, name="other")) == valves


def test_transistors_relays_and_optocouplers_so_far_as_simple(tmp_path: Path) -> None:
    parts = (
        "Q1,BC847,SOT-23,NPN transistor\nQ2,BC547,TO-92,NPN transistor\n"
        "K1,24V 1440R,Relay 28x13,relay\nK2,24V,Relay 28x13,relay\n"
        "U1,PC817,DIP-4,optocoupler\nD1,1N4148,SOD-123,diode\n"
        'J7,24 V 240R,Terminal 2-way,"terminal, valve, coil 24 V 240 ohm"\nJ8,,Terminal 2-way,terminal for a valve\n'
        "K3,24V,Relay 28x13,relay\n"
    )
    nets = (
        pins("Q1", "B1", "GND", "COIL")
        + pins("Q2", "B1", "GND", "X")
        + pins("K1", "+24V", "COIL", "NO", "COM")
        + pins("K2", "+24V", "X", "NO", "COM")
        + pins("U1", "IN", "GND", "GND2", "OUT")
        + pins("D1", "+24V", "COIL")
        + pins("J7", "+24V", "X")
        + pins("J8", "+24V", "X")
        + pins("K3", "+24V", "X")
    )
    facts = '[supplies]\n"+24V" = "24 V"\n[parts]\nK3 = { volts = "24 V", amps = "20 mA" }\n'
    made = derive_circuit(board_from(tmp_path, parts, nets, facts))
    assert only(made, "J7", "inductor").parameters["resistance"].nominal == 240
    assert {e.kind for e in made.elements if e.ref == "J8"} == {"external"}
    assert only(made, "K3", "inductor").parameters["resistance"].nominal == 24 / 0.02  # Ohm's law
    assert only(made, "Q1", "npn").nodes == ("COIL", "B1", "GND")
    assert only(made, "Q2", "npn").nodes == ("B1", "GND", "X")  # BC547 in TO-92: collector base emitter, maker's sheet
    assert only(made, "K1", "inductor").nodes == ("+24V", "COIL")
    assert only(made, "K1", "inductor").parameters["resistance"].nominal == 1440
    assert only(made, "K1", "unmodelled").nodes == ("NO", "COM")
    coil, contacts = (e for e in made.elements if e.ref == "K2")  # no ohms in the list: never taken for no draw
    assert (coil.kind, coil.nodes) == ("inductor", ("+24V", "X"))
    assert [told.slug for told in coil.assumed] == ["circuit-coil-by-volts"]
    assert (contacts.kind, contacts.nodes) == ("unmodelled", ("NO", "COM"))
    assert only(made, "U1", "led").nodes == ("IN", "GND")
    assert only(made, "U1", "unmodelled").nodes == ("GND2", "OUT")


def test_own_rows_of_regulators_win(tmp_path: Path) -> None:
    (tmp_path / "tables").mkdir()
    own = tmp_path / "tables" / "regulators.csv"
    own.write_text("pattern,form,volts,tolerance_percent,dropout_v\n^LM1117-X,fixed,4.2,1,0.3\n", encoding="utf-8")
    nets = pins("U1", "GND", "OUT", "+12V")
    facts = '[supplies]\n"+12V" = "12 V"\n[parts]\nU1 = { pins = { GND = "1", OUT = "2", IN = "3" } }\n'
    made = derive_circuit(board_from(tmp_path, "U1,LM1117-X,SOT-223,linear regulator\n", nets, facts))
    figures = only(made, "U1", "regulator").parameters
    assert (figures["volts"].low, figures["volts"].nominal) == (pytest.approx(4.158), 4.2)
    assert figures["dropout"].nominal == 0.3
    assert figures["limit"].nominal  # what the row leaves open comes from the usual figures


@pytest.mark.parametrize(
    ("row", "slug"), [("^LM1117-X,fixed,four,1", "table-not-a-number"), ("^(LM,fixed,4,1", "table-bad-pattern")]
)
def test_bad_own_rows_are_refused_in_words(tmp_path: Path, row: str, slug: str) -> None:
    (tmp_path / "tables").mkdir()
    (tmp_path / "tables" / "regulators.csv").write_text(f"pattern,form,volts,tolerance_percent\n{row}\n")
    nets = pins("U1", "GND", "OUT", "+12V")
    facts = '[supplies]\n"+12V" = "12 V"\n[parts]\nU1 = { pins = { GND = "1", OUT = "2", IN = "3" } }\n'
    board = board_from(tmp_path, "U1,LM1117-X,SOT-223,linear regulator\n", nets, facts)
    with pytest.raises(ReworkkitError) as raised:
        derive_circuit(board)
    assert raised.value.message.slug == slug
