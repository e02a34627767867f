"""Which nets have a level of their own, and how far something reaches from net to net."""

from collections.abc import Callable

from reworkkit.model.results import Circuit

THROUGH = frozenset(("resistor", "inner", "inductor", "fuse", "link", "diode", "schottky", "led"))
"""Elements that carry a level on from one end to the other."""


def fixed_nets(circuit: Circuit) -> set[str]:
    """Return ground, the rails and the nets of the supplies."""
    return {e.nodes[0] for e in circuit.elements if e.kind in ("rail", "supply")} | {circuit.ground or ""}


def reached(start: set[str], onward: Callable[[set[str]], set[str]]) -> set[str]:
    """Return the nets that are reached from some, step by step, until `onward` finds no more.

    >>> sorted(reached({"A"}, lambda nets: {chr(ord(net) + 1) for net in nets if net < "C"}))
    ['A', 'B', 'C']
    """
    found = set(start)
    while further := onward(found) - found:
        found |= further
    return found
