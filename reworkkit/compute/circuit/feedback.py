"""What the output of an amplifier does to its inputs, over how many parts; what gives an input its level."""

from collections import defaultdict
from collections.abc import Sequence
from heapq import heappop, heappush
from typing import NamedTuple

from reworkkit.compute.circuit.pin_roles import row_of
from reworkkit.compute.circuit.stages import Stages, Step
from reworkkit.compute.circuit.wiring import CHIPS, EXTERNAL, Wiring
from reworkkit.compute.formulas.closure import closure
from reworkkit.model.part import Part
from reworkkit.model.results import INNER, Element
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
FARTHEST = 8
"""No feedback is sought over more parts than this."""
_NEVER = FARTHEST + 1


class Ways(NamedTuple):
    """Over how many parts the output works against a change at the inputs, and with it; None where it does not."""

    against: int | None
    along: int | None


def stages_of(wiring: Wiring, own: Sequence[Element] = ()) -> Stages:
    """Return the ways for changes through the elements of other parts, and through some of the part itself."""
    rails = frozenset(net for net in wiring.rails if wiring.is_rail(net)) | _behind_fuses(wiring)
    positive = frozenset(net for net in rails if wiring.is_positive_rail(net))
    unsure = frozenset(
        ref for ref, part in wiring.board.parts.items() if part.fit is Fit.FIT and part.identity.kind in _PASSES
    )
    return Stages([*wiring.made, *own], wiring.ground, rails, positive, unsure)


def _behind_fuses(wiring: Wiring) -> frozenset[str]:
    """Return the nets that a supply reaches through fuses, links, chokes and diodes in its way alone."""
    found: set[str] = set()
    for net, supply in wiring.board.facts.supplies.items():
        below = supply.volts is not None and supply.volts.value < 0
        ways = [way for element in wiring.made for way in _ways_on(element, below) if wiring.ground not in way]
        found |= closure({net}, lambda near, ways=ways: {to for start, to in ways if start in near})  # type: ignore[misc]
    return frozenset(found)


def _ways_on(element: Element, below: bool) -> list[tuple[str, ...]]:
    """Return where an element hands on the voltage of a supply above ground or `below` it: (from, to)."""
    if element.kind in ("diode", "schottky"):
        return [element.nodes[1::-1] if below else element.nodes[:2]]
    if element.kind in ("fuse", "link", "inductor") and _least_ohm(element) <= CHOKE_OHM:
        return [element.nodes[:2], element.nodes[1::-1]]
    return []


CHOKE_OHM = 1.0
"""A coil of more than this is a relay's, not a choke in the feed."""


def _least_ohm(element: Element) -> float:
    return element.parameters["resistance"].nominal or 0.0


def feedback(stages: Stages, out: str, plus: str, minus: str) -> Ways:
    """Return how an output comes back to the inputs of its amplifier.

    Where it does in both senses and one of the inputs is held by a Zener diode or reference, that way does not count;
    nor do ways over other nets that Zener diodes hold.
    """
    ways = _feedback(stages, out, plus, minus, frozenset())
    if ways.against is None or ways.along is None:
        return ways
    held = frozenset(net for net in (plus, minus) if stages.is_held(net))
    if len(held) > 1:
        return ways
    left = _feedback(stages, out, plus, minus, held or stages.regulated)
    return ways if left.against is None and left.along is None else left


def _feedback(stages: Stages, out: str, plus: str, minus: str, without: frozenset[str]) -> Ways:
    lengths = _lengths(stages, out, without)
    against = min(lengths.get((minus, 1), _NEVER), lengths.get((plus, -1), _NEVER))
    along = min(lengths.get((minus, -1), _NEVER), lengths.get((plus, 1), _NEVER))
    return Ways(*(None if length == _NEVER else length for length in (against, along)))


def _lengths(stages: Stages, start: str, without: frozenset[str]) -> dict[tuple[str, int], int]:
    """Return (net, sign) -> over how many parts a change at `start` comes there with that sign.

    Ground and rails are no way, but for a rail that the last stage on the way makes.
    """
    best: dict[tuple[str, int], int] = {}
    seen: dict[tuple[str, int], set[int]] = defaultdict(set)
    waiting: list[tuple[int, str, int, int]] = [(0, start, 1, -1)]
    while waiting:
        parts, net, sign, stage = heappop(waiting)
        if stage in seen[net, sign]:
            continue
        seen[net, sign].add(stage)
        best.setdefault((net, sign), parts)
        for step in stages.steps.get(net, ()):
            far = parts + (not step.to.endswith(INNER))
            held_by = step.element if step.drives else stage if step.stiff else -1
            if far <= FARTHEST and step.to not in without and _goes_on(stages, step, held_by):
                heappush(waiting, (far, step.to, sign * step.sign, held_by))
    return best


def _goes_on(stages: Stages, step: Step, stage: int) -> bool:
    if not stages.is_fixed(step.to):
        return True
    if step.to == stages.ground or stage < 0 or stages.sources.get(step.to, set()) - {stage}:
        return False
    return not step.drives or stages.makes(step)


def others_on(wiring: Wiring, ref: str, net: str) -> list[Part]:
    """Return the other fitted parts on a net."""
    return [part for part in wiring.parts_on(net, ref) if part.fit is Fit.FIT]


def is_used(wiring: Wiring, net: str) -> bool:
    """Return whether a net has more than one pin, or a stated load."""
    return net in wiring.board.nets and (len(wiring.board.nets[net].pins) > 1 or net in wiring.board.facts.loads)


def is_loose(wiring: Wiring, ref: str, net: str) -> bool:
    """Return whether nothing on the board gives a net a level: only plugs are on it, or nothing is."""
    if net == wiring.ground or wiring.is_rail(net):
        return False
    return all(
        part.identity.kind in EXTERNAL or part.identity.kind == "test_point" for part in others_on(wiring, ref, net)
    )


_SENSORS = ("voltage_sensors", "hall_sensors", "magnetic_levels", "sense_amplifiers", "isolated_amplifiers")
"""Tables of parts whose outputs the circuit knows."""


def is_defined(wiring: Wiring, ref: str, net: str) -> bool:
    """Return whether the level of an input is one that the circuit knows: no chip or plug drives it, parts hold it.

    Further amplifiers on it are taken to have inputs there.
    """
    if net == wiring.ground or wiring.is_rail(net):
        return True
    others = others_on(wiring, ref, net)
    if any(row_of(table, part) for table in _SENSORS for part in others):
        return True
    drives = any(
        part.identity.kind in EXTERNAL
        or (part.identity.kind in CHIPS and part.identity.kind != "opamp" and not row_of("amplifier_pins", part))
        for part in others
    )
    return not drives and any(part.identity.kind in _PASSES for part in others)
