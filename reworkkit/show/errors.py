"""The one place that turns an error into words: what happened, where, why, and what to do."""

from reworkkit.errors import ProblemsError, ReworkkitError
from reworkkit.model.messages import Message
from reworkkit.show.texts import sentence


def error_text(error: ReworkkitError, language: str = "en") -> str:
    """Return the text of an error: `file:line: slug: sentence`, then cause and cure, for each problem it carries."""
    problems = error.problems if isinstance(error, ProblemsError) else (error,)
    blocks = [_one(problem.message, tuple(map(str, problem.where)), language) for problem in problems]
    if len(problems) > 1:
        blocks.append(plain(sentence(error.message, language)))
    return "\n".join(blocks)


def _one(what: Message, where: tuple[str, ...], language: str) -> str:
    place = f"{where[0]}: " if where else ""
    lines = [f"{place}{what.slug}: {plain(sentence(what, language))}"]
    for part in ("cause", "cure"):
        if text := plain(sentence(what, language, part)):
            lines.append(f"  {text}")
    return "\n".join(lines)


def system_error(error: OSError) -> ReworkkitError:
    """Return our error for one of the operating system: what could not be done, and with which file."""
    return ReworkkitError("system-refused", file=str(error.filename or ""), reason=error.strerror or str(error))


def plain(text: str) -> str:
    """Return the text with control characters shown as marks, so that no cell of a file can drive the terminal.

    >>> plain("R1\\x1b[31m")
    'R1\\u241b[31m'
    """
    return "".join(chr(0x2400 + ord(c)) if ord(c) < 32 and c not in "\n\t" else c for c in text).replace(
        "\x7f", "\u2421"
    )
