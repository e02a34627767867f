"""The shopping list: missing, to replace, spares by how easily a part is lost, minus stock; one line an identity."""

import math
import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from typing import NamedTuple

from reworkkit.model.board import Board, Candidate
from reworkkit.model.designator import natural_key
from reworkkit.model.difference import Difference
from reworkkit.model.facts import PartFacts
from reworkkit.model.messages import Finding, Message, NotJudged, message
from reworkkit.model.part import Part, PartIdentity, PartLine, StockLine
from reworkkit.model.part_value import main_unit
from reworkkit.model.quantity import format_quantity
from reworkkit.model.shopping import PriceBreak, ShoppingLine, Shortage
from reworkkit.model.values import Quantity
from reworkkit.model.vocabulary import DiffStatus, Fit, Severity

URGENCIES = ("rare", "dear", "plain", "hardware")
_BUY = (DiffStatus.MISSING, DiffStatus.TO_REPLACE)
_PRICE_HEADING = re.compile(r"\b(?:unit\s*)?(?:price|preis|prix|precio|prezzo|cost)\b", re.IGNORECASE)
_PRICE = re.compile(r"(?P<before>[^\d\s]{0,4})\s*(?P<amount>\d+(?:[.,]\d+)?)\s*(?P<after>[A-Za-z€$£]{0,4})")
_LEAD_HEADING = re.compile(r"lead\s*time|liefer(?:zeit|frist)|délai", re.IGNORECASE)
_NAMED_KINDS = ("resistor", "capacitor", "inductor", "ferrite_bead", "connector", "terminal", "jumper", "switch", "led",
                "hardware", "heat_sink", "fuse", "crystal", "thermistor", "potentiometer", "buzzer")  # fmt: skip
"""Kinds that are ordered by value and size; all others need a type number."""


class Stocked(NamedTuple):
    """A row of the stock list, and what it is if taken for a part of each kind that is wanted."""

    line: StockLine
    identities: Mapping[str, PartIdentity]


class _Wanted(NamedTuple):
    """Places of one identity, with how they stand on each physical board."""

    identity: PartIdentity
    refs: tuple[str, ...]
    missing: int
    to_replace: int
    not_inspected: int
    copies: tuple[int, ...]


def shopping_list(
    board: Board, differences: Sequence[Difference], stock: Sequence[Stocked], spares: Sequence[Mapping[str, str]]
) -> Shortage:
    """Return what to buy for these physical boards; one Difference for each.

    `board` is the effective one, so accepted substitutes are bought and not the listed parts. `spares` are the rows of
    the spares table. Pieces in stock are taken off only where the row states every rating the list asks for.
    """
    left = {id(item): item.line.pieces or 0 for item in stock}
    lines, findings = [], []
    for wanted in sorted(
        _wanted(board, differences), key=lambda one: (_urgency(board, one.refs), natural_key(one.refs[0]))
    ):
        line, told = _line(board, wanted, stock, spares, left)
        lines.append(line)
        findings += told
    lines += [_hardware(line, len(differences), stock, left) for line in board.lines if _is_hardware(line)]
    return Shortage(len(differences), tuple(lines), tuple(findings), _open(differences))


def _wanted(board: Board, differences: Sequence[Difference]) -> Iterable[_Wanted]:
    """Yield one entry for each identity of which something is missing, to replace or not looked at."""
    groups: dict[str, list[Part]] = {}
    for part in board.parts.values():
        if part.fit is Fit.FIT:
            groups.setdefault(part.identity.key, []).append(part)
    status = [{item.ref: item.status for item in difference.items} for difference in differences]
    for parts in groups.values():
        found = [(part.ref, one.get(part.ref)) for one in status for part in parts]
        per_copy = tuple(sum(one.get(part.ref) in _BUY for part in parts) for one in status)
        open_refs = dict.fromkeys(ref for ref, said in found if said in (*_BUY, DiffStatus.NOT_INSPECTED))
        if open_refs:
            counts = Counter(said for _, said in found)
            refs = tuple(sorted(open_refs, key=natural_key))
            missing, replace, unseen = (counts[one] for one in (*_BUY, DiffStatus.NOT_INSPECTED))
            yield _Wanted(board.parts[refs[0]].identity, refs, missing, replace, unseen, per_copy)


def _urgency(board: Board, refs: Iterable[str]) -> int:
    facts = [board.facts.parts.get(ref, PartFacts()) for ref in refs]
    return 0 if any(one.rare for one in facts) else 1 if any(one.dear for one in facts) else 2


def _line(
    board: Board,
    wanted: _Wanted,
    stock: Sequence[Stocked],
    spares: Sequence[Mapping[str, str]],
    left: dict[int, int],
) -> tuple[ShoppingLine, list[Finding]]:
    identity, pieces = wanted.identity, wanted.missing + wanted.to_replace
    urgency = _urgency(board, wanted.refs)
    extra = spares_for(identity, pieces, spares) if urgency == 2 else 0
    taken, maybe = _from_stock(identity, pieces + extra, stock, left)
    row = _listed_row(board, wanted.refs[0])
    used = _candidate(board, identity)
    names = dict.fromkeys(board.parts[ref].identity.part_number for ref in wanted.refs)
    line = ShoppingLine(
        key=identity.key,
        kind=identity.kind,
        value=_value_text(identity),
        package=identity.package_text or (identity.package.name if identity.package else ""),
        part_number=" or ".join(name for name in names if name),
        refs=wanted.refs,
        missing=wanted.missing,
        to_replace=wanted.to_replace,
        not_inspected=wanted.not_inspected,
        spares=extra,
        from_stock=taken,
        to_buy=pieces + extra - taken,
        urgency=URGENCIES[urgency],
        lead_time=_lead_time(row),
        prices=_prices(used, row),
        instead_of=_instead_of(identity, row),
        doubts=doubts_of(identity) if pieces else (),
        remarks=_remarks(wanted, len(names), extra, spares, used is not None and (used.stock or "").strip() == "0"),
        copies=wanted.copies,
    )
    return line, maybe


def _value_text(identity: PartIdentity) -> str:
    """Return value and ratings as they are ordered: `100 nF 50 V X7R`; a name as it is written."""
    value = identity.value
    if value.main is None:
        return value.text
    volts = None if value.main.unit == "V" else value.volts
    ratings = [_main_text(identity.kind, value.main)]
    ratings += [format_quantity(q) for q in (value.tolerance, volts, value.watts) if q]
    return " ".join([*ratings, *([value.dielectric] if value.dielectric else [])])


def _main_text(kind: str, main: Quantity) -> str:
    """Return a main value as it is ordered: capacitors in microfarad, never in millifarad."""
    if main.unit == "F" and main.value >= Decimal("0.001") and kind != "supercapacitor":
        return f"{(main.value * 1000000).normalize():f} uF"
    return format_quantity(main)


def spares_for(identity: PartIdentity, pieces: int, rows: Sequence[Mapping[str, str]]) -> int:
    """Return how many spares to buy with `pieces` of an identity; none where nothing is bought."""
    row = _spares_row(identity, rows)
    if row is None or pieces == 0:
        return 0
    return max(int(row["least"]), math.ceil(pieces * float(row["percent"]) / 100))


def _spares_row(identity: PartIdentity, rows: Sequence[Mapping[str, str]]) -> Mapping[str, str] | None:
    package = f"{identity.package.name if identity.package else ''} {identity.package_text}"
    for row in rows:
        kinds = tuple(row["kinds"].split())
        if ("*" in kinds or identity.kind.startswith(kinds)) and re.search(row["sizes"], package, re.IGNORECASE):
            return row
    return None


def _remarks(
    wanted: _Wanted, names: int, extra: int, rows: Sequence[Mapping[str, str]], sold_out: bool
) -> tuple[Message, ...]:
    found = []
    if sold_out:
        found.append(message("shortage-sold-out", ref=wanted.refs[0]))
    if names > 1:
        found.append(message("shortage-several-numbers", count=names))
    if wanted.not_inspected:
        found.append(message("shortage-not-looked", count=wanted.not_inspected))
    row = _spares_row(wanted.identity, rows)
    if extra and row and row["why"]:
        found.append(message("shortage-spares-" + row["why"], count=extra))
    return tuple(found)


def doubts_of(identity: PartIdentity) -> tuple[Message, ...]:
    """Return why a part cannot be ordered as it is written: no kind, value, size, rating or type number."""
    found = []
    value, kind = identity.value, identity.kind
    by_value = kind.startswith(_NAMED_KINDS)
    if kind == "unknown":
        found.append(message("shortage-doubt-kind"))
    if main_unit(kind) is not None and by_value and value.main is None and not identity.part_number:
        found.append(message("shortage-doubt-value"))
    if not identity.package and not identity.package_text.strip():
        found.append(message("shortage-doubt-package"))
    if kind.startswith("capacitor") and value.volts is None and not identity.part_number:
        found.append(message("shortage-doubt-volts"))
    if not by_value and kind != "unknown" and not identity.part_number and not _names_a_type(identity):
        found.append(message("shortage-doubt-number"))
    return tuple(found)


def _names_a_type(identity: PartIdentity) -> bool:
    """Return whether the value cell holds letters and digits as a type number does, or a value of the kind."""
    text = identity.value.text
    return identity.value.main is not None or bool(re.search(r"[A-Za-z].*\d|\d.*[A-Za-z]{2}", text))


def _from_stock(
    identity: PartIdentity, pieces: int, stock: Sequence[Stocked], left: dict[int, int]
) -> tuple[int, list[Finding]]:
    """Return how many pieces the drawers give, and the rows that might do if they stated more."""
    taken, maybe = 0, []
    for item in stock:
        lacking = serves(identity, item)
        if lacking is None or left[id(item)] <= 0 or taken >= pieces:
            continue
        if lacking:
            told = message("shortage-stock-maybe", part=_value_text(identity) or identity.part_number,
                           pieces=item.line.pieces or 0, place=item.line.location or "-",
                           lacking=", ".join(lacking))  # fmt: skip
            maybe.append(Finding(told, Severity.NOTE, (), (item.line.where,)))
            continue
        given = min(pieces - taken, left[id(item)])
        left[id(item)] -= given
        taken += given
    return taken, maybe


def serves(want: PartIdentity, item: Stocked) -> tuple[str, ...] | None:
    """Return the ratings a stock row leaves open for a part (none: it serves), or None where it does not fit."""
    line = item.line
    names = {_plain(line.part_number), _plain(line.value_text)} - {""}
    if want.value.main is None or _plain(want.part_number) in names:
        wanted = {_plain(want.part_number) or _plain(want.value.text)} - {""}
        same_type = bool(wanted & names)
        return _package_open(want, item) if same_type else None
    have = item.identities.get(want.kind)
    if have is None or have.value.main is None or have.value.main.value != want.value.main.value:
        return None
    package = _package_open(want, item)
    ratings = _ratings_open(want, have)
    return None if package is None or ratings is None else (*package, *ratings)


def _plain(text: str) -> str:
    return re.sub(r"[\W_]", "", text.casefold())


def _package_open(want: PartIdentity, item: Stocked) -> tuple[str, ...] | None:
    text = item.line.package_text
    if not text.strip():
        return ("package",) if want.value.main else ()
    have = item.identities.get(want.kind)
    if have and have.package and want.package:
        return () if have.package.name == want.package.name else None
    return () if _plain(text) == _plain(want.package_text) else None


def _ratings_open(want: PartIdentity, have: PartIdentity) -> tuple[str, ...] | None:
    """Return the ratings that the stock row does not state; None where one is worse than what is wanted."""
    lacking = []
    checks: tuple[tuple[str, Quantity | None, Quantity | None, bool], ...] = (
        ("tolerance", want.value.tolerance, have.value.tolerance, False),
        ("voltage", want.value.volts, have.value.volts, True),
        ("power", want.value.watts, have.value.watts, True),
    )
    for name, asked, got, more_is_better in checks:
        if asked is None:
            continue
        if got is None:
            lacking.append(name)
        elif got.unit != asked.unit or (got.value < asked.value if more_is_better else got.value > asked.value):
            return None
    if want.value.dielectric:
        if have.value.dielectric is None:
            lacking.append("time class" if want.kind == "fuse" else "dielectric")
        elif have.value.dielectric not in (want.value.dielectric, "C0G"):
            return None
    return tuple(lacking)


def _listed_row(board: Board, ref: str) -> PartLine | None:
    where = board.parts[ref].where
    return next((line for line in board.lines if line.where == where and ref in line.refs), None)


def _candidate(board: Board, identity: PartIdentity) -> Candidate | None:
    return next((row for row in board.candidates if row.part_number and row.part_number == identity.part_number), None)


def _instead_of(identity: PartIdentity, row: PartLine | None) -> str:
    listed = (row.part_number or row.value_text) if row else ""
    changed = row is not None and identity.part_number and identity.part_number != row.part_number
    return listed if changed else ""


def _prices(used: Candidate | None, row: PartLine | None) -> tuple[PriceBreak, ...]:
    """Return price breaks: of the candidate's row where there is one, else of the list's price columns."""
    if used is not None and used.price:
        return tuple(filter(None, [price_break("price", used.price)]))
    cells = row.extra if row else ()
    found = [price_break(heading, text) for heading, text in cells if _PRICE_HEADING.search(heading)]
    return tuple(sorted(one for one in found if one))


def price_break(heading: str, text: str) -> PriceBreak | None:
    """Return a price with the quantity it holds from; a heading without a number means one piece.

    >>> price_break("Price 100+ (EUR)", "0,041"), price_break("Unit price", "9.80 EUR")
    (PriceBreak(pieces=100, each='0.041', currency='EUR'), PriceBreak(pieces=1, each='9.80', currency='EUR'))
    """
    found = _PRICE.search(text.strip())
    if not found:
        return None
    pieces = re.search(r"\d+", heading)
    said = found["after"] or found["before"] or "".join(re.findall(r"\b[A-Z]{3}\b|[€$£]", heading))[:3]
    return PriceBreak(int(pieces[0]) if pieces else 1, found["amount"].replace(",", "."), said)


def _lead_time(row: PartLine | None) -> str:
    cells = row.extra if row else ()
    return next((text for heading, text in cells if _LEAD_HEADING.search(heading) and text.strip()), "")


def _is_hardware(line: PartLine) -> bool:
    return not line.refs and not line.refs_text.strip() and line.fit is Fit.FIT and bool(line.value_text.strip())


def _hardware(line: PartLine, copies: int, stock: Sequence[Stocked], left: dict[int, int]) -> ShoppingLine:
    """Return a line of the list without designators: screws, insulators, plates; what is there already is not known."""
    pieces, taken = (line.quantity or 1) * copies, 0
    for item in stock:
        if _plain(line.value_text) in (_plain(item.line.value_text), _plain(item.line.part_number)):
            given = min(pieces - taken, left[id(item)])
            left[id(item)] -= given
            taken += given
    doubts = () if line.quantity else (message("shortage-doubt-quantity"),)
    return ShoppingLine(
        key=f"hardware|{_plain(line.value_text)}",
        kind="hardware",
        value=line.value_text,
        package=line.package_text,
        part_number=line.part_number,
        refs=(),
        missing=pieces,
        to_replace=0,
        not_inspected=0,
        spares=0,
        from_stock=taken,
        to_buy=pieces - taken,
        urgency="hardware",
        doubts=doubts,
        remarks=(message("shortage-hardware"),),
        copies=(line.quantity or 1,) * copies,
    )


def _open(differences: Sequence[Difference]) -> tuple[NotJudged, ...]:
    """Return the open questions of the differences, each once."""
    return tuple(dict.fromkeys(question for one in differences for question in one.not_judged))
