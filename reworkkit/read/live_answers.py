"""[live] as options of the command line: the same keys, the same units, laid over what board.toml says."""

from collections.abc import Mapping
from dataclasses import fields, replace

from reworkkit.errors import ReworkkitError
from reworkkit.model.facts import LiveFacts
from reworkkit.model.values import Quantity
from reworkkit.read.facts_short_forms import dimensions

_YES_NO = {"true": True, "yes": True, "false": False, "no": False}
_SWITCHES = frozenset({"isolated", "control_fed_apart", "load_while_charging"})


def live_answers(written: list[str]) -> dict[str, str]:
    """Return key -> value for answers such as `loop=0.1ohm`; raises ReworkkitError for one without `=`.

    >>> live_answers(["loop=0.1ohm", "who-cuts-supply = Ada, at the box"])
    {'loop': '0.1ohm', 'who_cuts_supply': 'Ada, at the box'}
    """
    found = {}
    for answer in written:
        key, equals, value = answer.partition("=")
        if not (equals and key.strip() and value.strip()):
            raise ReworkkitError("live-option-form", written=answer, known=_known())
        found[key.strip().replace("-", "_")] = value.strip()
    return found


def laid_over(live: LiveFacts | None, answers: Mapping[str, str]) -> LiveFacts:
    """Return the facts with the answers in place; raises ReworkkitError for an unknown key or a wrong unit."""
    return replace(live or LiveFacts(), **{key: _value(key, written) for key, written in answers.items()})  # type: ignore[arg-type]


def _value(key: str, written: str) -> Quantity | str | bool:
    if key not in {one.name for one in fields(LiveFacts)}:
        raise ReworkkitError("live-option-unknown", key=key, known=_known())
    dimension = dimensions(LiveFacts).get(key)
    if dimension is not None:
        read = dimension.read(written)
        if isinstance(read, Quantity):
            return read
        raise ReworkkitError("live-option-value", key=key, written=written, example=dimension.example)
    if key not in _SWITCHES:
        return written
    if written.casefold() not in _YES_NO:
        raise ReworkkitError("live-option-value", key=key, written=written, example="yes")
    return _YES_NO[written.casefold()]


def _known() -> str:
    return ", ".join(one.name for one in fields(LiveFacts))
