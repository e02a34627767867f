"""How exactly the meter and the supply's ammeter read."""

import re
from functools import cache
from typing import NamedTuple

from reworkkit import tables
from reworkkit.model.facts import BenchFacts
from reworkkit.model.quantity import parse_quantity


@cache
def figure(key: str) -> float:
    """Return a figure of `power_up.csv`."""
    return next(float(row["value"]) for row in tables.rows("power_up") if row["key"] == key)


class Accuracy(NamedTuple):
    """A share of the reading, and a fixed part in its unit."""

    share: float
    fixed: float


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
        _read(bench.meter.volts) or _usual("meter_volts"),
        _read(bench.meter.ohms) or _usual("meter_ohms"),
        _read(bench.supply_accuracy) or _read(bench.meter.amps) or _usual("supply_amps"),
        float(limit.value) if limit else figure("ohms_high_test"),
    )


def _usual(name: str) -> Accuracy:
    return Accuracy(figure(f"{name}_percent") / 100, figure(f"{name}_add"))


def _read(written: str | None) -> Accuracy | None:
    percent = fixed = None
    for piece in re.split(r"[+,;]", written or ""):
        found = parse_quantity(piece.strip())
        if found and found.unit == "%":
            percent = float(found.value)
        elif found and found.unit in ("V", "A", "ohm"):
            fixed = float(found.value)
    return None if percent is None and fixed is None else Accuracy((percent or 0.0) / 100, fixed or 0.0)
