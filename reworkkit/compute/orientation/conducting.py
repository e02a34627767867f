"""Rules for parts that are meant to conduct: series feeds and LEDs."""

import re

from reworkkit.compute.orientation.ends import (
    Bench,
    Need,
    Part2,
    at_least,
    is_negative,
    is_positive,
    low_floor,
    reaches_up,
)
from reworkkit.model.connections import CHIPS, OUTSIDE
from reworkkit.model.messages import message
from reworkkit.model.results import End

FEEDING_ROLES = re.compile(
    r"\bseries|\bor-?ing|\bblocking|^(?:input )?(?:reverse )?(?:polarity )?protection$|backup|rectif|verpol",
    re.IGNORECASE,
)
_LIGHTS_V = 1.2


def by_role(bench: Bench, part: Part2) -> Need | None:
    """The stated role says that it conducts: the anode is at the end that is above the other."""
    role = bench.wires.facts(part.ref).role or ""
    if not FEEDING_ROLES.search(role):
        return None
    if need := series_feed(bench, part):
        return need
    if "rectif" in role.casefold():
        return _rectifies(bench, part, role)
    for source, fed in part.ways:
        rules = _SOURCE_RULES if "blocking" not in role.casefold() else _SOURCE_RULES[:2]
        if _is_plug_alone(bench, fed, part.ref):
            continue
        if not any(rule(bench, source, fed) and not rule(bench, fed, source) for rule in rules):
            continue
        why = message("polarity-need-role-feeds", ref=part.ref, role=role, net=source.net)
        if is_negative(source) or is_negative(fed):
            return bench.cathode_at(part, source, why)
        return bench.first_at(part, source, why) if _is_above_ground(source, fed) else None
    return None


def _is_plug_alone(bench: Bench, end: End, ref: str) -> bool:
    """Return whether nothing but a plug is on a net: what comes from there is not known."""
    kinds = [bench.wires.kind(other) for other in bench.wires.refs_on(end.net, ref)]
    return bool(kinds) and all(kind in OUTSIDE or kind.startswith(("capacitor", "tvs")) for kind in kinds)


def _rectifies(bench: Bench, part: Part2, role: str) -> Need | None:
    """Return the need of a rectifier at one rail: it feeds that rail from the other end."""
    for source, rail in part.ways:
        if not _is_steady(rail) or _is_steady(source) or source.kind == "ground":
            continue
        why = message("polarity-need-role-feeds", ref=part.ref, role=role, net=source.net)
        below = rail.high_v is not None and rail.high_v <= 0
        return bench.cathode_at(part, source, why) if below else bench.first_at(part, source, why)
    return None


def _is_steady(end: End) -> bool:
    """Return whether a net keeps one sign, so that it can be what a rectifier feeds."""
    if end.low_v is None or end.high_v is None or end.kind not in ("rail", "made", "range"):
        return False
    return end.low_v >= 0 or end.high_v <= 0


def _is_above_ground(source: End, fed: End) -> bool:
    """Return whether what is carried over is positive: one of the ends is never below ground."""
    return any(end.low_v is not None and end.low_v >= 0 for end in (source, fed))


def _is_fed_alone(bench: Bench, source: End, fed: End) -> bool:
    if fed.fed_by_diodes and not (source.fed or source.maker):
        return False
    return source.alive and not fed.may_be_fed and "ground" not in (source.kind, fed.kind)


def _is_fed_by_diodes_alone(bench: Bench, source: End, fed: End) -> bool:
    feeds_itself = source.may_be_fed or fed.may_be_fed
    return source.alive and not fed.fed_by_diodes and not feeds_itself and fed.kind != "ground"


def _drives(bench: Bench, source: End, fed: End) -> bool:
    """Return whether a signal comes from outside or from a chip at one end and none at the other."""
    if fed.may_be_fed or fed.kind in ("ground", "rail"):
        return False
    kinds = {bench.wires.kind(ref) for ref in bench.wires.refs_on(source.net)}
    far = {bench.wires.kind(ref) for ref in bench.wires.refs_on(fed.net)}
    return bool(kinds & (OUTSIDE | CHIPS)) and not far & (OUTSIDE | CHIPS | _STORES)


_STORES = frozenset({"supercapacitor", "capacitor_aluminium_electrolytic", "capacitor_tantalum"})
_SOURCE_RULES = (_is_fed_alone, _is_fed_by_diodes_alone, _drives)


def series_feed(bench: Bench, part: Part2) -> Need | None:
    """One end has power without the part, the other is there to be fed and has none: the part brings it over."""
    ways = [(fed, dead) for fed, dead in part.ways if _feeds(fed, dead)]
    if len(ways) != 1:
        return None
    fed, dead = ways[0]
    why = message("polarity-need-feed", ref=part.ref, fed=fed.net, dead=dead.net)
    return bench.cathode_at(part, fed, why) if is_negative(fed) else bench.first_at(part, fed, why)


def _feeds(fed: End, dead: End) -> bool:
    if not fed.alive or "both" in (fed.kind, dead.kind) or "ground" in (fed.kind, dead.kind):
        return False
    if not dead.load or dead.may_be_fed or dead.fed:
        return False
    if dead.from_other:
        return False
    if dead.fed_by_diodes and not (fed.fed or fed.maker):
        return False
    if is_negative(fed):
        return low_floor(dead) < 0
    return low_floor(fed) >= 0 and reaches_up(dead) > 0


def lights(bench: Bench, part: Part2) -> Need | None:
    """An LED can light one way only: its anode is at the end that can be above, and is never below, the other."""
    for high, low in part.ways:
        if (
            at_least(high, low)
            and "both" not in (high.kind, low.kind)
            and reaches_up(high) - low_floor(low) > _LIGHTS_V
        ):
            slug = "polarity-need-plus-high" if part.is_plus else "polarity-need-lights"
            return bench.first_at(part, high, message(slug, ref=part.ref, high=high.net, low=low.net))
    return None


def sunk(bench: Bench, part: Part2) -> Need | None:
    """An LED between a positive rail, or a resistor from one, and a pin of a chip that stays above ground."""
    for high, low in part.ways:
        held_up = high.static and high.low_v is not None and high.low_v > _LIGHTS_V
        chips = [ref for ref in bench.wires.refs_on(low.net, part.ref) if bench.wires.kind(ref) in CHIPS]
        if (held_up or (is_positive(high) and high.kind == "rail")) and chips and low.kind == "derived":
            beyond = [net for ref in chips for net in bench.wires.nets(ref)]
            rails = set(high.derived_from) | {high.net}
            if low.low_v is not None and low.low_v >= 0 and rails & set(beyond):
                return bench.first_at(
                    part, high, message("polarity-need-lights", ref=part.ref, high=high.net, low=low.net)
                )
    return None


def switched(bench: Bench, part: Part2) -> Need | None:
    """An LED between a resistor from a positive rail and a switch to ground lights when the switch is on."""
    for high, low in part.ways:
        held_up = high.static and high.low_v is not None and high.low_v > 0
        if (held_up or is_positive(high)) and low.pulled_low and not low.pulled_high and low.kind != "ground":
            why = message("polarity-need-switched", ref=part.ref, high=high.net, low=low.net)
            return bench.first_at(part, high, why)
    return None


def opposed_pair(bench: Bench, part: Part2) -> Need | None:
    """Two LEDs across the same two nets light by turns: only that they oppose each other is known."""
    for ref in bench.wires.between(part.a.net, part.b.net):
        if ref != part.ref and bench.wires.kind(ref) == "led" and len(bench.wires.nets(ref)) == 2:
            return Need({}, message("polarity-open-opposed", ref=part.ref, other=ref))
    return None
