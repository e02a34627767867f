"""One hold point with figures: what must be true before, what the unpowered and the powered board should read."""

from dataclasses import replace

from reworkkit.compute.formulas.accuracy import figure
from reworkkit.compute.power_up import advice
from reworkkit.compute.power_up.bench import Bench, bench_of
from reworkkit.compute.power_up.feeding import (
    feed_of,
    is_alternating,
    returns_to_ground,
    supplies_of,
    volts_of,
    without_isolation,
)
from reworkkit.compute.power_up.fitted import digest, fitted_at
from reworkkit.compute.power_up.forecast import doubtful_nets, loose_parts
from reworkkit.compute.power_up.judged_limits import limit_findings, start_findings
from reworkkit.compute.power_up.limits import Charge, charge_of, converter_starts, draw_of, limit_for, reading_of
from reworkkit.compute.power_up.needs import with_needs
from reworkkit.compute.power_up.ohms import Ohms, ohms_of
from reworkkit.compute.power_up.pins import pin_checks
from reworkkit.compute.power_up.points import points_of, silent_chips, stated_rail, stated_range, where
from reworkkit.compute.power_up.powered import LEVEL_MATTERS, SUPPLY, Powered, power
from reworkkit.compute.power_up.questions import assumed, open_questions
from reworkkit.compute.power_up.to_do import to_do
from reworkkit.compute.power_up.way import parts_on_the_way
from reworkkit.model.board import Board
from reworkkit.model.designator_list import in_short
from reworkkit.model.feeds import FurtherFeed
from reworkkit.model.job import Situation
from reworkkit.model.measuring import Check, Point
from reworkkit.model.messages import Finding, Message, NotJudged, message
from reworkkit.model.results import Circuit, Element, HoldOutline, HoldPoint, Plan
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis, CheckPurpose, Mode, Severity

__all__ = ["hold_points", "power_up", "with_needs"]

_NO_LIMIT_A = 100.0
"""The operating point is sought as if the supply had no limit; the limit to set follows from it."""


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
        self.supplies = supplies_of(board, circuit, outline)
        self.supply = self.supplies[0] if self.supplies else None
        self.points = points_of(board, circuit, outline, self.supplies, fitted)
        self.not_judged: list[NotJudged] = []
        self.findings: list[Finding] = []
        self.usual: list[tuple[str, Band]] = []
        self.loose: tuple[Element, ...] = ()
        self.silent: tuple[Element, ...] = ()
        self.doubtful: frozenset[str] = frozenset()
        self.disagrees = False

    def hold_point(self) -> HoldPoint:
        """Return all of it."""
        powered, limit, draw = self._power()
        charge = self._charge(self.supply, powered, limit, draw)
        further = self._further(powered)
        checks = self._unpowered(self._ohms()), self._powered(powered, draw, limit, further)
        if limit and self.disagrees:
            limit = replace(limit, nominal=min(limit.nominal or 0.0, figure("first_limit")))
            charge = self._charge(self.supply, powered, limit, draw)
        sure = None if self.unknown or self.doubtful else powered
        cautions = advice.cautions(self.board, self.circuit, self.fitted, self.supplies, sure, charge, limit)
        feed = feed_of(self.board, self.outline, self.supply, only=len(self.supplies) < 2)
        volts = self._supply_volts()
        told = advice.Feeding(feed, volts, limit, charge, further, self._mains(), bool(self.unknown))
        return HoldPoint(
            outline=replace(self.outline, supply=", ".join(self.supplies) or None, feed=feed),
            fitted=self.fitted,
            fitted_digest=self.digest,
            unpowered=checks[0],
            limit_a=limit,
            charge_s=charge.seconds if charge else None,
            powered=checks[1],
            stop=advice.stops(limit, charge, volts),
            cautions=cautions,
            not_judged=(*open_questions(self.circuit, self.fitted), *self.not_judged),
            supply_v=volts,
            draw_a=draw,
            usual=tuple(self.usual),
            steps=advice.steps(self.board, self.circuit, self.outline, told),
            assumed=assumed(self.circuit, self.fitted),
            findings=(*(f for f in self.circuit.findings if self.fitted & set(f.refs) or not f.refs), *self.findings),
            further=further,
            draws_unknown=self.unknown,
        )

    @property
    def unknown(self) -> tuple[str, ...]:
        """The fitted parts whose current is in no figure."""
        return tuple(dict.fromkeys(e.ref for e in (*self.loose, *self.silent)))

    def _mains(self) -> str | None:
        """Return the supply that no bench supply stands for: an alternating one."""
        return next((net for net in self.supplies if is_alternating(self.board, net)), None)

    def _supply_volts(self) -> Band | None:
        supplies = [e for e in self.circuit.elements if e.kind == "supply" and e.ref == self.supply]
        if supplies:
            return supplies[0].parameters["volts"]
        volts = volts_of(self.board, self.supply or "")
        return Band(volts, volts, volts, "V", BandBasis.STATED) if volts else None

    def _ask(self, about: tuple[str, ...], because: Message, answer: str | None = None) -> None:
        self.not_judged.append(NotJudged(about, message("power-question", name=self.outline.name), because, answer))

    def _power(self) -> tuple[Powered | None, Band | None, Band | None]:
        """Return the operating point, the limit to set and the draw; None where they are not known."""
        stated = self.outline.limit
        if not self._can_be_fed():
            return None, None if self._mains() else stated or self._supply_limit(), None
        nodes = tuple(net for _, net in self.points)
        free = power(self.circuit, self.supplies, self.fitted, nodes, _NO_LIMIT_A)
        if not free.settled:
            moving = ", ".join(free.solution.moving[0]) or self.supplies[0]
            self._ask(free.solution.moving[0], message("power-unstable", nodes=moving))
            return None, stated, None
        self._find_unknown(free, nodes)
        limit, draw = self._limit(free, self.supplies[0])
        return free, limit, draw

    def _can_be_fed(self) -> bool:
        """Return whether a bench supply can stand for the supplies and where its leads go is known; else ask."""
        elements = [e for e in self.circuit.elements if e.kind == "supply" and e.ref in self.supplies]
        if mains := self._mains():
            self._ask((mains,), message("power-alternating", net=mains))
        elif not self.supplies or len(elements) < len(self.supplies):
            if self.circuit.elements:
                known = next((net for net in self.board.facts.supplies if net not in self.supplies), "+12V")
                self._ask((), message("power-no-supply"), f'[[hold_points]] supply = "{known}"')
        elif apart := [net for net in self.supplies if not self._returns(net)]:
            self._ask(tuple(apart), message("power-no-return", net=apart[0], ground=self.circuit.ground or "ground"))
        else:
            return True
        return False

    def _returns(self, supply: str) -> bool:
        return returns_to_ground(without_isolation(self.board, self.circuit), supply)

    def _find_unknown(self, free: Powered, nets: tuple[str, ...]) -> None:
        """Find the parts of unknown behaviour and draw that are live, and the points that hang on them."""
        self.loose = loose_parts(self.board, self.circuit, self.fitted, free)
        live = frozenset(node for node in free.template.nodes if abs(free.volts(node)) > 1.0)
        self.silent = silent_chips(self.circuit, self.fitted, live)
        self.doubtful = doubtful_nets(self.circuit, free, (*self.loose, *self.silent), nets)
        if self.loose:
            self._ask_loose(free)

    def _ask_loose(self, free: Powered) -> None:
        refs = tuple(dict.fromkeys(part.ref for part in self.loose))
        asked = {ref for one in self.circuit.not_judged if one.answer for ref in one.about}
        answer = None
        if part := next((part for part in self.loose if part.ref not in asked), None):
            nodes = [node for node in part.nodes if node in free.template.index and node != self.circuit.ground]
            net = max(nodes, key=lambda node: abs(free.volts(node)), default="+12V")
            answer = f'[loads] "{net}" = {{ amps = "10 mA", part = "{part.ref}" }}'
        self._ask(refs, message("power-loose", refs=in_short(refs)), answer)

    def _limit(self, free: Powered, supply: str) -> tuple[Band, Band]:
        """Return the limit to set on a supply, and the draw it follows from."""
        stated = self.outline.limit if supply == self.supply else None
        draw = draw_of(free)
        starts = converter_starts(free, draw)
        wanted = limit_for(draw, starts)
        facts = self.board.facts.supplies.get(supply)
        self.findings += limit_findings(self.outline.name, stated, draw, wanted, bool(self.unknown))
        if facts and facts.limit and float(facts.limit.value) < (draw.high or 0.0):
            told = message("power-supply-too-small", net=supply, limit=facts.limit, draw=draw)
            self.findings.append(Finding(told, Severity.CHECK))
        self.findings += start_findings(stated, starts)
        if stated and stated.nominal and (draw.high or 0.0) < stated.nominal:
            return Band(draw.high, stated.nominal, stated.nominal, "A", BandBasis.STATED), draw
        return Band(draw.high, wanted, None, "A", BandBasis.WORST_CASE), draw

    def _supply_limit(self) -> Band | None:
        """Return the limit that board.toml states for the supply itself."""
        facts = self.board.facts.supplies.get(self.supply or "")
        if facts is None or facts.limit is None:
            return None
        return Band(None, float(facts.limit.value), float(facts.limit.value), "A", BandBasis.STATED)

    def _charge(
        self, supply: str | None, powered: Powered | None, limit: Band | None, draw: Band | None
    ) -> Charge | None:
        if powered is None or limit is None or draw is None:
            return None
        nets = parts_on_the_way(self.circuit, supply).nets if len(self.supplies) > 1 else None
        return charge_of(powered, limit.nominal or 0.1, draw, self.loose, nets)

    def _further(self, powered: Powered | None) -> tuple[FurtherFeed, ...]:
        """Return what to set on each supply after the first."""
        found = []
        for net in self.supplies[1:] if powered else ():
            others = tuple(one for one in self.supplies if one != net)
            free = power(self.circuit, (net, *others), self.fitted, (), _NO_LIMIT_A)
            if free.settled:
                limit, draw = self._limit(free, net)
                charge = self._charge(net, free, limit, draw)
                volts = volts_of(self.board, net)
                shown = reading_of(free)
                feed = feed_of(self.board, self.outline, net, only=False) or net
                seconds = charge.seconds if charge else None
                found.append(FurtherFeed(net, feed, volts, limit, draw, seconds, self._amps_band(shown, limit)))
        return tuple(found)

    def _ohms(self) -> dict[str, Ohms]:
        nets = tuple(dict.fromkeys([*self.supplies, *(net for _, net in self.points)]))
        if not self.circuit.elements:
            return {}
        return ohms_of(without_isolation(self.board, self.circuit, at_rest=True), nets, self.fitted, self.bench)

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
            check = self._check(Point(net, net), Mode.OHMS, one.expect, one.swapped, why, False)
            found.append(check)
            if one.usual:
                self.usual.append((check.id, _inside(one.usual, one.expect)))
        return tuple(found)

    def _where(self, net: str) -> str:
        return where(self.board, self.circuit, self.fitted, net)

    def _amps_band(self, shown: Band, limit: Band | None) -> Band:
        """Return what the supply's display may show; with parts of unknown draw all that is clearly below the limit."""
        amps, least, most = self.bench.amps, shown.low or 0.0, shown.high or 0.0
        high = most + amps.off(most)
        if self.unknown and limit and limit.nominal:
            high = max(high, figure("clear_of_limit") * limit.nominal)
        return Band(max(least - amps.off(least), 0.0), shown.nominal, high, "A", shown.basis)

    def _powered(
        self, powered: Powered | None, draw: Band | None, limit: Band | None, further: tuple[FurtherFeed, ...]
    ) -> tuple[Check, ...]:
        found = []
        if draw is not None:
            shown = reading_of(powered) if powered and not self.unknown else draw
            expect = self._amps_band(shown, limit)
            why = message("power-why-draw", name=self.outline.name)
            check = self._check(Point("supply", "supply"), Mode.AMPS, expect, None, why, True)
            found.append(check)
            if powered and not self.unknown:
                usual = powered.spreads[SUPPLY].usual("A", self.bench.amps.off(draw.nominal or 0.0))
                self.usual.append((check.id, _inside(usual, expect)))
        for one in further:
            why = message("power-why-draw-of", net=one.supply)
            found.append(self._check(Point(one.supply, one.supply), Mode.AMPS, one.expect_a, None, why, True))
        for text, net in self.points:
            if (check_or_none := self._volts(text, net, powered)) is not None:
                found.append(check_or_none)
        return tuple(found)

    def _volts(self, text: str, net: str, powered: Powered | None) -> Check | None:
        stated = self._stated_rail(net) or (None if powered and net in powered.spreads else self._range(net))
        why = message("power-why-volts", net=net, where=self._where(net))
        if powered is None or net not in powered.spreads:
            if stated is None:
                self._ask((text,), message("power-no-band", point=text), f'[rails] "{net}" = "5 V 4 %"')
                return None
            return self._check(Point(text, net), Mode.VOLTS, self._metered(stated), None, why, True)
        spread, driven = powered.spreads[net], powered.driven[net]
        by_pins = max(abs(driven.low), abs(driven.high)) > max(LEVEL_MATTERS * abs(spread.nominal), 0.05)
        unsure = by_pins or net in self.doubtful
        stated = stated or (self._range(net) if unsure else None)
        if unsure and stated is None:
            hangs = message("power-hangs", refs=in_short(self.unknown)) if self.unknown else message("power-unfed")
            because = message("power-driven", point=text) if by_pins else hangs
            self._ask((text,), because, f'[nets] "{net}" = "0 V to 0.4 V"')
            return None
        less, more = min(driven.low, driven.high, 0.0), max(driven.low, driven.high, 0.0)
        off = self.bench.volts.off(spread.nominal)
        computed = Band(spread.low + less - off, spread.nominal, spread.high + more + off, "V", BandBasis.WORST_CASE)
        expect = self._metered(stated) if stated else computed
        check = self._check(Point(text, net), Mode.VOLTS, expect, None, why, True)
        if not unsure:
            self.usual.append((check.id, _inside(spread.usual("V", off), expect)))
            self._compare(net, stated, computed)
        return check

    def _compare(self, net: str, stated: Band | None, computed: Band) -> None:
        """Report a stated band that the middle of the computed one lies outside of."""
        if stated is None or (stated.low or -1e9) <= (computed.nominal or 0.0) <= (stated.high or 1e9):
            return
        name = self.outline.name
        told = message("power-rail-partly", net=net, stated=stated, computed=computed, name=name)
        if (computed.low or 0.0) > (stated.high or 1e9) or (computed.high or 0.0) < (stated.low or -1e9):
            self.disagrees = True  # the draw may be that of a fault: no limit above the usual one rests on it
            told = message("power-rail-disagrees", net=net, stated=stated, computed=computed, name=name)
        self.findings.append(Finding(told, Severity.CHECK))

    def _stated_rail(self, net: str) -> Band | None:
        return stated_rail(self.board, self.circuit, net)

    def _range(self, net: str) -> Band | None:
        return stated_range(self.circuit, net)

    def _metered(self, band: Band) -> Band:
        """Return a band with the meter's own error added at both ends."""
        off = self.bench.volts.off
        low = None if band.low is None else band.low - off(band.low)
        high = None if band.high is None else band.high + off(band.high)
        return Band(low, band.nominal, high, band.unit, band.basis)


def _inside(usual: Band, expect: Band) -> Band:
    """Return the part of the usual band that lies in the band judged by; all of it where they share nothing."""
    low = max(usual.low or 0.0, usual.low or 0.0 if expect.low is None else expect.low)
    high = min(usual.high or 0.0, usual.high or 0.0 if expect.high is None else expect.high)
    return replace(usual, low=low, high=high) if low < high else usual
