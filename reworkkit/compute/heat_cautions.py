"""Parts that heat can spoil whatever the joint asks: said at the step, before the iron touches."""

from collections.abc import Iterator

from reworkkit.model.board import Board
from reworkkit.model.designator import natural_key
from reworkkit.model.layers import layers_of
from reworkkit.model.messages import Finding, Message, message
from reworkkit.model.part import Part
from reworkkit.model.vocabulary import Fit, Severity
from reworkkit.tables import rows, source

LARGE_CERAMIC_MM = 3.1
"""Length of a 1210 chip: from here on a ceramic cracks when one end is heated quickly (common practice)."""
LARGE_CERAMIC_WIDTH_MM = 2.4


def heat_cautions(board: Board) -> tuple[Finding, ...]:
    """Return doubts about tips and planes, then cautions for large ceramics and for cells, in natural order."""
    found = [*_doubtful_tips(board), *_doubtful_planes(board)]
    for ref in sorted(board.parts, key=natural_key):
        part = board.parts[ref]
        slug = _slug(part) if part.fit is Fit.FIT else None
        if slug is not None:
            found.append(Finding(slug, Severity.CHECK, (ref,), (part.where,), source("practice")))
    return tuple(found)


def _doubtful_tips(board: Board) -> Iterator[Finding]:
    for name, tip in board.facts.bench.tips.items():
        said = f"{tip.size or ''} {name}".casefold().replace("mm", " ").split()
        usual = {word for row in rows("tips") for word in row["tip"].split()}
        if tip.width is None and not any(word in usual or _is_number(word) for word in said):
            told = message("heat-tip-width-unknown", name=name, size=tip.size or name)
            yield Finding(told, Severity.CHECK)


def _is_number(word: str) -> bool:
    return word.replace(".", "", 1).replace(",", "", 1).isdigit()


def _doubtful_planes(board: Board) -> Iterator[Finding]:
    said = board.facts.board
    layers = said.layers or 2
    for net, names in said.planes.items():
        if board.nets and net not in board.nets:
            yield Finding(message("heat-plane-no-net", net=net), Severity.CHECK)
        for layer in names:
            if layer not in layers_of(layers):
                yield Finding(message("heat-plane-no-layer", net=net, layer=layer, layers=layers), Severity.CHECK)


def _slug(part: Part) -> Message | None:
    kind, package = part.identity.kind, part.identity.package
    large = package is not None and package.length_mm >= LARGE_CERAMIC_MM and package.width_mm >= LARGE_CERAMIC_WIDTH_MM
    if kind == "capacitor_ceramic" and large:
        return message("heat-large-ceramic", ref=part.ref)
    return message("heat-cell", ref=part.ref) if kind in ("battery", "supercapacitor") else None
