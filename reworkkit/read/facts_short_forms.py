"""The short forms of board.toml, turned into the tables they stand for.

`"5 V 3 %"` under [rails] means `{ volts = "5 V", tolerance = "3 %" }`: the quantities come in any order and are told
apart by their unit. What cannot be placed is put where the check of values refuses it with its own words, so nothing
is dropped and error paths stay those of the file.
"""

import re
import types
from collections.abc import Callable, Mapping
from dataclasses import fields
from typing import Annotated, Any, Union, get_args, get_origin, get_type_hints

from reworkkit.model.designator import canonical
from reworkkit.model.dimension import Dimension
from reworkkit.model.facts import (
    BenchFacts,
    BoardFacts,
    LoadFacts,
    PartFacts,
    RailFacts,
    SupplyFacts,
    Table,
    TipFacts,
)
from reworkkit.model.quantity import parse_quantity
from reworkkit.read.facts_loads import plain_words

Raw = dict[str, Any]

_RANGE = re.compile(r"(?P<letters>[A-Z_]+)(?P<first>[0-9]+)-(?P=letters)(?P<last>[0-9]+)")
_WIDEST_RANGE = 1000
_DESIGNATOR = re.compile(r"[A-Za-z]{1,4}[0-9]+")
"""`M1` in the words of a load is the pump, not 0.1 Mohm."""
_TEXT_LABELS = {"at": "at", "by": "made_by", "made by": "made_by", "part": "part"}
_QUANTITY_LABELS = {"limit": "limit", "from": "from_volts", "tolerance": "tolerance", "volts": "volts", "amps": "amps"}


def as_tables(raw: Raw) -> Raw:
    """Return board.toml with every short form written out as a table; what is no short form stays as it is."""
    full = {key: _SECTIONS[key](value) if key in _SECTIONS else value for key, value in raw.items()}
    return dict(_lists(full, BoardFacts))


def bench_as_tables(raw: Raw) -> Raw:
    """Return bench.toml, or the table [bench], with the short forms of tips written out."""
    return dict(_lists(_bench(raw), BenchFacts))


def expand_range(written: str) -> tuple[str, ...]:
    """Return the designators a key or list item stands for; only `Q1-Q4` with the same letters twice is a range.

    >>> expand_range("q1 - q3, D4"), expand_range("J1-2")
    (('Q1', 'Q2', 'Q3', 'D4'), ('J1-2',))
    """
    return tuple(ref for part in written.split(",") if part.strip() for ref in _one_range(canonical(part)))


def _one_range(ref: str) -> tuple[str, ...]:
    found = _RANGE.fullmatch(ref)
    if not found or not 0 <= int(found["last"]) - int(found["first"]) < _WIDEST_RANGE:
        return (ref,)
    return tuple(f"{found['letters']}{n}" for n in range(int(found["first"]), int(found["last"]) + 1))


def dimensions(record: type[Table]) -> dict[str, Dimension]:
    """Return the fields of a record that hold a quantity, with the unit each needs."""
    found = {name: _dimension(hint) for name, hint in get_type_hints(record, include_extras=True).items()}
    return {name: dimension for name, dimension in found.items() if dimension}


def _dimension(hint: Any) -> Dimension | None:
    for choice in get_args(hint) if get_origin(hint) in (Union, types.UnionType) else (hint,):
        if get_origin(choice) is Annotated:
            return next((mark for mark in get_args(choice) if isinstance(mark, Dimension)), None)
    return None


def _each(short: Callable[[str], Raw]) -> Callable[[Any], Any]:
    """Return a function that turns every text of a section into a table by `short`."""

    def turn(section: Any) -> Any:
        if not isinstance(section, Mapping):
            return section
        return {name: short(value) if isinstance(value, str) else value for name, value in section.items()}

    return turn


def _quantities(record: type[Table], text_field: str | None = None) -> Callable[[str], Raw]:
    """Return the short form of a record: its quantities in any order, told apart by unit; labels may stand before."""

    def short(text: str) -> Raw:
        return _ShortForm(record, text_field).read(text)

    return short


class _ShortForm:
    """Reads one short form, word by word."""

    def __init__(self, record: type[Table], text_field: str | None, refused: re.Pattern[str] | None = None) -> None:
        self.refused = refused
        self.units = dimensions(record)
        self.names = {one.name for one in fields(record)}  # type: ignore[arg-type]
        self.text_field = text_field
        self.table: Raw = {}
        self.odd: list[str] = []

    def read(self, text: str) -> Raw:
        """Return the table a short form stands for; what has no place goes where the check of values refuses it."""
        for piece in re.split(r",\s+|;", text):
            words = piece.replace("+/-", "").replace("±", "").split()
            while words:
                used = self._labelled(words) or self._quantity(words) or self._left_over(words)
                words = words[used:]
        for text in self.odd:
            free = [name for name in self.units if name not in self.table]
            self._put((free or list(self.units))[0] if parse_quantity(text) else next(iter(self.units)), text)
        return self.table

    def _labelled(self, words: list[str]) -> int:
        """Take `at J1.1` or `limit 0.5 A`; return how many words were used."""
        for count in (2, 1):
            name = _TEXT_LABELS.get(" ".join(words[:count]).casefold())
            if name in self.names and len(words) > count and not self._is_said(words[count:]):
                self._put(str(name), " ".join(words[count:]))
                return len(words)
        name = _QUANTITY_LABELS.get(words[0].casefold())
        if name not in self.units or len(words) == 1:
            return 0
        taken = _longest_quantity(words[1:]) or 1
        self._put(str(name), " ".join(words[1 : 1 + taken]))
        return 1 + taken

    def _is_said(self, words: list[str]) -> bool:
        """Return whether what follows `at` is no pin (`at one end of the coil`), where words have a place."""
        return self.text_field == "what" and len(words) > 1 and not any(sign.isdigit() for sign in words[0])

    def _quantity(self, words: list[str]) -> int:
        used = 0 if self.text_field == "what" and _DESIGNATOR.fullmatch(words[0]) else _longest_quantity(words)
        found = parse_quantity(" ".join(words[:used])) if used else None
        if found:
            free = [n for n, needs in self.units.items() if needs.unit == found.unit and n not in self.table]
            if free:
                self._put(free[0], found.text)
            else:
                self.odd.append(found.text)
        return used

    def _left_over(self, words: list[str]) -> int:
        refused = bool(self.refused and self.refused.fullmatch(words[0]))
        said = self.text_field != "what" or (_is_word(words[0]) and not refused)
        if self.text_field and said:
            self._put(self.text_field, words[0])
        else:
            self.odd.append(words[0])
        return 1

    def _put(self, name: str, text: str) -> None:
        self.table[name] = f"{self.table[name]} {text}" if name in self.table else text


def _is_word(written: str) -> bool:
    """Return whether something says what a load is (`fan`, `M1`), and is no figure that went wrong (`300mAA`)."""
    return written[0].isalpha() or not any(sign.isdigit() for sign in written)


def _longest_quantity(words: list[str]) -> int:
    """Return how many of the first words make one quantity with its unit: `5 V`, `0.6 N m`, `5V`; 0 for none."""
    readings = {n: parse_quantity(" ".join(words[:n])) for n in (3, 2, 1) if n <= len(words)}
    with_unit = [n for n, found in readings.items() if found and found.unit]
    return next(iter(with_unit), 1 if readings.get(1) else 0)


def _load(text: str) -> Raw:
    """Return the figures of a load by their units, and in words what it is; words alone are no load.

    >>> _load("12 V fan, 80 mA")
    {'volts': '12 V', 'what': 'fan', 'amps': '80 mA'}
    """
    table = _ShortForm(LoadFacts, "what").read(plain_words(text))
    return table if table.keys() - {"what", "part"} else {"amps": text}


_NO_SUPPLY = re.compile(
    r"~|rms|eff|peak|pk|pp|hz|negativ\w*|minus|neg|not|no|none|to|or|oder|ou|bis|reversed"
    r"|fuse[ds]?|sicherung|fusible|load\w*|draws?|takes?|needs?|last",
    re.IGNORECASE,
)
"""Words that make another voltage, or no limit, of the figures beside them, or leave open which: they are refused."""


_ASIDE = re.compile(r"\(([^()\d]*)\)")


def _supply(text: str) -> Raw:
    """Return the figures of a supply, and in words what is said of it besides; words alone are no supply.

    >>> _supply("12.6 V in place of the battery, limit 1 A")
    {'volts': '12.6 V', 'limit': '1 A', 'what': 'in place of the battery'}
    """
    return _with_words(SupplyFacts, _ASIDE.sub(" ", text), _ASIDE.findall(text)) or {"volts": text}


def _with_words(record: type[Table], plain: str, asides: list[str]) -> Raw:
    """Return the figures of a text, with its words and `asides` as what is said besides; nothing without figures."""
    table = _ShortForm(record, "what", _NO_SUPPLY).read(plain)
    said = " ".join(filter(None, [table.pop("what", ""), *asides]))
    return table | ({"what": said} if said else {}) if table else {}


def _rail(text: str) -> Raw:
    """Return the figures of a rail, and in words what is said of it besides; words alone are no rail.

    >>> _rail("0.5 V = 1 A"), _rail("24 V 3 %, with the relay in")
    ({'volts': '0.5 V', 'what': '1 A'}, {'volts': '24 V', 'tolerance': '3 %', 'what': 'with the relay in'})
    """
    plain, _, same = _ASIDE.sub(" ", text).partition("=")
    found = _with_words(RailFacts, plain, [same.strip(), *_ASIDE.findall(text)])
    return found or _ShortForm(RailFacts, None).read(text)


def _net_range(text: str) -> Raw:
    """Return `5 V to 20 V` as low and high; one value alone is both."""
    low, _, high = text.partition(" to ")
    return {"low": low.strip(), "high": (high or low).strip()}


def _signal(text: str) -> Raw:
    at, _, does = text.partition(":")
    return {"at": at.strip(), "does": does.strip()} if does else {"at": at.strip()}


def _board(section: Any) -> Any:
    if not isinstance(section, Mapping):
        return section
    turned = dict(section)
    if isinstance(size := turned.get("size"), str):
        turned["size"] = _size(size)
    if isinstance(planes := turned.get("planes"), Mapping):
        turned["planes"] = {net: [layers] if isinstance(layers, str) else layers for net, layers in planes.items()}
    return turned


def _size(text: str) -> list[str]:
    """Return `80 mm x 60 mm` or `80 x 60 mm` as two lengths.

    >>> _size("80 x 60 mm")
    ['80 mm', '60 mm']
    """
    sides = [side.strip() for side in re.split(r"[x×*]", text)]
    unit = re.sub(r"^[0-9.,\s]+", "", sides[-1])
    return [f"{side} {unit}" if re.fullmatch(r"[0-9.,]+", side) and unit else side for side in sides]


def _parts(section: Any) -> Any:
    if not isinstance(section, Mapping):
        return section
    return {key: {"faces": value} if isinstance(value, str) else value for key, value in section.items()}


def _one_or_several(section: Any) -> Any:
    return [section] if isinstance(section, Mapping) else section


def _bench(section: Any) -> Any:
    if not isinstance(section, Mapping) or "tips" not in section:
        return section
    return {**section, "tips": _each(_quantities(TipFacts, "size"))(section["tips"])}


_SECTIONS: dict[str, Callable[[Any], Any]] = {
    "board": _board,
    "supplies": _each(_supply),
    "rails": _each(_rail),
    "loads": _each(_load),
    "nets": _each(_net_range),
    "parts": _parts,
    "hold_points": _one_or_several,
    "fasten": _one_or_several,
    "program": _one_or_several,
    "inputs": _each(_signal),
    "outputs": _each(_signal),
    "bench": _bench,
}


def _lists(raw: Any, record: Any) -> Any:
    """Return the table with a lone text where a list of texts is wanted put into a list."""
    if not isinstance(raw, Mapping):
        return raw
    hints = get_type_hints(record, include_extras=True)
    return {key: _list_of(value, hints.get(key)) for key, value in raw.items()}


def _list_of(value: Any, hint: Any) -> Any:
    if hint == tuple[str, ...]:
        return [value] if isinstance(value, str) else value
    inner = [arg for arg in (hint, *get_args(hint)) if isinstance(arg, type) and issubclass(arg, Table)]
    if not inner:
        return value
    if get_origin(hint) is dict and isinstance(value, Mapping):
        return {name: _lists(one, inner[0]) for name, one in value.items()}
    if isinstance(value, list):
        return [_lists(one, inner[0]) for one in value]
    return _lists(value, inner[0])


def expand_designators(facts_parts: Mapping[str, PartFacts]) -> dict[str, tuple[str, ...]]:
    """Return which designators each key of [parts] stands for, keys of one designator last so that they win."""
    spans = {key: expand_range(key) for key in facts_parts}
    return dict(sorted(spans.items(), key=lambda item: -len(item[1])))
