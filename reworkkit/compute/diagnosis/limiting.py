"""Regulators that are dragged down and transistors that are driven hard: what they give then is hardly known.

Where an output is shorted, either the bench supply reaches its limit and everything upstream sags, or the regulator
limits first and all before it is well. Tables name a typical limit; many types fold back to a part of it. So it is with
what a transistor drives: its gain, which falls with the current, tells who gives way. Load switches and eFuses limit at
what a resistor sets, or not at all.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from reworkkit.compute.diagnosis.dictionary import Dictionary
from reworkkit.compute.diagnosis.hypothesis import Change, Hypothesis
from reworkkit.compute.diagnosis.sensitivity import dragged, given
from reworkkit.compute.formulas.junction import Array, Rows

FOLDED_SHARE = 0.5
"""A further limit of a dragged regulator, as a share of its typical one or of what the supplies give; from memory."""
FALLEN_SHARES = (0.7, 0.4)
"""Further gains of a transistor that is driven hard, as shares of its typical one: gain falls with current (memory)."""
CONDUCTS_V, DRIVEN_V = 0.5, 0.04
"""Base voltage of a transistor that is on, and by how much it rises when that carries some four times as much."""
LEFT_V = 0.25
"""A transistor that leaves less than this across itself is not limited by its gain or its gate."""
THRESHOLD_SHARES = (0.5, 1.0)
"""Further thresholds of a MOSFET that carries far more than it is driven for, between its typical and highest one."""
SWITCH_A, SWITCH_LEAST_A = (0.5, 1.5), 0.3
"""Currents that a load switch may limit at, and what it carries at least then; from memory: set from 0.1 to 5 A."""
WORKS_HARD, WORKS_HARD_A = 2.0, 0.01
"""A regulator that gives so many times its healthy current, and so many amperes more, may be at its limit."""


def with_limits(dictionary: Dictionary) -> Dictionary:
    """Return the dictionary with further limits and gains for each fault that drags what gives or passes current."""
    hypotheses = dictionary.catalogue.hypotheses
    finer: dict[int, Hypothesis] = {}
    near: list[int] = []
    last, volts = _last_dragged(dictionary)
    driven, passing = _driven_hardest(dictionary), _passing_most(dictionary)
    overloaded = _overloaded(dictionary)
    for n, one in enumerate(hypotheses):
        mine = np.flatnonzero(dictionary.owner == n)
        regulator = int(last[mine][np.argmin(volts[mine])])
        transistors = int(driven[mine].max()), int(overloaded[mine].max())
        bases = _limits(dictionary, regulator, *transistors, int(passing[mine].max()))
        if len(bases) > 1 and one.runs == 1 and n:
            finer[n] = _at_limits(one, bases)
            near += [*(int(k) for k in mine), *(0 for _ in mine for _ in bases[1:])]
    return dictionary.with_hypotheses(finer, near)


def _limits(dictionary: Dictionary, regulator: int, transistor: int, mosfet: int, switch: int) -> list[Change]:
    """Return the figures to take, -1 for none: limits of a regulator, gains or thresholds of a transistor, ohms."""
    found: list[Change] = []
    if regulator >= 0:
        column = dictionary.template.column[regulator, "limit"]
        typical = float(dictionary.catalogue.healthy[column])
        found += [(column, typical), (column, FOLDED_SHARE * min(typical, _supplied(dictionary)))]
    if transistor >= 0:
        column = dictionary.template.column[transistor, "gain"]
        typical = float(dictionary.catalogue.healthy[column])
        found += [(column, share * typical) for share in (*(() if found else (1.0,)), *FALLEN_SHARES)]
    if mosfet >= 0:
        column = dictionary.template.column[mosfet, "threshold"]
        typical, highest = float(dictionary.catalogue.healthy[column]), dictionary.template.parameters[column].high
        found += [] if found else [(column, typical)]
        found += [(column, typical + share * (highest - typical)) for share in THRESHOLD_SHARES]
    if switch >= 0:
        column = dictionary.template.column[switch, "resistance"]
        fed = abs(float(dictionary.template.volts(dictionary.states[:1], _entry(dictionary, switch))[0]))
        found += [] if found else [(column, float(dictionary.catalogue.healthy[column]))]
        found += [(column, fed / amps) for amps in SWITCH_A]
    return found


def _entry(dictionary: Dictionary, switch: int) -> str:
    return dictionary.template.elements[switch].nodes[0]


def _passing_most(dictionary: Dictionary) -> Rows:
    """Return for each cluster the load switch that carries much more than on the healthy board, -1 where none does."""
    template, states = dictionary.template, dictionary.states
    found = np.full(len(states), -1)
    most = np.full(len(states), SWITCH_LEAST_A)
    for n, element in enumerate(template.elements):
        if element.kind != "load_switch":
            continue
        across = np.abs(template.volts(states, element.nodes[0]) - template.volts(states, element.nodes[1]))
        amps = across / dictionary.rows[:, template.column[n, "resistance"]]
        more = (dictionary.rows[:, template.column[n, "fitted"]] > 0) & (amps > np.maximum(most, WORKS_HARD * amps[0]))
        found[more], most[more] = n, amps[more]
    return found


def _at_limits(one: Hypothesis, bases: Sequence[Change]) -> Hypothesis:
    """Return a fault at several limits or gains of what it drags along, each a run of all its sizes."""
    sizes = tuple((share / len(bases), (base, *own)) for base in bases for share, own in one.sizes)
    return replace(one, sizes=sizes, runs=len(bases))


def _supplied(dictionary: Dictionary) -> float:
    """Return what the supplies that are on give together at most [A]."""
    catalogue = dictionary.catalogue
    columns = [c for net in catalogue.setting.on for c in catalogue.template.columns(net, "limit", ["supply"])]
    return float(catalogue.healthy[columns].sum())


def _last_dragged(dictionary: Dictionary) -> tuple[Rows, Array]:
    """Return for each cluster the regulator that is dragged lowest and works hard, -1 where none is; and how low."""
    template, states = dictionary.template, dictionary.states
    found = np.full(len(states), -1)
    lowest = np.full(len(states), np.inf)
    for n, current in dictionary.currents.items():
        volts = np.abs(given(template, n, states))
        hard = np.abs(states[:, current]) > WORKS_HARD * abs(states[0, current]) + WORKS_HARD_A
        last = hard & dragged(template, n, dictionary.rows, states) & (volts < lowest)
        found[last], lowest[last] = n, volts[last]
    return found, lowest


def _driven_hardest(dictionary: Dictionary) -> Rows:
    """Return for each cluster the bipolar transistor whose gain limits several times its healthy current, or -1."""
    template, states = dictionary.template, dictionary.states
    found = np.full(len(states), -1)
    rise = np.full(len(states), DRIVEN_V)
    for n, element in enumerate(template.elements):
        if element.kind not in ("npn", "pnp") or not dictionary.catalogue.healthy[template.column[n, "fitted"]]:
            continue
        collector, base, emitter = (template.volts(states, node) for node in element.nodes)
        base, left = np.abs(base - emitter), np.abs(collector - emitter)
        more = (base[0] > CONDUCTS_V) & (base - base[0] > rise) & (left > LEFT_V)
        found[more], rise[more] = n, (base - base[0])[more]
    return found


def _overloaded(dictionary: Dictionary) -> Rows:
    """Return for each cluster the MOSFET that is on, as on the healthy board, and lets the most stand across it, or -1.

    So it is where what it switches is shorted: its threshold then tells what it carries.
    """
    template, states = dictionary.template, dictionary.states
    found = np.full(len(states), -1)
    most = np.full(len(states), LEFT_V)
    for n, element in enumerate(template.elements):
        if (
            element.kind not in ("mosfet_n", "mosfet_p")
            or not dictionary.catalogue.healthy[template.column[n, "fitted"]]
        ):
            continue
        drain, gate, source = (template.volts(states, node) for node in element.nodes)
        way = 1.0 if element.kind == "mosfet_n" else -1.0
        drive, left = way * (gate - source), way * (drain - source)
        on = drive > dictionary.rows[:, template.column[n, "threshold"]]
        more = on & on[0] & (abs(left[0]) < LEFT_V) & (left > most)
        found[more], most[more] = n, left[more]
    return found
