"""Rules that rest on what a plug does not bring: nothing below ground on a board that works on one side of it only.

They come after all that is known. A stated range, a name or a part that tells of the other side silences them.
"""

import re

from reworkkit.compute.orientation.ends import EQUAL_V, Bench, Need, Part2, is_positive, mostly_above
from reworkkit.model.connections import CHIPS, GENERAL_DIODES, WINDINGS
from reworkkit.model.messages import message
from reworkkit.model.results import End

_LIGHTS_V = 1.2
_SWITCH_PINS = frozenset({"SW", "BOOT", "V+", "OUT", "VOUT"})


def pulled_apart(bench: Bench, part: Part2) -> Need | None:
    """An LED between a net that only resistors from positive rails hold up and one that only resistors pull down."""
    for high, low in part.ways:
        up = is_positive(high) or bench.pull(high.net, part.ref) == "up"
        down = low.kind == "ground" or bench.pull(low.net, part.ref) == "down"
        if up and down and (high.kind, low.kind) != ("rail", "ground"):
            why = message("polarity-need-pulled-apart", ref=part.ref, high=high.net, low=low.net)
            return bench.first_at(part, high, why)
    return None


def lights_mostly(bench: Bench, part: Part2) -> Need | None:
    """As above, where the ranges overlap by no more than people round them: an LED bears little in reverse."""
    for high, low in part.ways:
        if mostly_above(high, low):
            why = message("polarity-need-lights-mostly", ref=part.ref, high=high.net, low=low.net)
            return bench.first_at(part, high, why)
    return None


def divides(bench: Bench, part: Part2) -> Need | None:
    """A capacitor from a net of plugs to a net that only resistors from there and from ground hold."""
    for high, low in part.ways:
        held = (
            high.net in low.between
            and set(low.between) - {high.net}
            and set(low.between) - {high.net} <= set(low.grounds)
        )
        if held and bench.potentials.one_sided and _is_presumed(bench, high):
            return bench.first_at(part, high, message("polarity-need-plug", ref=part.ref, net=high.net, low=low.net))
    return None


def sinks(bench: Bench, part: Part2) -> Need | None:
    """An LED between a resistor from a positive rail and a plug or a pin of a chip lights when that is low."""
    for high, low in part.ways:
        up, down = (through_lamps(bench, end.net, part.ref) for end in (high, low))
        held = _held_up(bench, high, part.ref) or (up != high.net and bench.pull(up, part.ref) == "up")
        if not held or low.kind in ("ground", "rail", "both", "made", "sign"):
            continue
        if is_positive(low) or (low.low_v is not None and low.low_v >= (high.high_v or 0.0)):
            continue
        if _is_signal_pin(bench, down, part.ref):
            why = message("polarity-need-sinks", ref=part.ref, high=high.net, low=low.net)
            return bench.first_at(part, high, why)
    return None


def _held_up(bench: Bench, end: End, ref: str) -> bool:
    """Return whether an end is a positive rail of known volts, or hangs on resistors from such rails alone."""
    if end.kind in ("rail", "made"):
        return (end.low_v or 0.0) > _LIGHTS_V
    return bench.pull(end.net, ref) == "up"


def through_lamps(bench: Bench, net: str, ref: str) -> str:
    """Return the net beyond the lamps, or inputs of optocouplers, that alone go on from a net in series."""
    for _ in range(_MOST_LAMPS):
        onward = [one for one in bench.wires.refs_on(net, ref) if bench.wires.kind(one) != "test_point"]
        if len(onward) != 1 or bench.wires.kind(onward[0]) not in ("led", "optocoupler"):
            return net
        pins = {bench.role(onward[0], pin.number): pin.net for pin in bench.wires.pins(onward[0])}
        lit = bench.wires.nets(onward[0]) if bench.wires.kind(onward[0]) == "led" else (pins.get("A"), pins.get("K"))
        beyond = [other for other in lit if other and other != net]
        if len(beyond) != 1 or net not in lit:
            return net
        ref, net = onward[0], beyond[0]
    return net


_MOST_LAMPS = 8


def _is_signal_pin(bench: Bench, net: str, ref: str) -> bool:
    """Return whether a plug or a signal pin of a chip is on a net, and nothing that makes power."""
    found = False
    for other in bench.wires.refs_on(net, ref):
        kind = bench.wires.kind(other)
        roles = {bench.role(other, pin.number) for pin in bench.wires.pins(other) if pin.net == net}
        if kind in WINDINGS or roles & _SWITCH_PINS:
            return False
        found |= kind in CHIPS or kind in ("connector", "terminal", "optocoupler") or roles == {"C"}
    return found


def lit_by_plug(bench: Bench, part: Part2) -> Need | None:
    """An LED between ground and a net that only plugs feed, on a board that works above ground only."""
    for high, low in part.ways:
        if low.kind == "ground" and _is_presumed(bench, high):
            why = message("polarity-need-plug", ref=part.ref, net=high.net, low=low.net)
            return bench.first_at(part, high, why)
    return None


def charges(bench: Bench, part: Part2) -> Need | None:
    """From a resistor that a rail feeds to a battery, or from a rail to a store that nothing else can fill."""
    for source, store in part.ways:
        why = message("polarity-need-charges", ref=part.ref, net=source.net, store=store.net)
        rails = dict(source.rails)
        through = source.static and set(source.between) == set(rails) and all(volts > 0 for volts in rails.values())
        if through and rails and bench.has(store.net, _CELLS, part.ref) and _is_plus_of_cell(store):
            return bench.first_at(part, source, why)
        full = source.kind in ("rail", "made") and is_positive(source) and bench.has(store.net, _FILLED, part.ref)
        own = store.alive or store.fed or store.may_be_fed or store.fed_by_diodes
        if full and not own and (store.low_v or 0.0) >= 0 and not bench.has(store.net, WINDINGS):
            return bench.first_at(part, source, why)
    return None


_FILLED = frozenset({"supercapacitor"})


def _is_plus_of_cell(end: End) -> bool:
    return end.kind != "ground" and end.low_v is not None and end.low_v >= 0


def guards_plug(bench: Bench, part: Part2) -> Need | None:
    """A one-way suppressor or Zener diode between ground and a net of plugs, on a board above ground only."""
    for line, ground in part.ways:
        if ground.kind == "ground" and _is_presumed(bench, line):
            return bench.cathode_at(
                part, line, message("polarity-need-plug", ref=part.ref, net=line.net, low=ground.net)
            )
    return None


def held_by_plug(bench: Bench, part: Part2) -> Need | None:
    """A capacitor between ground and a net of plugs that no diode feeds, on a board above ground only."""
    for high, low in part.ways:
        if not (bench.potentials.one_sided and low.kind == "ground" and _is_presumed(bench, high)):
            continue
        kinds = {bench.wires.kind(ref) for ref in bench.wires.refs_on(high.net, part.ref)}
        others = [ref for ref in bench.wires.refs_on(high.net, part.ref) if bench.wires.kind(ref) in _ONE_WAY]
        fills = all(bench.known.get(ref, ("", ""))[1] == high.net for ref in others)
        if fills or not kinds & _ONE_WAY or bench.pull(high.net, part.ref) == "up":
            return bench.first_at(part, high, message("polarity-need-plug", ref=part.ref, net=high.net, low=low.net))
    return None


def _from_plugs(bench: Bench, end: End) -> bool:
    return end.plugs_only and end.kind == "unknown"


def _is_presumed(bench: Bench, end: End) -> bool:
    """Return whether all that leaves a net open may be taken as above ground: plugs, cells, positive regulators."""
    if end.kind != "unknown" or end.low_v is not None:
        return False
    if _from_plugs(bench, end):
        return bench.above_ground(end)
    kinds = {bench.wires.kind(ref) for ref in end.unknown}
    return bool(kinds) and bench.potentials.one_sided and kinds <= _ABOVE


_ONE_WAY = GENERAL_DIODES | {"diode_dual"}
_ABOVE = frozenset({"connector", "terminal", "battery", "battery_holder", "linear_regulator", "switching_regulator"})


def cells(bench: Bench, part: Part2) -> Need | None:
    """Of cells in series each has its plus towards the end away from ground."""
    for high, low in part.ways:
        if _cells_lead_to_ground(bench, low.net, part.ref) and not _cells_lead_to_ground(bench, high.net, part.ref):
            return bench.first_at(part, high, message("polarity-need-cells", ref=part.ref, net=low.net))
    return None


def _cells_lead_to_ground(bench: Bench, net: str, ref: str) -> bool:
    for _ in range(_MOST_CELLS):
        level = bench.levels.get(net)
        if level and level.why.slug == "potential-ground":
            return True
        onward = [one for one in bench.wires.refs_on(net, ref) if bench.wires.kind(one) in _CELLS]
        if len(onward) != 1 or len(beyond := bench.wires.beyond(onward[0], net)) != 1:
            return False
        ref, net = onward[0], beyond[0]
    return False


_CELLS = frozenset({"battery", "battery_holder"})
_MOST_CELLS = 40


def returns(bench: Bench, part: Part2) -> Need | None:
    """The input of an optocoupler between two nets of plugs, one of them called a return."""
    if bench.wires.kind(part.ref) != "optocoupler":
        return None
    called = [end for end in (part.a, part.b) if _RETURN.search(end.net.upper())]
    if len(called) != 1 or not all(end.kind == "unknown" and end.plugs_only for end in (part.a, part.b)):
        return None
    high = part.b if called[0] is part.a else part.a
    return bench.first_at(part, high, message("polarity-need-return", ref=part.ref, net=called[0].net))


_RETURN = re.compile(r"(?:^|_)(?:RTN|RETURN|COM|GND\w*)$|-$")


def couples(bench: Bench, part: Part2) -> Need | None:
    """A capacitor towards a plug: the plug brings no steady voltage of its own, so the board's own levels count."""
    for high, low in part.ways:
        if "both" in (high.kind, low.kind) or not (high.plugs_only or low.plugs_only):
            continue
        least, most = _idle_low(bench, high, part.ref), _idle_high(bench, low, part.ref)
        if least is None or most is None or least < most - EQUAL_V:
            continue
        if _reaches(high) > most + EQUAL_V:
            return bench.first_at(part, high, message("polarity-need-bias", ref=part.ref, high=high.net, low=low.net))
    return None


def _reaches(end: End) -> float:
    if end.idle_high_v is None:
        return float("inf") if end.idle_low_v is not None else 0.0
    return end.idle_high_v


def _idle_low(bench: Bench, end: End, ref: str) -> float | None:
    return 0.0 if _bare_plug(bench, end, ref) else end.idle_low_v


def _idle_high(bench: Bench, end: End, ref: str) -> float | None:
    return 0.0 if _bare_plug(bench, end, ref) else end.idle_high_v


def _bare_plug(bench: Bench, end: End, ref: str) -> bool:
    """Return whether nothing but a plug and capacitors is on a net."""
    if not end.plugs_only:
        return False
    kinds = [bench.wires.kind(other) for other in bench.wires.refs_on(end.net, ref)]
    return all(kind in ("connector", "terminal", "test_point") or kind.startswith("capacitor") for kind in kinds)


def by_net_name(bench: Bench, part: Part2) -> Need | None:
    """A net called after a terminal of the part itself tells where the designer meant it: `LED1_A`, `D3_K`."""
    found = [(end, terminal) for end in (part.a, part.b) if (terminal := _terminal(end.net, part.ref, part.kind))]
    if not found or len({(end.net, terminal) for end, terminal in found}) != len({t for _, t in found}):
        return None
    end, terminal = found[0]
    why = message("polarity-need-net-name", ref=part.ref, net=end.net)
    return bench.first_at(part, end, why) if terminal == "A" else bench.cathode_at(part, end, why)


def _terminal(net: str, ref: str, kind: str) -> str | None:
    """Return A or K where a net is called after that terminal of a part.

    >>> [_terminal(n, "LED3", "led") for n in ("LED3A", "L3K", "LED3_CATHODE", "Net-(LED3-A)", "LED4A", "RELAY")]
    ['A', 'K', 'K', None, None, None]
    """
    letters, number = ref.rstrip("0123456789"), ref.lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ")
    short = "|".join(re.escape(one) for one in {letters, *(("L", "LD") if kind == "led" else ())})
    found = re.fullmatch(rf"(?:{short}){re.escape(number)}[_ ]?(A|AN|ANODE|K|KA|CATHODE|KATHODE)", net.upper())
    return None if found is None or not number else found[1][0].replace("C", "K")


def common_pin(bench: Bench, ref: str) -> Need | None:
    """Several LEDs in one part: the net that is a rail or ground while all others are signals is their common pin."""
    ends = bench.ends(ref)
    high = [end for end in ends if end.kind in ("rail", "made") and is_positive(end)]
    ground = [end for end in ends if end.kind == "ground"]
    if len(high) + len(ground) != 1:
        return None
    (common,) = high or ground
    if any(bench.pull(end.net, ref) for end in ends if end is not common):
        return None
    role = "anode" if high else "cathode"
    why = message("polarity-need-common-pin", ref=ref, role=role, net=common.net)
    return Need({role: (bench.pin(ref, common.net), common.net)}, why)
