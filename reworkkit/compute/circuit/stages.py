"""What each element passes on of a change at one of its nodes: as it is, turned round, or not at all.

A small rise at the base of an NPN transistor raises its emitter and lowers its collector; a resistor hands it on. A
stage holds the net that it drives; a net that a supply or regulator holds moves for no one else.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator
from functools import cached_property
from typing import NamedTuple

from reworkkit.compute.circuit.wiring import MOST_SERIES_OHM
from reworkkit.model.results import INNER, Element

_PASSIVE = frozenset(["resistor", "fuse", "inductor", "link", "switch", "inner", "diode", "schottky", "led", "zener"])
_STIFF = frozenset(["fuse", "inductor", "link", "switch", "diode", "schottky"])
_REGULATORS = frozenset(["regulator", "follower", "converter", "boost"])
_SOURCES = {"supply": 0, "isolated": 2, "load_switch": 1, **dict.fromkeys(sorted(_REGULATORS), 1)}
"""Elements that hold a net, and the place of that net among their nodes."""
_HELD_BY = frozenset(["led", "zener", "tvs", "diode", "schottky"])
LOW_OHM = 1000.0
"""An emitter or source over no more than this from ground or a rail counts as held: its stage turns round."""
_SAME, _TURNED = 1, -1


class Step(NamedTuple):
    """A way for a change: to which net, with which sign, by which element; `drives` where a stage holds that net."""

    to: str
    sign: int
    element: int
    drives: bool
    stiff: bool


class Stages:
    """The ways for small changes between the nets of a board."""

    def __init__(self, elements: Iterable[Element], ground: str, rails: frozenset[str], positive: frozenset[str],
                 unsure: frozenset[str]) -> None:  # fmt: skip
        self.elements = list(elements)
        self.ground, self.rails, self._positive, self._unsure = ground, rails, positive, unsure
        self._by_ref: dict[str, list[Element]] = defaultdict(list)
        self._on: dict[str, list[Element]] = defaultdict(list)
        for element in self.elements:
            self._by_ref[element.ref].append(element)
            for node in dict.fromkeys(element.nodes):
                self._on[node].append(element)

    @cached_property
    def steps(self) -> dict[str, list[Step]]:
        """Net -> the ways that lead on from it."""
        found: dict[str, list[Step]] = defaultdict(list)
        for n, element in enumerate(self.elements):
            for start, to, sign, drives in self._of(element):
                if start != to:
                    found[start].append(Step(to, sign, n, drives, not drives and _is_stiff(element)))
        return found

    @cached_property
    def sources(self) -> dict[str, set[int]]:
        """Net -> the supplies and regulators that hold it, straight or through fuses, coils and diodes."""
        found: dict[str, set[int]] = defaultdict(set)
        for n, element in enumerate(self.elements):
            if element.kind in _SOURCES:
                self._flood(element.nodes[_SOURCES[element.kind]], n, found)
        return found

    def is_fixed(self, net: str) -> bool:
        """Return whether a net is ground or a rail."""
        return net == self.ground or net in self.rails

    def is_held(self, net: str) -> bool:
        """Return whether a Zener diode, reference, LED or diode to ground or a rail holds a net that steers nothing."""
        return self._is_held_by(net, _HELD_BY)

    @cached_property
    def regulated(self) -> frozenset[str]:
        """The nets that steer nothing and that a Zener diode to ground or a rail holds."""
        return frozenset(net for net in self._on if not self.is_fixed(net) and self._is_held_by(net, {"zener"}))

    def _is_held_by(self, net: str, kinds: Collection[str]) -> bool:
        on = self._on.get(net, ())
        steers = any(e.kind in ("npn", "pnp", "mosfet_n", "mosfet_p") and e.nodes[1] == net for e in on)
        return not steers and any(e.kind in kinds and self._far_is_fixed(e, net) for e in on)

    def makes(self, step: Step) -> bool:
        """Return whether a stage may make the rail that it drives: current comes from the side of the supply."""
        kind, positive = self.elements[step.element].kind, step.to in self._positive
        at_end = step.to == self.elements[step.element].nodes[-1]
        if kind in ("npn", "mosfet_n"):
            return at_end == positive
        return kind in _REGULATORS or at_end != positive

    def _flood(self, start: str, source: int, found: dict[str, set[int]]) -> None:
        waiting = [start]
        while waiting:
            net = waiting.pop()
            if net == self.ground or source in found[net]:
                continue
            found[net].add(source)
            for element in self._on.get(net, ()):
                waiting += _beyond(element, net)

    def _far_is_fixed(self, element: Element, net: str) -> bool:
        return any(self.is_fixed(node) for node in element.nodes if node != net)

    def _is_low(self, net: str) -> bool:
        """Return whether a net is ground, a rail, or near one."""
        return self.is_fixed(net) or any(
            e.kind in _PASSIVE and _ohms(e) <= LOW_OHM and self._far_is_fixed(e, net) for e in self._on.get(net, ())
        )

    def _of(self, element: Element) -> Iterator[tuple[str, str, int, bool]]:
        kind, nodes = element.kind, element.nodes
        if kind in _PASSIVE and not _is_open(element):
            yield from ((nodes[0], nodes[1], _SAME, False), (nodes[1], nodes[0], _SAME, False))
        elif kind in ("npn", "pnp", "mosfet_n", "mosfet_p"):
            yield from self._of_transistor(*nodes)
        elif kind in _REGULATORS:
            yield nodes[2], nodes[1], _SAME, True
            if nodes[3] != nodes[1]:
                yield nodes[3], nodes[1], _TURNED, True
        elif kind == "amplifier":
            yield from ((nodes[2], nodes[1], _SAME, True), (nodes[3], nodes[1], _TURNED, True))
        elif kind == "coupler":
            yield from self._of_coupler(element)
        elif kind == "unmodelled" and element.ref in self._unsure:
            yield from self._of_unknown(element)

    def _of_transistor(self, out: str, steer: str, end: str) -> Iterator[tuple[str, str, int, bool]]:
        """Yield what base or gate does, and what emitter or source does where a fixed base makes it the input."""
        yield steer, end, _SAME, True
        if out == steer:
            yield end, steer, _SAME, False
        elif self._is_low(end) or end.endswith(INNER):
            yield steer, out, _TURNED, True
        if self.is_fixed(steer) or self.is_held(steer):
            yield end, out, _SAME, True

    def _of_coupler(self, output: Element) -> Iterator[tuple[str, str, int, bool]]:
        mine = self._by_ref[output.ref]
        place = [e for e in mine if e.kind == "coupler"].index(output)
        lamps = [e for e in mine if e.kind == "led"]
        collector, emitter = output.nodes
        for anode, cathode in (lamp.nodes for lamp in lamps[place : place + 1]):
            for node, way in ((anode, _SAME), (cathode, _TURNED)):
                yield node, emitter, way, True
                yield node, collector, -way, True

    def _of_unknown(self, element: Element) -> Iterator[tuple[str, str, int, bool]]:
        """Yield ways of both signs through a transistor that is not known, plain ones through other such parts."""
        if any(e.kind != "unmodelled" for e in self._by_ref[element.ref]):
            return
        signs = (_SAME,) if len(element.nodes) == 2 else (_SAME, _TURNED)
        for one in element.nodes:
            yield from ((one, other, sign, False) for other in element.nodes if other != one for sign in signs)


def _ohms(element: Element) -> float:
    band = element.parameters.get("resistance")
    return 0.0 if band is None else band.nominal or 0.0


def _is_stiff(element: Element) -> bool:
    """Return whether a net behind an element still belongs to the stage before it."""
    return element.kind in _STIFF or (element.kind in ("resistor", "inner") and _ohms(element) <= MOST_SERIES_OHM)


def _is_open(element: Element) -> bool:
    return element.kind == "switch" and element.parameters["resistance"].nominal is None


def _beyond(element: Element, net: str) -> list[str]:
    """Return where the current of a source goes on to: through what hardly stands in its way."""
    if element.kind in ("fuse", "inductor", "link", "switch") and not _is_open(element):
        return [node for node in element.nodes if node != net]
    if element.kind == "resistor" and _ohms(element) <= MOST_SERIES_OHM:
        return [node for node in element.nodes if node != net]
    if element.kind in ("diode", "schottky", "mosfet_p"):
        return [element.nodes[-1]] if element.nodes[0] == net else []
    return [element.nodes[0]] if element.kind == "mosfet_n" and element.nodes[-1] == net else []
