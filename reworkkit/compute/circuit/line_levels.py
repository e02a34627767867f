"""Lines that `role` of [parts] says are high, low or inputs, and those that a program makes follow another line."""

import re

_HIGH = frozenset(["high", "hi", "on", "1", "hoch", "alto", "haut"])
_LOW = frozenset(["low", "lo", "off", "0", "tief", "aus", "bajo", "basso", "bas"])
_INPUT = frozenset(
    [
        "input",
        "inputs",
        "reads",
        "read",
        "measures",
        "measured",
        "senses",
        "listens",
        "floating",
        "entrada",
        "ingresso",
        "eingang",
        "eingänge",
        "entrée",
        "liest",
        "misst",
    ]
)
REST = ""
_OTHERS = frozenset(
    (
        "other",
        "others",
        "rest",
        "remaining",
        "übrigen",
        "übrige",
        "andere",
        "anderen",
        "restlichen",
        "demás",
        "resto",
        "otros",
        "otras",
        "autres",
        "reste",
        "altri",
    )
)


_PIN_RANGE = re.compile(
    r"(?<![A-Za-z0-9])([A-Za-z]{1,3})(\d{1,2})\s?(?:to|bis|thru|through|à|a|-|–|\.{2,3}|…)\s?(?:\1)?(\d{1,2})(?![\w.,])"
)
_LONGEST_RANGE = 40


def _pins_of_range(found: re.Match[str]) -> str:
    """Return the pins that `PA0 to PA2` stands for, in words; what is no range is left as it is."""
    letters, first, last = found[1], int(found[2]), int(found[3])
    if not first < last <= first + _LONGEST_RANGE:
        return found[0]
    return ", ".join(f"{letters}{n}" for n in range(first, last + 1))


_WHILE = re.compile(
    r"(?<![a-z])(?:while|when(?:ever)?|if|as long as|until|solange|wenn|falls|sobald|bis|si|cuando|mientras|tant que|"
    r"quand|lorsque|jusqu'à ce que|se|quando|mentre|finché)\s+(?:the |pin |der |le |la |el )*([\w/]+)",
    re.IGNORECASE,
)


_SENTENCE = re.compile(r"[;.](?!\d)")


def _sentences(words: str) -> list[str]:
    return _SENTENCE.split(_PIN_RANGE.sub(_pins_of_range, words))


def _hangs_on(words: str, names: set[str]) -> re.Match[str] | None:
    """Return where words name the pin that what they say hangs on, as in `while PB3 is high`, else None."""
    return next((found for found in _WHILE.finditer(words) if found[1].upper() in names), None)


def stated_rules(words: str, names: set[str]) -> dict[str, tuple[str, bool]]:
    """Return output -> (input, whether it is turned over) of what words say a program does with its pins.

    One that words tell for one level of the input only is the other way at the other; one that is alike at both hangs
    on nothing and is left out.

    >>> stated_rules("while PB3 (KEY) is high it gives PB0 high, PB1 low", {"PB0", "PB1", "PB3"})
    {'PB0': ('PB3', False), 'PB1': ('PB3', True)}
    >>> stated_rules("D5 high when A0 is low", {"D5", "A0"})
    {'D5': ('A0', True)}
    """
    found: dict[str, set[tuple[str, bool]]] = {}
    for sentence in _sentences(words):
        hangs = _hangs_on(sentence, names)
        state = _state_after(sentence[hangs.end() :]) if hangs else None
        if hangs is None or state is None:
            continue
        at, end = state
        source = hangs[1].upper()
        told = stated_levels(f"{sentence[: hangs.start()]}; {sentence[hangs.end() + end :]}", names - {source})
        for name, level in told.items():
            if level is not None and name != REST:
                found.setdefault(name, set()).add((source, level != at))
    return {name: rules.pop() for name, rules in found.items() if len(rules) == 1}


def _state_after(words: str) -> tuple[bool, int] | None:
    """Return whether the first state that is named near the begin is high, and where it ends; None where none is."""
    for count, found in enumerate(re.finditer(r"\w+", words)):
        if count < _NEAR_WORDS and (state := found[0].casefold()) in _HIGH | _LOW:
            return state in _HIGH, found.end()
    return None


_NEAR_WORDS = 4


def stated_levels(words: str, names: set[str]) -> dict[str, bool | None]:
    """Return the pins that words name as outputs that are high or low, or as inputs (None); `REST` for all others.

    >>> stated_levels("PB1 high, all other pins inputs", {"PB1", "PB2"})
    {'PB1': True, '': None}
    >>> sorted(stated_levels("D5, D6 and D9 high; A0 input", {"D5", "D6", "D9", "A0", "D2"}).items())
    [('A0', None), ('D5', True), ('D6', True), ('D9', True)]
    >>> sorted(stated_levels("A high, A/ low", {"A", "A/"}).items())
    [('A', True), ('A/', False)]
    >>> sorted(stated_levels("PB5 and PA0 to PA2 inputs", {"PA0", "PA1", "PA2", "PB5"}).items())
    [('PA0', None), ('PA1', None), ('PA2', None), ('PB5', None)]
    >>> stated_levels("while PB3 is high it gives PB0 high; PB1 low", {"PB0", "PB1", "PB3"})
    {'PB1': False}
    """
    words = ". ".join(one for one in _sentences(words) if not _hangs_on(one, names))
    found: dict[str, bool | None] = {}
    waiting: list[str] = []
    for told in re.findall(r"[/~!]?\w+[/#'*+-]?", words):
        word = re.sub(r"\W", "", told)
        if name := next((one for one in (told.upper(), word.upper()) if one in names), None):
            waiting.append(name)
        elif word.casefold() in _OTHERS:
            waiting.append(REST)
        elif (state := word.casefold()) in _HIGH | _LOW | _INPUT and waiting:
            found |= dict.fromkeys(waiting, None if state in _INPUT else state in _HIGH)
            waiting = []
    return found
