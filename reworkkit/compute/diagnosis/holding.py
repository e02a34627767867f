"""Nets that parts of unknown behaviour hold: they are where they were read, whatever else is wrong."""

from collections.abc import Iterator, Mapping

from reworkkit.model.results import Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

HOLDS = "holds "
"""Before a net: what stands for parts of unknown behaviour that hold it at the voltage that was read there."""
_SOURCE_OHM, _SINK_OHM, _SOURCE_A = 1e-3, 1e-2, 1e5
"""A source gives but takes nothing: the second, to ground, takes what flows into the net; the first feeds it."""


def held_nets(held: Mapping[str, float], ground: str) -> Iterator[Element]:
    """Yield a source and a sink for each net and the voltage at which a part of unknown behaviour holds it [V]."""
    figures = {"limit": _only(_SOURCE_A, "A"), "resistance": _only(_SOURCE_OHM, "ohm")}
    for net, volts in held.items():
        nodes = (net, ground) if volts >= 0 else (ground, net)
        fed = _only(abs(volts) * (1 + _SOURCE_OHM / _SINK_OHM), "V")
        yield Element("supply", HOLDS + net, nodes, {"volts": fed, **figures})
        yield Element("resistor", "", nodes, {"resistance": _only(_SINK_OHM, "ohm")})


def _only(value: float, unit: str) -> Band:
    return Band(value, value, value, unit, BandBasis.TABLE)
