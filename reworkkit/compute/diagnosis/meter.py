"""How exactly the meter and the supply's ammeter read."""

from typing import NamedTuple

from reworkkit.compute.formulas.accuracy import Accuracy, figure, read_accuracy, usual_accuracy
from reworkkit.model.facts import BenchFacts


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
