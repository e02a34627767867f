"""Comparators, gates and supervisors: outputs follow inputs, so a fault at an input shows at the output."""

from collections import Counter
from collections.abc import Collection, Sequence
from typing import NamedTuple

import numpy as np

from reworkkit.compute.diagnosis.latches import Latch, said
from reworkkit.compute.diagnosis.reach import fixed_nets
from reworkkit.compute.formulas.junction import Array, Flags, Rows
from reworkkit.compute.formulas.network import Template
from reworkkit.model.board import Board
from reworkkit.model.results import Circuit, Element

_PLUS = frozenset(("IN+", "+IN", "INP", "+"))
_MINUS = frozenset(("IN-", "-IN", "INN", "-"))
_HOLDING = frozenset(
    [
        "resistor",
        "inner",
        "inner_diode",
        "fuse",
        "inductor",
        "link",
        "diode",
        "schottky",
        "led",
        "zener",
        "tvs",
        "regulator",
        "follower",
        "converter",
        "boost",
        "npn",
        "pnp",
        "mosfet_n",
        "mosfet_p",
        "amplifier",
        "load_switch",
        "contact",
        "isolated",
        "thyristor",
        "thyristor_p",
        "coupler",
        "supply",
        "rail",
    ]
)
"""Elements that give a net a level of its own."""
_OUTPUTS = frozenset(("amplifier", "regulator", "follower", "converter", "boost"))
"""Elements whose second node is an output that a chip's pin only listens to."""
ALIVE_V, APART_V = 1.5, 0.003
"""Least supply at which a comparator works, and least difference that it is taken to see."""
HALF = 0.5
"""Threshold of an input of CMOS logic as a share of its supply."""
ROUNDS = 5
"""Outputs that follow outputs settle one after the other; no more rounds than this."""


class Comparator(NamedTuple):
    """An output that is low where plus is below minus, else open or, with `pulls_up`, high."""

    ref: str
    plus: str
    minus: str
    out: str
    pulls_up: bool = False


class Gate(NamedTuple):
    """An output that is true where at least so many inputs are high: 0 stands for all, -1 for an odd number.

    `threshold_v` is None where it is half the supply; `enable` is the net that lets it drive and the level that does
    (1 high, -1 low), or None.
    """

    ref: str
    inputs: tuple[str, ...]
    out: str
    at_least: int
    invert: bool
    pulls_up: bool
    threshold_v: float | None
    enable: tuple[str, int] | None = None
    outside: bool = False
    """Whether something outside the board may turn it over, such as a magnet."""


Deciding = Comparator | Gate | Latch


def comparators(circuit: Circuit, latched: Sequence[Latch] = (), held: Collection[str] = ()) -> tuple[Deciding, ...]:
    """Return the comparators, gates and supervisors of a circuit whose inputs stand at known levels.

    With them, the latches that are known to be set or cleared. Nets that are `held` where they were read are known.
    """
    found: list[Deciding] = [one for e in circuit.elements if (one := _of_element(e)) is not None]
    found += latched
    outputs = {key: len(places) for key, places in _drivers(circuit.elements).items()}
    while True:
        loose = undefined(circuit, found).difference(held)
        kept = [one for one in found if not loose & set(_inputs(one))]
        told = Counter((one.ref, one.out) for one in kept)
        kept = [one for one in kept if told[one.ref, one.out] == outputs.get((one.ref, one.out))]
        if len(kept) == len(found):
            return tuple(found)
        found = kept


def _of_element(element: Element) -> Deciding | None:
    if element.kind not in ("comparator", "gate"):
        return None
    figure = {name: band.nominal or 0.0 for name, band in element.parameters.items()}
    out, *inputs = element.nodes
    if element.kind == "comparator":
        return Comparator(element.ref, inputs[0], inputs[1], out, bool(figure["pulls_up"]))
    enable = (inputs.pop(), int(figure["enable"])) if "enable" in figure else None
    how = int(figure["at_least"]), bool(figure["invert"]), bool(figure["pulls_up"])
    return Gate(element.ref, tuple(inputs), out, *how, figure.get("threshold"), enable, "outside" in figure)


def _inputs(one: Deciding) -> tuple[str, ...]:
    if isinstance(one, Latch):
        return ()
    if isinstance(one, Comparator):
        return one.plus, one.minus
    return (*one.inputs, one.enable[0]) if one.enable else one.inputs


def undefined(circuit: Circuit, known: Sequence[Deciding]) -> set[str]:
    """Return the nets without a level that the circuit knows: a chip that nothing decides holds them, or nothing."""
    decided = {(one.ref, one.out) for one in known}
    held: set[str] = {circuit.ground or ""}
    strange = set(undescribed(circuit))
    made = {e.nodes[1] for e in circuit.elements if e.kind in _OUTPUTS}
    for e in circuit.elements:
        if e.kind in _HOLDING:
            held |= set(e.nodes)
        if e.kind == "driver" and e.nodes[0] not in made:
            (held if (e.ref, e.nodes[0]) in decided else strange).add(e.nodes[0])
    return ({node for e in circuit.elements for node in e.nodes} - held | strange) - fixed_nets(circuit)


_DESCRIBES_NOTHING = frozenset(("unmodelled", "current_set", "gain_set"))


def undescribed(circuit: Circuit, fitted: frozenset[str] | None = None) -> frozenset[str]:
    """Return the nets at parts, or ends of parts, whose behaviour no element of the circuit describes."""
    described = {(e.ref, node) for e in circuit.elements if e.kind not in _DESCRIBES_NOTHING for node in e.nodes}
    strange = [e for e in circuit.elements if e.kind == "unmodelled" and (fitted is None or e.ref in fitted)]
    return frozenset(node for e in strange for node in e.nodes if (e.ref, node) not in described)


def signal_inputs(board: Board) -> frozenset[tuple[str, str]]:
    """Return (designator, net) of the pins that are named as the inputs of an amplifier or comparator."""
    return frozenset(
        (pin.ref, pin.net) for pin in board.pins.values() if pin.net and (pin.name or "").upper() in _PLUS | _MINUS
    )


def _drivers(elements: Sequence[Element]) -> dict[tuple[str, str], list[int]]:
    """Return the places of the outputs of a part at a net: several open collectors may work on one."""
    found: dict[tuple[str, str], list[int]] = {}
    for n, element in enumerate(elements):
        if element.kind == "driver":
            found.setdefault((element.ref, element.nodes[0]), []).append(n)
    return found


class Placed(NamedTuple):
    """An output that follows inputs, and the place of its driver among the elements."""

    what: Deciding
    driver: int


def placed(template: Template, known: Sequence[Deciding]) -> tuple[Placed, ...]:
    """Return outputs with their drivers."""
    drivers = _drivers(template.elements)
    return tuple(Placed(one, drivers[one.ref, one.out].pop(0)) for one in known)


def turned_over(template: Template, rows: Array, states: Array, known: Sequence[Placed]) -> Rows:
    """Set the outputs in `rows` as the inputs in `states` say; return which rows changed."""
    before = rows.copy()
    for one in known:
        _set(template, rows, states, one.what, one.driver)
    return np.flatnonzero((rows != before).any(axis=1))


def _set(template: Template, rows: Array, states: Array, one: Deciding, driver: int) -> None:
    out, high, low = template.elements[driver].nodes
    supply = template.volts(states, high) - template.volts(states, low)
    alive = (supply > ALIVE_V) | (high == out)
    columns = {name: template.column[driver, name] for name in ("high", "low")}
    if isinstance(one, Comparator):
        apart = template.volts(states, one.plus) - template.volts(states, one.minus)
        unsure = np.abs(apart) < APART_V
        up, down = apart > 0, apart < 0
        up, down = (
            np.where(unsure, rows[:, columns["high"]] > 0, up),
            np.where(unsure, rows[:, columns["low"]] > 0, down),
        )
    elif isinstance(one, Latch):
        up, down, stays = said(template, states, one, low, supply)
        up, down = up | (stays & (rows[:, columns["high"]] > 0)), down | (stays & (rows[:, columns["low"]] > 0))
    else:
        up, drives = _truth(template, states, one, low, supply)
        up, down = up & drives, ~up & drives
    rows[:, columns["low"]] = (down & alive).astype(float)
    rows[:, columns["high"]] = (up & alive & one.pulls_up).astype(float)


def _truth(template: Template, states: Array, gate: Gate, low: str, supply: Array) -> tuple[Flags, Flags]:
    """Return where the output of a gate is high, and where it drives at all."""
    threshold = HALF * supply if gate.threshold_v is None else np.full(len(states), gate.threshold_v)
    base = template.volts(states, low)
    high = np.stack([template.volts(states, net) - base > threshold for net in gate.inputs], axis=1)
    count = high.sum(axis=1)
    true = count % 2 == 1 if gate.at_least < 0 else count >= (gate.at_least or len(gate.inputs))
    drives = np.ones(len(states), dtype=bool)
    if gate.enable:
        enabled = template.volts(states, gate.enable[0]) - base > threshold
        drives = enabled if gate.enable[1] > 0 else ~enabled
    return np.asarray(true != gate.invert), np.asarray(drives)
