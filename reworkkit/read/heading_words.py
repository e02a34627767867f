"""What a heading means: looked up in `tables/headings.csv`, in the languages and spellings that people use."""

import re
import unicodedata
from collections.abc import Collection, Sequence
from functools import cache
from typing import NamedTuple

from reworkkit.read.text import visible
from reworkkit.tables import rows

_NOT_WORD = re.compile(r"[\W_]+")
_JOINTS = re.compile(r"[/()\[\]:&+\n]+|\s(?:or|oder|ou)\s|(?<=[\u3040-\u9fff\uac00-\ud7af])\s+(?=[A-Za-z])|\s[-–—]\s")
_AXIS = re.compile(
    r"(?<![a-z])([xy])(?=(?:pos|coord|loc|mid|center|centre)|[\u3040-\u9fff\uac00-\ud7af])"
    r"|(?:pos|coord|loc|mid|center|centre|[\u3040-\u9fff\uac00-\ud7af])([xy])(?![a-z])"
)
_CENTRE = frozenset(["mid", "centre", "center", "midpoint", "centroid", "mitte", "centro"])
_SIZE_WORDS = frozenset(
    [
        "size",
        "width",
        "height",
        "length",
        "offset",
        "scale",
        "dim",
        "dimension",
        "breite",
        "länge",
        "höhe",
        "taille",
        "count",
        "no",
        "axis-size",
    ]
)
_GENERIC = re.compile(r"^(?:comp|component|part|pcb|item|device|element|elem|bauteil|composant|componente|eltern) ")
_OF_A_PART = frozenset(["value", "package", "quantity", "description", "note"])
_STRONG_WORDS = frozenset(["designator", "designators", "refdes", "reference", "references", "ref", "refs"])
_NOT_A_PLACE = frozenset(["supplier", "vendor", "manufacturer", "order", "library", "lib"])
_OTHER_COLUMNS = frozenset(["value", "package", "x", "y", "rotation", "side"])
_QUANTITY_WORDS = frozenset(["qty", "quantity", "menge", "anzahl", "qté", "cantidad", "数量", "pcs"])


class Alias(NamedTuple):
    """One meaning of a heading; rank 1 says so plainly, 2 usually, 3 only where the cells agree."""

    role: str
    rank: int


def folded(heading: str) -> str:
    """Return a heading as it is looked up: visible characters, lower case, runs of signs as one blank.

    >>> folded(" Part_Number(s)"), folded("№ Qté.")
    ('part number s', 'no qté')
    """
    return _NOT_WORD.sub(" ", visible(heading).casefold()).strip()


@cache
def _aliases() -> dict[str, tuple[Alias, ...]]:
    found: dict[str, list[Alias]] = {}
    for row in rows("headings"):
        found.setdefault(folded(row["heading"]), []).append(Alias(row["role"], int(row["rank"])))
    return {heading: tuple(sorted(set(a), key=lambda alias: alias.rank)) for heading, a in found.items()}


@cache
def _squeezed_aliases() -> dict[str, tuple[Alias, ...]]:
    return {heading.replace(" ", ""): aliases for heading, aliases in _aliases().items()}


@cache
def _unaccented_aliases() -> dict[str, tuple[Alias, ...]]:
    return {_unaccented(heading): aliases for heading, aliases in _aliases().items()}


def _unaccented(text: str) -> str:
    return "".join(c for c in unicodedata.normalize("NFD", text) if not unicodedata.combining(c))


@cache
def meanings(heading: str) -> tuple[Alias, ...]:
    """Return what a heading may mean, plainest first; empty where nobody knows it."""
    text = folded(heading)
    if found := _known(text):
        return found
    words = frozenset(text.split())
    if axis := _axis(text):
        return (Alias(axis, 2 if words & _CENTRE else 3),)
    if parts := _of_parts(heading, bool(words & _NOT_A_PLACE)):
        return parts
    known = _aliases()
    others = {alias.role for word in words - _STRONG_WORDS for alias in known.get(word, ()) if alias.rank == 1}
    if (behind := _GENERIC.sub("", text)) != text and (plain := [a for a in _known(behind) if a.role in _OF_A_PART]):
        return tuple(Alias(alias.role, max(2, alias.rank)) for alias in plain)
    if Alias("description", 1) in known.get(text.split()[-1] if text else "", ()):
        return (Alias("description", 3),)
    if len(words) > 4 or others & _OTHER_COLUMNS or words & _NOT_A_PLACE:
        return ()
    if words & _STRONG_WORDS:
        return (Alias("designator", 3),)
    if words & _QUANTITY_WORDS:
        return (Alias("quantity", 2),)
    return ()


def _axis(text: str) -> str:
    """`Pos. X [mm]`, `中点X`, `PosX_mm`: a coordinate says which by a lone letter, and nothing about a size."""
    words = text.split()
    if len(words) > 5 or set(words) & _SIZE_WORDS:
        return ""
    lone = {word for word in words if word in ("x", "y")} | {m[1] or m[2] for m in _AXIS.finditer(text)}
    return lone.pop() if len(lone) == 1 else ""


def _known(text: str) -> tuple[Alias, ...]:
    known = _aliases()
    if text in known:
        return known[text]
    if text.replace(" ", "") in _squeezed_aliases():
        return _squeezed_aliases()[text.replace(" ", "")]
    for shorter in (text.removesuffix(" s"), re.sub(r"\s*\d+$", "", text), _without_unit(text)):
        if shorter and shorter in known:
            return known[shorter]
    return _unaccented_aliases().get(_unaccented(text), ())


def _of_parts(heading: str, no_place: bool) -> tuple[Alias, ...]:
    """A heading in two languages or with two words for one thing (`型号/参数`, `位号 (Designator)`)."""
    parts = [part for part in _JOINTS.split(visible(heading)) if part.strip()]
    if not 2 <= len(parts) <= 4 or any(c.isdigit() for c in heading):
        return ()
    ranks: dict[str, int] = {}
    for part in parts:
        for alias in _known(folded(part)):
            if alias.rank < 3 and not (no_place and alias.role == "designator"):
                ranks[alias.role] = max(2, min(alias.rank, ranks.get(alias.role, 3)))
    return tuple(Alias(role, rank) for role, rank in ranks.items())


def _without_unit(text: str) -> str:
    words = [word for word in text.split() if word not in ("mm", "mil", "mils", "inch", "in", "deg", "degrees", "eur")]
    return " ".join(words)


def roles_in(cells: Sequence[str], wanted: Collection[str]) -> set[str]:
    """Return the roles that the cells of a row name, if it were the heading row."""
    return {alias.role for cell in cells if cell and len(cell) < 60 for alias in meanings(cell) if alias.role in wanted}


def heading_cells(cells: Sequence[str], wanted: Collection[str]) -> int:
    """Return how many cells of a row are headings that somebody knows."""
    return sum(any(a.role in wanted for a in meanings(cell)) for cell in cells if cell and len(cell) < 60)


def says_part(heading: str) -> bool:
    """Return whether a heading names parts (`Teil`, `Componente`): where another column has the places, their sort."""
    return any(alias.role == "designator" and alias.rank == 3 for alias in meanings(heading))
