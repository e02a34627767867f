"""Which outputs follow from what the circuit knows: gates and comparators, and latches that their inputs hold."""

from collections.abc import Collection, Mapping
from typing import NamedTuple

from reworkkit.compute.diagnosis.comparators import (
    ROUNDS,
    Comparator,
    Deciding,
    comparators,
    placed,
    turned_over,
    undefined,
)
from reworkkit.compute.diagnosis.latches import Latch, is_told, latches
from reworkkit.compute.diagnosis.reach import MOSFETS, THROUGH, firm_nets
from reworkkit.compute.formulas.closure import closure
from reworkkit.compute.formulas.junction import Array
from reworkkit.compute.formulas.network import Template, solve, solve_working
from reworkkit.model.results import Circuit

ON_V = 0.3
"""A MOSFET that leaves less than this across itself is on; from memory."""


def deciding(
    circuit: Circuit, template: Template, healthy: Array, held: Collection[str]
) -> tuple[tuple[Deciding, ...], frozenset[str]]:
    """Return the outputs that follow their inputs, and the nets of latches that nothing tells.

    Nets that are `held` where they were read are known.

    A latch counts where, on the healthy board (its row of the template), an input of known level sets or clears it.
    """
    every, told = latches(circuit), list[Latch]()
    known = comparators(circuit, (), held)
    for _ in range(ROUNDS if every else 0):
        state = _settled(template, healthy, known).state
        loose = _carried(circuit, undefined(circuit, known).difference(held), template, state)
        more = [one for one in every if one not in told and _is_told(template, state, one, loose)]
        if not more:
            break
        told += more
        known = comparators(circuit, told, held)
    return known, frozenset(one.out for one in every if one not in told)


def _carried(circuit: Circuit, loose: set[str], template: Template, state: Array) -> set[str]:
    """Return nets of unknown level with those that resistors and junctions carry it to, up to what is fed firmly.

    A MOSFET that is on by a gate of known level feeds on as firmly as it is fed.
    """
    switched = [e.nodes for e in circuit.elements if e.kind in MOSFETS and e.nodes[1] not in loose]
    on = [
        {drain, source}
        for drain, _, source in switched
        if circuit.ground not in (drain, source)
        and abs(float(template.volts(state, drain)[0] - template.volts(state, source)[0])) < ON_V
    ]
    firm = firm_nets(circuit.elements, circuit.ground or "")
    held = closure(firm, lambda near: {net for way in on if way & near for net in way})
    ways = [set(e.nodes) - held for e in circuit.elements if e.kind in THROUGH]
    return closure(loose - held, lambda near: {net for way in ways if way & near for net in way})


def standing(template: Template, healthy: Array, known: tuple[Deciding, ...], read: Mapping[str, float]) -> Array:
    """Return the row of the healthy board with comparators that hold themselves beginning as the board was `read`.

    One that its own output keeps where it is stands either way, as a latch does: it is settled with all of them
    beginning high and with all of them low. Those that differ then begin as what was read there is nearer to, or
    anywhere where none of them was read.
    """
    drivers = [one.driver for one in placed(template, known) if isinstance(one.what, Comparator)]
    if not read or not drivers:
        return healthy
    columns = {n: (template.column[n, "low"], template.column[n, "high"]) for n in drivers}
    pulled = healthy.copy()
    for low, high in columns.values():
        pulled[low], pulled[high] = 1.0, 0.0
    ends = [_settled(template, row, known) for row in (healthy, pulled)]
    apart = [n for n in drivers if ends[0].row[0, columns[n][0]] != ends[1].row[0, columns[n][0]]]
    own = {net: read[net] for n in apart if (net := template.elements[n].nodes[0]) in read} or read
    if not apart or _off(template, ends[0].state, own) <= _off(template, ends[1].state, own):
        return healthy
    row = healthy.copy()
    for low, high in (columns[n] for n in apart):
        row[low], row[high] = ends[1].row[0, low], ends[1].row[0, high]
    return row


def _off(template: Template, state: Array, read: Mapping[str, float]) -> float:
    """Return how far a board is from what was read: the sum over the nets, each up to a volt."""
    nets = (net for net in read if net in template.index)
    return sum(min(abs(float(template.volts(state, net)[0]) - read[net]), 1.0) for net in nets)


class _Settled(NamedTuple):
    row: Array
    state: Array


def _settled(template: Template, begun: Array, known: tuple[Deciding, ...]) -> _Settled:
    row = begun[None].copy()
    found, following = solve_working(template, row), placed(template, known)
    for _ in range(ROUNDS):
        if not len(turned_over(template, row, found.state, following)):
            break
        found = solve(template, row, found.state)
    return _Settled(row, found.state)


def _is_told(template: Template, state: Array, one: Latch, loose: set[str]) -> bool:
    drivers = (e for e in template.elements if e.kind == "driver" and e.ref == one.ref and e.nodes[0] == one.out)
    driver = next(drivers, None)
    if driver is None:
        return False
    supply = template.volts(state, driver.nodes[1]) - template.volts(state, driver.nodes[2])
    return is_told(template, state, one, driver.nodes[2], supply, loose)
