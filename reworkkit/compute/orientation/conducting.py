"""Rules for parts that are meant to conduct: series feeds and LEDs."""

import re

from reworkkit.compute.orientation.ends import (
    DROP_V,
    EQUAL_V,
    Bench,
    Need,
    Part2,
    at_least,
    is_negative,
    is_positive,
    low_floor,
    reaches_up,
)
from reworkkit.model.connections import CHIPS, GENERAL_DIODES, LINKS, OUTSIDE, TRANSISTORS, WINDINGS
from reworkkit.model.messages import message
from reworkkit.model.results import End

FEEDING_ROLES = re.compile(
    r"\bseries|\bor-?ing|\bblocking|\bblocks back|\bcharges|reverse.?(?:polarity|battery)|backup|rectif|verpol"
    r"|^(?:input )?(?:reverse )?(?:polarity )?protection$",
    re.IGNORECASE,
)
_LIGHTS_V = 1.2


def by_role(bench: Bench, part: Part2) -> Need | None:
    """The stated role says that it conducts: the anode is at the end that is above the other."""
    role = bench.said(part.ref)
    if not FEEDING_ROLES.search(role):
        return None
    if need := series_feed(bench, part):
        return need
    if "rectif" in role.casefold():
        return _rectifies(bench, part, role)
    if need := _holds_back(bench, part, role) or _towards_common(bench, part, role) or _at_plug(bench, part, role):
        return need
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


def _holds_back(bench: Bench, part: Part2, role: str) -> Need | None:
    """Return the need of a diode said to block what comes back from, or into, the side that has power or a plug."""
    found = re.search(r"back.?feed(?:ing)? (from|into|to)\b|back (from|into|to)\b", role, re.IGNORECASE)
    if found is None or "ground" in (part.a.kind, part.b.kind):
        return None
    outer = [end for end in (part.a, part.b) if end.fed] or [
        end for end in (part.a, part.b) if bench.has(end.net, OUTSIDE, part.ref)
    ]
    if len(outer) != 1:
        return None
    other = part.b if outer[0] is part.a else part.a
    source = other if "from" in (found[1], found[2]) else outer[0]
    why = message("polarity-need-role-feeds", ref=part.ref, role=role, net=source.net)
    return bench.first_at(part, source, why) if _is_above_ground(part.a, part.b) else None


def _towards_common(bench: Bench, part: Part2, role: str) -> Need | None:
    """Diodes said to be OR-ing meet at the net they feed."""
    if not re.search(r"\bor-?ing|backup", role, re.IGNORECASE):
        return None
    met = [end for end in (part.a, part.b) if _others_or(bench, end, part.ref)]
    if len(met) != 1 or met[0].kind == "ground":
        return None
    common = met[0]
    source = part.b if common is part.a else part.a
    why = message("polarity-need-role-feeds", ref=part.ref, role=role, net=source.net)
    if is_negative(common) or is_negative(source):
        return bench.cathode_at(part, source, why)
    return bench.first_at(part, source, why) if _is_above_ground(source, common) else None


def _others_or(bench: Bench, end: End, ref: str) -> bool:
    roles = [bench.said(other) for other in bench.wires.refs_on(end.net, ref)]
    return any(re.search(r"\bor-?ing|backup", role, re.IGNORECASE) for role in roles)


def _at_plug(bench: Bench, part: Part2, role: str) -> Need | None:
    """A protecting diode at a plug lets power in; a blocking one lets it out to plug or store, in from a supply."""
    protects = re.search("protect|verpol", role, re.IGNORECASE)
    if protects and part.a.fed != part.b.fed and "ground" not in (part.a.kind, part.b.kind):
        fed = part.a if part.a.fed else part.b
        why = message("polarity-need-role-feeds", ref=part.ref, role=role, net=fed.net)
        return bench.first_at(part, fed, why) if low_floor(fed) >= 0 else None
    ends = [(end, other) for end, other in part.ways if _is_outer(bench, end.net, part.ref)]
    if len(ends) != 1 or "ground" in (part.a.kind, part.b.kind):
        return None
    outer, inner = ends[0]
    if outer.kind in ("rail", "made") and outer.net not in bench.wires.board.facts.supplies:
        return None
    if low_floor(outer) < -EQUAL_V or (inner.low_v is not None and inner.low_v < -DROP_V):
        return None
    why = message("polarity-need-role-feeds", ref=part.ref, role=role, net=outer.net)
    if protects or outer.net in bench.wires.board.facts.supplies:
        return bench.first_at(part, outer, why)
    if re.search("block", role, re.IGNORECASE) and not inner.load:
        why = message("polarity-need-role-feeds", ref=part.ref, role=role, net=inner.net)
        return bench.first_at(part, inner, why)
    return None


def _is_outer(bench: Bench, net: str, ref: str) -> bool:
    """Return whether a plug or a store is on a net, or behind a fuse or coil."""
    linked = [
        far
        for other in bench.wires.refs_on(net, ref)
        if bench.wires.kind(other) in LINKS
        for far in bench.wires.through(other, net)
    ]
    return any(bench.has(one, _OUTER, ref) for one in (net, *linked))


_OUTER = OUTSIDE | {"supercapacitor"}


def _is_plug_alone(bench: Bench, end: End, ref: str) -> bool:
    """Return whether nothing but a plug is on a net: what comes from there is not known."""
    kinds = [bench.wires.kind(other) for other in bench.wires.refs_on(end.net, ref)]
    return bool(kinds) and all(kind in OUTSIDE or kind.startswith(("capacitor", "tvs")) for kind in kinds)


def _rectifies(bench: Bench, part: Part2, role: str) -> Need | None:
    """Return the need of a rectifier at one rail: it feeds that rail from the other end."""
    for source, rail in part.ways:
        if not _is_steady(rail) or _is_steady(source) or source.kind == "ground" or bench.has(rail.net, _MOVING):
            continue
        why = message("polarity-need-role-feeds", ref=part.ref, role=role, net=source.net)
        below = rail.high_v is not None and rail.high_v <= 0
        return bench.cathode_at(part, source, why) if below else bench.first_at(part, source, why)
    return None


_CONVERTS = frozenset({"inductor", "switching_regulator", "transformer"})
_MOVING = TRANSISTORS | {"inductor", "transformer", "switching_regulator"}


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
    if fed.store and bench.has(source.net, _CELLS) and bench.has(fed.net, frozenset({"inductor"})):
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
    ways = [(fed, dead) for fed, dead in part.ways if _feeds(bench, fed, dead)]
    if len(ways) != 1:
        return None
    fed, dead = ways[0]
    why = message("polarity-need-feed", ref=part.ref, fed=fed.net, dead=dead.net)
    return bench.cathode_at(part, fed, why) if is_negative(fed) else bench.first_at(part, fed, why)


def _is_output(bench: Bench, end: End) -> bool:
    """Return whether a coil brings a net what a switching regulator makes."""
    coils = [ref for ref in bench.wires.refs_on(end.net) if bench.wires.kind(ref) == "inductor"]
    far = [net for ref in coils for net in bench.wires.beyond(ref, end.net)]
    return any(bench.has(net, frozenset({"switching_regulator"})) for net in far)


def _feeds(bench: Bench, fed: End, dead: End) -> bool:
    if not fed.alive or "both" in (fed.kind, dead.kind) or "ground" in (fed.kind, dead.kind):
        return False
    empty = dead.store and not dead.alive and not dead.fed_by_diodes and not bench.has(dead.net, _CONVERTS)
    waits = dead.load or empty
    if not waits or dead.may_be_fed or dead.fed:
        return False
    if dead.from_other:
        return False
    if dead.fed_by_diodes and not (fed.fed or fed.maker or fed.may_be_fed or _is_output(bench, fed)):
        return False
    if is_negative(fed):
        return low_floor(dead) < 0
    return low_floor(fed) >= 0 and reaches_up(dead) > 0


def lights(bench: Bench, part: Part2) -> Need | None:
    """An LED can light one way only: its anode is at the end that can be above, and is never below, the other."""
    for high, low in part.ways:
        if (
            (at_least(high, low) or _dips(high, low))
            and "both" not in (high.kind, low.kind)
            and reaches_up(high) - low_floor(low) > _LIGHTS_V
        ):
            slug = "polarity-need-plus-high" if part.is_plus else "polarity-need-lights"
            return bench.first_at(part, high, message(slug, ref=part.ref, high=high.net, low=low.net))
    return None


def lights_by_range(bench: Bench, part: Part2) -> Need | None:
    """Of two stated ranges one lies higher at both ends: an LED that lights now and then has its anode there."""
    known = all(end.kind in ("range", "rail", "ground", "made") for end in (part.a, part.b))
    if not known or any(bench.has(end.net, WINDINGS, part.ref) for end in (part.a, part.b)):
        return None
    for high, low in part.ways:
        least, most = low_floor(high) - low_floor(low), reaches_up(high) - reaches_up(low)
        if least >= -EQUAL_V and most >= -EQUAL_V and least + most > _LIGHTS_V:
            return bench.first_at(
                part, high, message("polarity-need-lights-range", ref=part.ref, high=high.net, low=low.net)
            )
    return None


def _dips(high: End, low: End) -> bool:
    """Return whether a net only falls below the other by the drop of a diode, and clearly rises above it."""
    if high.low_v is None or low.high_v is None or low.kind != "ground":
        return False
    return high.low_v >= low.high_v - DROP_V and reaches_up(high) - low.high_v > 3 * DROP_V


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
        held_up = (high.static and high.low_v is not None and high.low_v > 0) or bench.pull(high.net, part.ref) == "up"
        by_coil = bench.has(low.net, WINDINGS, part.ref)
        one_way = low.pulled_low and (by_coil or not low.pulled_high)
        if (held_up or is_positive(high)) and one_way and low.kind != "ground":
            why = message("polarity-need-switched", ref=part.ref, high=high.net, low=low.net)
            return bench.first_at(part, high, why)
    return None


def driven_one_way(bench: Bench, part: Part2) -> Need | None:
    """An LED at a net that transistors can only pull up, or only pull down, lights when they do."""
    for one, other in part.ways:
        if any(end.kind in ("ground", "rail", "made", "both") for end in (one, other)) or bench.has(one.net, WINDINGS):
            continue
        if not bench.has(one.net, TRANSISTORS, part.ref):
            continue
        why, pull = message("polarity-need-driven", ref=part.ref, net=one.net), bench.pull(other.net, part.ref)
        if one.pulled_high and not one.pulled_low and not other.pulled_high and pull != "up":
            return bench.first_at(part, one, why)
        if one.pulled_low and not one.pulled_high and not other.pulled_low and pull != "down":
            return bench.first_at(part, other, why)
    return None


def opposed_pair(bench: Bench, part: Part2) -> Need | None:
    """Two LEDs across the same two nets light by turns: only that they oppose each other is known."""
    for ref in bench.wires.between(part.a.net, part.b.net):
        if ref != part.ref and bench.wires.kind(ref) == "led" and len(bench.wires.nets(ref)) == 2:
            return Need({}, message("polarity-open-opposed", ref=part.ref, other=ref))
    return None


def drops(bench: Bench, part: Part2) -> Need | None:
    """Between two positive rails a diode's drop apart, the lower with no feed of its own: it feeds the lower."""
    for high, low in part.ways:
        volts = _rail_volts(bench, high, part.ref)
        if volts is None or low.kind != "rail" or (low.low_v or 0.0) <= 0:
            continue
        apart = volts - (low.low_v or 0.0)
        supplies = bench.wires.board.facts.supplies
        own = low.fed or low.maker or bench.has(low.net, frozenset({"inductor"}), part.ref)
        supplied = high.net in supplies and low.net not in supplies and -EQUAL_V <= apart <= _SUPPLY_DROP_V
        if supplied or (high.fed and not own and -EQUAL_V <= apart <= _NEAR_V):
            return bench.first_at(part, high, message("polarity-need-feed", ref=part.ref, fed=high.net, dead=low.net))
        if _LEAST_DROP_V <= apart <= _MOST_DROP_V and not own and high.alive:
            why = message("polarity-need-feed", ref=part.ref, fed=high.net, dead=low.net)
            return bench.first_at(part, high, why)
    return None


def refeeds(bench: Bench, part: Part2) -> Need | None:
    """From a stated supply to a net with loads whose stated range lies about it: the supply feeds that net."""
    supplies = bench.wires.board.facts.supplies
    for source, fed in part.ways:
        if source.net not in supplies or fed.net in supplies or fed.kind != "range" or not fed.load:
            continue
        volts, low, high = source.low_v, fed.low_v, fed.high_v
        if volts is None or low is None or high is None or volts <= 0 or bench.has(fed.net, _FEEDERS, part.ref):
            continue
        if _LOW_SHARE * volts <= low <= volts <= high + _MOST_DROP_V and low > 0:
            why = message("polarity-need-feed", ref=part.ref, fed=source.net, dead=fed.net)
            return bench.first_at(part, source, why)
    return None


_FEEDERS = frozenset({"inductor", "battery", "battery_holder", "transformer"})
_LOW_SHARE = 0.75


def _only_passes(bench: Bench, net: str, ref: str) -> bool:
    """Return whether only resistors, links and capacitors are on a net."""
    kinds = [bench.wires.kind(other) for other in bench.wires.refs_on(net, ref)]
    return all(kind in LINKS | {"resistor", "test_point"} or kind.startswith("capacitor") for kind in kinds)


def _rectifies_alone(bench: Bench, part: Part2, source: End, rail: End) -> bool:
    """Return whether a supply is stated, or no other diode brings a plug to the rail, or the source is a wave."""
    if bench.wires.board.facts.supplies or source.kind == "both" or bench.has(source.net, GENERAL_DIODES, part.ref):
        return True
    others = [ref for ref in bench.wires.refs_on(rail.net, part.ref) if bench.wires.kind(ref) in GENERAL_DIODES]
    return not any(bench.has(far, OUTSIDE) for ref in others for far in bench.wires.beyond(ref, rail.net))


_CELLS = frozenset({"battery", "battery_holder", "transformer"})
_LEAST_DROP_V, _MOST_DROP_V, _SUPPLY_DROP_V, _NEAR_V = 0.1, 1.3, 0.75, 0.3


def _rail_volts(bench: Bench, end: End, ref: str) -> float | None:
    """Return the voltage of a positive rail, or of one that a fuse or coil joins to it; None where there is none."""
    if end.kind == "rail":
        return end.low_v if (end.low_v or 0.0) > 0 else None
    if end.kind != "sign" or not end.fed:
        return None
    for other in bench.wires.refs_on(end.net, ref):
        if bench.wires.kind(other) in LINKS:
            for far in bench.wires.through(other, end.net):
                band = bench.levels[far].band_v if far in bench.levels else None
                if band and band.nominal is not None and band.nominal > 0:
                    return band.nominal
    return None


def from_outside(bench: Bench, part: Part2) -> Need | None:
    """A rail that nothing but diodes feeds gets its power from the plug or winding on the other side."""
    for source, rail in part.ways:
        if (
            not bench.grounded
            or source.kind not in ("unknown", "both", "range", "derived")
            or rail.may_be_fed
            or rail.fed
            or rail.from_other
        ):
            continue
        behind = source.may_be_fed and _only_passes(bench, source.net, part.ref)
        wound = bench.has(source.net, frozenset({"transformer"}), part.ref) and not source.store
        outside = bench.has(source.net, OUTSIDE, part.ref) or wound or behind
        cell = bench.has(source.net, _CELLS, part.ref) or source.static
        if not rail.load or not outside or (rail.alive and not cell):
            continue
        if not _rectifies_alone(bench, part, source, rail):
            continue
        why = message("polarity-need-rectifier", ref=part.ref, net=source.net, rail=rail.net)
        if is_positive(rail):
            return bench.first_at(part, source, why)
        if is_negative(rail):
            return bench.cathode_at(part, source, why)
    return None
