"""Which supplies feed a hold point, where their leads go, and which of them a bench supply cannot stand for."""

import re
from collections import Counter

from reworkkit import tables
from reworkkit.compute.formulas.accuracy import figure
from reworkkit.compute.power_up.way import parts_on_the_way
from reworkkit.model.board import Board
from reworkkit.model.results import Circuit, HoldOutline

_ISOLATING = frozenset(("module", "transformer", "optocoupler", "relay", "isolator"))
_ISOLATING_AT_REST = frozenset(("module", "transformer", "isolator"))
"""Those of them between whose sides no meter finds a way either: a relay's contacts and coil have one each."""

_CONDUCTORS = frozenset(("L", "N", "L1", "LINE", "LIVE", "NEUTRAL", "PHASE", "MAINS"))
"""Names of the conductors of a mains supply; below the voltage that hurts they mean something else."""


def supplies_of(board: Board, circuit: Circuit, outline: HoldOutline) -> tuple[str, ...]:
    """Return the nets that are fed: as stated, several parted by a comma; else the only one; else those of split rails.

    Several supplies that no statement tells apart are on together where each feeds nets of its own, none is
    alternating and none is at a voltage that can hurt; where two can feed one net, one of them is meant: nobody knows
    which, and the answer is empty.
    """
    if outline.supply:
        return tuple(one.strip() for one in outline.supply.split(",") if one.strip())
    supplies = tuple(board.facts.supplies)
    if len(supplies) <= 1 or not circuit.elements:
        return supplies if len(supplies) <= 1 else ()
    mild = [net for net in supplies if not is_alternating(board, net) and abs(volts_of(board, net)) <= figure("touch")]
    ways = [parts_on_the_way(circuit, net).nets for net in mild]
    if outline.measure:
        wanted = {board.facts.points.get(text, text) for text in outline.measure}
        mild = [net for net, way in zip(mild, ways, strict=True) if way & wanted]
        ways = [way for way in ways if way & wanted]
    shared = any(one & other for n, one in enumerate(ways) for other in ways[:n])
    return () if shared else tuple(mild)


def volts_of(board: Board, net: str) -> float:
    """Return the stated volts of a supply [V], with its sign; 0 where none are stated."""
    facts = board.facts.supplies.get(net)
    return float(facts.volts.value) if facts and facts.volts else 0.0


def feed_of(board: Board, outline: HoldOutline, supply: str | None, *, only: bool = True) -> str | None:
    """Return where the lead of a supply goes: as stated, else the stated place of the supply, else its net.

    The hold point's own `feed` is one place, so it holds where only one supply is on.
    """
    facts = board.facts.supplies.get(supply or "")
    return (outline.feed if only else None) or (facts.at if facts else None) or supply


def is_alternating(board: Board, net: str) -> bool:
    """Return whether a supply is alternating: its range of [nets] goes both sides of zero, or its name says so."""
    reach = board.facts.nets.get(net)
    if reach and reach.low and reach.high:
        return float(reach.low.value) < 0 < float(reach.high.value)
    words = {row["word"] for row in tables.rows("net_words") if row["sign"] == "both"}
    if abs(volts_of(board, net)) > figure("touch"):
        words |= _CONDUCTORS
    return bool(words & set(re.split(r"[^A-Z0-9]+", net.upper())))


def returns_to_ground(circuit: Circuit, supply: str) -> bool:
    """Return whether the current of a supply can come back through ground: some part leads from its net there.

    Modules, transformers, optocouplers and relays keep two sides apart; through anything else, capacitors and parts
    of unknown behaviour included, the two nets belong to one circuit.
    """
    nets, grew = {supply}, True
    some = (e for e in circuit.elements if e.kind not in ("supply", "rail", "range", "external", "load"))
    waiting = [set(side) for e in some for side in ((e.nodes[:2], e.nodes[2:]) if e.kind == "isolated" else (e.nodes,))]
    while grew and circuit.ground not in nets:
        near = [nodes for nodes in waiting if nodes & nets]
        grew = any(nodes - nets for nodes in near)
        nets = nets.union(*near)
    return circuit.ground in nets


def without_isolation(board: Board, circuit: Circuit, *, at_rest: bool = False) -> Circuit:
    """Return the circuit without the parts of unknown behaviour that keep two sides apart.

    Where one side is in the figures by itself (a coil, an LED), the other is an element of its own and stays.
    """
    many = Counter(e.ref for e in circuit.elements)
    kinds = _ISOLATING_AT_REST if at_rest else _ISOLATING
    kept = tuple(
        e
        for e in circuit.elements
        if e.kind != "unmodelled"
        or e.ref not in board.parts
        or many[e.ref] > 1
        or board.parts[e.ref].identity.kind not in kinds
    )
    return Circuit(circuit.nodes, kept, circuit.ground)
