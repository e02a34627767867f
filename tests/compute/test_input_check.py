"""An input swept by hand: built curves whose noise, dead travel, bend and gap are known, and outside values."""

import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reworkkit.compute.input_check import check_input
from reworkkit.compute.input_check.sensors import beta_temperature
from reworkkit.compute.input_check.shape import bent
from reworkkit.errors import ReworkkitError
from reworkkit.model.sweep import Channel, InputVerdict, Sweep, SweepFacts
from reworkkit.model.vocabulary import ReadingVerdict
from reworkkit.read.sweep import read_sweep, sweep_facts

N = 400
FORTH = np.linspace(0, 100, N)
THERE_AND_BACK = np.concatenate([FORTH, FORTH[::-1]])


def made(*channels: np.ndarray, x: np.ndarray | None = THERE_AND_BACK, kind: str = "position") -> Sweep:
    against = None if x is None else Channel("lever", "%", tuple(map(float, x)))
    logged = tuple(
        Channel("AB"[n], "V", tuple(None if math.isnan(v) else float(v) for v in one)) for n, one in enumerate(channels)
    )
    return Sweep("made.csv", kind, against, logged, tuple(range(2, 2 + len(channels[0]))))


def value(of: InputVerdict, key: str, channel: str = "A") -> float:
    return next(
        f.value for f in of.figures if f.key == key and (f.channel == channel or key in ("agreement", "relation"))
    )


def outside(of: InputVerdict) -> set[str]:
    return {figure.key for figure in of.figures if figure.verdict is ReadingVerdict.OUTSIDE}


def ramp(x: np.ndarray, low: float = 0.5, high: float = 4.5, dead: tuple[float, float] = (0, 0)) -> np.ndarray:
    inner = np.clip((x - dead[0]) / (100 - dead[0] - dead[1]), 0, 1)
    return low + (high - low) * inner


def noise(sigma: float, size: int, seed: int = 1) -> np.ndarray:
    return np.random.default_rng(seed).normal(0, sigma, size)


def test_a_clean_pair_is_inside_on_every_count() -> None:
    a = ramp(THERE_AND_BACK) + noise(0.005, 2 * N)
    b = ramp(THERE_AND_BACK, 0.3, 2.5) + noise(0.0025, 2 * N, 2)
    of = check_input(made(a, b), SweepFacts(supply_v=5))
    assert (of.state, outside(of)) == (ReadingVerdict.INSIDE, set())
    assert value(of, "relation") == pytest.approx(2.2 / 4, rel=0.01)


def test_noise_of_a_known_source(published) -> None:  # type: ignore[no-untyped-def]
    source = "numpy's normal generator with a standard deviation of 40 mV on a span of 4 V"
    of = check_input(made(ramp(THERE_AND_BACK) + noise(0.04, 2 * N)))
    published("noise, % of span", value(of, "noise"), 1.0, source=source, tolerance=0.12)


@pytest.mark.parametrize(("start", "end"), [(0, 0), (8, 0), (0, 12), (5, 9)])
def test_dead_travel_is_found_at_either_end(start: float, end: float) -> None:
    of = check_input(made(ramp(THERE_AND_BACK, dead=(start, end))))
    assert value(of, "dead_zone") == pytest.approx(max(start, end), abs=0.3)


@pytest.mark.parametrize("gap", [0.02, 0.3])
def test_the_gap_between_way_up_and_way_down(gap: float) -> None:
    y = ramp(THERE_AND_BACK)
    y[N:] += gap
    of = check_input(made(y))
    assert value(of, "hysteresis") == pytest.approx(100 * gap / (4 + gap), rel=0.1)
    assert ("hysteresis" in outside(of)) is (gap > 0.2)


def test_one_way_only_leaves_the_gap_open() -> None:
    of = check_input(made(ramp(FORTH), x=FORTH))
    assert "hysteresis" not in {figure.key for figure in of.figures}


def test_a_bent_track_is_off_the_line(published) -> None:  # type: ignore[no-untyped-def]
    x = np.linspace(0, 1, 4000)
    source = (
        "closed form: x^2 on 0..1 stands at most 1/6 off its least-squares line x - 1/6 (in forty means: a little less)"
    )
    published("x squared, share off its line", bent(x, x**2), 1 / 6, source=source, tolerance=0.1)
    of = check_input(made(4 * FORTH**2 / 1e4 + 0.5, x=FORTH))
    figure = next(f for f in of.figures if f.key == "linearity")
    assert figure.verdict is ReadingVerdict.OUTSIDE
    straight = check_input(made(ramp(FORTH), x=FORTH))
    published(
        "a straight track, % off its line", value(straight, "linearity"), 0.0, source="closed form", absolute=1e-9
    )


def test_a_worn_spot_steps_back() -> None:
    y = ramp(FORTH)
    y[150:200] -= 0.5
    of = check_input(made(y, x=FORTH))
    assert "reversal" in outside(of)
    assert value(of, "reversal") == pytest.approx(100 * 0.5 / 4, rel=0.25)


def test_samples_that_drop_out_are_counted_and_placed() -> None:
    y = ramp(FORTH)
    y[[50, 51, 300]] = 0.0
    y[120] = math.nan
    of = check_input(made(y, x=FORTH))
    assert value(of, "dropouts") == 4
    assert of.findings[-1].where[0].line == 52
    assert outside(of) == {"dropouts"}


@pytest.mark.parametrize(
    ("make", "slug"),
    [
        (lambda a: 0.5 * a, "sweep-rel-ratio"),
        (lambda a: a + 0.3, "sweep-rel-offset"),
        (lambda a: 5 - a, "sweep-rel-sum"),
        (lambda a: 3 - 0.5 * a, "sweep-rel-opposite"),
        (lambda a: 0.5 * a + 1, "sweep-rel-line"),
    ],
)
def test_how_the_second_channel_follows_the_first(make, slug: str) -> None:  # type: ignore[no-untyped-def]
    a = ramp(THERE_AND_BACK)
    of = check_input(made(a, make(a)))
    assert next(f.words.slug for f in of.figures if f.key == "relation") == slug
    assert value(of, "agreement") == pytest.approx(0, abs=1e-6)


def test_two_channels_that_part_are_outside(published) -> None:  # type: ignore[no-untyped-def]
    """Both channels of a pedal are compared before the drive is enabled."""
    a, b = ramp(THERE_AND_BACK), ramp(THERE_AND_BACK, 0.25, 2.25)
    b[200:300] += 0.2
    of = check_input(made(a, b))
    published("a pair that parts by a tenth", "agreement" in outside(of), True, source="common practice, no source")
    assert "agreement" in outside(check_input(made(a, ramp(THERE_AND_BACK, 0.25, 2.25)), SweepFacts(ratio_percent=60)))


def test_two_channels_alike_are_a_finding() -> None:
    a = ramp(THERE_AND_BACK)
    assert "sweep-alike" in {finding.message.slug for finding in check_input(made(a, a)).findings}


def test_a_channel_that_stands_still_is_outside() -> None:
    assert check_input(made(np.full(2 * N, 2.5) + noise(0.002, 2 * N))).state is ReadingVerdict.OUTSIDE


def test_ends_at_the_rails_would_hide_an_open_lead() -> None:
    wide = check_input(made(ramp(THERE_AND_BACK, 0.1, 4.6)), SweepFacts(supply_v=5))
    assert "window_high" in outside(wide)
    assert "window_high" not in outside(check_input(made(ramp(THERE_AND_BACK)), SweepFacts(supply_v=5)))
    told = {question.question.slug for question in check_input(made(ramp(THERE_AND_BACK))).not_judged}
    assert "sweep-question-window" in told


def test_no_position_leaves_shape_open_and_still_compares() -> None:
    a = ramp(THERE_AND_BACK)
    of = check_input(made(a, 0.5 * a, x=None))
    assert {figure.key for figure in of.figures} >= {"noise", "agreement"}
    assert not {"linearity", "dead_zone", "hysteresis"} & {figure.key for figure in of.figures}
    assert "sweep-question-position" in {question.question.slug for question in of.not_judged}


def test_a_thermistor_with_the_wrong_constant(published) -> None:  # type: ignore[no-untyped-def]
    source = "worked by hand from the two-point law: a 3435 K part on a table for 3950 K shows about 88 C at 100 C"
    ohms = 10e3 * math.exp(3435 * (1 / 373.15 - 1 / 298.15))
    published("shown at 100 C", beta_temperature(ohms, 10e3, 3950), 88.0, source=source, tolerance=0.01)
    t = np.array([25.0, 50.0, 75.0, 100.0, 110.0])
    r = 10e3 * np.exp(3435 * (1 / (t + 273.15) - 1 / 298.15))
    of = check_input(made(r, x=t, kind="temperature"), SweepFacts(beta_k=3950, r25_ohm=10e3))
    assert outside(of) == {"temperature"}
    right = check_input(made(r, x=t, kind="temperature"), SweepFacts(beta_k=3435, r25_ohm=10e3))
    assert right.state is ReadingVerdict.INSIDE


def test_a_temperature_against_its_table() -> None:
    t = np.linspace(0, 100, 21)
    r = 10e3 * np.exp(3950 * (1 / (t + 273.15) - 1 / 298.15))
    table = made(r, x=t, kind="temperature")
    of = check_input(made(r[1::3], x=t[1::3], kind="temperature"), SweepFacts(table=table))
    assert value(of, "temperature") == pytest.approx(0, abs=1e-6)
    open_one = check_input(made(r, x=t, kind="temperature"))
    assert "sweep-question-table" in {question.question.slug for question in open_one.not_judged}


def test_zero_and_sign_of_a_current_sensor() -> None:
    amps = np.array([0, 0, 0, 1.0, 2.0, 3.0])
    good = check_input(made(2.5 + 0.04 * amps, x=amps, kind="current"), SweepFacts(zero_v=2.5))
    assert good.state is ReadingVerdict.INSIDE
    assert value(good, "sign") == pytest.approx(0.04)
    turned = check_input(made(2.44 - 0.04 * amps, x=amps, kind="current"), SweepFacts(zero_v=2.5))
    assert outside(turned) == {"zero"}
    assert "sweep-fig-falls" in {figure.words.slug for figure in turned.figures}
    still = check_input(made(np.full(20, 2.501), x=None), SweepFacts(zero_v=2.5))
    assert (still.kind, still.state) == ("current", ReadingVerdict.INSIDE)
    assert "sweep-question-sign" in {question.question.slug for question in still.not_judged}


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.one_of(st.none(), st.floats(-1e3, 1e3)), min_size=5, max_size=60),
    st.lists(st.floats(0, 100), min_size=5, max_size=60),
)
def test_any_log_gets_a_verdict(samples: list[float | None], positions: list[float]) -> None:
    """Invariant: no log crashes; every figure is a number or there is none."""
    count = min(len(samples), len(positions))
    channel = Channel("A", "V", tuple(samples[:count]))
    sweep = Sweep(
        "any.csv", "position", Channel("p", "", tuple(positions[:count])), (channel, channel), tuple(range(count))
    )
    of = check_input(sweep, SweepFacts(supply_v=5))
    assert all(math.isfinite(figure.value) for figure in of.figures)


# ------------------------------------------------------------------ reading


@pytest.mark.parametrize(
    ("heading", "line"),
    [
        ("position,A,B", "{p},{a},{b}"),
        ("Lever (%);Channel A (V);Channel B (V)", "{p};{a};{b}"),
        ("Travel\tCH1 [mV]\tCH2 [mV]", "{p}\t{am}\t{bm}"),
        ("Position,A,B", "{p},{a} V,{b} V"),
        ("Weg %;Spannung A (V);Spannung B (V)", "{p};{a};{b}"),
        ("travel mm,adc1 V,adc2 V", "{p},{a},{b}"),
        ("Position,pot 1,pot 2", "{p},{a},{b}"),
    ],
)
def test_logs_in_many_dialects_are_read_alike(tmp_path: Path, heading: str, line: str) -> None:
    rows = [line.format(p=p, a=p / 20, b=p / 40, am=50 * p, bm=25 * p) for p in range(0, 101, 2)]
    path = tmp_path / "log.csv"
    path.write_text("\n".join([heading, *rows]) + "\n", encoding="utf-8")
    sweep = read_sweep(path)
    assert (len(sweep.rows), sweep.kind) == (51, "position")
    assert [channel.samples[-1] for channel in sweep.channels] == pytest.approx([5.0, 2.5])


def test_a_decimal_comma_is_told_from_thousands(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    rows = [f"{p};{0.5 + p / 25:.3f}".replace(".", ",") for p in range(0, 100, 5)]
    path.write_text("\n".join(["Position;A (V)", *rows]) + "\n", encoding="utf-8")
    assert read_sweep(path).channels[0].samples[:2] == (0.5, 0.7)


def test_what_cannot_be_read_is_a_missing_sample_with_its_line(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    path.write_text(
        "position,A\n" + "\n".join(f"{p},{p if p != 3 else 'ouch'}" for p in range(9)) + "\n", encoding="utf-8"
    )
    sweep = read_sweep(path)
    assert sweep.channels[0].samples[3] is None
    assert sweep.findings[0].where[0].line == 5


def test_columns_may_be_named_and_nonsense_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    path.write_text("s,links,rechts\n" + "\n".join(f"{p},{p},{2 * p}" for p in range(9)) + "\n", encoding="utf-8")
    sweep = read_sweep(path, {"position": "s", "a": "links", "b": "rechts"})
    assert sweep.channels[1].samples[4] == 8
    with pytest.raises(ReworkkitError, match="sweep-unknown-column"):
        read_sweep(path, {"left": "links"})
    with pytest.raises(ReworkkitError, match="sweep-no-channel"):
        read_sweep(path)
    with pytest.raises(ReworkkitError, match="sweep-fact-value"):
        sweep_facts({"supply": "5"})
