"""Rules for parts that hold a voltage off: capacitors, Zener diodes, suppressors, clamps, flyback and catch diodes."""

import re
from collections.abc import Iterator

from reworkkit.compute.orientation.ends import (
    CLEAR_V,
    DROP_V,
    Bench,
    Need,
    Part2,
    at_least,
    clearly_above,
    is_negative,
    is_positive,
    low_floor,
    mostly_above,
    reaches_up,
)
from reworkkit.compute.orientation.transistors import npn
from reworkkit.model.connections import BREAKDOWN, CHIPS, GENERAL_DIODES, OUTSIDE, TRANSISTORS, WINDINGS
from reworkkit.model.messages import message
from reworkkit.model.results import End

BLOCKING_ROLES = re.compile(
    r"fly ?back|free ?wheel|\bcatch|\bclamp(?!.*rectif)|suppress|back-?feed|reverse voltage|blows|crowbar"
    r"|demagneti|surge|transient|ESD|over-?voltage|freilauf|klemm|überspannung",
    re.IGNORECASE,
)
"""Words for what a diode that blocks in normal work is there for. A "blocking diode" of the trade conducts."""
_COILS = WINDINGS - {"transformer", "buzzer"}


def holds_off(bench: Bench, part: Part2) -> Need | None:
    """The end that is never below the other has plus or cathode."""
    for high, low in part.ways:
        above = at_least(high, low, DROP_V) or (part.is_plus and clearly_above(high, low))
        if above and "both" not in (high.kind, low.kind):
            slug = "polarity-need-plus-high" if part.is_plus else "polarity-need-cathode-high"
            why = message(slug, ref=part.ref, high=high.net, low=low.net)
            return bench.first_at(part, high, why) if part.is_plus else bench.cathode_at(part, high, why)
    return None


def mostly(bench: Bench, part: Part2) -> Need | None:
    """As above, where the stated ranges overlap by no more than people round them."""
    for high, low in part.ways:
        if part.is_plus and mostly_above(high, low):
            why = message("polarity-need-plus-mostly", ref=part.ref, high=high.net, low=low.net)
            return bench.first_at(part, high, why)
    return None


def against_wave(bench: Bench, part: Part2) -> Need | None:
    """Against an alternating net, which is as much above ground as below, the sign of the other net counts."""
    for wave, steady in part.ways:
        if wave.kind != "both" or steady.kind not in ("rail", "made", "range"):
            continue
        low, high = low_floor(steady), reaches_up(steady)
        if low >= -DROP_V and high > 3 * DROP_V:
            return bench.first_at(
                part, steady, message("polarity-need-mean", ref=part.ref, high=steady.net, low=wave.net)
            )
        if high <= DROP_V and low < -3 * DROP_V:
            return bench.first_at(
                part, wave, message("polarity-need-mean", ref=part.ref, high=wave.net, low=steady.net)
            )
    return None


def averages(bench: Bench, part: Part2) -> Need | None:
    """A coil drops nothing on average: a net behind one has the mean of the net before it."""
    means = [(end, _mean(bench, end)) for end in (part.a, part.b)]
    for (high, high_v), (low, low_v) in (means, means[::-1]):
        if high_v is not None and low_v is not None and high_v > low_v + CLEAR_V / 2:
            return bench.first_at(part, high, message("polarity-need-mean", ref=part.ref, high=high.net, low=low.net))
    return None


def _mean(bench: Bench, end: End) -> float | None:
    """Return the mean of a net: its own level where it is fixed, else that of the net behind a coil."""
    if end.kind in ("rail", "made", "ground"):
        return end.low_v
    coils = [ref for ref in bench.wires.refs_on(end.net) if bench.wires.kind(ref) == "inductor"]
    for net in (other for ref in coils for other in bench.wires.beyond(ref, end.net)):
        band = bench.levels[net].band_v
        if band and band.nominal is not None:
            return band.nominal
    return None


def flying(bench: Bench, part: Part2) -> Need | None:
    """A pump capacitor stands between two pins of one chip that are called after its ends; an output below ground."""
    for ref in bench.wires.between(part.a.net, part.b.net):
        roles = bench.potentials.roles.get(ref, {})
        pins = {pin.net: roles.get(pin.number, "") for pin in bench.wires.pins(ref)}
        for high, low in part.ways:
            if (pins.get(high.net), pins.get(low.net)) in (("C+", "C-"), ("C2+", "C2-"), ("POS", "V+"), ("BOOT", "SW")):
                return bench.first_at(part, high, message("polarity-need-flying", ref=part.ref, chip=ref, net=high.net))
    return None


def by_role(bench: Bench, part: Part2) -> Need | None:
    """The stated role says that it blocks: the cathode is at the positive rail, or away from ground."""
    role = bench.said(part.ref)
    if not BLOCKING_ROLES.search(role) or re.search("blocks back", role, re.IGNORECASE) or _in_chain(bench, part):
        return None
    if re.search("back-?feed", role, re.IGNORECASE):
        return _from_output(bench, part, role)
    if need := holds_off(bench, part):
        return need
    if need := would_short(bench, part):
        return need
    for one, other in part.ways:
        why = message("polarity-need-role-blocks", ref=part.ref, role=role, net=one.net)
        plain = part.kind in GENERAL_DIODES
        if plain and is_positive(one) and not is_positive(other) and low_floor(other) <= reaches_up(one):
            return bench.cathode_at(part, one, why)
        if one.kind == "ground" and _may_be_above(bench, other):
            why = message("polarity-need-role-blocks", ref=part.ref, role=role, net=other.net)
            return bench.cathode_at(part, other, why) if other.kind != "both" else None
    return None


def _may_be_above(bench: Bench, end: End) -> bool:
    """Return whether a net is above ground by what is known, or nothing tells of one below."""
    if end.low_v is None:
        return not is_negative(end) and bench.above_ground(end)
    return end.low_v >= -DROP_V


def _in_chain(bench: Bench, part: Part2) -> bool:
    """Return whether just one other diode is on one of the nets: the two work as one."""
    for end in (part.a, part.b):
        kinds = [bench.wires.kind(ref) for ref in bench.wires.refs_on(end.net, part.ref)]
        if len(kinds) == 1 and kinds[0] in GENERAL_DIODES | BREAKDOWN:
            return True
    return False


def _from_output(bench: Bench, part: Part2, role: str) -> Need | None:
    """Back from the output of a regulator to its input: the end that has power without the other is the input."""
    for supply, out in part.ways:
        why = message("polarity-need-role-blocks", ref=part.ref, role=role, net=supply.net)
        if supply.alive and not (out.alive or out.fed_by_diodes) and low_floor(supply) >= 0:
            return bench.cathode_at(part, supply, why)
        if at_least(supply, out):
            return bench.cathode_at(part, supply, why)
    return None


def would_short(bench: Bench, part: Part2) -> Need | None:
    """Forward it would join a positive rail to ground through a switch, a winding or nothing at all."""
    for high, low in part.ways:
        if high.kind == "ground" and is_negative(low):
            return bench.cathode_at(
                part, high, message("polarity-need-short", ref=part.ref, high=high.net, low=low.net)
            )
    shorts = [(high, low) for high, low in part.ways if high.pulled_high and low.pulled_low]
    if len(shorts) != 1:
        return None
    high, low = shorts[0]
    return bench.cathode_at(part, high, message("polarity-need-short", ref=part.ref, high=high.net, low=low.net))


def across_coil(bench: Bench, part: Part2) -> Need | None:
    """Across a coil whose one end is a positive rail: it takes over the current when the coil is switched off."""
    coils = _coils(bench, part.a.net, part.b.net)
    for rail, other in part.ways:
        if coils and is_positive(rail) and not is_positive(other) and low_floor(other) < reaches_up(rail):
            why = message("polarity-need-coil", ref=part.ref, coil=coils[0], net=rail.net)
            return bench.cathode_at(part, rail, why)
    return None


def _coils(bench: Bench, one: str, other: str) -> list[str]:
    """Return the windings between two nets."""
    found = [ref for ref in bench.wires.between(one, other) if bench.wires.kind(ref) in _COILS]
    return [ref for ref in found if other in bench.wires.through(ref, one)]


def in_pair_across_coil(bench: Bench, part: Part2) -> Need | None:
    """A diode and a breakdown diode in series across a coil oppose each other; the plain one faces the rail."""
    plain = part.kind in GENERAL_DIODES
    for middle, outer in part.ways:
        refs = list(bench.wires.refs_on(middle.net, part.ref))
        if len(refs) != 1 or bench.wires.kind(refs[0]) not in (BREAKDOWN if plain else GENERAL_DIODES):
            continue
        for far in bench.wires.beyond(refs[0], middle.net):
            coil = _coils(bench, outer.net, far)
            if coil and (rail := _rail_of(bench, outer, far)):
                why = message("polarity-need-opposes", ref=part.ref, other=refs[0], coil=coil[0])
                return bench.cathode_at(part, outer if (rail == outer.net) is plain else middle, why)
    return None


def _rail_of(bench: Bench, outer: End, far: str) -> str | None:
    """Return which of the two ends of a coil is the positive rail, where just one is."""
    band = bench.levels[far].band_v if far in bench.levels else None
    far_positive = bool(band and band.nominal is not None and band.nominal > 0)
    if is_positive(outer) == far_positive:
        return None
    return outer.net if is_positive(outer) else far


def gate(bench: Bench, part: Part2) -> Need | None:
    """Between gate and source: the cathode at the gate of an n-channel type, at the source of a p-channel one.

    A small resistor that senses the current may stand between the source and the diode.
    """
    for one, other in part.ways:
        for ref in bench.wires.refs_on(one.net, part.ref):
            roles = {pin.net: bench.role(ref, pin.number) for pin in bench.wires.pins(ref)}
            source = next((net for net, role in roles.items() if role == "S"), None)
            if roles.get(one.net) != "G" or not source or not (channel := bench.channel(ref)):
                continue
            if source == other.net or _senses(bench, source, other.net):
                why = message("polarity-need-gate", ref=part.ref, transistor=ref, channel=channel)
                return bench.cathode_at(part, one if channel == "n" else other, why)
    return None


def _senses(bench: Bench, one: str, other: str) -> bool:
    return any(
        bench.wires.kind(ref) == "resistor" and (bench.wires.ohms(ref) or _SENSE_OHM) < _SENSE_OHM
        for ref in bench.wires.between(one, other)
    )


_SENSE_OHM = 10.0


def into_base(bench: Bench, part: Part2) -> Need | None:
    """In front of a base it lets current through above its voltage only: into an NPN type, out of a PNP one."""
    for base, other in part.ways:
        if other.kind == "ground" or is_negative(other) or base.kind in ("ground", "rail", "made", "sign"):
            continue
        pins = [pin for pin in bench.wires.on(base.net) if pin.ref != part.ref]
        driven = [pin.ref for pin in pins if bench.wires.kind(pin.ref) in TRANSISTORS]
        rest = {bench.wires.kind(pin.ref) for pin in pins if pin.ref not in driven}
        quiet = all(kind in ("resistor", "test_point") or kind.startswith("capacitor") for kind in rest)
        if len(driven) != 1 or not quiet or (is_npn := npn(bench.wires, driven[0])) is None:
            continue
        roles = {pin.net: bench.role(driven[0], pin.number) for pin in bench.wires.pins(driven[0])}
        if any(roles.get(net) != "E" and not (is_npn and _is_ground(bench, net)) for net in _leads(bench, base, part)):
            continue
        if roles.get(base.net) == "B" and roles.get(other.net) != "E" and _may_be_above(bench, other):
            why = message("polarity-need-into-base", ref=part.ref, transistor=driven[0], net=base.net)
            return bench.cathode_at(part, other if is_npn else base, why)
    return None


def _leads(bench: Bench, end: End, part: Part2) -> Iterator[str]:
    """Yield the far ends of the resistors on a net."""
    for ref in bench.wires.refs_on(end.net, part.ref):
        if bench.wires.kind(ref) == "resistor":
            yield from bench.wires.beyond(ref, end.net)


def _is_ground(bench: Bench, net: str) -> bool:
    level = bench.levels.get(net)
    return bool(level and level.why.slug == "potential-ground")


def two_rails(bench: Bench, part: Part2) -> Need | None:
    """Between two rails that each have their own feed it never conducts: the cathode is at the higher."""
    for high, low in part.ways:
        if at_least(high, low) and low.fed and high.alive and low.kind in ("rail", "made"):
            return bench.cathode_at(
                part, high, message("polarity-need-rails", ref=part.ref, high=high.net, low=low.net)
            )
    return None


def against_driver(bench: Bench, part: Part2) -> Need | None:
    """Between a signal that a chip or switch drives and a rail: it clamps; forward the driver would work against it."""
    for high, low in part.ways:
        signal, rail = (high, low) if low.kind == "ground" else (low, high)
        if not at_least(high, low) or not (rail.kind == "ground" or is_positive(rail)):
            continue
        if signal.kind == "derived" and signal.driven and _is_signal(bench, signal, part.ref):
            return bench.cathode_at(
                part, high, message("polarity-need-clamp", ref=part.ref, net=signal.net, rail=rail.net)
            )
    return None


_OUTER = OUTSIDE | WINDINGS | TRANSISTORS | {"switch", "optocoupler", "opamp", "potentiometer"}
"""What may bring to a net more than a chip's own pins: without it a diode there has nothing to clamp."""


def _is_signal(bench: Bench, end: End, ref: str) -> bool:
    """Return whether a net is no supply: something else than chips and small capacitors is on it, and no load."""
    if end.load or not bench.has(end.net, _OUTER, ref):
        return False
    kinds = [bench.wires.kind(other) for other in bench.wires.refs_on(end.net, ref)]
    chips = [kind for kind in kinds if kind in ("ic", "microcontroller", "opamp", "optocoupler", "module")]
    others = [kind for kind in kinds if not kind.startswith("capacitor") and kind != "test_point"]
    biased = any(kind.startswith("transistor") for kind in kinds) and not chips
    return len(others) >= 2 and not biased


def against_stated(bench: Bench, part: Part2) -> Need | None:
    """The stated range of a net could not stand if the diode conducted."""
    for high, low in part.ways:
        ranged = "range" in (high.kind, low.kind)
        if not ranged or not at_least(high, low, DROP_V) or "both" in (high.kind, low.kind):
            continue
        up = low.kind == "ground" and reaches_up(high) > CLEAR_V and not _only_by_diode(high)
        held = low.may_be_fed or low.driven
        down = is_positive(high) and high.alive and held and low_floor(low) <= CLEAR_V / 2 and not _only_by_diode(low)
        up, down = up and not _is_only_pulled(bench, high, part.ref), down and not bench.has(low.net, _STORES, part.ref)
        if up or down:
            return bench.cathode_at(
                part, high, message("polarity-need-stated", ref=part.ref, high=high.net, low=low.net)
            )
    return None


_STORES = frozenset({"supercapacitor", "battery", "battery_holder"})
"""What a diode may charge as well as hold off: a range up to the rail then tells nothing."""


def _is_only_pulled(bench: Bench, end: End, ref: str) -> bool:
    """Return whether resistors from rails alone bring anything to a net that a chip reads: a sensor may stand there."""
    kinds = {bench.wires.kind(other) for other in bench.wires.refs_on(end.net, ref)}
    quiet = {kind for kind in kinds if kind.startswith("capacitor") or kind == "test_point"}
    return "resistor" in kinds and kinds - quiet <= CHIPS | {"resistor"} and not _leads_out(bench, end.net, ref)


def _leads_out(bench: Bench, net: str, ref: str) -> bool:
    """Return whether a resistor brings a net what is neither ground nor a rail."""
    resistors = [one for one in bench.wires.refs_on(net, ref) if bench.wires.kind(one) == "resistor"]
    return any(bench.has(far, _OUTER) for one in resistors for far in bench.wires.beyond(one, net))


def _only_by_diode(end: End) -> bool:
    return end.load and not end.may_be_fed


def only_way(bench: Bench, part: Part2) -> Need | None:
    """A diode keeps its anode from passing its cathode by more than a drop: stated ranges may leave one way only.

    A net that is off counts as at 0 V, whatever its range says.
    """
    if any(end.kind not in ("range", "rail", "ground", "made") for end in (part.a, part.b)):
        return None
    if any(_is_only_pulled(bench, end, part.ref) for end in (part.a, part.b)):
        return None
    ways = [(anode, cathode) for anode, cathode in part.ways if _is_possible(anode, cathode)]
    if len(ways) != 1 or "range" not in (part.a.kind, part.b.kind):
        return None
    anode, cathode = ways[0]
    why = message("polarity-need-only-way", ref=part.ref, high=cathode.net, low=anode.net)
    return bench.first_at(part, anode, why)


def _is_possible(anode: End, cathode: End) -> bool:
    above = reaches_up(anode) > max(reaches_up(cathode), 0.0) * (1 + _LOOSE) + DROP_V
    below = min(low_floor(anode), 0.0) > low_floor(cathode) + abs(low_floor(cathode)) * _LOOSE + DROP_V
    return not (above or below)


def stops_at(bench: Bench, part: Part2) -> Need | None:
    """The stated range of a signal ends a diode's drop beyond a rail: the diode there stops it."""
    for rail, signal in part.ways:
        if rail.kind not in ("rail", "made") or signal.kind != "range" or rail.low_v is None or signal.load:
            continue
        over, under = reaches_up(signal) - rail.low_v, rail.low_v - low_floor(signal)
        why = message("polarity-need-stated", ref=part.ref, high=rail.net, low=signal.net)
        if _STOPS_V <= over <= DROP_V and under > max(CLEAR_V, abs(rail.low_v) / 2):
            return bench.cathode_at(part, rail, why)
        if _STOPS_V <= under <= DROP_V and over > max(CLEAR_V, abs(rail.low_v) / 2):
            return bench.first_at(part, rail, why)
    return None


_STOPS_V = 0.2
_LOOSE = 0.1
"""How loosely people state a range, as a share of its end."""
