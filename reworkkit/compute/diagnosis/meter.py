"""How exactly the meter and the supply's ammeter read, and how the meter loads what it is at."""

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


def meters_of(bench: BenchFacts) -> Meters:
    """Return what board.toml or bench.toml says, else the usual figures of a hand meter and a bench supply."""
    limit = bench.meter.diode_test_limit
    return Meters(
        read_accuracy(bench.meter.volts) or usual_accuracy("meter_volts"),
        read_accuracy(bench.meter.ohms) or usual_accuracy("meter_ohms"),
        read_accuracy(bench.supply_accuracy) or read_accuracy(bench.meter.amps) or usual_accuracy("supply_amps"),
        float(limit.value) if limit else figure("ohms_high_test"),
    )


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
