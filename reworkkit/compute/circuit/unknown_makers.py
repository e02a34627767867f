"""Rails that nothing known makes, though a part of unknown type stands between them and a net that is fed."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import NamedTuple

from reworkkit.compute.circuit.rail_makers import MAKING
from reworkkit.compute.circuit.wiring import MOST_SERIES_OHM, Wiring
from reworkkit.compute.formulas.closure import closure
from reworkkit.model.messages import message
from reworkkit.model.part import Part
from reworkkit.model.results import Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import Fit

_PASSING, _ONE_WAY = frozenset(("fuse", "link", "inductor", "resistor")), frozenset(("diode", "schottky"))
_KINDS = frozenset(("ic", "unknown", "linear_regulator", "switching_regulator", "module"))
_GENERAL = frozenset(("rail", "ic", "driver", "unmodelled", "inner", "load"))
"""Elements of a part of which only its supplies and its pins are known."""


class _Maker(NamedTuple):
    """The part that makes a rail: its nets of input and output, and whether a coil leads from there to the rail."""

    part: Part
    source: str
    out: str
    coil: bool


def with_unknown_makers(wiring: Wiring, elements: Sequence[Element]) -> list[Element]:
    """Return the elements with a regulator for each rail that only one part of unknown type can make, which is told.

    It is taken as a switching regulator where a coil leads from it to the rail, else as a linear one.
    """
    found = list(elements)
    for net, (volts, _) in wiring.rails.items():
        fed = _fed(wiring, found)
        if (volts.nominal or 0.0) <= 0 or net in fed:
            continue
        stated = wiring.board.facts.rails.get(net)
        other = wiring.board.parts.get(stated.made_by) if stated and stated.made_by else None
        makers = [one for one in _makers(wiring, found, net, fed) if other in (None, one.part)]
        wound = [one for one in makers if one.coil]
        if len(wound or makers) == 1:
            one = (wound or makers)[0]
            found = [*_without(found, one, net), _regulator(wiring, one, net, volts)]
    return found


def _fed(wiring: Wiring, elements: Sequence[Element]) -> set[str]:
    """Return the nets that supplies, and what makes rails, reach through parts that let power through."""
    made = {e.nodes[1] for e in elements if e.kind in MAKING and e.kind != "supply" and len(e.nodes) > 1}
    begin = ({e.nodes[0] for e in elements if e.kind == "supply"} | made) - {wiring.ground}
    passing = [e for e in elements if wiring.ground not in e.nodes and e.kind in (*_PASSING, *_ONE_WAY) and _is_low(e)]
    ways = [e.nodes[:2] for e in passing] + [e.nodes[1::-1] for e in passing if e.kind in _PASSING]
    return closure(begin, lambda near: {other for one, other in ways if one in near})


def _is_low(element: Element) -> bool:
    band = element.parameters.get("resistance")
    return band is None or (band.nominal or 0.0) <= MOST_SERIES_OHM


def _makers(wiring: Wiring, elements: Sequence[Element], net: str, fed: set[str]) -> Iterator[_Maker]:
    coils = [e.nodes for e in elements if e.kind == "inductor" and net in e.nodes and _is_low(e)]
    beyond = {node for nodes in coils for node in nodes} - {net, wiring.ground}
    for out in (net, *sorted(beyond)):
        for part in wiring.parts_on(out):
            sources = [node for node in wiring.nets_of(part.ref) if node in fed and node not in (out, net)]
            if sources and _is_unknown(part, elements):
                yield _Maker(part, max(sources, key=lambda node: _level(wiring, node)), out, out != net)


def _is_unknown(part: Part, elements: Sequence[Element]) -> bool:
    kinds = {e.kind for e in elements if e.ref == part.ref}
    return part.fit is Fit.FIT and part.identity.kind in _KINDS and bool(kinds) and kinds <= _GENERAL


def _level(wiring: Wiring, net: str) -> float:
    """Return the volts of a rail; a net without its own is behind the first supply, above all of them."""
    return (wiring.rails[net][0].nominal or 0.0) if net in wiring.rails else float("inf")


def _without(elements: Sequence[Element], one: _Maker, net: str) -> Iterator[Element]:
    """Yield the elements less what stood for unknown pins of the maker at what are known ones now."""
    known = {one.source, one.out, net}
    for e in elements:
        if e.ref != one.part.ref or e.kind not in ("driver", "unmodelled"):
            yield e
        elif e.kind == "unmodelled" and (rest := tuple(node for node in e.nodes if node not in known)):
            yield replace(e, nodes=rest)
        elif e.kind == "driver" and e.nodes[0] not in known:
            yield e


def _regulator(wiring: Wiring, one: _Maker, net: str, volts: Band) -> Element:
    told = message("circuit-makes-unknown", ref=one.part.ref, net=net, source=one.source)
    stated = wiring.board.facts.rails.get(net)
    if stated is None or stated.made_by != one.part.ref:
        answer = f'[rails] "{net}" = {{ volts = "{volts.nominal:g} V", made_by = "{one.part.ref}" }}'
        wiring.ask((one.part.ref,), told, answer)
    names = ("dropout", "quiescent", "start", "efficiency") if one.coil else ("dropout", "quiescent")
    kind = "converter" if one.coil else "regulator"
    figures = {name: wiring.default(f"{kind}_{name}") for name in names}
    figures |= {"volts": volts, "limit": wiring.default("regulator_limit")}
    return Element(kind, one.part.ref, (one.source, one.out, wiring.ground, net), figures, (told,))
