"""Places named by their kind: `resistors`, `all caps`, `everything`; which places of the board that means."""

import re
from collections.abc import Mapping, Sequence

from reworkkit.model.designator import natural_key

EXCEPT = re.compile(
    r"\s*[,(]?\s*\b(?:except|but not|without|apart from|but|außer|ausser|ohne|sauf|excepto|salvo|tranne|кроме|oprócz"
    r"|kromě|behalve)\b(?: for)?:?\s*",
    re.IGNORECASE,
)
_KINDS: dict[str, tuple[str, tuple[str, ...]]] = {
    "resistor": ("R", ("resistor", "widerst", "résist", "resist", "rezyst", "rezist", "odpor", "motstånd", "ellenáll",
                       "direnç", "weerstand", "резист", "抵抗", "电阻")),
    "capacitor": ("C", ("capac", "caps", "cap", "elco", "elko", "elcap", "lytic", "electrolytic", "kondens", "conden",
                        "конденс", "コンデンサ", "电容")),
    "inductor": ("L", ("inductor", "coil", "choke", "drossel", "spule", "bobin", "cewk", "дроссел", "индуктор")),
    "diode": ("D", ("diode", "diod", "диод", "ダイオード", "二极管")),
    "led": ("D", ("led", "leds")),
    "transistor": ("Q", ("transistor", "tranzyst", "tranzist", "транзист", "mosfet", "fet")),
    "ic": ("U", ("ic", "ics", "chip", "chips", "integrated", "opamps", "microc", "мікросх", "микросх")),
    "connector": ("J", ("connector", "stecker", "connecteur", "conector", "konektor", "złącz", "разъ", "header")),
    "fuse": ("F", ("fuse", "sicherung", "fusible", "bezpiecznik", "предохр")),
    "switch": ("S", ("switch", "button", "schalter", "taster")),
    "relay": ("K", ("relay", "relais", "relé", "реле")),
    "crystal": ("Y", ("crystal", "quarz", "quartz")),
}  # fmt: skip


def kind_at_start(
    words: Sequence[str], refs: Mapping[str, str], letters_too: bool = False
) -> tuple[tuple[str, ...] | None, int]:
    """Return the places that the first words name by kind (`resistors`, `all the caps`) and how many words that is.

    Bare class letters (`all R`) count behind a word for all, or with `letters_too`.
    """
    taken = 0
    lowered = [word.casefold().strip(":,=") for word in words]
    while taken < len(lowered) and taken < 3 and lowered[taken] in _ALL_WORDS:
        taken += 1
    if taken < len(lowered) and _is_kind_word(lowered[taken]):
        found = of_kind(lowered[taken], refs)
        return (found, taken + 1) if found else (None, 0)
    if (taken or letters_too) and taken < len(words) and (chosen := _of_letters(words[taken].strip(":,='"), refs)):
        return chosen, taken + 1
    whole = taken and (lowered[0] in _EVERYTHING or (taken > 1 and lowered[taken - 1] in _PARTS))
    if whole and (taken == len(lowered) or lowered[taken] not in _LEFT_OUT):
        return tuple(sorted(refs, key=natural_key)) or None, taken
    return None, 0


def _of_letters(word: str, refs: Mapping[str, str]) -> tuple[str, ...]:
    letters = re.sub(r"'?s$", "", word)
    if not re.fullmatch(r"[A-Z]{1,3}", letters):
        return ()
    return tuple(ref for ref in sorted(refs, key=natural_key) if _letters(ref) == letters)


_PARTS = frozenset(
    [
        "parts",
        "components",
        "places",
        "teile",
        "bauteile",
        "pièces",
        "composants",
        "piezas",
        "componentes",
        "pezzi",
        "componenti",
        "peças",
        "onderdelen",
        "części",
        "elementy",
        "součástky",
        "детали",
        "компоненты",
    ]
)
_EVERYTHING = frozenset(["everything", "alles", "tout", "tutto", "tudo", "wszystko", "vše", "všechno", "всё", "allt"])
_ARTICLES = frozenset(
    [
        "all",
        "the",
        "every",
        "of",
        "alle",
        "die",
        "tous",
        "toutes",
        "les",
        "todos",
        "todas",
        "los",
        "las",
        "tutti",
        "tutte",
        "i",
        "gli",
        "le",
        "os",
        "as",
        "de",
        "het",
        "wszystkie",
        "všechny",
        "все",
        "alla",
    ]
)
_ALL_WORDS = _ARTICLES | _PARTS | _EVERYTHING
_LEFT_OUT = frozenset(["else", "other", "others", "andere", "anderen", "except", "but", "out", "sonst", "übrige"])


def _is_kind_word(word: str) -> bool:
    if len(word) < 3 or any(c.isdigit() for c in word):
        return False
    return any(word in names or any(len(n) > 3 and word.startswith(n) for n in names) for _, names in _KINDS.values())


def of_kind(word: str, refs: Mapping[str, str]) -> tuple[str, ...] | None:
    """Return the places of a kind named in words; all places for `all` alone; None where no kind is named."""
    said = EXCEPT.split(" " + word.casefold() + " ")[0].strip()
    said = re.sub(r"^(?:of|the|die|der|das|de|les|los|las|gli|i|os)\s+", "", said)
    ordered = sorted(refs, key=natural_key)
    if said in ("", "other") or said in _PARTS:
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
