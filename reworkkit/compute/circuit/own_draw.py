"""What a part draws for itself, where its type tells."""

from collections.abc import Sequence

from reworkkit.compute.circuit.figures import exact
from reworkkit.compute.circuit.pin_roles import numbers, row_of
from reworkkit.compute.circuit.regulator_types import compiled
from reworkkit.compute.circuit.wiring import Wiring
from reworkkit.model.messages import message
from reworkkit.model.part import Part
from reworkkit.model.results import INNER, Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

_FROM_V = Band(1.0, 2.0, 3.0, "V", BandBasis.TABLE)
LEAST_SHOWN_A = 5e-5
"""What draws less than this shows in no reading of a supply current."""


def own_draw(wiring: Wiring, ref: str, high: str, low: str, current: Band, place: str = "") -> list[Element]:
    """Return the supply current of a part by its type; none where [loads] states the draw of that net.

    It hangs on a node inside the part, so that it says nothing of what else draws from the net.
    `place` tells the supplies of one part apart.
    """
    if high in wiring.board.facts.loads or high == low:
        return []
    wiring.drawing.add(ref)
    inside = f"{ref}.supply{place}{INNER}"
    told = (message("circuit-own-current", ref=ref, band=current),)
    return [
        Element("inner", ref, (high, inside), {"resistance": exact(0.1, "ohm")}),
        Element("load", ref, (inside, low), {"current": current, "from_volts": _FROM_V}, told),
    ]


def typed_draw(wiring: Wiring, ref: str, elements: Sequence[Element]) -> list[Element]:
    """Return what a chip draws whose type tells it, where none of its own `elements` does yet.

    It draws from its first supply pin to its lowest one.
    """
    if ref in wiring.drawing or (band := _typical(wiring.board.parts[ref])) is None:
        return []
    wiring.drawing.add(ref)
    high, low = next((e.nodes for e in elements if e.kind == "ic"), ("", ""))
    return own_draw(wiring, ref, high, low, band) if (band.nominal or 0.0) >= LEAST_SHOWN_A else []


def _typical(part: Part) -> Band | None:
    """Return the supply current of a chip by its type number, of all its amplifiers together."""
    row = row_of("chip_draws", part)
    if row is None:
        return None
    matches = map(compiled(row["pattern"]).match, numbers(part))
    units = next((int(match.groupdict().get("units") or 1) for match in matches if match), 1)
    low, usual, high = (1e-3 * units * float(word) for word in row["draw_ma"].split())
    return Band(low, usual, high, "A", BandBasis.TABLE)
