"""Arrays of switches from a supply to their outputs, such as UDN2981."""

from reworkkit.compute.circuit.chips import between
from reworkkit.compute.circuit.feedback import is_used
from reworkkit.compute.circuit.figures import around, exact
from reworkkit.compute.circuit.parts import pins_only, unmodelled
from reworkkit.compute.circuit.pin_roles import by_type, row_of
from reworkkit.compute.circuit.transistor_cores import inner
from reworkkit.compute.circuit.wiring import Wiring
from reworkkit.model.part import Part
from reworkkit.model.results import INNER, Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

_DROP = {
    "forward": Band(1.3, 1.6, 1.9, "V", BandBasis.TABLE),
    "at": exact(0.1, "A"),
    "ideality": exact(2.0, "1"),
    "series": exact(1.0, "ohm"),
}
"""What a Darlington keeps that gives 0.1 A; makers' sheets, from memory: 1.7 V, at most 2 V."""
_ON_OHM = Band(0.2, 0.5, 1.0, "ohm", BandBasis.TABLE)
_ON_V = Band(1.2, 1.8, 2.4, "V", BandBasis.TABLE)


def source_array(wiring: Wiring, part: Part) -> list[Element] | None:
    """Return the channels of an array that have an input and an output in use, by pin number; None for other parts."""
    row = row_of("source_arrays", part)
    if row is None:
        return None
    high, low = wiring.number(part, row["supply"]), wiring.number(part, row["ground"])
    if not high or not low or high == low:
        return unmodelled(wiring, part)
    found = between(wiring, part.ref, [high], low)
    for number, channel in enumerate(row["channels"].split(), 1):
        entry, out = (wiring.number(part, pin) for pin in channel.split(">"))
        if not entry or not out or entry == low or not is_used(wiring, out):
            continue
        top = f"{part.ref}.top{number}{INNER}"
        figures = {"resistance": _ON_OHM, "threshold": _ON_V}
        found += [
            inner(part.ref, entry, low, float(row["input_ohm"]), 60.0),
            Element("load_switch", part.ref, (high, top, entry, low), figures, by_type(part)),
            Element("inner_diode", part.ref, (top, out), _DROP),
            Element("inner", part.ref, (out, low), {"resistance": around(1e6, 50, "ohm", BandBasis.TABLE)}),
        ]
    return [*found, *pins_only(wiring, part)]
