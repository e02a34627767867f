"""Nets that parts of unknown behaviour hold: they are where they were read, whatever else is wrong."""

from collections.abc import Iterator, Mapping

from reworkkit.compute.diagnosis.comparators import comparators
from reworkkit.compute.diagnosis.reach import THROUGH, firm_nets
from reworkkit.compute.formulas.closure import closure
from reworkkit.model.results import Circuit, Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

HOLDS = "holds "
"""Before a net: what stands for parts of unknown behaviour that hold it at the voltage that was read there."""
_SOURCE_OHM, _SINK_OHM, _SOURCE_A = 1e-3, 1e-2, 1e5
"""A source gives but takes nothing: the second, to ground, takes what flows into the net; the first feeds it."""


_GIVES = frozenset(("amplifier", "follower", "coupler", "load_switch", "contact", "pnp", "mosfet_p", "unmodelled"))
"""Elements that may lift a net of their own accord."""


def lifted_by_chips(circuit: Circuit) -> dict[str, str]:
    """Return the nets that nothing but an output of a chip could lift, each with the net of its supply.

    What such an output does, a program or a counter decides: where one was read high, the chip drives it.
    """
    decided = {(one.ref, one.out) for one in comparators(circuit)}
    decided |= {(e.ref, e.nodes[0]) for e in circuit.elements if e.kind in ("rule", "gate", "comparator")}
    drivers = [e for e in circuit.elements if e.kind == "driver"]
    ground = circuit.ground or ""
    sources = firm_nets(circuit.elements, ground) | {n for e in circuit.elements if e.kind in _GIVES for n in e.nodes}
    ways = [set(e.nodes) - {ground} for e in circuit.elements if e.kind in THROUGH]
    found = {}
    for one in drivers:
        net, high, _ = one.nodes
        others = {e.nodes[0] for e in drivers if e.ref != one.ref}
        reached = closure({net}, lambda near: {other for way in ways if way & near for other in way})
        if (one.ref, net) not in decided and not reached & ((sources | others) - {ground}):
            found[net] = high
    return found


def held_nets(held: Mapping[str, float], ground: str) -> Iterator[Element]:
    """Yield a source and a sink for each net and the voltage at which a part of unknown behaviour holds it [V]."""
    figures = {"limit": _only(_SOURCE_A, "A"), "resistance": _only(_SOURCE_OHM, "ohm")}
    for net, volts in held.items():
        nodes = (net, ground) if volts >= 0 else (ground, net)
        fed = _only(abs(volts) * (1 + _SOURCE_OHM / _SINK_OHM), "V")
        yield Element("supply", HOLDS + net, nodes, {"volts": fed, **figures})
        yield Element("resistor", "", nodes, {"resistance": _only(_SINK_OHM, "ohm")})


def _only(value: float, unit: str) -> Band:
    return Band(value, value, value, unit, BandBasis.TABLE)
