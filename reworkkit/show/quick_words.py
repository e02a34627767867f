"""Sentences of the commands that must answer at once: only the entry that is needed is parsed, not the catalogue."""

import tomllib
from functools import cache
from pathlib import Path

from reworkkit.model.messages import Message
from reworkkit.show import texts

_AREAS = ("job", "plan", "command", "power")


@cache
def _area(language: str, name: str) -> str:
    path = Path(__file__).parent / "texts" / language / f"{name}.toml"
    return "\n" + path.read_text(encoding="utf-8") if path.is_file() else ""


@cache
def template(slug: str, language: str) -> str:
    """Return the sentence of a slug with its blanks; the whole catalogue is asked only where the slug is elsewhere.

    >>> template("hold-state-open", "en")
    'open'
    """
    head = f"\n[{slug}]\n"
    for name in _AREAS:
        _, found, after = _area(language, name).partition(head)
        if found:
            return str(tomllib.loads(after.partition("\n[")[0])["sentence"])
    return texts.entry(slug, language)["sentence"]


def quick_sentence(message: Message, language: str) -> str:
    """Return what `texts.sentence` returns, sooner."""
    facts = {name: fact if isinstance(fact, str) else _spoken(message, name) for name, fact in message.facts}
    return template(message.slug, language).format(**facts)


def _spoken(message: Message, name: str) -> str:
    from reworkkit.model.values import Band

    fact = message.fact(name)
    return texts.band_text(fact) if isinstance(fact, Band) else str(getattr(fact, "text", fact))
