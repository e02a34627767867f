"""Small audio amplifiers that rest at half of their supply."""

from reworkkit.compute.circuit.chips import between
from reworkkit.compute.circuit.feedback import is_used
from reworkkit.compute.circuit.figures import exact, of_cell
from reworkkit.compute.circuit.own_draw import own_draw
from reworkkit.compute.circuit.pin_roles import by_type, row_of
from reworkkit.compute.circuit.transistor_cores import inner
from reworkkit.compute.circuit.wiring import Wiring
from reworkkit.model.part import Part
from reworkkit.model.results import INNER, Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

_HALF_OHM, _INPUT_OHM, _INNER_PERCENT = 15e3, 50e3, 25.0
"""Each half of its divider, and what leads from each input to ground; from the maker's circuit (memory)."""


def audio_amplifier(wiring: Wiring, part: Part) -> list[Element] | None:
    """Return an amplifier whose output rests at half its supply, by its own divider; None for other parts."""
    row = row_of("audio_amplifiers", part)
    if row is None:
        return None
    at = {role: wiring.number(part, str(n)) for n, role in enumerate(row["pins"].split(), 1)}
    high, low, out = at["V+"], at["V-"], at["OUT"]
    if not high or not low or not out or high == low:
        return None
    middle = at["HALF"] or f"{part.ref}.half{INNER}"
    inputs = [net for net in (at["IN-"], at["IN+"]) if net and net != low and is_used(wiring, net)]
    figures = {
        "gain": exact(1e3, "1"),
        "offset": Band(-0.1, 0.0, 0.1, "V", BandBasis.TABLE),
        "room_high": Band(0.5, 1.0, 1.5, "V", BandBasis.TABLE),
        "room_low": Band(0.3, 0.6, 1.0, "V", BandBasis.TABLE),
        "limit": Band(0.3, 0.6, 1.0, "A", BandBasis.TABLE),
    }
    return [
        *between(wiring, part.ref, [high], low),
        *own_draw(wiring, part.ref, high, low, of_cell(row["draw_ma"], "A", 1e-3)),
        inner(part.ref, high, middle, _HALF_OHM, _INNER_PERCENT),
        inner(part.ref, middle, low, _HALF_OHM, _INNER_PERCENT),
        *(inner(part.ref, net, low, _INPUT_OHM, _INNER_PERCENT) for net in inputs),
        Element("amplifier", part.ref, (high, out, middle, out, low, low), figures, by_type(part)),
    ]
