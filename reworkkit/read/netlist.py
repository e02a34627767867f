"""The netlist of a board: IPC-D-356 and 356A records, or a table of designator, pin and net.

What old exporters do is read all the same and said where it matters: no unit stated, designators cut to six
characters, pins to four, net names to fourteen, fields slipped by a column, junk behind the geometry.
"""

from bisect import bisect_left
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import NamedTuple

from reworkkit.errors import ReworkkitError
from reworkkit.model.board import InputFile
from reworkkit.model.designator import canonical, natural_key
from reworkkit.model.messages import Finding, Message, message
from reworkkit.model.netlist import Net, Pad, Pin
from reworkkit.model.values import Where
from reworkkit.model.vocabulary import Severity, Side
from reworkkit.read import netlist_records as records
from reworkkit.read.netlist_csv import read_netlist_table
from reworkkit.read.netlist_records import Record
from reworkkit.read.text import TextFile, read_text

PinKey = tuple[str, str]
Point = tuple[float, float]

INCH_UNIT, MM_UNIT = (254, 100_000), (1, 1000)
UNITS = {"SI": MM_UNIT, "CUST": INCH_UNIT, "CUST 0": INCH_UNIT, "CUST 1": MM_UNIT, "CUST 2": INCH_UNIT}
LARGEST_BOARD_MM = 1000.0
SHOWN = 12
NO_NET = "N/C"


class NetlistFile(NamedTuple):
    """What a netlist says: pins, nets, the board's edge (empty where it has none), and what was odd about the file.

    Lengths in millimetres, y up, seen from the top. A land's size is 0 where the file states none.
    """

    pins: dict[PinKey, Pin]
    nets: dict[str, Net]
    outline: tuple[Point, ...]
    input_file: InputFile
    findings: tuple[Finding, ...]


def read_netlist(path: Path, name: str, known_refs: Collection[str] = ()) -> NetlistFile:
    """Return the netlist in `path`, called `name` in findings; cut designators are restored from `known_refs`.

    Raises ReworkkitError where the file cannot be opened or is no netlist at all.
    """
    source = read_text(path, None, name)
    lines = source.text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    if not _is_record_file(lines):
        table = read_netlist_table(source, name, known_refs)
        return NetlistFile(table.pins, collect_nets(table.pins.values()), (), table.input_file, table.findings)
    pile = _Pile(name)
    _sort_lines(lines, pile)
    if not pile.records and not pile.ended:
        raise ReworkkitError("not-a-netlist", where=(Where(name),), file=name)
    return _assemble(pile, _Names(known_refs), source)


@dataclass(slots=True)
class _Pile:
    """The lines of one file, sorted by what they are."""

    file: str
    records: list[Record] = field(default_factory=list)
    aliases: dict[str, str] = field(default_factory=dict)
    alias_clashes: list[tuple[str, int]] = field(default_factory=list)
    loops: list[list[tuple[int, int]]] = field(default_factory=list)
    unreadable: list[int] = field(default_factory=list)
    other_images: list[int] = field(default_factory=list)
    units: list[tuple[str, int]] = field(default_factory=list)
    ended: bool = False

    def where(self, lines: Iterable[int]) -> tuple[Where, ...]:
        return tuple(Where(self.file, line) for line in list(lines)[:SHOWN])


def _is_record_file(lines: Sequence[str]) -> bool:
    return any(
        line.startswith("P  UNITS") or (line[:3] in records.TEST_CODES and records.parse_record(line, 0) is not None)
        for line in lines
    )


def _sort_lines(lines: Iterable[str], pile: _Pile) -> None:
    primary, outline_at, in_edge = True, (0, 0), False
    for number, line in enumerate(lines, 1):
        code = line[:3]
        if code in records.TEST_CODES:
            if primary:
                _take_record(line, number, pile)
        elif line[:1] == "P" and line[1:2] == " ":
            primary = _take_parameter(line, number, pile, primary)
        elif code in records.OUTLINE_CODES:
            in_edge = records.outline_kind(line) == "BOARD_EDGE" if code == "389" else in_edge
            if in_edge and primary:
                runs, outline_at = records.outline_points(line, outline_at)
                _chain(pile.loops, runs, code == "089")
        elif code == records.END_CODE:
            pile.ended = True
            return
        elif line.strip() and code not in records.UNUSED_CODES and not _is_comment(line):
            pile.unreadable.append(number)


def _is_comment(line: str) -> bool:
    return line[0] == "#" or (line[0] == "C" and line[1:2] in ("", " "))


def _take_record(line: str, number: int, pile: _Pile) -> None:
    record = records.parse_record(line, number)
    if record is None:
        pile.unreadable.append(number)
    elif record.code not in records.CONTINUATION_CODES:
        pile.records.append(record)
    elif pile.records:
        first = pile.records[-1]
        pile.records.append(record._replace(net=first.net, ref=first.ref, pin=first.pin, ref_full=first.ref_full))
    else:
        pile.unreadable.append(number)


def _take_parameter(line: str, number: int, pile: _Pile, primary: bool) -> bool:
    """File a parameter away; return whether the records that follow belong to the board itself."""
    if pair := records.alias(line):
        if pile.aliases.setdefault(*pair) != pair[1]:
            pile.alias_clashes.append((pair[0], number))
        return primary
    key, value = records.parameter(line)
    if key == "UNITS":
        pile.units.append((" ".join(value.upper().split()), number))
    if key == "IMAGE":
        primary = value.upper().startswith("PRIMARY")
        if not primary:
            pile.other_images.append(number)
    return primary


def _chain(loops: list[list[tuple[int, int]]], runs: list[list[tuple[int, int]]], continues: bool) -> None:
    """Add runs of points; a run goes on with the loop before it where the record says so or the points meet."""
    for run in runs:
        if loops and (continues or loops[-1][-1] == run[0]):
            loops[-1].extend(run if continues else run[1:])
        else:
            loops.append(run)
        continues = False


class _Names:
    """Designators as the list writes them, found again from six characters."""

    def __init__(self, known_refs: Collection[str]) -> None:
        self._known = sorted({canonical(ref) for ref in known_refs})
        self.restored: dict[str, str] = {}
        self.ambiguous: dict[str, tuple[str, ...]] = {}
        self._done: dict[tuple[str, bool], str] = {}

    def __call__(self, written: str, full: bool) -> str:
        key = (written, full)
        if key not in self._done:
            self._done[key] = self._restore(canonical(written)) if full else canonical(written)
        return self._done[key]

    def _restore(self, ref: str) -> str:
        at = bisect_left(self._known, ref)
        fitting = []
        while at < len(self._known) and self._known[at].startswith(ref):
            fitting.append(self._known[at])
            at += 1
        if len(fitting) == 1 and fitting[0] != ref:
            self.restored[ref] = fitting[0]
        if len(fitting) > 1:
            self.ambiguous[ref] = tuple(fitting)
        return fitting[0] if len(fitting) == 1 else ref


class _Unit(NamedTuple):
    scale: tuple[int, int]
    radians: bool
    assumed: tuple[Message, ...]
    findings: tuple[Finding, ...]

    def mm(self, whole: int) -> float:
        return whole * self.scale[0] / self.scale[1]


def _unit(pile: _Pile) -> _Unit:
    if not pile.units:
        return _Unit(INCH_UNIT, False, (message("netlist-unit-assumed", unit="0.0001 inch"),), ())
    stated, line = pile.units[0]
    found: list[Finding] = []
    assumed: tuple[Message, ...] = ()
    if stated not in UNITS:
        found.append(_finding(message("netlist-unit-unknown", unit=stated or "?"), Severity.CHECK, pile, [line]))
    elif stated == "CUST":
        assumed = (message("netlist-unit-digit-missing", unit="0.0001 inch"),)
    if others := [(text, at) for text, at in pile.units[1:] if text != stated]:
        lines = [line, *(at for _, at in others)]
        found.append(
            _finding(message("netlist-units-differ", used=stated, other=others[0][0]), Severity.CHECK, pile, lines)
        )
    if stated == "CUST 2":
        found.append(_finding(message("netlist-radians"), Severity.NOTE, pile, [line]))
    return _Unit(UNITS.get(stated, INCH_UNIT), stated == "CUST 2", assumed, tuple(found))


def _assemble(pile: _Pile, names: _Names, source: TextFile) -> NetlistFile:
    unit = _unit(pile)
    nets = _net_names(pile)
    pads: dict[PinKey, dict[str, list[Pad]]] = {}
    lines: dict[PinKey, int] = {}
    for record in pile.records:
        if record.ref == records.VIA:
            continue
        key = (names(record.ref, record.ref_full), record.pin)
        pads.setdefault(key, {}).setdefault(record.net, []).append(_pad(record, unit))
        lines.setdefault(key, record.line)
    pins, split = _pins(pads, lines, nets, pile.file)
    findings = (*unit.findings, *_findings(pile, names, unit), *_split_findings(split, names, pile))
    input_file = InputFile(pile.file, "netlist", source.sha256, source.size, (*source.assumed, *unit.assumed))
    outline = _outline(pile.loops, unit)
    return NetlistFile(pins, collect_nets(pins.values(), nets.values()), outline, input_file, findings)


def _net_names(pile: _Pile) -> dict[str, str]:
    """Return the name of each net as the records write it; two aliases for one long name stay two nets."""
    names: dict[str, str] = {}
    owner: dict[str, str] = {}
    for written in dict.fromkeys(record.net for record in pile.records):
        if written.upper() == NO_NET or not written:
            continue
        number = written.removeprefix("NNAME")
        real = pile.aliases.get(number, written)
        names[written] = real if owner.setdefault(real, written) == written else f"{real} ({number})"
    return names


def _pad(record: Record, unit: _Unit) -> Pad:
    drill = unit.mm(record.drill) if record.drill else None
    if drill is not None or record.access == 0:
        side = Side.BOTH
    else:
        side = Side.TOP if record.access in (1, None) else Side.BOTTOM
    return Pad(
        x_mm=unit.mm(record.x),
        y_mm=unit.mm(record.y),
        width_mm=unit.mm(record.size_x),
        height_mm=unit.mm(record.size_y),
        rotation_deg=0.0 if unit.radians else float(record.rotation % 360),
        drill_mm=drill,
        plated=drill is not None and record.plated,
        side=side,
        round=record.round,
    )


def _pins(
    pads: dict[PinKey, dict[str, list[Pad]]], lines: dict[PinKey, int], nets: dict[str, str], file: str
) -> tuple[dict[PinKey, Pin], list[tuple[PinKey, tuple[str, ...]]]]:
    """Return the pins in natural order; one pin on two nets becomes two pins, the second called `1~2`."""
    pins: dict[PinKey, Pin] = {}
    split: list[tuple[PinKey, tuple[str, ...]]] = []
    for ref, number in sorted(pads, key=lambda key: (natural_key(key[0]), natural_key(key[1]))):
        by_net = pads[ref, number]
        named = [net for net in by_net if net in nets]
        where = Where(file, lines[ref, number])
        if len(named) < 2:
            every = tuple(pad for group in by_net.values() for pad in group)
            pins[ref, number] = Pin(ref, number, None, nets[named[0]] if named else None, every, where)
            continue
        split.append(((ref, number), tuple(nets[net] for net in named)))
        for copy, net in enumerate(named, 1):
            own = number if copy == 1 else f"{number}~{copy}"
            pins[ref, own] = Pin(ref, own, None, nets[net], tuple(by_net[net]), where)
    return pins, split


def collect_nets(pins: Iterable[Pin], names: Iterable[str] = ()) -> dict[str, Net]:
    """Return the nets of `pins` in natural order of their names, with those of `names` that no pin is on."""
    members: dict[str, list[PinKey]] = {name: [] for name in names}
    for pin in pins:
        if pin.net is not None:
            members.setdefault(pin.net, []).append((pin.ref, pin.number))
    return {name: Net(name, name, tuple(members[name])) for name in sorted(members, key=natural_key)}


def _outline(loops: list[list[tuple[int, int]]], unit: _Unit) -> tuple[Point, ...]:
    """Return the loop with the largest area, the board's edge; inner cut-outs are left out."""
    if not loops:
        return ()
    edge = max(loops, key=_area)
    return tuple((unit.mm(x), unit.mm(y)) for x, y in edge)


def _area(loop: list[tuple[int, int]]) -> float:
    return abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(loop, [*loop[1:], loop[0]], strict=True))) / 2


def _finding(
    said: Message, severity: Severity, pile: _Pile, lines: Iterable[int] = (0,), refs: tuple[str, ...] = ()
) -> Finding:
    return Finding(said, severity, refs, pile.where(lines))


def _findings(pile: _Pile, names: _Names, unit: _Unit) -> list[Finding]:
    found: list[Finding] = []
    if bad := pile.unreadable:
        found.append(_finding(message("netlist-lines-unreadable", count=len(bad)), Severity.CHECK, pile, bad))
    if not pile.ended:
        found.append(_finding(message("netlist-no-end"), Severity.CHECK, pile))
    if pile.alias_clashes:
        text = listing(alias for alias, _ in pile.alias_clashes)
        lines = [line for _, line in pile.alias_clashes]
        found.append(_finding(message("netlist-alias-twice", aliases=text), Severity.CHECK, pile, lines))
    if shifted := [record.line for record in pile.records if record.shifted]:
        found.append(_finding(message("netlist-shifted", count=len(shifted)), Severity.NOTE, pile, shifted))
    if pile.other_images:
        found.append(_finding(message("netlist-other-images"), Severity.NOTE, pile, pile.other_images))
    if cut := {r.net for r in pile.records if len(r.net) == records.NET_WIDTH and not _aliased(r.net, pile)}:
        found.append(_finding(message("netlist-nets-cut", count=len(cut), example=min(cut)), Severity.NOTE, pile))
    found.extend(_extent(pile, unit))
    found.extend(_ref_findings(names, pile))
    return found


def _aliased(net: str, pile: _Pile) -> bool:
    return net.removeprefix("NNAME") in pile.aliases


def _extent(pile: _Pile, unit: _Unit) -> Iterable[Finding]:
    xs, ys = [record.x for record in pile.records], [record.y for record in pile.records]
    if not xs:
        return
    width, height = unit.mm(max(xs) - min(xs)), unit.mm(max(ys) - min(ys))
    if max(width, height) > LARGEST_BOARD_MM:
        size = f"{width:.0f} mm x {height:.0f} mm"
        yield _finding(message("netlist-too-large", size=size), Severity.CHECK, pile)


def _ref_findings(names: _Names, pile: _Pile) -> Iterable[Finding]:
    if names.restored:
        pairs = listing(f"{cut} = {full}" for cut, full in sorted(names.restored.items()))
        refs = tuple(sorted(names.restored.values(), key=natural_key))
        yield _finding(message("netlist-refs-restored", pairs=pairs), Severity.NOTE, pile, refs=refs)
    for cut, full in sorted(names.ambiguous.items()):
        yield _finding(message("netlist-ref-ambiguous", cut=cut, full=listing(full)), Severity.CHECK, pile, refs=full)


def _split_findings(split: list[tuple[PinKey, tuple[str, ...]]], names: _Names, pile: _Pile) -> Iterable[Finding]:
    """One finding for pins that look cut at four characters, one for real contradictions; cut designators are known."""
    known = [entry for entry in split if entry[0][0] not in names.ambiguous]
    cut = [entry for entry in known if len(entry[0][1]) == records.PIN_WIDTH]
    clashes = [entry for entry in known if len(entry[0][1]) != records.PIN_WIDTH]
    for slug_finding, entries in ((_pins_cut, cut), (_two_nets, clashes)):
        if entries:
            text = listing(f"{ref}.{number}: {' / '.join(nets)}" for (ref, number), nets in entries)
            yield slug_finding(tuple(dict.fromkeys(ref for (ref, _), _ in entries)), text, pile)


def _pins_cut(refs: tuple[str, ...], pins: str, pile: _Pile) -> Finding:
    return _finding(message("netlist-pins-cut", pins=pins), Severity.NOTE, pile, refs=refs)


def _two_nets(refs: tuple[str, ...], pins: str, pile: _Pile) -> Finding:
    return _finding(message("netlist-pin-on-two-nets", pins=pins), Severity.CHECK, pile, refs=refs)


def listing(items: Iterable[str]) -> str:
    """Return the first twelve items as one text; an ellipsis stands for the rest.

    >>> listing(["R1", "R2"])
    'R1, R2'
    """
    every = list(items)
    return ", ".join([*every[:SHOWN], "..."] if len(every) > SHOWN else every)
