"""What a chip switches and no wire tells: a regulator by its enable pin."""

from typing import NamedTuple

import numpy as np

from reworkkit.compute.diagnosis.comparators import comparators
from reworkkit.compute.formulas.junction import Array, Rows
from reworkkit.compute.formulas.network import Template
from reworkkit.model.board import Board
from reworkkit.model.results import Circuit

_ENABLE = frozenset(("EN", "ENABLE", "ON", "SHDN", "ON/OFF"))
_REGULATORS = frozenset(("regulator", "converter", "boost"))
ENABLED_V = 0.9
"""Voltage from which an enable pin is on; types differ from 0.4 to 1.6 V (from memory)."""
SURELY_V = 1.6
"""A pin that is not above this on the healthy board is driven by something the circuit does not have."""


class Enable(NamedTuple):
    """A regulator and the net of its enable pin; low is off. `gated`: an output that follows inputs drives it."""

    ref: str
    net: str
    gated: bool = False


def outputs(template: Template) -> list[int]:
    """Return the elements that are outputs of optocouplers."""
    return [n for n, e in enumerate(template.elements) if e.kind == "coupler"]


def enables(board: Board, circuit: Circuit) -> tuple[Enable, ...]:
    """Return the enable pins that have a net of their own which no chip of unknown state drives."""
    nodes = {e.ref: e.nodes for e in circuit.elements if e.kind in _REGULATORS}
    decided = {(one.ref, one.out) for one in comparators(circuit)}
    driven = {e.nodes[0] for e in circuit.elements if e.kind == "driver" and (e.ref, e.nodes[0]) not in decided}
    driven |= {node for e in circuit.elements if e.kind in ("unmodelled", "external") for node in e.nodes}
    told = [Enable(e.ref, e.nodes[0]) for e in circuit.elements if e.kind == "enable"]
    given = {ref: facts.pins for ref, facts in board.facts.parts.items()}
    for pin in board.pins.values():
        names = {(pin.name or "").upper()}
        names |= {role.upper() for role, number in given.get(pin.ref, {}).items() if str(number) == pin.number}
        if pin.net and names & _ENABLE:
            told.append(Enable(pin.ref, pin.net))
    free = [one for one in told if one.ref in nodes and one.net not in (*nodes[one.ref], *driven)]
    outs = {net for _, net in decided}
    return tuple(dict.fromkeys(one._replace(gated=one.net in outs) for one in free))


def switched_over(template: Template, rows: Array, meant: Array, states: Array, known: tuple[Enable, ...]) -> Rows:
    """Set regulators in `rows` as `states` say; return which rows changed.

    `meant` are the rows as the faults have them: what a fault has set itself stays. One that was turned off stays off,
    even where its pin rises then, unless a gate drives the pin: that gate may not have settled yet.
    """
    before = rows.copy()
    for one in known:
        volts = _volts(template, states, one.net)
        if volts[0] < SURELY_V:
            continue
        for n, element in enumerate(template.elements):
            if element.ref == one.ref and element.kind in _REGULATORS:
                column = template.column[n, "fitted"]
                on = (volts > ENABLED_V) & (one.gated | (rows[:, column] > 0))
                rows[:, column] = np.where(on, meant[:, column], 0.0)
    return np.flatnonzero((rows != before).any(axis=1))


def _volts(template: Template, states: Array, net: str) -> Array:
    place = template.index.get(net, len(template.nodes))
    return np.zeros(len(states)) if place == len(template.nodes) else states[:, place]
