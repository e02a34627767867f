"""Is what a diagnosis names the fault that was put in, or one that the points cannot tell from it?"""

import re
from collections import Counter
from collections.abc import Iterable, Mapping
from types import MappingProxyType
from typing import Any, NamedTuple

KIND_WORDS = {
    "open": "open missing not_fitted absent blown joint_open open_joint dry_joint lead_open open_circuit not_soldered "
    "unsoldered tripped",
    "short": "short shorted internal_short shorted_inside short_circuit welded",
    "bridge": "bridge bridged solder_bridge bridged_nets bridged_pins bridged_neighbours net_bridge "
    "base_to_emitter base_to_collector gate_shorted gate_to_drain",
    "reversed": "reversed turned way_round wrong_way_round backwards turned_round",
    "times_10": "times_10 times_ten x10 decade_up decade_high ten_times too_high_decade decade_more",
    "tenth": "tenth div10 div_10 /10 x0.1 decade_down decade_low a_tenth decade_less",
    "pin_open": "pin_open open_pin leg_open in_open out_open ground_open gnd_open adjust_open adj_open open_ground "
    "open_gnd open_adjust open_in open_out input_open output_open "
    "supply_open collector_open gate_open contact_open",
    "wrong_variant": "wrong_variant variant wrong_type_number wrong_part wrong_version",
    "limit_low": "limit_low supply_limit limit current_limit limit_too_low supply_limit_low",
    "wrong_voltage": "wrong_voltage set_voltage wrong_set_voltage voltage supply_voltage",
    "swapped": "swapped leads_swapped swapped_leads supply_swapped supply_reversed",
    "off": "off supply_off",
    "value": "value free_value any_value value_anywhere wrong_value value_free free overload draws_too_much "
    "draws_more aged weak faded shorted_turns",
    "poor_joint": "poor_joint resistive_joint joint_resistance series_resistance joint bad_joint high_resistance",
    "leaky": "leaky leak leakage leaking parallel_resistance gate_leaks",
    "odd_output": "odd_output output_anywhere wrong_output odd_voltage",
    "wrong_type": "wrong_type other_type",
    "healthy": "healthy none no_fault no_fault_seen",
}
FREE_KINDS = frozenset({"value", "poor_joint", "leaky", "odd_output", "wrong_type"})
_KIND_OF = {word: kind for kind, words in KIND_WORDS.items() for word in words.split()}
_SUPPLY_KINDS = frozenset({"limit_low", "wrong_voltage", "swapped", "off"})
_ROLE_WORDS = {"in": "IN", "input": "IN", "out": "OUT", "output": "OUT"} | dict.fromkeys(
    ("ground", "gnd", "adjust", "adj"), "GND/ADJ"
)
_PIN_IN_KIND = re.compile(r"(?:pin|leg)_?(\w+?)_?open|open_(?:pin|leg)_?(\w+)")
_BETWEEN = re.compile(r"\s+to\s+|\s*[-/~]\s*")

Said = Mapping[str, Any]


class Named(NamedTuple):
    """A fault as a diagnosis names it, in the words of the bench; `kind` is empty where its word is not known."""

    ref: str
    kind: str
    pin: str = ""
    role: str = ""
    nets: frozenset[str] = frozenset()
    volts: float | None = None


def named(said: Said, unknown: Counter[str] | None = None) -> Named:
    """Return a fault of `groups[].faults[]`; extra keys `pin`/`pins`, `nets`, `to` are used where they are given."""
    ref = str(said["ref"])
    word = str(said["kind"]).strip().casefold().replace(" ", "_").replace("-", "_")
    kind, pin = _KIND_OF.get(word, ""), ""
    if not kind and (found := _PIN_IN_KIND.fullmatch(word)):
        kind, pin = "pin_open", (found[1] or found[2]).upper()
    if not kind and unknown is not None:
        unknown[word] += 1
    role = next((_ROLE_WORDS[w] for w in word.split("_") if w in _ROLE_WORDS), "") if kind == "pin_open" else ""
    pins = [str(p) for p in said.get("pins", ())] or [str(said.get("pin", ""))]
    if "." in ref and kind in ("open", "pin_open"):
        ref, _, pin = ref.partition(".")
        kind = "pin_open"
    nets = [str(net) for net in said.get("nets", ())] or (_BETWEEN.split(ref) if kind == "bridge" else [])
    return Named(ref, kind, pin or (pins[0] if len(pins) == 1 else ""), role, frozenset(nets), _volts(said.get("to")))


def _volts(text: Any) -> float | None:
    found = re.search(r"[0-9]+(?:\.[0-9]+)?", str(text)) if text not in (None, "") else None
    return float(found[0]) if found else None


class Bench(NamedTuple):
    """What is needed of a stored section to compare: the listed faults, partners, parts and their pins and nets."""

    listed: dict[str, Said]
    partners: dict[str, list[str]]
    pins: dict[str, dict[str, str]]
    nets: dict[str, frozenset[str]]
    written: Mapping[str, Mapping[str, str]] = MappingProxyType({})
    """Pins by the names that the netlist gives them, where these are other ones than the roles in `pins`."""


def accepted(bench: Bench, truth: Said) -> tuple[list[Said], bool]:
    """Return the faults that count as right for a true one, itself first; and whether "no fault seen" counts too."""
    names = bench.partners.get(truth["id"], [])
    return [truth, *(bench.listed[name] for name in names if name != "healthy")], "healthy" in names


def is_it(bench: Bench, one: Named, truth: Said) -> bool:
    """Return whether a named fault is this fault; a pin or voltage that the diagnosis leaves open is no difference."""
    kind, ref = truth["kind"], truth["ref"]
    if ref == "supply":
        return one.kind == kind and kind in _SUPPLY_KINDS
    joined, meant = _joined(bench, one), _joined_truth(bench, truth)
    if joined and meant:
        return joined == meant
    if one.ref != ref:
        return False
    two_leads = len(bench.pins.get(ref, {})) == 2
    if kind == "missing" or (kind == "open" and two_leads):
        return one.kind == "open" or (two_leads and one.kind == "pin_open")
    if kind == "pin_open":
        return one.kind == "pin_open" and _same_pin(bench, one, truth)
    if kind in ("times_10", "tenth"):
        return one.kind in (kind, "value")
    if kind in ("wrong_variant", "odd_output"):
        told = _volts(truth.get("to"))
        return one.kind == kind and (one.volts is None or told is None or abs(one.volts - told) <= 0.1 * told)
    return one.kind == kind or {one.kind, kind} <= FREE_KINDS


def _joined(bench: Bench, one: Named) -> frozenset[str]:
    if one.kind == "short":
        return bench.nets.get(one.ref, frozenset())
    if one.kind != "bridge":
        return frozenset()
    return one.nets if len(one.nets) == 2 else bench.nets.get(one.ref, frozenset())


def _joined_truth(bench: Bench, truth: Said) -> frozenset[str]:
    if truth["kind"] == "short":
        return bench.nets.get(truth["ref"], frozenset())
    return frozenset(truth.get("nets", ())) if truth["kind"] == "bridge" else frozenset()


def _same_pin(bench: Bench, one: Named, truth: Said) -> bool:
    """Compare by number where one is told, by role where the kind names one."""
    number = truth["pins"][0]
    role = next((role for role, n in bench.pins.get(truth["ref"], {}).items() if n == number), "")
    if one.pin:
        return one.pin in (number, role) or bench.written.get(truth["ref"], {}).get(one.pin) == number
    return not one.role or role in one.role.split("/")


def hits(bench: Bench, group: Iterable[Named], truth: Said) -> tuple[bool, bool]:
    """Return whether a group holds the true fault, and whether it holds it or one the points cannot tell from it."""
    right, _ = accepted(bench, truth)
    flags = [[is_it(bench, one, fault) for fault in right] for one in group]
    return any(flag[0] for flag in flags), any(any(flag) for flag in flags)


def names_place(one: Named, truth: Said) -> bool:
    """Return whether a free-value hypothesis names the place of an unlisted fault."""
    return one.ref == truth["ref"] and one.kind in FREE_KINDS
