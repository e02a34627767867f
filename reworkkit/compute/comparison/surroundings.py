"""What stands round a place: nets and what they can be at, resistors and capacitors on a net, roles of pins."""

from collections.abc import Mapping
from dataclasses import dataclass

from reworkkit.model.board import Board
from reworkkit.model.part import Part
from reworkkit.model.results import Circuit
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import Fit

Bands = Mapping[str, Band]


@dataclass(frozen=True, slots=True)
class Surroundings:
    """The board seen from one place; `bands` are volts by net, `circuit` may be absent where there is no netlist."""

    board: Board
    ref: str
    bands: Bands
    circuit: Circuit | None = None

    @property
    def part(self) -> Part:
        """Return the part of the place."""
        return self.board.parts[self.ref]

    def nets(self) -> dict[str, str]:
        """Return pin number -> net of the place."""
        return {number: pin.net for (ref, number), pin in self.board.pins.items() if ref == self.ref and pin.net}

    def net_of(self, *roles: str) -> str | None:
        """Return the net of the pin with one of these roles, by board.toml or by the netlist's pin names."""
        said = self.board.facts.parts.get(self.ref)
        wanted = {role.upper() for role in roles}
        for role, number in (said.pins if said else {}).items():
            if role.upper() in wanted:
                return self.nets().get(number)
        for (ref, number), pin in self.board.pins.items():
            if ref == self.ref and ((pin.name or "").upper() in wanted or number.upper() in wanted):
                return pin.net
        return None

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
