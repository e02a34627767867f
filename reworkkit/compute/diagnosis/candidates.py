"""The checks a multimeter can make on this board: powered at nets and regulator pins, unpowered across suspects."""

from collections.abc import Collection, Iterator

import numpy as np

from reworkkit.compute.diagnosis.engine import Engine
from reworkkit.compute.diagnosis.evidence import supply_spot
from reworkkit.compute.diagnosis.points import End, Spot
from reworkkit.compute.diagnosis.questions import Candidate
from reworkkit.compute.diagnosis.reach import touched
from reworkkit.model.board import Board
from reworkkit.model.designator import natural_key
from reworkkit.model.netlist import Pin
from reworkkit.model.results import INNER, Element
from reworkkit.model.vocabulary import Mode

COST_VOLTS, COST_PIN, COST_UNPOWERED = 1.0, 1.4, 2.0
COST_GROUND_PIN = 3.0
"""A ground pin under power: if it is open the rail is too high meanwhile; ohms with the power off are better."""
COST_LIVE, COST_FINE, COST_UNSTATED = 4.0, 1.5, 1.3
TOUCH_V, FINE_PITCH_MM = 60.0, 0.8
SUSPECTS, SUSPECT_SHARE = 10, 0.004
_BIPOLAR = frozenset(("npn", "pnp"))
_DIODES = frozenset(("diode", "schottky", "led", "zener", "tvs"))
_TWO_LEADS = frozenset(("resistor", "fuse", "inductor", "link", "switch", "capacitor", "capacitor_polarised"))
_REGULATORS = frozenset(("regulator", "follower", "converter", "boost"))
_PIN_OF = {
    "in_open": "pin_in",
    "out_open": "pin_out",
    "ground_open": "pin_common",
    "adjust_open": "pin_common",
    "supply_open": "pin_in",
    "input_open": "pin_common",
}


def candidates(engine: Engine, board: Board, anywhere: bool = False) -> list[Candidate]:
    """Return every check worth weighing that was not made yet; `anywhere` also at nets without a stated point."""
    made = {_key(one.spot, Mode.AMPS if one.spot.supply else Mode.VOLTS, False) for one in engine.powered}
    made |= {_key(one.probing.spot, one.probing.mode, one.probing.swapped) for one in engine.shown}
    found: dict[tuple[object, ...], Candidate] = {}
    for one in (*_powered(engine, board, anywhere), *_unpowered(engine, board)):
        key = _key(one.spot, one.mode, one.swapped)
        if key not in made:
            found.setdefault(key, one)
    return list(found.values())


def _key(spot: Spot, mode: Mode, swapped: bool) -> tuple[object, ...]:
    ends = [end._replace(lead_of=None) for end in (spot.red, spot.black)]
    return *(reversed(ends) if swapped else ends), spot.supply, mode


def _powered(engine: Engine, board: Board, anywhere: bool) -> Iterator[Candidate]:
    template, state = engine.dictionary.template, engine.dictionary.healthy_state
    ground = End(template.ground)
    for net in engine.dictionary.supplies:
        yield Candidate(supply_spot(engine.dictionary, net), Mode.AMPS, False, COST_VOLTS)
    reached = frozenset() if anywhere else touched(board)
    for n, node in enumerate(template.nodes):
        if node.endswith(INNER) or (reached and node not in reached):
            continue
        cost = COST_VOLTS * (COST_LIVE if abs(state[n]) > TOUCH_V else 1.0) * _reach(board, node)
        yield Candidate(Spot(node, End(node), ground), Mode.VOLTS, False, cost)
    for ref, pin in _suspect_pins(engine):
        if reached and not _pin_touched(engine, board, reached, ref, pin):
            continue
        spot = _pin_spot(engine, board, ref, pin, ground)
        if spot is not None:
            bare = pin == "pin_common" and spot.text not in board.facts.points.values()
            yield Candidate(spot, Mode.VOLTS, False, COST_GROUND_PIN if bare else COST_PIN)


def _pin_touched(engine: Engine, board: Board, reached: Collection[str], ref: str, pin: str) -> bool:
    found = pin_number(engine, board, ref, pin)
    through_hole = found is not None and any(pad.drill_mm for pad in found.pads)
    return found is not None and (f"{ref}.{found.number}" in reached or through_hole)


def _suspect_pins(engine: Engine) -> list[tuple[str, str]]:
    """Return the regulator pins whose own joint is in doubt: elsewhere the pin reads as its net does."""
    hypotheses = engine.dictionary.catalogue.hypotheses
    doubted = [hypotheses[n].fault for n in engine.ranked[: 2 * SUSPECTS] if engine.shares[n] > SUSPECT_SHARE]
    wanted = {(fault.ref, _PIN_OF[fault.kind]) for fault in doubted if fault.kind in _PIN_OF}
    return [pin for pin in engine.dictionary.pins if pin in wanted]


def _reach(board: Board, node: str) -> float:
    """Return how much dearer a net is that can be touched at fine-pitch pins only."""
    net = board.nets.get(node)
    pitches = []
    for ref, _ in net.pins if net else ():
        package = board.parts[ref].identity.package if ref in board.parts else None
        pitches.append(package.pitch_mm or 9.0 if package else 9.0)
    return COST_FINE if pitches and max(pitches) < FINE_PITCH_MM else 1.0


def _pin_spot(engine: Engine, board: Board, ref: str, pin: str, black: End) -> Spot | None:
    """Return the spot on a regulator's own pin, or None where no pin number is known for it."""
    found = pin_number(engine, board, ref, pin)
    return None if found is None else Spot(f"{ref}.{found.number}", End(found.node, (ref, pin)), black)


def pin_number(engine: Engine, board: Board, ref: str, pin: str) -> Pin | None:
    """Return the pin that plays a role of a regulator: the first on the role's net; None for other parts."""
    mine = (e for e in engine.dictionary.template.elements if e.ref == ref and e.kind in _REGULATORS)
    element = next(mine, None)
    if element is None:
        return None
    node = element.nodes[("pin_in", "pin_out", "pin_common").index(pin)]
    pins = [p for p in board.pins.values() if p.ref == ref and p.node == node]
    return min(pins, key=lambda p: natural_key(p.number)) if pins else None


def _unpowered(engine: Engine, board: Board) -> Iterator[Candidate]:
    hypotheses = engine.dictionary.catalogue.hypotheses
    suspects = [n for n in engine.ranked[:SUSPECTS] if engine.shares[n] > SUSPECT_SHARE and n != 0]
    for number in suspects:
        fault = hypotheses[number].fault
        if fault.kind in _PIN_OF:
            yield from _pin_ohms(engine, board, fault.ref, _PIN_OF[fault.kind])
        elif fault.kind == "bridge":
            yield from _joined(engine, fault.nets[0], fault.nets[1])
        else:
            yield from _across(engine, board, fault.ref, fault.kind)


def _pin_ohms(engine: Engine, board: Board, ref: str, pin: str) -> Iterator[Candidate]:
    found = pin_number(engine, board, ref, pin)
    if found is not None:
        text = f"{ref}.{found.number} to {found.node}"
        yield Candidate(Spot(text, End(found.node, (ref, pin)), End(found.node)), Mode.OHMS, False, COST_UNPOWERED)


def _joined(engine: Engine, one: str, other: str) -> Iterator[Candidate]:
    """Yield ohms between two nets that may be joined, and from each to ground: there a joint shows as well."""
    ground = engine.dictionary.template.ground
    yield from _between(engine, one, other)
    for net in (one, other):
        if ground not in (one, other):
            yield from _between(engine, net, ground)


def _between(engine: Engine, one: str, other: str) -> Iterator[Candidate]:
    red, black = _red_first(engine, one, other)
    yield Candidate(Spot(f"{red} to {black}", End(red), End(black)), Mode.OHMS, False, COST_UNPOWERED)


def _red_first(engine: Engine, one: str, other: str) -> tuple[str, str]:
    """Return two nets with the one first that is the higher on a healthy board; ground is last, as a hand does it."""
    state, index = engine.dictionary.healthy_state, engine.dictionary.template.index
    ground = engine.dictionary.template.ground
    volts = [-np.inf if net == ground else float(state[index[net]]) if net in index else 0.0 for net in (one, other)]
    return (one, other) if volts[0] >= volts[1] else (other, one)


def _across(engine: Engine, board: Board, ref: str, kind: str) -> Iterator[Candidate]:
    """Yield ohms, or the diode test both ways, across a suspect; a regulator or chip from its output or supply."""
    for element in engine.dictionary.template.elements:
        if element.ref != ref or element.kind == "supply":
            continue
        spot = Spot(ref, End(element.nodes[0]), End(element.nodes[1]))
        red, black = _red_first(engine, element.nodes[0], element.nodes[1])
        level = Spot(ref, End(red), End(black))
        if element.kind in _DIODES:
            yield Candidate(spot, Mode.DIODE, False, COST_UNPOWERED)
            yield Candidate(spot, Mode.DIODE, True, COST_UNPOWERED)
            if kind == "shorted":
                yield Candidate(level, Mode.OHMS, False, COST_UNPOWERED)
        elif element.kind in _TWO_LEADS:
            yield Candidate(level, Mode.OHMS, False, COST_UNPOWERED)
        elif element.kind in _REGULATORS:
            yield from _joined(engine, element.nodes[0], element.nodes[1])
            if kind == "open":
                for pin in ("pin_in", "pin_out", "pin_common"):
                    yield from _pin_ohms(engine, board, ref, pin)
        elif len(element.nodes) >= 2:
            yield from _junctions(element)
            yield from _between(engine, *_pair_of(element.nodes, kind))


def _junctions(element: Element) -> Iterator[Candidate]:
    """Yield the diode test of both junctions of a bipolar transistor, the red lead on the base of an NPN."""
    if element.kind not in _BIPOLAR:
        return
    collector, base, emitter = element.nodes[:3]
    for other in dict.fromkeys((emitter, collector)):
        red, black = (base, other) if element.kind == "npn" else (other, base)
        if red != black:
            yield Candidate(Spot(f"{red} to {black}", End(red), End(black)), Mode.DIODE, False, COST_UNPOWERED)


def _pair_of(nodes: tuple[str, ...], kind: str) -> tuple[str, str]:
    """Return the two nodes to measure between: of a transistor those that the fault joins."""
    if len(nodes) < 3:
        return nodes[0], nodes[1]
    drain, gate, source = nodes[:3]
    at_gate = {"gate_shorted": source, "gate_leaks": source, "gate_to_drain": drain}
    return (gate, at_gate[kind]) if kind in at_gate else (drain, source)
