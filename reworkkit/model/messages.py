"""Messages: a slug and the facts that fill its sentence. No stage writes a sentence; `show/texts` holds them."""

from dataclasses import dataclass

from reworkkit.model.values import Band, Quantity, Source, Where
from reworkkit.model.vocabulary import Severity

Fact = str | Quantity | Band


@dataclass(frozen=True, slots=True)
class Message:
    """A slug of the text catalogue and the facts for its blanks, in order."""

    slug: str
    facts: tuple[tuple[str, Fact], ...] = ()

    def fact(self, name: str) -> Fact | None:
        """Return the fact called `name`, or None.

        >>> message("no-such-ref", ref="R9").fact("ref")
        'R9'
        """
        return dict(self.facts).get(name)


def message(slug: str, /, **facts: Fact | int | float) -> Message:
    """Make a message; whole numbers and floats become text.

    >>> message("rows-read", count=12)
    Message(slug='rows-read', facts=(('count', '12'),))
    """
    return Message(slug, tuple((k, f"{v:g}" if isinstance(v, int | float) else v) for k, v in facts.items()))


@dataclass(frozen=True, slots=True)
class Finding:
    """Something noticed: what, how much it matters, which places, where it stands, on whose authority."""

    message: Message
    severity: Severity
    refs: tuple[str, ...] = ()
    where: tuple[Where, ...] = ()
    source: Source | None = None


@dataclass(frozen=True, slots=True)
class NotJudged:
    """A question that stays open: about what, the question, why it is open, and the line that would answer it."""

    about: tuple[str, ...]
    question: Message
    because: Message
    answer: str | None = None
