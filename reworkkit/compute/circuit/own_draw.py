"""What a part draws for itself, where its type tells."""

from reworkkit.compute.circuit.figures import exact
from reworkkit.compute.circuit.wiring import Wiring
from reworkkit.model.messages import message
from reworkkit.model.results import INNER, Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

_FROM_V = Band(1.0, 2.0, 3.0, "V", BandBasis.TABLE)


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
