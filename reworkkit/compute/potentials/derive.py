"""All potentials of a board: one record a net, and the ends of each polarised part with the part taken out."""

from collections.abc import Collection, Iterator
from functools import cached_property
from typing import NamedTuple

from reworkkit.compute.potentials.feeds import Feeds
from reworkkit.compute.potentials.levels import Level, Levels, chip_roles
from reworkkit.compute.potentials.reach import Hull, Known, Reach
from reworkkit.compute.potentials.sides import is_one_sided
from reworkkit.compute.potentials.spans import Spans, regulator_nets, transistor_roles
from reworkkit.model.board import Board
from reworkkit.model.connections import TRANSISTORS, Connections
from reworkkit.model.designator import natural_key
from reworkkit.model.results import Circuit, End, Potential, Potentials
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis, Fit, YesNo


class Fed(NamedTuple):
    """Where power comes to one net from while a part is left out; no direction of a diode changes it."""

    alive: bool
    fed: bool
    may_be_fed: bool
    from_other: bool
    maker: bool
    fed_by_diodes: bool
    load: bool
    store: bool
    pulled_high: bool
    pulled_low: bool


class PotentialFinder:
    """Works out the potentials of one board, and once more when directions of diodes become known."""

    def __init__(self, board: Board, circuit: Circuit) -> None:
        self.board = board
        self.wires = Connections(board)
        self.levels = Levels(self.wires, circuit)
        self.reach = Reach(self.wires, self.levels, Spans(self.wires, self.levels))
        self.feeds = Feeds(self.wires, self.levels)
        self._feds: dict[tuple[str, str], Fed] = {}
        self._nets = sorted(board.nets, key=natural_key)

    def all(self) -> Potentials:
        """Return what every net can be at (volts against ground), and the ends of each polarised part without it."""
        return self.refined({}, _polarised(self.board))

    def refined(self, known: Known, refs: Collection[str]) -> Potentials:
        """Return the same with the diodes of known direction: part -> (net of the anode, net of the cathode).

        The ends are those of the parts `refs` alone.
        """
        self.reach.learn(known)
        nets = tuple(_potential(self.reach, net) for net in self._nets)
        ends = {
            ref: tuple(_end(self.reach, self._fed(net, ref), net, ref) for net in self.wires.nets(ref))
            for ref in refs
            if _has_ends(self.wires, ref)
        }
        return Potentials(nets, ends, self._roles, self._one_sided)

    def _fed(self, net: str, ref: str) -> Fed:
        if (net, ref) not in self._feds:
            self._feds[(net, ref)] = _fed(self.feeds, net, ref)
        return self._feds[(net, ref)]

    @cached_property
    def _roles(self) -> dict[str, dict[str, str]]:
        return {ref: found for ref in self.board.parts if (found := _roles(self.wires, self.levels, ref))}

    @cached_property
    def _one_sided(self) -> bool:
        return is_one_sided(self.wires, self.levels)


def net_potentials(board: Board, circuit: Circuit) -> Potentials:
    """Return what every net can be at (volts against ground), and the ends of each polarised part without the part.

    Unknown stays unknown: a net with a plug, a part of unknown kind or an integrated circuit of unknown supplies has
    an open range unless it is stated (`[supplies]`, `[rails]`, `[nets]`), named as a rail, or made by a regulator.
    """
    return PotentialFinder(board, circuit).all()


def _polarised(board: Board) -> list[str]:
    parts = board.parts.items()
    return [ref for ref, part in parts if part.fit is Fit.FIT and part.identity.polarised is not YesNo.NO]


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


def _end(reach: Reach, fed: Fed, net: str, ref: str) -> End:
    level, hull = reach.level_or_hull(net, ref)
    between = _between(reach, net, ref)
    idle, _ = (level, None) if hull is None or not hull.unknown else reach.level_or_hull(net, ref, idle=True)
    return End(
        net,
        level.low_v,
        level.high_v,
        level.kind,
        level.why,
        tuple(hull.chain) if hull else (),
        **fed._asdict(),
        driven=bool(hull and hull.driven),
        static=_is_static(level, hull),
        unknown=tuple(dict.fromkeys(hull.unknown)) if hull else (),
        between=between,
        grounds=tuple(other for other in between if other in reach.levels.grounds),
        rails=tuple(_known_volts(reach, between)),
        idle_low_v=idle.low_v,
        idle_high_v=idle.high_v,
        plugs_only=bool(hull and hull.unknown and all(_is_plug(reach.wires, one) for one in hull.unknown)),
    )


def _fed(feeds: Feeds, net: str, ref: str) -> Fed:
    others = feeds.wires.beyond(ref, net)
    fed = feeds.reaches(net, ref, sure=True, diodes=False, avoid=others)
    alive = fed or feeds.reaches(net, ref, sure=True, diodes=True, avoid=others)
    level = feeds.levels.of(net)
    kind = level.kind if level else ""
    held = kind in ("rail", "made", "sign") and feeds.reaches(net, ref, sure=False, diodes=False, avoid=others)
    may_be_fed = feeds.reaches(net, ref, sure=False, diodes=False) or feeds.makes(net)
    return Fed(
        alive=alive or held,
        fed=fed,
        may_be_fed=may_be_fed,
        from_other=not may_be_fed and feeds.joined(net, ref, others),
        maker=feeds.makes(net),
        fed_by_diodes=feeds.reaches(net, ref, sure=False, diodes=True, avoid=others),
        load=feeds.is_load(net),
        store=feeds.is_store(net),
        pulled_high=feeds.pulled(net, ref, up=True),
        pulled_low=feeds.pulled(net, ref, up=False),
    )


def _is_plug(wires: Connections, ref: str) -> bool:
    return ref in wires.board.parts and wires.kind(ref) in ("connector", "terminal")


def _between(reach: Reach, net: str, without: str) -> tuple[str, ...]:
    """Return the nets at the far ends of the resistors that alone hold a net; empty where anything else may."""
    found: list[str] = []
    for ref in reach.wires.refs_on(net, without):
        kind = reach.wires.kind(ref)
        if kind == "resistor" and (far := reach.wires.beyond(ref, net)):
            found += far
        elif not (kind.startswith(("capacitor", "supercapacitor")) or kind == "test_point"):
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
