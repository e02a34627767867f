"""Whether the words of a cell say that a place stays empty; the wordings are those of `tables/fit_words.csv`."""

import difflib
import re
from enum import Enum
from functools import cache
from typing import NamedTuple

from reworkkit.read.text import visible
from reworkkit.tables import rows

_CLAUSE = re.compile(r"[,;:()\[\]{}|!\n]+|\s[-–—/]\s|\.\s")
_WORD = re.compile(r"[^\s_/]+")
_LOOSE = " .*\"'`?!<>-–—"


class Column(Enum):
    """How far a column may be believed: one that asks, one for values and remarks, prose, or anything else."""

    TELLING = "telling"
    PROSE = "prose"
    OTHER = "other"


class Mark(Enum):
    """What a cell says: leave the place empty, fill it, or it depends."""

    DO_NOT_FIT = "do_not_fit"
    FIT = "fit"
    OPEN = "open"
    ELSEWHERE = "elsewhere"
    """The row belongs to another board."""


class _Words(NamedTuple):
    codes: frozenset[str]
    whole_no: frozenset[str]
    whole_yes: frozenset[str]
    contains: tuple[str, ...]
    negations: dict[str, frozenset[str]]
    verbs: dict[str, frozenset[str]]
    between: frozenset[str]
    conditional: frozenset[str]
    yes: frozenset[str]
    no: frozenset[str]


@cache
def _words() -> _Words:
    found: dict[tuple[str, str], dict[str, str]] = {}
    for row in rows("fit_words"):
        wordings = found.setdefault((row["match"], row["means"]), {})
        wording = row["wording"].casefold().strip(_LOOSE) or row["wording"]
        wordings[wording] = f"{wordings.get(wording, '')} {row['language']}".strip()

    def of(match: str, means: str) -> frozenset[str]:
        return frozenset(found.get((match, means), {}))

    def by_language(match: str) -> dict[str, frozenset[str]]:
        pairs = found.get((match, "do_not_fit"), {})
        languages = {language for spoken in pairs.values() for language in spoken.split()}
        return {lang: frozenset(w for row in _split_by(pairs, lang) for w in row) for lang in languages}

    return _Words(
        of("code", "do_not_fit"), of("whole", "do_not_fit"), of("whole", "fit"), tuple(of("contains", "do_not_fit")),
        by_language("negation"), by_language("verb"), of("between", "do_not_fit"), of("conditional", "open"),
        of("yes", "fit"), of("no", "do_not_fit"),
    )  # fmt: skip


def _split_by(pairs: dict[str, str], language: str) -> list[list[str]]:
    return [wording.split() for wording, spoken in pairs.items() if language in spoken.split()]


@cache
def mark_of(text: str, column: Column) -> Mark | None:
    """Return what a cell of an ordinary column says, or None where it says nothing about fitting.

    >>> mark_of("No not install", Column.TELLING), mark_of("100nF", Column.TELLING), mark_of("10k DNP", Column.OTHER)
    (<Mark.DO_NOT_FIT: 'do_not_fit'>, None, <Mark.DO_NOT_FIT: 'do_not_fit'>)
    >>> mark_of("link at the pads of Q1, Q1 not fitted yet", Column.PROSE) is None
    True
    """
    said = _PIN_NOT_USED.sub(" ", visible(text).casefold())
    if not said.strip() or len(said) > 400:
        return None
    if said.isascii() and said.isdigit():
        return None
    if not _says_no(said, column):
        return None
    words = frozenset(_WORD.findall(said))
    return Mark.OPEN if words & _words().conditional and len(words) > 2 else Mark.DO_NOT_FIT


def _says_no(said: str, column: Column) -> bool:
    known = _words()
    bare = said.strip(_LOOSE + "()[]")
    if bare in known.codes or bare == "np":
        return True
    tokens = _WORD.findall(said.replace("-", " ") if column is Column.TELLING else said)
    if any(token.strip(_LOOSE + "()[],;:") in known.codes for token in tokens):
        return True
    if not said.isascii() and any(wording in said for wording in known.contains):
        return True
    if bare.replace(".", "") in known.codes:
        return True
    if (bare in known.whole_no or bare.replace(".", "") in known.whole_no) and (
        column is Column.TELLING or (column is Column.PROSE and len(bare) > 5)
    ):
        return True
    if column is Column.TELLING and _code_behind_value(said, known.whole_no):
        return True
    clauses = [clause.strip(_LOOSE) for clause in _CLAUSE.split(said)]
    if column is Column.TELLING and any(c in known.whole_no and (" " in c or len(c) > 5) for c in clauses):
        return True
    return any(_negated(clause) for n, clause in enumerate(clauses) if n == 0 or not _is_of_another(clause))


def _is_of_another(clause: str) -> bool:
    """A later clause that begins with a designator speaks of that part; `np0`, `sot23` and `r0603` are none.

    One that begins with channels, pins or the second half of the part speaks of these.
    """
    if _OF_ITS_PINS.match(clause):
        return True
    match = _DESIGNATOR.match(clause)
    return match is not None and match[1].upper() in _class_letters()


@cache
def _class_letters() -> frozenset[str]:
    return frozenset(row["letters"] for row in rows("class_letters"))


_OF_ITS_PINS = re.compile(
    r"(?:channels?|ch|voies?|canaux|canal(?:es|i)?|kan(?:ä|a)le?n?|pins?|broches?|outputs?|inputs?|gates?|sorties?"
    r"|entrées?|second|other|zweite|deuxième|autre)\b"
)
_ONE_OF_SEVERAL = (
    r"(?:one|other|half|second|third|fourth|zweiter?|zweites|dritter?|drittes|vierter?|viertes|deuxième|troisième|quatrième"
    r"|autre|segund[oa]|tercer[oa]?|cuart[oa]|otr[oa]|second[oa]|terz[oa]|quart[oa])(?: [\w-]{3,14})?"
)
_PIN_NOT_USED = re.compile(
    rf"(?<![\w.])(?:\d{{1,2}}|nc|no|{_ONE_OF_SEVERAL})\s*(?:\([\w/ ]{{1,12}}\)\s*)?(?:is |are )?"
    r"(?:not used|unused|not connected|not wired|nicht (?:be|ge)nutzt|nicht (?:belegt|angeschlossen|verwendet)"
    r"|unbenutzt|non (?:usat[oa]|utilisée?)|inutilisée?|sin (?:usar|conectar))"
)
"""`12 (NC) not used` is said of a contact or pin, `fourth comparator not used` of one of several in a part."""
_DESIGNATOR = re.compile(r"([a-z]{1,3})[1-9]\d{0,3}\s")
_VALUE_THEN_CODE = re.compile(
    r"[\d.,]+\s?[a-zµμω%]{1,4}\d?(?:[\s/][\d.,]+\s?[a-z%]{1,2})?\s*[\s/(,;\[-]\s*([a-z][a-z./]{1,5})[)\]]?\.?"
)
_NON_POLAR = frozenset(["np", "n.p", "n/p"])


def _code_behind_value(said: str, codes: frozenset[str]) -> bool:
    """`100n n.b.`, `10k (NM)`: behind a value even the short codes can mean nothing else."""
    match = _VALUE_THEN_CODE.fullmatch(said)
    return match is not None and (code := match[1].strip(_LOOSE)) in codes - _NON_POLAR and len(code) <= 5


def _negated(clause: str) -> bool:
    """A word of denial followed, over small words, by a word of fitting, both of one language."""
    tokens = [token.strip(_LOOSE) for token in clause.replace("-", " ").split()]
    if not 2 <= len(tokens) <= 12:
        return False
    known = _words()
    for language, negations in known.negations.items():
        for at, token in enumerate(tokens[:-1]):
            if token in negations and (at <= 3 or at >= len(tokens) - 4):
                following = next((t for t in tokens[at + 1 :] if t not in negations and t not in known.between), "")
                if following and _is_verb(following, language):
                    return True
    return False


@cache
def _is_verb(word: str, language: str) -> bool:
    verbs = _words().verbs.get(language, frozenset())
    if word in verbs:
        return True
    return len(word) >= 6 and bool(difflib.get_close_matches(word, verbs, 1, 0.87))


@cache
def answer_of(text: str, asks_fitted: bool) -> Mark | None:
    """Return what a cell of a column that asks says; an empty cell says nothing.

    >>> answer_of("0", asks_fitted=False), answer_of("x", asks_fitted=False), answer_of("no", asks_fitted=True)
    (<Mark.FIT: 'fit'>, <Mark.DO_NOT_FIT: 'do_not_fit'>, <Mark.DO_NOT_FIT: 'do_not_fit'>)
    """
    said = visible(text).casefold().strip(" .!\"'()[]")
    if not said:
        return None
    known = _words()
    if mark := mark_of(text, Column.TELLING):
        return mark
    if said in known.whole_yes:
        return Mark.FIT
    if said in known.no:
        return Mark.DO_NOT_FIT if asks_fitted else Mark.FIT
    if said in known.yes or said.split()[0] in known.yes:
        return Mark.FIT if asks_fitted else Mark.DO_NOT_FIT
    return None


def is_answer(text: str) -> bool:
    """Tell whether a cell could be an answer in a column that asks whether to fit."""
    return answer_of(text, asks_fitted=True) is not None
