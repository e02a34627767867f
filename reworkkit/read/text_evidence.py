"""Which code page a file that is not UTF-8 was written in, judged by what the text would then say.

A page is believed for headings the tables know, unit signs beside figures, and letters that stand as they do in
the languages of that page; signs inside words, lone ideographs between figures and mixed scripts speak against it.
"""

import re
import unicodedata
from collections.abc import Callable
from functools import cache
from typing import NamedTuple

from reworkkit.tables import rows

_SAMPLE = 200_000
_SURE_LEAD = 2.0
_WORD = re.compile(r"[^\W\d_]+")
_UNIT = re.compile(r"(?<=[\d kMm])[µμ](?=[FHAVWsm]\b)|(?<=[\dkM ])Ω|(?<=\d) ?°(?=C\b)|±(?= ?\d)|[®™©](?=\W|$)")
_WEST = frozenset("äöüßÄÖÜéèêëàâçñóòíìáúùãõôîïûåæøÉÈÀÇÑÓÍÁÚÃÕÅÆØœ")
_CENTRAL = frozenset("ąćęłńóśźżĄĆĘŁŃÓŚŹŻáčďéěíňřšťúůýžÁČĎÉĚÍŇŘŠŤÚŮÝŽőűŐŰäöüßÄÖÜ")
_TURKISH = frozenset("çğıöşüÇĞİÖŞÜâîû")
_RUSSIAN = frozenset("оеаинтсрвлкмдпуяызьйбгчхжшюцщэфёъОЕАИНТСРВЛКМДПУЯЗБГЧХЖШЮЦЩЭФ")
_RUSSIAN_COMMON = frozenset("оеаинтсрвлкмд")
_SIGNS_IN_WORDS = re.compile(r"(?<=[^\W\d_])[¡-¿×÷„…†‡‰‹‘’“”•–—˜›¸˛˝ˇ˘¨·¹²³¼½¾](?=[^\W\d_])")
_CONSONANT_AFTER = re.compile(r"è(?=[aeiouy])", re.IGNORECASE)
_HACEK = re.compile(r"č(?=[aeiouyáéíýnkt])|ř(?=[aeiouyáéíýěk])|ě", re.IGNORECASE)
_HALF_KANA = re.compile(r"[\uff61-\uff9f]+")
_WIDE = re.compile(r"[\u3040-\u30ff\u3400-\u9fff\uff01-\uff5e\u3000-\u303f]+")


class CodePage(NamedTuple):
    """The page chosen; `sure` is False where nothing in the file speaks clearly for it."""

    encoding: str
    sure: bool
    evidence: str


def best_code_page(data: bytes) -> CodePage:
    """Return the code page whose reading of the bytes makes the most sense; cp1252, unsure, where none does."""
    sample = _telling_lines(data)
    scored = [(*_score(text, judge), name) for name, judge in _PAGES if (text := _strict(sample, name)) is not None]
    scored.sort(key=lambda entry: -entry[0])
    if not scored or scored[0][0] <= 0:
        return CodePage("cp1252", False, "nothing in the file")
    first = scored[0]
    text = _strict(sample, first[2])
    rivals = [entry[0] for entry in scored[1:] if _strict(sample, entry[2]) != text]
    sure = first[0] >= 1 and (not rivals or first[0] - max(rivals) >= _SURE_LEAD or first[0] >= 2 * max(rivals))
    return CodePage(first[2], sure, first[1])


def _telling_lines(data: bytes) -> bytes:
    """Return only the lines with bytes above ASCII, each once, up to a sample's worth."""
    lines = dict.fromkeys(line for line in data.splitlines() if not line.isascii())
    return b"\n".join(lines)[:_SAMPLE].rsplit(b"\n", 1)[0] if len(data) > _SAMPLE else b"\n".join(lines)


def _strict(sample: bytes, encoding: str) -> str | None:
    try:
        return sample.decode(encoding)
    except UnicodeDecodeError:
        return None


def _score(text: str, judge: Callable[[str], float]) -> tuple[float, str]:
    cells = {cell.strip(" \"'").casefold() for cell in re.split(r"[,;\t|\n]", text)}
    words = sorted(cells & _foreign_words())
    units = sorted({hit.strip() for hit in _UNIT.findall(text)})
    score = 6.0 * len(words) + 1.5 * len(_UNIT.findall(text)) + judge(text)
    seen = [*words[:2], *units[:2]] or _samples(text)
    return score, ", ".join(seen)


def _samples(text: str) -> list[str]:
    return list(dict.fromkeys(w for w in _WORD.findall(text) if not w.isascii()))[:2]


@cache
def _foreign_words() -> frozenset[str]:
    """Headings and wordings of the tables with letters beyond ASCII: seeing one as a whole cell is strong evidence."""
    headings = (row["heading"] for row in rows("headings"))
    wordings = (row["wording"] for row in rows("fit_words"))
    return frozenset(word.casefold() for word in (*headings, *wordings) if not word.isascii())


def _foreign(text: str) -> list[str]:
    return [word for word in _WORD.findall(text) if not word.isascii() and word not in ("µ", "μ")]


def _western(text: str) -> float:
    score = -2.0 * len(_SIGNS_IN_WORDS.findall(text)) - 1.0 * len(_CONSONANT_AFTER.findall(text))
    return score + sum(_latin_word(word, _WEST) for word in _foreign(text))


def _central(text: str) -> float:
    score = -2.0 * len(_SIGNS_IN_WORDS.findall(text)) + 0.5 * len(_HACEK.findall(text))
    return score + sum(_latin_word(word, _CENTRAL) for word in _foreign(text)) - 0.25


def _latin_word(word: str, usual: frozenset[str]) -> float:
    foreign = [c for c in word if not c.isascii() and c not in "µμ"]
    if not foreign:
        return 0.0
    odd = sum(c not in usual for c in foreign)
    crowded = len(foreign) > 1 and len(foreign) > 0.5 * len(word)
    lone = len(word) == len(foreign) == 1
    jumps = not word.isupper() and any(c.isupper() for c in word[1:])
    return 1.0 - 2.0 * odd - 2.5 * crowded - 1.5 * lone - 1.5 * jumps


def _cyrillic(text: str) -> float:
    return sum(_russian_word(word) for word in _foreign(text)) - 2.0 * len(_SIGNS_IN_WORDS.findall(text))


def _russian_word(word: str) -> float:
    russian = [c for c in word if c in _RUSSIAN]
    if len(russian) != len(word):
        return -2.0
    if len(word) < 3:
        return -0.5
    jumps = not word.isupper() and any(c.isupper() for c in word[1:])
    common = sum(c.lower() in _RUSSIAN_COMMON for c in word) / len(word)
    return 2.0 * common + 0.5 - 2.0 * jumps


def _japanese(text: str) -> float:
    score = sum(0.5 * len(run) - 1.0 if len(run) > 2 else -2.0 for run in _HALF_KANA.findall(text))
    return score + sum(_wide_run(run, "cp932", 0x88, 0x97) for run in _WIDE.findall(text))


def _chinese(text: str) -> float:
    return sum(_wide_run(run, "gb18030", 0xB0, 0xD7) for run in _WIDE.findall(text)) - _unknown_wide(text)


def _wide_run(run: str, encoding: str, first: int, last: int) -> float:
    """Score a run of wide characters: the everyday half of the page speaks for it, rare ones and loners against."""
    letters = [c for c in run if "\u3400" <= c <= "\u9fff"]
    everyday = sum(first <= c.encode(encoding, errors="replace")[0] <= last for c in letters)
    kana = sum("\u3040" <= c <= "\u30ff" for c in run)
    if len(run) == 1 and not kana:
        return -1.0 if everyday else -2.0
    kana_worth = 1.0 if encoding == "cp932" else -0.5
    return 0.7 * everyday - 1.5 * (len(letters) - everyday) + kana_worth * kana


def _unknown_wide(text: str) -> float:
    return 2.0 * sum(unicodedata.category(c) in ("Co", "Cn") for c in text)


def _korean(text: str) -> float:
    """Hangul alone speaks for Korean; among the letters of a Chinese text read so, every third is no Hangul."""
    hangul = sum("\uac00" <= c <= "\ud7a3" for c in text)
    others = sum("\u3400" <= c <= "\u9fff" for c in text)
    return 0.9 * hangul - 2.5 * others - _unknown_wide(text)


def _turkish(text: str) -> float:
    score = -2.0 * len(_SIGNS_IN_WORDS.findall(text))
    return score + sum(_latin_word(word, _TURKISH) for word in _foreign(text)) - 0.25


def _greek(text: str) -> float:
    words = _foreign(text)
    whole = sum(all("\u0370" <= c <= "\u03ff" for c in word) and len(word) > 2 for word in words)
    jumps = sum(any(c.isupper() for c in word[1:]) and not word.isupper() for word in words)
    return 1.6 * whole - 2.0 * (len(words) - whole) - 2.0 * jumps - 2.0 * len(_SIGNS_IN_WORDS.findall(text))


_PAGES: tuple[tuple[str, Callable[[str], float]], ...] = (
    ("cp1252", _western),
    ("cp1250", _central),
    ("cp1251", _cyrillic),
    ("cp932", _japanese),
    ("gb18030", _chinese),
    ("cp949", _korean),
    ("cp1254", _turkish),
    ("cp1253", _greek),
)

_HIGH_RUN = re.compile(r"[^\x00-\x7f]+")


def repaired_twice_encoded(text: str) -> tuple[str, str, str] | None:
    """Undo UTF-8 that was read as a one-byte page and saved as UTF-8 again; None where the text is no such case.

    Most runs of characters beyond ASCII must fit, so ordinary text is never touched; the others stay.

    >>> repaired_twice_encoded("10ÂµF")
    ('10µF', 'cp1252', 'ÂµF -> µF')
    """
    runs = set(_HIGH_RUN.findall(text))
    for page in ("cp1252", "cp1251", "cp1250"):
        fixed = {run: again for run in runs if (again := _undone(run, page))}
        if runs and 2 * len(fixed) > len(runs):
            mended = _HIGH_RUN.sub(lambda match, map=fixed: map.get(match[0], match[0]), text)  # type: ignore[misc]
            at = next(match for match in _HIGH_RUN.finditer(text) if match[0] in fixed)
            tail = text[at.end() : at.end() + 1].strip()
            return mended, page, f"{at[0]}{tail} -> {fixed[at[0]]}{tail}"
    return None


def _undone(run: str, page: str) -> str | None:
    try:
        return b"".join(_one_byte(c, page) for c in run).decode("utf-8")
    except (UnicodeDecodeError, UnicodeEncodeError):
        return None


def _one_byte(char: str, page: str) -> bytes:
    """Encode one character; the holes of a page (0x81, 0x8D ...) stand for themselves, as browsers read them."""
    return bytes([ord(char)]) if 0x80 <= ord(char) <= 0x9F else char.encode(page)
