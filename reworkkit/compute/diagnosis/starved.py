"""Amplifiers and sensors whose supply is far too low: what their outputs do then, no maker states."""

import numpy as np

from reworkkit.compute.formulas.junction import Array
from reworkkit.compute.formulas.network import Template

STARVED_SHARE, STARVED_V = 0.65, 3.0
"""A supply below this share of what the chip has on the healthy board, and below these volts, is too low for many
types: those for 5 V want 4.5, amplifiers for 12 V and more work down to 3; from memory."""
DEAD_V = 0.3
"""Below this nothing can come out."""
ANYWHERE_SHARE = 0.35
"""Where an output may be then: one spread, as a share of the supply."""


def starved(template: Template, rows: Array, states: Array) -> dict[int, Array]:
    """Return for starved amplifiers and sensors, by element, how far the output may be off (rows) [V, one spread].

    Row 0 is the healthy board. An element is there only where some row starves it.

    Example: a sensor for 3.3 V that a fault leaves 1.5 V may give nothing, or anything up to that: 0.5 V.
    """
    found: dict[int, Array] = {}
    for n, element in enumerate(template.elements):
        if element.kind != "amplifier" or element.nodes[1] == template.ground:
            continue
        supply = template.volts(states, element.nodes[0]) - template.volts(states, element.nodes[4])
        low = (supply < min(STARVED_SHARE * supply[0], STARVED_V)) & (supply > DEAD_V)
        low &= rows[:, template.column[n, "fitted"]] > 0
        if low.any():
            found[n] = np.where(low, ANYWHERE_SHARE * supply, 0.0)
    return found


def by_levers(template: Template, held: dict[int, float], starving: dict[int, Array], by_volt: Array) -> Array:
    """Return how far each unknown may move (rows, unknowns, held nodes and then amplifiers), one spread each.

    `by_volt` (rows, unknowns, held nodes and then starved amplifiers) tells how it moves for each volt there; an
    amplifier that no row starves moves nothing.
    """
    amplifiers = [n for n, element in enumerate(template.elements) if element.kind == "amplifier"]
    found = np.zeros((*by_volt.shape[:2], len(held) + len(amplifiers)))
    found[:, :, : len(held)] = by_volt[:, :, : len(held)] * np.array(list(held.values()))
    for k, (n, volts) in enumerate(starving.items(), len(held)):
        found[:, :, len(held) + amplifiers.index(n)] = by_volt[:, :, k] * volts[:, None]
    return found
