"""All potentials of a board: one record a net, and the ends of each polarised part with the part taken out."""

from collections.abc import Iterator

from reworkkit.compute.potentials.feeds import Feeds
from reworkkit.compute.potentials.levels import Level, Levels, chip_roles
from reworkkit.compute.potentials.reach import Hull, Reach
from reworkkit.compute.potentials.spans import Spans, regulator_nets, transistor_roles
from reworkkit.model.board import Board
from reworkkit.model.connections import TRANSISTORS, Connections
from reworkkit.model.designator import natural_key
from reworkkit.model.results import Circuit, End, Potential, Potentials
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis, Fit, YesNo


def net_potentials(board: Board, circuit: Circuit) -> Potentials:
    """Return what every net can be at (volts against ground), and the ends of each polarised part without the part.

    Unknown stays unknown: a net with a plug, a part of unknown kind or an integrated circuit of unknown supplies has
    an open range unless it is stated (`[supplies]`, `[rails]`, `[nets]`), named as a rail, or made by a regulator.
    """
    wires = Connections(board)
    levels = Levels(wires, circuit)
    reach, feeds = Reach(wires, levels, Spans(wires, levels)), Feeds(wires, levels)
    nets = tuple(_potential(reach, net) for net in sorted(board.nets, key=natural_key))
    judged = [
        ref for ref, part in board.parts.items() if part.fit is Fit.FIT and part.identity.polarised is not YesNo.NO
    ]
    ends = {
        ref: tuple(_end(reach, feeds, net, ref) for net in wires.nets(ref)) for ref in judged if _has_ends(wires, ref)
    }
    roles = {ref: found for ref in board.parts if (found := _roles(wires, levels, ref))}
    return Potentials(nets, ends, roles)


def _has_ends(wires: Connections, ref: str) -> bool:
    return 2 <= len(wires.nets(ref)) <= 4 or wires.kind(ref) == "optocoupler"


def _roles(wires: Connections, levels: Levels, ref: str) -> dict[str, str]:
    if wires.kind(ref) in TRANSISTORS:
        return transistor_roles(wires, ref)
    if wires.kind(ref) == "linear_regulator":
        by_net = {net: role for role, net in regulator_nets(wires, levels, ref).items()}
        return {pin.number: by_net[pin.net] for pin in wires.pins(ref) if pin.net in by_net}
    return chip_roles(wires, ref)


def _potential(reach: Reach, net: str) -> Potential:
    level, hull = reach.level_or_hull(net, "")
    band = None
    if level.low_v is not None or level.high_v is not None:
        nominal = level.low_v if level.low_v == level.high_v else None
        basis = BandBasis.WORST_CASE if hull else BandBasis.STATED
        band = Band(level.low_v, nominal, level.high_v, "V", basis)
    return Potential(net, band, tuple(hull.chain) if hull else (), level.why)


def _end(reach: Reach, feeds: Feeds, net: str, ref: str) -> End:
    level, hull = reach.level_or_hull(net, ref)
    others = feeds.wires.beyond(ref, net)
    fed = feeds.reaches(net, ref, sure=True, diodes=False, avoid=others)
    by_diodes = feeds.reaches(net, ref, sure=False, diodes=True, avoid=others)
    alive = fed or feeds.reaches(net, ref, sure=True, diodes=True, avoid=others)
    may_be_fed = feeds.reaches(net, ref, sure=False, diodes=False)
    held = level.kind in ("rail", "made", "sign") and feeds.reaches(net, ref, sure=False, diodes=False, avoid=others)
    between = _between(reach, net, ref)
    return End(
        net,
        level.low_v,
        level.high_v,
        level.kind,
        level.why,
        tuple(hull.chain) if hull else (),
        alive=alive or held,
        fed=fed,
        may_be_fed=may_be_fed or feeds.makes(net),
        from_other=feeds.joined(net, ref, others),
        maker=feeds.makes(net),
        fed_by_diodes=by_diodes,
        load=feeds.is_load(net),
        pulled_high=feeds.pulled(net, ref, up=True),
        pulled_low=feeds.pulled(net, ref, up=False),
        driven=bool(hull and hull.driven),
        static=_is_static(level, hull),
        unknown=tuple(dict.fromkeys(hull.unknown)) if hull else (),
        between=between,
        grounds=tuple(other for other in between if other in reach.levels.grounds),
        rails=tuple(_known_volts(reach, between)),
    )


def _between(reach: Reach, net: str, without: str) -> tuple[str, ...]:
    """Return the nets at the far ends of the resistors that alone hold a net; empty where anything else may."""
    found: list[str] = []
    for ref in reach.wires.refs_on(net, without):
        kind = reach.wires.kind(ref)
        if kind == "resistor" and (far := reach.wires.beyond(ref, net)):
            found += far
        elif not (kind.startswith("capacitor") or kind == "test_point"):
            return ()
    return tuple(dict.fromkeys(found))


def _known_volts(reach: Reach, nets: tuple[str, ...]) -> Iterator[tuple[str, float]]:
    for net in nets:
        level = reach.levels.of(net)
        if level and level.kind in ("rail", "made") and level.low_v is not None:
            yield net, level.low_v


def _is_static(level: Level, hull: Hull | None) -> bool:
    """Return whether only resistors between fixed levels hold a net."""
    return bool(hull and not hull.driven and not hull.unknown and level.kind == "derived")
