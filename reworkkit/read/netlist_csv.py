"""A netlist written as a table: a row for each pin (designator, pin, net), or a row for each net with its pins."""

import re
from collections.abc import Collection, Iterable, Sequence
from functools import cache
from typing import NamedTuple

from reworkkit import tables
from reworkkit.errors import ReworkkitError
from reworkkit.model.board import InputFile
from reworkkit.model.designator import canonical, natural_key
from reworkkit.model.messages import Finding, message
from reworkkit.model.netlist import Pin
from reworkkit.model.values import Where
from reworkkit.model.vocabulary import Severity
from reworkkit.read.delimited_split import Row, Split, best_splits
from reworkkit.read.netlist_columns import NODE_CUT, NODE_SHAPE, NetColumns, columns_by_cells, columns_by_headings
from reworkkit.read.text import TextFile, visible

_HEADING_SEARCH, _UNDER = 80, 49
_LEAST_KNOWN = 0.3
_NET_LINE = re.compile(r"([^\s:=,;]{1,60})\s*[:=,;\t]\s*(.+)")
_BRACKETED = re.compile(r"([^()\[\]]+)[(\[](\w+)[)\]]")
_SLASHED_NODE = re.compile(r"([A-Za-z]{1,6}\d{1,5})/(\w+)")
_NO_NET = frozenset({"", "N/C", "NC", "-"})
_SHOWN = 12

PinKey = tuple[str, str]


class NetTable(NamedTuple):
    """Pins with their nets, nets no pin is on left out, and what was odd."""

    pins: dict[PinKey, Pin]
    input_file: InputFile
    findings: tuple[Finding, ...]


def read_netlist_table(file: TextFile, name: str, known_refs: Collection[str]) -> NetTable:
    """Return the pins of a table; raises ReworkkitError where no row heads net together with its pins."""
    known = {canonical(ref) for ref in known_refs}
    splits = best_splits(file.text)
    found = _headed(splits)
    if found is None or _strange(found, known):
        found = _by_cells(splits, known) or found
    split, at, columns = found or _net_lines(file.text, name)
    written = split.rows[at + 1 :]
    body = _filled_down(written, columns)
    nets: dict[PinKey, dict[str, Where]] = {}
    names: dict[PinKey, str] = {}
    incomplete: list[Where] = []
    for row in body:
        if not any(cell.strip() for cell in row.cells):
            continue
        where = Where(name, row.line)
        net = visible(_cell(row, columns.net))
        keys = list(_keys(row, columns, known))
        if not keys or not all(ref and pin for ref, pin in keys):
            incomplete.append(where)
        for key in keys:
            if all(key):
                nets.setdefault(key, {}).setdefault("" if net.upper() in _NO_NET else net, where)
                if columns.name is not None and (called := visible(_cell(row, columns.name))):
                    names.setdefault(key, _pin_words().get(called.casefold(), called))
    pins, clashes = _pins(nets, names)
    input_file = InputFile(name, "netlist", file.sha256, file.size, (*file.assumed, *split.assumed))
    told = _told_by_cells(split, at, columns, name) if found and columns.by_cells else ()
    findings = (*told, *_incomplete(incomplete), *_told_filled(written, body, name), *clashes)
    return NetTable(pins, input_file, findings)


@cache
def _pin_words() -> dict[str, str]:
    return {row["word"]: row["name"] for row in tables.rows("pin_words")}


def _told_filled(written: Sequence[Row], body: Sequence[Row], name: str) -> Iterable[Finding]:
    if body is not written:
        first = next(row.line for row, other in zip(body, written, strict=True) if row is not other)
        yield Finding(message("netlist-nets-filled-down"), Severity.CHECK, (), (Where(name, first),))


def _told_by_cells(split: Split, at: int, columns: NetColumns, name: str) -> Iterable[Finding]:
    """Say which columns were told by their cells: by their headings, else by their numbers."""
    headings = split.rows[at].cells if at >= 0 else []

    def called(index: int | None) -> str:
        heading = headings[index].strip() if index is not None and index < len(headings) else ""
        return heading or str((index or 0) + 1)

    said = message("netlist-columns-by-cells", ref=called(columns.designator), pin=called(columns.pin),
                   net=called(columns.net))  # fmt: skip
    yield Finding(said, Severity.CHECK, (), (Where(name, split.rows[max(at, 0)].line),))


def _headed(splits: Sequence[Split]) -> tuple[Split, int, NetColumns] | None:
    for split in splits:
        for at, row in enumerate(split.rows[:_HEADING_SEARCH]):
            if (columns := columns_by_headings(row.cells, _cells(split, at))) is not None:
                return split, at, columns
    return None


def _strange(found: tuple[Split, int, NetColumns], known: Collection[str]) -> bool:
    """Return whether hardly any cell of the column headed as designators is one that the list has."""
    split, at, columns = found
    place = columns.designator
    refs = [canonical(cells[place]) for cells in _cells(split, at) if place is not None and place < len(cells)]
    return bool(refs and known) and sum(ref in known for ref in refs) < _LEAST_KNOWN * len(refs)


def _by_cells(splits: Sequence[Split], known: Collection[str]) -> tuple[Split, int, NetColumns] | None:
    """Find the columns by what stands in them; the row above the first known designator heads them, if there is one."""
    for split in splits:
        rows = split.rows[: _HEADING_SEARCH + _UNDER]
        first = next((n for n, row in enumerate(rows) if any(canonical(cell) in known for cell in row.cells)), None)
        if first is None:
            continue
        at = first - 1
        heads = rows[at].cells if at >= 0 else []
        if (columns := columns_by_cells(heads, _cells(split, at, None), known)) is not None:
            return split, at, columns
    return None


def _cells(split: Split, at: int, most: int | None = _UNDER) -> list[Sequence[str]]:
    """Return the cells of the rows below a heading row."""
    return [row.cells for row in split.rows[at + 1 : None if most is None else at + 1 + most]]


def _net_lines(text: str, name: str) -> tuple[Split, int, NetColumns]:
    """`GND: R1.2, C1.2` or `GND, R1.2 C1.2`, a line for each net and no headings: nearly every line has to be so.

    Where the first is a pin as well the lines are pairs of pins, and no net has a name.
    """
    rows = []
    lines = [(n, line) for n, line in enumerate(text.splitlines(), 1) if line.strip() and not line.startswith("#")]
    for n, line in lines:
        match = _NET_LINE.fullmatch(line.strip().strip('"'))
        if (
            match
            and not NODE_SHAPE.fullmatch(match[1])
            and all(len(NODE_SHAPE.findall(piece)) == 1 for piece in NODE_CUT.split(match[2].strip()) if piece)
        ):
            rows.append(Row(n, [match[1].strip(), match[2]]))
    if len(rows) < 2 or len(rows) < 0.8 * len(lines):
        raise ReworkkitError("not-a-netlist", where=(Where(name),), file=name)
    return Split("lines", rows), -1, NetColumns(0, None, None, 1, None)


def _filled_down(rows: list[Row], columns: NetColumns) -> list[Row]:
    """Return the rows with the net of the row above where a net is named once and holds for the rows below it."""
    nets = [visible(_cell(row, columns.net)) for row in rows]
    named = [net for net in nets if net]
    blank = len(nets) - len(named)
    if blank < max(2, len(named)) or len(set(named)) < len(named) or not nets[0]:
        return rows
    filled: list[Row] = []
    net = ""
    for row, own in zip(rows, nets, strict=True):
        net = own or net
        if own or not any(cell.strip() for cell in row.cells):
            filled.append(row)
            continue
        cells = [*row.cells, *[""] * (columns.net + 1 - len(row.cells))]
        filled.append(Row(row.line, [net if n == columns.net else cell for n, cell in enumerate(cells)]))
    return filled


def _cell(row: Row, index: int) -> str:
    return row.cells[index].strip() if index < len(row.cells) else ""


def _keys(row: Row, columns: NetColumns, known: Collection[str]) -> Iterable[PinKey]:
    if columns.designator is not None and columns.pin is not None:
        yield canonical(visible(_cell(row, columns.designator))), visible(_cell(row, columns.pin))
    elif columns.nodes is not None:
        for cell in row.cells[columns.nodes :]:
            yield from (_node(text, known) for text in NODE_CUT.split(visible(cell)) if text)


def _node(text: str, known: Collection[str]) -> PinKey:
    """Return designator and pin of `R1.2` or `R1-2`; the longest known designator counts, else the last cut.

    >>> _node("J1.2.5", {"J1", "J1.2"}), _node("R1-2", ()), _node("C1.-", ()), _node("PS1.-IN", ())
    (('J1.2', '5'), ('R1', '2'), ('C1', '-'), ('PS1', '-IN'))
    """
    if match := _BRACKETED.fullmatch(text):
        return canonical(match[1]), match[2]
    if (match := _SLASHED_NODE.fullmatch(text)) and canonical(text) not in known:
        return canonical(match[1]), match[2]
    cuts = [at for at, char in enumerate(text) if char in ".-:" and 0 < at < len(text) - 1 and text[at - 1] not in ".:"]
    for at in reversed(cuts):
        if canonical(text[:at]) in known:
            return canonical(text[:at]), text[at + 1 :]
    return (canonical(text[: cuts[-1]]), text[cuts[-1] + 1 :]) if cuts else (canonical(text), "")


def _pins(nets: dict[PinKey, dict[str, Where]], names: dict[PinKey, str]) -> tuple[dict[PinKey, Pin], list[Finding]]:
    pins: dict[PinKey, Pin] = {}
    clashes: list[tuple[PinKey, dict[str, Where]]] = []
    for key in sorted(nets, key=lambda k: (natural_key(k[0]), natural_key(k[1]))):
        named = {net: where for net, where in nets[key].items() if net} or {"": next(iter(nets[key].values()))}
        net, where = next(iter(named.items()))
        pins[key] = Pin(*key, names.get(key), net or None, (), where)
        if len(named) > 1:
            clashes.append((key, named))
    return pins, [_clash(clashes)] if clashes else []


def _clash(clashes: list[tuple[PinKey, dict[str, Where]]]) -> Finding:
    """One finding for all pins on two nets; the first net was taken."""
    texts = [f"{ref}.{pin}: {' / '.join(named)}" for (ref, pin), named in clashes]
    said = message("netlist-pin-on-two-nets", pins=", ".join(texts[:_SHOWN]))
    places = tuple(where for _, named in clashes for where in named.values())
    refs = tuple(dict.fromkeys(ref for (ref, _), _ in clashes))
    return Finding(said, Severity.CHECK, refs, places[:_SHOWN])


def _incomplete(where: list[Where]) -> Iterable[Finding]:
    if where:
        said = message("netlist-rows-incomplete", count=len(where))
        yield Finding(said, Severity.CHECK, (), tuple(where[:_SHOWN]))
