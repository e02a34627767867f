"""Parts that saw more than their rating under the leading faults."""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np

from reworkkit import tables
from reworkkit.compute.diagnosis.engine import Engine
from reworkkit.compute.diagnosis.groups import Group
from reworkkit.model.board import Board
from reworkkit.model.designator import natural_key
from reworkkit.model.diagnosis import Certainty, OverStress
from reworkkit.model.messages import Message
from reworkkit.model.part import Part
from reworkkit.model.quantity import parse_quantity
from reworkkit.model.results import Element

LEADING_SHARE = 0.1
LED_MOST_A, OVER_SUPPLY = 0.03, 1.15
"""From memory: a small LED's rating; how far above its rail's nominal voltage a chip is usually rated."""
REVERSE_MOST_V = 1.0
"""Reverse voltage that harms tantalum and electrolytic capacitors; makers' notes: 1 to 1.5 V."""


class Seen(NamedTuple):
    """One figure that was exceeded."""

    ref: str
    quantity: str
    saw: float
    rating: float
    unit: str
    assumed: bool


def over_stressed(
    engine: Engine, board: Board, found: Sequence[Group], certainty: Sequence[Certainty], how_long: Message
) -> tuple[OverStress, ...]:
    """Return the parts over their rating under each leading fault, each part once, under its likeliest fault."""
    done: dict[tuple[str, str], OverStress] = {}
    for group, words in zip(found, certainty, strict=True):
        leader = group.members[0]
        if group.share < LEADING_SHARE or leader == 0:
            continue
        fault = engine.dictionary.catalogue.hypotheses[leader].fault
        for one in _of_cluster(engine, board, engine.best_cluster(leader)):
            saw, rating = _text(one.saw, one.unit), _text(one.rating, one.unit)
            record = OverStress(one.ref, one.quantity, saw, rating, fault, words, how_long, one.assumed)
            done.setdefault((one.ref, one.quantity), record)
    return tuple(sorted(done.values(), key=lambda one: natural_key(one.ref)))


def _text(value: float, unit: str) -> str:
    if unit in ("A", "W") and abs(value) < 1:
        return f"{value * 1000:.3g} m{unit}"
    return f"{value:.3g} {unit}"


def _of_cluster(engine: Engine, board: Board, cluster: int) -> Iterator[Seen]:
    dictionary = engine.dictionary
    volts = {node: float(dictionary.states[cluster, n]) for n, node in enumerate(dictionary.template.nodes)}
    volts[dictionary.template.ground] = 0.0
    rails = {}
    for net, rail in board.facts.rails.items():
        if rail.volts is not None:
            rails[net] = float(rail.volts.value)
    for n, element in enumerate(dictionary.catalogue.template.elements):
        part = board.parts.get(element.ref)
        if part is None or not dictionary.rows[cluster, dictionary.template.column[n, "fitted"]]:
            continue
        across = volts[element.nodes[0]] - volts[element.nodes[1]]
        ohm = (
            float(dictionary.rows[cluster, dictionary.template.column[n, "resistance"]])
            if element.kind == "resistor"
            else 0.0
        )
        yield from _judge(board, part, element, across, ohm, rails)


def _judge(
    board: Board, part: Part, element: Element, across: float, ohm: float, rails: dict[str, float]
) -> Iterator[Seen]:
    kind, ref = element.kind, element.ref
    if kind in ("capacitor", "capacitor_polarised"):
        rated = _rated(board, part, "volts")
        if rated and abs(across) > rated:
            yield Seen(ref, "voltage", abs(across), rated, "V", False)
        if kind == "capacitor_polarised" and across < -REVERSE_MOST_V:
            yield Seen(ref, "reverse", -across, REVERSE_MOST_V, "V", True)
    elif kind == "resistor" and ohm > 0:
        rated = _rated(board, part, "watts") or _chip_watts(part)
        if rated and across * across / ohm > rated:
            yield Seen(ref, "power", across * across / ohm, rated, "W", _rated(board, part, "watts") is None)
    elif kind in ("ic", "load"):
        usual = rails.get(element.nodes[0])
        rated = _rated(board, part, "volts") or (usual * OVER_SUPPLY if usual else None)
        if rated and across > rated:
            yield Seen(ref, "voltage", across, rated, "V", _rated(board, part, "volts") is None)
        if across < -0.5:
            yield Seen(ref, "reverse", -across, 0.3, "V", True)


def _rated(board: Board, part: Part, name: str) -> float | None:
    facts = board.facts.parts.get(part.ref)
    stated = getattr(facts, name, None) or getattr(part.identity.value, name, None)
    if stated is None:
        return None
    quantity = stated if not isinstance(stated, str) else parse_quantity(stated)
    return float(quantity.value) if quantity else None


def _chip_watts(part: Part) -> float | None:
    package = part.identity.outline
    found = [float(row["power_w"]) for row in tables.rows("chip_ratings") if row["size"] in package]
    return found[0] if found and np.isfinite(found[0]) else None
