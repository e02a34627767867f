"""Cells of a placement file: lengths, rotations, sides, units in words, and a unit by plausibility."""

import re
from collections.abc import Mapping, Sequence
from functools import cache
from math import log
from typing import NamedTuple

from reworkkit.model.vocabulary import Side
from reworkkit.tables import rows

_WORDS = {
    "mm": "mm", "millimeter": "mm", "millimetre": "mm", "millimeters": "mm", "millimetres": "mm", "metric": "mm",
    "mil": "mil", "mils": "mil", "thou": "mil", "th": "mil",
    "in": "inch", "inch": "inch", "inches": "inch", '"': "inch", "zoll": "inch", "imperial": "inch",
    "um": "um", "µm": "um", "μm": "um", "micron": "um", "microns": "um", "cm": "cm",
    "мм": "mm", "мил": "mil", "дюйм": "inch", "毫米": "mm", "ミリ": "mm", "密耳": "mil", "英寸": "inch",
}  # fmt: skip
_ANY_WORD = "|".join(sorted((re.escape(word) for word in _WORDS if word != '"'), key=len, reverse=True))
_LENGTH = re.compile(r"([-+]?(?:\d[\d.,]*|[.,]\d+)(?:[eE][-+]?\d+)?)\s*(" + _ANY_WORD + r'|")?', re.IGNORECASE)
_IN_HEADING = re.compile(rf"(?:[(\[/_,]\s*|\s)({_ANY_WORD})\s*[)\]]?\s*$", re.IGNORECASE)
_IN_SENTENCE = re.compile(
    rf"(?:unit|measure|dimension|coordinate|einheit|maße|unité|unidad|единиц|単位|单位)[^\n]*?"
    rf"[\s:=(\[\",;]({_ANY_WORD})(?![\w-]|\s+(?:{_ANY_WORD})\b)",
    re.IGNORECASE,
)
_ROTATION = re.compile(r"(m?)s?r?\s*([-+]?\d+(?:[.,]\d+)?)\s*(?:°|deg(?:rees?)?)?", re.IGNORECASE)
_PLAIN = re.compile(r"[^\w]|_")
_SIDE_IN_NAME = re.compile(r"(?<![a-z])(top|front|bottom|bot|back)(?![a-z])", re.IGNORECASE)
_MIRROR_HEADING = re.compile(
    r"mirror|flip|spiegel|miroir|espejo|espelh|specchi|lustr|odbici|zrcad|зерк|отраж|ミラー|反転|镜像", re.IGNORECASE
)
_MIRROR_YES = frozenset(
    [
        "yes",
        "y",
        "1",
        "true",
        "m",
        "mirror",
        "mirrored",
        "bottom",
        "x",
        "ja",
        "oui",
        "si",
        "sí",
        "sì",
        "sim",
        "tak",
        "ano",
        "да",
        "是",
        "有",
        "はい",
        "裏",
        "on",
        "flipped",
    ]
)
_MIRROR_NO = frozenset(
    [
        "no",
        "n",
        "0",
        "false",
        "none",
        "normal",
        "top",
        "nein",
        "non",
        "não",
        "nie",
        "ne",
        "нет",
        "否",
        "無",
        "いいえ",
        "表",
        "off",
    ]
)

DENSE_MM2, SPARSE_MM2, USUAL_MM2 = 3.0, 1000.0, 50.0
"""Board area per part that real boards keep to: measured on the placement files of open designs, common practice."""
GUESSED_UNITS = ("mm", "mil", "inch", "um")


class Length(NamedTuple):
    """A figure and the unit written beside it, or None."""

    figure: float
    unit: str | None


class Turn(NamedTuple):
    """A rotation in degrees, 0 <= r < 360; mirrored where the cell says so (`MR90`)."""

    degrees: float
    mirrored: bool


def length(text: str) -> Length | None:
    """Return figure and unit of a cell; a lone comma is a decimal comma.

    >>> length("2.875mm"), length("-12,5"), length("1,234.5 mil"), length("here")
    (Length(figure=2.875, unit='mm'), Length(figure=-12.5, unit=None), Length(figure=1234.5, unit='mil'), None)
    """
    match = _LENGTH.fullmatch(text.strip().strip("'"))
    if match is None:
        return None
    figure = _figure(match[1])
    return None if figure is None else Length(figure, _WORDS[match[2].lower()] if match[2] else None)


def _figure(text: str) -> float | None:
    if text.count(",") == 1 and "." not in text:
        text = text.replace(",", ".")
    elif text.rfind(".") < text.rfind(","):
        text = text.replace(".", "").replace(",", ".")
    try:
        return float(text.replace(",", ""))
    except ValueError:
        return None


def pair(text: str) -> tuple[Length | None, Length | None]:
    """Return the two lengths of a cell that holds both coordinates.

    >>> pair("(1250.5 300)")
    (Length(figure=1250.5, unit=None), Length(figure=300.0, unit=None))
    """
    inner = text.strip().strip("()[]").strip()
    for cut in (r"\s*;\s*", r"\s*,\s+", r"\s+", r","):
        halves = re.split(cut, inner)
        if len(halves) == 2:
            return length(halves[0]), length(halves[1])
    return None, None


def rotation(text: str) -> Turn | None:
    """Return a rotation; whole turns are taken off.

    >>> rotation("-90"), rotation("MR180"), rotation("360.0"), rotation("up")
    (Turn(degrees=270.0, mirrored=False), Turn(degrees=180.0, mirrored=True), Turn(degrees=0.0, mirrored=False), None)
    """
    match = _ROTATION.fullmatch(text.strip())
    if match is None:
        return None
    degrees = round(float(match[2].replace(",", ".")) % 360.0, 6)
    return Turn(0.0 if degrees >= 360.0 else degrees, bool(match[1]))


@cache
def _sides() -> Mapping[str, Side]:
    return {row["word"]: Side(row["side"]) for row in rows("side_words")}


@cache
def side_of(text: str, heading: str = "") -> Side | None:
    """Return the side a cell names, or None; under a heading like `Mirror` the answer is yes or no.

    >>> side_of("TopLayer"), side_of("B.Cu"), side_of("yes", "Mirror"), side_of("left")
    (<Side.TOP: 'top'>, <Side.BOTTOM: 'bottom'>, <Side.BOTTOM: 'bottom'>, None)
    """
    word = _PLAIN.sub("", text.casefold())
    if _MIRROR_HEADING.search(heading):
        return Side.BOTTOM if word in _MIRROR_YES else Side.TOP if word in _MIRROR_NO else None
    return _sides().get(word)


def side_of_name(text: str) -> Side | None:
    """Return the one side that a file name or a line above the headings names, or None.

    >>> side_of_name("## Side : bottom"), side_of_name("both-top-bottom.csv"), side_of_name("stop.csv")
    (<Side.BOTTOM: 'bottom'>, None, None)
    """
    found = {Side.TOP if match.lower() in ("top", "front") else Side.BOTTOM for match in _SIDE_IN_NAME.findall(text)}
    return found.pop() if len(found) == 1 else None


def unit_in(text: str, *, alone: bool = False, sentence: bool = False) -> str | None:
    """Return the unit named in a heading; `alone`: the text is nothing else; `sentence`: a line above the headings.

    >>> unit_in("Center-X(mil)"), unit_in("Mid X"), unit_in("## Unit = mm, Angle = deg.", sentence=True)
    ('mil', None, 'mm')
    """
    if alone:
        return _WORDS.get(text.strip().lower())
    match = (_IN_SENTENCE if sentence else _IN_HEADING).search(text)
    return _WORDS[match[1].lower()] if match else None


class PlausibleUnit(NamedTuple):
    """The unit whose board has a usual area per part, the next one, and whether only the first is possible."""

    unit: str
    other: str
    sure: bool
    width: float
    height: float

    def span(self, mm: float) -> str:
        """Return the spread of the parts in millimetres, with `mm` millimetres to the unit."""
        return f"{self.width * mm:.3g} mm x {self.height * mm:.3g} mm"


def plausible_unit(points: Sequence[tuple[float, float]], unit_mm: Mapping[str, float]) -> PlausibleUnit:
    """Return the unit that gives the parts a usual area of board each (3 to 1000 square millimetres).

    The candidates differ by a factor of 645 or more in area, so at most one of them lies in that range.

    >>> plausible_unit([(0, 0), (1, 1), (0.5, 0.2), (0.3, 0.9)], {"mm": 1.0, "mil": 0.0254, "inch": 25.4}).unit
    'inch'
    """
    xs, ys = [x for x, _ in points] or [0.0], [y for _, y in points] or [0.0]
    width, height = max(xs) - min(xs), max(ys) - min(ys)

    def area_mm2(unit: str) -> float:
        mm = unit_mm[unit]
        return (width * mm + 2.0) * (height * mm + 2.0) / max(len(points), 1)

    possible = [unit for unit in GUESSED_UNITS if unit in unit_mm]
    ranked = sorted(possible, key=lambda unit: abs(log(area_mm2(unit) / USUAL_MM2)))
    sure = len(points) > 2 and DENSE_MM2 <= area_mm2(ranked[0]) <= SPARSE_MM2
    return PlausibleUnit(ranked[0], ranked[1], sure, width, height)
