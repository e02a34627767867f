"""From a board to windows, classes and order; what is allowed; measured joints."""

import dataclasses
import json
import re
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reworkkit.compute.heat_demand import (
    explain,
    first_pads,
    flowed_line,
    heat_demand,
    heaviest,
    measured,
    parse_flowed,
)
from reworkkit.compute.heat_demand.calibrate import with_coupon, with_joint
from reworkkit.compute.heat_demand.figures import alloy, figure, tip_named, tips_of, usual_tips
from reworkkit.compute.heat_demand.judge import class_for, down, up
from reworkkit.compute.heat_demand.needed import FACTORS, Belief, alloy_wish, model_of, need
from reworkkit.compute.heat_demand.scene import preheat_of, solder_of
from reworkkit.errors import ReworkkitError
from reworkkit.model.board import Board
from reworkkit.model.facts import BenchFacts, LaminateFacts, TipFacts
from reworkkit.model.messages import Message
from reworkkit.model.results import HeatDemand, Joint
from reworkkit.model.values import Quantity
from reworkkit.model.vocabulary import HeatBasis, HeatClass, JointKind
from reworkkit.show.heat_tables import (
    explanation_lines,
    first_pad_lines,
    heat_footer,
    heat_headings,
    heat_items,
    heat_rows,
    measured_lines,
)
from tests.compute.heat_cases import CASES, TRACK, board, case, full, joint, pour

SAC = alloy("SAC305")[0]
BENCH = BenchFacts()


def quantity(value: float, unit: str) -> Quantity:
    return Quantity(Decimal(str(value)), unit, f"{value} {unit}")


def demands(*joints: Joint, ounces: float | None = 1.0, bench: BenchFacts = BENCH, **said) -> tuple[HeatDemand, ...]:
    return heat_demand(with_facts(board(2, ounces), **said), joints, bench)


def with_facts(on: Board, **said) -> Board:
    laminate = dataclasses.replace(on.facts.board, **said)
    return dataclasses.replace(on, facts=dataclasses.replace(on.facts, board=laminate))


SOIC = joint("soic", JointKind.PAD, 1.0, TRACK)
HEADER = joint("header", JointKind.HOLE, 2.5, *full("top", "bottom", relief="4 spokes 0.3 mm"), hole=1.0)
TO263 = joint("to263", JointKind.TAB, 101, pour(30), *full("bottom"))
CHIP = joint("chip", JointKind.PAD, 0.72, TRACK)
QFN = joint("qfn", JointKind.HIDDEN, 2.9, pour(3), vias=9)


def test_order_of_common_practice_comes_out_of_the_figures() -> None:
    """Common practice, no source: small chips and ICs first, headers, then regulators, large tabs last."""
    two = [name for name, (layers, ounces, _) in CASES.items() if layers == 2 and ounces == 1]
    found = {name: demands(CASES[name][2])[0].sort_c for name in two}
    small = ("0603 on track", "SOT-23 lead", "TQFP lead on track", "SOIC lead on track")
    middle = ("header pin, relief", "TO-220 lead, relief")
    large = ("TO-252 25x25 and plane", "TO-263 30x30 and plane")
    assert max(found[n] for n in small) < min(found[n] for n in middle)
    assert max(found[n] for n in middle) < min(found[n] for n in large)
    assert found["header pin, relief"] < found["header pin, solid"]
    assert found["TO-252 25x25 and plane"] < found["TO-263 30x30 and plane"]


def test_classes_of_ordinary_joints() -> None:
    light, heavy, huge = demands(CHIP, HEADER, TO263)
    assert light.heat_class is HeatClass.LIGHT
    assert light.reachable is True
    assert heavy.heat_class in (HeatClass.MODERATE, HeatClass.HEAVY)
    assert huge.heat_class is HeatClass.VERY_HEAVY
    assert {d.basis for d in (light, heavy, huge)} == {HeatBasis.COMPUTED}


@pytest.mark.parametrize("name", CASES)
def test_nothing_above_380_leaves(name: str) -> None:
    layers, ounces, made = CASES[name]
    found = heat_demand(board(layers, ounces), (made,), BENCH)[0]
    assert found.allowed_c is not None
    assert found.allowed_c <= 380
    for setup, band in found.settings:
        assert all(v is None or v <= 380 for v in (band.low, band.nominal, band.high))
        assert setup.preheat_c is None or setup.preheat_c <= 110
    for _, low, high in found.windows:
        assert low % 10 == high % 10 == 0
        assert low <= high <= found.allowed_c
    if found.recommended is not None:
        assert found.recommended.setting_c is not None
        assert found.recommended.setting_c % 10 == 0
        assert found.recommended.setting_c <= found.allowed_c
        assert found.settings[0][0] == found.recommended._replace(setting_c=None)
    shown = " ".join(sum(heat_rows((found,)), ()))
    numbers = [int(word) for word in shown.replace("–", " ").split() if word.isdigit()]
    assert all(n <= 380 for n in numbers)


def test_empty_window_names_a_remedy() -> None:
    found = demands(TO263, ounces=3.0)[0]
    assert found.reachable is not True or found.recommended.preheat_c is not None
    assert found.remedy is not None


def test_hidden_pad_is_not_for_an_iron() -> None:
    found = demands(QFN)[0]
    assert found.recommended is None
    assert found.remedy is not None
    assert found.remedy.slug == "heat-remedy-hidden"
    assert found.energy_j is not None


def test_weak_slip_on_iron_asks_for_more() -> None:
    slip = BenchFacts(tips={"old": TipFacts(size="2.4 mm", slip_on=True, power=quantity(25, "W"))})
    good = BenchFacts(tips={"new": TipFacts(size="2.4 mm", power=quantity(70, "W"))})

    def cold(bench: BenchFacts) -> float:
        return next(band.low for setup, band in demands(HEADER, bench=bench)[0].settings if setup.preheat_c is None)

    assert cold(slip) > cold(good) + 10


def test_leaded_needs_less_and_unknown_counts_as_lead_free() -> None:
    leaded = demands(HEADER, alloy_found="Sn63Pb37", alloy_used="Sn63Pb37")[0]
    unknown = demands(HEADER, alloy_used=None)[0]
    assert leaded.sort_c < demands(HEADER)[0].sort_c
    assert unknown.sort_c == demands(HEADER)[0].sort_c
    assert "heat-alloy-assumed" in {m.slug for m in unknown.assumed}
    mixed = solder_of(with_facts(board(), alloy_found="SAC305", alloy_used="SnPb"))[0]
    assert mixed.name == "SAC305"


def test_alloys_by_their_trade_names(published) -> None:
    source = "solder alloy table from makers' sheets"
    for written, liquidus in (("SAC305", 220), ("Sn63/Pb37", 183), ("60/40", 191), ("SnBi", 138)):
        published(f"liquidus of {written}", alloy(written)[0].liquidus_c, liquidus, source=source)
    assert alloy("unobtainium")[1] is not None


def test_copper_not_told_on_a_power_board_widens_the_range() -> None:
    thick = with_facts(board(2, None))
    power = dataclasses.replace(thick, parts=thick.parts | {"Q9": thick.parts["TO263"]._replace(ref="Q9")})
    known, unknown = heat_demand(board(), (HEADER,), BENCH)[0], heat_demand(power, (HEADER,), BENCH)[0]
    assert "heat-copper-power" in {m.slug for m in unknown.assumed}
    width = [d.settings[0][1].high or 400 for d in (known, unknown)]
    assert width[1] > width[0]


def test_dwell_is_the_persons_to_change() -> None:
    on = board()
    order = dataclasses.replace(on.facts.order, dwell_hole=quantity(3, "s"))
    hurried = dataclasses.replace(on, facts=dataclasses.replace(on.facts, order=order))
    assert heat_demand(hurried, (HEADER,), BENCH)[0].dwell_s == 3.0
    assert heat_demand(hurried, (HEADER,), BENCH)[0].sort_c > heat_demand(on, (HEADER,), BENCH)[0].sort_c


def test_preheat_is_capped_on_a_mixed_board() -> None:
    degrees, said = preheat_of(BenchFacts(preheat=quantity(150, "C")))
    assert degrees == 110
    assert said[0].slug == "heat-preheat-capped"


def test_equal_joints_have_equal_answers_and_order_is_kept() -> None:
    twin = dataclasses.replace(SOIC, pin="2")
    first, other, second = demands(SOIC, CHIP, twin)
    assert [first.pin, other.ref, second.pin] == ["1", "CHIP", "2"]
    assert dataclasses.replace(second, pin="1") == first


def test_pad_off_the_plane_comes_first() -> None:
    on_plane = joint("chip", JointKind.PAD, 0.72, *full("top"), pin="2")
    assert first_pads(demands(CHIP, on_plane)) == {"CHIP": "1"}
    assert first_pads(demands(CHIP, dataclasses.replace(CHIP, pin="2"))) == {}
    assert first_pad_lines({"CHIP": "1"})[0].startswith("CHIP: solder pin 1 first")


def test_items_are_plain_data_with_the_contract_keys() -> None:
    """The keys are those the heat format promises."""
    item = json.loads(json.dumps(heat_items(demands(TO263))))[0]
    keys = {"ref", "pin", "settings", "energy_j", "hold_w", "class", "reachable", "remedy", "assumed"}
    assert keys <= set(item)
    assert set(item["settings"][0]) == {"tip", "preheat_c", "setting_c"}


def test_heaviest_joint_speaks_for_the_part() -> None:
    gate = joint("to263", JointKind.PAD, 3.0, TRACK, pin="3")
    found = heaviest(demands(gate, TO263))
    assert list(found) == ["TO263"]
    assert found["TO263"].pin == "1"


@pytest.mark.parametrize(("value", "above", "below"), [(341.2, 350, 340), (350.0, 350, 350), (379.99, 380, 370)])
def test_steps_of_ten(value: float, above: int, below: int) -> None:
    assert (up(value), down(value)) == (above, below)


def test_class_words() -> None:
    """Limits: highest usual settings, common practice."""
    words = [class_for(c) for c in (280, 330, 360, 400)]
    assert words == list(HeatClass)


def test_tips_of_the_bench() -> None:
    bench = BenchFacts(tips={"bevel": TipFacts(size="4 mm bevel"), "fine": TipFacts(size="small")})
    fine, bevel = tips_of(bench)
    assert (fine.name, bevel.name) == ("fine", "bevel")
    assert usual_tips()["medium"].face_m2 < bevel.face_m2 < usual_tips()["large"].face_m2
    with pytest.raises(ReworkkitError):
        tip_named("broomstick", bench)


# measured joints and coupon


def spread_of(belief: Belief, name: str, tip: str = "medium") -> float:
    found = need(model_of((case(name),)), usual_tips()[tip], alloy_wish(SAC, 25.0, 8.0), belief)
    return float(found.high_c[0] - found.low_c[0])


def test_a_measured_joint_narrows_other_joints() -> None:
    tip, name = usual_tips()["medium"], "TO-252 25x25 and plane"
    belief = with_joint(Belief.first(), tip, case(name), parse_flowed("U3.4: 4 s at 350 C"), SAC)
    assert spread_of(belief, "TO-263 30x30 and plane") < 0.85 * spread_of(Belief.first(), "TO-263 30x30 and plane")
    assert spread_of(belief, "header pin, solid") < spread_of(Belief.first(), "header pin, solid")
    covariance = belief.root @ belief.root.T
    assert (np.diag(covariance) <= 1 + 1e-9).all()


def test_a_slow_joint_says_weak_iron_and_much_copper_together() -> None:
    tip, made = usual_tips()["medium"], case("header pin, solid")
    slow = with_joint(Belief.first(), tip, made, parse_flowed("J1.2: 8 s at 380 C"), SAC)
    quick = with_joint(Belief.first(), tip, made, parse_flowed("J1.2: 1 s at 340 C"), SAC)
    assert slow.mean[FACTORS.index("inner")] < quick.mean[FACTORS.index("inner")]
    assert slow.mean[FACTORS.index("copper")] > quick.mean[FACTORS.index("copper")]
    assert slow.mean[FACTORS.index("axial")] == 0.0  # what belonged to the measured joint stays with it


def test_measured_as_predicted_changes_no_middle() -> None:
    """Invariant: a joint that flows just when it should moves nothing."""
    tip, made = usual_tips()["medium"], case("TO-252 25x25 and plane")
    wish = alloy_wish(SAC._replace(liquidus_c=SAC.liquidus_c - 30), 25.0, 4.0)
    setting = float(need(model_of((made,)), tip, wish).middle_c[0])
    belief = with_joint(Belief.first(), tip, made, parse_flowed("U3.4: 4 s at 350 C")._replace(setting_c=setting), SAC)
    assert np.abs(belief.mean).max() < 0.02


def test_coupon_of_the_expected_iron_changes_no_middle(published) -> None:
    """A 20 x 20 x 1 mm coupon through 0.2887 W/K from 350 C melts leaded solder after 1.38 ln(325/167)/0.2887 s."""
    tip = usual_tips()["medium"]
    touch = figure("contact").value * tip.face_m2
    whole = 1 / (1 / touch + 1 / tip.inner_w_per_k)
    seconds = 1.38 * np.log(325 / 167) / whole
    published("coupon time through 0.287 W/K", seconds, 3.2, source="lumped exponential, by hand", tolerance=0.02)
    belief = with_coupon(Belief.first(), tip, seconds)
    assert np.abs(belief.mean).max() < 1e-9
    assert spread_of(belief, "TO-263 30x30 and plane") < spread_of(Belief.first(), "TO-263 30x30 and plane")
    weak = with_coupon(Belief.first(), tip, 2 * seconds)
    assert weak.mean[FACTORS.index("inner")] < -0.5


def test_line_for_the_bench_file_reads_back() -> None:
    flowed = parse_flowed("U3.4: 4 s at 350 °C")
    line = flowed_line("medium", flowed)
    assert parse_flowed(line.split('"')[1]) == flowed
    with pytest.raises(ReworkkitError):
        parse_flowed("U3 pin 4 flowed")


def test_measured_joint_of_the_bench_is_used_and_shown() -> None:
    tips = {"medium": TipFacts(size="medium", flowed=("HEADER.1: 6 s at 350 C",))}
    plain = BenchFacts(tips={"medium": TipFacts(size="medium")})
    assert demands(TO263, HEADER, bench=BenchFacts(tips=tips))[0] != demands(TO263, HEADER, bench=plain)[0]
    told = explain(board(), (TO263, HEADER), BenchFacts(tips=tips), "TO263")[0]
    assert told.before
    assert not explain(board(), (TO263, HEADER), plain, "TO263")[0].before


def test_measured_joint_of_another_board_is_said_not_used() -> None:
    tips = {"medium": TipFacts(size="medium", flowed=("X99.1: 6 s at 350 C",))}
    plain = BenchFacts(tips={"medium": TipFacts(size="medium")})
    found = demands(TO263, bench=BenchFacts(tips=tips))[0]
    assert "heat-flowed-elsewhere" in {m.slug for m in found.assumed}
    assert found.settings == demands(TO263, bench=plain)[0].settings


def test_measured_joint_says_what_it_changes() -> None:
    on = board()
    found = measured(on, (TO263, HEADER), BENCH, "large", "TO263.1: 2 s at 350 C")
    assert found.before.basis == found.after.basis
    assert found.after.high - found.after.low < found.before.high - found.before.low
    lines = measured_lines(found)
    assert lines[1:] == ("[bench.tips.large]", 'flowed = ["TO263.1: 2 s at 350 C"]')
    with pytest.raises(ReworkkitError):
        measured(on, (TO263,), BENCH, "large", "R99.1: 6 s at 350 C")
    with pytest.raises(ReworkkitError):
        measured(on, (TO263,), BENCH, "poker", "TO263.1: 6 s at 350 C")


# explanation and table


def test_explanation_adds_up() -> None:
    told = explain(board(), (SOIC, TO263), BENCH, "TO263")[0]
    assert sum(j for _, j in told.budget_j) == pytest.approx(told.demand.energy_j, rel=1e-6)
    assert sum(s for _, s in told.shares_percent) == pytest.approx(100, abs=4)
    times = [t for t, _, _ in told.curve_s_c]
    assert times == sorted(times)
    lines = explanation_lines(told)
    assert any("calculated, not tried" in line.lower() for line in lines)


def test_an_iron_far_too_weak_prints_nothing_above_380() -> None:
    toy = BenchFacts(tips={"toy": TipFacts(size="1 mm", slip_on=True, power=quantity(15, "W"))})
    found = demands(TO263, ounces=3.0, bench=toy)
    told = explain(with_facts(board(2, 3.0)), (TO263,), toy, "TO263")[0]
    assert found[0].reachable is False
    assert found[0].recommended is None
    spoken = " ".join([*sum(heat_rows(found), ()), *explanation_lines(told)])
    assert "not with these irons" in spoken
    assert not [n for n in map(int, re.findall(r"(\d+)(?= °C)", spoken)) if n > 380]


@settings(max_examples=40, deadline=None)
@given(
    st.sampled_from(["chip", "soic", "to263", "header", "battery", "qfn"]),
    st.sampled_from(list(JointKind)),
    st.floats(0.02, 400),
    st.floats(0.3, 6),
    st.floats(0, 200),
    st.sampled_from(["none", "4 spokes 0.3 mm", "1 spoke 0.1 mm", "track 0.1 mm", "not connected", "cross", ""]),
    st.one_of(st.none(), st.floats(0.5, 30)),
    st.integers(0, 60),
    st.floats(0.3, 6),
)
def test_odd_joints_have_answers(name, kind, area, hole, radius, relief, edge, vias, ounces) -> None:
    made = joint(
        name, kind, area, ("top", radius, relief), ("inner1", radius, "not connected"), hole=hole, vias=vias, edge=edge
    )
    found = heat_demand(board(4, ounces), (made,), BENCH)[0]
    assert 0 < found.energy_j < 1e5
    assert 0 < found.hold_w < 500
    assert 200 < found.sort_c < 1e5
    assert found.allowed_c <= 380
    heat_rows((found,))


def test_table_speaks() -> None:
    found = demands(SOIC, HEADER, TO263, QFN)
    rows = heat_rows(found)
    assert {len(row) for row in rows} == {len(heat_headings())}
    assert rows[0][0] == "SOIC.1"
    assert any("not tried" in line for line in heat_footer(found))


def test_unknown_reads_as_messages() -> None:
    assert all(isinstance(m, Message) for d in demands(SOIC, TO263) for m in d.assumed)
    assert isinstance(board().facts.board, LaminateFacts)
