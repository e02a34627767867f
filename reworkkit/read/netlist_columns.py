"""Which column of a netlist written as a table is what: its heading tells, else the cells below it."""

import re
from collections.abc import Callable, Collection, Sequence
from functools import cache
from typing import NamedTuple

from reworkkit.model.designator import canonical
from reworkkit.read.heading_words import folded, meanings
from reworkkit.read.text import visible
from reworkkit.tables import rows

NODE_CUT = re.compile(r"[\s,;]+")
NODE_SHAPE = re.compile(r"[A-Za-z]{1,6}\d{1,5}[A-Za-z]?(?:[.:-](?:[+-]?\w+[+-]?|[+-])|\(\w+\)|/\d+)")
_LONGEST_PIN, _LONGEST_NAME = 8, 12
_KNOWN_SHARE, _PIN_SHARE, _NET_SHARE = 0.9, 0.98, 0.9
"""Least share of rows with a designator that the list has; of cells that are short and no pin of a part twice; and of
cells that name a net."""

Cells = Sequence[Sequence[str]]


class NetColumns(NamedTuple):
    """Columns by index; either designator and pin, or nodes (`R1.2`)."""

    net: int
    designator: int | None
    pin: int | None
    nodes: int | None
    name: int | None
    """What the pin is called: `A`, `K`, `+`, `OUT`."""
    by_cells: bool = False
    """Whether the cells had to tell, as the headings did not."""


@cache
def _roles() -> dict[str, str]:
    return {folded(row["heading"]): row["role"] for row in rows("netlist_headings")}


@cache
def _squeezed_roles() -> dict[str, str]:
    return {heading.replace(" ", ""): role for heading, role in _roles().items()}


def _headed(cells: Sequence[str]) -> dict[str, int]:
    """Return the roles that headings name, each with its first column."""
    found: dict[str, int] = {}
    for index, cell in enumerate(cells):
        role = _role(folded(cell)) or next((a.role for a in meanings(cell) if a.role == "designator"), None)
        if role is not None:
            found.setdefault(role, index)
    return found


_NAME_WORDS = frozenset(
    ["name", "names", "nom", "nome", "nombre", "nazwa", "naam", "navn", "namn", "jméno", "имя", "function", "funktion"]
)


def _role(heading: str) -> str | None:
    """Return the role of a heading; one of a word for pin beside one for name (`Nome piedino`) is the pin's name."""
    words = heading.split()
    if (squeezed := heading.replace(" ", "")) in _squeezed_roles():
        return _squeezed_roles()[squeezed]
    if heading not in _roles() and _NAME_WORDS & set(words) and any(_roles().get(word) == "pin" for word in words):
        return "name"
    return _roles().get(heading)


def columns_by_headings(cells: Sequence[str], under: Cells) -> NetColumns | None:
    """Return the columns of a heading row; `Pins` or `Pin name` alone beside designators means the pin itself.

    A column headed `Pin` with no designators beside it holds whole nodes where its cells say so; one headed `Node`
    beside designators and pins is the net.
    """
    found = _headed(cells)
    if "net" not in found and {"designator", "nodes"} <= found.keys() and found.keys() & {"pin", "name"}:
        found["net"] = found.pop("nodes")
    net, nodes = found.get("net"), found.get("nodes")
    designator, pin = found.get("designator"), found.get("pin", nodes)
    if designator is not None and pin is None:
        pin = found.pop("name", None)
    if nodes is None and designator is None and pin is not None and _are_nodes(pin, under):
        nodes = pin
    if net is None or (nodes is None and (designator is None or pin is None)):
        return None
    if designator is None:
        return NetColumns(net, None, None, nodes, None)
    taken = {net, designator, pin}
    name = found.get("name", next((n for n in range(len(cells)) if n not in taken and _are_names(n, under)), None))
    return NetColumns(net, designator, pin, None, name)


def _are_names(index: int, under: Cells) -> bool:
    """Return whether the cells of a column without a known heading can be names of pins: one short word, no figure."""
    texts = [text for row in under if (text := visible(_cell(row, index)))]
    named = sum(len(text) <= _LONGEST_NAME and len(text.split()) == 1 and not text.isdecimal() for text in texts)
    return len(texts) > 1 and named >= 0.9 * len(texts)


def _are_nodes(index: int, under: Cells) -> bool:
    texts = [piece for row in under for piece in NODE_CUT.split(_cell(row, index)) if piece]
    return bool(texts) and sum(len(NODE_SHAPE.findall(text)) == 1 for text in texts) >= 0.9 * len(texts)


def columns_by_cells(heads: Sequence[str], under: Cells, known: Collection[str]) -> NetColumns | None:
    """Return the columns that the cells tell, given the designators of the parts list; None where it is not certain.

    A column headed plainly keeps its role. Designators are known; no part has a pin twice; a net joins parts.

    >>> rows = [["R1", "1", "VIN"], ["R1", "2", "OUT"], ["R2", "1", "OUT"], ["R2", "2", "VIN"]]
    >>> columns_by_cells(["which", "leg", "goes to"], rows, {"R1", "R2"})[:3]
    (2, 0, 1)
    """
    rows = [row for row in under if any(cell.strip() for cell in row)]
    columns = [[visible(_cell(row, n)) for row in rows] for n in range(max(map(len, rows), default=0))]
    headed, left = _headed(heads), set(range(len(columns)))

    def best(role: str, score: Callable[[Sequence[str]], float]) -> int | None:
        others = set(headed.values()) - ({headed["name"]} if role == "designator" and "name" in headed else set())
        free = {headed[role]} & left if role in headed else left - others
        share, place = max(((score(columns[n]), -n) for n in free), default=(0.0, 0))
        if not share:
            return None
        left.discard(-place)
        return -place

    designator = best("designator", lambda texts: _share_known(texts, known))
    refs = [canonical(text) for text in columns[designator]] if designator is not None else []
    pin = best("pin", lambda texts: _share_pins(refs, texts))
    net = best("net", lambda texts: _share_joining(refs, texts))
    if designator is None or pin is None or net is None:
        return None
    name = headed.get("name", min(left - set(headed.values()), default=None))
    name = None if name == designator else name
    return NetColumns(net, designator, pin, None, name, by_cells=True)


def _share_known(texts: Sequence[str], known: Collection[str]) -> float:
    share = sum(canonical(text) in known for text in texts) / max(len(texts), 1)
    return share if share >= _KNOWN_SHARE else 0.0


def _share_pins(refs: Sequence[str], texts: Sequence[str]) -> float:
    """Return how well cells pass for pins: filled in, short, no pin of a part twice, best in figures."""
    if not refs or len(set(zip(refs, texts, strict=True))) < _PIN_SHARE * len(refs):
        return 0.0
    if sum(0 < len(text) <= _LONGEST_PIN for text in texts) < _PIN_SHARE * len(texts):
        return 0.0
    return 1.0 + sum(text.isdecimal() for text in texts) / len(texts)


def _share_joining(refs: Sequence[str], texts: Sequence[str]) -> float:
    """Return how well cells pass for nets: nearly all filled in, most of them joining parts."""
    on: dict[str, set[str]] = {}
    for ref, text in zip(refs, texts, strict=True):
        on.setdefault(text, set()).add(ref)
    filled = sum(bool(text) for text in texts)
    joining = sum(bool(text) and len(on[text]) > 1 for text in texts)
    return joining / len(texts) if texts and filled >= _NET_SHARE * len(texts) and joining > len(texts) / 2 else 0.0


def _cell(row: Sequence[str], index: int) -> str:
    return row[index].strip() if index < len(row) else ""
