"""The rule tables: which parameters decide for a kind, how each is compared, and what a failure costs."""

from functools import cache
from typing import NamedTuple

from reworkkit import tables
from reworkkit.model.comparison import Effect
from reworkkit.model.values import Source


class Rule(NamedTuple):
    """A row of `comparison_rules.csv`; `allow` is a share or a difference in per cent, `order` is best first."""

    parameter: str
    direction: str
    allow: float
    failed: Effect
    missing: str
    remedy: str
    order: tuple[tuple[str, ...], ...]
    source: Source


class Term(NamedTuple):
    """A parameter: its unit (empty: a word or a plain number) and the headings it stands under."""

    unit: str
    words: tuple[str, ...]


@cache
def rules_for(kind: str) -> tuple[Rule, ...]:
    """Return the rules of a kind in the order of the table; none where the kind has no rules."""
    return tuple(_rule(row) for row in tables.rows("comparison_rules") if kind in row["kinds"].split())


def _rule(row: tables.Row) -> Rule:
    order = tuple(tuple(one.split(">")) for one in row["order"].split(";") if one)
    allow = float(row["allow_percent"] or 0)
    source = tables.source(row["source"], row["place"])
    return Rule(
        *(
            row["parameter"],
            row["direction"],
            allow,
            Effect(row["failed"]),
            row["missing"],
            row["remedy"],
            order,
            source,
        )
    )


@cache
def term(parameter: str) -> Term:
    """Return the unit and the headings of a parameter."""
    row = next(row for row in tables.rows("comparison_terms") if row["key"] == parameter)
    return Term(row["unit"], tuple(row["words"].split("|")))


@cache
def swap(original: str, candidate: str) -> tuple[Effect, str] | None:
    """Return what it costs to use one kind in place of another, and the remedy; None where it does not stand in."""
    for row in tables.rows("kind_swaps"):
        if (row["original"], row["candidate"]) == (original, candidate):
            return Effect(row["effect"]), row["remedy"]
    return None


@cache
def must_pass(kind: str) -> frozenset[str]:
    """Return the parameters without which a part of this kind is never called drop-in."""
    return frozenset(word for row in tables.rows("not_drop_in") if row["kind"] == kind for word in row["rows"].split())


@cache
def asides() -> frozenset[str]:
    """Return the headings that say nothing of what a part does: maker, price, remark."""
    return frozenset(row["heading"] for row in tables.rows("comparison_asides"))
