"""What an ohmmeter or a diode test shows between two points of the unpowered board, under any hypothesis."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from reworkkit.compute.diagnosis.dictionary import Dictionary
from reworkkit.compute.diagnosis.hypotheses import Catalogue
from reworkkit.compute.diagnosis.meter import METER_OHM, Meters
from reworkkit.compute.diagnosis.points import Spot
from reworkkit.compute.formulas.accuracy import figure
from reworkkit.compute.formulas.junction import Array, Rows
from reworkkit.compute.formulas.network import Template, compile_circuit, solve
from reworkkit.model.results import Circuit, Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis, Mode

PROBE = "the meter"
LEAST_OHM, OVER = 0.05, 2.5e7
OVER_V = 9.0
"""Where a diode test that shows OL is put on the scale: far from every drop, so that it is an answer of its own."""
DECADES_OVER = 8.5
"""Where OL in ohms is put on the scale of decades."""
THROUGH_CHIP = (DECADES_OVER, 5.7, 4.0)
"""What an ohmmeter may show from a pin whose joint is open, through the chip and round about (decades, a guess)."""
HIGH_DECADES, ROUND_ABOUT, ROUND_ABOUT_SPREAD = 5.6, 5.6, 0.6
"""Above so many decades of ohms what a chip or a film of flux leaks may be all that is seen: where, how wide."""
SPREAD_DECADES, SPREAD_DIODE_V = 0.035, 0.045
"""Least spread of ohms (in decades, 8 %) and of diode readings: tolerances, and meters that differ."""


_WORKS_ON_POWER = frozenset(("load", "regulator", "follower", "converter", "boost", "supply", "amplifier"))


class Probing(NamedTuple):
    """One unpowered check: where, which mode, leads swapped."""

    spot: Spot
    mode: Mode
    swapped: bool = False


class Answers(NamedTuple):
    """For each cluster asked about: some equally likely answers on the scale of the mode, and their spreads."""

    mean: Array
    spread: Array


def scale(mode: Mode, value: float | None) -> float:
    """Return a reading on the scale used here: decades of ohms, or volts of a diode test; None is over range.

    >>> scale(Mode.OHMS, 1000.0), scale(Mode.OHMS, None), scale(Mode.DIODE, 0.6)
    (3.0, 8.5, 0.6)
    """
    if mode is Mode.DIODE:
        return OVER_V if value is None else value
    return DECADES_OVER if value is None or value > OVER else float(np.log10(max(value, LEAST_OHM)))


def unscale(mode: Mode, value: float) -> float | None:
    """Return the reading of a place on the scale, None for over range.

    >>> unscale(Mode.OHMS, 3.0), unscale(Mode.DIODE, 9.0)
    (1000.0, None)
    """
    if mode is Mode.DIODE:
        return None if value > 5 else value
    return None if value > 8 else float(10**value)


def answers(dictionary: Dictionary, clusters: Rows, probing: Probing, meters: Meters) -> Answers:
    """Return what the meter shows under each cluster: for two kinds of meter in ohms, and leaky chips or none."""
    catalogue = dictionary.catalogue
    template = _with_probe(catalogue, probing)
    if template is None:
        return Answers(np.full((len(clusters), 1), np.nan), np.full((len(clusters), 1), 1.0))
    base = _rows(dictionary, clusters, template)
    if probing.mode is Mode.DIODE:
        tests = [meters.diode_limit_v, meters.diode_limit_v]
    else:
        tests = [figure("ohms_low_test"), figure("ohms_high_test"), figure("ohms_low_test")]
    found: list[Array] = []
    for n, volts in enumerate(tests):
        rows = base.copy()
        _set(template, rows, "volts", volts)
        leaky = n == len(tests) - 1
        changed = _leak(template, rows) if leaky else True
        found.append(_read(template, rows, probing, volts, meters) if changed else found[0])
    mean = np.stack(found, axis=1)
    if probing.mode is Mode.DIODE:
        spread = np.hypot(SPREAD_DIODE_V, 0.03 * mean)
    else:
        small = meters.ohms.fixed / np.maximum(10**mean, LEAST_OHM) / np.log(10)
        spread = np.hypot(SPREAD_DECADES, np.minimum(small, 0.6))
        high = mean.min(axis=1, keepdims=True) > HIGH_DECADES
        mean = np.concatenate([mean, np.where(high, ROUND_ABOUT, mean[:, :1])], axis=1)
        spread = np.concatenate([spread, np.where(high, ROUND_ABOUT_SPREAD, spread[:, :1])], axis=1)
    return Answers(mean, np.where(_over(probing.mode, mean), 0.1, spread))


def _over(mode: Mode, mean: Array) -> NDArray[np.bool_]:
    return mean > (5.0 if mode is Mode.DIODE else 8.0)


def _with_probe(catalogue: Catalogue, probing: Probing) -> Template | None:
    red, black = probing.spot.red.node, probing.spot.black.node
    if probing.swapped:
        red, black = black, red
    template, kept = catalogue.template, _kept(catalogue.template)
    if red not in template.index or black not in template.index or red == black:
        return None
    figures = {"volts": (1.0, "V"), "limit": (0.001, "A"), "resistance": (1.0, "ohm")}
    parameters = {name: Band(v, v, v, unit, BandBasis.TABLE) for name, (v, unit) in figures.items()}
    probe = Element("supply", PROBE, (red, black), parameters)
    return compile_circuit(Circuit(template.nodes, (*kept, probe), template.ground))


def _kept(template: Template) -> list[Element]:
    """Return the elements that carry current without power."""
    return [element for element in template.elements if element.kind not in _WORKS_ON_POWER]


def _rows(dictionary: Dictionary, clusters: Rows, template: Template) -> Array:
    """Return the rows of the clusters without power: no loads, regulators or signal levels, no second source."""
    old = dictionary.catalogue.template
    kept = [n for n, p in enumerate(old.parameters) if p.kind not in _WORKS_ON_POWER]
    rows = np.repeat(template.nominal[None], len(clusters), axis=0)
    rows[:, : len(kept)] = dictionary.rows[clusters][:, kept]
    hypotheses = dictionary.catalogue.hypotheses
    turned = np.array([hypotheses[owner].fault.kind == "reversed" for owner in dictionary.owner[clusters]])
    for n, p in enumerate(template.parameters):
        if p.name == "fitted" and p.ref == PROBE:
            rows[:, n] = 1.0
        elif p.kind == "driver" and p.name in ("high", "low"):
            rows[:, n] = 0.0
        elif p.name == "leakage" and p.kind == "capacitor_polarised":
            rows[turned & (rows[:, n] < p.nominal), n] = p.nominal
    return rows


def _set(template: Template, rows: Array, name: str, value: float) -> None:
    rows[:, template.columns(PROBE, name, ["supply"])] = value


def _leak(template: Template, rows: Array) -> bool:
    """Let unpowered integrated circuits leak as much as they usually do; return whether there are any."""
    columns = [n for n, p in enumerate(template.parameters) if p.name == "unpowered"]
    for n in columns:
        rows[:, n] = np.minimum(rows[:, n], template.parameters[n].low)
    return bool(columns)


def _read(template: Template, rows: Array, probing: Probing, volts: float, meters: Meters) -> Array:
    solution = solve(template, rows, patient=False)
    amps = np.abs(solution.current(PROBE))
    spot = (probing.spot.black.node, probing.spot.red.node) if probing.swapped else (
        probing.spot.red.node, probing.spot.black.node)  # fmt: skip
    seen = np.abs(solution.at(*spot))
    if probing.mode is Mode.DIODE:
        return np.where(seen > 0.93 * volts, OVER_V, seen)
    ohm = np.where(amps > volts / METER_OHM / 10, seen / np.maximum(amps, 1e-12), 1e12)
    return np.where(ohm > OVER, DECADES_OVER, np.log10(np.maximum(ohm, LEAST_OHM)))


def pin_answers(dictionary: Dictionary, clusters: Rows, probing: Probing) -> Answers | None:
    """Return ohms from a regulator's own pin to its net: near nothing; where the joint is open what the chip shows."""
    pin = probing.spot.red.pin
    if probing.mode is not Mode.OHMS or pin is None or probing.spot.black.node != probing.spot.red.node:
        return None
    column = dictionary.template.columns(*pin)
    if not column:
        return None
    open_joint = dictionary.rows[clusters, column[0]] == 0.0
    mean = np.where(open_joint[:, None], THROUGH_CHIP, np.log10(0.2))
    return Answers(mean, np.where(open_joint[:, None], (0.1, 0.7, 0.7), 0.4))
