"""What is to be bought: one line for each kind of part that is truly the same."""

from dataclasses import dataclass
from typing import NamedTuple

from reworkkit.model.messages import Finding, Message, NotJudged


class PriceBreak(NamedTuple):
    """A price for one piece from a quantity on, as written in the list."""

    pieces: int
    each: str
    currency: str


@dataclass(frozen=True, slots=True)
class ShoppingLine:
    """One line of the shopping list.

    `to_buy` is missing + to replace + spares - from stock, never below zero; `not_inspected` places may add to it.
    `instead_of` names the listed part where an accepted substitute is bought. `doubts` say why the line cannot be
    ordered as it is written.
    """

    key: str
    kind: str
    value: str
    package: str
    part_number: str
    refs: tuple[str, ...]
    missing: int
    to_replace: int
    not_inspected: int
    spares: int
    from_stock: int
    to_buy: int
    urgency: str
    """`rare`, `dear`, `plain` or `hardware`: the order of the list."""
    lead_time: str = ""
    prices: tuple[PriceBreak, ...] = ()
    instead_of: str = ""
    doubts: tuple[Message, ...] = ()
    remarks: tuple[Message, ...] = ()
    copies: tuple[int, ...] = ()
    """Pieces missing or to replace on each physical board, in the order of the copies."""


@dataclass(frozen=True, slots=True)
class Shortage:
    """The shopping list for a number of physical boards, rare and long-lead parts first."""

    copies: int
    lines: tuple[ShoppingLine, ...]
    findings: tuple[Finding, ...] = ()
    not_judged: tuple[NotJudged, ...] = ()
