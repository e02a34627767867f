"""Parts that heat can spoil whatever the joint asks: said at the step, before the iron touches."""

from reworkkit.model.board import Board
from reworkkit.model.designator import natural_key
from reworkkit.model.messages import Finding, Message, message
from reworkkit.model.part import Part
from reworkkit.model.vocabulary import Fit, Severity
from reworkkit.tables import source

LARGE_CERAMIC_MM = 3.1
"""Length of a 1210 chip: from here on a ceramic cracks when one end is heated quickly (common practice)."""
LARGE_CERAMIC_WIDTH_MM = 2.4


def heat_cautions(board: Board) -> tuple[Finding, ...]:
    """Return cautions for large ceramics and for cells, in natural order of the places."""
    found = []
    for ref in sorted(board.parts, key=natural_key):
        part = board.parts[ref]
        slug = _slug(part) if part.fit is Fit.FIT else None
        if slug is not None:
            found.append(Finding(slug, Severity.CHECK, (ref,), (part.where,), source("practice")))
    return tuple(found)


def _slug(part: Part) -> Message | None:
    kind, package = part.identity.kind, part.identity.package
    large = package is not None and package.length_mm >= LARGE_CERAMIC_MM and package.width_mm >= LARGE_CERAMIC_WIDTH_MM
    if kind == "capacitor_ceramic" and large:
        return message("heat-large-ceramic", ref=part.ref)
    return message("heat-cell", ref=part.ref) if kind in ("battery", "supercapacitor") else None
