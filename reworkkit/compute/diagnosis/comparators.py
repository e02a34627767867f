"""Comparators: outputs follow inputs, so a fault at an input shows at the output; inputs drive nothing."""

import re
from typing import NamedTuple

import numpy as np

from reworkkit.compute.formulas.junction import Array, Rows
from reworkkit.compute.formulas.network import Template
from reworkkit.model.board import Board

_TEXT = re.compile(
    r"comparator|LM[123]9[03]|LM339|LM2903|LM2901|LM311|LMV33[19]|LMV393|TLV3[0-9]|MCP65[46]|TS391", re.I
)
_PLUS, _MINUS, _OUT = (
    frozenset(("IN+", "+IN", "INP", "+")),
    frozenset(("IN-", "-IN", "INN", "-")),
    frozenset(("OUT", "O")),
)
ALIVE_V, APART_V = 1.5, 0.003
"""Least supply at which a comparator works, and least difference that it is taken to see."""
ROUNDS = 3


class Comparator(NamedTuple):
    """An open output that is low where plus is below minus: nets of both inputs and the output."""

    ref: str
    plus: str
    minus: str
    out: str


def comparators(board: Board) -> tuple[Comparator, ...]:
    """Return the comparators of a board that have one unit with named pins."""
    found = []
    for ref, part in board.parts.items():
        text = f"{part.identity.value.text} {part.identity.part_number} {part.identity.description}"
        nets = _roles(board, ref)
        if _TEXT.search(text) and len(nets) == len(("plus", "minus", "out")):
            found.append(Comparator(ref, nets["plus"], nets["minus"], nets["out"]))
    return tuple(found)


def signal_inputs(board: Board) -> frozenset[tuple[str, str]]:
    """Return (designator, net) of the pins that are named as the inputs of an amplifier or comparator."""
    return frozenset(
        (pin.ref, pin.net) for pin in board.pins.values() if pin.net and (pin.name or "").upper() in _PLUS | _MINUS
    )


def _roles(board: Board, ref: str) -> dict[str, str]:
    found: dict[str, str] = {}
    for pin in board.pins.values():
        name = (pin.name or "").upper()
        for role, names in (("plus", _PLUS), ("minus", _MINUS), ("out", _OUT)):
            if pin.ref == ref and pin.net and name in names:
                found[role] = pin.net
    return found


def turned_over(template: Template, rows: Array, states: Array, known: tuple[Comparator, ...]) -> Rows:
    """Set the outputs in `rows` as the inputs in `states` say; return which rows changed."""
    before = rows.copy()
    for one in known:
        for n, element in enumerate(template.elements):
            if element.kind != "driver" or element.ref != one.ref or element.nodes[0] != one.out:
                continue
            apart = _volts(template, states, one.plus) - _volts(template, states, one.minus)
            alive = _volts(template, states, element.nodes[1]) - _volts(template, states, element.nodes[2]) > ALIVE_V
            column = template.column[n, "low"]
            wanted = np.where(np.abs(apart) < APART_V, rows[:, column], (apart < 0).astype(float))
            rows[:, column] = np.where(alive, wanted, 0.0)
    return np.flatnonzero((rows != before).any(axis=1))


def _volts(template: Template, states: Array, net: str) -> Array:
    place = template.index.get(net, len(template.nodes))
    return np.zeros(len(states)) if place == len(template.nodes) else states[:, place]
