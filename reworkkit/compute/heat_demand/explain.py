"""Why one joint asks what it asks: where the heat goes, what makes the range, what would narrow it most."""

import math

import numpy as np
from numpy.typing import NDArray

from reworkkit.compute.formulas.conduction import contour
from reworkkit.compute.heat_demand.calibrate import coupon_line
from reworkkit.compute.heat_demand.figures import figure, tip_named
from reworkkit.compute.heat_demand.iron import energy_to_hold, gains_at, reached_rise
from reworkkit.compute.heat_demand.making import Case
from reworkkit.compute.heat_demand.needed import FACTORS, Belief, Model, alloy_wish, iron_on, model_of, need
from reworkkit.compute.heat_demand.scene import Scene
from reworkkit.model.facts import BenchFacts
from reworkkit.model.messages import Message, message
from reworkkit.model.results import HeatDemand, HeatExplanation, SetUp
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

CURVE_POINTS = 24


def explain_joint(scene: Scene, place: int, demand: HeatDemand, bench: BenchFacts) -> HeatExplanation:
    """Return the explanation of the joint at `place`, for its recommended set-up or else the last one tried."""
    joint, case = scene.joints[place], scene.cases[place]
    setup = demand.recommended or _fallback(scene, demand)
    model = model_of((case,))
    tip = tip_named(setup.tip, bench)
    around = figure("ambient").value if setup.preheat_c is None else float(setup.preheat_c)
    dwell = demand.dwell_s or 3.0
    wish = alloy_wish(scene.solder, around, dwell)
    belief = scene.beliefs.get(tip.name, Belief.first())
    shares = _shares(need(model, tip, wish, belief).parts[:, 0])
    before = need(model, tip, wish)
    measured = bool(np.any(belief.mean))
    open_shares = [name for name, _ in shares if name != "criterion"]
    narrow, answer = _narrow(open_shares[0] if open_shares else "criterion", scene, tip.name)
    return HeatExplanation(
        joint,
        demand,
        setup,
        _budget(scene, case, model, dwell),
        shares,
        narrow,
        answer,
        curve(model, setup, around, dwell, bench),
        (_band(before.low_c[0], before.middle_c[0], before.high_c[0]),) if measured else (),
    )


def _fallback(scene: Scene, demand: HeatDemand) -> SetUp:
    """The largest tip with preheat at the highest setting allowed: shows how far it falls short."""
    setting = int(demand.allowed_c or figure("setting_most").value)
    return SetUp("iron", scene.tips[-1].name, setting, scene.preheat_c)


def _band(low: float, middle: float, high: float) -> Band:
    most = figure("setting_most").value
    ends = (float(middle) if middle <= most else None, float(high) if high <= most else None)
    return Band(min(float(low), most), *ends, "C", BandBasis.P10_P90)


def _shares(parts: NDArray[np.float64]) -> tuple[tuple[str, float], ...]:
    whole = float(parts.sum()) or 1.0
    pairs = [(name, 100.0 * float(part) / whole) for name, part in zip(FACTORS, parts, strict=True)]
    return tuple(sorted((p for p in pairs if p[1] >= 1.0), key=lambda p: -p[1]))


def _narrow(factor: str, scene: Scene, tip: str) -> tuple[Message, str | None]:
    """Return what would narrow the range most, and the line to write where one helps."""
    said = scene.board.facts.board
    if factor == "copper" and said.outer_copper is None:
        return message("heat-narrow-copper-weight"), '[board]\nouter_copper = "1 oz"'
    if factor == "size" and not said.planes:
        return message("heat-narrow-planes"), '[board]\nplanes = { GND = ["bottom"] }'
    said_tip = scene.board.facts.bench.tips.get(tip)
    if factor in ("contact", "inner") and (said_tip is None or said_tip.coupon is None):
        return message("heat-narrow-coupon"), coupon_line(tip, 5.0)
    if factor == "criterion":
        return message("heat-narrow-no-more"), None
    return message("heat-narrow-joint"), None


def _budget(scene: Scene, case: Case, model: Model, dwell_s: float) -> tuple[tuple[str, float], ...]:
    """Return where the heat goes in the dwell, joint held at its temperature: metal, part, board and air."""
    rise = scene.solder.wetting_c - figure("ambient").value
    site = case.site
    whole = rise * float(energy_to_hold(model.responses[0], dwell_s)[0])
    metal = rise * (site.metal_j_per_k + (site.axial_j_per_m_k * site.thickness_m if site.hole else 0.0))
    rate = site.leaf_w_per_k / max(site.leaf_j_per_k, 1e-9)
    part = rise * site.leaf_j_per_k * (1.0 - math.exp(-rate * dwell_s))
    part += rise * site.leaf_loss_w_per_k * dwell_s * site.leaf_w_per_k / (site.leaf_loss_w_per_k + site.leaf_w_per_k)
    part = min(part, max(whole - metal, 0.0))
    return (("metal", min(metal, whole)), ("part", part), ("board", max(whole - metal - part, 0.0)))


def curve(
    model: Model, setup: SetUp, around_c: float, dwell_s: float, bench: BenchFacts
) -> tuple[tuple[float, float, float], ...]:
    """Return (time [s], joint [C], hole end or joint [C]) of the first case up to twice the dwell, middle figures."""
    tip = tip_named(setup.tip, bench)
    iron = iron_on(model.cases[:1], tip)
    setting_rise = (setup.setting_c or figure("setting_most").value) - around_c
    rows = []
    for time in np.geomspace(0.1, 2.0 * dwell_s, CURVE_POINTS):
        rates, weights = contour(float(time))
        near, far = model.responses[0].pick(np.array([0])).at(rates)
        joint, end = reached_rise(gains_at(near, far, iron, rates, weights), setting_rise, iron.power_w)
        rows.append((float(time), around_c + float(joint[0]), around_c + float(end[0])))
    return tuple(rows)
