"""What a chip switches and no wire tells: a regulator by its enable pin."""

from collections.abc import Collection
from typing import NamedTuple

import numpy as np

from reworkkit.compute.diagnosis.comparators import comparators
from reworkkit.compute.formulas.junction import Array, Rows
from reworkkit.compute.formulas.network import Template
from reworkkit.compute.formulas.network.steered import rests_closed
from reworkkit.compute.formulas.network.template import steering_of
from reworkkit.model.results import Circuit, Element

_REGULATORS = frozenset(("regulator", "converter", "boost", "isolated"))
ENABLED_V = 0.9
"""Voltage from which an enable pin is on; types differ from 0.4 to 1.6 V (from memory)."""
SURELY_V = 1.6
"""A pin that is not above this on the healthy board is driven by something the circuit does not have."""
_LEAST_SHARE = 1e-6
"""What a driver gives that its dimming pin turns off, as a share."""


class Dimming(NamedTuple):
    """Of a dimming pin: below which voltage its driver is off, from where on it gives all; in proportion between."""

    off_v: float
    full_v: float

    def share(self, volts: Array) -> Array:
        """Return the share of its current that the driver gives."""
        share = np.clip(volts / self.full_v, _LEAST_SHARE, 1.0)
        return np.asarray(np.where(volts > self.off_v, share, _LEAST_SHARE))


class Enable(NamedTuple):
    """A regulator and the net of its enable or dimming pin; low is off. `gated`: an output of the board drives it."""

    ref: str
    net: str
    gated: bool = False
    dimming: Dimming | None = None


def outputs(template: Template) -> list[int]:
    """Return the elements that are outputs of optocouplers."""
    return [n for n, e in enumerate(template.elements) if e.kind == "coupler"]


def pushed_by_light(template: Template) -> set[str]:
    """Return the outputs that a lamp moves between two rails: one contact of the part makes there, another breaks."""
    ways = [
        (e.ref, node, rests_closed(e))
        for n, e in enumerate(template.elements)
        if e.kind == "contact" and template.elements[steering_of(template, n)].kind == "led"
        for node in e.nodes
        if node in template.index and node != template.ground
    ]
    return {node for ref, node, breaks in ways if breaks and (ref, node, False) in ways}


def enables(circuit: Circuit, held: Collection[str] = ()) -> tuple[Enable, ...]:
    """Return the enable pins that have a net of their own which no chip of unknown state drives.

    Behind a plug anything may drive it, but where an output of the board does, what is there listens.
    """
    nodes = {e.ref: e.nodes for e in circuit.elements if e.kind in _REGULATORS}
    decided = {(one.ref, one.out) for one in comparators(circuit, (), held)}
    driven = {e.nodes[0] for e in circuit.elements if e.kind == "driver" and (e.ref, e.nodes[0]) not in decided}
    outs = {net for _, net in decided}
    driven |= {node for e in circuit.elements if e.kind == "unmodelled" for node in e.nodes}
    driven |= {node for e in circuit.elements if e.kind == "external" for node in e.nodes if node not in outs}
    driven -= set(held)
    pins = [e for e in circuit.elements if e.kind == "enable" and e.nodes[0] not in (*nodes[e.ref], *driven)]
    return tuple(Enable(e.ref, e.nodes[0], e.nodes[0] in outs, _dimming(e)) for e in pins)


def _dimming(enable: Element) -> Dimming | None:
    off, full = (enable.parameters.get(name) for name in ("threshold", "full"))
    return Dimming(off.nominal or 0.0, full.nominal or 0.0) if off and full else None


def switched_over(template: Template, rows: Array, meant: Array, states: Array, known: tuple[Enable, ...]) -> Rows:
    """Set regulators in `rows` as `states` say; return which rows changed.

    `meant` are the rows as the faults have them: what a fault has set itself stays. One that was turned off stays off,
    even where its pin rises then, unless a gate drives the pin: that gate may not have settled yet.
    """
    before = rows.copy()
    for one in known:
        volts = template.volts(states, one.net)
        if one.dimming:
            columns = template.columns(one.ref, "limit")
            rows[:, columns] = meant[:, columns] * one.dimming.share(volts)[:, None]
            continue
        if volts[0] < SURELY_V:
            continue
        for n, element in enumerate(template.elements):
            if element.ref == one.ref and element.kind in _REGULATORS:
                column = template.column[n, "fitted"]
                on = (volts > ENABLED_V) & (one.gated | (rows[:, column] > 0))
                rows[:, column] = np.where(on, meant[:, column], 0.0)
    return np.flatnonzero((rows != before).any(axis=1))
