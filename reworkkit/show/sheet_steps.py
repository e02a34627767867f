"""Operations of the work order as cards: set-up, what to lay out, and each step with its picture and place."""

from collections.abc import Mapping

from reworkkit.model.board import Board
from reworkkit.model.difference import Difference
from reworkkit.model.job import PlaceState, Situation
from reworkkit.model.measuring import Check
from reworkkit.model.messages import Message
from reworkkit.model.results import HeatDemand, Operation, OrientationVerdict, Plan, SetUp
from reworkkit.model.value_marks import is_chip
from reworkkit.model.vocabulary import DiffStatus, OperationKind, Side
from reworkkit.show.drawing_marks import draw_part, picture_key, sign_of
from reworkkit.show.drawing_names import pins_of, shape_of
from reworkkit.show.drawings import Picture
from reworkkit.show.sheet import Dial, HoldCard, Line, OperationCard, Pick, Spot, Step
from reworkkit.show.sheet_facing import (
    HIGHEST_SETTING_C,
    facing_lines,
    heat_lines,
    mark_line,
    meter_line,
    pad_directions,
)
from reworkkit.show.sheet_holds import HoldCards
from reworkkit.show.sheet_places import Places
from reworkkit.show.sheet_removal import Removals
from reworkkit.show.sheet_words import SIDES, STATUSES, Speaker, element_id, ref_list

LAID_OUT = frozenset({OperationKind.FIT, OperationKind.TACK, OperationKind.SOLDER, OperationKind.FASTEN})
HEATED = frozenset({OperationKind.TACK, OperationKind.SOLDER, OperationKind.DESOLDER, OperationKind.CLEAR_HOLES})
WHOLE_BOARD = "BOARD"
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
    ) -> None:
        self.board, self.situation, self.places, self.speaker = board, situation, places, speaker
        self.items = {item.ref: item for item in difference.items}
        self.verdicts = {verdict.ref: verdict for verdict in verdicts}
        self.marks, self.heat = marks, heat
        self.removals = removals or Removals(None, speaker)
        self.directions = pad_directions(board, tuple(self.verdicts), speaker)
        self.instead = {used.ref: used for used in situation.substitutions if used.accepted}
        self.pin_counts = _pin_counts(board)
        self.pictures: dict[str, Picture] = {}
        self._told: set[str] = set()
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
        return OperationCard(
            f"operation-{op.n}",
            op.n,
            op.kind,
            speaker.kind(op.kind),
            speaker.say(op.title),
            speaker.say(Message(group)) if group else "",
            self._dials(op.setup),
            speaker.all(op.why),
            speaker.alerts(op.alerts),
            self._picks(op),
            () if derived else tuple(self._step(op, ref) for ref in dict.fromkeys(op.refs)),
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
            rows.setdefault((item.value, item.package, number, self._marking(ref)), []).append(ref)
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
        picture, picture_words = self._picture(ref, verdict)
        return Step(
            self._key(kind, ref),
            kind,
            ref,
            ref if part or item else self._subject_words(ref),
            self.speaker.kind(kind),
            state is not None and kind in state.steps_done,
            item.value if item else part.identity.value.text if part else "",
            item.package if item else part.identity.package_text if part else "",
            self._marking(ref),
            spot,
            self.speaker.text("page-no-zone") if part and not spot else "",
            picture,
            picture_words,
            (*self._facing(ref, verdict, state, first), *self._off(kind, ref)),
            heat_lines(self.heat.get(ref), op.setup, self.speaker) if kind in HEATED else (),
            self.removals.alerts(ref) if kind == OperationKind.DESOLDER else (),
            tuple(meter_line(c, f"{kind}-{ref}", self.speaker) for c in self._probes(kind, verdict, first, ref)),
        )

    def _probes(self, kind: str, verdict: OrientationVerdict | None, first: bool, ref: str) -> tuple[Check, ...]:
        if kind == OperationKind.PROVE_PLACE:
            return self.removals.probes(ref)
        return verdict.checks if verdict and first else ()

    def _off(self, kind: str, ref: str) -> tuple[Line, ...]:
        if kind == OperationKind.DESOLDER:
            return self.removals.way(ref)
        return (*self.removals.wires(ref), *self.removals.after(ref)) if kind == OperationKind.PROVE_PLACE else ()

    def _key(self, kind: str, ref: str) -> str:
        key = f"step-{kind.replace('_', '-')}-{element_id(ref)}"
        self._keys[key] = self._keys.get(key, 0) + 1
        return key if self._keys[key] == 1 else f"{key}--{self._keys[key]}"

    def _facing(
        self, ref: str, verdict: OrientationVerdict | None, state: PlaceState | None, first: bool
    ) -> tuple[Line, ...]:
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
        if verdict and first:
            lines.extend(facing_lines(verdict, self.directions, self.speaker))
        elif verdict and (rule := mark_line(verdict, self.speaker)):
            lines.append(rule)
        return tuple(lines)

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
        outline = part.identity.package_text or self.speaker.text("page-outline-unknown")
        if mark is None:
            return key, self.speaker.text("page-picture-plain", outline=outline)
        slug = "page-picture-mark" if reliable else "page-picture-doubt"
        return key, self.speaker.say(Message(slug, (("outline", outline), ("mark", mark.mark))))

    def _shape(self, ref: str) -> tuple[str, int]:
        identity = self.board.parts[ref].identity
        if id(identity) not in self._shapes:
            self._shapes[id(identity)] = shape_of(identity), pins_of(identity, self.pin_counts.get(ref, 0))
        return self._shapes[id(identity)]


def _pin_counts(board: Board) -> dict[str, int]:
    counts: dict[str, int] = {}
    for ref, _ in board.pins:
        counts[ref] = counts.get(ref, 0) + 1
    return counts
