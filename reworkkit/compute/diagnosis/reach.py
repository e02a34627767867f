"""Which nets have a level of their own, and what carries a level on."""

from reworkkit.model.results import Circuit

THROUGH = frozenset(("resistor", "inner", "inductor", "fuse", "link", "diode", "schottky", "led"))
"""Elements that carry a level on from one end to the other."""


def fixed_nets(circuit: Circuit) -> set[str]:
    """Return ground, the rails and the nets of the supplies."""
    return {e.nodes[0] for e in circuit.elements if e.kind in ("rail", "supply")} | {circuit.ground or ""}
