"""From settings needed to what a person does: window, class, remedy, time as a band."""

import math
from typing import NamedTuple

from reworkkit.compute.heat_demand.figures import figure
from reworkkit.model.messages import Message, message
from reworkkit.model.results import HeatDemand, Joint, SetUp
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis, HeatBasis, HeatClass, JointKind
from reworkkit.tables import rows

STEP_C = 10
TIMES = (2.0, 5.0, 10.0)


class Offer(NamedTuple):
    """One set-up for one joint: setting needed [C] at its 10 % point, middle, 90 % point, and by the times [C]."""

    tip: str
    preheat_c: int | None
    around_c: float
    low_c: float
    middle_c: float
    high_c: float
    by_times_c: tuple[float, ...]


class Asked(NamedTuple):
    """What a joint asks, whatever the iron: energy [J] at its solder's heat over the dwell, power [W] to hold it."""

    dwell_s: float
    energy_j: float
    hold_w: float
    class_c: float
    warms_mm_c: tuple[tuple[float, float], ...] = ()


def demand_of(
    joint: Joint, allowed: float, asked: Asked, offers: tuple[Offer, ...], assumed: tuple[Message, ...]
) -> HeatDemand:
    """Return the demand of one joint; `allowed` is the hottest setting. None above 380 C leaves it but `sort_c`."""
    best, sure = _best(offers, allowed) if joint.kind is not JointKind.HIDDEN else (None, False)
    ordered = sorted(offers, key=lambda offer: offer is not best)
    most = figure("setting_most").value
    side = str(joint.side)
    return HeatDemand(
        joint.ref,
        joint.pin or None,
        asked.dwell_s,
        tuple((_setup(o, None, side), _band(o, most)) for o in ordered if o.low_c <= most),
        asked.energy_j,
        asked.hold_w,
        _class(joint, asked),
        True if sure else None if best is not None else False,
        _remedy(joint, offers, best, sure),
        HeatBasis.COMPUTED,
        assumed,
        allowed,
        None if best is None else _setup(best, _start(best, allowed), side),
        tuple(window for o in ordered if (window := _window(o, allowed, side)) is not None),
        () if best is None else _heats_in(best, _start(best, allowed)),
        asked.warms_mm_c,
        asked.class_c,
    )


def _class(joint: Joint, asked: Asked) -> HeatClass:
    """A pad no iron reaches is at least heavy: the whole part must be brought to heat."""
    found = class_for(asked.class_c)
    light = found in (HeatClass.LIGHT, HeatClass.MODERATE)
    return HeatClass.HEAVY if joint.kind is JointKind.HIDDEN and light else found


def class_for(needed_c: float) -> HeatClass:
    """Return the class of a joint from the setting [C] the usual medium tip needs without preheat."""
    reached = [r for r in rows("heat_classes") if r["rule"] == "needed" and needed_c > float(r["above"])]
    return HeatClass(max(reached, key=lambda row: float(row["above"]))["heat_class"]) if reached else HeatClass.LIGHT


def up(value_c: float) -> int:
    """Return a setting rounded up to a step of 10 C.

    >>> up(341.2), up(340.0)
    (350, 340)
    """
    return math.ceil(value_c / STEP_C - 1e-9) * STEP_C


def down(value_c: float) -> int:
    """Return a setting rounded down to a step of 10 C.

    >>> down(349.9)
    340
    """
    return math.floor(value_c / STEP_C + 1e-9) * STEP_C


def _best(offers: tuple[Offer, ...], allowed: float) -> tuple[Offer | None, bool]:
    """Return the set-up to start with and whether nine in ten would do: no preheat first, then the smaller tip."""
    cold = [o for o in offers if o.preheat_c is None]
    warm = [o for o in offers if o.preheat_c is not None]
    for group in (cold, warm):
        for offer in group:
            if up(offer.high_c) <= down(allowed):
                return offer, True
    for offer in sorted(offers, key=lambda o: o.middle_c):
        if up(offer.middle_c) <= down(allowed):
            return offer, False
    return None, False


def _start(offer: Offer, allowed: float) -> int:
    return min(up(offer.high_c), down(allowed))


def _setup(offer: Offer, setting_c: int | None, side: str) -> SetUp:
    return SetUp("iron", offer.tip, setting_c, offer.preheat_c, side)


def _band(offer: Offer, most: float) -> Band:
    """Return the range needed; ends above the highest setting are left open, never printed."""
    middle = offer.middle_c if offer.middle_c <= most else None
    high = offer.high_c if offer.high_c <= most else None
    return Band(offer.low_c, middle, high, "C", BandBasis.P10_P90)


def _window(offer: Offer, allowed: float, side: str) -> tuple[SetUp, int, int] | None:
    low, high = up(offer.middle_c), down(allowed)
    return (_setup(offer, None, side), low, high) if low <= high else None


def _remedy(joint: Joint, offers: tuple[Offer, ...], best: Offer | None, sure: bool) -> Message | None:
    if joint.kind is JointKind.HIDDEN:
        return message("heat-remedy-hidden")
    if best is None:
        return message("heat-remedy-bottom-heater", most=figure("preheat_most").value)
    if not sure:
        return message("heat-remedy-may-fail", preheat=figure("preheat").value)
    if best.preheat_c is not None:
        return message("heat-remedy-preheat", preheat=best.preheat_c)
    first = offers[0]
    return message("heat-remedy-bigger-tip", tip=best.tip) if best.tip != first.tip else None


def _heats_in(offer: Offer, setting_c: int) -> tuple[Message, ...]:
    """Return the time bands at best and at worst. The spread at the dwell's end is taken for all times."""
    middle = offer.middle_c - offer.around_c
    slugs = []
    for end in (offer.low_c, offer.high_c):
        factor = (end - offer.around_c) / middle
        slug = _time_slug([offer.around_c + (c - offer.around_c) * factor for c in offer.by_times_c], setting_c)
        slugs.append(slug)
    return tuple(dict.fromkeys(slugs))


def _time_slug(needed_c: list[float], setting_c: int) -> Message:
    if needed_c[0] <= setting_c:
        return message("heat-in-under-2-s")
    if needed_c[1] <= setting_c:
        return message("heat-in-2-to-5-s")
    return message("heat-in-5-to-10-s") if needed_c[2] <= setting_c else message("heat-in-over-10-s")
