"""The tip setting each joint needs at the end of its dwell, with its range, for every tip and preheat at once.

What is not known is taken as factors. The logarithm of the needed rise is nearly a separate parabola in each: one
factor is moved at a time, and the range comes from the fixed draws put through these parabolas.
"""

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from reworkkit.compute.formulas.conduction import contour
from reworkkit.compute.formulas.draws import normal_draws, tenth_and_ninetieth
from reworkkit.compute.formulas.joint_heat import tab_resistance
from reworkkit.compute.heat_demand.figures import Alloy, Tip, figure
from reworkkit.compute.heat_demand.iron import Iron, gains_at, needed_rise
from reworkkit.compute.heat_demand.making import Case
from reworkkit.compute.heat_demand.response import Response, respond
from reworkkit.compute.heat_demand.site import Site, varied

Floats = NDArray[np.float64]
FACTORS = ("copper", "axial", "size", "contact", "inner", "tab", "criterion")
BOARD = FACTORS[:3]
DRAWS = 192


class Wish(NamedTuple):
    """What is asked of one joint: temperature of joint and hole end [C], surroundings [C], dwell [s]."""

    joint_c: float
    far_c: float
    around_c: float
    dwell_s: float


class Model(NamedTuple):
    """The step responses of B cases with the copper as it is, lighter, heavier, more through, larger; in that order."""

    cases: tuple[Case, ...]
    responses: tuple[Response, ...]


class Belief(NamedTuple):
    """What is known of the factors, in units of their first spreads: mean, and root of the covariance."""

    mean: Floats
    root: Floats

    @classmethod
    def first(cls) -> "Belief":
        """Return the belief before anything was measured."""
        return cls(np.zeros(len(FACTORS)), np.eye(len(FACTORS)))


class Need(NamedTuple):
    """Setting needed [C] by one tip and preheat: 10 % point, middle, 90 % point, and each factor's part of the range.

    Axes: joint; for `parts` factor, joint (variance of the logarithm of the rise).
    """

    low_c: Floats
    middle_c: Floats
    high_c: Floats
    parts: Floats


def model_of(cases: tuple[Case, ...]) -> Model:
    """Return the step responses of the cases and of their four variations."""
    sites: list[Site] = [case.site for case in cases]
    for name, sign in (("copper", -1), ("copper", 1), ("axial", 1), ("size", 1)):
        sites += [varied(c.site, **{name: math.exp(sign * getattr(c.spread, name))}) for c in cases]
    whole = respond(tuple(sites))
    rows = np.arange(len(sites)).reshape(-1, len(cases))
    return Model(cases, tuple(whole.pick(part) for part in rows))


def iron_on(cases: tuple[Case, ...], tip: Tip, contact: float = 1.0, inner: float = 1.0, tab: float = 1.0) -> Iron:
    """Return a tip as it touches each case; factors multiply contact, heater conductance and tab resistance."""
    count = len(cases)
    face = np.minimum(tip.face_m2, np.array([c.site.contact_m2 for c in cases]))
    path = tab * np.array([_path(c, tip) for c in cases])
    touch = figure("contact").value * contact * face
    ones = np.ones(count)
    return Iron(
        ones * tip.inner_w_per_k * inner,
        1.0 / (1.0 / touch + path),
        ones * tip.tip_j_per_k,
        ones * tip.heater_j_per_k,
        tip.power_w,
    )


def _path(case: Case, tip: Tip) -> float:
    tab = case.tab
    if tab is None:
        return case.site.path_k_per_w
    return tab_resistance(tab.length_m, tab.width_m, tab.sheet_w_per_k, tip.width_m, tab.height_m)


def log_rises(model: Model, tip: Tip, wish: Wish) -> dict[tuple[str, int], Floats]:
    """Return the logarithm of the rise needed with every factor at its middle, and moved by one spread either way."""
    rates, weights = contour(wish.dwell_s)
    hole = np.array([c.site.hole for c in model.cases])
    near_rise = np.full(len(model.cases), wish.joint_c - wish.around_c)
    far_rise = np.where(hole, wish.far_c - wish.around_c, 0.0)
    at = [response.at(rates) for response in model.responses]

    def rise(which: int, iron: Iron) -> Floats:
        gain = gains_at(*at[which], iron, rates, weights)
        return np.log(np.maximum(needed_rise(gain, near_rise, far_rise, iron.power_w), 1.0))

    plain = iron_on(model.cases, tip)
    found = {("", 0): rise(0, plain), ("copper", -1): rise(1, plain), ("copper", 1): rise(2, plain)}
    found |= {("axial", 1): rise(3, plain), ("size", 1): rise(4, plain)}
    for name, row in (("contact", "contact"), ("inner", "inner"), ("tab", "tab_path")):
        spread = figure(row).spread
        for sign in (-1, 1):
            moved = iron_on(model.cases, tip, **{name: math.exp(sign * spread)})
            found[name, sign] = rise(0, moved)
    return found


def parabolas(rises: dict[tuple[str, int], Floats], wish: Wish) -> tuple[Floats, Floats, Floats]:
    """Return middle, slope and bend of the logarithm of the rise in each factor; axes: (factor,) joint."""
    middle = rises["", 0]
    slopes, bends = [], []
    for name in FACTORS[:-1]:
        up = rises[name, 1] - middle
        down = rises[name, -1] - middle if (name, -1) in rises else -up
        slopes.append((up - down) / 2)
        bends.append((up + down) / 2)
    slopes.append(np.full_like(middle, figure("criterion_spread").value / (wish.joint_c - wish.around_c)))
    bends.append(np.zeros_like(middle))
    return middle, np.array(slopes), np.array(bends)


def need(model: Model, tip: Tip, wish: Wish, belief: Belief | None = None) -> Need:
    """Return the setting a tip needs on every case; `belief` is what measurements say of the factors."""
    mean, root = belief or Belief.first()
    middle, slopes, bends = parabolas(log_rises(model, tip, wish), wish)
    draws = normal_draws(DRAWS, len(FACTORS)) @ root.T + mean
    rises = middle + draws @ slopes + (draws * draws) @ bends
    low, high = tenth_and_ninetieth(rises)
    centre = middle + mean @ slopes + (mean * mean) @ bends
    width = np.sqrt((root * root).sum(axis=1))[:, None]
    steep = slopes + 2 * mean[:, None] * bends
    return Need(
        wish.around_c + np.exp(np.minimum(low, centre)),
        wish.around_c + np.exp(centre),
        wish.around_c + np.exp(np.maximum(high, centre)),
        (width * steep) ** 2 + 2 * (width**2 * bends) ** 2,
    )


def settings_by(model: Model, tip: Tip, wish: Wish, times: tuple[float, ...]) -> Floats:
    """Return the middle setting [C] needed to be hot enough by each of the times [s]; axes: time, joint."""
    hole = np.array([c.site.hole for c in model.cases])
    near_rise = np.full(len(model.cases), wish.joint_c - wish.around_c)
    far_rise = np.where(hole, wish.far_c - wish.around_c, 0.0)
    iron = iron_on(model.cases, tip)
    rows = []
    for time in times:
        rates, weights = contour(time)
        gain = gains_at(*model.responses[0].at(rates), iron, rates, weights)
        rows.append(wish.around_c + needed_rise(gain, near_rise, far_rise, iron.power_w))
    return np.array(rows)


def alloy_wish(solder: Alloy, around_c: float, dwell_s: float) -> Wish:
    """Return what a solder asks: joint well above its liquidus, hole end at the liquidus."""
    return Wish(solder.wetting_c, solder.liquidus_c, around_c, dwell_s)
