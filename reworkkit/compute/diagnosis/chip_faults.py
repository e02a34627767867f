"""The faults of transistors, chips and outputs that follow something: optocouplers, load switches, comparators."""

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from reworkkit.compute.diagnosis import contacts
from reworkkit.model.diagnosis import PIN_OPEN
from reworkkit.model.results import Circuit, Element

if TYPE_CHECKING:
    from reworkkit.compute.diagnosis.hypotheses import Maker
    from reworkkit.compute.diagnosis.hypothesis import Hypothesis

THYRISTORS = frozenset(("thyristor", "thyristor_p"))
KINDS = frozenset(("ic", "coupler", "load_switch", "amplifier", "driver", "contact", "isolated"))
FAR_OFF_V = 100.0
"""An amplifier that is so far off at its input stands at an end of its output."""
LEAST_GAIN = 1e3
"""Amplifiers of less gain stand where their inputs say, give or take their offset."""
STUCK_OHM = (8.0, 40.0)
"""What joins a stuck output to ground."""
WITHOUT_GROUND = (0.2, 0.4)
"""A switching regulator whose ground lead is open may also be half alive, at such shares of its voltage (a guess)."""
LEFT_WITHOUT_GROUND_V = 0.7
"""What a linear regulator whose ground lead is open may keep beside its dropout; from memory."""
LIFTED_V = 0.65
"""An amplifier whose ground pin is open stands so far above what its inputs, or its output, can give (one junction)."""
FED_OHM = (1e3, 3e3, 8e3, 20e3)
"""What a chip without supply, fed through its own pin, is to the resistor that pulls that pin up; from memory."""


def pairs(circuit: Circuit) -> list[tuple[str, str]]:
    """Return the pairs of nodes that a broken output of this kind joins."""
    decided = [e for e in circuit.elements if e.kind in ("comparator", "gate")]
    pulling = {(e.ref, e.nodes[0]) for e in decided}
    pushing = {(e.ref, e.nodes[0]) for e in decided if e.parameters["pulls_up"].nominal}
    drivers = [e for e in circuit.elements if e.kind == "driver"]
    stuck = [(e.nodes[0], e.nodes[2]) for e in drivers if (e.ref, e.nodes[0]) in pulling]
    stuck += [(e.nodes[0], e.nodes[1]) for e in drivers if (e.ref, e.nodes[0]) in pushing]
    stuck += [(e.nodes[0], e.nodes[2]) for e in pulled_up(circuit.elements)]
    stuck += [pair for e in circuit.elements if e.kind in THYRISTORS for pair in (e.nodes[:3:2], e.nodes[1:3])]  # type: ignore[misc]
    return stuck + [e.nodes[:2] for e in circuit.elements if e.kind in ("coupler", "load_switch", "contact")]  # type: ignore[misc]


def pulled_up(elements: Sequence[Element]) -> list[Element]:
    """Return the pins of chips, as drivers, that a resistor pulls up to the chip's own supply."""
    pulls = {frozenset(e.nodes) for e in elements if e.kind == "resistor"}
    return [e for e in elements if e.kind == "driver" and frozenset(e.nodes[:2]) in pulls]


def faults(maker: "Maker", n: int, element: Element) -> Iterator["Hypothesis"]:
    """Yield the faults of one element; `maker` is that of the other hypotheses.

    An output that follows its own supply is that of a supervisor, which may be one for another voltage.
    """
    one, other = element.nodes[:2]
    if element.kind == "coupler":
        yield from _coupler(maker, n, element)
    elif element.kind == "isolated":
        yield from maker.open("regulator_open", element)
        yield from _outer_lead_open(maker, n, element)
        yield from maker.sized("regulator_value", n, "volts", element, factor=True)
    elif element.kind == "contact":
        yield from contacts.faults(maker, element)
    elif element.kind == "load_switch":
        yield from maker.open("regulator_open", element)
        yield from maker.short("regulator_shorted", element, (one, other))
    elif element.kind == "ic":
        yield from maker.open("chip_open", element)
        yield from _supply_open(maker, element)
        yield from maker.short("load_shorted", element, (one, other))
    elif element.kind == "amplifier":
        yield from _amplifier(maker, n, element)
    elif (column := maker.template.bridge(one, element.nodes[2])) is not None:
        yield from _output(maker, n, element, column)


def _coupler(maker: "Maker", n: int, element: Element) -> Iterator["Hypothesis"]:
    (one, other), column = element.nodes[:2], maker.column(n, "ratio")
    signal = one if other == maker.template.ground else other
    yield from maker.hypothesis("collector_open", element, (signal,), [((column, 0.0),)], "out_open")
    yield from maker.sized("coupler_faded", n, "ratio", element, factor=True)
    yield from maker.short("bipolar_shorted", element, (one, other))
    yield from maker.short("bipolar_leaks", element, (one, other))
    joined = maker.template.bridge(one, other)
    sizes = [] if joined is None else [((joined, 1 / ohm),) for ohm in maker.priors.row("bridge").sizes]
    yield from maker.hypothesis("bridge", element, (one, other, element.ref), sizes, ref=f"{one} to {other}")


def _amplifier(maker: "Maker", n: int, element: Element) -> Iterator["Hypothesis"]:
    """Yield the faults of an amplifier or sensor; a damaged input is off by some voltage, of a sensor at its output."""
    yield from maker.open("chip_open", element)
    column, gone = maker.column(n, "offset"), (maker.column(n, "fitted"), 0.0)
    ends = [((column, way * FAR_OFF_V),) for way in (1.0, -1.0)]
    yield from _stuck(maker, element, element.nodes[1:4], [*ends, (gone,)])
    gain = float(maker.healthy[maker.column(n, "gain")])
    scale = 1.0 if gain >= LEAST_GAIN else 1 / gain
    off = [((column, size * scale),) for size in maker.priors.row("amplifier_offset").sizes]
    yield from maker.hypothesis("amplifier_offset", element, element.nodes[1:4], off)
    if (n, "variants") in maker.template.column:
        yield from maker.sized("gain_variant", n, "gain", element, factor=True)


def _output(maker: "Maker", n: int, element: Element, to_low: int) -> Iterator["Hypothesis"]:
    """Yield the faults of an output of known level; `to_low` is the column of what joins it to its lower supply."""
    one, high, low = element.nodes
    gone, top = (maker.column(n, "fitted"), 0.0), maker.template.bridge(one, high)
    held = [(gone, (to_low, 1 / ohm)) for ohm in STUCK_OHM]
    pulled = [] if top is None else [(gone, (top, 1 / STUCK_OHM[1]))]
    yield from _stuck(maker, element, maker.unit_of(element), [*held, (gone,), *pulled])
    yield from maker.short("output_leaks", element, (one, low))
    if maker.unit_of(element) == element.nodes[:2]:
        yield from maker.hypothesis("supervisor_variant", element, element.nodes[:2], [*held, *pulled])


def left_on_nothing(maker: "Maker", element: Element) -> Iterator[tuple[int, float]]:
    """Yield what an amplifier may be off by at its input where a part without contact leaves nothing else on that.

    Its own bias current then takes the input to one supply or the other.
    """
    template = maker.template
    for n, one in enumerate(template.elements):
        if one.kind == "amplifier" and one.ref != element.ref:
            for node in set(one.nodes[2:4]) & set(element.nodes) - {template.ground}:
                if not any(node in e.nodes for e in template.elements if _holds(e, element, node)):
                    yield from ((maker.column(n, "offset"), way * FAR_OFF_V) for way in (1.0, -1.0))


def _holds(one: Element, without: Element, node: str) -> bool:
    """Return whether an element holds a node or is held there, other than a part and the inputs of amplifiers."""
    if one.ref == without.ref or one.kind in ("bridge", "unmodelled", "ic"):
        return False
    return one.kind != "amplifier" or one.nodes[1] == node


def _stuck(
    maker: "Maker", element: Element, nets: tuple[str, ...], states: list[tuple[tuple[int, float], ...]]
) -> Iterator["Hypothesis"]:
    """Yield an output that no longer follows: a lead of the chip, an input's above all, has no contact."""
    yield from maker.hypothesis("input_open", element, nets, states, continuous=False)


def _outer_lead_open(maker: "Maker", n: int, element: Element) -> Iterator["Hypothesis"]:
    """Yield a lead of an output that no other output of the part shares, without contact."""
    others = [e for e in maker.template.elements if e.ref == element.ref and e.kind == "isolated" and e != element]
    shared = {node for other in others for node in other.nodes[2:]}
    own = tuple(node for node in element.nodes[2:] if node not in shared)
    yield from maker.hypothesis("regulator_out_open", element, own, [((maker.column(n, "fitted"), 0.0),)], PIN_OPEN)


def _supply_open(maker: "Maker", element: Element) -> Iterator["Hypothesis"]:
    """Yield a chip with a supply or ground lead open: dead, or fed through a pin that is pulled up.

    Amplifiers may also hang at the end of the other supply, or stand a junction above ground.
    """
    template, dead = maker.template, maker.without(element)
    offsets = template.columns(element.ref, "offset", ["amplifier"])
    rooms = [(c, maker.healthy[c] + LIFTED_V) for c in template.columns(element.ref, "room_low", ["amplifier"])]
    ends = [tuple((c, way * FAR_OFF_V) for c in offsets) for way in (-1.0, 1.0)] if offsets else []
    lifted = [(*ends[0], *rooms), tuple(rooms)] if offsets else []
    pins = [e for e in pulled_up(template.elements) if e.ref == element.ref]
    joints = [column for e in pins if (column := template.bridge(e.nodes[0], e.nodes[2])) is not None]
    fed = [(*dead, *((column, 1 / ohm) for column in joints)) for ohm in FED_OHM if joints]
    sizes = [dead, *fed, *ends, *lifted]
    yield from maker.hypothesis("chip_open", element, element.nodes, sizes, kind="supply_open", continuous=False)


def without_ground(maker: "Maker", n: int, element: Element) -> list[tuple[tuple[int, float], ...]]:
    """Return what else a regulator without its ground lead may do than give all it can."""
    if element.kind == "converter":
        volts = maker.column(n, "volts")
        return [((volts, share * maker.healthy[volts]),) for share in WITHOUT_GROUND]
    if element.kind != "regulator":
        return []
    gone, dropout = (maker.column(n, "pin_common"), 0.0), maker.column(n, "dropout")
    return [(gone, (dropout, maker.healthy[dropout] + LEFT_WITHOUT_GROUND_V))]


def _without_gain(maker: "Maker", element: Element) -> tuple[tuple[int, float], ...]:
    """Return the changes that leave a transistor its base alone; both of a Darlington's share the lead."""
    template = maker.template
    columns = template.columns(element.ref, "gain", [element.kind])
    same = [c for c in columns if template.elements[template.parameters[c].element].nodes[0] == element.nodes[0]]
    return tuple((column, 1e-3) for column in same)


def transistor(maker: "Maker", n: int, element: Element) -> Iterator["Hypothesis"]:
    """Yield the faults of a MOSFET, bipolar transistor or thyristor but for the wrong way round."""
    first, steering, last = element.nodes[:3]
    if element.kind in THYRISTORS or element.kind in ("mosfet_n", "mosfet_p"):
        latches = element.kind in THYRISTORS
        dead = (maker.column(n, "gain"), 1e-3) if latches else (maker.column(n, "threshold"), 1e3)
        yield from maker.open("mosfet_open", element)
        yield from maker.hypothesis("mosfet_lead_open", element, (first, last), [maker.without(element)])
        yield from maker.hypothesis("gate_open", element, (steering,), [(dead,)])
        yield from maker.short("mosfet_shorted", element, (first, last))
        if not latches:
            yield from maker.sized("mosfet_joint", n, "channel", element)
        yield from maker.short("gate_shorted", element, (steering, last))
        yield from maker.short("gate_leaks", element, (steering, last))
        if not latches:
            yield from maker.short("gate_to_drain", element, (steering, first))
    else:
        yield from maker.open("bipolar_open", element)
        yield from maker.sized("bipolar_weak", n, "gain", element, factor=True)
        yield from maker.hypothesis("bipolar_lead_open", element, (steering, last), [maker.without(element)])
        yield from maker.hypothesis("collector_open", element, (first,), [_without_gain(maker, element)])
        yield from maker.short("bipolar_shorted", element, (first, last))
        yield from maker.short("bipolar_leaks", element, (first, last))
        yield from maker.short("base_to_emitter", element, (steering, last))
        yield from maker.short("base_to_collector", element, (steering, first))
