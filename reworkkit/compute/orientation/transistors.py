"""What a transistor is: its type by words, number or what its source is on."""

from reworkkit.model.connections import Connections
from reworkkit.tables.transistors import transistor_type


def npn(wires: Connections, ref: str) -> bool | None:
    """Return whether a bipolar transistor is an NPN type, by its words or its number; None where neither tells."""
    part = wires.board.parts.get(ref)
    kind = transistor_type(part.identity) if part else None
    return None if kind not in ("npn", "pnp") else kind == "npn"
