"""One hold point with figures: what must be true before, what the unpowered and the powered board should read."""

from dataclasses import replace

from reworkkit.compute.power_up import advice
from reworkkit.compute.power_up.bench import Bench, bench_of, figure
from reworkkit.compute.power_up.fitted import digest, fitted_at
from reworkkit.compute.power_up.limits import charge_of, converter_starts, draw_of, limit_for, reading_of
from reworkkit.compute.power_up.needs import feed_of, parts_on_the_way, supply_of, with_needs
from reworkkit.compute.power_up.ohms import Ohms, ohms_of
from reworkkit.compute.power_up.pins import pin_checks
from reworkkit.compute.power_up.powered import LEVEL_MATTERS, SUPPLY, Powered, power
from reworkkit.compute.power_up.to_do import to_do
from reworkkit.model.board import Board
from reworkkit.model.designator_list import in_short
from reworkkit.model.job import Situation
from reworkkit.model.measuring import Check, Point
from reworkkit.model.messages import Finding, Message, NotJudged, message
from reworkkit.model.results import Circuit, Element, HoldOutline, HoldPoint, Plan
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis, CheckPurpose, Mode, Severity

__all__ = ["hold_points", "power_up", "with_needs"]


def hold_points(
    board: Board, circuit: Circuit, outlines: tuple[HoldOutline, ...], plan: Plan, situation: Situation
) -> tuple[HoldPoint, ...]:
    """Return every hold point with figures for the parts that are fitted when the plan reaches it."""
    return tuple(
        power_up(board, circuit, one, fitted_at(board, situation, plan, one.name), situation) for one in outlines
    )


def power_up(
    board: Board, circuit: Circuit, outline: HoldOutline, fitted: frozenset[str], situation: Situation | None = None
) -> HoldPoint:
    """Return the hold point with its checks, limit, charging time, steps, stop rules and warnings for a fitted set.

    What cannot be computed is a question in `not_judged`; a stated rail keeps its stated band then. With a situation
    the point also lists what comes before power: parts to fit, orientation to prove, open items of needed parts.
    """
    point = _Stage(board, circuit, outline, fitted).hold_point()
    return point if situation is None else replace(point, to_do=to_do(board, outline, situation))


class _Stage:
    """Collects the figures of one hold point."""

    def __init__(self, board: Board, circuit: Circuit, outline: HoldOutline, fitted: frozenset[str]) -> None:
        self.board, self.circuit, self.outline, self.fitted = board, circuit, outline, fitted
        self.bench: Bench = bench_of(board.facts.bench)
        self.digest = digest(fitted)
        self.supply = supply_of(board, circuit, outline)
        self.points = _points(board, circuit, outline, self.supply)
        self.not_judged: list[NotJudged] = []
        self.findings: list[Finding] = []
        self.usual: list[tuple[str, Band]] = []
        self.loose: tuple[Element, ...] = ()

    def hold_point(self) -> HoldPoint:
        """Return all of it."""
        powered, limit, draw = self._power()
        self.loose = _loose(self.circuit, self.fitted, powered)
        charge = charge_of(powered, limit.nominal or 0.1, draw, self.loose) if powered and limit and draw else None
        if self.loose:
            self._ask_loose(limit)
        nets = tuple(dict.fromkeys([*([self.supply] if self.supply else []), *(net for _, net in self.points)]))
        ohms = ohms_of(self.circuit, nets, self.fitted, self.bench) if self.circuit.elements else {}
        sure = None if self.loose else powered
        cautions = advice.cautions(self.board, self.circuit, self.outline, self.fitted, sure, charge, limit, draw)
        feed = feed_of(self.board, self.outline, self.supply)
        return HoldPoint(
            outline=replace(self.outline, supply=self.supply, feed=feed),
            fitted=self.fitted,
            fitted_digest=self.digest,
            unpowered=self._unpowered(ohms),
            limit_a=limit,
            charge_s=charge.seconds if charge else None,
            powered=self._powered(powered, draw, limit),
            stop=advice.stops(limit, charge, self._supply_volts()),
            cautions=cautions,
            not_judged=(*self.circuit.not_judged, *self.not_judged),
            supply_v=self._supply_volts(),
            draw_a=draw,
            usual=tuple(self.usual),
            steps=advice.steps(self.board, self.circuit, self.outline, feed, self._supply_volts(), limit, charge),
            assumed=_assumed(self.circuit, self.fitted, powered),
            findings=(*self.circuit.findings, *self.findings),
        )

    def _supply_volts(self) -> Band | None:
        supplies = [e for e in self.circuit.elements if e.kind == "supply" and e.ref == self.supply]
        if supplies:
            return supplies[0].parameters["volts"]
        facts = self.board.facts.supplies.get(self.supply or "")
        volts = float(facts.volts.value) if facts and facts.volts else None
        return None if volts is None else Band(volts, volts, volts, "V", BandBasis.STATED)

    def _ask(self, about: tuple[str, ...], because: Message, answer: str | None = None) -> None:
        self.not_judged.append(NotJudged(about, message("power-question", name=self.outline.name), because, answer))

    def _power(self) -> tuple[Powered | None, Band | None, Band | None]:
        """Return the operating point, the limit to set and the draw; None where they are not known."""
        stated = self.outline.limit
        if self.supply is None or not any(e.kind == "supply" and e.ref == self.supply for e in self.circuit.elements):
            if self.circuit.elements:
                self._ask(
                    (),
                    message("power-no-supply"),
                    f'[[hold_points]] supply = "{next(iter(self.board.facts.supplies), "+12V")}"',
                )
            return None, stated or self._supply_limit(), None
        nodes = tuple(net for _, net in self.points)
        free = power(self.circuit, self.supply, self.fitted, nodes, 100.0)
        if not free.settled:
            moving = ", ".join(free.solution.moving[0]) or self.supply
            self._ask(free.solution.moving[0], message("power-unstable", nodes=moving))
            return None, stated, None
        draw = draw_of(free)
        starts = converter_starts(free, draw)
        wanted = limit_for(draw, starts)
        limit = Band(draw.high, wanted, None, "A", BandBasis.WORST_CASE)
        self._judge_limits(draw, wanted, stated)
        for start in starts:
            if stated and (stated.nominal or 0.0) < start.current_a:
                facts = {"ref": start.ref, "needs": _amps(start.current_a), "volts": f"{start.volts_v:.2g} V"}
                told = message("power-limit-blocks-start", limit=_amps(stated.nominal), **facts)
                self.findings.append(Finding(told, Severity.CHECK, (start.ref,)))
        if stated and stated.nominal and (draw.high or 0.0) < stated.nominal:
            limit = Band(draw.high, stated.nominal, stated.nominal, "A", BandBasis.STATED)
        return free, limit, draw

    def _supply_limit(self) -> Band | None:
        """Return the limit that board.toml states for the supply itself."""
        facts = self.board.facts.supplies.get(self.supply or "")
        if facts is None or facts.limit is None:
            return None
        return Band(None, float(facts.limit.value), float(facts.limit.value), "A", BandBasis.STATED)

    def _judge_limits(self, draw: Band, wanted: float, stated: Band | None) -> None:
        name = self.outline.name
        if stated and stated.nominal is not None and stated.nominal <= (draw.high or 0.0):
            told = message(
                "power-limit-too-low", name=name, stated=_amps(stated.nominal), draw=draw, limit=_amps(wanted)
            )
            self.findings.append(Finding(told, Severity.CHECK))
        if (
            stated
            and stated.nominal is not None
            and not self._unknown_fitted()
            and stated.nominal > max(3 * wanted, figure("first_limit"))
        ):
            told = message("power-limit-generous", name=name, stated=_amps(stated.nominal), limit=_amps(wanted))
            self.findings.append(Finding(told, Severity.CHECK))
        facts = self.board.facts.supplies.get(self.supply or "")
        if facts and facts.limit and float(facts.limit.value) < (draw.high or 0.0):
            told = message("power-supply-too-small", net=self.supply or "", limit=facts.limit, draw=draw)
            self.findings.append(Finding(told, Severity.CHECK))

    def _unknown_fitted(self) -> bool:
        return any(e.kind == "unmodelled" and e.ref in self.fitted for e in self.circuit.elements)

    def _check(
        self,
        point: Point,
        mode: Mode,
        expect: Band,
        swapped: Band | None,
        why: Message,
        powered: bool,
        refs: tuple[str, ...] = (),
    ) -> Check:
        stage = self.outline.name if powered else None
        name = f"{self.outline.name}: {'on' if powered else 'off'}: {mode.value} {point.text}"
        return Check(name, CheckPurpose.HOLD_POINT, point, mode, stage, expect, swapped, refs, self.digest, why, 1.0)

    def _unpowered(self, ohms: dict[str, Ohms]) -> tuple[Check, ...]:
        """Return volts first, then regulator pins, then each rail to ground."""
        least = figure("volts_first")
        found: list[Check] = []
        zero = Band(-least, 0.0, least, "V", BandBasis.TABLE)
        for net, one in ohms.items():
            if one.farad >= figure("bulk"):
                why = message("power-why-volts-first", net=net)
                found.append(self._check(Point(net, net), Mode.VOLTS, zero, None, why, False))
        for pin, expect, why, ref in pin_checks(self.board, self.circuit, self.fitted, self.bench):
            found.append(self._check(Point(pin, pin), Mode.OHMS, expect, None, why, False, (ref,)))
        for net, one in ohms.items():
            slug_facts = {"net": net, "where": self._where(net)}
            rising = one.farad >= figure("bulk")
            why = message("power-why-rising", **slug_facts) if rising else message("power-why-ohms", **slug_facts)
            found.append(self._check(Point(net, net), Mode.OHMS, one.expect, one.swapped, why, False))
        return tuple(found)

    def _where(self, net: str) -> str:
        """Return where a probe reaches a net: its stated place, a named point, else a capacitor that stands at it."""
        rail, supply = self.board.facts.rails.get(net), self.board.facts.supplies.get(net)
        stated = (rail and rail.at) or (supply and supply.at)
        named = next((name for name, at in self.board.facts.points.items() if at == net), None)
        caps = [e.ref for e in self.circuit.elements if e.kind == "capacitor_polarised" and net in e.nodes]
        caps = [ref for ref in caps if ref in self.fitted]
        return stated or named or (f"the plus of {caps[0]}" if caps else net)

    def _powered(self, powered: Powered | None, draw: Band | None, limit: Band | None) -> tuple[Check, ...]:
        found = []
        if draw is not None:
            amps, name = self.bench.amps, self.outline.name
            shown = reading_of(powered) if powered and not self.loose else draw
            least, most = shown.low or 0.0, shown.high or 0.0
            if self.loose and limit:
                most = max(most, limit.nominal or 0.0)
            expect = Band(max(least - amps.off(least), 0.0), shown.nominal, most + amps.off(most), "A", shown.basis)
            check = self._check(
                Point("supply", "supply"), Mode.AMPS, expect, None, message("power-why-draw", name=name), True
            )
            found.append(check)
            if powered and not self.loose:
                usual = powered.spreads[SUPPLY].usual("A", amps.off(draw.nominal or 0.0))
                self.usual.append((check.id, _inside(usual, expect)))
        for text, net in self.points:
            if (check_or_none := self._volts(text, net, powered)) is not None:
                found.append(check_or_none)
        return tuple(found)

    def _volts(self, text: str, net: str, powered: Powered | None) -> Check | None:
        stated = self._stated_rail(net) or (None if powered and net in powered.spreads else self._range(net))
        where = message("power-why-volts", net=net, where=self._where(net))
        if powered is None or net not in powered.spreads:
            if stated is None:
                self._ask((text,), message("power-no-band", point=text), f'[rails] "{net}" = "5 V 4 %"')
                return None
            return self._check(Point(text, net), Mode.VOLTS, self._metered(stated), None, where, True)
        spread, driven = powered.spreads[net], powered.driven[net]
        unsure = max(abs(driven.low), abs(driven.high)) > max(LEVEL_MATTERS * abs(spread.nominal), 0.05)
        unsure = unsure or self._near_loose(net)
        stated = stated or (self._range(net) if unsure else None)
        if unsure and stated is None:
            self._ask((text,), message("power-driven", point=text), f'[nets] "{net}" = "0 V to 0.4 V"')
            return None
        less, more = min(driven.low, driven.high, 0.0), max(driven.low, driven.high, 0.0)
        off = self.bench.volts.off(spread.nominal)
        computed = Band(spread.low + less - off, spread.nominal, spread.high + more + off, "V", BandBasis.WORST_CASE)
        expect = self._metered(stated) if stated else computed
        check = self._check(Point(text, net), Mode.VOLTS, expect, None, where, True)
        if not unsure:
            self.usual.append((check.id, _inside(spread.usual("V", off), expect)))
        if stated and not (stated.low or -1e9) <= spread.nominal <= (stated.high or 1e9):
            told = message("power-rail-disagrees", net=net, stated=stated, computed=computed, name=self.outline.name)
            self.findings.append(Finding(told, Severity.CHECK))
        return check

    def _ask_loose(self, limit: Band | None) -> None:
        refs = tuple(dict.fromkeys(part.ref for part in self.loose))
        net = next((node for part in self.loose for node in part.nodes if node != self.circuit.ground), "+12V")
        answer = f'[loads] "{net}" = {{ amps = "10 mA", part = "{refs[0]}" }}'
        self._ask(refs, message("power-loose", refs=in_short(refs)), answer)

    def _stated_rail(self, net: str) -> Band | None:
        """Return the band that board.toml states for a net; a rail that only its name tells is not stated."""
        if net in self.board.facts.rails or net in self.board.facts.supplies:
            rails = [e for e in self.circuit.elements if e.kind == "rail" and e.nodes[0] == net]
            if rails:
                return rails[0].parameters["volts"]
            return _rail_without_circuit(self.board, net)
        return None

    def _range(self, net: str) -> Band | None:
        """Return what [nets] of board.toml says a net may be at."""
        ranges = [e for e in self.circuit.elements if e.kind == "range" and e.nodes[0] == net]
        return ranges[0].parameters["volts"] if ranges else None

    def _near_loose(self, net: str) -> bool:
        """Return whether a part of unknown behaviour acts on a net, directly or through one resistor."""
        near = {net}
        for element in self.circuit.elements:
            if element.kind == "resistor" and net in element.nodes:
                near |= set(element.nodes)
        near.discard(self.circuit.ground or "")
        return any(near & set(part.nodes) for part in self.loose) and net not in self.board.facts.rails

    def _metered(self, band: Band) -> Band:
        """Return a band with the meter's own error added at both ends."""
        off = self.bench.volts.off
        low = None if band.low is None else band.low - off(band.low)
        high = None if band.high is None else band.high + off(band.high)
        return Band(low, band.nominal, high, band.unit, band.basis)


def _loose(circuit: Circuit, fitted: frozenset[str], powered: Powered | None) -> tuple[Element, ...]:
    """Return the fitted parts of unknown behaviour at a net with voltage; a part with a stated load is known."""
    if powered is None:
        return ()
    known = {e.ref for e in circuit.elements if e.kind == "load"}
    live = {node for node in powered.template.nodes if abs(powered.volts(node)) > 1.0}
    found = (e for e in circuit.elements if e.kind == "unmodelled" and e.ref in fitted and e.ref not in known)
    return tuple(e for e in found if live & set(e.nodes) and len(set(e.nodes)) > 1)


def _rail_without_circuit(board: Board, net: str) -> Band | None:
    facts = board.facts.rails.get(net)
    if facts is None or facts.volts is None:
        return None
    volts, percent = float(facts.volts.value), float(facts.tolerance.value) if facts.tolerance else 5.0
    return Band(volts * (1 - percent / 100), volts, volts * (1 + percent / 100), "V", BandBasis.STATED)


def _points(board: Board, circuit: Circuit, outline: HoldOutline, supply: str | None) -> tuple[tuple[str, str], ...]:
    """Return (text, net) of each point to measure: as stated, else the rails that this supply reaches."""
    names = outline.measure or tuple(
        net for net in board.facts.rails if not circuit.elements or net in parts_on_the_way(circuit, supply).nets
    )
    found: dict[str, str] = {}
    for text in names:
        net = board.facts.points.get(text, text)
        ref, _, number = net.rpartition(".")
        pin = board.pins.get((ref, number))
        found[text] = (pin.net or net) if pin and net not in board.nets else net
    return tuple(found.items())


def _amps(value: float | None) -> str:
    amps = value or 0.0
    return f"{amps * 1000:.0f} mA" if amps < 1 else f"{amps:.3g} A"


def _assumed(circuit: Circuit, fitted: frozenset[str], powered: Powered | None) -> tuple[Message, ...]:
    """Return what was assumed about the parts that are fitted, each once."""
    told = (
        one for e in circuit.elements if not e.ref or e.ref in fitted or e.ref in circuit.nodes for one in e.assumed
    )
    return tuple(dict.fromkeys(told))


def _inside(usual: Band, expect: Band) -> Band:
    """Return the part of the usual band that lies in the band judged by; all of it where they share nothing."""
    low = max(usual.low or 0.0, usual.low or 0.0 if expect.low is None else expect.low)
    high = min(usual.high or 0.0, usual.high or 0.0 if expect.high is None else expect.high)
    return replace(usual, low=low, high=high) if low < high else usual
