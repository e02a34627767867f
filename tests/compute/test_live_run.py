"""The first live run: figures against outside values and independent solvers, warnings and stops by their rule."""

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from reworkkit.compute.live_run import plan_live_run
from reworkkit.model.facts import HoldPointFacts, LiveFacts
from reworkkit.model.live import LiveRun
from reworkkit.model.vocabulary import AlertLevel
from reworkkit.read.live_answers import laid_over
from tests.live_warnings import WARNINGS

MAKER = "resistor maker's RC and pre-charge page, resistor-factory.com (800 V, 47 ohm, 1 mF)"
TI = "TI TIDUF73 section 2.2.1: 50 ohm, charged in 5 tau = 0.5 s"
PRACTICE = "common practice, no source"
PEOPLE = {"who_is_in_house": "Ada", "who_cuts_supply": "Ada, at the box"}


def run(**written: str) -> LiveRun:
    return plan_live_run(laid_over(None, {**PEOPLE, **written}))


def value(of: LiveRun, key: str) -> float:
    figure = of.figure(key)
    assert figure is not None, key
    return figure.value


def stops(of: LiveRun) -> set[str]:
    return {stop.slug for stop in of.stops}


def test_pre_charge_of_a_resistor_maker(published) -> None:  # type: ignore[no-untyped-def]
    of = run(volts="800V", precharge="47ohm", capacitance="1mF")
    published("peak current, A", value(of, "precharge_peak_a"), 17.0, source=MAKER, tolerance=0.002)
    published("peak power, W", value(of, "precharge_peak_w"), 13617.0, source=MAKER, tolerance=0.001)
    published("energy, J", value(of, "precharge_energy_j"), 320.0, source=MAKER, tolerance=0.001)
    published("time to 99 %, s", value(of, "precharge_99_s"), 0.2164, source=MAKER, tolerance=0.001)
    published(
        "time to 95 %, s (the page prints three time constants, 95.02 %)",
        value(of, "precharge_95_s"),
        0.141,
        source=MAKER,
        tolerance=0.002,
    )


def test_dc_link_of_an_application_report(published) -> None:  # type: ignore[no-untyped-def]
    """The report charges in five time constants: at 0.5 s the bus is at 99.326 % of its end."""
    of = run(volts="400V", precharge="50ohm", capacitance="2mF")
    curve = next(one for one in of.curves if one.key == "precharge_v")
    last = curve.series[0].points[-1]
    published("end of the charge, s", last[0], 0.5, source=TI, tolerance=0.001)
    published("share reached", last[1] / 400, 0.99326, source=TI, tolerance=0.001)
    published("energy in the resistor at 400 V, J", value(of, "precharge_energy_j"), 160.0, source=TI, tolerance=0.001)


def test_discharge_of_the_job_description(published) -> None:  # type: ignore[no-untyped-def]
    source = "closed form t = RC ln(V1/V2), worked by hand: 680 uF, 325 V, 100 kohm"
    of = run(volts="325V", capacitance="680uF", bleeder="100kohm")
    published("to 60 V, s", value(of, "bleeder_touch_s"), 115.0, source=source, tolerance=0.005)
    published("to 2 V, s", value(of, "bleeder_work_s"), 346.0, source=source, tolerance=0.005)


def test_limits_of_touch_and_energy(published) -> None:  # type: ignore[no-untyped-def]
    quoted = "IEC 60950-1 2.1.1.7 as quoted: hazardous above 60 V d.c."
    at, above = run(volts="60V"), run(volts="61V")
    shown = [any(t.slug == "live-trigger-volts" for _, t in of.steps[1].alerts) for of in (at, above)]
    published("warned at 60 V and at 61 V", shown, [False, True], source=quoted)
    power = "energy hazard 240 VA or more (R. Nute, quoting the standard)"
    shown = [
        any(t.slug == "live-trigger-source" for _, t in run(volts="48V", source_amps=amps).steps[1].alerts)
        for amps in ("4.9A", "5A")
    ]
    published("48 V: warned at 4.9 A and at 5 A", shown, [False, True], source=power)
    stored = "stored energy hazard 20 J (from memory)"
    shown = [
        any(
            t.slug == "live-trigger-energy"
            for _, t in run(volts="50V", capacitance=c, source_amps="1A").steps[1].alerts
        )
        for c in ("15.9mF", "16mF")
    ]
    published("50 V: warned with 15.9 mF and with 16 mF", shown, [False, True], source=stored)


def test_all_three_marks_known_and_none_reached_is_said_and_the_warnings_stay() -> None:
    of = run(volts="24V", capacitance="1mF", source_amps="2A")
    assert of.high_energy is False
    assert {"live-prove-meter", "live-no-screwdriver"} <= {text.slug for step in of.steps for _, text in step.alerts}
    assert run(volts="24V", source_amps="2A").high_energy is None
    assert run(volts="48V", source_amps="50A").high_energy is True


@pytest.mark.parametrize("bleeder", [None, "1kohm", "22kohm"])
def test_charging_against_numeric_integration(bleeder: str | None) -> None:
    """Independent: the differential equation with the bleeder across the bus."""
    volts, ohms, farads = 120.0, 470.0, 2e-3
    across = {None: math.inf, "1kohm": 1e3, "22kohm": 22e3}[bleeder]
    extra = {"bleeder": bleeder} if bleeder else {}
    of = run(volts="120V", precharge="470ohm", capacitance="2mF", **extra)

    def slope(t: float, v: list[float]) -> list[float]:
        return [((volts - v[0]) / ohms - v[0] / across) / farads]

    end = volts / (1 + ohms / across)

    def reached(t: float, v: list[float]) -> float:
        return float(v[0] - 0.95 * end)

    reached.terminal = True  # type: ignore[attr-defined]
    found = solve_ivp(slope, (0, 20), [0.0], events=reached, rtol=1e-9, atol=1e-9)
    assert value(of, "precharge_95_s") == pytest.approx(found.t_events[0][0], rel=1e-3)
    if bleeder:
        assert value(of, "precharge_end_v") == pytest.approx(end, rel=1e-6)


def test_curves_are_those_of_the_differential_equation() -> None:
    of = run(volts="120V", precharge="470ohm", capacitance="2mF", lamp="100W", lamp_volts="230V", discharge="1kohm")
    by_key = {curve.key: curve.series[0].points for curve in of.curves}
    times = [t for t, _ in by_key["lamp_v"]]
    law = solve_ivp(
        lambda t, v: (100 / 230) * (max(120 - v[0], 0.0) / 230) ** 0.55 / 2e-3,
        (0, times[-1]),
        [0.0],
        t_eval=times,
        rtol=1e-9,
        atol=1e-9,
    )
    assert [v for _, v in by_key["lamp_v"]] == pytest.approx(list(law.y[0]), abs=0.2)
    for t, v in by_key["discharge_v"]:
        assert v == pytest.approx(120 * math.exp(-t / 2.0), rel=1e-9)


@pytest.mark.parametrize("watts", ["10W", "60W", "500W"])
def test_lamp_with_a_resistive_load_against_brentq(watts: str) -> None:
    of = run(volts="120V", load="resistive", watts=watts, lamp="100W", lamp_volts="230V")
    ohms = 120**2 / float(watts[:-1])
    root = brentq(lambda u: u + ohms * 100 / 230 * (u / 230) ** 0.55 - 120, 1e-9, 120)
    assert value(of, "lamp_drop_v") == pytest.approx(root, rel=0.01)


def test_equal_wattage_lamp_is_refused_for_a_converter(published) -> None:  # type: ignore[no-untyped-def]
    of = run(volts="230V", load="converter", watts="100W", lamp="100W", lamp_volts="230V")
    assert "live-stop-lamp-power" in stops(of)
    published(
        "most that passes, share of the rating",
        value(of, "lamp_most_w") / 100,
        0.36,
        source="general optimiser on I ~ V^0.55 (p from memory); about 36 %",
        absolute=0.01,
    )
    assert "live-stop-lamp-power" not in stops(
        run(volts="230V", load="resistive", watts="100W", lamp="100W", lamp_volts="230V")
    )
    assert "live-stop-lamp-power" not in stops(
        run(volts="230V", load="converter", watts="100W", idle="10W", lamp="100W", lamp_volts="230V")
    )


def test_a_lamp_far_above_the_bus_voltage_does_not_shine_on_a_short() -> None:
    """Glow goes with V^3.4 (from memory): 230 V lamp on 120 V, (120/230)^3.4 = 11 %."""
    slugs = [
        {text.slug for step in run(volts=volts, lamp="100W", lamp_volts="230V").steps for _, text in step.alerts}
        for volts in ("120V", "230V")
    ]
    assert ["live-lamp-dim-short" in one for one in slugs] == [True, False]


def test_the_lamp_that_is_named_enough_is_enough() -> None:
    of = run(volts="230V", load="converter", watts="100W", lamp_volts="230V")
    enough = math.ceil(value(of, "lamp_wanted_w"))
    again = run(volts="230V", load="converter", watts="100W", lamp=f"{enough}W", lamp_volts="230V")
    assert "live-stop-lamp-power" not in stops(again)
    less = run(volts="230V", load="converter", watts="100W", lamp=f"{enough - 2}W", lamp_volts="230V")
    assert "live-stop-lamp-power" in stops(less)


def test_a_converter_behind_a_resistor_that_never_lets_it_start() -> None:
    """V^2 / 4R = 48^2 / 120 = 19.2 W: a load of 25 W never comes up, 15 W settles (closed form)."""
    facts = {
        "volts": "48V",
        "capacitance": "10mF",
        "precharge": "30ohm",
        "load": "converter",
        "load_while_charging": "yes",
    }
    assert "live-stop-never-starts" in stops(run(**facts, watts="25W"))
    of = run(**facts, watts="15W")
    assert value(of, "precharge_settles_v") == pytest.approx(brentq(lambda v: v * (48 - v) / 30 - 15, 24, 48), rel=1e-3)


def test_making_current_of_five_percent(published) -> None:  # type: ignore[no-untyped-def]
    source = "worked by hand: 5 % of 325 V through 50 milliohm"
    of = run(volts="325V", capacitance="680uF", precharge="470ohm", loop="50mohm", makes="30A")
    published("making current, A", value(of, "making_at_5_percent_a"), 325.0, source=source, tolerance=0.001)
    assert value(of, "closing_difference_v") == pytest.approx(1.5)


def test_a_contactor_that_would_always_make_too_much_is_a_stop() -> None:
    """Bleeder and pre-charge resistor divide: 120 V * 470 / 1470 = 38 V are always left (closed form)."""
    of = run(volts="120V", capacitance="2mF", precharge="470ohm", bleeder="1kohm", loop="0.1ohm", makes="30A")
    assert value(of, "making_least_a") == pytest.approx(120 * 470 / 1470 / 0.1, rel=1e-6)
    assert "live-stop-making" in stops(of)


@pytest.mark.parametrize(
    ("written", "slug"),
    [
        ({"volts": "120V", "fuse_volts": "32V"}, "live-stop-fuse-volts"),
        ({"volts": "48V", "source_amps": "5kA", "fuse_breaks": "1kA"}, "live-stop-fuse-breaks"),
        ({"volts": "120V", "contactor_volts": "30V"}, "live-stop-contactor"),
        ({"volts": "120V", "bus_limit": "100V"}, "live-stop-bus"),
        (
            {"volts": "120V", "capacitance": "2mF", "bleeder": "2kohm", "bleeder_power": "3W"},
            "live-stop-resistor-power",
        ),
        (
            {"volts": "400V", "capacitance": "2mF", "bleeder": "100k", "bleeder_volts": "350V"},
            "live-stop-resistor-volts",
        ),
        (
            {"volts": "400V", "capacitance": "2mF", "discharge": "1k", "discharge_volts": "200V"},
            "live-stop-resistor-volts",
        ),
        ({"volts": "120V", "capacitance": "2mF", "precharge": "470R", "precharge_pulse": "5J"}, "live-stop-pulse"),
        ({"volts": "120V", "watts": "2kW", "breaks": "10A"}, "live-stop-breaking"),
        ({"volts": "325V", "lamp": "100W", "lamp_volts": "230V"}, "live-stop-lamp-volts"),
        ({"volts": "120V", "insulation_volts": "50V", "insulation": "100M"}, "live-stop-insulation"),
        (
            {"volts": "48V", "load": "converter", "watts": "100W", "start_volts": "20V", "current_limit": "3A"},
            "live-stop-start-limit",
        ),
    ],
)
def test_what_is_not_rated_stops_the_run(written: dict[str, str], slug: str) -> None:
    assert slug in stops(run(**written))
    assert run(**written).state == "stop"


@pytest.mark.parametrize(
    ("missing", "slug"), [("who_is_in_house", "live-stop-house"), ("who_cuts_supply", "live-stop-cuts")]
)
def test_an_empty_field_of_people_stops_the_run(missing: str, slug: str) -> None:
    facts = laid_over(None, {**PEOPLE, "volts": "120V"})
    assert plan_live_run(facts, confirmed=True).state == "confirmed"
    for empty in (None, "", "   "):
        of = plan_live_run(replace(facts, **{missing: empty}), confirmed=True)  # type: ignore[arg-type]
        assert of.state == "stop"
        assert slug in stops(of)


def test_the_fuse_that_never_sees_a_short_behind_the_resistor() -> None:
    slugs = [
        {text.slug for step in run(volts="120V", capacitance="2mF", precharge="470ohm", fuse=fuse).steps
         for _, text in step.alerts}
        for fuse in ("6.3A", "0.1A")
    ]  # fmt: skip
    assert ["live-fuse-never-blows" in one for one in slugs] == [True, False]


def test_voltage_steps_only_where_they_are_right() -> None:
    common = {"volts": "120V", "watts": "60W", "start_volts": "80V"}
    tables = {load: run(**common, load=load).steps[10].table is not None for load in
              ("resistive", "converter", "motor", "transformer")}  # fmt: skip
    assert tables == {"resistive": True, "converter": False, "motor": False, "transformer": False}
    assert run(**common, load="converter", control_fed_apart="yes").steps[10].table is not None
    assert value(run(**common, load="converter"), "start_a") == pytest.approx(60 / 80)


def test_current_limited_charge_and_its_slope(published) -> None:  # type: ignore[no-untyped-def]
    source = "closed form t = C V / I, worked by hand"
    of = run(volts="325V", capacitance="680uF", current_limit="50mA")
    published("680 uF to 325 V on 50 mA, s", value(of, "limit_charge_s"), 4.4, source=source, tolerance=0.01)
    published("power into a short, W", value(of, "limit_short_w"), 16.0, source=source, tolerance=0.02)
    hold = HoldPointFacts("bus", limit=laid_over(None, {"current_limit": "0.5A"}).current_limit)
    other = plan_live_run(laid_over(None, {"volts": "48V", "capacitance": "10mF"}), hold)
    published("10 mF to 48 V on 0.5 A, s", value(other, "limit_charge_s"), 1.0, source=source, tolerance=0.05)


def test_trade_facts_are_said_where_they_belong(published) -> None:  # type: ignore[no-untyped-def]
    """Facts of the trade as check values: common practice, no source."""
    of = run(
        volts="120V",
        capacitance="2mF",
        precharge="470ohm",
        load="resistive",
        watts="60W",
        lamp="100W",
        lamp_volts="230V",
    )
    todo = {text.slug: step.key for step in of.steps for text in step.todo}
    facts = (todo.get("live-precharge-before-main"), todo.get("live-drive-last"), todo.get("live-inputs-first"))
    published("pre-charge first, drive last, inputs before", facts, ("precharge", "raise", "raise"), source=PRACTICE)
    flashes = of.figure("lamp_95_s")
    published("it flashes while the capacitors charge", flashes is not None, True, source=PRACTICE)


def test_every_warning_of_the_list_stands_at_its_step() -> None:
    """The list is written from the safety specification; each slug with the step it belongs to."""
    of = plan_live_run(LiveFacts())
    at_step = {text.slug: (step.key, level) for step in of.steps for level, text in step.alerts}
    for slug, (step, level) in WARNINGS.items():
        assert at_step.get(slug) == (step, AlertLevel(level)), slug


@settings(max_examples=150, deadline=None)
@given(
    st.dictionaries(
        st.sampled_from(
            [
                "volts",
                "capacitance",
                "precharge",
                "bleeder",
                "loop",
                "makes",
                "watts",
                "lamp",
                "lamp_volts",
                "source_amps",
            ]
        ),
        st.floats(1e-3, 1e4, allow_nan=False),
    ),
    st.sampled_from([None, "resistive", "converter", "motor", "transformer", "kettle"]),
)
def test_whatever_is_known_every_warning_stays_and_nothing_is_a_number_out_of_nothing(
    numbers: dict[str, float], load: str | None
) -> None:
    """Invariant: facts only add figures; a figure never hangs on a key that was not written; no figure is nan."""
    units = {"volts": "V", "capacitance": "F", "precharge": "ohm", "bleeder": "ohm", "loop": "ohm", "makes": "A",
             "watts": "W", "lamp": "W", "lamp_volts": "V", "source_amps": "A"}  # fmt: skip
    written = {key: f"{number:.6f} {units[key]}" for key, number in numbers.items()}
    of = run(**written, **({"load": load} if load else {}))
    slugs = {text.slug for step in of.steps for _, text in step.alerts}
    always = {slug for slug in WARNINGS if not slug.startswith("live-trigger") and slug != "live-battery"}
    assert always <= slugs
    for step in of.steps:
        for figure in step.figures:
            assert math.isfinite(figure.value), figure
            optional = {"soak", "bleeder", "current_limit"}
            assert set(figure.needs) - optional <= {*written, "load"}, figure
