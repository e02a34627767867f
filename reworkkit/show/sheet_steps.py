"""Operations of the work order as cards: set-up, what to lay out, and each step with its picture and place."""

from collections.abc import Mapping

from reworkkit.model.board import Board
from reworkkit.model.difference import Difference
from reworkkit.model.job import PlaceState, Situation
from reworkkit.model.measuring import Check, Point
from reworkkit.model.messages import Message, message
from reworkkit.model.results import HeatDemand, HoldPoint, Operation, OrientationVerdict, Plan, SetUp
from reworkkit.model.value_marks import is_chip
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis, CheckPurpose, DiffStatus, Mode, OperationKind, Side
from reworkkit.show.drawing_marks import draw_part, picture_key, sign_of
from reworkkit.show.drawing_names import pins_of, shape_of
from reworkkit.show.drawings import Picture
from reworkkit.show.sheet import AlertLine, Dial, HoldCard, Line, MeterLine, OperationCard, Pick, Spot, Step, Way
from reworkkit.show.sheet_alerts import said_better
from reworkkit.show.sheet_facing import (
    HIGHEST_SETTING_C,
    facing_lines,
    heat_lines,
    meter_line,
    short_facing_lines,
)
from reworkkit.show.sheet_holds import HoldCards
from reworkkit.show.sheet_places import Places
from reworkkit.show.sheet_readings import Known
from reworkkit.show.sheet_removal import Removals
from reworkkit.show.sheet_way import has_marked_end, lying, may_lie, pad_angles
from reworkkit.show.sheet_words import SIDES, STATUSES, Speaker, element_id, package_words, ref_list

LAID_OUT = frozenset({OperationKind.FIT, OperationKind.TACK, OperationKind.SOLDER, OperationKind.FASTEN})
HEATED = frozenset({OperationKind.TACK, OperationKind.SOLDER, OperationKind.DESOLDER, OperationKind.CLEAR_HOLES})
WHOLE_BOARD = "BOARD"
PUT_IN = frozenset({OperationKind.FIT, OperationKind.TACK, OperationKind.FASTEN, OperationKind.SOLDER})
ORIENTED = PUT_IN | {OperationKind.BEEP_PADS, OperationKind.INSPECT}
"""Operations at which the part is shown as it must lie."""
ZERO_V = 0.1
"""Under this the supply counts as discharged: iron and ohmmeter may come (safety practice, no source opened)."""
TO_BE_PUT_IN = frozenset({DiffStatus.MISSING, DiffStatus.TO_REPLACE})
TOLD = frozenset({DiffStatus.TO_REPLACE, DiffStatus.TO_TURN, DiffStatus.NOT_INSPECTED, DiffStatus.UNEXPECTED})


class StepMaker:
    """Makes the cards of all operations; keeps the pictures they need, and what was already told of each part."""

    def __init__(
        self,
        board: Board,
        difference: Difference,
        verdicts: tuple[OrientationVerdict, ...],
        situation: Situation,
        places: Places,
        marks: Mapping[str, tuple[str, ...]],
        heat: Mapping[str, HeatDemand],
        speaker: Speaker,
        removals: Removals | None = None,
        hold_points: tuple[HoldPoint, ...] = (),
        done: frozenset[tuple[str, str]] = frozenset(),
    ) -> None:
        self.board, self.situation, self.places, self.speaker = board, situation, places, speaker
        self.items = {item.ref: item for item in difference.items}
        self.verdicts = {verdict.ref: verdict for verdict in verdicts}
        self.marks, self.heat = marks, heat
        self.removals = removals or Removals(None, speaker)
        self.angles = pad_angles(board, tuple(self.verdicts))
        self.outlines = tuple(point.outline for point in hold_points)
        self._figured = frozenset(text.slug for hold in hold_points for _, text in hold.cautions)
        self.known = Known(situation.readings, situation.states)
        self.instead = {used.ref: used for used in situation.substitutions if used.accepted}
        self.pin_counts = _pin_counts(board)
        self.pictures: dict[str, Picture] = {}
        self._done = done
        self._told: set[str] = set()
        self._oriented: set[str] = set()
        self._probed: set[str] = set()
        self._keys: dict[str, int] = {}
        self._laid_out: set[str] = set()
        self._shapes: dict[int, tuple[str, int]] = {}

    def cards(self, plan: Plan, holds: HoldCards) -> tuple[OperationCard, ...]:
        """Return one card for each operation, with the hold points that stand after it."""
        own = {name for op in plan.operations if op.kind == OperationKind.HOLD_POINT for name in op.refs}
        last = {op.hold_point: op.n for op in plan.operations if op.hold_point and op.hold_point not in own}
        told_group, shown = "", frozenset[str]()
        cards = []
        for op in plan.operations:
            card = self._card(op, "" if op.group == told_group else op.group, self._holds(op, last, holds))
            cards.append(card._replace(sides=()) if shown == frozenset(op.refs) else card)
            told_group, shown = op.group, frozenset(op.refs)
        return tuple(cards)

    def _holds(self, op: Operation, last: dict[str, int], holds: HoldCards) -> tuple[HoldCard, ...]:
        if op.kind == OperationKind.HOLD_POINT:
            return holds.take(*op.refs)
        return holds.take_after(op.n, last)

    def _card(self, op: Operation, group: str, holds: tuple[HoldCard, ...]) -> OperationCard:
        speaker = self.speaker
        derived = op.kind == OperationKind.HOLD_POINT
        steps = () if derived else tuple(self._step(op, ref) for ref in dict.fromkeys(op.refs))
        steps, alerts, common = said_once(steps)
        return OperationCard(
            f"operation-{op.n}",
            op.n,
            op.kind,
            speaker.kind(op.kind),
            speaker.say(op.title),
            ref_list(self._subject_words(ref) for ref in op.refs),
            speaker.say(Message(group)) if group else "",
            self._dials(op.setup),
            speaker.all(op.why),
            tuple(dict.fromkeys((*speaker.alerts(said_better(op.alerts, self._figured)), *alerts))),
            common,
            self._picks(op),
            steps,
            self._sides(op.refs),
            holds,
        )

    def _dials(self, setup: SetUp) -> tuple[Dial, ...]:
        text = self.speaker.text
        dials = []
        if setup.tool:
            dials.append(Dial(text("page-dial-tool"), setup.tool))
        if setup.tip:
            dials.append(Dial(text("page-dial-tip"), setup.tip))
        if setup.setting_c is not None:
            allowed = setup.setting_c <= HIGHEST_SETTING_C
            shown = text("page-degrees", degrees=setup.setting_c) if allowed else text("page-setting-too-high")
            dials.append(Dial(text("page-dial-setting"), shown))
        if setup.preheat_c is not None:
            dials.append(Dial(text("page-dial-preheat"), text("page-degrees", degrees=setup.preheat_c)))
        if setup.side:
            dials.append(Dial(text("page-dial-side"), self._side_words(setup.side)))
        if setup.tool or not setup.strap:
            dials.append(
                Dial(text("page-dial-strap"), text("page-strap-on") if setup.strap else text("page-strap-off"))
            )
        return tuple(dials)

    def _side_words(self, side: str) -> str:
        return self.speaker.say(SIDES[Side(side)]) if side in set(Side) else side

    def _subject_words(self, subject: str) -> str:
        if subject == WHOLE_BOARD:
            return self.speaker.text("page-whole-board")
        return self._side_words(subject.casefold()) if subject.casefold() in set(Side) else subject

    def _sides(self, refs: tuple[str, ...]) -> tuple[tuple[str, tuple[Spot, ...]], ...]:
        spots = [self.places.spots[ref] for ref in dict.fromkeys(refs) if ref in self.places.spots]
        return tuple(
            (side.value, here)
            for side in (Side.TOP, Side.BOTTOM)
            if (here := tuple(s for s in spots if s.side == side))
        )

    def _picks(self, op: Operation) -> tuple[Pick, ...]:
        if op.kind not in LAID_OUT:
            return ()
        rows: dict[tuple[str, ...], list[str]] = {}
        for ref in op.refs:
            item = self.items.get(ref)
            if item is None or item.status not in TO_BE_PUT_IN or ref in self._laid_out:
                continue
            self._laid_out.add(ref)
            used = self.instead.get(ref)
            number = used.candidate if used else item.part_number
            part = self.board.parts.get(ref)
            package = package_words(part.identity if part else None, item.package)
            rows.setdefault((item.value, package, number, self._marking(ref)), []).append(ref)
        return tuple(
            Pick(ref_list(refs), len(refs), value, package, number, marking)
            for (value, package, number, marking), refs in rows.items()
        )

    def _marking(self, ref: str) -> str:
        """Return what is printed on a part; most ceramic chips carry nothing, and the code is the exception."""
        marks, part = " / ".join(self.marks.get(ref, ())), self.board.parts.get(ref)
        seldom = marks and part and part.identity.kind == "capacitor_ceramic" and is_chip(part)
        return self.speaker.text("page-marking-seldom", marking=marks) if seldom else marks

    def _step(self, op: Operation, ref: str) -> Step:
        kind, first = op.kind, ref not in self._told
        self._told.add(ref)
        item = self.items.get(ref)
        part = self.board.parts.get(ref)
        spot = self.places.spots.get(ref)
        verdict = self.verdicts.get(ref)
        state = self.situation.states.get(ref)
        way = self._way(ref, verdict) if kind in ORIENTED else None
        picture, picture_words = self._picture(ref, verdict) if way is None else ("", self._way_words(ref))
        return Step(
            self._key(kind, ref),
            kind,
            ref,
            ref if part or item else self._subject_words(ref),
            self.speaker.kind(kind),
            (state is not None and kind in state.steps_done) or (kind, ref) in self._done,
            item.value if item else part.identity.value.text if part else "",
            package_words(
                part.identity if part else None, item.package if item else part.identity.package_text if part else ""
            ),
            self._marking(ref),
            spot,
            self.speaker.text("page-no-zone") if part and not spot and self.places.spots else "",
            picture,
            picture_words,
            way,
            (*self._standing(ref, state, first), *self._facing(kind, ref, verdict), *self._off(kind, ref)),
            heat_lines(self.heat.get(ref), op.setup, self.speaker) if kind in HEATED else (),
            self.removals.alerts(ref) if kind == OperationKind.DESOLDER else (),
            self._meter(kind, verdict, ref),
        )

    def _meter(self, kind: str, verdict: OrientationVerdict | None, ref: str) -> tuple[MeterLine, ...]:
        probes = self._probes(kind, verdict, ref)
        return tuple(meter_line(check, f"{kind}-{ref}", self.speaker, self.known) for check in probes)

    def _probes(self, kind: str, verdict: OrientationVerdict | None, ref: str) -> tuple[Check, ...]:
        """Return the probes of a step: bare pads before the part goes in, the part itself once it is on the board."""
        if kind == OperationKind.PROVE_PLACE:
            return self.removals.probes(ref)
        if kind == OperationKind.DISCHARGE:
            return self._zero(ref)
        if verdict is None:
            return ()
        bare = kind == OperationKind.BEEP_PADS or kind in PUT_IN
        if not bare and kind != OperationKind.INSPECT and not self._comes_off_to_be_turned(kind, ref):
            return ()
        purpose = CheckPurpose.BARE_PLACE if bare else CheckPurpose.ORIENTATION
        probes = tuple(c for c in verdict.checks if c.purpose is purpose and c.id not in self._probed)
        if kind != OperationKind.DESOLDER:
            self._probed |= {check.id for check in probes}
        return probes

    def _comes_off_to_be_turned(self, kind: str, ref: str) -> bool:
        item = self.items.get(ref)
        return kind == OperationKind.DESOLDER and item is not None and item.status is DiffStatus.TO_TURN

    def _zero(self, subject: str) -> tuple[Check, ...]:
        """Return the probes that show the board discharged: the supply of that hold point, else of all."""
        chosen = [one for one in self.outlines if one.name == subject] or self.outlines
        band = Band(-ZERO_V, 0.0, ZERO_V, "V", BandBasis.STATED)
        return tuple(
            Check(
                f"zero-{subject}-{net}", CheckPurpose.HOLD_POINT, Point(net, net), Mode.VOLTS, None,
                band, band, (), None, message("page-zero-why"), 5.0,
            )
            for net in dict.fromkeys(one.supply for one in chosen if one.supply)
        )  # fmt: skip

    def _off(self, kind: str, ref: str) -> tuple[Line, ...]:
        if kind == OperationKind.DESOLDER:
            return self.removals.way(ref)
        return (*self.removals.wires(ref), *self.removals.after(ref)) if kind == OperationKind.PROVE_PLACE else ()

    def _key(self, kind: str, ref: str) -> str:
        key = f"step-{kind.replace('_', '-')}-{element_id(ref)}"
        self._keys[key] = self._keys.get(key, 0) + 1
        return key if self._keys[key] == 1 else f"{key}--{self._keys[key]}"

    def _standing(self, ref: str, state: PlaceState | None, first: bool) -> tuple[Line, ...]:
        """Return how the place was found, its remark, and what is used instead."""
        lines: list[Line] = []
        item = self.items.get(ref)
        if item and item.status in TOLD and first:
            lines.append(
                Line(self.speaker.text("page-found-as", state=self.speaker.say(STATUSES[item.status])), "plain")
            )
        if state and state.note and first:
            lines.append(Line(self.speaker.text("page-remark", note=state.note), "plain"))
        if used := self.instead.get(ref):
            lines.append(Line(self.speaker.text("page-instead", part=used.candidate, reason=used.reason), "doubt"))
        return tuple(lines)

    def _facing(self, kind: str, ref: str, verdict: OrientationVerdict | None) -> tuple[Line, ...]:
        """Return which way round, where a hand needs it: in full once before the part goes in, then in short."""
        to_be_turned = self._comes_off_to_be_turned(kind, ref)
        if verdict is None or (kind not in ORIENTED and not to_be_turned):
            return ()
        in_full = to_be_turned or (kind != OperationKind.INSPECT and ref not in self._oriented)
        if not to_be_turned:
            self._oriented.add(ref)
        return (facing_lines if in_full else short_facing_lines)(verdict, self.angles, self.speaker)

    def _way(self, ref: str, verdict: OrientationVerdict | None) -> Way | None:
        if ref not in self.board.parts:
            return None
        shape, pins = self._shape(ref)
        if verdict is None or not may_lie(verdict, shape):
            return None
        mark = verdict.mark
        sign = sign_of(mark.mark) if mark and has_marked_end(verdict) else None
        sign = None if sign == "plus" else sign  # the name of that end is the same sign
        key = picture_key(shape, pins, sign)
        picture = self.pictures.get(key) or draw_part(shape, pins, sign)
        way = lying(key, picture, verdict, self.angles)
        if way:
            self.pictures[key] = picture
        return way

    def _way_words(self, ref: str) -> str:
        identity = self.board.parts[ref].identity
        outline = package_words(identity, identity.package_text) or self.speaker.text("page-outline-unknown")
        side = self.speaker.say(SIDES[self.board.placements[ref].side])
        return self.speaker.text("page-way", outline=outline, side=side)

    def _picture(self, ref: str, verdict: OrientationVerdict | None) -> tuple[str, str]:
        part = self.board.parts.get(ref)
        if part is None:
            return "", ""
        shape, pins = self._shape(ref)
        mark = verdict.mark if verdict else None
        sign = sign_of(mark.mark) if mark else None
        reliable = mark is None or mark.reliable
        key = picture_key(shape, pins, sign, reliable)
        if key not in self.pictures:
            self.pictures[key] = draw_part(shape, pins, sign, reliable)
        outline = package_words(part.identity, part.identity.package_text) or self.speaker.text("page-outline-unknown")
        if mark is None:
            return key, self.speaker.text("page-picture-plain", outline=outline)
        slug = "page-picture-mark" if reliable else "page-picture-doubt"
        return key, self.speaker.say(Message(slug, (("outline", outline), ("mark", mark.mark))))

    def _shape(self, ref: str) -> tuple[str, int]:
        identity = self.board.parts[ref].identity
        if id(identity) not in self._shapes:
            self._shapes[id(identity)] = shape_of(identity), pins_of(identity, self.pin_counts.get(ref, 0))
        return self._shapes[id(identity)]


def said_once(
    steps: tuple[Step, ...],
) -> tuple[tuple[Step, ...], tuple[AlertLine, ...], tuple[Line, ...]]:
    """Return steps without what all of them say alike, then those alerts and lines: they stand at the operation.

    What a single step says stays there.
    """
    if len(steps) < 2:
        return steps, (), ()
    alerts = tuple(alert for alert in steps[0].alerts if all(alert in step.alerts for step in steps))
    said = (*steps[0].facing, *steps[0].heat)
    common = tuple(line for line in said if all(line in (*step.facing, *step.heat) for step in steps))
    return (
        tuple(
            step._replace(
                alerts=tuple(alert for alert in step.alerts if alert not in alerts),
                facing=tuple(line for line in step.facing if line not in common),
                heat=tuple(line for line in step.heat if line not in common),
            )
            for step in steps
        ),
        alerts,
        common,
    )


def _pin_counts(board: Board) -> dict[str, int]:
    counts: dict[str, int] = {}
    for ref, _ in board.pins:
        counts[ref] = counts.get(ref, 0) + 1
    return counts
