"""Rules for diodes that rectify, pump, clamp in pairs or stand beside another part; bridges and dual diodes."""

import re

from reworkkit.compute.orientation.conducting import lights
from reworkkit.compute.orientation.ends import Bench, Need, Part2, at_least, is_negative, is_positive
from reworkkit.model.connections import GENERAL_DIODES, TRANSISTORS, WINDINGS
from reworkkit.model.messages import message
from reworkkit.model.results import End
from reworkkit.model.values import Band

_BOOT = re.compile(r"(?:^|[_\-.])(?:C?BOOT|BST|HB|VB)\d?(?:$|[_\-.])", re.I)


_REGULATOR_CATHODE = frozenset({("IN", "OUT"), ("OUT", "ADJ"), ("NOUT", "NIN"), ("ADJ", "NOUT")})
"""(cathode, anode) of the diodes that empty what hangs on output and adjust pin of a linear regulator."""


def across_led(bench: Bench, part: Part2) -> Need | None:
    """Across an LED, or the input of an optocoupler, it guards against the reverse: it opposes that LED."""
    for ref in bench.wires.between(part.a.net, part.b.net):
        ends = {end.net: end for end in bench.ends(ref)}
        roles = bench.potentials.roles.get(ref, {})
        kind = bench.wires.kind(ref)
        if kind == "optocoupler":
            pins = {roles.get(pin.number): pin.net for pin in bench.wires.pins(ref)}
            anode = pins.get("A") if {pins.get("A"), pins.get("K")} == {part.a.net, part.b.net} else None
        elif kind == "led" and len(ends) == 2:
            found = lights(bench, Part2(ref, "led", ends[part.a.net], ends[part.b.net]))
            anode = found.roles["anode"][1] if found else None
        else:
            continue
        if anode:
            end = part.a if part.a.net == anode else part.b
            return bench.cathode_at(part, end, message("polarity-need-across-led", ref=part.ref, led=ref, net=anode))
    return None


def opposed_pair(bench: Bench, part: Part2) -> Need | None:
    """Two diodes across the same two nets that are no rails limit a signal both ways: they oppose each other."""
    if is_positive(part.a) or is_positive(part.b) or is_negative(part.a) or is_negative(part.b):
        return None
    for ref in bench.wires.between(part.a.net, part.b.net):
        if ref != part.ref and bench.wires.kind(ref) in GENERAL_DIODES:
            return Need({}, message("polarity-open-opposed", ref=part.ref, other=ref))
    return None


def bootstrap(bench: Bench, part: Part2) -> Need | None:
    """It charges the bootstrap capacitor of a high-side driver from a rail."""
    for rail, boot in part.ways:
        moved = _rides(bench, boot, part.ref)
        own = is_positive(rail) and _powers_driver(bench, rail.net, boot.net)
        if own or (is_positive(rail) and rail.alive and (moved or _is_boot(bench, boot, part.ref))):
            return bench.first_at(
                part, rail, message("polarity-need-bootstrap", ref=part.ref, rail=rail.net, net=boot.net)
            )
    return None


def _powers_driver(bench: Bench, rail: str, boot: str) -> bool:
    """Return whether one chip has its supply pin on a net and its bootstrap pin on another."""
    for ref in bench.wires.between(rail, boot):
        roles = {(pin.net, bench.role(ref, pin.number)) for pin in bench.wires.pins(ref)}
        if {(rail, "V+"), (boot, "BOOT")} <= roles:
            return True
    return False


def _rides(bench: Bench, end: End, ref: str) -> bool:
    """Return whether a capacitor ties a net that nothing else feeds to one that a switch moves against a coil."""
    if end.kind in ("rail", "ground", "made", "sign") or end.may_be_fed or bench.has(end.net, _NO_BOOT, ref):
        return False
    for other in bench.wires.refs_on(end.net, ref):
        if bench.wires.kind(other).startswith("capacitor"):
            for far in bench.wires.beyond(other, end.net):
                if bench.has(far, _COILS) and bench.has(far, _SWITCHES):
                    return True
    return False


_COILS = frozenset({"inductor"})
_NO_BOOT = GENERAL_DIODES | WINDINGS | TRANSISTORS | {"transformer"}
_SWITCHES = TRANSISTORS | {"switching_regulator", "ic"}


def at_coil(bench: Bench, part: Part2) -> Need | None:
    """At a coil that a switch moves: out of it to a store above, into it from one below ground."""
    for node, store in part.ways:
        if not (bench.has(node.net, _COILS, part.ref) and bench.has(node.net, _SWITCHES, part.ref)):
            continue
        if node.kind in ("ground", "rail", "made") or bench.has(store.net, _COILS, part.ref) or store.fed:
            continue
        coils = [ref for ref in bench.wires.refs_on(node.net) if bench.wires.kind(ref) in _COILS]
        far = [bench.levels.get(net) for ref in coils for net in bench.wires.beyond(ref, node.net)]
        from_ground = any(level and level.why.slug == "potential-ground" for level in far)
        from_rail = any(level and level.band_v and (level.band_v.nominal or 0.0) > 0 for level in far)
        why = message("polarity-need-coil-store", ref=part.ref, net=node.net, store=store.net)
        if from_ground and is_negative(store):
            return bench.cathode_at(part, node, why)
        held = store.kind != "ground" and _to_ground_only(bench, store, part.ref) and not is_negative(store)
        if from_rail and not from_ground and node.pulled_low and held:
            return bench.first_at(part, node, why)
    return None


def _is_boot(bench: Bench, end: End, ref: str) -> bool:
    if end.kind in ("rail", "ground", "made"):
        return False
    for pin in bench.wires.on(end.net):
        if bench.potentials.roles.get(pin.ref, {}).get(pin.number) == "BOOT":
            return True
    if not _BOOT.search(end.net):
        return False
    kinds = [bench.wires.kind(other) for other in bench.wires.refs_on(end.net, ref)]
    return any(kind.startswith("capacitor") for kind in kinds)


def across_regulator(bench: Bench, part: Part2) -> Need | None:
    """From the output back to the input of a regulator: it lets the output's charge out when the input falls."""
    for ref in bench.wires.between(part.a.net, part.b.net):
        roles = bench.potentials.roles.get(ref, {})
        pins = {pin.net: roles.get(pin.number, "") for pin in bench.wires.pins(ref)}
        if bench.wires.kind(ref) != "linear_regulator":
            continue
        for one, other in part.ways:
            why = message("polarity-need-regulator", ref=part.ref, regulator=ref, net=one.net)
            pair = pins.get(one.net, ""), pins.get(other.net, "")
            if pair in _REGULATOR_CATHODE and not at_least(other, one):
                return bench.cathode_at(part, one, why)
    return None


def turn_off(bench: Bench, part: Part2) -> Need | None:
    """Across a gate resistor and said to turn off: it empties the gate, so its anode is at the gate of an n-channel."""
    if not re.search(r"turn-?off", bench.said(part.ref), re.IGNORECASE):
        return None
    for gate, driver in part.ways:
        for ref in bench.wires.refs_on(gate.net, part.ref):
            number = next(pin.number for pin in bench.wires.pins(ref) if pin.net == gate.net)
            if bench.potentials.roles.get(ref, {}).get(number) == "G" and (channel := bench.channel(ref)):
                why = message("polarity-need-turn-off", ref=part.ref, transistor=ref, net=gate.net)
                return bench.first_at(part, gate if channel == "n" else driver, why)
    return None


def pump(bench: Bench, part: Part2) -> Need | None:
    """In a chain whose middle nets only capacitors hold, all diodes point the same way: towards the higher end."""
    if not any(_held_by_capacitors(bench, end.net) for end in (part.a, part.b)):
        return None
    for near, far in part.ways:
        start = _chain_end(bench, near.net, part.ref)
        stop = _chain_end(bench, far.net, part.ref)
        if start is None or stop is None or (start == near.net and stop == far.net):
            continue
        if start != stop and _is_above(bench.levels[stop].band_v, bench.levels[start].band_v):
            why = message("polarity-need-pump", ref=part.ref, low=start, high=stop)
            return bench.cathode_at(part, far, why)
    return None


def _is_above(high: Band | None, low: Band | None) -> bool:
    """Return whether one level is above another at both ends of its range."""
    if high is None or low is None or high.low is None or low.high is None:
        return False
    if high.low >= low.high:
        return high.high is None or low.low is None or high.high > low.low
    return low.low is not None and high.high is not None and high.low > low.low and high.high > low.high


def _chain_end(bench: Bench, net: str, ref: str) -> str | None:
    """Follow a chain of diodes from a net away from `ref` to a net of known level, or None."""
    for _ in range(30):
        band = bench.levels[net].band_v if net in bench.levels else None
        if band and not _held_by_capacitors(bench, net):
            return net
        if not _held_by_capacitors(bench, net):
            return _tied_to(bench, net)
        onward = [other for other in bench.wires.refs_on(net, ref) if bench.wires.kind(other) in GENERAL_DIODES]
        if len(onward) != 1 or not (beyond := bench.wires.beyond(onward[0], net)):
            return None
        ref, net = onward[0], beyond[0]
    return None


def _tied_to(bench: Bench, net: str) -> str | None:
    """Return the one fixed net that the resistors on a net of unknown level lead to."""
    refs = [ref for ref in bench.wires.refs_on(net) if bench.wires.kind(ref) == "resistor"]
    far = {other for ref in refs for other in bench.wires.beyond(ref, net)}
    return next(iter(far)) if len(far) == 1 and all(_is_fixed(bench, one) for one in far) else None


_MOST_PUMP_PINS = 12


def _held_by_capacitors(bench: Bench, net: str) -> bool:
    """Return whether just two diodes and capacitors, at least one of them to no fixed net, are on a net."""
    if len(bench.wires.on(net)) > _MOST_PUMP_PINS:
        return False
    kinds = {ref: bench.wires.kind(ref) for ref in bench.wires.refs_on(net)}
    capacitors = [ref for ref, kind in kinds.items() if kind.startswith("capacitor")]
    diodes = [ref for ref, kind in kinds.items() if kind in GENERAL_DIODES]
    rest = [ref for ref, kind in kinds.items() if kind != "test_point" and ref not in capacitors + diodes]
    moving = [ref for ref in capacitors for other in bench.wires.beyond(ref, net) if not _is_fixed(bench, other)]
    return bool(moving) and len(diodes) == 2 and not rest


def _is_fixed(bench: Bench, net: str) -> bool:
    band = bench.levels[net].band_v if net in bench.levels else None
    return bool(band and band.nominal is not None)


def clamp_pair(bench: Bench, part: Part2) -> Need | None:
    """One of two diodes from a net, to a positive rail and to ground: they keep the net between the two."""
    for rail, signal in part.ways:
        if is_positive(signal) or is_negative(signal) or signal.kind == "ground" or signal.load:
            continue
        if signal.store or _supplies(bench, signal.net):
            continue
        partner = _partner(bench, part, rail, signal)
        if partner is None or not (signal.may_be_fed or signal.driven or signal.kind == "both"):
            continue
        why = message("polarity-need-pair", ref=part.ref, other=partner, net=signal.net)
        if is_positive(rail):
            return bench.cathode_at(part, rail, why)
        if rail.kind == "ground":
            return _to_ground(bench, part, rail, signal, partner)
        if is_negative(rail):
            return bench.first_at(part, rail, why)
    return None


def _supplies(bench: Bench, net: str) -> bool:
    """Return whether a supply pin of a chip is on a net."""
    return any(bench.role(pin.ref, pin.number) in ("V+", "V-", "IN", "NIN") for pin in bench.wires.on(net))


def _to_ground(bench: Bench, part: Part2, ground: End, signal: End, partner: str) -> Need:
    why = message("polarity-need-pair", ref=part.ref, other=partner, net=signal.net)
    bands = [bench.levels[far].band_v for far in bench.wires.beyond(partner, signal.net) if far != ground.net]
    below = any(band is not None and band.high is not None and band.high <= 0 for band in bands)
    return bench.cathode_at(part, ground, why) if below else bench.first_at(part, ground, why)


def _partner(bench: Bench, part: Part2, rail: End, signal: End) -> str | None:
    """Return the diode from the same net to the other rail, where there is just one."""
    found = []
    for ref in bench.wires.refs_on(signal.net, part.ref):
        if bench.wires.kind(ref) not in GENERAL_DIODES:
            continue
        for far in bench.wires.beyond(ref, signal.net):
            if _opposite(bench, rail, far):
                found.append(ref)
    return found[0] if len(found) == 1 else None


def _opposite(bench: Bench, rail: End, far: str) -> bool:
    level = bench.levels.get(far)
    band = level.band_v if level else None
    if level is None or band is None or far == rail.net:
        return False
    ground = level.why.slug == "potential-ground"
    fixed = band.nominal is not None or level.why.slug.startswith(("potential-named", "potential-stated"))
    if is_positive(rail):
        return ground or (fixed and band.high is not None and band.high <= 0)
    if rail.kind == "ground" or is_negative(rail):
        above = fixed and band.low is not None and band.low >= 0 and not ground
        below = rail.kind == "ground" and fixed and band.high is not None and band.high <= 0 and not ground
        return above or below or (is_negative(rail) and ground)
    return False


def alternating(bench: Bench, part: Part2) -> Need | None:
    """From an alternating net or a winding to a rail: it lets through what the rail is fed with."""
    for source, rail in part.ways:
        if not _alternates(bench, source) or rail.fed or (_on_winding(bench, rail) and not is_positive(rail)):
            continue
        why = message("polarity-need-rectifier", ref=part.ref, net=source.net, rail=rail.net)
        if is_positive(rail) or (rail.pulled_high and not rail.pulled_low and not _on_winding(bench, rail)):
            return bench.first_at(part, source, why)
        if is_negative(rail):
            return bench.cathode_at(part, source, why)
        if rail.static and rail.kind == "derived" and source.kind == "both":
            if rail.high_v is not None and rail.high_v < 0:
                return bench.cathode_at(part, source, why)
            if rail.low_v is not None and rail.low_v > 0:
                return bench.first_at(part, source, why)
    return None


_SMOOTHING = frozenset({"capacitor_aluminium_electrolytic", "capacitor_tantalum", "capacitor_polymer_aluminium"})
"""What bears no alternating voltage: a winding with one of these on its net is fed there."""


def _alternates(bench: Bench, end: End) -> bool:
    if end.kind == "both":
        return True
    smoothed = bench.has(end.net, _SMOOTHING)
    return end.kind in ("unknown", "range") and _on_winding(bench, end) and not smoothed


def _on_winding(bench: Bench, end: End) -> bool:
    return any(bench.wires.kind(ref) == "transformer" for ref in bench.wires.refs_on(end.net))


def snubber(bench: Bench, part: Part2) -> Need | None:
    """From a switched winding to a net that only a resistor and a capacitor hold: it catches the overshoot there."""
    for node, store in part.ways:
        kinds = {bench.wires.kind(ref) for ref in bench.wires.refs_on(node.net, part.ref)}
        switched = bool(kinds & TRANSISTORS) and bool(kinds & (WINDINGS | {"transformer"})) and node.pulled_low
        held = {bench.wires.kind(ref) for ref in bench.wires.refs_on(store.net, part.ref)}
        quiet = {kind for kind in held if kind == "resistor" or kind.startswith("capacitor")} == held
        beside = any(bench.wires.kind(ref) == "resistor" for ref in bench.wires.between(node.net, store.net))
        if switched and quiet and beside and _to_ground_only(bench, store, part.ref):
            return bench.first_at(
                part, node, message("polarity-need-snubber", ref=part.ref, net=node.net, store=store.net)
            )
        if switched and quiet and "resistor" in held and store.low_v is not None and store.low_v >= 0:
            return bench.first_at(
                part, node, message("polarity-need-snubber", ref=part.ref, net=node.net, store=store.net)
            )
    return None


def _to_ground_only(bench: Bench, store: End, ref: str) -> bool:
    """Return whether all capacitors on a net lead to ground."""
    far = [
        bench.levels.get(net)
        for other in bench.wires.refs_on(store.net, ref)
        if bench.wires.kind(other).startswith("capacitor")
        for net in bench.wires.beyond(other, store.net)
    ]
    return bool(far) and all(level and level.why.slug == "potential-ground" for level in far)
