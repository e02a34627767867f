"""Parts with more than two ends: bridges, and dual diodes whose type fixes their pins."""

import re
from collections.abc import Callable

from reworkkit import tables
from reworkkit.compute.orientation.ends import Bench, Need, Part2, at_least, is_negative, is_positive
from reworkkit.model.connections import OUTSIDE
from reworkkit.model.messages import message
from reworkkit.model.results import End


def bridge(bench: Bench, ref: str) -> Need | None:
    """Plus of a bridge is at the positive rail, or away from ground where only ground is known."""
    ends = bench.ends(ref)
    ground = [end for end in ends if end.kind == "ground"]
    high = [end for end in ends if is_positive(end)]
    low = [end for end in ends if is_negative(end)]
    plus = high[0] if len(high) == 1 else None
    minus = low[0] if len(low) == 1 and not ground else (ground[0] if len(ground) == 1 and not low else None)
    if (plus is None or minus is None) and (pair := _called_pair(bench, ref, ends)):
        plus, minus = pair
    if plus is None and len(ground) == 1 and len(ends) == 4:
        rest = [end for end in ends if end is not ground[0]]
        waves = [end for end in rest if end.kind == "both" or end.may_be_fed]
        quiet = [end for end in rest if end not in waves]
        if len(waves) == len(quiet) + 1 and not is_negative(quiet[0]):
            plus, minus = quiet[0], ground[0]
    if (plus is None or minus is None) and (pair := _supply_pair(bench, ref, ends)):
        plus, minus = pair
    if plus is None or minus is None or len(ends) != 4:
        why = message("polarity-open-bridge", ref=ref)
        return Need({}, why)
    roles = {"plus": (bench.pin(ref, plus.net), plus.net), "minus": (bench.pin(ref, minus.net), minus.net)}
    waves = [end for end in ends if end not in (plus, minus)]
    roles |= {f"wave_{n}": (bench.pin(ref, end.net), end.net) for n, end in enumerate(waves, 1)}
    return Need(roles, message("polarity-need-bridge", ref=ref, high=plus.net, low=minus.net))


def _supply_pair(bench: Bench, ref: str, ends: tuple[End, ...]) -> tuple[End, End] | None:
    """Return the net with a supply pin of a chip and the other one that has no plug, where just two have none."""
    quiet = [end for end in ends if not (bench.has(end.net, OUTSIDE, ref) or end.may_be_fed or end.kind == "both")]
    if len(quiet) != 2 or len(ends) != 4:
        return None
    fed = [end for end in quiet if _has_supply_pin(bench, end.net)]
    if len(fed) != 1:
        return None
    return fed[0], next(end for end in quiet if end is not fed[0])


def _has_supply_pin(bench: Bench, net: str) -> bool:
    return any(bench.role(pin.ref, pin.number) in ("V+", "IN") for pin in bench.wires.on(net))


_PAIR_ENDS = (("P", "N"), ("+", "-"), ("POS", "NEG"), ("PLUS", "MINUS"))


def _called_pair(bench: Bench, ref: str, ends: tuple[End, ...]) -> tuple[End, End] | None:
    """Return two nets of a bridge called alike but for plus and minus, without a plug; power may come to the others."""
    for high in ends:
        for low in ends:
            named = any(
                high.net.upper().endswith(plus)
                and low.net.upper().endswith(minus)
                and high.net.upper().removesuffix(plus) == low.net.upper().removesuffix(minus)
                for plus, minus in _PAIR_ENDS
            )
            plugged = any(bench.has(end.net, OUTSIDE, ref) for end in (high, low))
            if named and not plugged and all(end.may_be_fed for end in ends if end not in (high, low)):
                return high, low
    return None


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
    if undecided and not wrong and not any(need.roles for need in needs):
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
    lower = first if rail is last else last
    if not (is_positive(rail) or (rail.kind == "ground" and is_negative(lower))) or not at_least(rail, lower):
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
