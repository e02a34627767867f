"""Whether direct current finds a way from the output of an amplifier to an input of it, and over how many parts."""

from collections import deque

from reworkkit.compute.circuit.pin_roles import row_of
from reworkkit.compute.circuit.wiring import CHIPS, EXTERNAL, Wiring
from reworkkit.model.part import Part
from reworkkit.model.vocabulary import Fit

_PASSES = frozenset(
    [
        "resistor",
        "fusible_resistor",
        "thermistor",
        "potentiometer",
        "resistor_network",
        "inductor",
        "ferrite_bead",
        "jumper",
        "net_tie",
        "fuse",
        "resettable_fuse",
        "solder_jumper",
        "diode",
        "diode_schottky",
        "diode_zener",
        "diode_dual",
        "led",
        "mosfet",
        "transistor",
        "transistor_bipolar",
    ]
)
FARTHEST = 6
"""No feedback is sought over more parts than this."""


def leads_to(wiring: Wiring, ref: str, start: str, goal: str) -> int | None:
    """Return over how many parts current comes from one net to another, 0 for one net; None where it does not.

    Ground, rails and the part itself are no way.
    """
    seen, waiting = {start}, deque([(start, 0)])
    while waiting:
        net, parts = waiting.popleft()
        if net == goal:
            return parts
        if parts < FARTHEST:
            for other in neighbours(wiring, ref, net):
                if other not in seen and not (wiring.is_rail(other) or other == wiring.ground):
                    seen.add(other)
                    waiting.append((other, parts + 1))
    return None


def neighbours(wiring: Wiring, ref: str, net: str) -> list[str]:
    """Return the nets that parts which pass direct current join to a net."""
    passing = [part for part in others_on(wiring, ref, net) if part.identity.kind in _PASSES]
    return [other for part in passing for other in wiring.nets_of(part.ref) if other != net]


def others_on(wiring: Wiring, ref: str, net: str) -> list[Part]:
    """Return the other fitted parts on a net."""
    return [part for part in wiring.parts_on(net, ref) if part.fit is Fit.FIT]


def is_used(wiring: Wiring, net: str) -> bool:
    """Return whether a net has more than one pin."""
    return net in wiring.board.nets and len(wiring.board.nets[net].pins) > 1


def is_loose(wiring: Wiring, ref: str, net: str) -> bool:
    """Return whether nothing on the board gives a net a level: only plugs are on it, or nothing is."""
    if net == wiring.ground or wiring.is_rail(net):
        return False
    return all(
        part.identity.kind in EXTERNAL or part.identity.kind == "test_point" for part in others_on(wiring, ref, net)
    )


def is_defined(wiring: Wiring, ref: str, net: str) -> bool:
    """Return whether the level of an input is one that the circuit knows: no chip or plug drives it, parts hold it.

    Further amplifiers on it are taken to have inputs there.
    """
    if net == wiring.ground or wiring.is_rail(net):
        return True
    others = others_on(wiring, ref, net)
    drives = any(
        part.identity.kind in EXTERNAL
        or (part.identity.kind in CHIPS and part.identity.kind != "opamp" and not row_of("amplifier_pins", part))
        for part in others
    )
    return not drives and any(part.identity.kind in _PASSES for part in others)
