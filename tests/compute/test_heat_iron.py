"""The iron on a joint: against a step-by-step solution of the same circuit, and the directions it must move in."""

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from reworkkit.compute.heat_demand.figures import allowed_setting, alloy, usual_tips
from reworkkit.compute.heat_demand.iron import gains, needed_rise, reached_rise
from reworkkit.compute.heat_demand.needed import (
    FACTORS,
    Belief,
    alloy_wish,
    iron_on,
    log_rises,
    model_of,
    need,
    parabolas,
)
from reworkkit.compute.heat_demand.response import respond
from reworkkit.compute.heat_demand.site import varied
from reworkkit.model.vocabulary import JointKind
from tests.compute.heat_cases import CASES, case

SAC = alloy("SAC305")[0]
TIPS = usual_tips()


def stepped(name: str, tip: str, rise: float, until: float) -> tuple[float, float]:
    """Independent: modes, tip and heater as differential equations, the heater a real thermostat with a power limit."""
    response, iron = respond((case(name).site,)), iron_on((case(name),), TIPS[tip])
    decay, near, far = response.decay[0], response.near[0], response.far[0]
    inner, contact, heat, store = (float(v[0]) for v in iron[:4])

    def slope(_t, y):
        joint, end, heater = y[:-2] @ near, y[-2], y[-1]
        drawn, fed = contact * (end - joint), inner * (heater - end)
        power = min(max(fed + 200.0 * (rise - heater), 0.0), iron.power_w)
        return np.concatenate([near * drawn - decay * y[:-2], [(fed - drawn) / heat, (power - fed) / store]])

    start = np.concatenate([np.zeros(len(decay)), [rise, rise]])
    end = solve_ivp(slope, (0, until), start, method="LSODA", rtol=1e-7, atol=1e-6).y[:, -1]
    return float(end[:-2] @ near), float(end[:-2] @ far)


@pytest.mark.parametrize("name", ["0603 on pour, solid", "header pin, 4 layers solid", "TO-263 2 oz"])
@pytest.mark.parametrize("tip", ["small", "medium", "large", "medium slip-on"])
def test_closed_form_against_stepping(name: str, tip: str) -> None:
    for until in (3.0, 8.0):
        gain = gains(respond((case(name).site,)), iron_on((case(name),), TIPS[tip]), until)
        near, far = reached_rise(gain, 325.0, TIPS[tip].power_w)
        real_near, real_far = stepped(name, tip, 325.0, until)
        assert near[0] == pytest.approx(real_near, abs=6.0)
        assert far[0] == pytest.approx(real_far, abs=6.0)
        assert near[0] >= real_near - 0.5  # the truth lies under both cases


@pytest.mark.parametrize("name", CASES)
def test_needed_setting_reaches_what_it_must(name: str) -> None:
    model, tip = model_of((case(name),)), TIPS["medium"]
    gain = gains(model.responses[0], iron_on(model.cases, tip), 8.0)
    rise = needed_rise(gain, np.array([235.0]), np.array([195.0 if case(name).site.hole else 0.0]), tip.power_w)
    near, far = reached_rise(gain, float(rise[0]), tip.power_w)
    assert near[0] >= 235.0 - 1e-6
    assert not case(name).site.hole or far[0] >= 195.0 - 1e-6
    assert min(near[0] - 235.0, far[0] - 195.0) < 1e-6


@pytest.mark.parametrize("name", CASES)
def test_bigger_tip_preheat_and_more_time_need_less(name: str) -> None:
    model = model_of((case(name),))
    wish = alloy_wish(SAC, 25.0, 8.0)
    small, medium, large = (need(model, TIPS[t], wish).middle_c[0] for t in ("small", "medium", "large"))
    assert small >= medium >= large
    assert need(model, TIPS["medium slip-on"], wish).middle_c[0] >= medium
    colder = [need(model, TIPS["medium"], alloy_wish(SAC, t, 8.0)).middle_c[0] for t in (25.0, 60.0, 100.0)]
    if colder[0] > 300:
        assert colder == sorted(colder, reverse=True)
    assert need(model, TIPS["medium"], alloy_wish(SAC, 25.0, 3.0)).middle_c[0] >= medium - 1e-6
    leaded = need(model, TIPS["medium"], alloy_wish(alloy("SnPb")[0], 25.0, 8.0)).middle_c[0]
    assert leaded < medium


def test_weak_iron_needs_more() -> None:
    model, wish = model_of((case("TO-263 30x30 and plane"),)), alloy_wish(SAC, 25.0, 8.0)
    weak = TIPS["large"]._replace(power_w=25.0)
    assert need(model, weak, wish).middle_c[0] > need(model, TIPS["large"], wish).middle_c[0] + 20


def test_judged_at_the_end_of_the_dwell_not_at_the_first_crossing() -> None:
    """A slip-on tip's stored heat lifts a small joint on a plane at once; a moment later it sags."""
    name, tip = "SOIC lead on pour, solid", TIPS["medium slip-on"]
    model = model_of((case(name),))
    early, late = (gains(model.responses[0], iron_on(model.cases, tip), t).near[0] for t in (0.15, 3.0))
    assert early > late
    assert need(model, tip, alloy_wish(SAC, 25.0, 3.0)).middle_c[0] > 25.0 + 235.0 / early


@pytest.mark.parametrize("name", ["0603 on pour, solid", "TO-252 25x25 and plane", "header pin, solid"])
def test_parabolas_stand_for_the_factors_moved_together(name: str) -> None:
    """Independent: copper and contact moved at once, computed anew, against the two parabolas added."""
    made, tip, wish = case(name), TIPS["medium"], alloy_wish(SAC, 25.0, 8.0)
    middle, slopes, bends = parabolas(log_rises(model_of((made,)), tip, wish), wish)
    for copper, contact in ((1.0, 1.0), (1.0, -1.0), (-1.0, 1.0)):
        site = varied(made.site, copper=np.exp(copper * made.spread.copper))
        model = model_of((made._replace(site=site),))
        iron = iron_on(model.cases, tip, contact=np.exp(0.35 * contact))
        gain = gains(model.responses[0], iron, 8.0)
        far = np.array([wish.far_c - 25.0 if made.site.hole else 0.0])
        exact = needed_rise(gain, np.array([235.0]), far, tip.power_w)[0]
        at = np.zeros(len(FACTORS))
        at[FACTORS.index("copper")], at[FACTORS.index("contact")] = copper, contact
        ours = np.exp(middle[0] + at @ slopes[:, 0] + (at * at) @ bends[:, 0])
        assert ours == pytest.approx(exact, rel=0.02)


def test_range_is_ordered_and_narrows_with_knowledge() -> None:
    model, wish = model_of((case("TO-252 25x25 and plane"),)), alloy_wish(SAC, 25.0, 8.0)
    first = need(model, TIPS["medium"], wish)
    known = need(model, TIPS["medium"], wish, Belief(np.zeros(7), np.eye(7) * 0.3))
    assert first.low_c < first.middle_c < first.high_c
    assert known.high_c - known.low_c < 0.5 * (first.high_c - first.low_c)


@pytest.mark.parametrize(
    ("kind", "part", "limit"),
    [
        (JointKind.TAB, "mosfet", 380.0),
        (JointKind.PAD, "resistor", 350.0),
        (JointKind.PAD, "led", 320.0),
        (JointKind.HOLE, "capacitor_film", 340.0),
    ],
)
def test_allowed_settings(kind: JointKind, part: str, limit: float) -> None:
    """Common practice, no source; large leads not above 380 C by a station maker's page."""
    assert allowed_setting(kind, part) == limit
