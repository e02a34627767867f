"""First power-up of boards of many kinds: split rails, step-up, charge pump, relays, mains, several regulators, faults.

Expected figures are reckoned by hand from the values of the board; the source stands beside each.
"""

from pathlib import Path

import pytest

from reworkkit.compute.circuit import derive_circuit
from reworkkit.compute.hold_outline import hold_outlines
from reworkkit.compute.hold_state import HoldPlan, hold_states
from reworkkit.compute.power_up import power_up, symptoms_of, with_needs
from reworkkit.compute.power_up.points import where
from reworkkit.model.board import Board
from reworkkit.model.job import PlaceState
from reworkkit.model.measuring import Check, Point, Reading
from reworkkit.model.messages import message
from reworkkit.model.results import HoldPoint
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import (
    AlertLevel,
    BandBasis,
    CheckPurpose,
    JointState,
    Mode,
    Place,
    ReadingForm,
    Severity,
)
from tests.compute.test_circuit import board_from, only, pins

HOLD = '[[hold_points]]\nname = "rails"\n'


def point_of(board: Board, *, without: str = "") -> HoldPoint:
    """Return the first hold point of a board with all its parts fitted but those named."""
    circuit = derive_circuit(board)
    outline = with_needs(hold_outlines(board), board, circuit)[0]
    return power_up(board, circuit, outline, frozenset(board.parts) - set(without.split()))


def check(point: HoldPoint, text: str, mode: Mode) -> Check:
    return next(c for c in (*point.powered, *point.unpowered) if c.point.text == text and c.mode is mode)


def band(point: HoldPoint, text: str, mode: Mode) -> Band:
    expect = check(point, text, mode).expect
    assert isinstance(expect, Band)
    return expect


def slugs(point: HoldPoint) -> set[str]:
    return {finding.message.slug for finding in point.findings}


def reasons(point: HoldPoint) -> set[str]:
    return {one.because.slug for one in point.not_judged}


# split rails


def split_rails(folder: Path, negative: str = "-18 V", facts: str = "") -> Board:
    parts = (
        "U1,L7812CV,TO-220,regulator\nU2,L7912CV,TO-220,regulator\n"
        "D1,1N4004,DO-41,rectifier\nD2,1N4004,DO-41,rectifier\n"
        "R1,1k,0805,resistor 1%\nR2,1k5,0805,resistor 1%\nC1,1000uF 35V,Radial D13,electrolytic\n"
        "C2,470uF 35V,Radial D13,electrolytic\n"
    )
    nets = (
        pins("U1", "VP", "GND", "+12V")
        + pins("U2", "GND", "VN", "-12V")
        + "D1,A,VP_IN\nD1,K,VP\nD2,A,VN\nD2,K,VN_IN\n"
        + pins("R1", "+12V", "GND")
        + pins("R2", "GND", "-12V")
        + pins("C1", "VP", "GND")
        + pins("C2", "GND", "VN")
    )
    said = f'[supplies]\nVP_IN = "18 V, limit 0.2 A"\nVN_IN = "{negative}, limit 0.2 A"\n'
    rails = '[rails]\n"+12V" = "12 V 4 %"\n"-12V" = "-12 V 4 %"\n'
    return board_from(folder, parts, nets, said + rails + facts + HOLD)


def test_split_rails_are_fed_by_both_supplies(tmp_path: Path, published: pytest.FixtureRequest) -> None:
    point = point_of(split_rails(tmp_path))
    assert {"+12V", "-12V"} <= {c.point.text for c in point.powered}
    assert [one.supply for one in point.further] == ["VN_IN"]
    minus = point.further[0]
    assert point.draw_a is not None
    source = "12 V / R by hand and the own current of the regulator's row"
    published("78xx with 1 kohm at 12 V", point.draw_a.nominal, 0.012 + 0.006, source=source, tolerance=0.02)
    published("79xx with 1.5 kohm at 12 V", minus.draw_a.nominal, 0.008 + 0.002, source=source, tolerance=0.02)
    volts = band(point, "-12V", Mode.VOLTS)
    assert volts.low is not None
    assert volts.high is not None
    assert volts.low < -12 < volts.high < 0
    assert not slugs(point)
    # each supply charges its own capacitor: 470 uF, 17.3 V behind the diode, on its limit
    assert minus.charge_s is not None
    assert minus.charge_s.low is not None
    assert minus.limit_a.nominal is not None
    least = 0.8 * 470e-6 * 17.3 / minus.limit_a.nominal
    published("charge of 470 uF to 17.3 V", minus.charge_s.low, least, source="t = C V / I by hand", tolerance=0.03)
    assert {"power-step-connect-minus", "power-step-together"} <= {step.slug for step in point.steps}


def test_a_negative_regulator_drops_out_towards_ground(tmp_path: Path, published: pytest.FixtureRequest) -> None:
    """At 12.5 V behind a diode drop the 7912 has 0.6 V too little: it follows its input less the dropout."""
    board = split_rails(tmp_path, "-12.5 V", '[parts]\nU2 = { dropout = "1.1 V" }\n')
    computed = next(
        f.message.fact("computed") for f in point_of(board).findings if f.message.slug.startswith("power-rail-")
    )
    assert isinstance(computed, Band)
    source = "12.5 V less 0.7 V (1N4004 at 10 mA) less 1.1 V stated"
    published("79xx in dropout", computed.nominal, -10.7, source=source, absolute=0.15)


def test_a_minus_rail_is_probed_at_the_minus_of_its_capacitor(tmp_path: Path) -> None:
    board = split_rails(tmp_path)
    circuit, fitted = derive_circuit(board), frozenset(board.parts)
    assert where(board, circuit, fitted, "VN") == "the minus of C2"
    assert where(board, circuit, fitted, "VP") == "the plus of C1"


def test_two_supplies_of_one_net_are_asked_about(tmp_path: Path) -> None:
    parts = "D1,SS14,SMA,Schottky diode\nD2,SS14,SMA,Schottky diode\nR1,1k,0805,resistor\n"
    nets = "D1,A,USB\nD1,K,V\nD2,A,JACK\nD2,K,V\n" + pins("R1", "V", "GND")
    facts = '[supplies]\nUSB = "5 V"\nJACK = "5 V"\n[rails]\nV = "4.7 V 5 %"\n'
    point = point_of(board_from(tmp_path, parts, nets, facts + HOLD))
    assert "power-no-supply" in reasons(point)
    assert point.limit_a is None


# step-up, charge pump, parts of unknown behaviour


def step_up(folder: Path, value: str) -> Board:
    parts = (
        f"U1,{value},SOT-23-6,boost converter\nL1,10uH,5x5,inductor\nD1,SS34,SMA,Schottky diode\n"
        "R1,140k,0603,resistor 1%\nR2,10k,0603,resistor 1%\nR3,900R,0603,resistor 1%\nC1,22uF 16V,1206,ceramic\n"
    )
    nets = (
        "U1,1,SW\nU1,2,GND\nU1,3,FB\nU1,4,VBAT\nU1,5,VBAT\n"
        + pins("L1", "VBAT", "SW")
        + "D1,A,SW\nD1,K,V9\n"
        + pins("R1", "V9", "FB")
        + pins("R2", "FB", "GND")
        + pins("R3", "V9", "GND")
        + pins("C1", "V9", "GND")
    )
    facts = '[supplies]\nVBAT = "3.7 V, limit 1 A"\n[rails]\nV9 = "9 V 5 %"\n'
    return board_from(folder, parts, nets, facts + HOLD)


def test_a_step_up_converter_of_the_table(tmp_path: Path, published: pytest.FixtureRequest) -> None:
    point = point_of(step_up(tmp_path, "MT3608"))
    usual = dict(point.usual)[check(point, "V9", Mode.VOLTS).id]
    published("V = 0.6 V (1 + 140/10)", usual.nominal, 9.0, source="divider by hand", tolerance=0.002)
    assert point.draw_a is not None
    drawn = 9.0**2 / 900 / 0.87 / 3.7  # 90 mW out, efficiency 0.87
    published("input current", point.draw_a.nominal, drawn, source="P / (efficiency V) by hand", tolerance=0.08)


def test_an_unknown_step_up_converter_is_not_taken_for_a_diode(tmp_path: Path) -> None:
    point = point_of(step_up(tmp_path, "XYZ77"))
    assert "power-rail-disagrees" not in slugs(point), "3.4 V through coil and diode is no forecast"
    assert check(point, "V9", Mode.VOLTS).id not in dict(point.usual)
    volts = band(point, "V9", Mode.VOLTS)
    assert (volts.low or 0) > 8
    assert point.draws_unknown == ("U1",)
    amps = band(point, "supply", Mode.AMPS)
    assert point.limit_a is not None
    assert amps.high is not None
    assert amps.high < (point.limit_a.nominal or 0), "a supply that stands on its limit is never inside"
    assert "U1" in point.outline.needs
    assert any(c.point.text == "U1.2" for c in point.unpowered), "its ground pin is proven all the same"


def test_a_rail_made_by_a_charge_pump_is_measured_and_its_capacitor_covered(tmp_path: Path) -> None:
    parts = (
        "U1,ICL7660,DIP-8,charge pump\nC1,10uF,Radial D5,electrolytic\nC2,10uF,Radial D5,electrolytic\n"
        "R1,1k,0805,resistor\n"
    )
    nets = (
        "U1,8,+5V\nU1,3,GND\nU1,2,CAPP\nU1,4,CAPM\nU1,5,-5V\n"
        + pins("C1", "CAPP", "CAPM")
        + pins("C2", "GND", "-5V")
        + pins("R1", "+5V", "GND")
    )
    facts = '[supplies]\n"+5V" = "5 V, limit 0.1 A"\n[rails]\n"-5V" = "-4.9 V 6 %"\n'
    board = board_from(tmp_path, parts, nets, facts + HOLD)
    point = point_of(board)
    volts = band(point, "-5V", Mode.VOLTS)
    assert (volts.low or 0) < -4.9 < (volts.high or 0) < 0
    assert not slugs(point), "what makes -5 V is not in the figures: 0 V is no forecast"
    assert any("C2" in str(told) for level, told in point.cautions if level is AlertLevel.WARNING)
    assert "C2" in point.outline.needs


def test_the_next_rails_are_measured_behind_an_unknown_regulator(tmp_path: Path) -> None:
    parts = "U1,XYZ99,SOIC-8,buck regulator\nU2,AMS1117-3.3,SOT-223,LDO\nR1,1k,0805,resistor\n"
    nets = "U1,2,+12V\nU1,3,+5V\nU1,4,GND\n" + pins("U2", "GND", "+3V3", "+5V") + pins("R1", "+3V3", "GND")
    facts = '[supplies]\n"+12V" = "12 V"\n[rails]\n"+5V" = "5 V 4 %"\n"+3V3" = "3.3 V 3 %"\n'
    point = point_of(board_from(tmp_path, parts, nets, facts + HOLD))
    assert {"+5V", "+3V3"} <= {c.point.text for c in point.powered}
    assert point.draws_unknown == ("U1",)


# relays


def relay_board(folder: Path) -> Board:
    parts = (
        "K1,12V 400 ohm,Relay 28x13,relay\nU1,ULN2003A,DIP-16,driver\nJ1,contacts,5.08,terminal\nR1,1k,0805,resistor\n"
    )
    nets = (
        pins("K1", "+12V", "COIL", "COM", "NO")
        + "U1,8,GND\nU1,9,+12V\nU1,16,COIL\nU1,1,IN\n"
        + pins("J1", "COM", "NO")
        + pins("R1", "+12V", "GND")
    )
    facts = '[supplies]\n"+12V" = "12 V, limit 0.2 A"\n' + HOLD + 'measure = ["COIL"]\n'
    return board_from(folder, parts, nets, facts)


def test_a_coil_that_a_chip_switches_is_found_and_its_current_counted(
    tmp_path: Path, published: pytest.FixtureRequest
) -> None:
    board = relay_board(tmp_path)
    assert only(derive_circuit(board), "K1", "inductor").nodes == ("+12V", "COIL")
    point = point_of(board)
    assert point.draw_a is not None
    # supply 1 % up, coil 12 % and resistor 5 % down, 0.8 V left across the Darlington (sheet), 10 kohm at its input
    worst = (12.12 - 0.8) / 352 + 12.12 / 950 + (12.12 - 1.4) / 12.7e3
    published("coil pulled in", point.draw_a.high, worst, source="V / R by hand", tolerance=0.03)
    ohms = band(point, "COIL", Mode.OHMS)
    assert (ohms.low or 0) < 400 + 1000, "the coil leads to the rail, the rail through 1 kohm to ground"


# mains and two sides


def mains(folder: Path, net: str = "AC_L", volts: str = "230 V", more: str = "") -> Board:
    parts = (
        "F1,1A,5x20,fuse\nPS1,5 V 0.6 A,module,AC/DC module 230 V to 5 V isolated\n"
        "U1,AMS1117-3.3,SOT-223,LDO\nR1,1k,0805,resistor\n"
    )
    nets = (
        pins("F1", net, "LF")
        + pins("PS1", "LF", "NEUTRAL", "GND", "+5V")
        + pins("U1", "GND", "+3V3", "+5V")
        + pins("R1", "+3V3", "GND")
    )
    facts = f'[supplies]\n{net} = "{volts}, limit 1 A"\n[rails]\n"+5V" = "5 V 4 %"\n"+3V3" = "3.3 V 3 %"\n'
    hold = HOLD + f'supply = "{net}"\nneeds = ["PS1"]\nmeasure = ["+5V", "+3V3"]\n'
    return board_from(folder, parts, nets, facts + more + hold)


@pytest.mark.parametrize("net", ["AC_L", "L", "MAINS_L", "LINE"])
def test_mains_never_comes_from_a_bench_supply(tmp_path: Path, net: str) -> None:
    point = point_of(mains(tmp_path, net))
    assert "power-alternating" in reasons(point)
    assert point.limit_a is None
    assert point.draw_a is None
    steps = [step.slug for step in point.steps]
    assert "power-step-mains" in steps
    assert not {"power-step-connect", "power-step-set", "power-step-measure"} & set(steps)
    assert any(told.slug == "power-warn-voltage" for _, told in point.cautions)
    assert {c.point.text for c in point.powered} == {"+5V", "+3V3"}
    assert "power-rail-disagrees" not in slugs(point)


def test_a_range_on_both_sides_of_zero_is_alternating_and_a_low_l_is_not(tmp_path: Path) -> None:
    point = point_of(mains(tmp_path, "TR1", "24 V", '[nets]\nTR1 = "-34 V to 34 V"\n'))
    assert "power-alternating" in reasons(point)
    point = point_of(mains(tmp_path, "L", "5 V"))
    assert "power-alternating" not in reasons(point)
    assert "power-no-return" in reasons(point), "the module keeps the two sides apart: minus does not go to GND"
    assert not any(c.point.text == "supply" for c in point.powered)


# regulators that kill


def regulator_board(folder: Path, u1: str, value: str = "AMS1117-3.3", made: str = "3.3 V 3 %") -> Board:
    parts = f"U1,{value},SOT-223,LDO\nR1,1k,0805,resistor\nC1,10uF,0805,ceramic\nR2,1k,0805,resistor\n"
    nets = u1 + pins("R1", "+3V3", "GND") + pins("C1", "+5V", "GND") + pins("R2", "+5V", "GND")
    facts = f'[supplies]\n"+5V" = "5 V, limit 0.2 A"\n[rails]\n"+3V3" = "{made}"\n'
    return board_from(folder, parts, nets, facts + HOLD)


@pytest.mark.parametrize(
    ("u1", "slug"),
    [
        (pins("U1", "GND", "+5V", "+3V3"), "circuit-regulator-backwards"),
        (pins("U1", "LOST", "+3V3", "+5V"), "circuit-regulator-ground-open"),
        ("U1,2,+3V3\nU1,3,+5V\n", "circuit-regulator-no-ground"),
    ],
)
def test_a_regulator_that_would_put_the_input_on_the_rail_stops_the_stage(tmp_path: Path, u1: str, slug: str) -> None:
    point = point_of(regulator_board(tmp_path, u1))
    stop = next(finding for finding in point.findings if finding.message.slug == slug)
    assert stop.severity is Severity.STOP
    ready = PlaceState("U1", place=Place.FITTED, joint=JointState.SOLDERED)
    plan = HoldPlan("rails", (), False, (), (), point.fitted, (stop.message,))
    state = hold_states([plan], (), {"U1": ready}, {}, point.fitted)[0]
    assert state.state == "closed"
    assert stop.message in state.why
    later = point_of(regulator_board(tmp_path, u1), without="U1")
    assert slug not in slugs(later), "it is not on the board then"


def test_a_right_regulator_stops_nothing_and_a_wrong_version_is_told_as_that(tmp_path: Path) -> None:
    right = pins("U1", "GND", "+3V3", "+5V")
    assert not slugs(point_of(regulator_board(tmp_path, right)))
    assert slugs(point_of(regulator_board(tmp_path, right, "AMS1117-5.0"))) == {"power-rail-disagrees"}
    adjustable = pins("U1", "ADJ", "+3V3", "+5V") + pins("R3", "ADJ", "GND")
    assert "circuit-regulator-no-ground" not in slugs(point_of(regulator_board(tmp_path, adjustable, "LM317")))


def test_no_limit_above_the_usual_one_rests_on_a_circuit_that_contradicts_its_rails(tmp_path: Path) -> None:
    parts = "R1,2R,2512,resistor\nC1,10uF,0805,ceramic\n"
    nets = pins("R1", "+5V", "GND") + pins("C1", "+5V", "GND") + pins("L1", "VIN", "+5V")
    facts = '[supplies]\nVIN = "5 V"\n[rails]\n"+5V" = "1 V 3 %"\n'
    point = point_of(board_from(tmp_path, parts + "L1,10uH,0805,inductor\n", nets, facts + HOLD))
    assert "power-rail-disagrees" in slugs(point)
    assert point.limit_a is not None
    assert point.limit_a.nominal == 0.2  # common practice, no source


@pytest.mark.parametrize(
    ("value", "outline", "nets", "volts"),
    [
        ("LP2985-5.0", "SOT-23-5", ("VIN", "GND", "VIN", "BYP", "OUT"), 5.0),
        ("AP2112K-3.3", "SOT-23-5", ("VIN", "GND", "VIN", "NC", "OUT"), 3.3),
        ("TLV70233", "SOT-23-5", ("VIN", "GND", "VIN", "NC", "OUT"), 3.3),
        ("LF33CV", "TO-220", ("VIN", "GND", "OUT"), 3.3),
        ("L7912CV", "TO-220", ("GND", "VIN", "OUT"), -12.0),
        ("LM79L05", "TO-92", ("GND", "VIN", "OUT"), -5.0),
    ],
)
def test_regulators_by_their_number(
    tmp_path: Path, published: pytest.FixtureRequest, value: str, outline: str, nets: tuple[str, ...], volts: float
) -> None:
    parts = f"U1,{value},{outline},linear regulator\n"
    made = derive_circuit(board_from(tmp_path, parts, pins("U1", *nets), '[board]\nground = ["GND"]\n'))
    (element,) = (e for e in made.elements if e.ref == "U1" and e.kind == "regulator")
    assert element.nodes == ("VIN", "OUT", "GND", "OUT")
    published(f"{value} makes", element.parameters["volts"].nominal, volts, source="its type number, maker's code")


# ohms and symptoms


def test_ohms_leave_room_for_what_may_conduct_and_say_what_most_boards_show(tmp_path: Path) -> None:
    """A fixed step-down regulator has its divider inside: some kilohm to ground that no list tells (maker's sheet)."""
    parts = "U1,LM2596S-5.0,TO-263-5,buck regulator\nR1,10k,0805,resistor 1%\nL1,33uH,12x12,inductor\n"
    nets = "U1,1,+24V\nU1,2,SW\nU1,3,GND\nU1,4,+5V\nU1,5,GND\n" + pins("R1", "+5V", "GND") + pins("L1", "SW", "+5V")
    facts = '[supplies]\n"+24V" = "24 V"\n[rails]\n"+5V" = "5 V 4 %"\n'
    point = point_of(board_from(tmp_path, parts, nets, facts + HOLD))
    ohms = band(point, "+5V", Mode.OHMS)
    inside = 1 / (1 / 4100 + 1 / 10000)  # 1 kohm and 3.1 kohm of its block diagram, beside 10 kohm
    assert (ohms.low or 0) < inside < (ohms.high or 1e12)
    usual = dict(point.usual)[check(point, "+5V", Mode.OHMS).id]
    assert (usual.low or 0) > 9000


def test_a_pin_that_reads_open_and_a_net_that_is_still_charged_are_answered(tmp_path: Path) -> None:
    point = point_of(regulator_board(tmp_path, pins("U1", "GND", "+3V3", "+5V")))
    pin = check(point, "U1.1", Mode.OHMS)
    over = Reading("U1.1", Mode.OHMS, ReadingForm.OVER_RANGE, None, "ohm", False, None, "OL")
    assert [one.key for one in symptoms_of(pin, over)] == ["open_to_ground"]
    at_rest = next(c for c in point.unpowered if c.mode is Mode.VOLTS)
    charged = Reading(at_rest.point.text, Mode.VOLTS, ReadingForm.VALUE, 3.1, "V", False, None, "3.1 V")
    assert [one.key for one in symptoms_of(at_rest, charged)] == ["still_charged"]


def test_where_nobody_knows_the_supply_the_rails_are_measured_all_the_same(tmp_path: Path) -> None:
    parts = "D1,SS14,SMA,Schottky diode\nD2,SS14,SMA,Schottky diode\nR1,1k,0805,resistor\n"
    nets = "D1,A,USB\nD1,K,V\nD2,A,JACK\nD2,K,V\n" + pins("R1", "V", "GND")
    facts = '[supplies]\nUSB = "5 V"\nJACK = "5 V"\n[rails]\nV = "4.7 V 5 %"\n'
    point = point_of(board_from(tmp_path, parts, nets, facts + HOLD))
    assert [c.point.text for c in point.powered] == ["V"]


def test_a_stage_without_a_reading_under_power_never_opens_by_itself() -> None:
    expect, why = Band(None, 0.0, 1.3, "ohm", BandBasis.TABLE), message("power-why-ground-pin", ref="U1", pin="U1.2")
    pin = Point("U1.2", "U1.2")
    ohms = Check("off", CheckPurpose.HOLD_POINT, pin, Mode.OHMS, None, expect, None, (), "", why, 1.0)
    read = Reading("U1.2", Mode.OHMS, ReadingForm.VALUE, 0.2, "ohm", False, None, "0.2 ohm", 1)
    state = hold_states([HoldPlan("rails", (), False, (), (ohms,), frozenset())], (read,), {}, {}, frozenset())[0]
    assert state.state == "not_judged"


def test_a_transistor_with_known_junctions_draws_what_the_circuit_says(
    tmp_path: Path, published: pytest.FixtureRequest
) -> None:
    """A Zener diode and a transistor as a regulator: VZ less one junction at the output."""
    parts = (
        "Q1,BC847,SOT-23,NPN transistor\nR1,1k,0805,resistor 1%\nR2,100R,0805,resistor 1%\n"
        "D1,5.6 V,SOD-123,zener diode BZT52C5V6\n"
    )
    nets = pins("Q1", "VB", "OUT", "VIN") + pins("R1", "VIN", "VB") + pins("R2", "OUT", "GND") + "D1,A,GND\nD1,K,VB\n"
    facts = '[supplies]\nVIN = "12 V"\n' + HOLD + 'measure = ["OUT"]\n'
    point = point_of(board_from(tmp_path, parts, nets, facts))
    assert point.draws_unknown == ()
    volts = dict(point.usual)[check(point, "OUT", Mode.VOLTS).id]
    published("emitter follower", volts.nominal, 5.6 - 0.7, source="VZ less 0.7 V, by hand", absolute=0.15)
