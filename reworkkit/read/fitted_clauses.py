"""A line of a fitted list that says several things: `R1-R8 ok, D3 reversed?, U5 missing`, cut into statements.

Strict: a line counts as read only where every piece is places and a state that is known; else the caller reads the
line as a whole. A state in doubt (`reversed?`, `probably missing`) is handed on in its own words and stays unknown.
"""

import re
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from reworkkit.model.designator import canonical, looks_numbered
from reworkkit.model.designator_cell import expand_cell
from reworkkit.read.fitted_kinds import EXCEPT, kind_at_start
from reworkkit.read.fitted_states import is_state

_CUT = re.compile(
    r"(\s*[;]\s*|\s*\.\s+(?=\S)|\.$|\s*,\s*|\s+\+\s+|\s*\n\s*|\s+&\s+"
    r"|\s+(?:and|but|und|aber|et|mais|y|pero|e|ma|mas|i|ale|a|en|maar|и|а|но|och|men)\s+)",
    re.IGNORECASE,
)
_BRACKET = re.compile(r"\(([^()]*)\)")
_DATE = re.compile(
    r"^(?:\d{4}-\d\d-\d\d|\d{1,2}[./]\d{1,2}[./]?(?:\d{2,4})?|\d{1,2}\.? ?[A-Za-zäéû]{3,9}\.?(?: \d{4})?"
    r"|(?:mon|tue|wed|thu|fri|sat|sun|today|yesterday|monday|tuesday|wednesday|thursday|friday|saturday|sunday)\w*)"
    r"\s*(?::|-|–|,)\s+",
    re.IGNORECASE,
)
_TOOK_OFF = re.compile(
    r"(?:\b(?:i|we|he|she|they|someone|somebody)\s+(?:have\s+|has\s+|had\s+)?)?"
    r"\b(?:took|taken|pulled|removed)\s+((?:[A-Z]{1,4}\d{1,4}[, ]*(?:and )?)+)(?:off|out)\b(?: again)?",
    re.IGNORECASE,
)
_FILLER = re.compile(
    r"^(?:there (?:are|is|were|was)|is|are|was|were|has|have|had|still|now|again|also|the|it|all|both|each|a bit"
    r"|slightly|already|definitely|really|just|only|been|to be|be|at|sind|ist|war|noch|schon|beide|alle|est"
    r"|sont|es|están|está|son|è|sono|é"
    r"|são|są|jest"
    r"|jsou|je|zijn|uses|someone|somebody|i|we|got|get|with|has a|with a|has one|one|är|er|on är)\b\s*",
    re.IGNORECASE,
)
_TAIL = re.compile(
    r"\s*\b(?:on (?:this|the) board|on it|already|now|again|too|as well|also|still|then|today|completely"
    r"|please|it|them|by hand|fine)$"
    r"|[\s!.:…-]+$",
    re.IGNORECASE,
)
_VALUE = re.compile(r"^[\d.,]+\s?[a-zA-ZµμΩ%]{0,4}\d*\s+(?=\S)")
_DOUBT = re.compile(
    r"\?|\b(?:probably|maybe|perhaps|possibly|looks?(?: like)?|seems?(?: to be)?|might(?: be)?|may be|could be"
    r"|i think|apparently"
    r"|wohl|vielleicht|evtl\.?|eventuell|wahrscheinlich|vermutlich|sieht aus|peut-être|quizás?|tal vez|forse"
    r"|talvez|może|asi|možná"
    r"|misschien|возможно|кажется|похоже|наверное|たぶん|可能|好像)(?!\w)",
    re.IGNORECASE,
)
_LOOKS_STATES = frozenset(["looks ok", "looks good", "looks fine", "looks right"])


_LIKE_BEFORE = frozenset(
    ["too", "also", "as well", "likewise", "auch", "aussi", "también", "anche", "też", "také", "ook", "тоже", "ditto"]
)


_ONLY = frozenset(["only", "just", "nur", "seulement", "seuls", "solo", "tylko", "jen", "alleen", "только", "soltanto"])


def _parted_at_except(text: str) -> tuple[str, str, str]:
    parts = EXCEPT.split(f" {text}", maxsplit=1)
    return (parts[0], "except", parts[1]) if len(parts) == 2 and any(c.isdigit() for c in parts[1]) else (text, "", "")


class Piece(NamedTuple):
    """One thing said: places, the state as written, a remark; `general` where a kind or everything was named."""

    refs: tuple[str, ...]
    state: str
    note: str
    general: bool


class _Chunk(NamedTuple):
    """A chunk between two cuts: words before the places, the places, words behind them."""

    before: str
    refs: tuple[str, ...]
    after: str
    general: bool


def pieces_of(line: str, refs: Mapping[str, str]) -> list[Piece] | None:
    """Return what a line says, or None where a part of it is not understood.

    >>> [(p.refs, p.state) for p in pieces_of("R1-R2 ok, U5 missing", {}) or []]
    [(('R1', 'R2'), 'ok'), (('U5',), 'missing')]
    """
    line = _TOOK_OFF.sub(lambda m: f"{m[1].strip(' ,')} taken off", _DATE.sub("", line.strip()))
    read = _read(line, refs)
    label, colon, rest = line.partition(":")
    if read is None and colon and _is_label(label):
        return _read(rest.strip(), refs)
    return read


def _read(line: str, refs: Mapping[str, str]) -> list[Piece] | None:
    reader = _Reader(refs)
    for text in _chunks(line):
        if not reader.take(text):
            return None
    return reader.done()


def _is_label(text: str) -> bool:
    """`top side:`, `upper left:` say where, not how: no figure and no word of a state."""
    words = text.split()
    return 0 < len(words) <= 4 and not any(c.isdigit() for c in text) and not any(map(is_state, words))


def _chunks(line: str) -> list[str]:
    """Return the chunks of a line; a full stop and a semicolon end what was begun, and come back as `;`."""
    notes = _BRACKET.findall(line)
    bare = _BRACKET.sub(" \ue000 ", line)
    found: list[str] = []
    for n, piece in enumerate(_CUT.split(bare)):
        if n % 2:
            if piece.strip()[:1] in (";", ".") or "\n" in piece:
                found.append(";")
            continue
        while "\ue000" in piece and notes:
            piece = piece.replace("\ue000", f"({notes.pop(0)})", 1)
        if piece.strip():
            found.append(piece.strip())
    return found


class _Reader:
    """Takes the chunks of a line in turn: places wait for the state behind them, a state in front holds on."""

    def __init__(self, refs: Mapping[str, str]) -> None:
        self.refs = refs
        self.pieces: list[Piece] = []
        self.waiting: list[str] = []
        self.general = False
        self.prefix = ""
        self.note = ""

    def take(self, text: str) -> bool:
        """Read one chunk; False where it is not understood."""
        if text == ";":
            return self._end()
        bracket = _BRACKET.search(text)
        if bracket:
            text = " ".join(_BRACKET.sub(" ", text).split())
            self.note = bracket[1]
        if not text:
            return self._bracket_alone()
        chunk = _chunk_of(text.replace(" :", ":"), self.refs, self.general)
        if chunk is None:
            return False
        if chunk.before and not self._prefixed(chunk.before):
            return False
        self.waiting += chunk.refs
        self.general = self.general or chunk.general
        return self._with_state(chunk)

    def _prefixed(self, words: str) -> bool:
        state = _bare(words)
        if state.casefold() in _ONLY and not self.waiting:
            return True
        if self.waiting or not _means(state):
            return False
        self.prefix = state
        return True

    def _with_state(self, chunk: _Chunk) -> bool:
        if chunk.after and not (self.prefix and not _TAIL.sub("", f" {chunk.after}").strip()):
            if chunk.after.casefold() in _LIKE_BEFORE and self.pieces and self.waiting:
                self._say(self.pieces[-1].state)
                return True
            words, _, left_out = (part.strip(" ,") for part in _parted_at_except(chunk.after))
            if left_out:
                out = expand_cell(left_out, None, self.refs)
                if not out.refs or out.unread or not self.waiting:
                    return False
                self.waiting = [ref for ref in self.waiting if ref not in out.refs]
                if is_state(self.note):
                    self.pieces.append(Piece(out.refs, self.note, "", False))
                    self.note = ""
            state = _bare(words)
            if not _means(state):
                return False
            if self.waiting:
                self._say(state)
                return True
            return self._more(state)
        if self.prefix and self.waiting:
            self._say(self.prefix)
        return True

    def _more(self, state: str) -> bool:
        """A further state of the places said last: `D1 there, backwards`."""
        if not self.pieces:
            return False
        last = self.pieces[-1]
        self.pieces[-1] = last._replace(state=f"{last.state}, {state}")
        return True

    def _bracket_alone(self) -> bool:
        if self.pieces and not self.waiting:
            last = self.pieces[-1]
            self.pieces[-1] = last._replace(note="; ".join(t for t in (last.note, self.note) if t))
        return bool(self.pieces or self.waiting)

    def _say(self, state: str) -> None:
        note = self.note
        if note and is_state(note):
            state, note = f"{state}, {note}", ""
        self.pieces.append(Piece(tuple(self.waiting), state, note, self.general))
        self.waiting, self.general, self.note = [], False, ""

    def _end(self) -> bool:
        told = not self.waiting
        self.prefix = ""
        return told

    def done(self) -> list[Piece] | None:
        """Return the pieces; None where places were left without a state."""
        return self.pieces if self.pieces and not self.waiting else None


def _chunk_of(text: str, refs: Mapping[str, str], letters_too: bool) -> _Chunk | None:
    """Cut a chunk into words, places, words; None where it has neither a place nor a state."""
    words = text.split()
    for start in range(len(words)):
        if start > 6:
            break
        kind, length = kind_at_start(words[start:], refs, letters_too)
        if kind is not None:
            after = " ".join(words[start + length :])
            return _Chunk(" ".join(words[:start]).rstrip(": "), kind, after.lstrip(":-–= "), True)
        end = _end_of_places(words, start, refs)
        if end > start:
            named = expand_cell(" ".join(words[start:end]).strip(":,=-– "), None, refs)
            if not named.refs or named.unread:
                return None
            after = " ".join(words[end:]).lstrip(":-–=→> ")
            return _Chunk(" ".join(words[:start]).rstrip(": "), named.refs, after, False)
    return _Chunk("", (), text, False)


def _end_of_places(words: Sequence[str], start: int, refs: Mapping[str, str]) -> int:
    end = start
    while end < len(words):
        word = words[end].rstrip(":=,")
        inner = (
            word in ("-", "–", "to", "bis", "à", "..", "...", "thru", "/", "до", "až", "a")
            and start < end < len(words) - 1
        )
        if inner and _is_ref(words[end + 1].rstrip(":=,"), refs):
            end += 1
        elif _is_ref(word, refs):
            end += 1
            if words[end - 1] != word:
                break
        else:
            break
    return end


def _is_ref(word: str, refs: Mapping[str, str]) -> bool:
    ref = canonical(word)
    if ref in refs:
        return not is_state(word) or looks_numbered(ref)
    if looks_numbered(ref):
        return True
    found = expand_cell(word).refs
    return len(found) > 1 and all(looks_numbered(r) for r in found)


def _bare(words: str) -> str:
    """Return a state without the small words around it: `is still there` -> `there`."""
    text = words.strip(" :,-–")
    before = ""
    while text != before and not is_state(text):
        before = text
        text = _TAIL.sub("", text)
        if not is_state(text):
            text = _VALUE.sub("", _FILLER.sub("", text))
    return text.strip() or words.strip()


def _means(state: str) -> bool:
    """Tell whether words are a state, or a state in doubt."""
    if is_state(state):
        return True
    sure = _bare(" ".join(_DOUBT.sub(" ", state).split()))
    return bool(sure) and sure != state and (is_state(sure) or not sure.strip())
