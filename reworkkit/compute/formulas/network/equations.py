"""The equations of a compiled circuit, for many rows of parameters at once: residuals and their slopes.

Unknowns are the node voltages and one current for each supply and regulator. Every element adds the currents that leave
its nodes; supplies and regulators add one equation of the clamp kind, c = clamp(c + (target - V), 0, limit), which
holds in voltage, in current limit and when off alike.
"""

from typing import NamedTuple

import numpy as np

from reworkkit.compute.formulas.junction import THERMAL_VOLTAGE, Array, Rows, diode_current, log_saturation
from reworkkit.compute.formulas.network.bipolar import Bipolar, Shunt, add_bipolar, add_shunt, thyristor_of
from reworkkit.compute.formulas.network.boosts import boost_ceiling
from reworkkit.compute.formulas.network.channels import Channel, add_channel, channel_of
from reworkkit.compute.formulas.network.devices import Amplifier, Coupler, add_amplifier, add_coupler, amplifier_of
from reworkkit.compute.formulas.network.isolated import Brick, add_brick, brick_of
from reworkkit.compute.formulas.network.shapes import (
    EDGE_V,
    add_pair,
    clamp,
    load_current,
    smooth,
)
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
        self._collect()
        self._linear()

    def at(self, n: int, name: str) -> Array:
        """Return the column of an element's parameter."""
        return self.p[:, self.template.column[n, name]]

    def _node(self, name: str) -> int:
        return self._index[name]

    def _collect(self) -> None:
        """Sort the elements into conductors, junctions, loads, channels and sources, each as arrays over rows."""
        self._conductors: list[tuple[int, int, Array]] = []
        self._junctions: list[tuple[int, int, Array, Array, Array, Array]] = []
        self._load_list: list[tuple[int, int, Array, Array]] = []
        self._channel_list: list[Channel] = []
        self._bipolar_list: list[Bipolar] = []
        self._shunt_list: list[Shunt] = []
        self._coupler_list: list[Coupler] = []
        self._enabled_list: list[Enabled] = []
        self.amplifiers: dict[int, Amplifier] = {}
        self._bricks: dict[int, Brick] = {}
        for n, element in enumerate(self.template.elements):
            nodes = [self._node(node) for node in element.nodes]
            _ADD[element.kind](self, n, nodes)

    def _conductor(self, n: int, nodes: list[int]) -> None:
        name = "leakage" if ("leakage" in self.template.elements[n].parameters) else "resistance"
        name = "unpowered" if "unpowered" in self.template.elements[n].parameters else name
        self._conductors.append((nodes[0], nodes[1], self.at(n, "fitted") / np.maximum(self.at(n, name), 1e-6)))

    def _bridge(self, n: int, nodes: list[int]) -> None:
        self._conductors.append((nodes[0], nodes[1], self.at(n, "conductance")))

    def _driver(self, n: int, nodes: list[int]) -> None:
        on = self.at(n, "fitted") / self.at(n, "resistance")
        self._conductors.append((nodes[0], nodes[1], on * self.at(n, "high")))
        self._conductors.append((nodes[0], nodes[2], on * self.at(n, "low")))

    def _junction(self, anode: int, cathode: int, n: int, sign: Array | float = 1.0) -> None:
        slope_v = self.at(n, "ideality") * THERMAL_VOLTAGE
        log_is = log_saturation(self.at(n, "forward"), self.at(n, "at"), slope_v, self.at(n, "series"))
        there = np.broadcast_to(self.at(n, "fitted") * sign, log_is.shape)
        self._junctions.append((anode, cathode, log_is, slope_v, self.at(n, "series"), there))

    def _sign(self, n: int) -> Array:
        return 1.0 - 2.0 * self.at(n, "turned")

    def _diode(self, n: int, nodes: list[int]) -> None:
        self._junction(nodes[0], nodes[1], n, self._sign(n))

    def _breakdown(self, n: int, nodes: list[int]) -> None:
        sign = self._sign(n)
        self._junction(nodes[0], nodes[1], n, sign)
        self._reverse(n, nodes[1], nodes[0], sign)

    def _reverse(self, n: int, cathode: int, anode: int, sign: Array | float) -> None:
        slope_v = self.at(n, "knee") if (n, "knee") in self.template.column else np.full(len(self.p), KNEE_V)
        at, series = self.at(n, "breakdown_at"), self.at(n, "slope")
        log_is = np.log(at) - (self.at(n, "breakdown") - at * series) / slope_v
        there = np.broadcast_to(self.at(n, "fitted") * sign, log_is.shape)
        self._junctions.append((cathode, anode, log_is, slope_v, series, there))

    def _two_way(self, n: int, nodes: list[int]) -> None:
        self._reverse(n, nodes[0], nodes[1], 1.0)
        self._reverse(n, nodes[1], nodes[0], 1.0)

    def _chip(self, n: int, nodes: list[int]) -> None:
        self._conductor(n, nodes)
        self._junction(nodes[1], nodes[0], n)

    def _load(self, n: int, nodes: list[int]) -> None:
        self._load_list.append(
            (nodes[0], nodes[1], self.at(n, "current") * self.at(n, "fitted"), self.at(n, "from_volts"))
        )

    def _mosfet(self, n: int, nodes: list[int]) -> None:
        drain, _, source = nodes
        channel = channel_of(self.template, self.at, n, nodes)
        self._junction(*((source, drain) if channel.sign > 0 else (drain, source)), n)
        self._channel_list.append(channel)

    def _bipolar(self, n: int, nodes: list[int]) -> None:
        sign = -1.0 if self.template.elements[n].kind == "pnp" else 1.0
        slope_v, series = self.at(n, "ideality") * THERMAL_VOLTAGE, self.at(n, "series")
        log_is = log_saturation(self.at(n, "forward"), self.at(n, "at"), slope_v, series)
        if (n, "saturation") in self.template.column:
            own = (log_is, slope_v, series, self.at(n, "gain"), self.at(n, "saturation"), self.at(n, "fitted"))
            self._shunt_list.append(Shunt(nodes[0], nodes[1], nodes[2], *own))
            return
        figures = (log_is, slope_v, series, self.at(n, "gain"), self.at(n, "fitted"))
        self._bipolar_list.append(Bipolar(nodes[0], nodes[1], nodes[2], sign, *figures))

    def _brick(self, n: int, nodes: list[int]) -> None:
        self._bricks[n] = brick_of(self.at, n, nodes, self.unknowns.nodes + self.sources[n])

    def _thyristor(self, n: int, nodes: list[int]) -> None:
        sign = -1.0 if self.template.elements[n].kind == "thyristor_p" else 1.0
        self._bipolar_list += thyristor_of(self.at, n, nodes, sign)

    def _amplifier(self, n: int, nodes: list[int]) -> None:
        self.amplifiers[n] = amplifier_of(self.template, self.at, n, nodes, self.unknowns.nodes + self.sources[n])

    def _coupler(self, n: int, nodes: list[int]) -> None:
        lamp = lamp_of(self.template, n)
        slope_v = self.at(lamp, "ideality") * THERMAL_VOLTAGE
        log_is = log_saturation(self.at(lamp, "forward"), self.at(lamp, "at"), slope_v, self.at(lamp, "series"))
        there = self.at(lamp, "fitted") * self._sign(lamp)
        anode, cathode = (self._node(node) for node in self.template.elements[lamp].nodes)
        ratio = self.at(n, "ratio") * self.at(n, "fitted")
        junction = (log_is, slope_v, self.at(lamp, "series"), there, ratio)
        self._coupler_list.append(Coupler(nodes[0], nodes[1], anode, cathode, *junction))

    def _enabled(self, n: int, nodes: list[int]) -> None:
        self._enabled_list.append(enabled_of(self.template, self.at, self._index, n))

    def _supply(self, n: int, nodes: list[int]) -> None:
        return None

    def _way(self, n: int) -> float:
        """Return -1 for a linear regulator or pump that makes a rail below its common pin, else 1."""
        element = self.template.elements[n]
        turning = element.kind in LINEAR or element.kind == "boost"
        return -1.0 if turning and (element.parameters["volts"].nominal or 0.0) < 0 else 1.0

    def _regulator(self, n: int, nodes: list[int]) -> None:
        for pin, outer in zip(("pin_in", "pin_out", "pin_common"), nodes, strict=False):
            self._conductors.append((self.inner[n, pin], outer, LINK_S * self.at(n, pin)))
        inside, out, common = (self.inner[n, pin] for pin in ("pin_in", "pin_out", "pin_common"))
        one, way = np.ones(len(self.p)), self._way(n)
        boost = self.template.elements[n].kind == "boost"
        fed = (inside, common) if way > 0 or boost else (common, inside)
        self._load_list.append((*fed, self.at(n, "quiescent") * self.at(n, "fitted"), one))
        if not boost:
            slope_v, series = BODY_IDEALITY * THERMAL_VOLTAGE * one, BODY_OHM * one
            log_is = log_saturation(BODY_FORWARD_V * one, BODY_AT_A * one, slope_v, series)
            back = (out, inside) if way > 0 else (inside, out)
            self._junctions.append((*back, log_is, slope_v, series, self.at(n, "fitted")))
            self._conductors.append((out, common, DIVIDER_S * self.at(n, "fitted")))

    def _linear(self) -> None:
        """Stack the collected arrays and build the constant part of the slopes; ground is the last row and column."""
        rows, size = len(self.p), self.unknowns.size + 1
        self._constant = np.zeros((rows, size, size))
        for a, b, g in self._conductors:
            for one, other, sign in ((a, a, 1), (b, b, 1), (a, b, -1), (b, a, -1)):
                self._constant[:, one, other] += sign * g
        ends = np.arange(self.unknowns.nodes)
        self._constant[:, ends, ends] += GMIN_S
        js = self._junctions
        self._ja = np.array([j[0] for j in js], dtype=int)
        self._jk = np.array([j[1] for j in js], dtype=int)
        stack = [np.stack([j[part] for j in js], axis=1) if js else np.zeros((rows, 0)) for part in range(2, 6)]
        self._jlog, self._jv, self._jr, self._jthere = stack

    def evaluate(self, x: Array, wanted: Rows | None = None, slopes: bool = True) -> tuple[Array, Array]:
        """Return residuals (rows, unknowns) and slopes (rows, unknowns, unknowns) at x; `wanted` picks rows."""
        pick: Rows = np.arange(len(self.p), dtype=np.intp) if wanted is None else wanted
        full = np.concatenate([x, np.zeros((len(x), 1))], axis=1)
        j = self._constant[pick]
        f = np.matmul(j, full[:, :, None])[:, :, 0]
        self._add_junctions(pick, full, f, j, slopes)
        for a, b, current, from_v in self._load_list:
            i, g = load_current(full[:, a] - full[:, b], current[pick], from_v[pick])
            add_pair(f, j, a, b, i, g, slopes)
        for channel in self._channel_list:
            add_channel(channel, pick, full, f, j, slopes)
        for transistor in self._bipolar_list:
            add_bipolar(transistor, pick, full, f, j, slopes)
        for shunt in self._shunt_list:
            add_shunt(shunt, pick, full, f, j, slopes)
        for output in self._coupler_list:
            add_coupler(output, pick, full, f, j, slopes)
        for switch in self._enabled_list:
            add_enabled(switch, pick, full, f, j, slopes)
        self._add_sources(pick, full, f, j, slopes)
        return f[:, :-1], j[:, :-1, :-1]

    def _add_sources(self, pick: Rows, full: Array, f: Array, j: Array, slopes: bool) -> None:
        for n, s in self.sources.items():
            c = self.unknowns.nodes + s
            if self.template.elements[n].kind == "supply":
                self._add_supply(n, c, pick, full, f, j, slopes)
            elif n in self.amplifiers:
                add_amplifier(self.amplifiers[n], pick, full, f, j, slopes)
            elif n in self._bricks:
                add_brick(self._bricks[n], pick, full, f, j, slopes)
            else:
                self._add_regulator(n, c, pick, full, f, j, slopes)

    def _add_junctions(self, pick: Rows, full: Array, f: Array, j: Array, slopes: bool) -> None:
        if not len(self._ja):
            return
        there = self._jthere[pick]
        sign = np.where(there < 0, -1.0, 1.0)
        v = sign * (full[:, self._ja] - full[:, self._jk])
        i, g = diode_current(v, self._jlog[pick], self._jv[pick], self._jr[pick])
        i, g = i * there, g * np.abs(there)
        for k in range(len(self._ja)):
            add_pair(f, j, self._ja[k], self._jk[k], i[:, k], g[:, k], slopes)

    def _add_supply(self, n: int, c: int, pick: Rows, full: Array, f: Array, j: Array, slopes: bool) -> None:
        plus, minus = (self._node(node) for node in self.template.elements[n].nodes)
        sign, current = self._sign(n)[pick], full[:, c]
        resistance = self.at(n, "resistance")[pick]
        error = self.at(n, "volts")[pick] - sign * (full[:, plus] - full[:, minus]) - resistance * sign * current
        fitted = self.at(n, "fitted")[pick]
        limit, back = self.at(n, "limit")[pick] * fitted, SINKS_A * fitted
        f[:, plus] -= current
        f[:, minus] += current
        held, free, _ = clamp(sign * current + back, error, limit + back, limit)
        f[:, c] += sign * current + back - held
        if slopes:
            j[:, plus, c] -= 1.0
            j[:, minus, c] += 1.0
            j[:, c, c] += sign * ((free == 0.0) + free * resistance)
            j[:, c, plus] += free * sign
            j[:, c, minus] -= free * sign

    def _add_regulator(self, n: int, c: int, pick: Rows, full: Array, f: Array, j: Array, slopes: bool) -> None:
        kind = self.template.elements[n].kind
        inside, out, common = (self.inner[n, pin] for pin in ("pin_in", "pin_out", "pin_common"))
        sense = (
            out
            if self.template.elements[n].nodes[3] == self.template.elements[n].nodes[1]
            else self._node(self.template.elements[n].nodes[3])
        )
        current, way = full[:, c], self._way(n)
        error = way * (self.at(n, "volts")[pick] - (full[:, sense] - full[:, common]))
        by_input = np.zeros(len(pick), dtype=bool)
        if kind != "boost":
            head = way * (full[:, inside] - full[:, out]) - self.at(n, "dropout")[pick]
            by_input = head < error
            error = np.where(by_input, head, error)
        ceiling = boost_ceiling(self.template, n, self.p[pick], (inside, out, common), full, current)
        if ceiling:
            by_input = ceiling.head < error
            error = np.where(by_input, ceiling.head, error)
        limit = self.at(n, "limit")[pick] * self.at(n, "fitted")[pick] * self.template.boost_way(self.p, n)[pick]
        share, share_slope = np.ones(len(pick)), np.zeros(len(pick))
        if kind not in LINEAR:
            share, share_slope = smooth(full[:, inside] - full[:, common] - self.at(n, "start")[pick], EDGE_V)
        held, free, at_top = clamp(current, error, limit * share, limit)
        f[:, c] += current - held
        f[:, out] -= way * current
        source = inside if kind in LINEAR else common
        f[:, source] += way * current
        if slopes:
            j[:, c, c] += free == 0.0
            by_inside, by_out = (ceiling.by_inside, ceiling.by_out) if ceiling else (way, -way)
            j[:, c, inside] -= np.where(by_input, by_inside * free, 0.0) + at_top * limit * share_slope
            j[:, c, common] += at_top * limit * share_slope - np.where(by_input, 0.0, way * free)
            j[:, c, out] -= np.where(by_input, by_out * free, 0.0)
            j[:, c, sense] += np.where(by_input, 0.0, way * free)
            j[:, out, c] -= way
            j[:, source, c] += way
            if ceiling:
                j[:, c, common] -= np.where(by_input, ceiling.by_common * free, 0.0)
                j[:, c, c] -= np.where(by_input, ceiling.by_current * free, 0.0)
        if kind not in LINEAR:
            self._add_input(n, (c, inside, out, common), pick, full, f, j, slopes)

    def _add_input(
        self, n: int, nodes: tuple[int, int, int, int], pick: Rows, full: Array, f: Array, j: Array, slopes: bool
    ) -> None:
        """Add what a converter draws at its input: the output power over efficiency and input voltage."""
        c, inside, out, common = nodes
        efficiency, current = self.at(n, "efficiency")[pick], full[:, c]
        turned = self._way(n)
        given = np.maximum(turned * (full[:, out] - full[:, common]), 0.0)
        supply = full[:, inside] - full[:, common]
        floor = np.maximum(supply, 1.0)
        drawn = given * current / (efficiency * floor)
        f[:, inside] += drawn
        f[:, common] -= drawn
        if slopes:
            by_out = np.where(given > 0, current / (efficiency * floor), 0.0)
            by_in = np.where(supply > 1.0, -drawn / floor, 0.0)
            for row, way in ((inside, 1.0), (common, -1.0)):
                j[:, row, c] += way * given / (efficiency * floor)
                j[:, row, out] += way * turned * by_out
                j[:, row, inside] += way * by_in
                j[:, row, common] -= way * (turned * by_out + by_in)


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
