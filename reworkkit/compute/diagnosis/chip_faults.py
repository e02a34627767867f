"""The faults of transistors, chips and outputs that follow something: optocouplers, load switches, comparators."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

from reworkkit.model.results import Circuit, Element

if TYPE_CHECKING:
    from reworkkit.compute.diagnosis.hypotheses import Hypothesis, Maker

KINDS = frozenset(("ic", "coupler", "load_switch", "amplifier", "driver"))
STUCK_OHM = (8.0, 40.0)
"""What joins a stuck output to ground."""


def pairs(circuit: Circuit) -> list[tuple[str, str]]:
    """Return the pairs of nodes that a broken output of this kind joins."""
    decided = {(e.ref, e.nodes[0]) for e in circuit.elements if e.kind in ("comparator", "gate")}
    stuck = [
        (e.nodes[0], e.nodes[2]) for e in circuit.elements if e.kind == "driver" and (e.ref, e.nodes[0]) in decided
    ]
    return stuck + [e.nodes[:2] for e in circuit.elements if e.kind in ("coupler", "load_switch")]  # type: ignore[misc]


def faults(maker: "Maker", n: int, element: Element) -> Iterator["Hypothesis"]:
    """Yield the faults of one element; `maker` is that of the other hypotheses."""
    one, other = element.nodes[:2]
    if element.kind == "coupler":
        column = maker.column(n, "ratio")
        signal = one if other == maker.template.ground else other
        yield from maker.hypothesis("collector_open", element, (signal,), [((column, 0.0),)], "out_open")
        joined = maker.template.bridge(one, other)
        sizes = [] if joined is None else [((joined, 1 / ohm),) for ohm in maker.priors.row("bridge").sizes]
        yield from maker.hypothesis("bridge", element, (one, other, element.ref), sizes, ref=f"{one} to {other}")
    elif element.kind == "load_switch":
        yield from maker.open("regulator_open", element)
        yield from maker.short("regulator_shorted", element, (one, other))
    elif element.kind in ("ic", "amplifier"):
        yield from maker.open("chip_open", element)
        if element.kind == "ic":
            yield from maker.short("load_shorted", element, (one, other))
    elif (column_ := maker.template.bridge(one, element.nodes[2])) is not None:
        held = [((column_, 1 / ohm),) for ohm in STUCK_OHM]
        yield from maker.hypothesis("chip_open", element, (one,), held, kind="out_low")


def transistor(maker: "Maker", n: int, element: Element) -> Iterator["Hypothesis"]:
    """Yield the faults of a MOSFET or a bipolar transistor but for the wrong way round."""
    first, steering, last = element.nodes
    if element.kind in ("mosfet_n", "mosfet_p"):
        yield from maker.open("mosfet_open", element)
        yield from maker.hypothesis("gate_open", element, (steering,), [((maker.column(n, "threshold"), 1e3),)])
        yield from maker.short("mosfet_shorted", element, (first, last))
        yield from maker.short("gate_shorted", element, (steering, last))
        yield from maker.short("gate_to_drain", element, (steering, first))
    else:
        yield from maker.open("bipolar_open", element)
        yield from maker.hypothesis("collector_open", element, (first,), [((maker.column(n, "gain"), 1e-3),)])
        yield from maker.short("bipolar_shorted", element, (first, last))
        yield from maker.short("base_to_emitter", element, (steering, last))
        yield from maker.short("base_to_collector", element, (steering, first))
