"""What a chip switches and no wire tells: a regulator by its enable pin, an optocoupler's output by its light."""

import re
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from reworkkit.compute.formulas.junction import Array, Rows
from reworkkit.compute.formulas.network import Template
from reworkkit.model.board import Board
from reworkkit.model.results import Circuit, Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

_COUPLER = re.compile(
    r"transistor|PC8\d7|SFH6\d\d|TLP(?:181|18[1-9]|29\d|52\d|621|785)|4N(?:2[5-8]|3[3-7])|LTV-?8\d7|EL8\d7|CNY17|PS25",
    re.I,
)
_NOT_PLAIN = re.compile(r"darlington|triac|thyristor|logic|gate driver|photovoltaic|mosfet", re.I)
_ENABLE = frozenset(("EN", "ENABLE", "ON", "SHDN", "ON/OFF"))
_REGULATORS = frozenset(("regulator", "converter", "boost"))
ON_OHM, OFF_OHM = 60.0, 1e8
"""An output that is on or off: with a load that the coupler is made for some tenths of a volt are left (a guess)."""
LIT_A = 2e-4
"""Current in the lamp from which the output of a coupler is on; its ratio of 0.5 to 3 is not looked at closer."""
ENABLED_V = 0.9
"""Voltage from which an enable pin is on; types differ from 0.4 to 1.6 V (from memory)."""
SURELY_V = 1.6
"""A pin that is not above this on the healthy board is driven by something the circuit does not have."""
THERMAL_V = 0.02585


class Enable(NamedTuple):
    """A regulator and the net of its enable pin; low is off."""

    ref: str
    net: str


def with_outputs(board: Board, circuit: Circuit) -> Circuit:
    """Return the circuit with a switch for each optocoupler's transistor between its two other nets."""
    lamps = {e.ref: e.nodes for e in circuit.elements if e.kind == "led"}
    made = (_output(board, e, lamps[e.ref]) if e.ref in lamps else e for e in circuit.elements)
    return replace(circuit, elements=tuple(made))


def _output(board: Board, element: Element, lamp: tuple[str, ...]) -> Element:
    part = board.parts.get(element.ref)
    left = [pin.net for pin in board.pins.values() if pin.ref == element.ref and pin.net]
    for node in lamp:
        if node in left:
            left.remove(node)
    known = part is not None and part.identity.kind == "optocoupler" and element.kind == "unmodelled"
    if part is None or not known or len(left) != len(("collector", "emitter")) or left[0] == left[1]:
        return element
    text = f"{part.identity.value.text} {part.identity.part_number} {part.identity.description}"
    if not _COUPLER.search(text) or _NOT_PLAIN.search(text):
        return element
    ohm = Band(OFF_OHM, OFF_OHM, OFF_OHM, "ohm", BandBasis.TABLE)
    return Element("switch", element.ref, tuple(left), {"resistance": ohm})


def outputs(template: Template) -> list[int]:
    """Return the elements that are outputs of optocouplers."""
    lamps = {e.ref for e in template.elements if e.kind == "led" and e.ref}
    return [n for n, e in enumerate(template.elements) if e.kind == "switch" and e.ref in lamps]


def enables(board: Board, circuit: Circuit) -> tuple[Enable, ...]:
    """Return the enable pins that have a net of their own which no chip drives."""
    nodes = {e.ref: e.nodes for e in circuit.elements if e.kind in _REGULATORS}
    driven = {e.nodes[0] for e in circuit.elements if e.kind == "driver"}
    driven |= {node for e in circuit.elements if e.kind in ("unmodelled", "external") for node in e.nodes}
    given = {ref: facts.pins for ref, facts in board.facts.parts.items()}
    found = []
    for pin in board.pins.values():
        names = {(pin.name or "").upper()}
        names |= {role.upper() for role, number in given.get(pin.ref, {}).items() if str(number) == pin.number}
        if pin.net and pin.ref in nodes and names & _ENABLE and pin.net not in (*nodes[pin.ref], *driven):
            found.append(Enable(pin.ref, pin.net))
    return tuple(found)


def switched_over(template: Template, rows: Array, meant: Array, states: Array, known: tuple[Enable, ...]) -> Rows:
    """Set outputs and regulators in `rows` as `states` say; return which rows changed.

    `meant` are the rows as the faults have them: what a fault has set itself stays.
    """
    before = rows.copy()
    for n in outputs(template):
        column = template.column[n, "resistance"]
        free = meant[:, column] == OFF_OHM
        rows[:, column] = np.where(free & _lit(template, rows, states, n), ON_OHM, meant[:, column])
    for one in known:
        volts = _volts(template, states, one.net)
        if volts[0] < SURELY_V:
            continue
        for n, element in enumerate(template.elements):
            if element.ref == one.ref and element.kind in _REGULATORS:
                column = template.column[n, "fitted"]
                rows[:, column] = np.where(volts > ENABLED_V, meant[:, column], 0.0)
    return np.flatnonzero((rows != before).any(axis=1))


def _lit(template: Template, rows: Array, states: Array, output: int) -> Array:
    ref = template.elements[output].ref
    lamp = next(n for n, e in enumerate(template.elements) if e.kind == "led" and e.ref == ref)
    anode, cathode = template.elements[lamp].nodes
    figure = {name: rows[:, template.column[lamp, name]] for name in ("forward", "at", "ideality", "fitted", "turned")}
    over = _volts(template, states, anode) - _volts(template, states, cathode) - figure["forward"]
    amps = figure["at"] * np.exp(np.clip(over / (figure["ideality"] * THERMAL_V), -50, 10))
    return np.asarray((amps > LIT_A) & (figure["fitted"] > 0) & (figure["turned"] == 0))


def _volts(template: Template, states: Array, net: str) -> Array:
    place = template.index.get(net, len(template.nodes))
    return np.zeros(len(states)) if place == len(template.nodes) else states[:, place]
