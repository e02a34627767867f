"""What the circuit asks of a part, where board.toml and the netlist tell: volts across it, current, gate drive, load.

Only what is known becomes a need. A missing need is no need of zero: the candidate is then held against the original.
"""

import math
import re
from collections.abc import Callable, Iterator

from reworkkit import tables
from reworkkit.compute.comparison.amounts import number, span
from reworkkit.compute.comparison.judging import Need
from reworkkit.compute.comparison.surroundings import Surroundings, main_value
from reworkkit.compute.formulas.crystal_load import load_capacitance
from reworkkit.model.facts import PartFacts
from reworkkit.model.messages import Message, message
from reworkkit.model.part import PartIdentity
from reworkkit.model.values import Quantity

Needs = dict[str, Need]

STRAY_F = 4e-12
"""Tracks and pins of a crystal circuit: 2 to 5 pF, common practice."""
FILTER_MARGIN = 3.0
"""A sensor this many times faster than the filter behind it changes nothing that is seen (common practice)."""


def circuit_needs(around: Surroundings) -> Needs:
    """Return parameter -> need for the place, as far as the circuit is known."""
    found: Needs = {}
    for kinds, maker in _MAKERS:
        if around.part.identity.kind.startswith(kinds):
            found.update(maker(around))
    return found


def _need(value: float, unit: str, why: Message) -> Need:
    return Need(number(value, unit), why)


def _two_pin(around: Surroundings) -> Iterator[tuple[str, Need]]:
    volts = around.across_part()
    if volts is not None:
        why = message("compare-need-across", ref=around.ref)
        yield "voltage", _need(volts, "V", why)
        yield "standoff_voltage", _need(volts, "V", why)


def _varistor(around: Surroundings) -> Iterator[tuple[str, Need]]:
    """A continuous voltage in DC volts, or in AC volts rms where the voltage goes both ways."""
    volts = around.across_part()
    if volts is not None:
        spans = [around.span(net) for net in sorted(set(around.nets().values()))]
        (low, high), (other_low, other_high) = (one or (0.0, 0.0) for one in spans)
        both_ways = low < other_high and high > other_low and min(low, other_low) < 0
        needed = volts / math.sqrt(2) if both_ways else volts
        yield "continuous_voltage", _need(needed, "V", message("compare-need-across", ref=around.ref))


def _capacitor(around: Surroundings) -> Iterator[tuple[str, Need]]:
    yield from _two_pin(around)
    for element in around.circuit.elements if around.circuit else ():
        if element.kind != "regulator" or element.nodes[1] not in around.nets().values():
            continue
        out = element.nodes[1]
        mine = main_value(around.part, "F") or 0.0
        others = [main_value(part, "F") or 0.0 for part in around.on_net(out, ("capacitor", "supercapacitor"))]
        named = around.board.parts[element.ref].identity
        row = next((row for row in tables.rows("regulator_esr") if _is_type(row["pattern"], named)), None)
        if row and mine >= max([*others, 0.0]):
            why = message("compare-need-stable", ref=element.ref)
            yield "esr", Need(span(float(row["low_ohm"]), float(row["high_ohm"]), "ohm"), why)


def _is_type(pattern: str, identity: PartIdentity) -> bool:
    return any(re.match(pattern, text, re.IGNORECASE) for text in (identity.part_number, identity.value.text) if text)


def _resistor(around: Surroundings) -> Iterator[tuple[str, Need]]:
    yield from _two_pin(around)
    volts, ohm = around.across_part(), main_value(around.part, "ohm")
    if volts is not None and ohm:
        yield "power", _need(volts**2 / ohm, "W", message("compare-need-power", ref=around.ref))


def _said(around: Surroundings) -> PartFacts:
    return around.board.facts.parts.get(around.ref, PartFacts())


def _stated(around: Surroundings, key: str, quantity: Quantity | None, parameter: str) -> Iterator[tuple[str, Need]]:
    if quantity:
        where = around.board.facts.where(f"parts.{around.ref}.{key}")
        why = message("compare-need-stated", where=str(where or "board.toml"))
        yield parameter, Need(number(float(quantity.value), quantity.unit, quantity.text), why)


def _element_nodes(around: Surroundings, *kinds: str) -> tuple[str, ...] | None:
    """Return the nodes of the place's element in the circuit, in the order of its kind; None where it has no model."""
    elements = around.circuit.elements if around.circuit else ()
    return next((one.nodes for one in elements if one.ref == around.ref and one.kind in kinds), None)


def _diode(around: Surroundings) -> Iterator[tuple[str, Need]]:
    """Reverse volts: the most across it, and the most of either net, since a protection diode must bear it all."""
    yield from _stated(around, "amps", _said(around).amps, "forward_current")
    nodes = _element_nodes(around, "diode", "schottky") or tuple(sorted(set(around.nets().values())))
    spans = [around.span(net) for net in nodes or ()]
    volts = around.across(*nodes) if nodes and len(nodes) == 2 else None
    if volts is not None:
        reverse = max([volts, *(abs(end) for one in spans if one for end in one)])
        yield "reverse_voltage", _need(reverse, "V", message("compare-need-reverse", ref=around.ref))


def _mosfet(around: Surroundings) -> Iterator[tuple[str, Need]]:
    yield from _stated(around, "amps", _said(around).amps, "drain_current")
    nodes = _element_nodes(around, "mosfet_n", "mosfet_p")
    named = around.net_of("D", "DRAIN"), around.net_of("G", "GATE"), around.net_of("S", "SOURCE")
    drain, gate, source = nodes if nodes and len(nodes) == 3 else named
    volts = around.across(drain, source)
    if volts is not None:
        yield "drain_voltage", _need(volts, "V", message("compare-need-drain", ref=around.ref))
    drive = _gate_drive(around, gate) or _stated_drive(around, gate, source)
    if drive:
        why = message("compare-need-gate", net=drive[2])
        yield "on_resistance_at", _need(drive[0], "V", why)
        yield "gate_voltage", _need(drive[1], "V", why)


def _igbt(around: Surroundings) -> Iterator[tuple[str, Need]]:
    yield from _stated(around, "amps", _said(around).amps, "collector_current")
    gate, emitter = around.net_of("G", "GATE"), around.net_of("E", "EMITTER")
    volts = around.across(around.net_of("C", "COLLECTOR"), emitter)
    if volts is not None:
        yield "collector_voltage", _need(volts, "V", message("compare-need-collector", ref=around.ref))
    drive = _gate_drive(around, gate) or _stated_drive(around, gate, emitter)
    if drive:
        yield "gate_voltage", _need(drive[1], "V", message("compare-need-gate", net=drive[2]))


def _bridge(around: Surroundings) -> Iterator[tuple[str, Need]]:
    """Each diode of a bridge bears the most that lies between two of its nets."""
    yield from _stated(around, "amps", _said(around).amps, "forward_current")
    spans = [one for net in sorted(set(around.nets().values())) if (one := around.span(net))]
    if len(spans) >= 2:
        most = max(abs(a[1] - b[0]) for a in spans for b in spans if a is not b)
        # Between the two ends of a transformer lies what either may be at against the other's zero, not the sum.
        both_ways = [one for one in spans if one[0] < 0 < one[1]]
        most = max([abs(end) for one in spans for end in one]) if both_ways else most
        yield "reverse_voltage", _need(most, "V", message("compare-need-bridge", ref=around.ref))


def _inductor(around: Surroundings) -> Iterator[tuple[str, Need]]:
    """What the rail behind it is loaded with is the least that it carries."""
    loads = [(load, net) for net in sorted(set(around.nets().values())) if (load := load_of(around, net)) is not None]
    if loads:
        load, net = max(loads)
        for name in ("saturation_current", "rms_current"):
            yield name, _need(load, "A", message("compare-need-carries", net=net))


def _optocoupler(around: Surroundings) -> Iterator[tuple[str, Need]]:
    volts = around.across(around.net_of("C", "COLLECTOR"), around.net_of("E", "EMITTER"))
    if volts is not None:
        yield "collector_voltage", _need(volts, "V", message("compare-need-collector", ref=around.ref))


def _bipolar(around: Surroundings) -> Iterator[tuple[str, Need]]:
    yield from _stated(around, "amps", _said(around).amps, "collector_current")
    nodes = _element_nodes(around, "npn", "pnp")
    named = around.net_of("C", "COLLECTOR"), None, around.net_of("E", "EMITTER")
    collector, _, emitter = nodes if nodes and len(nodes) == 3 else named
    volts = around.across(collector, emitter)
    if volts is not None:
        yield "collector_voltage", _need(volts, "V", message("compare-need-collector", ref=around.ref))


def _gate_drive(around: Surroundings, gate: str | None) -> tuple[float, float, str] | None:
    """Return lowest and highest voltage of the driver behind a gate, directly or through one resistor, and its rail."""
    nets = [gate] if gate else []
    nets += [far for part in around.on_net(gate, ("resistor",)) if gate and (far := around.far_end(part.ref, gate))]
    elements = around.circuit.elements if around.circuit else ()
    for element in elements:
        if element.kind == "driver" and element.nodes[0] in nets:
            rail = around.span(element.nodes[1])
            if rail and element.nodes[1] not in around.grounds():
                return rail[0], rail[1], element.nodes[1]
    return None


def _stated_drive(around: Surroundings, gate: str | None, source: str | None) -> tuple[float, float, str] | None:
    """Return the same from what board.toml says a gate of a grounded source can be at; its top is the drive."""
    span = around.span(gate)
    if gate is None or span is None or source not in around.grounds() or span[1] <= 0:
        return None
    return span[1], span[1], gate


def _regulator(around: Surroundings) -> Iterator[tuple[str, Need]]:
    nodes = _element_nodes(around, "regulator") or ()
    named = around.net_of("IN", "VIN", "VI", "INPUT"), around.net_of("OUT", "VOUT", "VO", "OUTPUT")
    source, out = (nodes[0], nodes[1]) if len(nodes) >= 2 else named
    volts_in, volts_out = around.span(source), around.span(out)
    if volts_in:
        yield "input_max", _need(volts_in[1], "V", message("compare-need-input", net=source or ""))
    if volts_in and volts_out:
        room = volts_in[0] - volts_out[1]
        yield "dropout", _need(room, "V", message("compare-need-room", net=out or ""))
    load = load_of(around, out)
    if load is not None:
        yield "output_current", _need(load, "A", message("compare-need-load", net=out or ""))
    yield from _output_capacitors(around, out)


def load_of(around: Surroundings, net: str | None) -> float | None:
    """Return the most that board.toml lets a rail carry [A], loads and tolerance together; None where none is told."""
    told, rail = around.board.facts.loads.get(net or ""), around.board.facts.rails.get(net or "")
    if told is None:
        return None
    percent = float(told.tolerance.value) if told.tolerance else None
    if told.amps is not None:
        return float(told.amps.value) * (1 + (40.0 if percent is None else percent) / 100)
    least = 1 - (10.0 if percent is None else percent) / 100
    if not told.ohms or told.ohms.value <= 0 or least <= 0 or rail is None or rail.volts is None:
        return None
    return float(rail.volts.value / told.ohms.value) / least


def _output_capacitors(around: Surroundings, out: str | None) -> Iterator[tuple[str, Need]]:
    parts = [part for part in around.on_net(out, ("capacitor", "supercapacitor")) if main_value(part, "F")]
    if not parts:
        return
    total = sum(main_value(part, "F") or 0.0 for part in parts)
    yield "output_capacitor_min", _need(total, "F", message("compare-need-capacitors", net=out or ""))
    largest = max(parts, key=lambda part: main_value(part, "F") or 0.0)
    row = next((row for row in tables.rows("capacitor_esr") if row["kind"] == largest.identity.kind), None)
    if row:
        why = message("compare-need-esr", ref=largest.ref)
        yield "esr_min", _need(float(row["low_ohm"]), "ohm", why)
        yield "esr_max", _need(float(row["high_ohm"]), "ohm", why)


def _supply(around: Surroundings) -> Iterator[tuple[str, Need]]:
    plus = around.net_of("VCC", "VDD", "V+", "VS", "SUPPLY", "VIN")
    minus = around.net_of("GND", "VEE", "VSS", "V-", "VS-")
    high, low = around.span(plus), around.span(minus)
    if high and low:
        need = span(high[0] - low[1], high[1] - low[0], "V")
        yield "supply", Need(need, message("compare-need-supply", net=plus or ""))


def _sensor(around: Surroundings) -> Iterator[tuple[str, Need]]:
    yield from _supply(around)
    facts = around.board.facts.sense.get(around.ref)
    if facts and facts.most:
        why = message("compare-need-stated", where=str(around.board.facts.where(f"sense.{around.ref}.most") or ""))
        yield "range", Need(number(float(facts.most.value), "A", facts.most.text), why)
    corner = _filter_corner(around)
    if corner:
        why = message("compare-need-filter", hertz=corner)
        yield "bandwidth", _need(FILTER_MARGIN * corner, "Hz", why)


def _filter_corner(around: Surroundings) -> float | None:
    """Return the corner of the RC filter behind a sensor's output [Hz], the lower divider resistor counted in."""
    out = around.net_of("OUT", "VOUT", "VIOUT")
    for resistor in around.on_net(out, ("resistor",)):
        far, ohm = around.far_end(resistor.ref, out or ""), main_value(resistor, "ohm")
        farads = [main_value(part, "F") for part in around.on_net(far, ("capacitor",))]
        if far is None or far in around.grounds() or not ohm or not farads or None in farads:
            continue
        seen = 1 / ohm + sum(1 / value for part in around.on_net(far, ("resistor",))
                             if part.ref != resistor.ref and (value := main_value(part, "ohm"))
                             and around.far_end(part.ref, far) in around.grounds())  # fmt: skip
        return seen / (2 * math.pi * sum(farad for farad in farads if farad))
    return None


def _crystal(around: Surroundings) -> Iterator[tuple[str, Need]]:
    pair = crystal_capacitors(around)
    if pair:
        load = load_capacitance(pair[0], pair[1], STRAY_F)
        why = message("compare-need-crystal", stray="4 pF")
        yield "load_capacitance", Need(number(load, "F"), why)


def crystal_capacitors(around: Surroundings) -> tuple[float, float] | None:
    """Return the two load capacitors of a crystal [F]: one on each of its nets, the other end on ground."""
    found = []
    for net in sorted(set(around.nets().values()) - around.grounds()):
        parts = [
            part for part in around.on_net(net, ("capacitor",)) if around.far_end(part.ref, net) in around.grounds()
        ]
        farads = [main_value(part, "F") for part in parts]
        if len(farads) == 1 and farads[0]:
            found.append(farads[0])
    return (found[0], found[1]) if len(found) == 2 else None


def _fuse(around: Surroundings) -> Iterator[tuple[str, Need]]:
    tops = [one[1] for net in set(around.nets().values()) if (one := around.span(net))]
    if tops:
        for name in ("voltage_dc", "voltage"):
            yield name, _need(max(tops), "V", message("compare-need-opens", ref=around.ref))


_Maker = Callable[[Surroundings], Iterator[tuple[str, Need]]]
_MAKERS: tuple[tuple[tuple[str, ...], _Maker], ...] = (
    (("resistor", "fusible_resistor"), _resistor),
    (("capacitor", "supercapacitor"), _capacitor),
    (("tvs",), _two_pin),
    (("varistor",), _varistor),
    (("diode",), _diode),
    (("mosfet",), _mosfet),
    (("transistor_bipolar",), _bipolar),
    (("igbt",), _igbt),
    (("bridge_rectifier",), _bridge),
    (("inductor",), _inductor),
    (("optocoupler",), _optocoupler),
    (("linear_regulator",), _regulator),
    (("opamp", "temperature_sensor", "oscillator"), _supply),
    (("magnetic",), _sensor),
    (("crystal",), _crystal),
    (("fuse", "resettable_fuse"), _fuse),
)
