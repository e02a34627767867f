"""Every single fault that is considered, as a change of parameters of one compiled circuit."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import NamedTuple

from reworkkit.compute.diagnosis import chip_faults
from reworkkit.compute.diagnosis.comparators import Deciding
from reworkkit.compute.diagnosis.faulty_circuit import (
    BIPOLAR,
    JUNCTIONS,
    REGULATORS,
    TURNED,
    joined_pairs,
    plug,
    plugged_rails,
    turned,
)
from reworkkit.compute.diagnosis.holding import HOLDS, held_nets
from reworkkit.compute.diagnosis.hypothesis import HEALTHY, Change, Hypothesis, joined
from reworkkit.compute.diagnosis.priors import Priors
from reworkkit.compute.diagnosis.reach import MOSFETS
from reworkkit.compute.diagnosis.set_figures import with_settings
from reworkkit.compute.diagnosis.switched import Enable
from reworkkit.compute.formulas.junction import Array
from reworkkit.compute.formulas.network import Template, compile_circuit
from reworkkit.model.designator import natural_key
from reworkkit.model.diagnosis import PIN_OPEN, Fault
from reworkkit.model.messages import Message, message
from reworkkit.model.results import Circuit, Element

MOST_OUT = 100.0
"""A regulator without its feedback gives all it can, as if it were set to so many times its voltage."""
SHUNT_OHM = 1.0
"""A resistor below this is shorted only by what is as low: solder across it, not a burnt part."""
_SERIES = frozenset(("fuse", "inductor", "link"))
HEALTHY_WEIGHT = 0.25
"""Weight of a board without any fault, against priors per board: who measures has a reason to (a guess)."""


class Setting(NamedTuple):
    """Which supply is on, its limit, which parts are fitted (None: all), and the supplies that are on beside it."""

    supply: str
    limit_a: float | None
    fitted: frozenset[str] | None
    beside: tuple[str, ...] = ()
    held: Mapping[str, float] = MappingProxyType({})
    """Nets that parts of unknown behaviour hold, and the voltages that were read there."""

    @property
    def on(self) -> tuple[str, ...]:
        """All supplies that are on."""
        return self.supply, *self.beside


@dataclass(frozen=True)
class Catalogue:
    """The compiled circuit, the row of the healthy board powered and unpowered, and all hypotheses, healthy first."""

    template: Template
    setting: Setting
    healthy: Array
    hypotheses: tuple[Hypothesis, ...]
    rails: frozenset[str] = frozenset()
    rail_volts: dict[str, float] = field(default_factory=dict)
    levels: dict[str, float] = field(default_factory=dict)
    """How far the pins of a chip may hold their nets, as a share of its supply; by designator."""
    unknown: frozenset[str] = frozenset()
    """Nets at parts whose behaviour is not known: they may be anywhere."""
    comparators: tuple[Deciding, ...] = ()
    inputs: frozenset[tuple[str, str]] = frozenset()
    """(designator, net) of chip pins that are inputs: they hold nothing."""
    enables: tuple[Enable, ...] = ()


def catalogue(
    circuit: Circuit,
    setting: Setting,
    priors: Priors,
    draws_a: Mapping[str, float],
    levels: dict[str, float] | None = None,
    outer: Mapping[str, tuple[str, str]] | None = None,
) -> Catalogue:
    """Return the catalogue of a circuit.

    `draws_a` is what the healthy board draws from each supply, for limits set too low. `outer` names the nodes of the
    outer two leads of parts that have three in a row: those go in the wrong way round as well.
    """
    elements = [one for one in circuit.elements if one.kind != "supply" or one.ref in setting.on]
    fed = [plug(net, circuit.ground or "") for net in plugged_rails(circuit, setting.fitted) if net not in setting.on]
    held = held_nets(setting.held, circuit.ground or "")
    lean = Circuit(circuit.nodes, (*elements, *fed, *held, *turned(elements, outer or {})), circuit.ground)
    template = compile_circuit(lean, joined_pairs(circuit, lean))
    healthy = healthy_row(template, setting)
    units = {(e.ref, e.nodes[0]): e.nodes for e in circuit.elements if e.kind in ("comparator", "gate")}
    pumps = {e.ref: e.nodes[1] for e in circuit.elements if e.kind == "boost"}
    units |= {(e.ref, pumps[e.ref]): e.nodes for e in circuit.elements if e.kind == "unmodelled" and e.ref in pumps}
    maker = Maker(
        template, setting, priors, healthy, draws_a, {frozenset(pair): where for *pair, where in circuit.bridges}, units
    )
    found = (
        Hypothesis(HEALTHY, HEALTHY_WEIGHT, ((1.0, ()),)),
        *sorted(with_settings(maker.all(), circuit, template), key=lambda h: natural_key(h.fault.ref)),
    )
    rails = frozenset(e.nodes[0] for e in circuit.elements if e.kind in ("rail", "supply"))
    volts = {e.nodes[0]: e.parameters["volts"].nominal or 0.0 for e in circuit.elements if e.kind == "rail"}
    return Catalogue(template, setting, healthy, found, rails, volts, levels or {})


def healthy_row(template: Template, setting: Setting) -> Array:
    """Return the row of the healthy board with the supply on, outputs that begin high being so."""
    row = template.powered(*setting.on, *(HOLDS + net for net in setting.held))
    if setting.fitted is not None:
        row = template.with_fitted(row, setting.fitted)
    for n, p in enumerate(template.parameters):
        if p.name == "fitted" and p.ref.endswith(TURNED):
            row[n] = 0.0
        if p.name == "high" and "begins" in template.elements[p.element].parameters:
            row[n] = 1.0
    if setting.limit_a is not None:
        row[template.columns(setting.supply, "limit", ["supply"])] = setting.limit_a
    return row


class Maker:
    """Makes the hypotheses of one template."""

    def __init__(
        self,
        template: Template,
        setting: Setting,
        priors: Priors,
        healthy: Array,
        draws_a: Mapping[str, float],
        places: dict[frozenset[str], str],
        units: Mapping[tuple[str, str], tuple[str, ...]] | None = None,
    ) -> None:
        self.template, self.setting, self.priors = template, setting, priors
        self.healthy, self.draws_a, self.places = healthy, draws_a, places
        self.units = units or {}

    def all(self) -> Iterator[Hypothesis]:
        """Yield the hypotheses of every fitted element, of neighbouring lands, and of the supply."""
        made = (one for n, element in enumerate(self.template.elements) for one in self._of(n, element))
        yield from joined(one for one in made if one.prior > 0)

    def _of(self, n: int, element: Element) -> Iterable[Hypothesis]:
        kind = element.kind
        if kind == "supply" and element.ref.startswith(HOLDS):
            return ()
        if kind == "supply":
            return self._supply(n, element) if element.ref in self.setting.on else self._plug(n, element)
        if kind == "bridge":
            return self._bridge(n, element)
        if not self.healthy[self.template.column[n, "fitted"]]:
            return ()
        if kind in JUNCTIONS:
            return self._junction(n, element)
        if kind in REGULATORS:
            return (*self._regulator(n, element), *self._turned_round(element))
        if kind in MOSFETS or kind in BIPOLAR or kind in chip_faults.THYRISTORS:
            faults = chip_faults.transistor(self, n, element)
            return (*faults, *self._turned_round(element))
        if kind in chip_faults.KINDS:
            return chip_faults.faults(self, n, element)
        simple = {
            "resistor": self._resistor,
            "capacitor": self._capacitor,
            "capacitor_polarised": self._capacitor,
            "load": self._load,
            "switch": self._switch,
            "tvs_two_way": self._two_way,
            **dict.fromkeys(_SERIES, self._series),
        }
        return simple[kind](n, element) if kind in simple else ()

    def unit_of(self, element: Element) -> tuple[str, ...]:
        """Return the nets of the unit of a chip that an output belongs to, the output first."""
        return self.units.get((element.ref, element.nodes[0]), element.nodes)

    def column(self, n: int, name: str) -> int:
        """Return the column of an element's figure."""
        return self.template.column[n, name]

    def hypothesis(
        self,
        key: str,
        element: Element,
        nets: tuple[str, ...],
        sizes: Iterable[tuple[Change, ...]],
        kind: str | None = None,
        ref: str | None = None,
        continuous: bool = True,
    ) -> Iterator[Hypothesis]:
        """Yield a fault of a key of the priors with its sizes, where there are any."""
        found = tuple(sizes)
        name = ref or element.ref or element.nodes[0]
        row = self.priors.row(key)
        kind = kind or row.kind
        if found and row.share > 0:
            fault = Fault(name, kind, tuple(dict.fromkeys(nets)), _words(kind, name, element, nets))
            share = 1 / len(found)
            prior = row.share * self.priors.factor(element.ref, kind)
            yield Hypothesis(fault, prior, tuple((share, one) for one in found), continuous and len(found) > 1)

    def sized(self, key: str, n: int, name: str, element: Element, factor: bool = False) -> Iterator[Hypothesis]:
        """Yield a fault that gives a figure other values: those of the table, or factors on its own."""
        column = self.column(n, name)
        own = self.healthy[column] if factor else 1.0
        sizes = [((column, size * own),) for size in self.priors.row(key).sizes]
        yield from self.hypothesis(key, element, element.nodes, sizes)

    def _set(self, key: str, n: int, element: Element, name: str, value: float) -> Iterator[Hypothesis]:
        yield from self.hypothesis(key, element, element.nodes, [((self.column(n, name), value),)])

    def short(self, key: str, element: Element, nets: tuple[str, str]) -> Iterator[Hypothesis]:
        """Yield a part that joins two nets."""
        column = self.template.bridge(*nets)
        if column is not None:
            sizes = [((column, 1 / ohm),) for ohm in self.priors.row(key).sizes]
            yield from self.hypothesis(key, element, nets, sizes)

    def open(self, key: str, element: Element, kind: str | None = None) -> Iterator[Hypothesis]:
        """Yield a part that is not there: an amplifier whose input it leaves on nothing stands at either end."""
        gone = self.without(element)
        sizes = [gone, *((*gone, end) for end in chip_faults.left_on_nothing(self, element))]
        yield from self.hypothesis(key, element, element.nodes, sizes, kind, continuous=False)

    def without(self, element: Element) -> tuple[Change, ...]:
        """Return the changes that take a part away: all its elements, but for the contacts of an open coil.

        A stated load that names no part is taken away alone.
        """
        if not element.ref:
            return ((self.column(self.template.elements.index(element), "fitted"), 0.0),)
        columns = [c for c in self.template.columns(element.ref, "fitted") if self.healthy[c]]
        if element.kind == "inductor":
            columns = [c for c in columns if self.template.parameters[c].kind != "contact"]
        return tuple((c, 0.0) for c in columns)

    def _resistor(self, n: int, element: Element) -> Iterator[Hypothesis]:
        if not element.ref:
            return
        ohm, column = self.healthy[self.column(n, "resistance")], self.column(n, "resistance")
        yield from self.open("part_open", element)
        yield from self._lead_of_several(n, element)
        key, share = ("shunt_shorted", 0.5) if ohm < SHUNT_OHM else ("part_shorted", 0.3)
        short = [((column, size),) for size in self.priors.row(key).sizes if size < share * ohm]
        yield from self.hypothesis(key, element, element.nodes, short)
        for key, factor in (("resistor_decade_high", 10.0), ("resistor_decade_low", 0.1)):
            yield from self._set(key, n, element, "resistance", ohm * factor)
        yield from self.sized("resistor_value", n, "resistance", element, factor=True)

    def _lead_of_several(self, n: int, element: Element) -> Iterator[Hypothesis]:
        """Yield a lead without contact of a part that holds several resistances: an end of a track, or the wiper."""
        others = [e for e in self.template.elements if e.ref == element.ref and e.kind == "resistor" and e != element]
        if not others:
            return
        shared = {node for other in others for node in other.nodes}
        ends = tuple(node for node in element.nodes if node not in shared)
        off = [((self.column(n, "fitted"), 0.0),)]
        yield from self.hypothesis("lead_open", element, ends or element.nodes, off)
        if len(others) == 1 and len(ends) == 1:
            wiper = tuple(node for node in element.nodes if node in shared)
            yield from self.hypothesis("lead_open", element, wiper, [self.without(element)])

    def _series(self, n: int, element: Element) -> Iterator[Hypothesis]:
        yield from self.open({"fuse": "fuse_open", "inductor": "coil_open"}.get(element.kind, "part_open"), element)
        if any(e.ref == element.ref and e.kind == "contact" for e in self.template.elements):
            yield from self.open("lead_open", element)
            if element.kind == "inductor":
                yield from self.sized("coil_turns", n, "resistance", element, factor=True)
        yield from self.sized("joint_resistance", n, "resistance", element)

    def _switch(self, n: int, element: Element) -> Iterator[Hypothesis]:
        yield from self._set("switch_closed", n, element, "resistance", 0.05)

    def _capacitor(self, n: int, element: Element) -> Iterator[Hypothesis]:
        yield from self.open("part_open", element)
        yield from self.sized("capacitor_shorted", n, "leakage", element)
        if element.kind == "capacitor_polarised":
            yield from self.sized("capacitor_reversed", n, "leakage", element)
        yield from self.sized("capacitor_leaks", n, "leakage", element)

    def _junction(self, n: int, element: Element) -> Iterator[Hypothesis]:
        led = element.kind == "led"
        yield from self.open("part_open", element)
        if any(e.ref == element.ref and e.kind == "coupler" for e in self.template.elements):
            yield from self.open("lead_open", element)
        yield from self._set("led_reversed" if led else "diode_reversed", n, element, "turned", 1.0)
        shorted = "part_shorted" if element.kind in ("diode", "schottky", "led") else "breakdown_shorted"
        yield from self.short(shorted, element, (element.nodes[0], element.nodes[1]))
        if not led:
            yield from self.short("junction_leaks", element, (element.nodes[0], element.nodes[1]))
        if element.kind in ("diode", "schottky"):
            yield from self.sized("joint_resistance", n, "series", element)
        if element.kind in ("diode", "schottky", "led"):
            own, column = self.healthy[self.column(n, "forward")], self.column(n, "forward")
            key = "led_type" if led else "junction_type"
            other = [((column, size),) for size in self.priors.row(key).sizes if abs(size - own) > 0.12]
            yield from self.hypothesis(key, element, element.nodes, other)
        else:
            yield from self.sized("breakdown_type", n, "breakdown", element, factor=True)
            yield from self.sized("breakdown_value", n, "breakdown", element, factor=True)

    def _two_way(self, n: int, element: Element) -> Iterator[Hypothesis]:
        yield from self.open("part_open", element)
        yield from self.short("part_shorted", element, (element.nodes[0], element.nodes[1]))

    def _regulator(self, n: int, element: Element) -> Iterator[Hypothesis]:
        entry, out, common, _ = element.nodes
        for key, pin, net in (
            ("regulator_common_open", "pin_common", common),
            ("regulator_in_open", "pin_in", entry),
            ("regulator_out_open", "pin_out", out),
        ):
            kind = "adjust_open" if pin == "pin_common" and net != self.template.ground else None
            if element.kind == "follower":
                kind = {"pin_in": "supply_open", "pin_common": "input_open"}.get(pin)
            gone = [((self.column(n, pin), 0.0), *(self._clamp_off(element) if pin == "pin_out" else ()))]
            if pin == "pin_common":
                gone += chip_faults.without_ground(self, n, element)
            yield from self.hypothesis(key, element, (net,), gone, kind=kind, continuous=False)
        yield from self.open("regulator_open", element)
        if element.kind == "boost" and self._clamp_off(element):
            swinging = self.units.get((element.ref, out), (out,))
            yield from self.hypothesis("lead_open", element, swinging, [((self.column(n, "fitted"), 0.0),)])
        if element.kind == "follower":
            return
        column = self.column(n, "volts")
        own = self.healthy[column]
        if element.nodes[3] != out:
            most = [((column, own * MOST_OUT),)]
            yield from self.hypothesis("feedback_open", element, (element.nodes[3],), most)
        other = [v if own > 0 else -v for v in self.priors.row("regulator_variant").sizes]
        variants = [((column, v),) for v in other if abs(v - own) > 0.05 * abs(own)]
        yield from self.hypothesis("regulator_variant", element, element.nodes, variants, continuous=False)
        yield from self.sized("regulator_value", n, "volts", element, factor=True)
        if element.kind == "regulator":
            yield from self.short("regulator_shorted", element, (entry, out))

    def _clamp_off(self, element: Element) -> tuple[Change, ...]:
        """Return the changes that take the diode of a charge pump off its output."""
        ends = set(element.nodes[1:3])
        diodes = (
            k
            for k, e in enumerate(self.template.elements)
            if e.kind == "inner_diode" and e.ref == element.ref and set(e.nodes) == ends
        )
        return tuple((self.column(k, "fitted"), 0.0) for k in diodes)

    def _turned_round(self, element: Element) -> Iterator[Hypothesis]:
        """Yield a part of three leads in a row the wrong way round."""
        instead = tuple((c, 1.0) for c in self.template.columns(element.ref + TURNED, "fitted"))
        if instead:
            off = tuple((c, 0.0) for c in self.template.columns(element.ref, "fitted") if self.healthy[c])
            yield from self.hypothesis("leads_turned", element, element.nodes[:3], [(*off, *instead)])

    def _load(self, n: int, element: Element) -> Iterator[Hypothesis]:
        yield from self.open("chip_open", element)
        yield from self.sized("load_more", n, "current", element, factor=True)
        yield from self.short("load_shorted", element, (element.nodes[0], element.nodes[1]))

    def _bridge(self, n: int, element: Element) -> Iterator[Hypothesis]:
        where = self.places.get(frozenset(element.nodes))
        if where:
            column = self.column(n, "conductance")
            sizes = [((column, 1 / ohm),) for ohm in self.priors.row("bridge").sizes]
            name = f"{element.nodes[0]} to {element.nodes[1]}"
            yield from self.hypothesis("bridge", element, (*element.nodes, where), sizes, ref=name)

    def _plug(self, n: int, element: Element) -> Iterator[Hypothesis]:
        off = [(c, 0.0) for on in self.setting.on for c in self.template.columns(on, "fitted", ["supply"])]
        net = element.nodes[0]
        sizes = [((self.column(n, "fitted"), 1.0), (self.column(n, "volts"), v), *off) for v in (3.3, 5.0)]
        yield from self.hypothesis("back_feed", element, (net,), sizes, ref=net, continuous=False)

    def _supply(self, n: int, element: Element) -> Iterator[Hypothesis]:
        yield from self._set("supply_off", n, element, "fitted", 0.0)
        yield from self._set("supply_swapped", n, element, "turned", 1.0)
        yield from self.sized("supply_value", n, "volts", element, factor=True)
        limit = self.column(n, "limit")
        draw_a = self.draws_a.get(element.ref, 0.0)
        shares = self.priors.row("supply_limit").sizes if draw_a > 1e-3 else ()
        yield from self.hypothesis(
            "supply_limit", element, element.nodes, [((limit, max(s * draw_a, 1e-4)),) for s in shares]
        )


def _words(kind: str, name: str, element: Element, nets: tuple[str, ...]) -> Message:
    """Return the words of a fault; bridges and open pins name the place."""
    where = nets[2] if kind == "bridge" else ", ".join(nets) if kind == PIN_OPEN else ""
    told = "wrong_gain" if kind == "wrong_variant" and element.kind == "amplifier" else kind
    return message("fault-" + told.replace("_", "-"), ref=name, where=where)
