"""What every joint asks of the iron: setting needed at the end of the dwell, against what is allowed."""

from dataclasses import replace
from typing import NamedTuple

import numpy as np

from reworkkit.compute.heat_demand.calibrate import coupon_line, flowed_line, parse_flowed
from reworkkit.compute.heat_demand.explain import explain_joint
from reworkkit.compute.heat_demand.figures import Alloy, allowed_setting, figure, tip_named, usual_tips
from reworkkit.compute.heat_demand.iron import energy_to_hold, warmth
from reworkkit.compute.heat_demand.judge import TIMES, Asked, Offer, demand_of
from reworkkit.compute.heat_demand.needed import Model, Need, alloy_wish, model_of, need, settings_by
from reworkkit.compute.heat_demand.scene import Scene, dwell_of, scene_of
from reworkkit.errors import ReworkkitError
from reworkkit.model.board import Board
from reworkkit.model.designator import natural_key
from reworkkit.model.facts import BenchFacts, TipFacts
from reworkkit.model.results import HeatDemand, HeatExplanation, Joint, MeasuredJoint
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

CLEAR_C = 8.0
"""Pins of a part that differ by less are alike."""
DISTANCES_MM = (2.0, 3.0, 5.0, 8.0, 12.0, 20.0)

__all__ = ["coupon_line", "explain", "first_pads", "flowed_line", "heat_demand", "heaviest", "measured", "parse_flowed"]


def heat_demand(board: Board, joints: tuple[Joint, ...], bench: BenchFacts) -> tuple[HeatDemand, ...]:
    """Return the demand of every joint, in the order of the joints. Equal joints are computed once."""
    scene = scene_of(board, joints, bench)
    groups: dict[float, list[int]] = {}
    for place, joint in enumerate(joints):
        groups.setdefault(dwell_of(joint.kind, board.facts.order), []).append(place)
    found: dict[int, HeatDemand] = {}
    for dwell_s, places in groups.items():
        found |= _by_dwell(scene, dwell_s, places)
    return tuple(found[place] for place in range(len(joints)))


def explain(board: Board, joints: tuple[Joint, ...], bench: BenchFacts, ref: str) -> tuple[HeatExplanation, ...]:
    """Return the explanation of every joint of a part, the one that asks most first."""
    demands = heat_demand(board, joints, bench)
    scene = scene_of(board, joints, bench)
    places = [place for place, joint in enumerate(joints) if joint.ref == ref]
    places.sort(key=lambda place: -(demands[place].sort_c or 0.0))
    return tuple(explain_joint(scene, place, demands[place], bench) for place in places)


def measured(board: Board, joints: tuple[Joint, ...], bench: BenchFacts, tip: str, text: str) -> MeasuredJoint:
    """Return what a measured joint (`U3.4: 4 s at 350 C`, made with `tip`) changes, and the line that keeps it.

    Refuses a text that cannot be read, a tip nobody knows, a pin that is not on the board.
    """
    flowed = parse_flowed(text)
    tip_named(tip, bench)
    place = max(
        (n for n, joint in enumerate(joints) if f"{joint.ref}.{joint.pin}".upper() == flowed.pin.upper()),
        key=lambda n: joints[n].area_mm2,
        default=None,
    )
    if place is None:
        raise ReworkkitError("heat-flowed-no-such-pin", pin=flowed.pin)
    facts = bench.tips.get(tip, TipFacts(size=tip))
    with_it = replace(bench, tips={tip: replace(facts, flowed=(*facts.flowed, text))})
    without = replace(bench, tips={tip: facts})
    joint = joints[place]
    before, after = (_cold_band(heat_demand(board, joints, b)[place]) for b in (without, with_it))
    return MeasuredJoint(joint.ref, joint.pin, tip, flowed_line(tip, flowed), before, after)


def _cold_band(demand: HeatDemand) -> Band:
    """Return the range without preheat; open at the lower end where even that lies above what is ever printed."""
    bands = (band for setup, band in demand.settings if setup.preheat_c is None)
    return next(bands, Band(figure("setting_most").value, None, None, "C", BandBasis.P10_P90))


def heaviest(demands: tuple[HeatDemand, ...]) -> dict[str, HeatDemand]:
    """Return for every part the joint that asks most: it decides tip and place in the order."""
    found: dict[str, HeatDemand] = {}
    for demand in demands:
        known = found.get(demand.ref)
        if known is None or (demand.sort_c or 0.0) > (known.sort_c or 0.0):
            found[demand.ref] = demand
    return dict(sorted(found.items(), key=lambda item: natural_key(item[0])))


def first_pads(demands: tuple[HeatDemand, ...]) -> dict[str, str]:
    """Return for every surface part which pin to solder first: the one not on the plane, where pins differ clearly."""
    by_ref: dict[str, list[HeatDemand]] = {}
    for demand in demands:
        if demand.pin is not None and demand.sort_c is not None and demand.recommended is not None:
            by_ref.setdefault(demand.ref, []).append(demand)
    found = {}
    for ref, pins in by_ref.items():
        needs = [pin.sort_c or 0.0 for pin in pins]
        if max(needs) - min(needs) >= CLEAR_C:
            found[ref] = min(pins, key=lambda d: (d.sort_c or 0.0, natural_key(d.pin or ""))).pin or ""
    return found


class _Answers(NamedTuple):
    """Needs of one group of cases by set-up, and what they ask whatever the iron."""

    needs: tuple[tuple[str, int | None, float, Need, tuple[tuple[float, ...], ...]], ...]
    asked: tuple[Asked, ...]


def _by_dwell(scene: Scene, dwell_s: float, places: list[int]) -> dict[int, HeatDemand]:
    cases = tuple(dict.fromkeys(scene.cases[place] for place in places))
    row = {case: n for n, case in enumerate(cases)}
    answers = _answers(scene, model_of(cases), dwell_s)
    offers = [_offers(answers, n) for n in range(len(cases))]
    found = {}
    for place in places:
        joint, n = scene.joints[place], row[scene.cases[place]]
        allowed = allowed_setting(joint.kind, _kind(scene.board, joint.ref), scene.board.own_tables)
        found[place] = demand_of(joint, allowed, answers.asked[n], offers[n], joint.assumed + scene.assumed)
    return found


def _kind(board: Board, ref: str) -> str:
    said = board.facts.parts.get(ref)
    return said.kind if said is not None and said.kind else board.parts[ref].identity.kind


def _answers(scene: Scene, model: Model, dwell_s: float) -> _Answers:
    needs = []
    for preheat in (None, scene.preheat_c):
        around = figure("ambient").value if preheat is None else float(preheat)
        wish = alloy_wish(scene.solder, around, dwell_s)
        for tip in scene.tips:
            found = need(model, tip, wish, scene.beliefs.get(tip.name))
            times = settings_by(model, tip, wish, TIMES)
            needs.append((tip.name, preheat, around, found, tuple(map(tuple, times.T.tolist()))))
    return _Answers(tuple(needs), _asked(scene.solder, model, dwell_s))


def _asked(solder: Alloy, model: Model, dwell_s: float) -> tuple[Asked, ...]:
    wish = alloy_wish(solder, figure("ambient").value, dwell_s)
    rise = wish.joint_c - wish.around_c
    energy = rise * energy_to_hold(model.responses[0], dwell_s)
    hold = rise / model.responses[0].steady()[0]
    medium = settings_by(model, usual_tips()["medium"], wish, (dwell_s,))[0]
    warm = wish.around_c + rise * warmth(model.responses[0], dwell_s, np.array(DISTANCES_MM) / 1e3)
    around = [tuple(zip(DISTANCES_MM, map(float, row), strict=True)) for row in warm]
    return tuple(
        Asked(dwell_s, *row) for row in zip(energy.tolist(), hold.tolist(), medium.tolist(), around, strict=True)
    )


def _offers(answers: _Answers, n: int) -> tuple[Offer, ...]:
    return tuple(
        Offer(tip, preheat, around, float(found.low_c[n]), float(found.middle_c[n]), float(found.high_c[n]), times[n])
        for tip, preheat, around, found, times in answers.needs
    )
