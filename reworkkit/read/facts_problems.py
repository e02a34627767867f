"""What is wrong with a value or key of board.toml, as errors that point to the line and name the cure."""

import difflib
from collections.abc import Iterable, Mapping
from dataclasses import fields
from typing import Any, get_args, get_type_hints

from reworkkit.errors import ReworkkitError
from reworkkit.model.facts import Table
from reworkkit.model.values import Where
from reworkkit.read.toml_lines import Path, nearest_line, unquoted_point

ADDED_BY_READER = frozenset({"lines", "bench_lines", "bench_file"})

_WANTED = {
    "string_type": "facts-wants-text",
    "bool_type": "facts-wants-yes-no",
    "bool_parsing": "facts-wants-yes-no",
    "int_type": "facts-wants-whole-number",
    "int_parsing": "facts-wants-whole-number",
    "int_from_float": "facts-wants-whole-number",
    "tuple_type": "facts-wants-list",
    "missing": "facts-wants-two",
    "too_long": "facts-wants-two",
    "dict_type": "facts-wants-table",
    "dataclass_type": "facts-wants-table",
}


class FactsProblems:
    """Turns the validator's errors on one file into ours."""

    def __init__(self, file: str, text: str, lines: Mapping[Path, int], record: type[Table]) -> None:
        self.file = file
        self.text = text
        self.lines = lines
        self.record = record

    def all(self, errors: Iterable[Mapping[str, Any]]) -> tuple[ReworkkitError, ...]:
        """Return one error per problem, in the order of the file; a key missing because it is misspelt is not told."""
        told: dict[Path, ReworkkitError] = {}
        suggested: set[Path] = set()
        for error in sorted(errors, key=lambda one: str(one["type"]) == "missing"):
            path = tuple(str(step) for step in error["loc"])
            if error["type"] == "missing" and path in suggested:
                continue
            if near := self.nearest(path) if error["type"] == "unexpected_keyword_argument" else "":
                suggested.add((*path[:-1], near))
            told.setdefault(self._told_at(path), self._one(str(error["type"]), path, error))
        return tuple(sorted(told.values(), key=lambda one: one.where[0].line))

    def _told_at(self, path: Path) -> Path:
        """Return the path one error is told for: `J5.2.3 = x` without quotes is one problem, not two."""
        return path[:2] if self._pointed_name(path) else path

    def _pointed_name(self, path: Path) -> str | None:
        return unquoted_point(self.text, nearest_line(self.lines, path)) if len(path) > 1 else None

    def nearest(self, path: Path) -> str:
        """Return the known key most like the last step of a path, or empty; it is only ever suggested."""
        close = difflib.get_close_matches(path[-1].casefold(), self.known(path[:-1]), n=1, cutoff=0.5)
        return close[0] if close else ""

    def known(self, path: Path) -> list[str]:
        """Return the keys that may stand in the table at a path."""
        hint: Any = self.record
        for step in path:
            hint = _inside(hint, step)
        record = _record(hint)
        return [one.name for one in fields(record) if one.name not in ADDED_BY_READER] if record else []  # type: ignore[arg-type]

    def _one(self, kind: str, path: Path, error: Mapping[str, Any]) -> ReworkkitError:
        where = (Where(self.file, nearest_line(self.lines, path)),)
        written = self._written(path)
        misplaced = kind == "unexpected_keyword_argument" or kind in _WANTED
        if misplaced and (name := self._pointed_name(path)):
            return ReworkkitError("toml-name-with-point", where=where, name=name)
        if kind == "unexpected_keyword_argument":
            return self._unknown_key(path, where)
        if kind == "missing" and not path[-1].isdigit():
            return ReworkkitError("facts-key-missing", where=where, path=written, key=path[-1])
        if kind in _WANTED:
            return ReworkkitError(_WANTED[kind], where=where, path=written, found=_shown(error.get("input")))
        return self._value(kind, written, where, error)

    def _unknown_key(self, path: Path, where: tuple[Where, ...]) -> ReworkkitError:
        table = ".".join(path[:-1]) or self.file
        if near := self.nearest(path):
            return ReworkkitError("unknown-key", where=where, key=path[-1], table=table, near=near)
        known = ", ".join(self.known(path[:-1]))
        return ReworkkitError("unknown-key-none-near", where=where, key=path[-1], table=table, known=known)

    def _value(self, kind: str, path: str, where: tuple[Where, ...], error: Mapping[str, Any]) -> ReworkkitError:
        facts = {name: str(fact) for name, fact in error.get("ctx", {}).items()}
        text, unit, example = (facts.get(name, "") for name in ("text", "unit", "example"))
        needs = {"path": path, "text": text or _shown(error.get("input")), "example": example or "12 V"}
        if kind == "value-without-unit":
            return ReworkkitError("value-without-unit", where=where, unit=unit, **needs)
        if kind == "wrong-unit":
            return ReworkkitError("wrong-unit", where=where, found=facts.get("found", ""), unit=unit, **needs)
        return ReworkkitError("value-unreadable", where=where, **needs)

    def _written(self, path: Path) -> str:
        """Return the path as far as the file has it: a field of a short form is named by its line's key."""
        for n in range(len(path), 0, -1):
            if path[:n] in self.lines:
                return ".".join(path[:n])
        return ".".join(path)


def _shown(value: object) -> str:
    return str(value).lower() if isinstance(value, bool) else str(value)


def _inside(hint: Any, step: str) -> Any:
    """Return the type of what stands under `step` in a value of type `hint`."""
    record = _record(hint) if not _is_collection(hint) else None
    if record:
        return get_type_hints(record, include_extras=True).get(step)
    inner = [_record(arg) for arg in get_args(hint)]
    return next((one for one in inner if one), None)


def _is_collection(hint: Any) -> bool:
    return getattr(hint, "__origin__", None) in (dict, tuple)


def _record(hint: Any) -> type[Table] | None:
    choices = (hint, *([] if _is_collection(hint) else get_args(hint)))
    return next((one for one in choices if isinstance(one, type) and issubclass(one, Table)), None)
