"""What a hold point needs where board.toml names nothing: the parts between the supply and the rails it reaches."""

from dataclasses import replace
from typing import NamedTuple

from reworkkit.model.board import Board
from reworkkit.model.designator import natural_key
from reworkkit.model.results import Circuit, Element, HoldOutline
from reworkkit.model.values import Source
from reworkkit.model.vocabulary import Honesty

_PASSING = ("fuse", "inductor", "link", "diode", "schottky", "mosfet_p", "mosfet_n")
_MAKING = ("regulator", "converter", "boost")
_GUARDING = ("capacitor_polarised", "zener", "tvs", "tvs_two_way")


class Way(NamedTuple):
    """The nets a supply reaches through passing parts and regulators, and the parts on and at that way."""

    nets: frozenset[str]
    refs: tuple[str, ...]


def parts_on_the_way(circuit: Circuit, supply: str | None) -> Way:
    """Return the way of the power: fuses, series diodes, coils and regulators in turn, and what guards those nets."""
    nets = {supply} if supply else set()
    refs: set[str] = set()
    waiting = [e for e in circuit.elements if e.kind in _PASSING + _MAKING]
    grew = True
    while grew:
        grew = False
        for element in waiting:
            onward = _onward(element, nets, circuit.ground)
            if onward - nets or (onward and element.ref not in refs):
                nets |= onward
                refs.add(element.ref)
                grew = True
    for element in circuit.elements:
        if element.kind in _GUARDING and set(element.nodes) & nets and circuit.ground in element.nodes:
            refs.add(element.ref)
    return Way(frozenset(nets), tuple(sorted(refs - nets, key=natural_key)))


def _onward(element: Element, nets: set[str], ground: str | None) -> set[str]:
    """Return the nets that power reaches through an element from the nets reached so far."""
    if element.kind in _MAKING:
        reached = {element.nodes[1], element.nodes[3]} if element.nodes[0] in nets else set()
    elif element.kind in ("diode", "schottky"):
        reached = {element.nodes[1]} if element.nodes[0] in nets else set()
    elif element.kind.startswith("mosfet"):
        ends = {element.nodes[0], element.nodes[2]}
        reached = ends if ends & nets and element.kind == "mosfet_p" else set()
    else:
        reached = set(element.nodes) if set(element.nodes) & nets else set()
    return reached - {ground} if ground not in element.nodes or element.kind in _MAKING else set()


def with_needs(outlines: tuple[HoldOutline, ...], board: Board, circuit: Circuit) -> tuple[HoldOutline, ...]:
    """Return the outlines, those without needs given the parts on the way from their supply; the source says so."""
    found = []
    for outline in outlines:
        if outline.needs or not circuit.elements:
            found.append(outline)
            continue
        way = parts_on_the_way(circuit, supply_of(board, circuit, outline))
        needs = tuple(ref for ref in way.refs if ref not in outline.protects and ref in board.parts)
        found.append(replace(outline, needs=needs, source=Source("computed", "way of the power", Honesty.DERIVED)))
    return tuple(found)


def supply_of(board: Board, circuit: Circuit, outline: HoldOutline) -> str | None:
    """Return the net that is fed: as stated, else the only supply there is."""
    if outline.supply:
        return outline.supply
    supplies = list(board.facts.supplies)
    return supplies[0] if len(supplies) == 1 else None


def feed_of(board: Board, outline: HoldOutline, supply: str | None) -> str | None:
    """Return where the supply's plus goes: as stated, else the stated place of the supply, else its net."""
    facts = board.facts.supplies.get(supply or "")
    return outline.feed or (facts.at if facts else None) or supply
