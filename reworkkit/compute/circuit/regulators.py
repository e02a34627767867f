"""Voltage regulators: figures from board.toml, else from the table of common types; pins by name, table or nets."""

import re
from typing import NamedTuple

from reworkkit import tables
from reworkkit.compute.circuit.converter_limits import farthest, highest
from reworkkit.compute.circuit.enables import enabled
from reworkkit.compute.circuit.figures import around, stated
from reworkkit.compute.circuit.nets import ground_nets
from reworkkit.compute.circuit.parts import current_set, pins_only, unmodelled
from reworkkit.compute.circuit.power_good import power_good
from reworkkit.compute.circuit.pumps import pump
from reworkkit.compute.circuit.regulator_pins import LIMITS_AT_V, Pins, limit_pin, limiting_ohm, pins_of
from reworkkit.compute.circuit.regulator_set import by_set_pin
from reworkkit.compute.circuit.regulator_types import (
    figure,
    held_volts,
    is_adjustable,
    is_alone,
    is_low_drop,
    row_of,
    told_of,
    told_volts,
)
from reworkkit.compute.circuit.wiring import Wiring, words_of
from reworkkit.model.messages import Finding, Message, message
from reworkkit.model.part import Part
from reworkkit.model.results import Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis, Severity

_SWITCHING_FORMS = frozenset(("buck", "buck_fixed", "boost"))
_ISOLATED = re.compile(r"(?<![a-z-])isolated|isoliert|galvanic", re.IGNORECASE)
DIVIDER_PERCENT = 8.0
"""So far may a stated output be from what reference and divider make to be the same figure, rounded."""
OWN_TAP_V = 5.0
"""What a type with a divider of its own inside makes, where its number names nothing else; from memory."""
RESISTIVE_BELOW_V = 0.9
"""A dropout at full load below this is that of a channel or a saturated PNP, which goes with the current (memory)."""
LIGHT_SHARE, LIGHT_SHARE_NPN = 0.2, 0.8
"""Share of the full dropout at some tens of milliampere: of a resistive one, of an NPN follower (memory)."""


class _Output(NamedTuple):
    """What a regulator holds, and where from; `direct`: at its output, whatever resistors set it."""

    volts: Band
    told: tuple[Message, ...]
    direct: bool


def regulator(wiring: Wiring, part: Part) -> list[Element]:
    """Return a regulator, or the question that its figures or pins leave open."""
    row = row_of(part, wiring.board.own_tables)
    if _ISOLATED.search(words_of(part)):
        wiring.ask((part.ref,), message("circuit-isolated"))
        return pins_only(wiring, part)
    if row is not None and row["form"] == "pump":
        return pump(wiring, part, row)
    switching = row["form"] in _SWITCHING_FORMS if row else part.identity.kind != "linear_regulator"
    pins = pins_of(wiring, part, row)
    if pins is None:
        return _without_pins(wiring, part, row, switching)
    _judge_ground(wiring, part, pins)
    element = _switching(wiring, part, row, pins) if switching else _linear(wiring, part, row, pins)
    if element is None:
        return unmodelled(wiring, part)
    if element.kind == "regulator":
        _judge_direction(wiring, part, element)
    limit = limit_pin(wiring, part, row) if element.kind == "regulator" else None
    set_by = [current_set(part, element.nodes[1], limit, LIMITS_AT_V)] if limit else []
    return [*enabled(wiring, part, row, pins, element), *power_good(wiring, part, row, element), *set_by]


def is_known(wiring: Wiring, part: Part) -> bool:
    """Return whether a part is a regulator of a type that the table knows."""
    kind = part.identity.kind
    if kind in ("ic", "unknown", "module", "voltage_reference"):
        return is_alone(part)
    return kind in ("linear_regulator", "switching_regulator") and row_of(part, wiring.board.own_tables) is not None


def power_module(wiring: Wiring, part: Part) -> list[Element]:
    """Return a module that makes power: a three-pin converter as a regulator, others of unknown behaviour."""
    row = row_of(part, wiring.board.own_tables)
    three = len(wiring.nets_of(part.ref)) == len(("in", "ground", "out"))
    held = held_volts(part, row)
    return regulator(wiring, part) if row is not None or (three and held) else unmodelled(wiring, part)


def _without_pins(wiring: Wiring, part: Part, row: tables.Row | None, switching: bool) -> list[Element]:
    _judge_missing_ground(wiring, part, row)
    roles = 'IN = "1", SW = "2", GND = "3", FB = "4"' if switching else 'IN = "1", GND = "2", OUT = "3"'
    wiring.ask((part.ref,), message("circuit-regulator-pins"), f"[parts] {part.ref} = {{ pins = {{ {roles} }} }}")
    return pins_only(wiring, part)


def _judge_ground(wiring: Wiring, part: Part, pins: Pins) -> None:
    """Report a regulator whose ground pin is on no net, or on one that leads nowhere: an open or wrong land."""
    ground = pins.nodes.get("GND")
    net = wiring.board.nets.get(ground or "")
    alone = net is not None and all(ref == part.ref for ref, _ in net.pins) and ground not in ground_nets(wiring.board)
    if ground and ("." in ground or alone):
        told = message("circuit-regulator-ground-open", ref=part.ref, pin=ground)
        wiring.findings.append(Finding(told, Severity.STOP, (part.ref,)))


def _judge_missing_ground(wiring: Wiring, part: Part, row: tables.Row | None) -> None:
    """Report a fixed linear regulator that has no pin on ground at all; where its type is not known, to be checked."""
    grounds = {wiring.ground, *ground_nets(wiring.board)}
    if part.identity.kind != "linear_regulator" or grounds & set(wiring.nets_of(part.ref)):
        return
    if row is not None and (is_adjustable(part, row) or (row["volts"] and figure(row, "volts") is not None)):
        return
    severity = Severity.CHECK if row is None else Severity.STOP
    wiring.findings.append(Finding(message("circuit-regulator-no-ground", ref=part.ref), severity, (part.ref,)))


def _judge_direction(wiring: Wiring, part: Part, element: Element) -> None:
    """Report a linear regulator that stands backwards: its output on a rail further from ground than its input.

    Where the output is on no rail, an input on a rail of the regulator's own voltage tells it too.
    """
    inside, out, common, _ = element.nodes
    held = abs(element.parameters["volts"].nominal or 0.0)
    at_in, at_out = (abs(wiring.rails[net][0].nominal or 0.0) if net in wiring.rails else None for net in (inside, out))
    fixed = common == wiring.ground and held > 0
    further = at_in is not None and at_out is not None and at_out > 1.05 * at_in
    own_at_input = fixed and at_out is None and at_in is not None and abs(at_in - held) <= 0.05 * held
    if further or own_at_input:
        told = message("circuit-regulator-backwards", ref=part.ref, inside=inside, out=out)
        wiring.findings.append(Finding(told, Severity.STOP, (part.ref,)))


def _output(wiring: Wiring, part: Part, row: tables.Row | None, out: str, adjusted: bool) -> _Output | None:
    """Return what the regulator holds: `out`, its type or number, the stated rail, its words, the rail's name.

    `adjusted`: resistors set it, so what its type tells is its reference; one that stands on its own negative output
    works by that alone. A number that says otherwise than [rails] is believed: that a wrong version is fitted is told
    by comparing the two.
    """
    by_table = figure(row, "tolerance_percent")
    percent = wiring.figure("regulator_tolerance") if by_table is None else by_table
    told = () if by_table is not None else (wiring.assumed("regulator_tolerance", part.ref),)
    said = stated(wiring.facts(part.ref).out, percent)
    turned_over = adjusted and said is not None and (said.nominal or 0.0) < 0 and (figure(row, "volts") or 0.0) > 0
    if said is not None and not turned_over:
        return _Output(said, told, True)
    held = held_volts(part, row) if adjusted or not is_adjustable(part, row) else told_volts(part, row)
    rail = _stated_rail(wiring, part, out)
    if held is not None and adjusted:
        return _Output(around(held.volts, percent, "V", BandBasis.TABLE), told, False)
    if rail and (held is None or held.by_words):
        why = message("circuit-volts-by-rail", ref=part.ref, net=rail)
        return _Output(wiring.rails[rail][0], (*told, why), True)
    if held is not None:
        return _Output(around(held.volts, percent, "V", BandBasis.TABLE), (*told, *told_of(part, held)), True)
    if wiring.is_rail(out) and out not in wiring.board.facts.supplies:
        why = message("circuit-volts-by-out-rail", ref=part.ref, net=out)
        return _Output(wiring.rails[out][0], (*told, why), True)
    return None


def _stated_rail(wiring: Wiring, part: Part, out: str) -> str | None:
    """Return the net of the rail that board.toml says the part makes, or states the voltage of, at its output."""
    rails = wiring.board.facts.rails
    made = [net for net, rail in rails.items() if rail.made_by == part.ref and net in wiring.rails]
    if made:
        return made[0]
    return out if out in rails and rails[out].volts and rails[out].made_by in (None, part.ref) else None


def _dropout(wiring: Wiring, part: Part, row: tables.Row | None, prefix: str) -> tuple[Band, bool]:
    """Return the dropout at the light loads of a first power-up, and whether it was taken for granted.

    Tables, sheets and board.toml state it at full load: a resistive one is a small share of that, an NPN follower's
    nearly whole.
    """
    said = stated(wiring.facts(part.ref).dropout, 20)
    full = said.nominal if said else figure(row, "dropout_v")
    if said and (full or 0.0) >= RESISTIVE_BELOW_V:
        return said, False
    if full is None:
        return wiring.default(f"{prefix}_dropout" if not is_low_drop(part) else "low_dropout"), True
    most = (None if said else figure(row, "dropout_high_v")) or 1.2 * full
    if not said and row is not None and row["source"] == "yours":
        return Band(min(0.1, full), full, most, "V", BandBasis.TABLE), False
    if full < RESISTIVE_BELOW_V:
        return Band(0.02 * full, LIGHT_SHARE * full, most, "V", BandBasis.TABLE), False
    return Band(min(0.1, full), LIGHT_SHARE_NPN * full, most, "V", BandBasis.TABLE), False


def _common_figures(
    wiring: Wiring, part: Part, row: tables.Row | None, prefix: str
) -> tuple[dict[str, Band], list[Message]]:
    facts, told = wiring.facts(part.ref), []
    dropout, by_default = _dropout(wiring, part, row, prefix)
    if by_default:
        told.append(wiring.assumed(f"{prefix}_dropout" if not is_low_drop(part) else "low_dropout", part.ref))
    limit = None
    if facts.amps:
        amps = float(facts.amps.value)
        limit = Band(amps, 1.5 * amps, 2.5 * amps, "A", BandBasis.STATED)
    elif (at := figure(row, "limit_a")) is not None:
        limit = around(at, 40, "A", BandBasis.TABLE)
    quiescent = stated(facts.quiescent, 50)
    if quiescent is None and (nominal := figure(row, "quiescent_a")) is not None:
        high = figure(row, "quiescent_high_a")
        quiescent = Band(nominal / 2, nominal, 2 * nominal if high is None else high, "A", BandBasis.TABLE)
    figures = {"dropout": dropout}
    for name, band, key in (("limit", limit, "regulator_limit"), ("quiescent", quiescent, f"{prefix}_quiescent")):
        figures[name] = band or wiring.default(key)
        if band is None:
            told.append(wiring.assumed(key, part.ref))
    return figures, told


def _no_volts(wiring: Wiring, part: Part) -> None:
    wiring.ask((part.ref,), message("circuit-regulator-volts"), f'[parts] {part.ref} = {{ out = "3.3 V" }}')


def _linear(wiring: Wiring, part: Part, row: tables.Row | None, pins: Pins) -> Element | None:
    out, feedback = pins.nodes["OUT"], None
    if row is not None and row["form"] == "set":
        return by_set_pin(wiring, part, row, pins, _common_figures(wiring, part, row, "regulator"))
    if row is not None and row["form"] == "feedback":
        feedback = pins.nodes.get("FB") or pins.nodes.get("ADJ") or wiring.by_role(part, "REF")
        feedback = None if feedback == out else feedback
    adjusted = feedback is not None or (is_adjustable(part, row) and "ADJ" in pins.nodes)
    adjusted = adjusted or (row is not None and row["form"] in ("adjustable", "negative") and bool(row["volts"]))
    if feedback and _own_tap(wiring, part, feedback):
        adjusted, feedback = False, None
    output = _output(wiring, part, row, out, adjusted) or _tapped(wiring, part, row, pins)
    if output is None:
        _no_volts(wiring, part)
        return None
    figures, told = _common_figures(wiring, part, row, "regulator")
    ground = pins.nodes.get("GND") or wiring.ground
    common = ground if feedback else pins.nodes.get("ADJ") or ground
    if output.direct and adjusted:
        common, feedback = ground if feedback or "GND" in pins.nodes else wiring.ground, None
    if ohm := limiting_ohm(wiring, part, row, out):
        figures["limit"] = around(LIMITS_AT_V / ohm, 15, "A", BandBasis.TABLE)
    nodes = (pins.nodes["IN"], out, common, feedback or out)
    return Element("regulator", part.ref, nodes, {"volts": output.volts, **figures}, (*pins.told, *output.told, *told))


def _own_tap(wiring: Wiring, part: Part, net: str) -> bool:
    """Return whether nothing but the part's own pins is on a net: its feedback stands at a divider inside."""
    return net in wiring.board.nets and all(ref == part.ref for ref, _ in wiring.board.nets[net].pins)


def _tapped(wiring: Wiring, part: Part, row: tables.Row | None, pins: Pins) -> _Output | None:
    """Return the 5 V of a type whose feedback pin stands at its own tap, where its number names nothing else."""
    if row is None or row["form"] != "feedback" or not _own_tap(wiring, part, pins.nodes.get("FB", "")):
        return None
    percent = figure(row, "tolerance_percent") or wiring.figure("regulator_tolerance")
    return _Output(around(OWN_TAP_V, percent, "V", BandBasis.TABLE), (), True)


def _switching(wiring: Wiring, part: Part, row: tables.Row | None, pins: Pins) -> Element | None:
    switch, entry = _switch(wiring, part, pins), pins.nodes["IN"]
    boost_out = _boost_output(wiring, part, switch, entry) or (_own_output(wiring, part, pins, switch, entry))
    out = boost_out or switch
    rail = boost_out or _behind_coil(wiring, part, switch, entry)
    feedback = pins.nodes.get("FB") or pins.nodes.get("ADJ")
    adjusted = feedback is not None and feedback != rail and is_adjustable(part, row)
    output = _output(wiring, part, row, rail, adjusted)
    if output is None:
        _no_volts(wiring, part)
        return None
    if adjusted and output.direct and feedback:
        output = _divided(wiring, row, output, rail, feedback)
    figures, told = _common_figures(wiring, part, row, "converter")
    efficiency = _efficiency(wiring, part, row)
    if pins.nodes.get("GND") not in (None, wiring.ground):
        efficiency = _turned(efficiency, _share_of_input(wiring, entry, pins.nodes["GND"]))
    start = wiring.default("converter_start")
    if (at := figure(row, "start_v")) is not None:
        start = around(at, 20, "V", BandBasis.TABLE)
    told += [] if at is not None else [wiring.assumed("converter_start", part.ref)]
    sense = feedback if feedback and (not output.direct or feedback == rail) else rail
    parameters = {"volts": output.volts, **figures, "start": start, "efficiency": efficiency}
    nodes = (entry, out, pins.nodes.get("GND") or wiring.ground, sense)
    known = (wiring, row, pins, output.volts)
    most = highest(*known, boost_out) if boost_out else farthest(*known)
    if boost_out or most:
        parameters.pop("dropout")
    if most:
        parameters["most"] = most
    return Element(
        "boost" if boost_out else "converter", part.ref, nodes, parameters, (*pins.told, *output.told, *told)
    )


def _divided(wiring: Wiring, row: tables.Row | None, output: _Output, rail: str, feedback: str) -> _Output:
    """Return the reference of the type in place of a stated output that it and the divider make: faults show then."""
    reference, stated_v = figure(row, "volts"), output.volts.nominal
    top, low = (wiring.lone_resistor(feedback, net) for net in (rail, wiring.ground))
    if not reference or not stated_v or not top or not low:
        return output
    if abs(reference * (1 + top / low) / stated_v - 1) > DIVIDER_PERCENT / 100:
        return output
    percent = figure(row, "tolerance_percent") or wiring.figure("regulator_tolerance")
    return _Output(around(reference, percent, "V", BandBasis.TABLE), output.told, False)


def _efficiency(wiring: Wiring, part: Part, row: tables.Row | None) -> Band:
    if (share := figure(row, "efficiency")) is None:
        return wiring.default("converter_efficiency")
    return Band(share - 0.1, share, min(share + 0.12, 0.97), "1", BandBasis.TABLE)


def _share_of_input(wiring: Wiring, entry: str, low: str) -> float:
    """Return the input voltage as a share of input and output of a converter whose ground pin is its output."""
    known = [abs(wiring.rails[net][0].nominal or 0.0) if net in wiring.rails else None for net in (entry, low)]
    into, out = known
    return into / (into + out) if into and out else 0.5


def _turned(efficiency: Band, share: float) -> Band:
    """Return the efficiency as it counts where the input stands on the output: what is lost is lost on its share."""
    low, nominal, high = (
        1.0 - (1.0 - (end or 0.8)) * share for end in (efficiency.low, efficiency.nominal, efficiency.high)
    )
    return Band(low, nominal, high, "1", efficiency.basis)


def _switch(wiring: Wiring, part: Part, pins: Pins) -> str:
    """Return the net that is switched; a chip with both ends of its switch free has the one that is not at ground."""
    ends = [pins.nodes.get("SW"), pins.nodes.get("SWC"), wiring.by_role(part, "SWC"), pins.nodes.get("OUT")]
    free = [node for node in ends if node and node != wiring.ground]
    return free[0] if free else pins.nodes.get("SW") or pins.nodes["OUT"]


def _behind_coil(wiring: Wiring, part: Part, switch: str, entry: str) -> str:
    """Return the rail that the converter makes: the stated one, else the other end of the coil at its switch."""
    rails = [net for net, rail in wiring.board.facts.rails.items() if rail.made_by == part.ref]
    if rails:
        return rails[0]
    ends = [net for coil in _of_kind(wiring, part, switch, ("inductor",)) for net in wiring.nets_of(coil)]
    others = [net for net in ends if net not in (switch, entry)]
    return others[0] if others else switch


def _of_kind(wiring: Wiring, part: Part, net: str, kinds: tuple[str, ...]) -> list[str]:
    """Return the parts of these kinds (beginnings) on a net, but for the part itself."""
    return sorted(one.ref for one in wiring.parts_on(net, part.ref) if one.identity.kind.startswith(kinds))


def _boost_output(wiring: Wiring, part: Part, switch: str, supply: str) -> str | None:
    """Return the output of a step-up converter: its coil goes from the input to the switch, its diode from there on.

    The diode may stand behind a coupling capacitor, as where the output may be above or below the input.
    """
    fed = {supply, *_through_shunts(wiring, part, supply)}
    if not any(fed & set(wiring.nets_of(coil)) for coil in _of_kind(wiring, part, switch, ("inductor",))):
        return None
    behind = [n for c in _of_kind(wiring, part, switch, ("capacitor",)) for n in wiring.nets_of(c)]
    for near in (switch, *(net for net in behind if net not in (switch, wiring.ground, *fed))):
        for ref in _of_kind(wiring, part, near, ("diode",)):
            ends = [net for net in wiring.nets_of(ref) if net not in (near, switch, wiring.ground)]
            if ends:
                return ends[0]
    return None


def _through_shunts(wiring: Wiring, part: Part, net: str) -> set[str]:
    """Return the nets that a current shunt, a fuse or a bead joins to a net."""
    found = set()
    for ref in _of_kind(wiring, part, net, ("resistor", "fuse", "ferrite", "resettable", "jumper")):
        value = wiring.board.parts[ref].identity.value.main
        ohms = value is not None and value.unit == "ohm" and float(value.value) > 1.0
        if not (wiring.board.parts[ref].identity.kind == "resistor" and (ohms or value is None)):
            found |= set(wiring.nets_of(ref)) - {net}
    return found


def _own_output(wiring: Wiring, part: Part, pins: Pins, switch: str, entry: str) -> str | None:
    """Return the output pin of a converter that needs no diode: its coil goes from the input, or its other end."""
    out = pins.nodes.get("OUT")
    coils = _of_kind(wiring, part, switch, ("inductor",))
    stepped = any(entry in wiring.nets_of(coil) for coil in coils)
    other_end = any(
        net != switch and net in wiring.nets_of(part.ref) and net != out for c in coils for net in wiring.nets_of(c)
    )
    return out if out and out != switch and (stepped or (other_end and len(coils) == 1)) else None
