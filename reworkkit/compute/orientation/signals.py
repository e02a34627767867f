"""Rules for diodes of signals: beside a resistor, at a gate, round a transistor, in diode logic and detectors."""

import re
from collections.abc import Iterator

from reworkkit.compute.orientation.ends import Bench, Need, Part2, is_negative, is_positive, low_floor, reaches_up
from reworkkit.compute.orientation.transistors import npn
from reworkkit.model.connections import CHIPS, GENERAL_DIODES, TRANSISTORS, WINDINGS
from reworkkit.model.messages import message
from reworkkit.model.results import End

_TIES_V = 0.3


def beside_resistor(bench: Bench, part: Part2) -> Need | None:
    """Across a resistor from a rail to a net with no other feed: forward it would bridge that resistor for good."""
    between = {bench.wires.kind(ref) for ref in bench.wires.between(part.a.net, part.b.net)}
    network = "resistor_network" in between and any(bench.pull(end.net, part.ref) for end in (part.a, part.b))
    if "resistor" not in between and not network:
        return None
    for rail, node in part.ways:
        if (
            node.kind in ("ground", "rail", "made", "both", "sign")
            or node.load
            or bench.has(node.net, WINDINGS, part.ref)
        ):
            continue
        why = message("polarity-need-beside-resistor", ref=part.ref, rail=rail.net, net=node.net)
        if is_positive(rail) and rail.kind != "range" and not is_negative(node):
            return bench.cathode_at(part, rail, why)
        if is_negative(rail) and rail.kind != "range" and not is_positive(node):
            return bench.first_at(part, rail, why)
    return None


def at_gate(bench: Bench, part: Part2) -> Need | None:
    """Beside the resistor of a gate it speeds up the turning off: from the gate to the driver of an n-channel type."""
    for gate, driver in part.ways:
        if driver.kind in ("ground", "rail", "made") or not _resistor(bench, part):
            continue
        for ref in bench.wires.refs_on(gate.net, part.ref):
            roles = {bench.role(ref, pin.number) for pin in bench.wires.pins(ref) if pin.net == gate.net}
            if roles == {"G"} and (channel := bench.channel(ref)) and not _gates(bench, driver):
                why = message("polarity-need-turn-off-granted", ref=part.ref, transistor=ref, net=gate.net)
                return bench.first_at(part, gate if channel == "n" else driver, why)
    return None


def _gates(bench: Bench, end: End) -> bool:
    return any(bench.role(pin.ref, pin.number) == "G" for pin in bench.wires.on(end.net))


def _resistor(bench: Bench, part: Part2) -> str | None:
    between = bench.wires.between(part.a.net, part.b.net)
    return next((ref for ref in between if bench.wires.kind(ref) == "resistor"), None)


def round_transistor(bench: Bench, part: Part2) -> Need | None:
    """From base to collector it keeps a transistor out of saturation; from base to emitter it guards the junction."""
    for ref in bench.wires.between(part.a.net, part.b.net):
        if bench.wires.kind(ref) not in TRANSISTORS or (is_npn := npn(bench.wires, ref)) is None:
            continue
        pins = {pin.net: bench.role(ref, pin.number) for pin in bench.wires.pins(ref)}
        for base, other in part.ways:
            pair = pins.get(base.net), pins.get(other.net)
            why = message("polarity-need-transistor", ref=part.ref, transistor=ref, net=base.net)
            if pair == ("B", "C"):
                return bench.first_at(part, base if is_npn else other, why)
            if pair == ("B", "E"):
                return bench.first_at(part, other if is_npn else base, why)
            if pair == ("C", "E"):
                return bench.cathode_at(part, base if is_npn else other, why)
    return None


def of_four(bench: Bench, part: Part2) -> Need | None:
    """One of four diodes in a ring rectifies; plus is known by a base junction, the other diodes or the ranges."""
    for wave, steady in part.ways:
        for other_wave, other in _rings(bench, part, wave.net, steady.net):
            plus = _plus_of_ring(bench, (wave.net, other_wave), (steady.net, other))
            if plus:
                why = message("polarity-need-of-four", ref=part.ref, plus=plus)
                return bench.cathode_at(part, steady, why) if plus == steady.net else bench.first_at(part, steady, why)
    return None


def _rings(bench: Bench, part: Part2, wave: str, steady: str) -> Iterator[tuple[str, str]]:
    """Yield (other wave net, other steady net) of each ring of four diodes that a part closes; one net may be large."""
    for other in _diode_ends(bench, wave, part.ref):
        for far in _diode_ends(bench, other, part.ref):
            if other != steady and far != wave and _joined(bench, far, steady, part.ref):
                yield far, other
    for far in _diode_ends(bench, steady, part.ref):
        for other in _diode_ends(bench, far, part.ref):
            if other != steady and far != wave and _joined(bench, other, wave, part.ref):
                yield far, other


def _joined(bench: Bench, one: str, other: str, ref: str) -> bool:
    return any(two != ref and bench.wires.kind(two) in GENERAL_DIODES for two in bench.wires.between(one, other))


def _diode_ends(bench: Bench, net: str, without: str) -> Iterator[str]:
    if len(bench.wires.on(net)) > _MOST_RING_PINS:
        return
    for ref in bench.wires.refs_on(net, without):
        if bench.wires.kind(ref) in GENERAL_DIODES and len(beyond := bench.wires.beyond(ref, net)) == 1:
            yield beyond[0]


def _plus_of_ring(bench: Bench, waves: tuple[str, str], steady: tuple[str, str]) -> str | None:
    for ref in bench.wires.between(*steady):
        is_npn = npn(bench.wires, ref) if bench.wires.kind(ref) in TRANSISTORS else None
        roles = {bench.role(ref, pin.number): pin.net for pin in bench.wires.pins(ref)}
        if is_npn is not None and {roles.get("B"), roles.get("E")} == set(steady):
            return roles["B" if is_npn else "E"]
    if not any(bench.wires.kind(ref) == "transformer" for ref in bench.wires.between(*waves)):
        return None
    for net in waves:
        for ref in bench.wires.refs_on(net):
            anode, cathode = bench.known.get(ref, ("", ""))
            if bench.wires.kind(ref) in GENERAL_DIODES and {anode, cathode} & set(steady) and net in (anode, cathode):
                return cathode if cathode in steady else steady[anode == steady[0]]
    return _plus_by_range(bench, steady)


def _plus_by_range(bench: Bench, steady: tuple[str, str]) -> str | None:
    """Return the one of two nets that a stated range puts above the other, which is ground."""
    for one, other in (steady, steady[::-1]):
        level, ground = bench.levels.get(one), bench.levels.get(other)
        if not (level and ground and level.band_v and level.band_v.high) or ground.why.slug != "potential-ground":
            continue
        if level.why.slug == "potential-stated" and (level.band_v.low or 0.0) >= -1.0 and level.band_v.high > 1.0:
            return one
    return None


_MOST_RING_PINS = 16


_SENSOR = re.compile(r"temperature|thermal (?:sens|probe)|\bVbe\b|thermometer", re.IGNORECASE)


def senses_heat(bench: Bench, part: Part2) -> Need | None:
    """A diode listed as a sensor of temperature conducts: from the net that a resistor pulls up."""
    listed = bench.wires.board.parts[part.ref].identity
    if not _SENSOR.search(f"{listed.description} {listed.value.text} {bench.said(part.ref)}"):
        return None
    for node, other in part.ways:
        if bench.pull(node.net, part.ref) == "up" and not is_positive(other):
            return bench.first_at(part, node, message("polarity-need-senses-heat", ref=part.ref, net=node.net))
    return None


def across_channel(bench: Bench, part: Part2) -> Need | None:
    """Between drain and source it stands beside the diode inside the transistor and points the same way."""
    for ref in bench.wires.between(part.a.net, part.b.net):
        channel = bench.channel(ref)
        pins = {pin.net: bench.role(ref, pin.number) for pin in bench.wires.pins(ref)}
        for drain, source in part.ways:
            if channel and (pins.get(drain.net), pins.get(source.net)) in (("D", "S"), ("C", "E")):
                why = message("polarity-need-transistor", ref=part.ref, transistor=ref, net=drain.net)
                return bench.cathode_at(part, drain if channel == "n" else source, why)
    return None


def joins_signals(bench: Bench, part: Part2) -> Need | None:
    """At a net that only resistors from one side hold, a diode from a signal conducts: it pulls the other way."""
    for node, signal in part.ways:
        pull = bench.pull(node.net, part.ref)
        if pull is None or not _may_pull(bench, signal, part.ref) or not _is_soft(bench, node, part.ref, pull, signal):
            continue
        why = message("polarity-need-joins", ref=part.ref, net=node.net, signal=signal.net)
        if pull == "up" and not (signal.low_v is not None and signal.low_v >= (node.idle_high_v or 0.0) - _TIES_V > 0):
            return bench.first_at(part, node, why)
        if pull == "down" and reaches_up(signal) > _TIES_V and _stays_above(bench, signal):
            return bench.cathode_at(part, node, why)
    return None


def _stays_above(bench: Bench, signal: End) -> bool:
    """Return whether a signal does not go below ground by more than a diode's drop."""
    return bench.above_ground(signal) if signal.low_v is None else signal.low_v >= -1.0


def _may_pull(bench: Bench, signal: End, ref: str) -> bool:
    """Return whether a net is a signal that something drives: no rail, no winding, not one held by resistors alone."""
    if signal.kind in ("ground", "rail", "made", "sign") or signal.load or bench.has(signal.net, WINDINGS, ref):
        return False
    if bench.pull(signal.net, ref):
        return False
    for pin in bench.wires.on(signal.net):
        kind, role = bench.wires.kind(pin.ref), bench.role(pin.ref, pin.number)
        if kind in CHIPS or kind in ("connector", "terminal", "switch"):
            return True
        if (kind in TRANSISTORS and role in ("C", "D")) or (kind == "optocoupler" and role in ("C", "E")):
            return True
    return False


def _is_soft(bench: Bench, node: End, ref: str, pull: str, signal: End) -> bool:
    """Return whether only what listens is on a net besides its resistors and other diodes."""
    for pin in bench.wires.on(node.net):
        kind, role = bench.wires.kind(pin.ref), bench.role(pin.ref, pin.number)
        if pin.ref == ref or kind in ("resistor", "test_point", "switch") or kind in GENERAL_DIODES:
            continue
        if kind in TRANSISTORS and role in ("B", "G"):
            continue
        if kind in CHIPS and role not in ("V+", "V-", "BOOT", "SW", "OUT"):
            continue
        if kind in ("connector", "terminal") and _plug_listens(bench, node, ref, signal):
            continue
        if kind.startswith("capacitor") and (pull == "down" or _is_stiff(bench, signal)):
            continue
        return False
    return True


def _plug_listens(bench: Bench, node: End, ref: str, signal: End) -> bool:
    """Return whether a plug on a net may be taken to read it: several diodes meet there, or an amplifier drives it."""
    several = bench.has(node.net, GENERAL_DIODES, ref)
    return bench.potentials.one_sided or several or _is_stiff(bench, signal)


def _is_stiff(bench: Bench, signal: End) -> bool:
    """Return whether an operational amplifier drives a net."""
    return bench.has(signal.net, frozenset({"opamp"}))


def crosses(bench: Bench, part: Part2) -> Need | None:
    """From a net of both signs to one that keeps its sign: feeding it or clamped by it, it points the same way."""
    for wave, steady in part.ways:
        spans = wave.kind == "both" or (low_floor(wave) < -1.0 and reaches_up(wave) > 1.0 and wave.kind == "range")
        if not spans or steady.kind not in ("rail", "made", "range") or bench.has(steady.net, frozenset({"opamp"})):
            continue
        why = message("polarity-need-crosses", ref=part.ref, net=wave.net, rail=steady.net)
        if low_floor(steady) >= 0 and reaches_up(steady) > 0.5:
            return bench.first_at(part, wave, why)
        if reaches_up(steady) <= 0 and low_floor(steady) < -0.5:
            return bench.cathode_at(part, wave, why)
    return None


def forward_drop(bench: Bench, part: Part2) -> Need | None:
    """A net stated to stay within a diode's drop of ground is held by the diode itself, forward."""
    for high, low in part.ways:
        if low.kind == "ground" and high.kind == "range" and low_floor(high) >= 0.2 and reaches_up(high) <= 1.1:
            return bench.first_at(part, high, message("polarity-need-drop", ref=part.ref, net=high.net, low=low.net))
    return None


_HOLDS = re.compile(r"peak|valley|hold|soft.?start|discharge|detect", re.IGNORECASE)


def by_role(bench: Bench, part: Part2) -> Need | None:
    """The stated role tells what a diode at a capacitor does: it fills, empties or holds back."""
    role = bench.said(part.ref)
    stores = [(end, other) for end, other in part.ways if _is_store(bench, end, part.ref)]
    if not _HOLDS.search(role) or len(stores) != 1:
        return None
    store, _ = stores[0]
    if store.kind == "derived" and not store.driven:
        return None
    why = message("polarity-need-role-store", ref=part.ref, role=role, net=store.net)
    if re.search("rectif", role, re.IGNORECASE) or (
        re.search("charges", role, re.IGNORECASE) and re.search("discharges", role, re.IGNORECASE)
    ):
        return None
    empties = bool(re.search("discharge", role, re.IGNORECASE))
    if store.low_v is not None and store.low_v >= -_TIES_V and reaches_up(store) > _TIES_V:
        fills = not empties and not re.search("valley|soft", role, re.IGNORECASE)
        held = bool(re.search("soft", role, re.IGNORECASE)) and not empties
        return bench.cathode_at(part, store, why) if fills or held else bench.first_at(part, store, why)
    if store.high_v is not None and store.high_v <= _TIES_V and low_floor(store) < -_TIES_V and not empties:
        return bench.first_at(part, store, why)
    return None


def _is_store(bench: Bench, end: End, ref: str) -> bool:
    """Return whether a capacitor to a fixed net is on a net that is no rail."""
    if end.kind in ("ground", "rail", "made", "sign", "both"):
        return False
    for other in bench.wires.refs_on(end.net, ref):
        if bench.wires.kind(other).startswith("capacitor"):
            far = [bench.levels.get(net) for net in bench.wires.beyond(other, end.net)]
            if any(level and level.band_v and level.band_v.nominal is not None for level in far):
                return True
    return False
