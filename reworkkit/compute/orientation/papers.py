"""Which way round each part faces by notes and pin names, set against what the circuit needs; what is still open."""

import re
from collections.abc import Callable
from dataclasses import dataclass, replace

from reworkkit.compute.orientation.facing import (
    CONTRADICTIONS,
    SEEN,
    Facing,
    against_pin_names,
    disagreements,
    lands_of,
    read_facing,
    words_of_mark,
)
from reworkkit.compute.orientation.lands import Lands, Neighbours
from reworkkit.compute.orientation.marks import kind_name, mark_for
from reworkkit.compute.orientation.needs import Refine, settle
from reworkkit.compute.orientation.notes import Names, is_about_facing, read_note
from reworkkit.compute.orientation.ratings import rating_findings
from reworkkit.compute.orientation.verdicts import against_need, by_pin_names, with_type
from reworkkit.model.board import Board
from reworkkit.model.designator import natural_key
from reworkkit.model.messages import Finding, Message, NotJudged, message
from reworkkit.model.part import Note, Part, PartIdentity
from reworkkit.model.results import OrientationVerdict, PolarityMark, Potentials
from reworkkit.model.vocabulary import FacesBasis, Fit, Mount, PolarityVerdict, Severity, YesNo

MarkOf = Callable[[PartIdentity], PolarityMark | None]

_BY_TRUST = ("job", "fitted", "board_toml", "list")
_LOOKS_POLARISED = frozenset({"capacitor_ceramic", "capacitor_film", "capacitor_safety", "varistor", "tvs_two_way"})


def judge_orientation(
    board: Board, potentials: Potentials | None = None, refine: Refine | None = None, mark_of: MarkOf = mark_for
) -> tuple[OrientationVerdict, ...]:
    """Return one verdict per polarised part to be fitted, and per part that is not but looks it, in natural order.

    Without potentials a readable note is `undecided`; its meaning is in `faces` and, where netlist and placement
    tell the land, in `lands`. `refine` works the potentials out once more with the parts decided so far.
    Nothing is taken from a family rule: a mark counts only by its own construction.
    """
    judge = _Judge(board, potentials if board.nets else None, refine, mark_of)
    refs = [ref for ref, part in board.parts.items() if part.fit is Fit.FIT and _concerns(part)]
    return tuple(judge.part(board.parts[ref]) for ref in sorted(refs, key=natural_key))


def _concerns(part: Part) -> bool:
    identity = part.identity
    if identity.polarised is not YesNo.NO:
        return True
    return identity.kind in _LOOKS_POLARISED or bool(_facing_notes(part))


def _facing_notes(part: Part) -> list[Note]:
    """Return the notes that speak of orientation, the most trusted first; `faces` of board.toml always does."""
    notes = [note for note in part.notes if note.source == "board_toml" or is_about_facing(note.text)]
    return sorted(notes, key=lambda note: _BY_TRUST.index(note.source) if note.source in _BY_TRUST else len(_BY_TRUST))


_MOUNTS = re.compile(
    r"\W*(?:metal )?(?:tab|fahne|kühlfahne)\W+(?:facing )?(?:down|flat|up|unten|oben)\W*", re.IGNORECASE
)


def _is_about_mounting(part: Part, note: Note) -> bool:
    """Return whether a note only says how a part with a tab lies: flat on its tab, or with it on top."""
    package = part.identity.package
    tabbed = package is not None and (package.tab is not None or "tab" in package.mark)
    return tabbed and bool(_MOUNTS.fullmatch(note.text))


@dataclass(frozen=True, slots=True)
class _Read:
    """The notes of one part, read."""

    facings: list[Facing]
    unreadable: list[Note]
    findings: list[Finding]


class _Judge:
    """Judges the parts of one board."""

    def __init__(self, board: Board, potentials: Potentials | None, refine: Refine | None, mark_of: MarkOf) -> None:
        self.board = board
        self.settled = settle(board, potentials, refine) if potentials else None
        self.mark_of = mark_of
        self.lands = Lands(board)
        self.neighbours = Neighbours(board.placements.values())
        refs = {*board.parts, *board.placements, *self.lands.by_ref, *board.facts.points}
        self.names = Names(refs, board.nets)

    def part(self, part: Part) -> OrientationVerdict:
        """Return the verdict of one part."""
        if part.identity.polarised is YesNo.NO:
            kind = kind_name(part.identity.kind)
            return self._not_polarised(part, message("polarity-not-polarised", ref=part.ref, kind=kind))
        mark = self.mark_of(part.identity)
        need = self.settled.needs.get(part.ref) if self.settled else None
        two_ended = bool(need and {"anode", "cathode"} <= need.roles.keys())
        if mark and _fits_one_way(part.identity, mark) and not (two_ended and _facing_notes(part)):
            one_way = self._not_polarised(part, message("polarity-fits-one-way", ref=part.ref))
            return with_type(one_way, mark, need) if need and "pin_1" not in need.roles else one_way
        read = self._read(part, mark)
        said = self._undecided(part, mark, read) if read.facings else self._nothing_said(part, mark, read)
        judged = against_need(said, need, by_pin_names(part.ref, self.lands, self._stated(part.ref)))
        rated = rating_findings(self.settled.bench, part, need) if self.settled else ()
        return replace(judged, findings=(*judged.findings, *rated)) if rated else judged

    def _stated(self, ref: str) -> dict[str, str]:
        facts = self.board.facts.parts.get(ref)
        return facts.pins if facts else {}

    def _read(self, part: Part, mark: PolarityMark | None) -> _Read:
        said = [(note, read_note(note.text, self.names)) for note in _facing_notes(part)]
        facings = [read_facing(part.ref, note, one, mark, self.lands) for note, one in said if one]
        unreadable = [note for note, one in said if one is None]
        stated = self._stated(part.ref)
        against = [against_pin_names(part.ref, facing, stated) for facing in facings]
        findings = [_unreadable(part.ref, note) for note in unreadable]
        findings += disagreements(part.ref, facings, mark) + [one for one in against if one]
        return _Read(facings, unreadable, findings)

    def _not_polarised(self, part: Part, why: Message) -> OrientationVerdict:
        notes = [note for note in _facing_notes(part) if not _is_about_mounting(part, note)]
        told = message("polarity-note-not-needed", ref=part.ref, note=notes[0].text) if notes else None
        return OrientationVerdict(
            part.ref,
            part.identity.kind,
            needs={},
            faces={},
            faces_basis=FacesBasis.UNKNOWN,
            verdict=PolarityVerdict.NOT_POLARISED,
            why=why,
            note=notes[0].text if notes else "",
            where=notes[0].where if notes else part.where,
            findings=(Finding(told, Severity.NOTE, (part.ref,), (notes[0].where,)),) if told else (),
        )

    def _undecided(self, part: Part, mark: PolarityMark | None, read: _Read) -> OrientationVerdict:
        facing = read.facings[0]
        contradicted = any(one.message.slug in CONTRADICTIONS for one in read.findings)
        why = (
            message("polarity-notes-open", ref=part.ref) if contradicted else facing.why or self._meaning(facing, part)
        )
        return OrientationVerdict(
            part.ref,
            part.identity.kind,
            needs={},
            faces=facing.faces,
            faces_basis=FacesBasis.SEEN if facing.note.source in SEEN else FacesBasis.PAPERS,
            verdict=PolarityVerdict.UNDECIDED,
            why=why,
            mark=mark,
            note=facing.note.text,
            where=facing.note.where,
            question=self._question_of_note(part, facing, why),
            lands={} if contradicted else lands_of(facing, self.lands.pins(part.ref)),
            findings=tuple(read.findings),
        )

    def _meaning(self, facing: Facing, part: Part) -> Message:
        terminal = facing.terminal.replace("_", " ")
        if facing.pin and facing.pin.net:
            return message(
                "polarity-circuit-not-known-land",
                ref=part.ref,
                terminal=terminal,
                towards=facing.towards,
                pin=facing.pin.number,
                net=facing.pin.net,
            )
        return message("polarity-circuit-not-known", ref=part.ref, terminal=terminal, towards=facing.towards)

    def _question_of_note(self, part: Part, facing: Facing, why: Message) -> NotJudged:
        """Return what is open: the terminal where the mark says nothing reliable, else what the circuit needs."""
        if facing.terminal:
            return NotJudged((part.ref,), message("polarity-what-is-needed", ref=part.ref), why)
        line = f'[parts]\n{_key(part.ref)} = "{_terminal_of(part.identity)} towards {facing.towards}"'
        return NotJudged((part.ref,), message("polarity-which-terminal", ref=part.ref), why, line)

    def _nothing_said(self, part: Part, mark: PolarityMark | None, read: _Read) -> OrientationVerdict:
        unknown = part.identity.polarised is YesNo.UNKNOWN
        note = read.unreadable[0] if read.unreadable else None
        if note:
            why = message("polarity-note-unreadable", ref=part.ref, note=note.text)
        elif unknown:
            why = message("polarity-kind-not-known", ref=part.ref)
        else:
            why = message("polarity-no-note", ref=part.ref)
        return OrientationVerdict(
            part.ref,
            part.identity.kind,
            needs={},
            faces={},
            faces_basis=FacesBasis.UNKNOWN,
            verdict=PolarityVerdict.UNDECIDED if note else PolarityVerdict.NO_NOTE,
            why=why,
            mark=mark,
            note=note.text if note else "",
            where=note.where if note else part.where,
            question=self._question_how(part, mark, why),
            findings=tuple(read.findings),
        )

    def _question_how(self, part: Part, mark: PolarityMark | None, why: Message) -> NotJudged:
        """Return the question how a part faces, with a line to write; its right-hand end is an example."""
        words = words_of_mark(mark.mark) if mark and mark.reliable else []
        shown = words[0].replace("_", " ") if words else _terminal_of(part.identity)
        place = self.board.placements.get(part.ref)
        target = self.neighbours.nearest(place) if place else None
        example = f"{shown} towards {target or 'pad 1'}" if target or shown != "pin 1" else f"{shown} upper left"
        line = f'[parts]\n{_key(part.ref)} = "{example}"'
        return NotJudged((part.ref,), message("polarity-how-faces", ref=part.ref, mark=shown), why, line)


def _fits_one_way(identity: PartIdentity, mark: PolarityMark) -> bool:
    """Return whether the lands take the part one way only: three-lead outlines, and surface parts with a tab."""
    surface = identity.package is not None and identity.package.mount is Mount.SMD
    return mark.construction == "transistor_outline" or (mark.construction == "power_tab" and surface)


def _unreadable(ref: str, note: Note) -> Finding:
    told = message("polarity-note-unreadable", ref=ref, note=note.text)
    return Finding(told, Severity.CHECK, (ref,), (note.where,))


def _terminal_of(identity: PartIdentity) -> str:
    """Return the terminal to ask about where no reliable mark is known: plus for capacitors, cathode for diodes."""
    kind = identity.kind
    if any(word in kind for word in ("capacitor", "tantalum", "electrolytic", "battery", "buzzer")):
        return "plus"
    return "cathode" if any(word in kind for word in ("diode", "led", "zener", "tvs", "rectifier")) else "pin 1"


def _key(ref: str) -> str:
    """Return a designator as a key of board.toml, in quotes where the format wants them."""
    return ref if ref.replace("_", "").replace("-", "").isalnum() and ref.isascii() else f'"{ref}"'
