"""How exactly the meter and the supply's ammeter read, and how the meter loads what it is at."""

import re
from collections.abc import Iterable
from typing import NamedTuple

import numpy as np

from reworkkit.compute.formulas.accuracy import Accuracy, figure, read_accuracy, usual_accuracy
from reworkkit.compute.formulas.junction import Array
from reworkkit.compute.formulas.network import Template, compile_circuit
from reworkkit.model.facts import BenchFacts
from reworkkit.model.results import INNER, Circuit, Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis


class Meters(NamedTuple):
    """Accuracies of volts, ohms and supply current, and the voltage at which the diode test gives up [V]."""

    volts: Accuracy
    ohms: Accuracy
    amps: Accuracy
    diode_limit_v: float


_SHOWN = re.compile(r"[-+]?(\d+)(?:[.,](\d+))?\s*([mµu]?)A", re.IGNORECASE)
_UNIT = {"": 1.0, "m": 1e-3, "µ": 1e-6, "u": 1e-6}
_COARSE_A, _FINE_FIXED_A = 1e-3, 4e-3
"""A display in finer steps than the first is a hand meter's, off by the second; common practice, no source."""


def meters_of(bench: BenchFacts, currents: Iterable[str] = ()) -> Meters:
    """Return what board.toml or bench.toml says, else the usual figures of a hand meter and a bench supply.

    `currents` are readings of the supply as they were written: in finer steps than a bench supply shows they are of a
    better ammeter.
    """
    limit = bench.meter.diode_test_limit
    usual = usual_accuracy("supply_amps")
    steps = [shown_step(text) for text in currents]
    if steps and all(step is not None and step < _COARSE_A for step in steps):
        usual = usual._replace(fixed=_FINE_FIXED_A)
    return Meters(
        read_accuracy(bench.meter.volts) or usual_accuracy("meter_volts"),
        read_accuracy(bench.meter.ohms) or usual_accuracy("meter_ohms"),
        read_accuracy(bench.supply_accuracy) or read_accuracy(bench.meter.amps) or usual,
        float(limit.value) if limit else figure("ohms_high_test"),
    )


def shown_step(text: str) -> float | None:
    """Return the smallest step that a current as it is written was read in [A]; None where it is not plain.

    Zeros at the end of a whole number may be no figures of the display.

    >>> shown_step("17.2 mA"), shown_step("0.02 A"), shown_step("320 mA"), shown_step("31mA"), shown_step("none")
    (0.0001, 0.01, 0.01, 0.001, None)
    """
    found = _SHOWN.fullmatch(text.strip())
    if found is None:
        return None
    whole, decimals, unit = found.groups()
    places = -len(decimals) if decimals else len(whole) - len(whole.rstrip("0"))
    return round(_UNIT[unit.casefold()] * 10.0**places, 9)


METER_OHM = 1e7
"""Input resistance of a hand meter in volts."""


def with_meters(template: Template) -> Template:
    """Return the template with a meter's input resistance from every node to ground: every point is measured."""
    ohm = Band(METER_OHM, METER_OHM, METER_OHM, "ohm", BandBasis.TABLE)
    outside = [node for node in template.nodes if not node.endswith(INNER)]
    meters = tuple(Element("resistor", "", (node, template.ground), {"resistance": ohm}) for node in outside)
    return compile_circuit(Circuit(template.nodes, (*template.elements, *meters), template.ground))


def meters_on(template: Template) -> Array:
    """Return the conductance of the meter at each node of such a template [S]."""
    return np.array([0.0 if node.endswith(INNER) else 1 / METER_OHM for node in template.nodes])
