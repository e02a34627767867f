"""What a row of the parts list is: its kind from letters and words together, its value, package and key.

The class letter alone never beats words that say otherwise, and a letter with several meanings (CR, VR, V, T, X, L, RT)
decides nothing alone. One distinct text is judged once, however many rows share it.
"""

import re
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import NamedTuple

from reworkkit import tables
from reworkkit.model.messages import Message, message
from reworkkit.model.part import Package, PartIdentity, PartLine, PartValue
from reworkkit.model.part_value import main_unit, parse_part_value
from reworkkit.model.quantity import format_quantity
from reworkkit.model.vocabulary import Fit, YesNo
from reworkkit.read.kind_words import Kind, kind_named, kinds, words
from reworkkit.read.package_names import find_package, package_in_words
from reworkkit.read.row_value import value_of_row
from reworkkit.read.row_words import described, told_apart
from reworkkit.tables.marks import kind_row

_LETTERS = re.compile(r"[A-Z]+")
_LOOSE = ("switch", "connector", "terminal", "jumper", "relay", "bridge_rectifier")
"""What class letters say of plugs and switches gives way to words: people call much J, K or S, and BR also a brake or
a bridge of wire."""
_GENERAL = frozenset({"transistor", "ic", "diode", "capacitor", "sensor", "connector", "tvs"})
"""Kinds that a more exact one may replace: `Transistor P-MOSFET` is a MOSFET."""
_NOT_BY_WORD = {
    "ic": frozenset({"bridge_rectifier", "motor", "connector", "resistor"}),
    "jumper": frozenset({"resistor"}),
    "relay": frozenset({"inductor"}),
    "led": frozenset({"lamp"}),
    "connector": frozenset(
        (
            *("transistor", "transistor_bipolar", "mosfet", "ic", "opamp", "microcontroller", "sensor"),
            *("thermistor", "lamp", "motor", "relay", "speaker", "buzzer", "battery", "transformer"),
        )
    ),
}
"""Kinds that words alone do not make of a chip, jumper, plug, LED or relay: a shunt monitor, a coil, a lamp supply."""
_POLAR = re.compile(r"(?<!un)(?<!non)(?<!non-)(?<!non )polari[sz]ed|cpol|cp_|(?<![a-z])cp(?![a-z])|(?<![a-z])tant")
_BIPOLAR = re.compile(r"(?<![a-z])(?:bi-?polar|non-?polar(?:i[sz]ed)?|unpolari[sz]ed|bipolare?r?)(?![a-z])")
_WAYS = re.compile(
    r"(?<![a-z])(?:(one-way|uni-?directional|unidirektional)|two-way|bi-?directional|bidirektional)(?![a-z])"
)
_PURPOSE = re.compile(
    r"(?<!\w)(?:across|in(?:stead| place| lieu) of|stands? for|for|to(?= (?!\d|[ad]c|uart|serial|usb|rs-?\d))|of the"
    r"|with|mit|avec|con|met"
    r"|zamiast|dla|en (?:lugar|vez)|para|(?:an)?statt|anstelle|für|pour|au lieu|à la place|al posto|per|voor|för|til)"
    r"(?!\w|[-.:=]).*",
    re.IGNORECASE | re.DOTALL,
)
"""From here on words tell what a part is for, or what it stands in for, not what it is."""
_NUMBER_LIKE = re.compile(r"(?=.*\d)[A-Z0-9][A-Z0-9/.-]{3,}", re.IGNORECASE)
_SAFETY_CLASS = re.compile(r"(?<![A-Z0-9])[XY][12](?![A-Z0-9])", re.IGNORECASE)
_PERHAPS_POTENTIOMETER = frozenset({"P", "VR", "RV"})
"""Class letters that with ohms beside them stand for a variable resistor."""
_NO_OHMS = frozenset({"motor", "ic", "battery", "oscillator", "buzzer", "bridge_rectifier"})
"""Kinds that letters of several meanings may stand for, or that give way to words, but not with a value in ohms."""
_COLOUR = re.compile(
    r"\W*(?:(?:warm|cool|bright|ultra|hyper)\W+)?(?:red|green|blue|yellow|orange|amber|white|rot|grün|blau|gelb|weiss|weiß"
    r"|rouge|verte?|bleue?|jaune|roj[oa]|verde|azul|ross[oa]|blu|giall[oa]|grön|röd|gul|blå|groen|rood|geel|blauw"
    r"|zielon[ay]|czerwon[ay]|żółt[ay]|niebiesk[ai]|vermelh[oa]|amarel[oa]|amarill[oa]|bianc[oa]|branc[oa])\W*"
)
_ZENER_VOLTS = re.compile(r"[1-5]?\d(?:[.,]\d{1,2})?\s?V(?:\s?[\d.,/]+\s?m?W)?|[1-5]?\dV\d(?:\s?[\d.,/]+\s?m?W)?")
"""A diode of whose value nothing but a few volts is told is a Zener diode: others are told by their type."""
_KIND_BY_OUTLINE = (
    ("LED", "led"),
    ("R chip", "resistor"),
    ("R axial", "resistor"),
    ("C chip", "capacitor"),
    ("Radial can", "capacitor"),
    ("Can ", "capacitor"),
    ("L chip", "inductor"),
    ("Pin header", "connector"),
    ("Connector", "connector"),
    ("USB", "connector"),
    ("Barrel", "connector"),
    ("Terminal", "terminal"),
    ("Crystal", "crystal"),
    ("HC-49", "crystal"),
    ("Relay", "relay"),
    ("Fuse clip", "fuse_holder"),
)


class _Clue(NamedTuple):
    """A reason to take a part for a kind: its field, its length.

    Fields: 3 type number, 2 value or description, 1 package, 0 what the part is for.
    """

    kind: Kind
    field: int
    length: int


@cache
def _letters() -> dict[str, tables.Row]:
    return {row["letters"]: row for row in tables.rows("class_letters")}


def kind_in_words(text: str) -> str | None:
    """Return the kind that stands in the words of a cell (`N-channel MOSFET`, `X2 capacitor`), or None.

    >>> kind_in_words("N-channel MOSFET"), kind_in_words("rectifier diode"), kind_in_words("current shunt")
    ('mosfet', 'diode', 'resistor')
    >>> kind_in_words("crystal oscillator"), kind_in_words("TVS, bidirectional"), kind_in_words("gadget")
    ('oscillator', 'tvs_two_way', None)
    """
    if named := kind_named(text):
        return named
    plain = text.replace("_", " ")
    clues = _clues("", "", plain, "")
    if not clues:
        return None
    found = max(clues, key=lambda clue: (clue.kind.key not in _GENERAL, clue.length)).kind.key
    return _refine(found, None, "", plain, "", "")[0]


def class_letters(ref: str) -> str:
    """Return the class letters of a designator: `LED12` has LED, `U$1` U, `3V3` none.

    >>> class_letters("C12"), class_letters("LED_G"), class_letters("3V3")
    ('C', 'LED', '')
    """
    found = _LETTERS.match(ref)
    return found[0] if found else ""


def identify(line: PartLine, ref: str, folder: Path | None = None) -> PartIdentity:
    """Return what a designator of a row is; rows with the same text share one identity.

    `folder` is the board's folder: rows of its `tables/packages.csv` win over the shipped ones.
    """
    texts = line.value_text, line.package_text, described(line), line.part_number
    return _identity(_known_letters(class_letters(ref)), *texts, None, folder)


def identify_as(
    line: PartLine, ref: str, kind: str | None, package: str | None, folder: Path | None = None
) -> PartIdentity:
    """Return what a designator is whose kind or package the person's own facts name; these win over the list."""
    texts = line.value_text, package or line.package_text, described(line), line.part_number
    key = kind_named(kind) if kind else None
    identity = _identity(_known_letters(class_letters(ref)), *texts, key, folder)
    if kind and key is None:
        unread = message("kind-not-known", kind=kind)
        return _with_assumed(identity, unread)
    return identity


def _with_assumed(identity: PartIdentity, extra: Message) -> PartIdentity:
    return replace(identity, assumed=(*identity.assumed, extra))


@cache
def _known_letters(letters: str) -> str:
    """Return the class letters as the table knows them; `RSENSE`, `CIN`, `DPWR` count as a guess: `R?`, `C?`, `D?`."""
    guess = letters not in _letters() and letters[:1] in "RCLDQU" and len(letters) > 1
    return f"{letters[:1]}?" if guess else letters


@cache
def _identity(
    letters: str,
    value_text: str,
    package_text: str,
    description: str,
    part_number: str,
    said: str | None,
    folder: Path | None,
) -> PartIdentity:
    kind, assumed = (said, ()) if said else _judge(letters, value_text, package_text, description, part_number)
    package_text = package_text if package_text.strip() else package_in_words(f"{description} {value_text}", kind)
    match = find_package(package_text, kind, folder=folder)
    if match.package is None and kind in ("ic", "unknown", "transistor"):
        match = find_package(package_text, folder=folder) if match.question is None else match
    if said is None:
        kind, refined = _refine(kind, match.package, letters, value_text, package_text, description)
        assumed = (*assumed, *refined)
        match = find_package(package_text, kind, folder=folder) if kind == "led" and refined else match
    value = value_of_row(value_text, description, part_number, kind)
    texts = value_text, package_text, description
    questions = (match.question.because,) if match.question else ()
    return PartIdentity(
        kind=kind,
        value=value,
        package=match.package,
        package_text=package_text,
        part_number=part_number,
        description=next(filter(None, told_apart(description)), ""),
        polarised=_polarised(kind, match.package.mark if match.package else "", " ".join(texts).casefold()),
        key=_key(kind, value, match.package, package_text, part_number),
        assumed=(*assumed, *match.assumed, *questions),
    )


def _judge(
    letters: str, value_text: str, package_text: str, description: str, part_number: str
) -> tuple[str, tuple[Message, ...]]:
    """Return the kind that letters and words give together, and what was assumed."""
    by_unit = _by_unit(value_text, part_number, description)
    clues = [
        clue
        for clue in _clues(value_text, package_text, description, part_number)
        if by_unit != "resistor" or not clue.kind.key.startswith("capacitor")
    ]
    guessed, letters = letters.endswith("?"), letters.rstrip("?")
    row = _letters().get(letters)
    default = row["kind"] if row else "unknown"
    fitting = [clue for clue in clues if clue.field and letters in clue.kind.letters]
    if fitting:
        return max(fitting, key=_weight).kind.key, ()
    if default != "unknown" and _value_fits(value_text, default):
        return default, ()
    plain = row is not None and row["trap"] == "no" and default not in ("unknown", *_LOOSE) and not guessed
    strong = [
        clue
        for clue in clues
        if clue.field == 3
        or (_counts(clue, default, guessed) and (not plain or _has_value(clue, value_text, description)))
    ]
    if strong:
        best = max(strong, key=_weight).kind
        against = default not in ("unknown", best.key)
        said = (message("kind-words-over-letter", letters=letters, kind=best.row["name"]),) if against else ()
        return best.key, said
    if by_unit == "resistor" and guessed and default == "diode":
        return by_unit, ()
    if by_unit == "resistor" and row and (row["trap"] == "yes" or default in _LOOSE) and default in _NO_OHMS:
        return by_unit, ()
    if letters in _PERHAPS_POTENTIOMETER and by_unit == "resistor":
        return "potentiometer", (message("kind-from-letters", letters=letters, kind=kind_row("potentiometer")["name"]),)
    if row is None or default == "unknown" or (guessed and not package_text.strip()):
        return by_unit, ()
    trap = (
        (message("kind-from-letters", letters=letters, kind=kind_row(default)["name"]),) if row["trap"] == "yes" else ()
    )
    return default, trap


def _counts(clue: _Clue, default: str, guessed: bool) -> bool:
    """Return whether words may say otherwise than class letters that have several meanings, or none."""
    return clue.kind.key not in _NOT_BY_WORD.get(default, ()) and (clue.field >= 2 or guessed or default == "unknown")


def _weight(clue: _Clue) -> tuple[int, bool, int]:
    return clue.field, clue.kind.key not in _GENERAL, clue.length


def _has_value(clue: _Clue, value_text: str, description: str) -> bool:
    """Return whether a value of the kind stands beside the words that name it: `RES 180 OHM`."""
    words = f"{value_text} {told_apart(description)[0]}"
    return main_unit(clue.kind.key) in ("ohm", "F", "H") and _value_fits(words, clue.kind.key)


def _value_fits(value_text: str, kind: str) -> bool:
    return main_unit(kind) is not None and parse_part_value(value_text, kind).main is not None


def _by_unit(*texts: str) -> str:
    """Judge by the unit of the first text that begins with a value where the letters say nothing: ohm, F, H, Hz."""
    by_unit = {"ohm": "resistor", "F": "capacitor", "H": "inductor", "Hz": "crystal"}
    for text in texts:
        main = parse_part_value(text, "unknown").main
        if main and main.unit in by_unit and text.strip().startswith(main.text):
            return by_unit[main.unit]
    return "unknown"


def _clues(value_text: str, package_text: str, description: str, part_number: str) -> list[_Clue]:
    pattern, by_word = words()
    in_words = part_number if " " in part_number.strip() else ""
    what, purpose = told_apart(description)
    what, purpose = _PURPOSE.sub("", what), _PURPOSE.sub("", purpose)
    fields = (2, f"{value_text} | {what} | {in_words}"), (1, package_text), (0, purpose)
    found = [(field, m[0]) for field, text in fields for m in pattern.finditer(text.casefold())]
    clues = [_Clue(kind, field, len(word)) for field, word in found for kind in by_word[word]]
    texts = [text for text in (part_number.strip(), value_text.strip()) if text]
    others = (word.strip(",;()") for word in (value_text if texts else what).split())
    texts += [word for word in others if _NUMBER_LIKE.fullmatch(word)]
    for kind in kinds().values():
        if kind.numbers and (m := next(filter(None, map(kind.numbers.match, texts)), None)):
            clues.append(_Clue(kind, 3, len(m[0])))
    return clues


def _refine(
    kind: str, package: Package | None, letters: str, value_text: str, package_text: str, description: str
) -> tuple[str, tuple[Message, ...]]:
    """Make a general kind narrower by its outline: a can is an aluminium electrolytic, a plain chip a ceramic."""
    name, mark = (package.name, package.mark) if package else ("", "")
    said: tuple[Message, ...] = ()
    if kind == "unknown":
        kind, said = _by_outline(name, mark, letters)
    if kind.startswith("capacitor") and _SAFETY_CLASS.search(value_text):
        return "capacitor_safety", said
    if kind == "capacitor":
        made = _capacitor(name, mark, f"{value_text} {package_text} {description}".casefold())
        return made, (message("capacitor-by-outline", kind=kind_row(made)["name"]),) if made != kind else said
    if kind == "tvs" and (ways := _WAYS.search(f"{value_text} {description}".casefold())):
        return ("tvs_one_way" if ways[1] else "tvs_two_way"), said
    if kind == "diode" and (name.startswith("LED") or (mark != "band" and _COLOUR.fullmatch(value_text.casefold()))):
        return "led", (message("kind-by-outline", kind=kind_row("led")["name"]),)
    if kind == "diode" and _ZENER_VOLTS.fullmatch(value_text.strip()):
        return "diode_zener", (message("zener-by-volts", volts=value_text.strip()),)
    if kind == "led" and mark == "band":
        return "diode", (message("kind-by-outline", kind=kind_row("diode")["name"]),)
    if kind == "resistor" and name.startswith("Potentiometer"):
        return "potentiometer", (message("kind-by-outline", kind=kind_row("potentiometer")["name"]),)
    return ("bridge_rectifier", said) if kind.startswith("diode") and mark == "bridge" else (kind, said)


def _by_outline(name: str, mark: str, letters: str) -> tuple[str, tuple[Message, ...]]:
    """Judge by the outline where neither letters nor words say what a part is."""
    kind = next((kind for start, kind in _KIND_BY_OUTLINE if name.startswith(start)), "unknown")
    if letters in ("T", "TR", "V") and mark in ("sot", "tab", "to_92", "can_tab"):
        kind = "transistor"
    return kind, () if kind == "unknown" else (message("kind-by-outline", kind=kind_row(kind)["name"]),)


def _capacitor(name: str, mark: str, text: str) -> str:
    """Return the construction an outline shows; a moulded case may be tantalum or polymer aluminium."""
    if mark in ("can", "radial_can", "axial_can"):
        return "capacitor_aluminium_electrolytic"
    if _POLAR.search(text):
        return "capacitor"
    if name.startswith(("C chip", "C body", "Disc")):
        return "capacitor_ceramic"
    return "capacitor_film" if name.startswith("Film") else "capacitor"


def _polarised(kind: str, mark: str, text: str) -> YesNo:
    """Return whether a part has a way round; a capacitor of unknown make in a polarised case or so called has one."""
    if kind.startswith("capacitor") and _BIPOLAR.search(text):
        return YesNo.NO
    if kind == "capacitor" and (mark in ("moulded", "radial_drop") or _POLAR.search(text)):
        return YesNo.YES
    return YesNo(kind_row(kind)["polarised"])


def _key(kind: str, value: PartValue, package: Package | None, package_text: str, part_number: str) -> str:
    """Return what makes two parts the same: kind, value, package; the type number where the value is no quantity."""
    outline = package.name if package else package_text.strip().casefold()
    if value.main is None:
        name = (part_number or value.text).strip().casefold()
        return f"{kind}|{name}|{outline}"
    parts = [f"{format_quantity(value.main)}"]
    parts += [format_quantity(q) for q in (value.tolerance, value.volts, value.watts) if q]
    parts += [value.dielectric] if value.dielectric else []
    return f"{kind}|{' '.join(parts)}|{outline}"


def fit_of(identity: PartIdentity, fit: Fit) -> Fit:
    """Return what the design says of a place: a bare land, hole, logo, fiducial or net tie is not a part.

    The mark `do not fit` of the list wins: it is what the list says.
    """
    return Fit.NOT_A_PART if fit is Fit.FIT and identity.kind in _no_parts() else fit


@cache
def _no_parts() -> frozenset[str]:
    return frozenset(row["key"] for row in tables.rows("part_kinds") if row["is_part"] == "no")
