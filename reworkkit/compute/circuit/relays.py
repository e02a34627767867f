"""Relays: their coils, and their contacts where it is known which pins those are."""

from reworkkit.compute.circuit.contacts import (
    COIL_NAMES,
    coil_by_circuit,
    coil_by_type,
    coil_volts,
    contacts,
    from_outside,
    moved,
)
from reworkkit.compute.circuit.coupler_outputs import special_output
from reworkkit.compute.circuit.loads import coil, rated_ohms
from reworkkit.compute.circuit.parts import unmodelled
from reworkkit.compute.circuit.wiring import Wiring
from reworkkit.model.messages import message
from reworkkit.model.part import Part
from reworkkit.model.results import Element


def relay(wiring: Wiring, part: Part) -> list[Element]:
    """Return the coil of a relay whose ohms the list tells, and its contacts, closed or open as the coil's voltage is.

    One without a coil, by its number, is a coupler.

    The coil is at the pins that board.toml or their names call so, else where another part stands across two pins,
    else from its only rail to the only net of it that a chip or transistor switches.
    """
    if (lit := special_output(wiring, part)) is not None:
        return lit
    coil_nets = _named_coil(wiring, part) or coil_by_type(wiring, part) or coil_by_circuit(wiring, part)
    ohms = rated_ohms(wiring, part)
    if len(coil_nets) != len(("plus", "minus")):
        return unmodelled(wiring, part)
    others = tuple(node for node in wiring.nets_of(part.ref) if node not in coil_nets)
    if ohms is None:
        whole = unmodelled(wiring, part)
        return [Element("unmodelled", part.ref, side, {}) for side in (coil_nets, others)] if others else whole
    found = _moved_by(wiring, part, coil_nets)
    rest = tuple(node for node in others if node in wiring.board.nets and not any(node in e.nodes for e in found))
    if not found and others:
        rest = others
    return [coil(part, coil_nets, ohms), *found, *([Element("unmodelled", part.ref, rest, {})] if rest else [])]


def _moved_by(wiring: Wiring, part: Part, coil_nets: tuple[str, ...]) -> list[Element]:
    """Return the contacts that move with a coil; what is not known of them is asked."""
    known, told = contacts(wiring, part, coil_nets)
    used = [net for net in wiring.nets_of(part.ref) if net not in coil_nets and net in wiring.board.nets]
    if not known:
        if len(used) > 1:
            answer = f'[parts] {part.ref} = {{ pins = {{ A1 = "1", A2 = "2", COM = "3", NC = "4", NO = "5" }} }}'
            wiring.ask((part.ref,), message("circuit-contacts-unknown"), answer)
        return []
    volts, by_rail = coil_volts(wiring, part, coil_nets)
    if not volts:
        wiring.ask((part.ref,), message("circuit-coil-volts"), f'[parts] {part.ref} = {{ volts = "12 V" }}')
        return []
    said = (message("circuit-contact", ref=part.ref, volts=volts), *told, *by_rail)
    made = [moved(part.ref, one.nets, one.rests_closed, volts, said) for one in known]
    return [*made, *from_outside(wiring, part, coil_nets)]


def _named_coil(wiring: Wiring, part: Part) -> tuple[str, ...]:
    nodes = [wiring.node(pin) for pin in wiring.pins(part.ref) if (pin.name or pin.number).upper() in COIL_NAMES]
    return tuple(dict.fromkeys(nodes))
