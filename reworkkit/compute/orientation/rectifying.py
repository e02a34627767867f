"""Rules for diodes that rectify, pump, clamp in pairs or stand beside another part; bridges and dual diodes."""

import re
from collections.abc import Callable

from reworkkit import tables
from reworkkit.compute.orientation.blocking import channel_of
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
        if is_positive(rail) and rail.alive and _is_boot(bench, boot, part.ref):
            return bench.first_at(
                part, rail, message("polarity-need-bootstrap", ref=part.ref, rail=rail.net, net=boot.net)
            )
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
    if not re.search(r"turn-?off", bench.wires.facts(part.ref).role or "", re.IGNORECASE):
        return None
    for gate, driver in part.ways:
        for ref in bench.wires.refs_on(gate.net, part.ref):
            number = next(pin.number for pin in bench.wires.pins(ref) if pin.net == gate.net)
            if bench.potentials.roles.get(ref, {}).get(number) == "G" and (channel := channel_of(bench, ref)):
                why = message("polarity-need-turn-off", ref=part.ref, transistor=ref, net=gate.net)
                return bench.first_at(part, gate if channel == "n" else driver, why)
    return None


def pump(bench: Bench, part: Part2) -> Need | None:
    """In a chain whose middle nets only capacitors hold, all diodes point the same way: towards the higher end."""
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
            return None
        onward = [other for other in bench.wires.refs_on(net, ref) if bench.wires.kind(other) in GENERAL_DIODES]
        if len(onward) != 1 or not (beyond := bench.wires.beyond(onward[0], net)):
            return None
        ref, net = onward[0], beyond[0]
    return None


def _held_by_capacitors(bench: Bench, net: str) -> bool:
    """Return whether just two diodes and capacitors, at least one of them to no fixed net, are on a net."""
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


def _to_ground(bench: Bench, part: Part2, ground: End, signal: End, partner: str) -> Need:
    why = message("polarity-need-pair", ref=part.ref, other=partner, net=signal.net)
    (far,) = bench.wires.beyond(partner, signal.net)
    below = (band := bench.levels[far].band_v) is not None and band.high is not None and band.high <= 0
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
    return None


def _alternates(bench: Bench, end: End) -> bool:
    return end.kind == "both" or (end.kind in ("unknown", "range") and _on_winding(bench, end))


def _on_winding(bench: Bench, end: End) -> bool:
    return any(bench.wires.kind(ref) == "transformer" for ref in bench.wires.refs_on(end.net))


def snubber(bench: Bench, part: Part2) -> Need | None:
    """From a switched winding to a net that only a resistor and a capacitor hold: it catches the overshoot there."""
    for node, store in part.ways:
        kinds = {bench.wires.kind(ref) for ref in bench.wires.refs_on(node.net, part.ref)}
        switched = bool(kinds & TRANSISTORS) and bool(kinds & (WINDINGS | {"transformer"})) and node.pulled_low
        held = {bench.wires.kind(ref) for ref in bench.wires.refs_on(store.net, part.ref)}
        quiet = {kind for kind in held if kind == "resistor" or kind.startswith("capacitor")} == held
        if switched and quiet and "resistor" in held and store.low_v is not None and store.low_v >= 0:
            return bench.first_at(
                part, node, message("polarity-need-snubber", ref=part.ref, net=node.net, store=store.net)
            )
    return None


def bridge(bench: Bench, ref: str) -> Need | None:
    """Plus of a bridge is at the positive rail, or away from ground where only ground is known."""
    ends = bench.ends(ref)
    ground = [end for end in ends if end.kind == "ground"]
    high = [end for end in ends if is_positive(end)]
    low = [end for end in ends if is_negative(end)]
    plus = high[0] if len(high) == 1 else None
    minus = low[0] if len(low) == 1 and not ground else (ground[0] if len(ground) == 1 and not low else None)
    if plus is None or minus is None or len(ends) != 4:
        why = message("polarity-open-bridge", ref=ref)
        return Need({}, why)
    roles = {"plus": (bench.pin(ref, plus.net), plus.net), "minus": (bench.pin(ref, minus.net), minus.net)}
    waves = [end for end in ends if end not in (plus, minus)]
    roles |= {f"wave_{n}": (bench.pin(ref, end.net), end.net) for n, end in enumerate(waves, 1)}
    return Need(roles, message("polarity-need-bridge", ref=ref, high=plus.net, low=minus.net))


def dual(bench: Bench, ref: str, judge: Callable[[Part2], Need]) -> Need | None:
    """Return the need of a part with several junctions of known type, each judged with the whole part taken out."""
    pairs = _pairs(bench, ref)
    by_net = {end.net: end for end in bench.ends(ref)}
    if not pairs or not by_net:
        return None
    if (series := _series_clamp(bench, ref, pairs, by_net)) is not None:
        return series
    roles: dict[str, tuple[str, str]] = {}
    wrong = undecided = False
    needs = []
    for n, (anode, cathode) in enumerate(pairs, 1):
        nets = [bench.wires.board.pins[(ref, number)].net or "" for number in (anode, cathode)]
        roles |= {f"anode_{n}": (anode, nets[0]), f"cathode_{n}": (cathode, nets[1])}
        if nets[0] not in by_net or nets[1] not in by_net or nets[0] == nets[1]:
            undecided = True
            continue
        need = judge(Part2(ref, "diode", by_net[nets[0]], by_net[nets[1]]))
        needs.append(need)
        undecided |= not need.roles
        wrong |= bool(need.roles) and need.roles["anode"][1] != nets[0]
    told = (
        message("polarity-type-against-circuit", ref=ref, pin=pairs[0][0], net=roles["anode_1"][1]) if wrong else None
    )
    if undecided and not wrong:
        open_need = next((need for need in needs if not need.roles), None)
        return open_need or Need({}, message("polarity-kind-of-dual", ref=ref))
    why = next((need.why for need in needs if need.roles), message("polarity-kind-of-dual", ref=ref))
    return Need(roles, why, None, told)


def _series_clamp(bench: Bench, ref: str, pairs: list[tuple[str, str]], ends: dict[str, End]) -> Need | None:
    """Return the need of two junctions in series whose outer ends are ground and a positive rail."""
    if len(pairs) != 2 or pairs[0][1] != pairs[1][0]:
        return None
    outer = [ends.get(bench.wires.board.pins[(ref, number)].net or "") for number in (pairs[0][0], pairs[1][1])]
    first, last = outer
    if first is None or last is None:
        return None
    rail = last if at_least(last, first) else first
    if not is_positive(rail) or not at_least(rail, first if rail is last else last):
        return None
    numbers = {"anode_1": pairs[0][0], "cathode_1": pairs[0][1], "anode_2": pairs[1][0], "cathode_2": pairs[1][1]}
    roles = {role: (number, bench.wires.board.pins[(ref, number)].net or "") for role, number in numbers.items()}
    told = message("polarity-type-against-circuit", ref=ref, pin=pairs[1][1], net=rail.net) if rail is first else None
    return Need(roles, message("polarity-need-series-pair", ref=ref, rail=rail.net), None, told)


def _pairs(bench: Bench, ref: str) -> list[tuple[str, str]]:
    """Return (anode, cathode) pin numbers of each junction by the table of types."""
    for row in tables.rows("diode_pinouts"):
        if re.match(row["pattern"], bench.wires.text(ref), re.IGNORECASE):
            pairs = [tuple(pair.split(">")) for pair in row["junctions"].split()]
            found = [(a, k) for a, k in pairs if {(ref, a), (ref, k)} <= set(bench.wires.board.pins)]
            return found if len(found) == len(pairs) else []
    return []
