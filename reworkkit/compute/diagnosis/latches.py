"""Outputs that some of their inputs set or clear and that otherwise stay as they were: flip-flops, counters, timers."""

from typing import NamedTuple

import numpy as np

from reworkkit.compute.formulas.junction import Array, Flags
from reworkkit.compute.formulas.network import Template
from reworkkit.model.results import Circuit, Element

OFF, LOW, HIGH = -1, 0, 1
"""What a rule makes of its output: nothing drives it, low, high."""


class Rule(NamedTuple):
    """What an output does while all inputs are at their levels (1 high, -1 low).

    `below`: while the first input is below the second. `threshold_v` is None where it is half the supply.
    """

    drives: int
    inputs: tuple[str, ...]
    levels: tuple[int, ...]
    threshold_v: float | None
    below: bool


class Latch(NamedTuple):
    """An output with its rules, the first one that holds counts; where none does it stays as it was.

    `begins`: what a capacitor at its set or clear pin makes of it as the power comes on (low, high), None without one.
    """

    ref: str
    out: str
    rules: tuple[Rule, ...]
    pulls_up: bool
    begins: int | None = None


class Said(NamedTuple):
    """Which rows a latch drives high or low, and in which nothing tells."""

    up: Flags
    down: Flags
    stays: Flags


def latches(circuit: Circuit) -> tuple[Latch, ...]:
    """Return the latches of a circuit."""
    found: dict[tuple[str, str], list[Element]] = {}
    for e in circuit.elements:
        if e.kind == "rule":
            found.setdefault((e.ref, e.nodes[0]), []).append(e)
    made = []
    for (ref, out), elements in found.items():
        rules = tuple(map(_rule, elements))
        pulls_up = bool(elements[0].parameters["pulls_up"].nominal)
        made.append(Latch(ref, out, rules, pulls_up, _begins(circuit, ref, out, rules)))
    return tuple(made)


def _begins(circuit: Circuit, ref: str, out: str, rules: tuple[Rule, ...]) -> int | None:
    """Return what the first pin does that a capacitor holds at its active level while the power comes on."""
    joined = {frozenset(e.nodes) for e in circuit.elements if e.kind.startswith("capacitor")}
    ends = next((e.nodes for e in circuit.elements if e.kind == "driver" and (e.ref, e.nodes[0]) == (ref, out)), None)
    if ends is None or any(rule.below for rule in rules):
        return None
    _, high, low = ends
    alone = (rule for rule in rules if len(rule.inputs) == 1 and rule.drives != OFF)
    held = (rule for rule in alone if {rule.inputs[0], high if rule.levels[0] > 0 else low} in joined)
    return next((rule.drives for rule in held), None)


def _rule(element: Element) -> Rule:
    figure = {name: band.nominal or 0.0 for name, band in element.parameters.items()}
    inputs = element.nodes[1:]
    levels = tuple(int(figure.get(f"level{n}", 1.0)) for n in range(1, len(inputs) + 1))
    return Rule(int(figure["drives"]), inputs, levels, figure.get("threshold"), "below" in figure)


def said(template: Template, states: Array, one: Latch, low: str, supply: Array) -> Said:
    """Return what a latch does in each row; what begins low or high counts where no rule does."""
    left = np.ones(len(states), dtype=bool)
    up, down = np.zeros(len(states), dtype=bool), np.zeros(len(states), dtype=bool)
    for rule in one.rules:
        now = left & _holds(template, states, rule, low, supply)
        up |= now & (rule.drives == HIGH)
        down |= now & (rule.drives == LOW)
        left &= ~now
    if one.begins is not None:
        (up if one.begins == HIGH else down)[left] = True
        left = np.zeros_like(left)
    return Said(up, down, left)


def _holds(template: Template, states: Array, rule: Rule, low: str, supply: Array) -> Flags:
    if rule.below:
        one, other = (template.volts(states, net) for net in rule.inputs)
        return np.asarray(one < other)
    every = [_at(template, states, rule, n, low, supply) for n in range(len(rule.inputs))]
    return np.asarray(np.all(every, axis=0))


def _at(template: Template, states: Array, rule: Rule, n: int, low: str, supply: Array) -> Flags:
    threshold = 0.5 * supply if rule.threshold_v is None else np.full(len(states), rule.threshold_v)
    high = template.volts(states, rule.inputs[n]) - template.volts(states, low) > threshold
    return np.asarray(high if rule.levels[n] > 0 else ~high)


def is_told(template: Template, state: Array, one: Latch, low: str, supply: Array, loose: set[str]) -> bool:
    """Return whether a latch's level follows, on one board, from inputs of known level or from how it begins."""
    for rule in one.rules:
        known = [n for n, net in enumerate(rule.inputs) if net not in loose]
        if len(known) == len(rule.inputs):
            if _holds(template, state, rule, low, supply)[0]:
                return True
        elif rule.below or all(_at(template, state, rule, n, low, supply)[0] for n in known):
            return False
    return one.begins is not None
