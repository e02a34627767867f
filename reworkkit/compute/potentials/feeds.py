"""Where power can come from: which nets bring it in, and whether it reaches a net while a part is left out."""

from collections.abc import Collection, Iterator
from functools import cached_property
from typing import NamedTuple

from reworkkit.compute.potentials.levels import Levels, chip_roles
from reworkkit.compute.potentials.spans import CONTROL, LOW_OHM, regulator_nets, transistor_roles
from reworkkit.model.connections import (
    GENERAL_DIODES,
    LINKS,
    OUTSIDE,
    TRANSISTORS,
    WINDINGS,
    Connections,
)

FURTHEST = 200
_STORE_FARAD = 4e-6
_RESISTIVE = frozenset(
    ["resistor", "fusible_resistor", "thermistor", "potentiometer", "resistor_network", "lamp", "relay", "motor"]
)
_OPEN_KINDS = frozenset(["unknown", "transformer", "filter", "bridge_rectifier"])
_SOURCES = OUTSIDE | {"unknown"}
_MAY_FEED = frozenset(["ic", "module", "linear_regulator", "switching_regulator"])
_DIODES = GENERAL_DIODES | {"diode_dual", "led", "diode_zener", "tvs", "tvs_one_way", "bridge_rectifier"}


class Path(NamedTuple):
    """A path of power: the parts and nets on it."""

    refs: frozenset[str]
    nets: frozenset[str]


def _traced(came: dict[str, tuple[str, str]], net: str) -> Path:
    refs, nets = set(), {net}
    while came[net][0]:
        net, ref = came[net]
        refs.add(ref)
        nets.add(net)
    return Path(frozenset(refs), frozenset(nets))


class Feeds:
    """Paths of power on one board. Nothing is fed through ground."""

    def __init__(self, wires: Connections, levels: Levels) -> None:
        self.wires = wires
        self.levels = levels
        self._paths: dict[tuple[str, bool, bool], Path | None] = {}
        self._steps: dict[tuple[str, bool, bool, bool], tuple[tuple[str, str, bool], ...]] = {}
        self._sources: dict[tuple[str, bool, bool], bool] = {}
        self._loads: dict[str, bool] = {}
        self._makers: dict[str, bool] = {}
        self._store_nets: dict[str, bool] = {}

    def reaches(self, net: str, without: str, *, sure: bool, diodes: bool, avoid: Collection[str] = ()) -> bool:
        """Return whether power reaches a net: surely (links, regulators), or possibly (anything that might pass it).

        No path goes through the part `without` or the nets of `avoid`. A chip may feed only what hangs on it without a
        resistor between: its other pins sense.
        """
        key = (net, sure, diodes)
        if key not in self._paths:
            self._paths[key] = self._path(net, "", sure, diodes, ())
        path = self._paths[key]
        if path is None:
            return False
        if without not in path.refs and not path.nets & set(avoid):
            return True
        return self._path(net, without, sure, diodes, avoid) is not None

    def _path(self, net: str, without: str, sure: bool, diodes: bool, avoid: Collection[str]) -> "Path | None":
        """Return one path from a source to a net, or None where there is none."""
        came: dict[str, tuple[str, str]] = {net: ("", "")}
        queue = [(net, False)]
        while queue:
            here, soft = queue.pop()
            if self._is_source(here, sure, soft) or (len(came) > FURTHEST and not sure):
                return _traced(came, here)
            if len(came) > FURTHEST:
                return None
            for ref, other, softly in self._into(here, sure, diodes, soft):
                if ref != without and other not in came and other not in self.levels.grounds and other not in avoid:
                    came[other] = (here, ref)
                    queue.append((other, softly))
        return None

    def joined(self, net: str, without: str, others: Collection[str]) -> bool:
        """Return whether power at one of `others` may reach a net without the part and without a diode."""
        others = [other for other in others if other not in self.levels.grounds]
        seen, queue = {net}, [(net, False)]
        while queue and others:
            here, soft = queue.pop()
            for ref, other, softly in self._into(here, False, False, soft):
                if ref == without:
                    continue
                if other in others:
                    return True
                if other not in seen and other not in self.levels.grounds and len(seen) < FURTHEST:
                    seen.add(other)
                    queue.append((other, softly))
        return False

    def _is_source(self, net: str, sure: bool, soft: bool) -> bool:
        key = (net, sure, soft)
        if key not in self._sources:
            self._sources[key] = self._brings(net, sure, soft)
        return self._sources[key]

    def _brings(self, net: str, sure: bool, soft: bool) -> bool:
        """Return whether a net brings power in; a plug that is no input does not through a resistor or a winding."""
        if net in self.wires.board.facts.supplies:
            return True
        outside = [kind for ref in self.wires.refs_on(net) if (kind := self.wires.kind(ref)) in _SOURCES]
        if self.levels.is_input(net) and (outside or not (sure or self.wires.board.facts.supplies or self._has_plugs)):
            return True
        if sure or not outside:
            return False
        if soft and self._inputs_known and not set(outside) - {"connector", "terminal"}:
            return False
        passes_on = self._inputs_known and not set(outside) - {"connector", "terminal"}
        return not (passes_on and self._is_rail(net))

    def _is_rail(self, net: str) -> bool:
        """Return whether a net is a rail, or joined to one by a link: a plug there hands on what the board has."""
        linked = (
            other
            for ref in self.wires.refs_on(net)
            if self.wires.kind(ref) in LINKS
            for other in self.wires.beyond(ref, net)
        )
        levels = [self.levels.of(other) for other in (net, *linked)]
        if any(level is not None and level.kind in ("rail", "made") for level in levels):
            return True
        if levels[0] and levels[0].kind == "range":
            return (levels[0].low_v or 0.0) > 0 and self.levels.is_called_rail(net)
        return bool(levels[0] and levels[0].kind == "sign" and not self.levels.is_input(net))

    @cached_property
    def _has_plugs(self) -> bool:
        return any(self.wires.kind(ref) in OUTSIDE for ref in self.wires.board.parts)

    @cached_property
    def _inputs_known(self) -> bool:
        """Whether it is stated or named where power comes in, so that other connectors only pass it on."""
        return bool(self.wires.board.facts.supplies) or any(
            self.levels.is_input(net) and any(self.wires.kind(ref) in OUTSIDE for ref in self.wires.refs_on(net))
            for net in self.wires.board.nets
        )

    def _into(self, net: str, sure: bool, diodes: bool, soft: bool) -> tuple[tuple[str, str, bool], ...]:
        key = (net, sure, diodes, soft)
        if key not in self._steps:
            self._steps[key] = tuple(self._step(net, sure, diodes, soft))
        return self._steps[key]

    def _step(self, net: str, sure: bool, diodes: bool, soft: bool) -> Iterator[tuple[str, str, bool]]:
        for ref in self.wires.refs_on(net):
            kind = self.wires.kind(ref)
            if self._passes(ref, net, kind, sure) or (diodes and kind in _DIODES):
                softly = soft or kind in _RESISTIVE
                others = self.wires.through(ref, net)
                if sure and kind == "mosfet":
                    others = tuple(other for other in others if self._is_main(ref, other))
                yield from ((ref, other, softly) for other in others)
            elif kind in _MAY_FEED:
                softly = soft or kind in ("ic", "module")
                yield from ((ref, other, softly) for other in self._regulated(ref, net, sure or soft))

    def _passes(self, ref: str, net: str, kind: str, sure: bool) -> bool:
        if kind in LINKS or kind == "switch":
            return True
        if kind in _RESISTIVE:
            ohms = self.wires.ohms(ref)
            return not sure or (kind == "resistor" and ohms is not None and ohms < LOW_OHM)
        if sure:
            return kind == "mosfet" and self._is_main(ref, net)
        return kind in TRANSISTORS or kind in _OPEN_KINDS

    def _is_main(self, ref: str, net: str) -> bool:
        """Return whether a net is on drain or source of a MOSFET whose pins are stated or named."""
        roles = {role.upper()[:1]: number for role, number in self.wires.facts(ref).pins.items()}
        pins = {roles.get("D"), roles.get("S")}
        return any(pin.number in pins for pin in self.wires.pins(ref) if pin.net == net)

    def _regulated(self, ref: str, net: str, sure: bool) -> Iterator[str]:
        nets = regulator_nets(self.wires, self.levels, ref) if self.wires.kind(ref) == "linear_regulator" else {}
        if nets.get("IN") and nets.get("OUT"):
            yield from (nets["IN"],) if net == nets["OUT"] else ()
            return
        if nets.get("NIN") and nets.get("NOUT"):
            yield from (nets["NIN"],) if net == nets["NOUT"] else ()
            return
        elements = [e for e in self.levels.elements(ref) if e.kind in ("regulator", "converter", "boost")]
        for element in elements:
            supply, out, _, sense = element.nodes
            if net in (out, "" if element.kind == "boost" else sense) and net != supply:
                yield supply
        facts = self.wires.board.facts.rails.get(net)
        if facts and facts.made_by == ref:
            yield from (other for other in self.wires.beyond(ref, net) if self.levels.of(other))
        elif not elements and not sure:
            role = {chip_roles(self.wires, ref).get(pin.number) for pin in self.wires.pins(ref) if pin.net == net}
            if not role & {"V+", "IN", "NIN"}:
                yield from self.wires.beyond(ref, net)

    def makes(self, net: str) -> bool:
        """Return whether a regulator has its output on a net."""
        if net not in self._makers:
            self._makers[net] = self._makes(net)
        return self._makers[net]

    def _makes(self, net: str) -> bool:
        for ref in self.wires.refs_on(net):
            if self.wires.kind(ref) == "linear_regulator":
                nets = regulator_nets(self.wires, self.levels, ref)
                if net in (nets.get("OUT"), nets.get("NOUT")):
                    return True
        facts = self.wires.board.facts.rails.get(net)
        return bool(facts and facts.made_by)

    def pulled(self, net: str, without: str, *, up: bool) -> bool:
        """Return whether a path without resistance leads to a positive net (`up`) or to ground: a link, or one switch.

        To a positive net a winding counts as well: in the long run it is a wire.
        """
        level = self.levels.of(net)
        if level and (level.kind == "ground" if up else self._stiff(net, up=True)):
            return False
        return self._stiff(net, up) or any(self._stiff(other, up) for other in self._stiffly(net, without, up))

    def _stiff(self, net: str, up: bool) -> bool:
        level = self.levels.of(net)
        if level is None:
            return False
        if not up:
            return level.kind == "ground"
        above = level.low_v is not None and (level.low_v > 0 or (level.kind == "sign" and level.low_v == 0))
        return above and (level.kind != "range" or self.reaches(net, "", sure=True, diodes=True))

    def _stiffly(self, net: str, without: str, up: bool) -> Iterator[str]:
        for ref in self.wires.refs_on(net, without):
            kind = self.wires.kind(ref)
            if kind in LINKS or (up and kind in WINDINGS and kind not in ("transformer", "buzzer")):
                yield from self.wires.through(ref, net)
            elif kind in TRANSISTORS:
                yield from self._through_transistor(ref, net)
            elif kind in ("switching_regulator", "ic") and self._is_switch_pin(ref, net):
                yield from self.wires.beyond(ref, net)

    def _is_switch_pin(self, ref: str, net: str) -> bool:
        roles = {chip_roles(self.wires, ref).get(pin.number) for pin in self.wires.pins(ref) if pin.net == net}
        if "SW" in roles:
            return True
        return any(e.kind == "converter" and e.nodes[1] == net for e in self.levels.elements(ref))

    def _through_transistor(self, ref: str, net: str) -> Iterator[str]:
        roles = transistor_roles(self.wires, ref)
        pins = self.wires.pins(ref)
        mine = [pin for pin in pins if pin.net == net]
        if roles:
            if any(roles.get(pin.number) not in CONTROL for pin in mine):
                yield from self._main_nets(pin.net for pin in pins if roles.get(pin.number) not in CONTROL)
        elif self._carries_load(net, ref):
            yield from self.wires.beyond(ref, net)

    def _main_nets(self, nets: Iterator[str | None]) -> Iterator[str]:
        for net in nets:
            if net:
                yield net
                yield from (
                    other
                    for ref in self.wires.refs_on(net)
                    if self.wires.kind(ref) == "resistor" and (self.wires.ohms(ref) or 1e9) < LOW_OHM
                    for other in self.wires.beyond(ref, net)
                )

    def _carries_load(self, net: str, transistor: str) -> bool:
        """Return whether a winding or a plug hangs on a net: then the transistor's pin there is no control pin."""
        kinds = {self.wires.kind(ref) for ref in self.wires.refs_on(net, transistor)}
        return bool(kinds & (WINDINGS | OUTSIDE))

    def is_load(self, net: str) -> bool:
        """Return whether a net is there to be fed: a rail by name or statement, a supply pin of a chip."""
        if net not in self._loads:
            self._loads[net] = self._is_load(net)
        return self._loads[net]

    def _is_load(self, net: str) -> bool:
        level = self.levels.of(net)
        if level and level.kind in ("rail", "made", "sign"):
            return True
        for ref in self.wires.refs_on(net):
            kind = self.wires.kind(ref)
            roles = {chip_roles(self.wires, ref).get(pin.number) for pin in self.wires.pins(ref) if pin.net == net}
            if kind != "optocoupler" and roles & {"V+", "IN", "NIN"}:
                return True
        return False

    def is_store(self, net: str) -> bool:
        """Return whether a net is there to be charged: a store on it, or behind one resistor."""
        if net not in self._store_nets:
            self._store_nets[net] = net not in self.levels.grounds and (self._stores(net) or self._charges(net))
        return self._store_nets[net]

    def _stores(self, net: str) -> bool:
        """Return whether a store that lasts is on a net: a double layer capacitor or a large one to ground."""
        for ref in self.wires.refs_on(net):
            kind = self.wires.kind(ref)
            large = kind.startswith("capacitor") and (self.wires.farads(ref) or 0) >= _STORE_FARAD
            if (large or kind == "supercapacitor") and set(self.wires.beyond(ref, net)) & self.levels.grounds:
                return True
        return False

    def _charges(self, net: str) -> bool:
        """Return whether a net leads on through one resistor alone to a double layer capacitor."""
        refs = [ref for ref in self.wires.refs_on(net) if self.wires.kind(ref) == "resistor"]
        far = [other for ref in refs for other in self.wires.beyond(ref, net)]
        return len(far) == 1 and any(self.wires.kind(ref) == "supercapacitor" for ref in self.wires.refs_on(far[0]))
