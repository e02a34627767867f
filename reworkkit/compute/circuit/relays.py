"""Relays: their coils; contacts are not modelled."""

from reworkkit.compute.circuit.loads import coil, rated_ohms
from reworkkit.compute.circuit.parts import unmodelled
from reworkkit.compute.circuit.wiring import CHIPS, Wiring
from reworkkit.model.connections import Connections
from reworkkit.model.part import Part
from reworkkit.model.results import Element


def relay(wiring: Wiring, part: Part) -> list[Element]:
    """Return the coil of a relay whose ohms the list tells; its contacts, where on the netlist, are not modelled.

    The coil is at the pins that board.toml or their names call so, else where another part stands across two pins,
    else from its only rail to the only net of it that a chip or transistor switches.
    """
    coil_nets = _named_coil(wiring, part) or Connections(wiring.board).coil(part.ref) or _switched_coil(wiring, part)
    ohms = rated_ohms(wiring, part)
    if len(coil_nets) != len(("plus", "minus")):
        return unmodelled(wiring, part)
    contacts = tuple(node for node in wiring.nets_of(part.ref) if node not in coil_nets)
    if ohms is None:
        whole = unmodelled(wiring, part)
        return [Element("unmodelled", part.ref, side, {}) for side in (coil_nets, contacts)] if contacts else whole
    found = coil(part, coil_nets, ohms)
    return [found, Element("unmodelled", part.ref, contacts, {})] if contacts else [found]


def _named_coil(wiring: Wiring, part: Part) -> tuple[str, ...]:
    names = {"A1", "A2", "COIL+", "COIL-", "COIL1", "COIL2"}
    nodes = [wiring.node(pin) for pin in wiring.pins(part.ref) if (pin.name or pin.number).upper() in names]
    return tuple(dict.fromkeys(nodes))


def _switched_coil(wiring: Wiring, part: Part) -> tuple[str, ...]:
    nets = wiring.nets_of(part.ref)
    rails = [net for net in nets if wiring.is_rail(net)]
    switched = [net for net in nets if net not in rails and _has_switch(wiring, net)]
    return (rails[0], switched[0]) if len(rails) == len(switched) == 1 else ()


def _has_switch(wiring: Wiring, net: str) -> bool:
    kinds = {part.identity.kind for part in wiring.parts_on(net)}
    return bool(kinds & (CHIPS | {"transistor_bipolar", "transistor", "mosfet"}))
