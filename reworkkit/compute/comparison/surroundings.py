"""What stands round a place: nets and what they can be at, resistors and capacitors on a net, roles of pins."""

from collections.abc import Mapping
from dataclasses import dataclass

from reworkkit.model.board import Board
from reworkkit.model.designator import natural_key
from reworkkit.model.facts import BoardFacts, RailFacts, SupplyFacts
from reworkkit.model.part import Part
from reworkkit.model.results import Circuit
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis, Fit

Bands = Mapping[str, Band]


@dataclass(frozen=True, slots=True)
class Surroundings:
    """The board seen from one place; `bands` are volts by net, `circuit` may be absent where there is no netlist."""

    board: Board
    ref: str
    bands: Bands
    circuit: Circuit | None = None
    order: tuple[str, ...] = ()
    """Roles of the original's pins from pin 1 on, as its row of candidates.csv tells them; empty where it does not."""

    @property
    def part(self) -> Part:
        """Return the part of the place."""
        return self.board.parts[self.ref]

    def nets(self) -> dict[str, str]:
        """Return pin number -> net of the place."""
        return {number: pin.net for (ref, number), pin in self.board.pins.items() if ref == self.ref and pin.net}

    def net_of(self, *roles: str) -> str | None:
        """Return the net of the pin with one of these roles, by board.toml, the netlist or the pin order."""
        said = self.board.facts.parts.get(self.ref)
        wanted = {role.upper() for role in roles}
        for role, number in (said.pins if said else {}).items():
            if role.upper() in wanted:
                return self.nets().get(number)
        for (ref, number), pin in self.board.pins.items():
            if ref == self.ref and ((pin.name or "").upper() in wanted or number.upper() in wanted):
                return pin.net
        numbers = sorted((number for ref, number in self.board.pins if ref == self.ref), key=natural_key)
        if len(numbers) != len(self.order):
            return None
        places = [number for number, role in zip(numbers, self.order, strict=True) if role.upper() in wanted]
        return self.board.pins[self.ref, places[0]].net if places else None

    def span(self, net: str | None) -> tuple[float, float] | None:
        """Return lowest and highest voltage of a net; ground is 0."""
        if net is None:
            return None
        if net in self.grounds():
            return 0.0, 0.0
        band = self.bands.get(net)
        return (band.low, band.high) if band and band.low is not None and band.high is not None else None

    def grounds(self) -> frozenset[str]:
        """Return the nets that count as ground."""
        told = self.circuit.ground if self.circuit else None
        return frozenset((*self.board.facts.board.ground, *((told,) if told else ()), "GND"))

    def across(self, one: str | None, other: str | None) -> float | None:
        """Return the most that can lie across two nets [V], either way round; None where one is not known."""
        first, second = self.span(one), self.span(other)
        if first is None or second is None:
            return None
        return max(abs(first[1] - second[0]), abs(second[1] - first[0]))

    def across_part(self) -> float | None:
        """Return the most across a part of two nets [V]."""
        nets = sorted(set(self.nets().values()))
        return self.across(nets[0], nets[1]) if len(nets) == 2 else None

    def on_net(self, net: str | None, kinds: tuple[str, ...]) -> list[Part]:
        """Return the parts to fit on a net whose kind begins with one of `kinds`, in natural order of their pins."""
        refs = {ref: None for (ref, _), pin in self.board.pins.items() if pin.net == net and net is not None}
        parts = [self.board.parts[ref] for ref in refs if ref in self.board.parts and ref != self.ref]
        return [part for part in parts if part.fit is Fit.FIT and part.identity.kind.startswith(kinds)]

    def far_end(self, ref: str, net: str) -> str | None:
        """Return the other net of a two-pin part."""
        nets = {pin.net for (owner, _), pin in self.board.pins.items() if owner == ref and pin.net} - {net}
        return next(iter(nets)) if len(nets) == 1 else None


def main_value(part: Part, unit: str) -> float | None:
    """Return the main value of a part in a unit, or None."""
    main = part.identity.value.main
    return float(main.value) if main and main.unit == unit else None


_TOLERANCE = 5.0
"""Per cent of a rail or supply that states none (common practice)."""


def stated_bands(facts: BoardFacts) -> Bands:
    """Return what board.toml says a net can be at, for boards whose netlist makes no circuit (no ground in it)."""
    found: dict[str, Band] = {}
    fed: dict[str, RailFacts | SupplyFacts] = {**facts.rails, **facts.supplies}
    for net, told in fed.items():
        if told.volts:
            volts = float(told.volts.value)
            share = (float(told.tolerance.value) if told.tolerance else _TOLERANCE) / 100
            ends = sorted((volts * (1 - share), volts * (1 + share)))
            found[net] = Band(ends[0], volts, ends[1], "V", BandBasis.STATED)
    for net, ranged in facts.nets.items():
        if ranged.low and ranged.high:
            low, high = float(ranged.low.value), float(ranged.high.value)
            found[net] = Band(low, None, high, "V", BandBasis.STATED)
    return found
