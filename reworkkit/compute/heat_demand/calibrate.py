"""What a measured joint or a copper coupon says of iron and copper together."""

import math
import re
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from reworkkit.compute.formulas.conduction import lumped_conductance
from reworkkit.compute.heat_demand.figures import Alloy, Tip, alloy, figure
from reworkkit.compute.heat_demand.making import Case
from reworkkit.compute.heat_demand.needed import FACTORS, Belief, Wish, log_rises, model_of, parabolas
from reworkkit.errors import ReworkkitError
from reworkkit.model.facts import BenchFacts
from reworkkit.model.results import Joint

Floats = NDArray[np.float64]
SHARED = ("copper", "contact", "inner", "criterion")
"""Factors that one measured joint shares with the others of the board; the rest is its own."""
COUPON_J_PER_K = 1.38
"""Heat capacity of 20 x 20 x 1 mm of copper."""
COUPON_SETTING_C = 350.0
_FLOWED = re.compile(r"^\s*(?P<pin>\S+?)\s*:\s*(?P<time>[\d.]+)\s*s\s+at\s+(?P<setting>\d+)\s*\u00b0?\s*C\s*$")


class Flowed(NamedTuple):
    """One measured joint: REF.PIN, seconds until the solder flowed, tip setting [C]."""

    pin: str
    time_s: float
    setting_c: float


def parse_flowed(text: str) -> Flowed:
    """Read `U3.4: 4 s at 350 C`; refuses anything else.

    >>> parse_flowed("U3.4: 4 s at 350 C")
    Flowed(pin='U3.4', time_s=4.0, setting_c=350.0)
    """
    match = _FLOWED.match(text)
    if match is None or float(match["time"]) <= 0:
        raise ReworkkitError("heat-flowed-unreadable", text=text)
    return Flowed(match["pin"], float(match["time"]), float(match["setting"]))


def flowed_line(tip: str, flowed: Flowed) -> str:
    """Return the two lines of bench.toml that keep a measured joint.

    >>> print(flowed_line("medium", Flowed("U3.4", 4.0, 350.0)))
    [bench.tips.medium]
    flowed = ["U3.4: 4 s at 350 C"]
    """
    return f'[bench.tips.{_key(tip)}]\nflowed = ["{flowed.pin}: {flowed.time_s:g} s at {flowed.setting_c:g} C"]'


def coupon_line(tip: str, time_s: float) -> str:
    """Return the two lines of bench.toml that keep a coupon's time.

    >>> print(coupon_line("2 mm chisel", 4.6))
    [bench.tips."2 mm chisel"]
    coupon = "4.6 s"
    """
    return f'[bench.tips.{_key(tip)}]\ncoupon = "{time_s:g} s"'


def _key(name: str) -> str:
    return name if re.fullmatch(r"[A-Za-z0-9_-]+", name) else f'"{name}"'


def belief_of(tip: Tip, bench: BenchFacts, joints: tuple[Joint, ...], cases: tuple[Case, ...], solder: Alloy) -> Belief:
    """Return what is known of the factors for one tip: first spreads, then its coupon, then each measured joint."""
    belief = Belief.first()
    said = bench.tips.get(tip.name)
    if said is None:
        return belief
    if said.coupon is not None:
        belief = with_coupon(belief, tip, float(said.coupon.value))
    by_pin = _cases_by_pin(joints, cases)
    for text in said.flowed:
        flowed = parse_flowed(text)
        case = by_pin.get(flowed.pin.upper())
        if case is not None:
            belief = with_joint(belief, tip, case, flowed, solder)
    return belief


def measured_elsewhere(bench: BenchFacts, joints: tuple[Joint, ...]) -> tuple[str, ...]:
    """Return measured joints of the bench whose pin is not on this board; they say nothing here."""
    known = {f"{j.ref}.{j.pin}".upper() for j in joints}
    texts = (text for tip in bench.tips.values() for text in tip.flowed)
    return tuple(text for text in texts if parse_flowed(text).pin.upper() not in known)


def _cases_by_pin(joints: tuple[Joint, ...], cases: tuple[Case, ...]) -> dict[str, Case]:
    """Return the case of every pin; of several lands of one pin the largest."""
    pairs = sorted(zip(joints, cases, strict=True), key=lambda pair: pair[0].area_mm2)
    return {f"{joint.ref}.{joint.pin}".upper(): case for joint, case in pairs}


def with_coupon(belief: Belief, tip: Tip, time_s: float, setting_c: float = COUPON_SETTING_C) -> Belief:
    """Return the belief after a coupon: leaded solder (183 C) melted in `time_s` on 20 x 20 x 1 mm of bare copper."""
    around, melting = figure("ambient").value, alloy("Sn63Pb37")[0].liquidus_c
    seen = lumped_conductance(COUPON_J_PER_K, around, setting_c, melting, time_s)
    touch = figure("contact").value * tip.face_m2
    whole = 1.0 / (1.0 / touch + 1.0 / tip.inner_w_per_k)
    slopes = np.zeros(len(FACTORS))
    slopes[FACTORS.index("contact")] = figure("contact").spread * whole / touch
    slopes[FACTORS.index("inner")] = figure("inner").spread * whole / tip.inner_w_per_k
    surprise = math.log(seen / whole) - float(slopes @ belief.mean)
    return _updated(belief, slopes, surprise, _relative(time_s))


def with_joint(belief: Belief, tip: Tip, case: Case, flowed: Flowed, solder: Alloy) -> Belief:
    """Return the belief after one measured joint: its solder flowed at the time and setting given.

    The rise needed at that time was the rise set: copper and iron move together, each by its share.
    """
    around = figure("ambient").value
    model = model_of((case,))

    def at(time_s: float) -> tuple[float, Floats]:
        wish = Wish(solder.liquidus_c + figure("flow_above").value, around, around, time_s)
        middle, slopes, bends = parabolas(log_rises(model, tip, wish), wish)
        here = middle[0] + belief.mean @ slopes[:, 0] + (belief.mean**2) @ bends[:, 0]
        return float(here), slopes[:, 0] + 2 * belief.mean * bends[:, 0]

    predicted, slopes = at(flowed.time_s)
    later, _ = at(flowed.time_s * 1.1)
    noise = abs(later - predicted) / math.log(1.1) * _relative(flowed.time_s)
    surprise = math.log(max(flowed.setting_c - around, 1.0)) - predicted
    return _own_forgotten(_updated(belief, slopes, surprise, math.hypot(noise, 0.03)))


def _relative(time_s: float) -> float:
    return figure("reading_time").value / time_s


def _updated(belief: Belief, slopes: Floats, surprise: float, noise: float) -> Belief:
    """Return the Gaussian belief after a figure came out by `surprise` above what was believed, known to `noise`."""
    covariance = belief.root @ belief.root.T
    along = covariance @ slopes
    weight = along / (slopes @ along + noise**2)
    narrowed = covariance - np.outer(weight, along)
    return Belief(belief.mean + weight * surprise, _root((narrowed + narrowed.T) / 2))


def _own_forgotten(belief: Belief) -> Belief:
    """Return the belief for other joints: what belonged to the measured one alone is as unknown as before."""
    shared = np.array([name in SHARED for name in FACTORS])
    covariance = belief.root @ belief.root.T
    covariance = np.where(np.outer(shared, shared), covariance, np.eye(len(FACTORS)))
    return Belief(np.where(shared, belief.mean, 0.0), _root(covariance))


def _root(covariance: Floats) -> Floats:
    values, vectors = np.linalg.eigh(covariance)
    return np.asarray(vectors * np.sqrt(np.maximum(values, 0.0)))
