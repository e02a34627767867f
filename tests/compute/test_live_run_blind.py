"""First runs written down with their figures before the code was read: closed forms by hand, and wrong input."""

import math

import pytest
from scipy.optimize import brentq

from reworkkit.compute.live_run import plan_live_run
from reworkkit.errors import ReworkkitError
from reworkkit.model.live import LiveRun
from reworkkit.read.live_answers import laid_over

SOURCE = "closed form, worked by hand before the first run"
PEOPLE = {"who_is_in_house": "Ada", "who_cuts_supply": "Ada, at the box"}


def run(written: str) -> LiveRun:
    pairs = dict(one.split("=", 1) for one in written.split())
    return plan_live_run(laid_over(None, {**PEOPLE, **pairs}))


def charging(volts: float, farad: float, ohm: float, bleeder: float = math.inf) -> dict[str, float]:
    """Peak, energy, times, end and what passes, with a bleeder beside the capacitors."""
    seen = 1 / (1 / ohm + 1 / bleeder)
    return {
        "stored_energy_j": farad * volts**2 / 2,
        "precharge_peak_a": volts / ohm,
        "precharge_peak_w": volts**2 / ohm,
        "precharge_energy_j": farad * volts**2 / 2,
        "precharge_95_s": seen * farad * math.log(20),
        "precharge_99_s": seen * farad * math.log(100),
        "precharge_short_w": volts**2 / ohm,
        "precharge_most_w": volts**2 / (4 * ohm),
    } | ({"precharge_end_v": volts * bleeder / (ohm + bleeder)} if bleeder < math.inf else {})


def emptying(key: str, volts: float, farad: float, ohm: float) -> dict[str, float]:
    return {
        f"{key}_touch_s": ohm * farad * math.log(volts / 60),
        f"{key}_work_s": ohm * farad * math.log(volts / 2),
        f"{key}_power_w": volts**2 / ohm,
    }


def lamp_drop(volts: float, watts: float, rated: float, ohm: float) -> float:
    """Volts across a lamp of I = P/V0 (V/V0)^0.55 before a resistive load, by a root finder of its own."""
    amps = watts / rated
    return float(brentq(lambda v: amps * (v / rated) ** 0.55 - (volts - v) / ohm, 1e-9, volts))


FIGURES = [
    (
        "volts=325V capacitance=680uF precharge=470ohm bleeder=100kohm",
        charging(325, 680e-6, 470, 1e5) | emptying("bleeder", 325, 680e-6, 1e5),
    ),
    ("volts=48V capacitance=10mF precharge=30ohm source_amps=200A", charging(48, 10e-3, 30) | {"source_va": 9600}),
    ("volts=400V capacitance=2mF precharge=50ohm", charging(400, 2e-3, 50)),
    (
        "volts=170V capacitance=2mF precharge=470ohm bleeder=47kohm load=converter watts=150W",
        charging(170, 2e-3, 470, 47e3) | emptying("bleeder", 170, 2e-3, 47e3),
    ),
    ("volts=61V capacitance=12mF discharge=100ohm", emptying("discharge", 61, 12e-3, 100)),
    ("volts=400V capacitance=470uF bleeder=10kohm", emptying("bleeder", 400, 470e-6, 1e4)),
    ("volts=600V capacitance=3mF discharge=1kohm", emptying("discharge", 600, 3e-3, 1e3)),
    ("volts=120V capacitance=2mF precharge=4.7kohm bleeder=22kohm", charging(120, 2e-3, 4700, 22e3)),
    ("volts=325V capacitance=2mF precharge=470ohm", charging(325, 2e-3, 470)),
    ("volts=24V capacitance=100uF precharge=10ohm", charging(24, 100e-6, 10)),
    (
        "volts=100V capacitance=1mF precharge=100ohm bleeder=10kohm discharge=470ohm",
        charging(100, 1e-3, 100, 1e4) | emptying("discharge", 100, 1e-3, 470),
    ),
    (
        "volts=120V capacitance=2mF precharge=470ohm load=resistive watts=60W load_while_charging=true",
        {"precharge_end_v": 120 * 240 / 710, "precharge_steady_w": (120 - 120 * 240 / 710) ** 2 / 470},
    ),
]


@pytest.mark.parametrize(("written", "wanted"), FIGURES, ids=[one for one, _ in FIGURES])
def test_figures_are_the_closed_forms(written: str, wanted: dict[str, float], published) -> None:  # type: ignore[no-untyped-def]
    of = run(written)
    for key, expected in wanted.items():
        figure = of.figure(key)
        assert figure is not None, key
        published(key, figure.value, expected, source=SOURCE, tolerance=0.001)


@pytest.mark.parametrize(
    ("written", "settles"),
    [
        ("volts=230V capacitance=100uF lamp=100W lamp_volts=230V load=resistive watts=60W", (230, 100, 230, 881.667)),
        ("volts=120V capacitance=2mF lamp=100W lamp_volts=230V load=resistive watts=60W", (120, 100, 230, 240.0)),
    ],
)
def test_a_lamp_settles_where_a_root_finder_says(
    written: str,
    settles: tuple[float, float, float, float],
    published,  # type: ignore[no-untyped-def]
) -> None:
    of = run(written)
    volts, watts, rated, ohm = settles
    figure = of.figure("lamp_drop_v")
    assert figure is not None
    drop = lamp_drop(volts, watts, rated, ohm)
    published("volts across the lamp", figure.value, drop, source="independent: root finder", tolerance=0.01)


STOPS = [
    ("volts=230V capacitance=220uF lamp=150W lamp_volts=230V load=converter watts=150W", "live-stop-lamp"),
    ("volts=325V capacitance=470uF lamp=60W lamp_volts=230V load=converter watts=40W", "live-stop-lamp"),
    ("volts=400V capacitance=470uF fuse=6.3A fuse_volts=250V", "live-stop-fuse-volts"),
    ("volts=400V capacitance=470uF fuse_breaks=35A source_amps=100A", "live-stop-fuse-breaks"),
    ("volts=325V capacitance=2mF precharge=470ohm precharge_pulse=40J", "live-stop-pulse"),
    ("volts=400V capacitance=470uF bleeder=10kohm bleeder_power=5W", "live-stop-resistor-power"),
    ("volts=600V capacitance=3mF discharge=1kohm discharge_volts=500V", "live-stop-resistor-volts"),
    ("volts=450V capacitance=330uF bus_limit=400V", "live-stop-bus"),
    ("volts=120V capacitance=2mF precharge=4.7kohm bleeder=22kohm", "live-stop-falls-short"),
    (
        "volts=120V capacitance=2mF precharge=470ohm load=resistive watts=60W load_while_charging=true",
        "live-stop-falls-short",
    ),
]


@pytest.mark.parametrize(("written", "slug"), STOPS, ids=[one for one, _ in STOPS])
def test_what_must_stop_the_run_does(written: str, slug: str) -> None:
    """Independent: each stop was written down by hand before the first run."""
    assert any(stop.slug.startswith(slug) for stop in run(written).stops)


@pytest.mark.parametrize("written", ["volts=-120V", "volts=0V", "capacitance=-2mF", "bleeder=0ohm", "precharge=0ohm"])
def test_a_figure_that_cannot_be_is_refused(written: str) -> None:
    """Invariant: a sign or a zero never makes a dangerous bus look harmless, and never ends in a crash."""
    with pytest.raises(ReworkkitError) as refused:
        run(f"volts=120V capacitance=2mF {written}")
    assert refused.value.message.slug == "live-not-real"


def test_a_bus_under_the_touch_limit_never_holds_more_than_it_has() -> None:
    """Closed form: 10 mF at 48 V hold 11.5 J; at 60 V it would be 18 J, but the bus is never there."""
    told = [text for step in run("volts=48V capacitance=10mF").steps for _, text in step.alerts]
    (one,) = [text for text in told if text.slug == "live-discharge-still-holds"]
    assert dict(one.facts) == {"energy": "11.5 J", "touch": "48 V"}
