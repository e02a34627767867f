"""Parts that make a rail though nothing describes them as a regulator: what board.toml or their own pins say."""

from collections.abc import Iterable, Iterator, Sequence

from reworkkit.compute.circuit.wiring import Wiring
from reworkkit.model.messages import message
from reworkkit.model.part import Part
from reworkkit.model.results import Element
from reworkkit.model.vocabulary import Fit

MAKING = frozenset(("regulator", "converter", "boost", "follower", "isolated", "supply", "zener", "load_switch"))
_BOARDS = frozenset(("module", "microcontroller", "display", "sensor", "ic"))
_IN_NAMES = frozenset(("VIN", "VI", "RAW", "5V", "+5V", "5V0", "VBUS", "USB", "VUSB", "IN", "V+", "VCC"))
_OUT_NAMES = frozenset(("3V3", "3.3V", "+3V3", "+3.3V", "3V3OUT", "3V3_OUT", "3VO", "3V"))


def rail_makers(wiring: Wiring, elements: Sequence[Element]) -> Iterator[Element]:
    """Yield a regulator for each rail that a fitted part makes but no element of it: by `made_by`, or by its pins.

    A board of its own (a controller board, a sensor board) with a pin called 3V3 beside one that is fed makes that
    rail where nothing else does.
    """
    making = [e for e in elements if e.kind in MAKING and len(e.nodes) > 1]
    for net, (volts, _) in wiring.rails.items():
        if (volts.nominal or 0.0) <= 0 or net in wiring.board.facts.supplies:
            continue
        part, by_pins = _maker(wiring, net, making)
        source = _source(wiring, part, net) if part else None
        if part and source:
            told = message("circuit-makes-by-pins" if by_pins else "circuit-makes-as-stated", ref=part.ref, net=net)
            figures = {
                "volts": volts,
                "dropout": wiring.default("regulator_dropout"),
                "limit": wiring.default("regulator_limit"),
                "quiescent": wiring.default("follower_quiescent"),
            }
            yield Element("regulator", part.ref, (source, net, wiring.ground, net), figures, (told,))


def _maker(wiring: Wiring, net: str, making: Iterable[Element]) -> tuple[Part | None, bool]:
    """Return the part that makes a rail and whether only its pins tell so; None where an element makes it already."""
    facts = wiring.board.facts.rails.get(net)
    stated = wiring.board.parts.get(facts.made_by) if facts and facts.made_by else None
    if any(net in e.nodes[1:] or (stated is not None and e.ref == stated.ref) for e in making):
        return None, False
    if stated is not None:
        return (stated if stated.fit is Fit.FIT and net in wiring.nets_of(stated.ref) else None), False
    boards = [part for part in wiring.parts_on(net) if part.identity.kind in _BOARDS and part.fit is Fit.FIT]
    by_pins = [part for part in boards if _called(wiring, part, net, _OUT_NAMES)]
    return (by_pins[0] if len(by_pins) == 1 else None), True


def _called(wiring: Wiring, part: Part, net: str, names: frozenset[str]) -> bool:
    return any((pin.name or pin.number).strip().upper() in names for pin in wiring.pins(part.ref) if pin.node == net)


def _source(wiring: Wiring, part: Part, made: str) -> str | None:
    """Return the net that feeds a part: the highest of its other rails above what it makes, else its input by name."""
    others = [net for net in wiring.nets_of(part.ref) if net not in (made, wiring.ground)]
    least = wiring.rails[made][0].nominal or 0.0
    rails = [net for net in others if net in wiring.rails and (wiring.rails[net][0].nominal or 0.0) > least]
    named = [net for net in others if _called(wiring, part, net, _IN_NAMES)]
    return max(rails, key=lambda net: wiring.rails[net][0].nominal or 0.0, default=next(iter(named), None))
