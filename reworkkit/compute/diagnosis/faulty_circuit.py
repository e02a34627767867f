"""What faults add to a circuit: parts the wrong way round, supplies plugged in, places where nets may be joined."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from reworkkit.compute.diagnosis import chip_faults
from reworkkit.compute.diagnosis.reach import MOSFETS
from reworkkit.model.designator import natural_key
from reworkkit.model.results import Circuit, Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

JUNCTIONS = frozenset(("diode", "schottky", "led", "zener", "tvs"))
REGULATORS = frozenset(("regulator", "follower", "converter", "boost"))
BIPOLAR = frozenset(("npn", "pnp"))
_TURNED = frozenset((*MOSFETS, *BIPOLAR, "regulator", "thyristor", "thyristor_p"))
TURNED = " turned"
"""What the designator of the element ends in that stands for a part the wrong way round; not fitted when healthy."""


def turned(elements: Sequence[Element], outer: Mapping[str, tuple[str, str]]) -> Iterator[Element]:
    """Yield the elements of parts of three leads in a row as they are with the outer two leads exchanged."""
    steered = {e.ref for e in elements if e.kind in _TURNED}
    for element in elements:
        if element.ref in outer and element.ref in steered:
            one, other = outer[element.ref]
            nodes = tuple({one: other, other: one}.get(node, node) for node in element.nodes)
            yield replace(element, ref=element.ref + TURNED, nodes=nodes)


def plugged_rails(circuit: Circuit, fitted: frozenset[str] | None) -> list[str]:
    """Return the positive rails that a fitted connector reaches: something plugged in may feed them."""
    rails = {e.nodes[0] for e in circuit.elements if e.kind == "rail" and (e.parameters["volts"].nominal or 0) > 0}
    plugs = [e for e in circuit.elements if e.kind == "external"]
    outside = {e.nodes[0] for e in plugs if fitted is None or e.ref in fitted}
    return sorted(rails & outside, key=natural_key)


def plug(net: str, ground: str) -> Element:
    """Return the supply that something plugged in may be for a rail."""
    figures = {"volts": (5.0, "V"), "limit": (0.5, "A"), "resistance": (0.5, "ohm")}
    parameters = {name: Band(v, v, v, unit, BandBasis.TABLE) for name, (v, unit) in figures.items()}
    return Element("supply", f"plug {net}", (net, ground), parameters)


def joined_pairs(circuit: Circuit, lean: Circuit) -> list[tuple[str, str]]:
    """Return the pairs of nodes that a fault may join: neighbouring lands, and parts that may be shorted."""
    known = {node for element in lean.elements if element.kind != "external" for node in element.nodes}
    known.add(circuit.ground or "")
    pairs = [(one, other) for one, other, _ in circuit.bridges if {one, other} <= known]
    for e in lean.elements:
        if e.kind in JUNCTIONS or e.kind in ("tvs_two_way", "load", "ic", *REGULATORS):
            pairs.append((e.nodes[0], e.nodes[1]))
        elif e.kind in MOSFETS or e.kind in BIPOLAR:
            drain, gate, source = e.nodes
            pairs += [(drain, source), (gate, source), (gate, drain)]
    pairs += chip_faults.pairs(circuit)
    unique = {frozenset(pair): pair for pair in pairs if pair[0] != pair[1]}
    return list(unique.values())
