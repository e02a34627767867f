"""Lines and rows of a fitted list taken apart: which places, which words about their state, which remark."""

import re
from collections.abc import Iterator, Mapping
from typing import NamedTuple

from reworkkit.model.designator import canonical, looks_numbered, natural_key
from reworkkit.model.designator_cell import expand_cell
from reworkkit.model.values import Where
from reworkkit.read.fitted_states import is_state
from reworkkit.read.text import visible

_OTHERS = re.compile(
    r"(?:all )?(?:the )?(?:others?|rest|everything else|anything else|remaining|remainder|übrige[sn]?|alle anderen|rest"
    r"|sonst|autres?|le reste|otros|resto|altri|outros|inne|pozostałe|ostatní|overige|остальн\w+|その他|其他|其余)"
    r"(?: (?:parts|places|ones|components))?\s*(?:[:=,;\t]|\bare\b|\bis\b|\s-\s|\s)\s*(.*)",
    re.IGNORECASE,
)
_ALL = re.compile(
    r"(?:all|everything|every|alle|alles|tous|toutes|todos|tutti|wszystkie|všechny|все|全部)\b"
    r"\s*(?:of )?(?:the )?([^\W\d]*(?: [^\W\d]+)?)",
    re.IGNORECASE,
)
_EXCEPT = re.compile(
    r"\s*[,(]?\s*\b(?:except|but not|without|apart from|but|außer|ausser|ohne|sauf|excepto|salvo|tranne|кроме|oprócz"
    r"|kromě|behalve)\b(?: for)?:?\s*",
    re.IGNORECASE,
)
_NOTHING = re.compile(
    r"(?:nothing|none|nichts|rien|nada|niente|nic|ничего|なし|无)(?: (?:is|are|at all|fitted|there|on it|yet|drauf))*",
    re.IGNORECASE,
)
_COMMENT = re.compile(r"(?:^|\s)(?:#|//).*$")
_BULLET = re.compile(r"^\s*(?:[-*•·]|\d{1,3}[.)]|\[[ xX✓]\])\s+")
_KINDS: dict[str, tuple[str, tuple[str, ...]]] = {
    "resistor": ("R", ("resistor", "widerst", "résist", "resist", "rezyst", "weerstand", "резист", "抵抗", "电阻")),
    "capacitor": ("C", ("capac", "kondens", "conden", "конденс", "コンデンサ", "电容")),
    "inductor": ("L", ("inductor", "coil", "choke", "drossel", "spule", "bobin", "cewk", "дроссел", "индуктор")),
    "diode": ("D", ("diode", "diod", "диод", "ダイオード", "二极管")),
    "led": ("D", ("led", "leds")),
    "transistor": ("Q", ("transistor", "tranzyst", "tranzist", "транзист", "mosfet", "fet")),
    "ic": ("U", ("ic", "ics", "chip", "integrated")),
    "connector": ("J", ("connector", "stecker", "connecteur", "conector", "konektor", "złącz", "разъ", "header")),
    "fuse": ("F", ("fuse", "sicherung", "fusible", "bezpiecznik", "предохр")),
    "switch": ("S", ("switch", "button", "schalter", "taster")),
    "relay": ("K", ("relay", "relais", "relé", "реле")),
    "crystal": ("Y", ("crystal", "quarz", "quartz")),
}  # fmt: skip


_MOST_WORDS = 24
"""A state, with the blanks between its words, has at most this many pieces."""


class Statement(NamedTuple):
    """What one line says: places (empty tuple: the others), the state as written, a remark, a copy, and where."""

    refs: tuple[str, ...]
    state: str
    note: str
    copy: int | None
    where: Where
    others: bool = False
    unread: str = ""


def statement_of_row(cells: list[str], more: str, where: Where, refs: Mapping[str, str], has_state: bool) -> Statement:
    """Return the statement of a table row: designator, state, note, copy."""
    place, state, note, copy_text = cells
    note = "; ".join(text for text in (note, more) if text)
    if place.lstrip().startswith("#"):
        return Statement((), "", "", None, where)
    copy = int(copy_text) if copy_text.strip().isdigit() else None
    if match := _OTHERS.fullmatch(visible(place) + (": " + state if state else "")):
        return Statement((), match[1] or state, note, copy, where, others=True)
    named, unread = places_of(place, refs)
    return Statement(named, state if has_state else "fitted", note, copy, where, unread=unread)


def lines_of(text: str, name: str, refs: Mapping[str, str]) -> Iterator[Statement]:
    """Yield the statements of a list without headings; a line that ends in a colon heads the lines below it."""
    heading = ""
    for number, written in enumerate(text.splitlines(), 1):
        where = Where(name, number)
        line, note = _without_comment(visible(written))
        line = _BULLET.sub("", line)
        if not line.strip():
            continue
        if line.endswith(":") and is_state(line.rstrip(": ")):
            heading = line.rstrip(": ")
            continue
        statement = _statement(line, note, where, refs, heading)
        if statement is not None:
            yield statement


def _without_comment(line: str) -> tuple[str, str]:
    if line.startswith(("#", "//")):
        return "", ""
    bare = _COMMENT.sub("", line).strip()
    return bare, line[len(bare) :].lstrip(" #/").strip() if bare != line else ""


def _statement(line: str, note: str, where: Where, refs: Mapping[str, str], heading: str) -> Statement | None:
    if (match := _OTHERS.fullmatch(line)) and is_state(match[1]):
        return Statement((), match[1], note, None, where, others=True)
    if _NOTHING.fullmatch(line.strip(" .!")) and canonical(line) not in refs:
        return Statement((), "empty", note, None, where, others=True)
    bracket = re.search(r"\(([^()]*)\)\s*$", line)
    if bracket and not _ALL.match(line):
        line, note = line[: bracket.start()].strip(), "; ".join(t for t in (bracket[1], note) if t)
    place, state, remark = _parted(line, refs)
    note = "; ".join(text for text in (remark, note) if text)
    if not state and note and is_state(re.split(r"[;,]", note)[0]):
        state, _, note = (part.strip() for part in note.partition(";"))
    if canonical(place) not in refs and is_state(place):
        other, _ = places_of(state or remark, refs)
        return Statement(other, place, note, None, where) if other else None
    place = re.sub(r"\s+[-–—]+$", "", place)
    if not state:
        place, state = _state_at_end(place, refs)
    named, unread = places_of(place, refs)
    if not named and not unread:
        return None
    return Statement(named, state or heading or "fitted", note, None, where, unread=unread)


def _parted(line: str, refs: Mapping[str, str]) -> tuple[str, str, str]:
    """Cut a line into places, state and remark; the cut stands where designators end and words begin."""
    for mark in (":", "=", "\t", ";", "|"):
        before, found, after = line.partition(mark)
        told = found and before.strip() and after.strip()
        if told and (is_state(before.strip()) or places_of(before, refs)[0]):
            state, remark = _state_and_remark(after.strip(" ,;|\t"))
            return before.strip(), state, remark
    if _ALL.match(line):
        return _parted_all(line)
    words = re.split(r"(\s+|,)", line)
    taken = 0
    for at in range(0, len(words), 2):
        if _is_place(words[at], words[at + 2] if at + 2 < len(words) else "", refs):
            taken = at + 1
        elif words[at].strip(" ,") and taken < at:
            break
    place = "".join(words[:taken]).strip(" ,")
    state, remark = _state_and_remark("".join(words[taken:]).strip(" ,-–—"))
    if not place and (trailing := _places_at_end(line, refs)):
        return trailing
    return (place, state, remark) if place else (line, "", "")


def _state_at_end(line: str, refs: Mapping[str, str]) -> tuple[str, str]:
    """`<anything>, fitted`: the last piece is the state although what stands before it cannot be read."""
    head, found, tail = line.rpartition(",")
    return (head, tail.strip()) if found and is_state(tail) and canonical(tail) not in refs else (line, "")


def _places_at_end(line: str, refs: Mapping[str, str]) -> tuple[str, str, str] | None:
    """`missing R4 R5`: the state first."""
    words = line.split()
    for cut in range(min(len(words) - 1, 4), 0, -1):
        if is_state(" ".join(words[:cut])) and places_of(" ".join(words[cut:]), refs)[0]:
            return " ".join(words[cut:]), " ".join(words[:cut]), ""
    return None


def _parted_all(line: str) -> tuple[str, str, str]:
    """`all resistors except R4 fitted`: a state may stand at the end, or there is none."""
    named, _, left_out = _split_except(line)
    for text, rest in ((line, ""), (named, left_out)):
        words = text.split()
        for cut in range(max(1, len(words) - _MOST_WORDS), len(words)):
            tail = " ".join(words[cut:])
            if is_state(tail) and not looks_numbered(canonical(words[cut])):
                head = re.sub(r"\s+(?:are|is|sind|ist)$", "", " ".join(words[:cut]))
                return (f"{head} except {rest}" if rest else head), tail, ""
    return line, "", ""


def _is_place(word: str, following: str, refs: Mapping[str, str]) -> bool:
    word = word.strip(" ,;")
    ref = canonical(word)
    if not word or word.casefold() in (
        "and",
        "und",
        "et",
        "to",
        "bis",
        "-",
        "–",
        "&",
        "..",
        "thru",
        "y",
        "e",
        "i",
        "и",
    ):
        return True
    if ref in refs:
        return not is_state(word) or looks_numbered(ref)
    if looks_numbered(ref) or re.fullmatch(r"\d{1,4}(?:-\d{1,4})?", word):
        return True
    if re.fullmatch(r"[A-Za-z]{1,3}", word) and re.fullmatch(r"\d{1,4}", following.strip(" ,;")):
        return True
    cell = expand_cell(word)
    return len(cell.refs) > 1 and all(looks_numbered(r) for r in cell.refs)


def _state_and_remark(text: str) -> tuple[str, str]:
    """The longest beginning that is a state is the state; the rest is a remark."""
    if not text:
        return "", ""
    fields = re.split(r"\s*[;|\t]\s*", text, maxsplit=1)
    if len(fields) == 2:
        return fields[0], fields[1].strip(" ;|\t")
    if is_state(text):
        return text, ""
    parts = re.split(r"(\s*[,;:.(–—|\t]\s*|\s+-\s+|\s+)", text)
    for cut in range(min(len(parts) - 2, _MOST_WORDS - 1), 0, -2):
        head = "".join(parts[:cut])
        if is_state(head):
            rest = "".join(parts[cut:]).strip(" ,;:.(–—-|)")
            following, remark = _state_and_remark(rest)
            if following and is_state(following):
                return f"{head}, {following}", rest if remark else ""
            return head, rest
    first = re.split(r"[,;|\t]", text)[0].strip()
    return (text, "") if len(text.split()) <= 3 else (first, text[len(first) :].strip(" ,;|\t"))


def places_of(text: str, refs: Mapping[str, str]) -> tuple[tuple[str, ...], str]:
    """Return the designators a text names (lists, ranges, `all resistors except R4`), and what could not be read."""
    text = visible(text)
    if match := _ALL.match(text):
        named, _, excepted = _split_except(text)
        chosen = _of_kind(match[1], refs) if named else None
        if chosen is not None:
            left_out = set(expand_cell(excepted, None, refs).refs) if excepted else set()
            return tuple(ref for ref in chosen if ref not in left_out), ""
    whole = canonical(text)
    if whole in refs:
        return (whole,), ""
    cell = expand_cell(text, None, refs)
    found: list[str] = []
    for ref in cell.refs:
        spread = () if ref in refs else expand_cell(ref, 2).refs
        found.extend(spread if len(spread) == 2 and all(r in refs for r in spread) else (ref,))
    return tuple(found), ", ".join(cell.unread)


def _split_except(text: str) -> tuple[str, str, str]:
    parts = _EXCEPT.split(text, maxsplit=1)
    return (parts[0], "except", parts[1].strip(" )")) if len(parts) == 2 else (text, "", "")


def _of_kind(word: str, refs: Mapping[str, str]) -> tuple[str, ...] | None:
    """Return the places of a kind named in words; all places for `all` alone; None where no kind is named."""
    said = _EXCEPT.split(" " + word.casefold() + " ")[0].strip()
    said = re.sub(r"^(?:of|the|die|der|das|les|los|las|gli|i)\s+", "", said)
    ordered = sorted(refs, key=natural_key)
    if said in ("", "parts", "places", "components", "other", "teile", "bauteile"):
        return tuple(ordered)
    stem = said.split()[0]
    for kind, (letter, words) in _KINDS.items():
        if any(stem == w or (len(w) > 3 and stem.startswith(w)) for w in words):
            chosen = tuple(
                r for r in ordered if _is_kind(kind, refs[r]) or (refs[r] in ("", "unknown") and _letters(r) == letter)
            )
            return chosen or tuple(r for r in ordered if _letters(r) == letter)
    chosen = tuple(r for r in ordered if refs[r].replace("_", " ") in (said, said.removesuffix("s")))
    letters = said.upper().removesuffix("S")
    return chosen or tuple(r for r in ordered if _letters(r) == letters) or None


def _is_kind(kind: str, key: str) -> bool:
    words = key.replace("_", " ").split()
    return kind in words or (kind == "capacitor" and "capacitor" in key) or (kind == "diode" and key.endswith("diode"))


def _letters(ref: str) -> str:
    match = re.match(r"[A-Za-z]+", ref)
    return match[0].upper() if match else ""
