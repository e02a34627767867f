"""The text catalogue: one folder a language, one TOML file an area, one table a slug.

Areas are read one by one, `job` first, so that the commands that only recall never parse the rest.
"""

import tomllib
from functools import cache
from importlib.resources import files

from reworkkit.model.messages import Fact, Message
from reworkkit.model.values import Band, Quantity

AREAS = (
    *("job", "command", "input", "board", "list", "audit", "diff", "polarity", "plan", "heat", "power"),
    *("diagnose", "buy", "desolder", "live", "page", "survey", "record"),
)
DEFAULT_LANGUAGE = "en"

Entry = dict[str, str]


@cache
def area(language: str, name: str) -> dict[str, Entry]:
    """Return one area of the catalogue: slug -> sentence, cause, cure; empty where the language lacks it."""
    path = files(__package__) / language / f"{name}.toml"
    return tomllib.loads(path.read_text(encoding="utf-8")) if path.is_file() else {}


@cache
def entry(slug: str, language: str = DEFAULT_LANGUAGE) -> Entry:
    """Return the texts of a slug, in the language asked for or else in English; KeyError names a slug without text."""
    for spoken in dict.fromkeys((language, DEFAULT_LANGUAGE)):
        for name in AREAS:
            if slug in (texts := area(spoken, name)):
                return texts[slug]
    raise KeyError(f"no text for the message {slug!r}")


def catalogue(language: str = DEFAULT_LANGUAGE) -> dict[str, dict[str, Entry]]:
    """Return the whole catalogue by area, for the generated page of messages and for tests."""
    return {name: area(language, name) for name in AREAS}


def sentence(message: Message, language: str = DEFAULT_LANGUAGE, part: str = "sentence") -> str:
    """Return the sentence (or its `cause` or `cure`) with the facts filled in; empty where the slug has no such part.

    >>> from reworkkit.model.messages import message
    >>> sentence(message("unknown-ref", ref="R99"))
    'R99 is not on this board.'
    """
    template = entry(message.slug, language).get(part, "")
    return template.format(**{name: Spoken(_spoken(fact)) for name, fact in message.facts}) if template else ""


class Spoken(str):
    """A fact in a sentence. `{count:place|places}` gives the word that goes with the number.

    >>> "{n} {n:place|places}, {m} {m:row|rows}".format(n=Spoken("1"), m=Spoken("3"))
    '1 place, 3 rows'
    """

    __slots__ = ()

    def __format__(self, spec: str) -> str:
        one, bar, many = spec.partition("|")
        if bar:
            return one if self == "1" else many
        return super().__format__(spec)


def _spoken(fact: Fact) -> str:
    if isinstance(fact, Quantity):
        return fact.text
    if isinstance(fact, Band):
        return band_text(fact)
    return fact


def band_text(band: Band) -> str:
    """Return a band as `low to high unit`, rounded to three digits, with a prefix where the unit takes one.

    >>> from reworkkit.model.vocabulary import BandBasis
    >>> band_text(Band(4.8519, 5.0, 5.1519, "V", BandBasis.WORST_CASE))
    '4.85 to 5.15 V'
    >>> band_text(Band(None, None, 999.6, "ohm", BandBasis.STATED))
    'at most 1 kohm'
    >>> band_text(Band(4700.0, None, None, "ohm", BandBasis.STATED))
    'at least 4.7 kohm'
    >>> band_text(Band(20.0, 20.0, 20.0, "%", BandBasis.STATED))
    '20 %'
    """
    low, high = (None if end is None else _prefixed(end, band.unit) for end in (band.low, band.high))
    if low is None and high is None:
        return f"not known ({band.unit})"
    if low is None or high is None:
        return f"at most {' '.join(high)}" if high else f"at least {' '.join(low or ())}"
    if low == high:
        return " ".join(high).strip()
    first = low[0] if low[1] == high[1] or low[0] == "0" else " ".join(low)
    return f"{first} to {' '.join(high)}".strip()


def _prefixed(value: float, unit: str) -> tuple[str, str]:
    """Return a value with three digits and its unit with a prefix, where ohm, A, s and F take one."""
    steps = ((1e6, "M"), (1e3, "k"), (1.0, ""), (1e-3, "m"), (1e-6, "\u00b5"))
    if unit in ("ohm", "A", "s", "F") and value:
        for scale, prefix in steps:
            if abs(value) >= scale * 0.9995 and not (unit == "s" and scale > 1) and not (unit == "ohm" and scale < 1):
                return f"{value / scale:.3g}", f"{prefix}{unit}"
    return f"{value:.3g}", "" if unit == "1" else unit
