"""Enable pins: what turns a regulator on or off that stands still, and which pin a fault could move."""

from collections.abc import Sequence
from dataclasses import replace

from reworkkit import tables
from reworkkit.compute.circuit.figures import of_cell
from reworkkit.compute.circuit.pin_roles import row_of
from reworkkit.compute.circuit.regulator_pins import Pins
from reworkkit.compute.circuit.wiring import Wiring
from reworkkit.compute.formulas.closure import closure
from reworkkit.model.messages import Message, message
from reworkkit.model.part import Part
from reworkkit.model.results import Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

_SWITCHED = frozenset(("regulator", "converter", "boost"))
THRESHOLD = Band(0.4, 0.9, 1.6, "V", BandBasis.TABLE)
"""Voltage from which an enable pin is on; from memory, over the common types."""
PULL_UP_A = (4e-6, 2e-6, 1e-8)
"""Most, usual and least current of an enable pin's own pull-up; 1 and 4 microampere in a common type (memory)."""
_ON_WHEN_HIGH = frozenset(("EN", "ENA", "ENABLE", "ON", "RUN", "EN/UVLO"))
_OFF_LEAK = Band(1e-11, 1e-10, 1e-10, "A", BandBasis.TABLE)
"""What one that is off still gives: less than its own divider takes."""
_OFF_DRAW = Band(0.0, 1e-6, 5e-5, "A", BandBasis.TABLE)
"""What a regulator that is turned off draws; from memory."""


def enabled(wiring: Wiring, part: Part, row: tables.Row | None, pins: Pins, element: Element) -> list[Element]:
    """Return the regulator as its enable pin has it, and the pin itself where its net may move.

    A pin at ground or at a rail, straight or through resistors alone, is told by its level; an open one by what the
    type does inside. A net that something else drives is taken as on.
    """
    said = wiring.facts(part.ref).out
    if said is not None and not said.value:
        return [_off(element, message("circuit-enable-off", ref=part.ref, net="board.toml"))]
    if not (row and row["enable"]) and "EN" not in pins.nodes:
        return [element]
    low_is_on = bool(row and row["enable"] == "low")
    node = pins.nodes.get("EN")
    if node is None or _leads_nowhere(wiring, node):
        return [_left_open(wiring, part, row, element, there=node is not None)]
    stands = level(wiring, part, node, pins.nodes["IN"])
    if (
        stands is not None
        and stands == low_is_on
        and not (node == wiring.ground and _polarity_untold(wiring, part, row))
    ):
        return [_off(element, message("circuit-enable-off", ref=part.ref, net=node))]
    if low_is_on or node == wiring.ground or node in element.nodes:
        return [element]
    follows = Element("enable", part.ref, (node, element.nodes[2]), {"threshold": THRESHOLD})
    pulled = element.kind != "regulator" and bool(row and row["left_open"] == "on") and not wiring.is_rail(node)
    up = [_pull_up(wiring, part, node, pins.nodes["IN"])] if pulled else []
    return [element, follows, *(pull_down(part, node, element.nodes[2]) or up)]


def pull_down(part: Part, node: str, low: str) -> list[Element]:
    """Return what leads from an enable pin to ground inside the part, where its type tells."""
    row = row_of("enable_pulls", part)
    if row is None or node == low:
        return []
    return [Element("inner", part.ref, (node, low), {"resistance": of_cell(row["ohm"], "ohm")})]


def _polarity_untold(wiring: Wiring, part: Part, row: tables.Row | None) -> bool:
    """Return whether neither type nor pin name tells which level is on: who ties such a pin to ground wants it on."""
    names = {(pin.name or "").upper() for (ref, _), pin in wiring.board.pins.items() if ref == part.ref}
    return not (row and row["enable"]) and not names & _ON_WHEN_HIGH


def _pull_up(wiring: Wiring, part: Part, node: str, entry: str) -> Element:
    """Return the current of a converter's own pull-up at its enable pin, as a resistance from its input."""
    bands = [band for band, _ in wiring.rails.values()]
    volts = (
        wiring.rails[entry][0].nominal if wiring.is_rail(entry) else max((b.nominal or 0.0 for b in bands), default=0)
    )
    low, nominal, high = ((volts or 12.0) / amps for amps in PULL_UP_A)
    return Element("inner", part.ref, (entry, node), {"resistance": Band(low, nominal, high, "ohm", BandBasis.TABLE)})


def _leads_nowhere(wiring: Wiring, node: str) -> bool:
    net = wiring.board.nets.get(node)
    return net is None or (len(net.pins) == 1 and not wiring.is_rail(node) and node != wiring.ground)


def level(wiring: Wiring, part: Part, node: str, entry: str) -> bool | None:
    """Return whether an enable net is high or low for sure; None where a divider or something else sets it."""
    ends = {node} if node in (wiring.ground, entry) or wiring.is_rail(node) else _pulls(wiring, part, node)
    if not ends:
        return None
    if ends == {wiring.ground}:
        return False
    return True if all(end == entry or wiring.is_positive_rail(end) for end in ends) else None


def _pulls(wiring: Wiring, part: Part, node: str) -> set[str]:
    """Return the nets that resistors alone pull a net to; none where any other part may drive it."""
    found: set[str] = set()
    for ref in {ref for ref, _ in wiring.board.nets[node].pins} - {part.ref}:
        other = wiring.board.parts.get(ref)
        kind = other.identity.kind if other else "unknown"
        if kind.startswith("capacitor") or kind == "test_point":
            continue
        if kind not in ("resistor", "jumper"):
            return set()
        found |= {net for net in wiring.nets_of(ref) if net != node}
    return found


def _left_open(wiring: Wiring, part: Part, row: tables.Row | None, element: Element, there: bool) -> Element:
    does = row["left_open"] if row else ""
    if does == "off" and there:
        return _off(element, message("circuit-enable-open", ref=part.ref, does="off"))
    if does == "on":
        return replace(element, assumed=(*element.assumed, message("circuit-enable-open", ref=part.ref, does="on")))
    if not there:
        return element
    wiring.ask((part.ref,), message("circuit-enable-unknown"), f'[parts] {part.ref} = {{ out = "0 V" }}')
    return replace(element, assumed=(*element.assumed, message("circuit-enable-taken", ref=part.ref)))


def _off(element: Element, why: Message) -> Element:
    parameters = {**element.parameters, "limit": _OFF_LEAK, "quiescent": _OFF_DRAW}
    return replace(element, parameters=parameters, assumed=(*element.assumed, why))


_CARRIES = frozenset(("resistor", "link", "inductor", "fuse"))
_NO_LEVEL = frozenset(("capacitor", "capacitor_polarised", "enable", "switch"))
"""Elements that neither carry a level on nor give a net one; a switch that stands open is one of them."""


def held_off(wiring: Wiring, elements: Sequence[Element]) -> list[Element]:
    """Return the elements with those regulators turned off whose enable pin only ever reaches ground.

    Through resistors and links of any number, a closed jumper among them, where nothing else is on the way.
    """
    low = {e.ref: e.nodes[0] for e in elements if e.kind == "enable" and _only_grounded(wiring, e.nodes[0], elements)}
    return [
        _off(e, message("circuit-enable-off", ref=e.ref, net=low[e.ref])) if e.kind in _SWITCHED and e.ref in low else e
        for e in elements
    ]


def _only_grounded(wiring: Wiring, net: str, elements: Sequence[Element]) -> bool:
    """Return whether nothing but resistors to ground is on a net and those it is joined to."""
    ways = [set(e.nodes) for e in elements if e.kind in _CARRIES]
    fixed = {wiring.ground, *wiring.rails}
    reached = closure({net} - fixed, lambda near: {end for way in ways if way & (near - fixed) for end in way})
    free = reached - fixed
    others = (e for e in elements if e.kind not in _CARRIES | _NO_LEVEL and free & set(e.nodes))
    return reached & fixed == {wiring.ground} and next(others, None) is None
