"""The equations of a compiled circuit, for many rows of parameters at once: residuals and their slopes.

Unknowns are the node voltages and one current for each supply, regulator and amplifier. Every element adds the currents
that leave its nodes, and those with a current of their own one equation. Elements of one kind are reckoned together.
"""

from collections.abc import Callable
from typing import Any, NamedTuple

import numpy as np

from reworkkit.compute.formulas.junction import THERMAL_VOLTAGE, Array, Rows, log_saturation
from reworkkit.compute.formulas.network.bipolar import Bipolar, Shunt, add_bipolars, add_shunts, thyristor_of
from reworkkit.compute.formulas.network.channels import Channel, add_channels, channel_of
from reworkkit.compute.formulas.network.devices import (
    Amplifier,
    Coupler,
    add_amplifiers,
    add_couplers,
    amplifier_of,
    at_gain,
)
from reworkkit.compute.formulas.network.isolated import Brick, add_bricks, brick_of
from reworkkit.compute.formulas.network.simple import Junction, Load, add_junctions, add_loads
from reworkkit.compute.formulas.network.sources import OWN_FIGURES, Regulator, Supply, add_regulators, add_supplies
from reworkkit.compute.formulas.network.stamps import Plans, Stamps, picked, stacked
from reworkkit.compute.formulas.network.steered import Enabled, add_enabled, enabled_of
from reworkkit.compute.formulas.network.template import LINEAR, REGULATORS, SOURCES, Template, lamp_of

SINKS_A = 1e-3
"""What a supply that is on takes back before its net rises: its own discharge resistor; from memory."""
GMIN_S = 1e-11
"""Leak from every node to ground, so that a node that nothing holds has a voltage: 0 V."""
LINK_S = 1000.0
"""A soldered pin of a regulator: 1 milliohm."""
BODY_FORWARD_V, BODY_AT_A, BODY_IDEALITY, BODY_OHM = 0.55, 1e-3, 1.4, 0.05
"""The diode from output to input inside a regulator, through which a rail fed from elsewhere feeds back (memory)."""
DIVIDER_S = 1e-8
"""A regulator's inner divider from output to common: more than its diode leaks, so an idle output is held as well."""
KNEE_V = 0.05
"""Slope voltage of the breakdown of Zener diodes and suppressors; a shunt reference states its own, sharper one."""


_Add = Callable[[Any, Array, Stamps], None]


class Unknowns(NamedTuple):
    """How the unknowns are laid out: `nodes` voltages (internal pins included), then `sources` currents."""

    nodes: int
    sources: int

    @property
    def size(self) -> int:
        """The number of unknowns."""
        return self.nodes + self.sources


class Equations:
    """Residuals and slopes for the rows `p` (rows, parameters)."""

    def __init__(self, template: Template, rows: Array) -> None:
        self.template = template
        self.p = rows
        self.inner: dict[tuple[int, str], int] = {}
        names = [(n, e) for n, e in enumerate(template.elements) if e.kind in REGULATORS]
        for n, _ in names:
            for pin in ("pin_in", "pin_out", "pin_common"):
                self.inner[n, pin] = len(template.nodes) + len(self.inner)
        self.sources = {
            n: s for s, (n, _) in enumerate((n, e) for n, e in enumerate(template.elements) if e.kind in SOURCES)
        }
        self.unknowns = Unknowns(len(template.nodes) + len(self.inner), len(self.sources))
        self._index = template.index | {template.ground: self.unknowns.size}
        self._plans: Plans = {}
        self._gain, self._share = np.inf, 1.0
        self._kept_for: Rows | None = None
        self._collect()
        self._linear()

    def at(self, n: int, name: str) -> Array:
        """Return the column of an element's parameter."""
        return self.p[:, self.template.column[n, name]]

    def _current(self, n: int) -> Any:
        """Return the place of an element's current among the unknowns."""
        return np.intp(self.unknowns.nodes + self.sources[n])

    def _collect(self) -> None:
        """Sort the elements into conductors and kinds, those of one kind stacked."""
        self._conductors: list[tuple[int, int, Array]] = []
        self._found: dict[type, list[Any]] = {}
        for n, element in enumerate(self.template.elements):
            _ADD[element.kind](self, n, np.array([self._index[node] for node in element.nodes]))
        self._kinds: list[tuple[_Add, Any]] = [
            (add, group) for kind, add in _OF_KIND.items() for group in stacked(self._found.get(kind, []))
        ]

    def _found_one(self, one: tuple[Any, ...]) -> None:
        self._found.setdefault(type(one), []).append(one)

    def _conductor(self, n: int, nodes: Rows) -> None:
        name = "leakage" if ("leakage" in self.template.elements[n].parameters) else "resistance"
        name = "unpowered" if "unpowered" in self.template.elements[n].parameters else name
        self._conductors.append((nodes[0], nodes[1], self.at(n, "fitted") / np.maximum(self.at(n, name), 1e-6)))

    def _bridge(self, n: int, nodes: Rows) -> None:
        self._conductors.append((nodes[0], nodes[1], self.at(n, "conductance")))

    def _driver(self, n: int, nodes: Rows) -> None:
        on = self.at(n, "fitted") / self.at(n, "resistance")
        self._conductors.append((nodes[0], nodes[1], on * self.at(n, "high")))
        self._conductors.append((nodes[0], nodes[2], on * self.at(n, "low")))

    def _junction(self, anode: Any, cathode: Any, n: int, sign: Array | float = 1.0) -> None:
        slope_v = self.at(n, "ideality") * THERMAL_VOLTAGE
        log_is = log_saturation(self.at(n, "forward"), self.at(n, "at"), slope_v, self.at(n, "series"))
        self._found_one(Junction(anode, cathode, log_is, slope_v, self.at(n, "series"), self.at(n, "fitted") * sign))

    def _sign(self, n: int) -> Array:
        return 1.0 - 2.0 * self.at(n, "turned")

    def _diode(self, n: int, nodes: Rows) -> None:
        self._junction(nodes[0], nodes[1], n, self._sign(n))

    def _breakdown(self, n: int, nodes: Rows) -> None:
        sign = self._sign(n)
        self._junction(nodes[0], nodes[1], n, sign)
        self._reverse(n, nodes[1], nodes[0], sign)

    def _reverse(self, n: int, cathode: Any, anode: Any, sign: Array | float) -> None:
        slope_v = self.at(n, "knee") if (n, "knee") in self.template.column else np.full(len(self.p), KNEE_V)
        at, series = self.at(n, "breakdown_at"), self.at(n, "slope")
        log_is = np.log(at) - (self.at(n, "breakdown") - at * series) / slope_v
        self._found_one(Junction(cathode, anode, log_is, slope_v, series, self.at(n, "fitted") * sign))

    def _two_way(self, n: int, nodes: Rows) -> None:
        self._reverse(n, nodes[0], nodes[1], 1.0)
        self._reverse(n, nodes[1], nodes[0], 1.0)

    def _chip(self, n: int, nodes: Rows) -> None:
        self._conductor(n, nodes)
        self._junction(nodes[1], nodes[0], n)

    def _load(self, n: int, nodes: Rows) -> None:
        current = self.at(n, "current") * self.at(n, "fitted")
        self._found_one(Load(nodes[0], nodes[1], current, self.at(n, "from_volts")))

    def _mosfet(self, n: int, nodes: Rows) -> None:
        drain, _, source = nodes
        channel = channel_of(self.template, self.at, n, nodes)
        self._junction(*((drain, source) if self.template.elements[n].kind == "mosfet_p" else (source, drain)), n)
        self._found_one(channel)

    def _bipolar(self, n: int, nodes: Rows) -> None:
        sign = -1.0 if self.template.elements[n].kind == "pnp" else 1.0
        slope_v, series = self.at(n, "ideality") * THERMAL_VOLTAGE, self.at(n, "series")
        log_is = log_saturation(self.at(n, "forward"), self.at(n, "at"), slope_v, series)
        if (n, "saturation") in self.template.column:
            own = (log_is, slope_v, series, self.at(n, "gain"), self.at(n, "saturation"), self.at(n, "fitted"))
            self._found_one(Shunt(nodes[0], nodes[1], nodes[2], *own))
            return
        figures = (np.full_like(series, sign), log_is, slope_v, series, self.at(n, "gain"), self.at(n, "fitted"))
        self._found_one(Bipolar(nodes[0], nodes[1], nodes[2], *figures))

    def _brick(self, n: int, nodes: Rows) -> None:
        self._found_one(brick_of(self.at, n, nodes, self._current(n)))

    def _thyristor(self, n: int, nodes: Rows) -> None:
        sign = -1.0 if self.template.elements[n].kind == "thyristor_p" else 1.0
        for transistor in thyristor_of(self.at, n, nodes, sign):
            self._found_one(transistor)

    def _amplifier(self, n: int, nodes: Rows) -> None:
        self._found_one(amplifier_of(self.template, self.at, n, nodes, self._current(n)))

    def _coupler(self, n: int, nodes: Rows) -> None:
        lamp = lamp_of(self.template, n)
        slope_v = self.at(lamp, "ideality") * THERMAL_VOLTAGE
        log_is = log_saturation(self.at(lamp, "forward"), self.at(lamp, "at"), slope_v, self.at(lamp, "series"))
        there = self.at(lamp, "fitted") * self._sign(lamp)
        anode, cathode = np.array([self._index[node] for node in self.template.elements[lamp].nodes])
        ratio = self.at(n, "ratio") * self.at(n, "fitted")
        junction = (log_is, slope_v, self.at(lamp, "series"), there, ratio)
        self._found_one(Coupler(nodes[0], nodes[1], anode, cathode, *junction))

    def _enabled(self, n: int, nodes: Rows) -> None:
        self._found_one(enabled_of(self.template, self.at, self._index, n))

    def _supply(self, n: int, nodes: Rows) -> None:
        fitted = self.at(n, "fitted")
        figures = self.at(n, "volts"), self.at(n, "resistance"), self.at(n, "limit") * fitted, SINKS_A * fitted
        self._found_one(Supply(nodes[0], nodes[1], self._current(n), self._sign(n), *figures))

    def _way(self, n: int) -> float:
        """Return -1 for a linear regulator or pump that makes a rail below its common pin, else 1."""
        element = self.template.elements[n]
        turning = element.kind in LINEAR or element.kind == "boost"
        return -1.0 if turning and (element.parameters["volts"].nominal or 0.0) < 0 else 1.0

    def _regulator(self, n: int, nodes: Rows) -> None:
        for pin, outer in zip(("pin_in", "pin_out", "pin_common"), nodes[:3], strict=True):
            self._conductors.append((self.inner[n, pin], outer, LINK_S * self.at(n, pin)))
        inside, out, common = np.array([self.inner[n, pin] for pin in ("pin_in", "pin_out", "pin_common")])
        one, way, fitted = np.ones(len(self.p)), self._way(n), self.at(n, "fitted")
        boost = self.template.elements[n].kind == "boost"
        fed = (inside, common) if way > 0 or boost else (common, inside)
        self._found_one(Load(*fed, self.at(n, "quiescent") * fitted, one))
        sense = out if nodes[3] == nodes[1] else nodes[3]
        limit = self.at(n, "limit") * fitted * self.template.boost_way(self.p, n)
        ends, own = (inside, out, common, sense, self._current(n)), [self._own(n, name) for name in OWN_FIGURES]
        self._found_one(Regulator(*ends, way * one, self.at(n, "volts"), limit, *own))
        if not boost:
            slope_v, series = BODY_IDEALITY * THERMAL_VOLTAGE * one, BODY_OHM * one
            log_is = log_saturation(BODY_FORWARD_V * one, BODY_AT_A * one, slope_v, series)
            back = (out, inside) if way > 0 else (inside, out)
            self._found_one(Junction(*back, log_is, slope_v, series, fitted))
            self._conductors.append((out, common, DIVIDER_S * fitted))

    def _own(self, n: int, name: str) -> Array | None:
        """Return a figure that some regulators do not have."""
        return self.at(n, name) if (n, name) in self.template.column else None

    def _linear(self) -> None:
        """Build the constant part of the slopes; ground is the last row and column."""
        rows, size = len(self.p), self.unknowns.size + 1
        self._constant = np.zeros((rows, size, size))
        for a, b, g in self._conductors:
            for one, other, sign in ((a, a, 1), (b, b, 1), (a, b, -1), (b, a, -1)):
                self._constant[:, one, other] += sign * g
        ends = np.arange(self.unknowns.nodes)
        self._constant[:, ends, ends] += GMIN_S

    def evaluate(self, x: Array, wanted: Rows | None = None, slopes: bool = True) -> tuple[Array, Array]:
        """Return residuals (rows, unknowns) and slopes (rows, unknowns, unknowns) at x; `wanted` picks rows."""
        pick: Rows = np.arange(len(self.p), dtype=np.intp) if wanted is None else wanted
        full = np.concatenate([x, np.zeros((len(x), 1))], axis=1)
        j = self._constant[pick]
        f = np.matmul(j, full[:, :, None])[:, :, 0]
        stamps = Stamps(slopes)
        for add, elements in self._of_rows(pick):
            add(elements, full, stamps)
        stamps.into(f, j, self._plans)
        return f[:, :-1], j[:, :-1, :-1]

    def _of_rows(self, pick: Rows) -> list[tuple[_Add, Any]]:
        """Return the elements with the figures of some rows; those of the last rows asked for are kept."""
        if pick is not self._kept_for:
            self._kept = [(add, self._eased(picked(group, pick))) for add, group in self._kinds]
            self._kept_for = pick
        return self._kept

    def ease(self, gain: float = np.inf, share: float = 1.0) -> None:
        """Take amplifiers with no more than this gain, none at 0, and converters with this share of their limits."""
        self._gain, self._share, self._kept_for = gain, share, None

    def has(self, kind: type) -> bool:
        """Return whether there are elements of a kind."""
        return kind in self._found

    def converts(self) -> bool:
        """Return whether there are converters, step-up ones too."""
        return any(one.start is not None for one in self._found.get(Regulator, []))

    def _eased(self, elements: Any) -> Any:
        if isinstance(elements, Amplifier) and self._gain < np.inf:
            return at_gain(elements, self._gain)
        if isinstance(elements, Regulator) and elements.start is not None and self._share < 1.0:
            return elements._replace(limit=elements.limit * self._share)
        return elements


_OF_KIND: dict[type, _Add] = {
    Junction: add_junctions,
    Load: add_loads,
    Channel: add_channels,
    Bipolar: add_bipolars,
    Shunt: add_shunts,
    Coupler: add_couplers,
    Enabled: add_enabled,
    Supply: add_supplies,
    Brick: add_bricks,
    Regulator: add_regulators,
    Amplifier: add_amplifiers,
}
"""How elements of a kind are added."""

_ADD = {
    **dict.fromkeys(
        ("resistor", "inner", "fuse", "inductor", "link", "switch", "capacitor", "capacitor_polarised"),
        Equations._conductor,
    ),
    **dict.fromkeys(("diode", "schottky", "inner_diode", "led"), Equations._diode),
    **dict.fromkeys(("zener", "tvs"), Equations._breakdown),
    **dict.fromkeys(("regulator", "follower", "converter", "boost"), Equations._regulator),
    **dict.fromkeys(("mosfet_n", "mosfet_p"), Equations._mosfet),
    "tvs_two_way": Equations._two_way,
    **dict.fromkeys(("npn", "pnp"), Equations._bipolar),
    **dict.fromkeys(("thyristor", "thyristor_p"), Equations._thyristor),
    "amplifier": Equations._amplifier,
    "coupler": Equations._coupler,
    **dict.fromkeys(("load_switch", "contact"), Equations._enabled),
    "ic": Equations._chip,
    "load": Equations._load,
    "supply": Equations._supply,
    "isolated": Equations._brick,
    "driver": Equations._driver,
    "bridge": Equations._bridge,
}
