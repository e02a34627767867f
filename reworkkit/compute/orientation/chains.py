"""Rules for parts in series with another of known direction: the same current passes both."""

from collections.abc import Collection

from reworkkit.compute.orientation.ends import EQUAL_V, Bench, Need, Part2, is_positive, low_floor, reaches_up
from reworkkit.compute.orientation.transistors import npn
from reworkkit.model.connections import BREAKDOWN, GENERAL_DIODES, TRANSISTORS
from reworkkit.model.messages import message
from reworkkit.model.results import End

_LIT = frozenset({"led"})
_MOVES_V = 1.0
"""A net that moves by less than this pumps nothing [V]."""


def same_current(bench: Bench, part: Part2) -> Need | None:
    """At a net with just one other diode of known direction: what comes through one goes on through the other."""
    for node, other in part.ways:
        partner = _partner(bench, node, part.ref)
        if partner is None or (direction := bench.known.get(partner)) is None:
            continue
        kinds = bench.wires.kind(partner), part.kind
        opposed = sum(kind in BREAKDOWN for kind in kinds) == 1
        if sum(kind in BREAKDOWN for kind in kinds) == 2:
            continue
        why = message("polarity-need-series", ref=part.ref, other=partner, net=node.net)
        leaves = direction[1] == node.net
        return bench.first_at(part, node if leaves is not opposed else other, why)
    return None


def from_collector(bench: Bench, part: Part2) -> Need | None:
    """At a net with just a collector or drain beside it: a PNP or p-channel type drives out, the others draw in."""
    for node, other in part.ways:
        refs = [ref for ref in bench.wires.refs_on(node.net, part.ref) if bench.wires.kind(ref) != "test_point"]
        if len(refs) != 1 or bench.wires.kind(refs[0]) not in TRANSISTORS:
            continue
        role = {bench.role(refs[0], pin.number) for pin in bench.wires.pins(refs[0]) if pin.net == node.net}
        draws = {
            "C": npn(bench.wires, refs[0]),
            "D": {"n": True, "p": False}.get(bench.channel(refs[0]) or ""),
        }
        drawn = draws.get(role.pop()) if len(role) == 1 else None
        if drawn is not None:
            why = message("polarity-need-series", ref=part.ref, other=refs[0], net=node.net)
            return bench.first_at(part, other if drawn else node, why)
    return None


def _is_pump_node(bench: Bench, node: End, ref: str) -> bool:
    """Return whether nothing but diodes and capacitors is on a net."""
    kinds = [bench.wires.kind(other) for other in bench.wires.refs_on(node.net, ref)]
    rest = [kind for kind in kinds if kind not in GENERAL_DIODES and not kind.startswith("capacitor")]
    return set(rest) <= {"test_point"}


def _partner(bench: Bench, node: End, ref: str) -> str | None:
    """Return the other diode at a net that nothing else but capacitors feeds; with capacitors, only plain diodes."""
    if node.kind in ("ground", "rail", "made", "sign"):
        return None
    diodes, capacitors = [], False
    for other in bench.wires.refs_on(node.net, ref):
        kind = bench.wires.kind(other)
        if kind in GENERAL_DIODES and _guards(bench, ref, other):
            continue
        if kind in GENERAL_DIODES | _LIT | BREAKDOWN and len(bench.wires.nets(other)) == 2:
            diodes.append(other)
        elif kind.startswith("capacitor"):
            capacitors = True
        elif kind != "test_point":
            return None
    if len(diodes) != 1 or (capacitors and bench.wires.kind(diodes[0]) in BREAKDOWN):
        return None
    own = bench.wires.kind(ref)
    return None if capacitors and own in BREAKDOWN else diodes[0]


def _guards(bench: Bench, lit: str, other: str) -> bool:
    """Return whether a diode stands across an LED or the input of an optocoupler, against the reverse."""
    if bench.wires.kind(lit) not in ("led", "optocoupler"):
        return False
    return set(bench.wires.nets(other)) <= set(bench.wires.nets(lit))


def from_rail(bench: Bench, part: Part2) -> Need | None:
    """The first diode of a pump that starts at a rail with power of its own: away from it, upwards."""
    for rail, node in part.ways:
        known = is_positive(rail) and rail.fed and rail.kind in ("rail", "made")
        if not known and not _lifted(bench, rail, part.ref):
            continue
        partner = _partner(bench, node, part.ref)
        if partner is None or not _coupled(bench, node, part.ref):
            continue
        far = next(iter(bench.wires.beyond(partner, node.net)), "")
        level = bench.levels.get(far)
        if far and far != rail.net and not (level and level.band_v and level.band_v.nominal is not None):
            why = message("polarity-need-pump-start", ref=part.ref, rail=rail.net, net=node.net)
            return bench.first_at(part, rail, why)
    return None


def _lifted(bench: Bench, end: End, ref: str) -> bool:
    """Return whether a net above ground is fed by a diode of known direction."""
    feeds = any(bench.known.get(other, ("", ""))[1] == end.net for other in bench.wires.refs_on(end.net, ref))
    return feeds and (low_floor(end) > EQUAL_V or (end.kind == "sign" and low_floor(end) >= 0))


def _coupled(bench: Bench, node: End, ref: str) -> bool:
    """Return whether a capacitor joins a net to one that is no fixed level."""
    for other in bench.wires.refs_on(node.net, ref):
        if bench.wires.kind(other).startswith("capacitor"):
            for far in bench.wires.beyond(other, node.net):
                level = bench.levels.get(far)
                if not (level and level.band_v and level.band_v.nominal is not None):
                    return True
    return False


def pumped(bench: Bench, part: Part2) -> Need | None:
    """A capacitor from a moving net to one that diodes clamp: it charges to what is across it then."""
    for node, moving in part.ways:
        if node.kind not in ("derived", "unknown") or not _is_pump_node(bench, node, part.ref):
            continue
        if moving.kind != "both" and (moving.low_v is None or moving.high_v is None):
            continue
        floor, ceiling = bench.clamped(node.net, part.ref)
        low, high = low_floor(moving), reaches_up(moving)
        if floor is not None and low >= floor - EQUAL_V and high > floor + _MOVES_V and moving.kind == "derived":
            why = message("polarity-need-pumped", ref=part.ref, net=moving.net, moving=node.net)
            return bench.first_at(part, moving, why)
        if floor is not None and (moving.kind == "both" or floor > low + EQUAL_V) and floor >= 0:
            why = message("polarity-need-pumped", ref=part.ref, net=node.net, moving=moving.net)
            return bench.first_at(part, node, why)
        if (
            ceiling is not None
            and floor is None
            and (moving.kind == "both" or ceiling < high - EQUAL_V)
            and ceiling <= 0
        ):
            why = message("polarity-need-pumped", ref=part.ref, net=moving.net, moving=node.net)
            return bench.first_at(part, moving, why)
    return None


def on_bridge(bench: Bench, part: Part2) -> Need | None:
    """Between plus and minus of a bridge whose ends are decided, alone or in a string of parts in series."""
    if not bench.above:
        return None
    string = part.kind in _LIT | BREAKDOWN | {"optocoupler"}
    for high, low in part.ways:
        up = _string_end(bench, high.net, part.ref, _IN_STRINGS) if string else high.net
        down = _string_end(bench, low.net, part.ref, _IN_STRINGS) if string else low.net
        if (up, down) in bench.above:
            why = message("polarity-need-on-bridge", ref=part.ref, high=up, low=down)
            return bench.cathode_at(part, high, why) if part.kind in BREAKDOWN else bench.first_at(part, high, why)
    return None


def _string_end(bench: Bench, net: str, ref: str, kinds: Collection[str]) -> str:
    """Return the net at the end of a string of parts in series that begins at a net, away from a part."""
    for _ in range(_LONGEST_STRING):
        if len(bench.wires.on(net)) > _MOST_IN_STRING:
            return net
        onward = [one for one in bench.wires.refs_on(net, ref) if bench.wires.kind(one) != "test_point"]
        if len(onward) != 1 or bench.wires.kind(onward[0]) not in kinds:
            return net
        beyond = bench.wires.beyond(onward[0], net)
        if len(beyond) != 1:
            return net
        ref, net = onward[0], beyond[0]
    return net


def in_breakdown_string(bench: Bench, part: Part2) -> Need | None:
    """In a string of Zener diodes between stated nets: forward they would pull the lower one beyond its range."""
    strung = [_string_end(bench, end.net, part.ref, BREAKDOWN) for end in (part.a, part.b)]
    for (high, up), (_, down) in (
        ((part.a, strung[0]), (part.b, strung[1])),
        ((part.b, strung[1]), (part.a, strung[0])),
    ):
        above, below = (bench.levels[net].band_v if net in bench.levels else None for net in (up, down))
        if not above or not below or None in (above.low, above.high, below.low, below.high):
            continue
        slugs = {bench.levels[net].why.slug for net in (up, down)}
        steady = min(above.low or 0.0, below.low or 0.0) >= -_MOVES_V and "potential-derived" not in slugs
        if steady and (above.high or 0.0) > 2 * (below.high or 0.0) + _STRING_DROP_V:
            why = message("polarity-need-only-way", ref=part.ref, high=up, low=down)
            return bench.cathode_at(part, high, why)
    return None


_STRING_DROP_V = 5.0
_LONGEST_STRING = 40
_MOST_IN_STRING = 8
"""A net with more pins is no joint of a string, test points counted."""
_IN_STRINGS = frozenset(
    {"resistor", "led", "diode", "diode_schottky", "diode_zener", "fuse", "inductor", "ferrite_bead"}
)


def in_string(bench: Bench, part: Part2) -> Need | None:
    """In a string of lamps, or of diodes that make a reference: from the fed end to the end that is drawn down."""
    kinds = _IN_STRINGS if part.kind in _LIT else GENERAL_DIODES
    strung = [_string_end(bench, end.net, part.ref, kinds) for end in (part.a, part.b)]
    if strung == [part.a.net, part.b.net] and part.kind not in _LIT:
        return None
    for (high, up), (_, down) in (
        ((part.a, strung[0]), (part.b, strung[1])),
        ((part.b, strung[1]), (part.a, strung[0])),
    ):
        if up != down and _is_fed(bench, up, part) and _draws(bench, down, part) and not _draws(bench, up, part):
            return bench.first_at(part, high, message("polarity-need-string", ref=part.ref, high=up, low=down))
    return None


def _is_fed(bench: Bench, net: str, part: Part2) -> bool:
    level = bench.levels.get(net)
    above = bool(level and level.band_v and level.band_v.low is not None and level.band_v.low > 1.0)
    fixed = bool(level and level.why.slug not in ("potential-derived", "potential-stated"))
    if bench.pull(net, part.ref) == "up":
        return True
    if part.kind not in _LIT:
        return False
    rectified = any(bench.known.get(ref, ("", ""))[1] == net for ref in bench.wires.refs_on(net, part.ref))
    return (above and fixed) or (rectified and _is_stored(bench, net, part.ref))


def _is_stored(bench: Bench, net: str, ref: str) -> bool:
    """Return whether a capacitor to ground is on a net."""
    capacitors = [one for one in bench.wires.refs_on(net, ref) if bench.wires.kind(one).startswith("capacitor")]
    return any(_is_ground(bench, far) for one in capacitors for far in bench.wires.beyond(one, net))


def _draws(bench: Bench, net: str, part: Part2) -> bool:
    """Return whether a net is ground, or drawn to it through a small resistor, a low-side switch or a switched coil."""
    if _is_ground(bench, net):
        return True
    if part.kind not in _LIT:
        return False
    for ref in bench.wires.refs_on(net, part.ref):
        kind = bench.wires.kind(ref)
        roles = {bench.role(ref, pin.number) for pin in bench.wires.pins(ref) if pin.net == net}
        small = kind == "resistor" and (bench.wires.ohms(ref) or 1e9) <= _SENSE_OHM
        if small and any(_is_ground(bench, far) for far in bench.wires.beyond(ref, net)):
            return True
        if kind in TRANSISTORS and roles <= {"C", "D"}:
            drawn = {"C": npn(bench.wires, ref), "D": bench.channel(ref) == "n"}
            return bool(drawn.get(next(iter(roles))))
        if kind == "inductor" and part.kind in _LIT:
            far = bench.wires.beyond(ref, net)
            if any(bench.has(one, frozenset({"switching_regulator"})) for one in far):
                return True
    return False


def _is_ground(bench: Bench, net: str) -> bool:
    level = bench.levels.get(net)
    return bool(level and level.why.slug == "potential-ground")


_SENSE_OHM = 1000.0
