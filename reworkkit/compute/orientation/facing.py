"""What one note says of one part: which terminal faces what, on which land, and where two notes disagree."""

import re
from dataclasses import dataclass

from reworkkit.compute.orientation.lands import Lands, opposite
from reworkkit.compute.orientation.notes import MARKS, TERMINALS, OrientationNote, Toward
from reworkkit.model.messages import Finding, Message, message
from reworkkit.model.netlist import Pin
from reworkkit.model.part import Note
from reworkkit.model.results import PolarityMark
from reworkkit.model.vocabulary import Severity

OTHER_TERMINAL = {"cathode": "anode", "anode": "cathode", "plus": "minus", "minus": "plus"}
SAME_MARK = {"stripe": "band", "mark": "band", "chamfer": "bevel"}
"""Several words for one mark; the table of constructions may use either."""

_OTHER_LEAD = {"long_lead": "short_lead", "short_lead": "long_lead"}

_PIN_NAMES = {
    "cathode": {"k", "c", "ka", "cathode", "kathode"},
    "anode": {"a", "an", "anode"},
    "plus": {"+", "p", "pos", "plus", "vcc"},
    "minus": {"-", "n", "neg", "minus", "gnd"},
}


@dataclass(frozen=True, slots=True)
class Facing:
    """One readable note, translated: `terminal` is empty where the mark's meaning is not known, `why` then says so."""

    note: Note
    said: OrientationNote
    terminal: str
    pin: Pin | None
    why: Message | None

    @property
    def towards(self) -> str:
        """Return what the note points at, in the words of the board: a name, `pad 1`, or the words as written."""
        kept = (Toward.NET, Toward.REF, Toward.REF_PIN, Toward.NAME)
        if self.said.toward in kept:
            return self.said.target
        return f"pad {self.said.target}" if self.said.toward is Toward.PAD else self.said.words

    @property
    def faces(self) -> dict[str, str]:
        """Return terminal, or else mark, -> what it is towards."""
        return {self.terminal or self.said.mark or "mark": self.towards}


def read_facing(ref: str, note: Note, said: OrientationNote, mark: PolarityMark | None, lands: Lands) -> Facing:
    """Return what a note means for a part whose construction carries `mark` (None: construction not known)."""
    terminal, why = _terminal(ref, said, mark)
    return Facing(note, said, terminal, lands.meant(ref, said), why)


def _terminal(ref: str, said: OrientationNote, mark: PolarityMark | None) -> tuple[str, Message | None]:
    """Return the terminal a note speaks of; a mark means one only by the rule of its own construction."""
    if said.states:
        return said.states, None
    if not said.mark:
        return "", message("polarity-as-printed", ref=ref)
    spoken = said.mark.replace("_", " ")
    if mark is None:
        return "", message("polarity-construction-not-known", ref=ref, mark=spoken)
    if not mark.reliable:
        return "", message("polarity-mark-not-reliable", ref=ref, mark=spoken, construction=mark.construction)
    known = {_same(word) for word in words_of_mark(mark.mark)}
    if _same(said.mark) in known:
        return mark.terminal, None
    if _OTHER_LEAD.get(said.mark) in known and mark.terminal in OTHER_TERMINAL:
        return OTHER_TERMINAL[mark.terminal], None
    return "", message("polarity-other-mark", ref=ref, mark=spoken, construction=mark.construction, usual=mark.mark)


def words_of_mark(written: str) -> list[str]:
    """Return the marks that a cell of the table of constructions names, in its order.

    >>> words_of_mark("band or bevelled edge"), words_of_mark("flat on the rim and short lead")
    (['band', 'bevel'], ['flat', 'short_lead'])
    """
    places: dict[str, int] = {}
    for name, words in MARKS.items():
        if hit := re.search(rf"(?<![\w-])(?:{words})(?![\w-])", written):
            places[name] = hit.start()
    return sorted(places, key=lambda name: places[name])


def _same(mark: str) -> str:
    return SAME_MARK.get(mark, mark)


def lands_of(facing: Facing, pins: list[Pin]) -> dict[str, tuple[str, str]]:
    """Return role -> (pin, net) of the land a note means, and of the other land where the part has just two."""
    if not facing.terminal or facing.pin is None:
        return {}
    found = {facing.terminal: (facing.pin.number, facing.pin.net or "")}
    other = OTHER_TERMINAL.get(facing.terminal)
    rest = [pin for pin in pins if pin.number != facing.pin.number]
    if other and len(rest) == 1:
        found[other] = (rest[0].number, rest[0].net or "")
    return found


def disagreements(ref: str, facings: list[Facing], mark: PolarityMark | None) -> list[Finding]:
    """Return a finding for each pair of notes that cannot both hold, and for each that misnames its own mark."""
    pairs = [(a, b) for n, a in enumerate(facings) for b in facings[n + 1 :]]
    found = [_pair(ref, a, b) for a, b in pairs if contradict(a, b)]
    return found + [
        Finding(
            message("polarity-mark-misnamed", ref=ref, mark=one.said.mark, said=one.said.states, known=mark.terminal),
            Severity.CHECK,
            (ref,),
            (one.note.where,),
            mark.source,
        )
        for one in facings
        if mark and misnames(one.said, mark)
    ]


def misnames(said: OrientationNote, mark: PolarityMark) -> bool:
    """Return whether a note calls a mark by another terminal than its construction does ("minus stripe")."""
    if said.mark in TERMINALS or not said.states or not mark.reliable or mark.terminal not in OTHER_TERMINAL:
        return False
    same = _same(said.mark) in {_same(word) for word in words_of_mark(mark.mark)}
    equal = {"cathode": "minus", "anode": "plus"}
    return same and equal.get(said.states, said.states) != equal.get(mark.terminal, mark.terminal)


SEEN = frozenset({"fitted", "job"})
"""Where a note says what stands on the board, not what the papers want."""
CONTRADICTIONS = frozenset({"polarity-notes-contradict", "polarity-papers-against-board"})


def _pair(ref: str, a: Facing, b: Facing) -> Finding:
    if (a.note.source in SEEN) is not (b.note.source in SEEN):
        seen, papers = (a, b) if a.note.source in SEEN else (b, a)
        against = message(
            "polarity-papers-against-board",
            ref=ref,
            papers=papers.note.text,
            seen=seen.note.text,
            papers_place=str(papers.note.where),
            seen_place=str(seen.note.where),
        )
        return Finding(against, Severity.CHECK, (ref,), (a.note.where, b.note.where))
    told = message(
        "polarity-notes-contradict",
        ref=ref,
        first=a.note.text,
        second=b.note.text,
        first_place=str(a.note.where),
        second_place=str(b.note.where),
    )
    return Finding(told, Severity.CHECK, (ref,), (a.note.where, b.note.where))


def contradict(a: Facing, b: Facing) -> bool:
    """Return whether two notes cannot both hold; notes that cannot be compared do not contradict."""
    what_a, what_b = a.terminal or _same(a.said.mark), b.terminal or _same(b.said.mark)
    swapped = OTHER_TERMINAL.get(what_a) == what_b
    if what_a != what_b and not swapped:
        return False
    if a.pin and b.pin:
        return (a.pin.number == b.pin.number) is swapped
    if a.said.toward is not b.said.toward:
        return False
    if a.said.toward is Toward.COMPASS:
        return opposite(a.said.target, b.said.target) is not swapped if _along(a, b) else False
    if a.said.toward is Toward.PAD:
        return (a.said.target == b.said.target) is swapped
    return swapped and a.said.target == b.said.target


def _along(a: Facing, b: Facing) -> bool:
    """Return whether two compass points lie on one line closely enough to compare: not at a right angle."""
    first, second = a.said.target, b.said.target
    return opposite(first, second) or bool(set(first) & set(second))


def against_pin_names(ref: str, facing: Facing, stated: dict[str, str]) -> Finding | None:
    """Return a finding where the land a note gives a terminal bears another name in netlist or board.toml."""
    if facing.pin is None or not facing.terminal:
        return None
    named = named_terminal(facing.pin, facing.terminal, stated)
    if named is None or named == facing.terminal:
        return None
    told = message(
        "polarity-note-against-pin", ref=ref, note=facing.note.text, terminal=facing.terminal, pin=facing.pin.number,
        named=named,
    )  # fmt: skip
    return Finding(told, Severity.CHECK, (ref,), (facing.note.where, facing.pin.where))


def named_terminal(pin: Pin, wanted: str, stated: dict[str, str]) -> str | None:
    """Return the terminal a pin is called after, from `pins` of board.toml or else its name in the netlist."""
    names = {role.casefold() for role, number in stated.items() if number.casefold() == pin.number.casefold()}
    names |= {(pin.name or pin.number).casefold()}
    if wanted == "pin_1":
        return "pin_1" if pin.number in ("1", "A1") else f"pin {pin.number}"
    return next((terminal for terminal, words in _PIN_NAMES.items() if names & words), None)
