"""First power-up: charging times, limits, bands that hold what good boards read, and no dangerous board let through."""

import random
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pytest

from reworkkit.compute.circuit import derive_circuit
from reworkkit.compute.formulas.network import Template, compile_circuit, solve
from reworkkit.compute.formulas.tolerance import Share, reached
from reworkkit.compute.power_up import all_symptoms, fitted_at, power_up, symptoms_of, with_needs
from reworkkit.compute.power_up.fitted import digest
from reworkkit.compute.power_up.powered import SUPPLY, power
from reworkkit.model.judging import judge
from reworkkit.model.measuring import Check, Reading
from reworkkit.model.results import HoldOutline, HoldPoint
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import AlertLevel, BandBasis, Mode, ReadingForm, ReadingVerdict
from reworkkit.read.folder import read_board
from tests.compute.test_circuit import board_from, pins
from tests.conftest import PROJECT

VALVES = PROJECT / "example_boards" / "greenhouse-valves"
BOARD = read_board(VALVES)
CIRCUIT = derive_circuit(BOARD)
ALL = frozenset(
    ref for ref, part in BOARD.parts.items() if ref not in ("U4", "U5", "J1", "W1", "Q1", "Q2", "Q3", "Q4", "Q5")
)


def outline(name: str = "logic rails", **more: object) -> HoldOutline:
    figures = {"measure": ("+24V", "+5V", "+3V3", "+5VA"), "supply": "VIN_RAW", "feed": "J1.1", "limit": None}
    figures |= {"needs": ("U1", "U2", "C1"), "protects": ("U4",), "confirm": False, **more}
    return HoldOutline(name=name, **figures)  # type: ignore[arg-type]


POINT = power_up(BOARD, CIRCUIT, outline(), ALL)


def check(point: HoldPoint, text: str, mode: Mode) -> Check:
    return next(c for c in (*point.powered, *point.unpowered) if c.point.text == text and c.mode is mode)


def read(of: Check, value: float) -> Reading:
    unit = {Mode.VOLTS: "V", Mode.AMPS: "A", Mode.OHMS: "ohm"}[of.mode]
    return Reading(of.point.text, of.mode, ReadingForm.VALUE, value, unit, False, of.hold_point, f"{value:g}")


def test_the_limit_leaves_a_margin_and_the_draw_is_inside() -> None:
    assert POINT.limit_a is not None
    assert POINT.draw_a is not None
    assert POINT.limit_a.nominal is not None
    assert POINT.draw_a.high is not None
    assert 1.2 * POINT.draw_a.high <= POINT.limit_a.nominal <= 5 * POINT.draw_a.high
    assert POINT.limit_a.nominal <= 0.2  # common practice, no source: a small controller's first power-up


def test_ground_pins_come_before_the_rails_and_volts_before_ohms() -> None:
    modes = [c.mode for c in POINT.unpowered]
    assert modes == sorted(modes, key=lambda mode: mode is Mode.OHMS)
    texts = [c.point.text for c in POINT.unpowered if c.mode is Mode.OHMS]
    assert texts[:2] == ["U1.3", "U2.1"]


def test_a_nominal_supply_reading_is_inside() -> None:
    """Common practice, no source: a nominal 12 V input read as 11.98 V is fine."""
    volts = check(POINT, "+24V", Mode.VOLTS)
    assert judge(volts, read(volts, 23.5 * 11.98 / 12)).verdict is ReadingVerdict.INSIDE


def test_every_rail_is_measured_even_where_another_implies_it() -> None:
    """Common practice, no source: a right 3.3 V made from 5 V implies the 5 V; it is measured all the same."""
    assert {c.point.text for c in POINT.powered} == {"supply", "+24V", "+5V", "+3V3", "+5VA"}


def test_rails_are_found_at_their_tantalum_capacitor(tmp_path: Path) -> None:
    """Common practice, no source: rails are conveniently measured at their tantalum capacitors."""
    parts = "U1,7805,TO-220,linear regulator\nC1,10uF 16V,3528-21,tantalum\nC2,100uF 25V,Radial D8,electrolytic\n"
    nets = pins("U1", "+12V", "GND", "+5V") + pins("C1", "+5V", "GND") + pins("C2", "+12V", "GND")
    board = board_from(tmp_path, parts, nets, '[supplies]\n"+12V" = "12 V"\n[rails]\n"+5V" = "5 V 4 %"\n')
    circuit = derive_circuit(board)
    point = power_up(board, circuit, outline(measure=(), supply=None, feed=None), frozenset(board.parts))
    assert ("where", "the plus of C1") in check(point, "+5V", Mode.VOLTS).why.facts
    assert any(level is AlertLevel.WARNING and "C1 C2" in str(told) for level, told in point.cautions)
    derived = with_needs((outline(needs=(), protects=()),), board, circuit)
    assert derived[0].needs == ()  # the supply it names is not there
    derived = with_needs((outline(needs=(), protects=(), supply=None),), board, circuit)
    assert derived[0].needs == ("C1", "C2", "U1")


@pytest.mark.parametrize(
    ("farad", "volts", "limit", "seconds"),
    [("4700uF", "12", "0.1", 0.564), ("10000uF", "48", "0.5", 0.96), ("680uF", "325", "0.05", 4.42)],
)
def test_charging_times(
    tmp_path: Path, published: pytest.FixtureRequest, farad: str, volts: str, limit: str, seconds: float
) -> None:
    parts = f"C1,{farad} 400V,Radial D18,electrolytic\nR1,1M,0805,resistor 1%\n"
    facts = f'[supplies]\nBUS = "{volts} V"\n[nets]\nBUS = "0 V to {volts} V"\n'
    board = board_from(tmp_path, parts, pins("C1", "BUS", "GND") + pins("R1", "BUS", "GND"), facts)
    stated = Band(None, float(limit), float(limit), "A", BandBasis.STATED)
    point = power_up(
        board, derive_circuit(board), outline(supply="BUS", measure=(), limit=stated), frozenset({"C1", "R1"})
    )
    assert point.charge_s is not None
    assert point.charge_s.nominal is not None
    # the leakage and the resistor take a little of the limit: the computed time is a little longer, never shorter
    published(
        f"{farad} to {volts} V at {limit} A",
        point.charge_s.nominal,
        seconds,
        source="t = C V / I by hand",
        tolerance=0.06,
    )
    assert point.charge_s.low is not None
    assert point.charge_s.high is not None
    assert point.charge_s.low < seconds < point.charge_s.high
    slopes = [told for told in point.stop if told.slug == "power-stop-slope"]
    assert bool(slopes) == (point.charge_s.high >= 2)  # a shorter charge cannot be followed by eye


def test_a_limit_that_blocks_a_converter_is_said() -> None:
    stated = Band(None, 0.03, 0.03, "A", BandBasis.STATED)
    point = power_up(BOARD, CIRCUIT, outline(limit=stated), ALL)
    assert "power-limit-blocks-start" in {finding.message.slug for finding in point.findings}


def test_bands_carry_the_set_they_were_computed_for() -> None:
    fewer = power_up(BOARD, CIRCUIT, outline(), ALL - {"U3"})
    assert fewer.fitted_digest != POINT.fitted_digest == digest(ALL)
    assert fewer.draw_a is not None
    assert POINT.draw_a is not None
    assert (fewer.draw_a.nominal or 0) < (POINT.draw_a.nominal or 0)


def test_a_part_of_unknown_behaviour_is_never_taken_for_no_load() -> None:
    clamp = read_board(PROJECT / "example_boards" / "magnet-clamp")
    bus = next(h for h in clamp.facts.hold_points if h.name == "bus at 120 V")
    made = HoldOutline(
        bus.name, bus.supply, bus.feed, Band(None, 0.3, 0.3, "A", BandBasis.STATED), bus.needs, (), bus.measure, True
    )
    point = power_up(clamp, derive_circuit(clamp), made, frozenset(clamp.parts))
    assert "power-loose" in {question.because.slug for question in point.not_judged}
    assert point.charge_s is not None
    assert point.charge_s.high is not None
    assert point.charge_s.high > 2e-3 * 120 / 0.3  # the bus behind the relays counts: C V / I
    assert "power-warn-voltage" in {told.slug for _, told in point.cautions}


@pytest.mark.parametrize(
    ("text", "mode", "value", "key"),
    [
        ("+3V3", Mode.VOLTS, 5.0, "rail_is_input"),
        ("+3V3", Mode.VOLTS, 0.0, "rail_low"),
        ("supply", Mode.AMPS, 0.0, "nothing_drawn"),
        ("+5V", Mode.OHMS, 4.0, "short_to_ground"),
        ("+5V", Mode.VOLTS, 1.23, "rail_at_reference"),
    ],
)
def test_typical_readings_are_answered(text: str, mode: Mode, value: float, key: str) -> None:
    of = check(POINT, text, mode)
    assert key in {symptom.key for symptom in symptoms_of(of, read(of, value))}


def test_the_ground_pin_is_the_first_suspect_of_a_rail_at_its_input() -> None:
    rail = next(symptom for symptom in all_symptoms() if symptom.key == "rail_is_input")
    assert rail.likely[0].startswith("open ground or adjust pin")


class Drawn(NamedTuple):
    """Boards drawn inside their tolerances, and how they differ."""

    template: Template
    rows: np.ndarray


def drawn(count: int, seed: int) -> Drawn:
    """Return healthy boards: every figure with a tolerance anywhere inside it (independent of how bands are made)."""
    bridges = [("+24V", "+5V"), ("+5V", "+3V3"), ("+24V", "+3V3"), ("SW", "+24V")]
    template = compile_circuit(CIRCUIT, bridges)
    dice = np.random.default_rng(seed)
    base = template.with_fitted(template.powered("VIN_RAW"), ALL)
    base[template.columns("VIN_RAW", "limit")] = POINT.limit_a.nominal if POINT.limit_a else 0.1
    rows = np.repeat(base[None], count, axis=0)
    for n, p in enumerate(template.parameters):
        if p.low < p.high and p.name not in ("unpowered", "leakage", "limit", "capacitance"):
            rows[:, n] = dice.uniform(p.low, p.high, count)
    return Drawn(template, rows)


def passes(solution: object, row: int, dice: random.Random) -> bool:
    """Return whether every powered check of the hold point is inside, read by a meter anywhere in its accuracy."""
    for of in POINT.powered:
        if of.mode is Mode.AMPS:
            true = float(solution.current("VIN_RAW")[row])  # type: ignore[attr-defined]
            off = abs(true) * 0.01 + 0.01
        else:
            true = float(solution.at(of.point.a)[row])  # type: ignore[attr-defined]
            off = abs(true) * 0.005 + 0.01
        if judge(of, read(of, true + dice.uniform(-off, off))).verdict is not ReadingVerdict.INSIDE:
            return False
    return True


RATED_V = {"+3V3": 3.6, "+5V": 5.5, "+5VA": 5.5}
"""Above these a 3.3 V and a 5 V part is outside its usual absolute rating (from memory)."""


def dangerous_passes(count: int) -> tuple[int, int]:
    """Inject faults; return how many boards had a rated limit exceeded, and how many of those the gate let through."""
    template, rows = drawn(count, 11)
    dice = random.Random(12)
    for row in rows:
        _injure(template, row, dice)
    solution = solve(template, rows)
    danger = np.zeros(count, dtype=bool)
    for net, most in RATED_V.items():
        danger |= solution.at(net) > most
    danger &= solution.settled
    return int(danger.sum()), sum(passes(solution, n, dice) for n in np.flatnonzero(danger))


def _injure(template: Template, row: np.ndarray, dice: random.Random) -> None:
    kind = dice.randrange(6)
    if kind == 0:
        row[template.columns(dice.choice(["U1", "U2"]), "pin_common")] = 0.0
    elif kind == 1:
        row[template.columns("U2", "volts")] = dice.choice([5.0, 4.0, 3.8])
    elif kind == 2:
        row[template.columns("U1", "volts")] = dice.choice([12.0, 6.5, 5.8])
    elif kind == 3:
        pair = dice.choice([("+24V", "+5V"), ("+5V", "+3V3"), ("+24V", "+3V3"), ("SW", "+24V")])
        row[template.bridge(*pair)] = 1 / 10 ** dice.uniform(-2, 2)
    elif kind == 4:
        row[template.columns(dice.choice(["D1", "D5", "D3"]), "turned")] = 1.0
    else:
        row[template.columns("U1", "pin_common")] = 0.0
        row[template.columns("D5", "fitted")] = 0.0


def test_no_dangerous_board_is_let_through() -> None:
    dangerous, passed = dangerous_passes(120)
    assert dangerous > 30
    assert passed == 0


@pytest.mark.proof
def test_no_dangerous_board_of_thousands_is_let_through() -> None:
    dangerous, passed = dangerous_passes(2500)
    assert dangerous >= 1000
    assert passed == 0


def healthy_share(count: int) -> float:
    template, rows = drawn(count, 5)
    solution = solve(template, rows)
    dice = random.Random(6)
    return sum(passes(solution, n, dice) for n in range(count)) / count


def test_healthy_boards_pass() -> None:
    assert healthy_share(200) >= 0.99


@pytest.mark.proof
def test_healthy_boards_pass_in_thousands() -> None:
    assert healthy_share(5000) >= 0.99


def band_quality(count: int) -> dict[str, tuple[float, float]]:
    """Return, per output, the share of draws inside its computed band and the band's width over the draws' range."""
    nets = ("+24V", "+5V", "+3V3", "+5VA")
    powered = power(CIRCUIT, ("VIN_RAW",), ALL, nets, 100.0)
    template, rows = drawn(count, 3)
    solution = solve(template, rows)
    found = {}
    for name in (*nets, SUPPLY):
        values = solution.current("VIN_RAW") if name == SUPPLY else solution.at(name)
        spread = powered.spreads[name]
        low, high = (
            (spread.reached_low, spread.reached_high) if name == SUPPLY else (spread.low, spread.high)
        )  # the ends a reading is judged by
        inside = float(np.mean((values >= low - 1e-9) & (values <= high + 1e-9)))
        found[name] = inside, (high - low) / float(np.ptp(values))
    return found


def test_all_but_one_board_in_many_lie_closer_together(published: pytest.FixtureRequest) -> None:
    """Sum of two even chances between -1 and 1: beyond 2 - e with chance e^2 / 8 (closed form of the triangle)."""
    even = [Share(-1.0, 1.0), Share(1.0, -1.0)]
    for one_in, end in ((200, 1.8), (800, 1.9), (100_000, 2 - (8e-5) ** 0.5)):
        low, high = reached(even, one_in)
        published(f"two even shares, one in {one_in}", high, end, source="closed form 2 - sqrt(8 p)", absolute=0.003)
        assert low == pytest.approx(-high, abs=0.003)
    one = reached([Share(-1.0, 3.0, 0.25)], 100.0)
    assert one == pytest.approx((-0.96, 2.96), abs=0.01)  # even chance from -1 to 3: a hundredth of 4 from either end
    assert reached([], 10.0) == (0.0, 0.0)
    assert reached([Share(0.0, 0.0)], 10.0) == (0.0, 0.0)


def test_a_reading_of_the_current_is_judged_closer_than_the_limit_is_set() -> None:
    amps = check(POINT, "supply", Mode.AMPS)
    assert isinstance(amps.expect, Band)
    assert POINT.draw_a is not None
    assert (amps.expect.high or 0) - 0.01 < (POINT.draw_a.high or 0) + 0.0005


def test_bands_hold_what_good_boards_read() -> None:
    for name, (inside, width) in band_quality(400).items():
        assert inside >= 0.99, name
        assert width <= 1.6, name  # 400 draws do not reach the corners; the proof holds it against 10,000


@pytest.mark.proof
def test_bands_are_not_much_wider_than_ten_thousand_draws() -> None:
    for name, (inside, width) in band_quality(10_000).items():
        assert inside >= 0.99, name
        assert width <= 1.3, name


def test_parts_that_the_plan_fits_before_a_hold_point_are_there() -> None:
    from reworkkit.compute.situation import situation_of_files
    from reworkkit.pipeline.work import Work

    situation = situation_of_files(BOARD, 1)
    work = Work(BOARD, situation)
    fitted = fitted_at(BOARD, situation, work.plan, "logic rails")
    assert {"C7", "U2", "D5"} <= fitted
    assert "Q1" not in fitted
    assert not {"C19"} & fitted


def test_bring_up_figures_of_published_kits(tmp_path: Path, published: pytest.FixtureRequest) -> None:
    """Two public building notes: what their authors read or ask for, inside the bands computed from the parts alone.

    wb5rvz.org, Ensemble RX II, power supply stage: parts 1N4003, 68 ohm, LM78L05, 4.7 uF twice as its list names them;
    the readings from memory of the same page (12.19 V in, 11.6 V behind the diode, 5.1 V, 2.2 mA).
    qsl.net/kf4trd/power.htm: 1N4001 and 78L08; 8 V between 7.7 and 8.3 V, the cathode about 0.7 V below the supply.
    """
    parts = "D3,1N4003,DO-41,diode\nR14,68R,0207,resistor 5%\nU7,LM78L05,TO-92,linear regulator\nC4,4.7uF 16V,1206,\n"
    nets = (
        pins("D3", "VD", "+12V") + pins("R14", "VD", "VIN") + pins("U7", "+5V", "GND", "VIN") + pins("C4", "+5V", "GND")
    )
    facts = '[supplies]\n"+12V" = { volts = "12.19 V", tolerance = "0.1 %" }\n'
    board = board_from(tmp_path, parts, nets, facts)
    made = outline(supply="+12V", measure=("VD", "+5V"), feed=None)
    point = power_up(board, derive_circuit(board), made, frozenset(board.parts))
    source = "wb5rvz.org Ensemble RX II, power supply stage; readings from memory of that page"
    for text, mode, value in (("VD", Mode.VOLTS, 11.6), ("+5V", Mode.VOLTS, 5.1), ("supply", Mode.AMPS, 2.2e-3)):
        of = check(point, text, mode)
        assert judge(of, read(of, value)).verdict is ReadingVerdict.INSIDE, (text, of.expect)
    volts = check(point, "VD", Mode.VOLTS).expect
    assert isinstance(volts, Band)
    published("behind a 1N4003 at 12.19 V and a few mA", volts.nominal, 11.6, source=source, absolute=0.1)


def test_the_regulator_of_another_kit(tmp_path: Path, published: pytest.FixtureRequest) -> None:
    """qsl.net/kf4trd/power.htm: 1N4001 and 78L08; 8 V between 7.7 and 8.3 V, cathode about 0.7 V below the supply."""
    parts = "D13,1N4001,DO-41,diode\nU2,78L08,TO-92,linear regulator\n"
    nets = pins("D13", "VPS", "+12V") + pins("U2", "V8", "GND", "VPS")
    board = board_from(tmp_path, parts, nets, '[supplies]\n"+12V" = { volts = "12 V", tolerance = "0.1 %" }\n')
    made = outline(supply="+12V", measure=("VPS", "V8"), feed=None)
    point = power_up(board, derive_circuit(board), made, frozenset(board.parts))
    source = "qsl.net/kf4trd/power.htm"
    out, behind = check(point, "V8", Mode.VOLTS).expect, check(point, "VPS", Mode.VOLTS).expect
    assert isinstance(out, Band)
    assert isinstance(behind, Band)
    published("78L08 lowest", out.low, 7.7, source=source, absolute=0.2)
    published("78L08 highest", out.high, 8.3, source=source, absolute=0.2)
    assert (behind.low or 0) < 12 - 0.7 < (behind.high or 0)
