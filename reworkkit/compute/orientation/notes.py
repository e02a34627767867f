"""Notes about how a part faces: `band towards K1` is a mark and a direction, or it is not understood.

A clause is read whole or not at all. "band away from K1", "K1 side" or a name nobody knows gives None: the person is
asked again, nothing is guessed. English first; the German words of the trade are known too.
"""

import re
from collections.abc import Collection
from enum import StrEnum
from typing import NamedTuple

from reworkkit.model.designator import canonical


class Toward(StrEnum):
    """What kind of thing a note points at."""

    PAD = "pad"
    NET = "net"
    REF = "ref"
    REF_PIN = "ref_pin"
    COMPASS = "compass"
    SQUARE_PAD = "square_pad"
    SILKSCREEN = "silkscreen"
    NAME = "name"


class OrientationNote(NamedTuple):
    """A note taken apart: which mark or terminal, which terminal it calls the mark (or empty), and towards what.

    `mark` is a word of `MARKS`, or empty for the part as a whole; `target` is a pad number, a name, or one of the
    eight compass points (`n` is up, seen by a person who looks at the side the part sits on).
    """

    mark: str
    states: str
    toward: Toward
    target: str
    words: str
    """The direction as written."""


MARKS: dict[str, str] = {
    "band": r"(?:colou?r )?bands?|ring|bar|farbring|balken",
    "stripe": r"stripe|line|strich|streifen",
    "dot": r"dot|punkt",
    "notch": r"notch|kerbe",
    "bevel": r"bevel|bevelled (?:edge|corner)|fase",
    "chamfer": r"chamfer|chamfered (?:edge|corner)",
    "mark": r"mark|marking|markierung",
    "tab": r"(?:metal )?tab|fahne|k(?:ü|ue)hlfahne",
    "flat": r"flat|flat (?:side|face)|flattened side|abflachung",
    "long_lead": r"long(?:er)? (?:lead|leg|pin)|langes bein|lange[rs]? anschluss",
    "short_lead": r"short(?:er)? (?:lead|leg|pin)|kurzes bein|kurze[rs]? anschluss",
    "square_pad": r"square (?:pad|land)|eckiges pad",
    "arrow": r"arrows?|arrow head|pfeil",
    "groove": r"groove|indent|nut|rille",
    "plus": r"plus|\+|positive|pos",
    "minus": r"minus|-|−|negative|neg",
    "cathode": r"cathode|kathode|(?-i:K)",
    "anode": r"anode|(?-i:A)",
    "pin_1": r"pin ?1|pad ?1",
}
"""Marks and terminals a note may name, with the ways they are written."""

TERMINALS = frozenset({"plus", "minus", "cathode", "anode", "pin_1"})

_EIGHT = {"n": "n", "e": "e", "s": "s", "w": "w", "ne": "ne", "se": "se", "sw": "sw", "nw": "nw"}
_LONG = {"north": "n", "east": "e", "south": "s", "west": "w", "nord": "n", "norden": "n", "ost": "e", "osten": "e"}
_LONG |= {"süd": "s", "süden": "s", "sued": "s", "sueden": "s", "westen": "w"}
_LONG |= {a + gap + b: a[0] + b[0] for a in ("north", "south") for b in ("east", "west") for gap in ("", "-", " ")}
_SIDES = {"left": "w", "right": "e", "up": "n", "upwards": "n", "upper": "n", "top": "n", "down": "s", "downwards": "s"}
_SIDES |= {"bottom": "s", "lower": "s", "links": "w", "rechts": "e", "oben": "n", "unten": "s"}
_SIDES |= {f"{row} {side}": v + h for row, v in _SIDES.items() for side, h in _SIDES.items() if v in "ns" and h in "we"}
_ALL_POINTS = {**_LONG, **_SIDES}

_FILLER = (
    r"(?:(?:[-*•]|an?|fit|mount|place|solder|insert|with|the|its|"
    r"led|diode|black|white|grey|gray|silver|red|mit|der|die|das) )*"
)
_SUFFIX = r"(?: (?:side|end|mark|marking|markierung|lead|leg|line|seite))?"
_LINK = (
    r"towards?|to|at|on|in|is|are|goes|faces?|facing|points?|pointing|next|nearest|near|nearer|closest|by|marks|matches|"
    r"as|like|the|zum?|zur|nach|gegen|an|am|bei|beim|auf|richtung|zeigt|liegt|ist|der|die|das|wie|im|=|:|->|→"
)
_STATED_WORDS = {"plus": "plus|positive", "minus": "minus|negative", "cathode": "cathode|kathode", "anode": "anode"}
_TERMINAL_WORDS = "|".join(f"(?P<{name}>{words})" for name, words in _STATED_WORDS.items())
_MARK_WORDS = "|".join(f"(?P<{name}>{words})" for name, words in MARKS.items())
_STATED = re.compile(rf"{_FILLER}(?:{_TERMINAL_WORDS}) (?P<rest>.+)", re.IGNORECASE)
_MARKED = re.compile(
    rf"{_FILLER}(?:{_MARK_WORDS}){_SUFFIX}(?:\s*[:=]\s*|\s*(?:->|→)\s*|\s+)(?P<rest>.+)", re.IGNORECASE
)
_LINKS = re.compile(rf"(?:(?:{_LINK})\s+|(?:->|→|=|:)\s*)*", re.IGNORECASE)
_SILKSCREEN = re.compile(
    r"(?:the )?(?:silk ?screen|silk|print|printed|overlay|legend|bestückungsdruck|aufdruck)"
    r"(?: (?:mark|marking|symbol))?",
    re.IGNORECASE,
)
_WHOLE = re.compile(
    r"(?:(?:orientation|polarity|part|way round) )?(?:matches|as|like|follows|per|wie) (?P<rest>.+)", re.IGNORECASE
)
_PAD = re.compile(r"(?:pad|pin|hole|land|lötauge)[ -]?(?P<number>[A-Z]?[0-9]{1,3}|[AK])", re.IGNORECASE)
_EDGE = re.compile(r" ?(?:(?:hand )?(?:side|edge|corner)|rand|kante)?(?: of (?:the )?board)?", re.IGNORECASE)
_NOUN = re.compile(
    r"(?:(?:net|rail|test ?point|connector|plug|relay|part|netz|stecker|relais|messpunkt) )?(?P<name>\S+)"
    r"(?: (?:net|rail|connector|side|end|pad|pin))?",
    re.IGNORECASE,
)
_CLAUSES = re.compile(r"[;\n()]|,\s|\.\s|\.$")
_LOOKS_LIKE_A_NAME = re.compile(r"[A-Z]{1,6}[0-9]{1,5}[A-Z]?|[+-][0-9A-Z.]+|GND|VCC|VDD|VSS|VEE", re.IGNORECASE)
_ABOUT_FACING = re.compile(
    r"\b(?:towards?|bands?|stripe|strich|notch|kerbe|bevel|cathode|kathode|anode|polarity|polung|orientation|way round|"
    r"facing|faces|revers\w+|turned|pin ?1|long lead|short lead|silkscreen|richtung)\b"
    r"|\b(?:plus|minus|flat|tab|dot|arrow|groove|chamfer)\b.{0,40}\b"
    r"(?:to|left|right|up|upper|down|lower|top|bottom|north|south|east|west|links|rechts|oben|unten)\b",
    re.IGNORECASE,
)


def is_about_facing(text: str) -> bool:
    """Return whether a remark speaks of orientation at all; other remarks are no business of this module.

    >>> is_about_facing("band somewhere"), is_about_facing("plus to the left"), is_about_facing("handle with care")
    (True, True, False)
    """
    return bool(_ABOUT_FACING.search(text))


def parse_note(text: str, refs: Collection[str], nets: Collection[str]) -> OrientationNote | None:
    """Return the first clause of a note that says how a part faces, or None where none can be read.

    `refs` are the designators and named points of the board, `nets` its nets; with no nets known, a name that is on
    neither list is kept as written (`Toward.NAME`).

    >>> parse_note("band towards K1", {"K1"}, ())
    OrientationNote(mark='band', states='', toward=<Toward.REF: 'ref'>, target='K1', words='K1')
    >>> parse_note("stripe left", (), ()).target, parse_note("band away from K1", {"K1"}, ()) is None
    ('w', True)
    """
    return read_note(text, Names(refs, nets))


def read_note(text: str, names: "Names") -> OrientationNote | None:
    """Return what `parse_note` returns, for many notes on one board."""
    for clause in _CLAUSES.split(text):
        words = " ".join(clause.split())
        if words and (note := _clause(words, names)):
            return note
    return None


class Names:
    """The names a direction may use: designators, named points and nets of one board."""

    def __init__(self, refs: Collection[str], nets: Collection[str]) -> None:
        self.refs = {ref.casefold(): ref for ref in refs}
        self.nets = {net.casefold(): net for net in nets}

    def find(self, written: str) -> tuple[Toward, str] | None:
        """Return what a name means: a net before a designator, `REF.PIN` by the longest known designator."""
        key = canonical(written).casefold()
        if key in self.nets:
            return Toward.NET, self.nets[key]
        if key in self.refs:
            return Toward.REF, self.refs[key]
        for cut in range(len(key) - 1, 0, -1):
            if key[cut] == "." and key[:cut] in self.refs:
                return Toward.REF_PIN, f"{self.refs[key[:cut]]}.{canonical(written)[cut + 1 :]}"
        if not self.nets and _LOOKS_LIKE_A_NAME.fullmatch(key):
            return Toward.NAME, canonical(written)
        return None


def _clause(words: str, names: Names) -> OrientationNote | None:
    if whole := _WHOLE.fullmatch(words):
        direction = _direction(whole["rest"], names)
        return OrientationNote("", "", *direction, whole["rest"]) if direction else None
    if stated := _STATED.fullmatch(words):
        terminal = _which(stated, tuple(_STATED_WORDS))
        marked = _marked(stated["rest"], names)
        if marked and marked.mark not in TERMINALS:
            return marked._replace(states=terminal)
    return _marked(words, names)


def _marked(words: str, names: Names) -> OrientationNote | None:
    found = _MARKED.fullmatch(words)
    if not found:
        return None
    mark = _which(found, tuple(MARKS))
    rest = _LINKS.sub("", found["rest"], count=1) if _LINKS.match(found["rest"]) else found["rest"]
    direction = _direction(rest, names)
    if direction:
        return OrientationNote(mark, mark if mark in TERMINALS else "", *direction, rest)
    return _pad_named(rest) if mark == "pin_1" else None


def _pad_named(rest: str) -> OrientationNote | None:
    """Return `pin 1 is the cathode` the other way round: the cathode is at pad 1."""
    names = ("plus", "minus", "cathode", "anode")
    terminal = next((name for name in names if re.fullmatch(MARKS[name], rest, re.IGNORECASE)), None)
    if terminal is None:
        return None
    return OrientationNote(terminal, terminal, Toward.PAD, "1", "pad 1")


def _which(found: re.Match[str], names: tuple[str, ...]) -> str:
    return next(name for name in names if found.groupdict().get(name))


def _direction(written: str, names: Names) -> tuple[Toward, str] | None:
    """Return what a direction means; a word that is a compass point and a name of the board is not understood."""
    words = written.strip(" .!")
    if _SILKSCREEN.fullmatch(words):
        return Toward.SILKSCREEN, "silkscreen"
    if re.fullmatch(MARKS["square_pad"], words, re.IGNORECASE):
        return Toward.SQUARE_PAD, "square pad"
    if pad := _PAD.fullmatch(words):
        return Toward.PAD, pad["number"].upper()
    noun = _NOUN.fullmatch(words)
    name = (names.find(words) or names.find(noun["name"])) if noun else None
    point = _compass(words)
    if name and point:
        return None
    return name or ((Toward.COMPASS, point) if point else None)


def _compass(words: str) -> str | None:
    """Return n, ne, e ... for a compass point, a side or an edge; `top side` is a side of the board, so None."""
    plain = words.casefold()
    if plain in ("top side", "bottom side"):
        return None
    if plain in _EIGHT:
        return _EIGHT[plain]
    known = {**_LONG, **_SIDES}
    return next(
        (p for word, p in known.items() if plain.startswith(word) and _EDGE.fullmatch(plain[len(word) :])), None
    )
