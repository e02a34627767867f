"""Lines and rows of a fitted list taken apart: which places, which words about their state, which remark."""

import re
from collections.abc import Iterator, Mapping
from typing import NamedTuple

from reworkkit.model.designator import canonical, looks_numbered
from reworkkit.model.designator_cell import expand_cell
from reworkkit.model.values import Where
from reworkkit.read.fitted_clauses import pieces_of
from reworkkit.read.fitted_kinds import EXCEPT, kind_at_start, of_kind
from reworkkit.read.fitted_states import adds, is_state
from reworkkit.read.text import visible

_OTHERS = re.compile(
    r"(?:all )?(?:the )?(?:others?|else|rest|alles (?:andere|übrige|sonst)|der rest|die restlichen"
    r"|tout le reste|todo lo demás|lo demás|tutto il resto|il resto|o resto|o restante|reszta|zbytek"
    r"|všechno ostatní|de rest|al het andere|resten|loput"
    r"|többi|a többi"
    r"|everything else|anything else|remaining|remainder|übrige[sn]?|alle anderen|rest"
    r"|sonst|autres?|le reste|otros|resto|altri|outros|inne|pozostałe|ostatní|overige|остальн\w+|その他|其他|其余)"
    r"(?: (?:parts|places|ones|components))?\s*(?:[:=,;\t]|\bare\b|\bis\b|\s-\s|\s)\s*(.*)",
    re.IGNORECASE,
)
_ALL = re.compile(
    r"(?:all|everything|every|alle|alles|tout|tous|toutes|todos|tutto|tutti|tudo|wszystkie|wszystko|všechny|vše|все|всё|全部)\b"
    r"\s*(?:of )?(?:the )?([^\W\d]*(?: [^\W\d]+)?)",
    re.IGNORECASE,
)
_NOTHING = re.compile(
    r"(?:nothing|none|nichts|rien|nada|niente|nic|ничего|なし|无)(?: (?:is|are|at all|fitted|there|on it|yet|drauf))*",
    re.IGNORECASE,
)
_COMMENT = re.compile(r"(?:^|\s)(?:#|//).*$")
_BULLET = re.compile(r"^\s*(?:[-*•·]\s+)?(?:[-*•·]|\d{1,3}[.)]|\[[ xX✓✔]\]|[☐☑☒✓✔])\s+")
_BOX = re.compile(r"^\s*(?:[-*•·]\s+)?(?:\[([ xX✓✔])\]|(?=☐)( ?))\s*")
_TICKED = re.compile(r"^\s*(?:[-*•·]\s+)?(?:\[[xX✓✔]\]|[☑✓✔])", re.MULTILINE)
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
    general: bool = False
    """A whole kind was named, or everything: a line that names the place itself says more."""


def statement_of_row(cells: list[str], more: str, where: Where, refs: Mapping[str, str], has_state: bool) -> Statement:
    """Return the statement of a table row: designator, state, note, copy."""
    place, state, note, copy_text = cells
    note = "; ".join(text for text in (note, more) if text)
    if place.lstrip().startswith("#"):
        return Statement((), "", "", None, where)
    copy = int(copy_text) if copy_text.strip().isdigit() else None
    if adds(note, state):
        state, note = f"{state}, {note}".strip(", "), ""
    if match := _OTHERS.fullmatch(visible(place) + (": " + state if state else "")):
        return Statement((), match[1] or state, note, copy, where, others=True)
    named, unread = places_of(place, refs)
    return Statement(named, state if has_state else "fitted", note, copy, where, unread=unread)


_WHOLE_BOARD = re.compile(
    r"\s*(?:(?:the )?board (?:is )?)?(?:fully |completely )?(?:complete|full|populated|assembled|stuffed|"
    r"(?:voll|vollständig |komplett )bestückt|komplett|compl[eè]te?|completo|completa|kompletn[aeyý]|volledig|"
    r"tout|tutto|tudo|wszystko|vše|всё)\W*",
    re.IGNORECASE,
)
"""A line that says of the whole board that nothing is missing."""


_ALL_IN_SPANISH = re.compile(
    r"todo(?=\s+(?:est[áa]\s+)?(?:montado|soldado|colocado|puesto|instalado|excepto|salvo|menos)\b)", re.IGNORECASE
)
"""`todo montado`; alone, or before designators, it is what is to do."""


_LISTED = re.compile(
    r"(?:(?:everything|all)(?: parts| that is)?,? )?(?:fitted |populated )?(?:as )?(?:(?:on|in|per) (?:the |this )?"
    r"(?:parts )?(?:list|bom)|listed)|nothing (?:is )?missing|the (?:whole )?lot|(?:es )?(?:fehlt nichts|nichts fehlt)"
    r"|alles (?:laut|gemäß|nach|auf der|von der) (?:stück)?liste|tout ce qui est (?:dans|sur) la liste|rien ne manque"
    r"|tutto (?:come da|secondo la|nella) (?:lista|distinta)|non manca nulla|todo lo de la lista|no falta nada",
    re.IGNORECASE,
)
"""`everything on the list`, with or without what is left out after it."""


_REMARK_AT_END = re.compile(
    r"(?<=\d)\s*[,;]\s*(?:its|it|their|they|the|still|seine?|deren|der|die)\s[^\d,;]*$", re.IGNORECASE
)
"""What is said of the places that a line leaves out: `except U5, its socket is empty`."""


def _whole(line: str) -> str:
    if said := _LISTED.match(line):
        rest = line[said.end() :]
        if not rest.strip(" .!") or EXCEPT.match(rest):
            return "everything fitted" + rest
    if (parts := EXCEPT.split(line)) and len(parts) > 1 and any(sign.isdigit() for sign in parts[1]):
        line = _REMARK_AT_END.sub("", line)
    return "everything fitted" if _WHOLE_BOARD.fullmatch(line) else _ALL_IN_SPANISH.sub("everything", line)


def lines_of(text: str, name: str, refs: Mapping[str, str]) -> Iterator[Statement]:
    """Yield the statements of a list without headings; a line that ends in a colon heads the lines below it."""
    heading = ""
    ticked = bool(_TICKED.search(text))
    for number, written in enumerate(text.splitlines(), 1):
        where = Where(name, number)
        line, note = _without_comment(visible(written))
        box = _BOX.match(line)
        line = _whole(_BULLET.sub("", line))
        if not line.strip():
            continue
        if line.endswith(":") and is_state(line.rstrip(": ")):
            heading = line.rstrip(": ")
            continue
        unticked = ("empty" if ticked else "?") if box and box[1] == " " else ""
        for sentence in _sentences(line):
            yield from _said(sentence, note, where, refs, unticked or heading)


def _sentences(line: str) -> list[str]:
    """Cut a line where one part of it is about all the others: `R1 there, rest unknown`."""
    parts = [part.strip(" .") for part in re.split(r"\.\s+(?=\w)|[;,]\s+", line) if part.strip(" .")]
    apart = [n for n, part in enumerate(parts) if (match := _OTHERS.fullmatch(part)) and is_state(match[1])]
    if not apart or len(parts) < 2:
        return [line]
    return [", ".join(part for n, part in enumerate(parts) if n not in apart), *(parts[n] for n in apart)]


def _said(line: str, note: str, where: Where, refs: Mapping[str, str], heading: str) -> Iterator[Statement]:
    """Yield what a line says: as a whole, or piece by piece where only that is understood."""
    if (match := _OTHERS.fullmatch(line.strip(" ."))) and is_state(match[1]):
        yield Statement((), match[1], note, None, where, others=True)
        return
    line = _without_label(line, refs)
    statement = _statement(line, note, where, refs, heading)
    pieces = pieces_of(line, refs) or []
    poor = (
        statement is None
        or bool(EXCEPT.search(f" {statement.note} "))
        or (
            not statement.others
            and (
                bool(statement.unread)
                or not is_state(statement.state)
                or any(ref not in refs and not looks_numbered(ref) for ref in statement.refs)
            )
        )
    )
    if pieces and (len(pieces) > 1 or poor):
        for piece in pieces:
            told = "; ".join(text for text in (piece.note, note) if text)
            yield Statement(piece.refs, piece.state, told, None, where, general=piece.general)
    elif statement is not None:
        yield statement


def _without_label(line: str, refs: Mapping[str, str]) -> str:
    """`caps: C1, C2`: the kind only says of what the places are."""
    label, colon, places = line.partition(":")
    words = label.split()
    if colon and words and kind_at_start(words, refs)[1] == len(words):
        named, unread = places_of(places, refs)
        if named and not unread and all(ref in refs for ref in named):
            return places.strip()
    return line


def _without_comment(line: str) -> tuple[str, str]:
    if line.startswith(("#", "//")):
        return "", ""
    bare = _COMMENT.sub("", line).strip()
    return bare, line[len(bare) :].lstrip(" #/").strip() if bare != line else ""


def _statement(line: str, note: str, where: Where, refs: Mapping[str, str], heading: str) -> Statement | None:
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
    general = bool(_ALL.match(place)) and not any(looks_numbered(canonical(word)) for word in place.split()[:1])
    return Statement(named, state or heading or "fitted", note, None, where, unread=unread, general=general)


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
        chosen = of_kind(match[1], refs) if named else None
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
    parts = EXCEPT.split(text, maxsplit=1)
    return (parts[0], "except", parts[1].strip(" )")) if len(parts) == 2 else (text, "", "")
