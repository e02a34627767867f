"""What the meter and the supply add to a reading."""

from typing import NamedTuple

from reworkkit.compute.formulas.accuracy import Accuracy, read_accuracy, usual_accuracy
from reworkkit.model.facts import BenchFacts


class Bench(NamedTuple):
    """Accuracy of volts, ohms and the supply's ammeter."""

    volts: Accuracy
    ohms: Accuracy
    amps: Accuracy


def bench_of(facts: BenchFacts) -> Bench:
    """Return the accuracies of board.toml or bench.toml, else the usual ones of a hand meter and a bench supply."""
    return Bench(
        read_accuracy(facts.meter.volts) or usual_accuracy("meter_volts"),
        read_accuracy(facts.meter.ohms) or usual_accuracy("meter_ohms"),
        read_accuracy(facts.supply_accuracy) or usual_accuracy("supply_amps"),
    )
