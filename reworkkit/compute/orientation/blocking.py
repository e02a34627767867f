"""Rules for parts that hold a voltage off: capacitors, Zener diodes, suppressors, clamps, flyback and catch diodes."""

import re

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
    reaches_up,
)
from reworkkit.model.connections import BREAKDOWN, GENERAL_DIODES, WINDINGS
from reworkkit.model.messages import message
from reworkkit.model.results import End

BLOCKING_ROLES = re.compile(
    r"fly ?back|free ?wheel|\bcatch|\bclamp(?!.*rectif)|suppress|back-?feed|reverse voltage|blows|crowbar"
    r"|freilauf|klemm",
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
    role = bench.wires.facts(part.ref).role or ""
    if not BLOCKING_ROLES.search(role) or _in_chain(bench, part):
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
        if one.kind == "ground" and not (other.low_v is not None and other.low_v < -DROP_V) and not is_negative(other):
            why = message("polarity-need-role-blocks", ref=part.ref, role=role, net=other.net)
            return bench.cathode_at(part, other, why) if other.kind != "both" else None
    return None


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
    """Between gate and source: the cathode at the gate of an n-channel type, at the source of a p-channel one."""
    for ref in bench.wires.between(part.a.net, part.b.net):
        roles = bench.potentials.roles.get(ref, {})
        pins = {pin.net: roles.get(pin.number, "") for pin in bench.wires.pins(ref)}
        channel = channel_of(bench, ref)
        for one, other in part.ways:
            if (pins.get(one.net), pins.get(other.net)) == ("G", "S") and channel:
                why = message("polarity-need-gate", ref=part.ref, transistor=ref, channel=channel)
                return bench.cathode_at(part, one if channel == "n" else other, why)
    return None


def channel_of(bench: Bench, ref: str) -> str | None:
    """Return n or p for a MOSFET whose text says its channel; an IGBT counts as n."""
    part = bench.wires.board.parts.get(ref)
    if part is None or part.identity.kind not in ("mosfet", "igbt"):
        return None
    if part.identity.kind == "igbt":
        return "n"
    text = f"{part.identity.description} {part.identity.value.text} {part.identity.package_text}".casefold()
    p, n = (bool(re.search(rf"(?<![a-z]){c}[ -]?(?:ch|mos|kanal|channel)", text)) for c in "pn")
    return None if p == n else ("p" if p else "n")


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


def _is_signal(bench: Bench, end: End, ref: str) -> bool:
    """Return whether a net is no supply: something else than chips and small capacitors is on it, and no load."""
    if end.load:
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
        down = is_positive(high) and high.alive and low_floor(low) <= CLEAR_V / 2 and not _only_by_diode(low)
        if up or down:
            return bench.cathode_at(
                part, high, message("polarity-need-stated", ref=part.ref, high=high.net, low=low.net)
            )
    return None


def _only_by_diode(end: End) -> bool:
    return end.load and not end.may_be_fed
