"""board.toml and bench.toml: read, checked key by key, every problem shown with its line.

Sections whose use comes later are read and checked like the others, and named once in a note.
"""

import hashlib
import os.path
import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, fields, replace
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from reworkkit.errors import ProblemsError, ReworkkitError
from reworkkit.model.board import InputFile
from reworkkit.model.designator import canonical
from reworkkit.model.facts import BenchFacts, BoardFacts, NetRange, PartFacts, Table
from reworkkit.model.messages import Finding, message
from reworkkit.model.values import Quantity, Where
from reworkkit.model.vocabulary import Severity
from reworkkit.read.facts_loads import loads_in_amps
from reworkkit.read.facts_names import ground_problems, hold_point_problems
from reworkkit.read.facts_problems import ADDED_BY_READER, FactsProblems
from reworkkit.read.facts_short_forms import as_tables, bench_as_tables, expand_designators, expand_range
from reworkkit.read.toml_lines import Path as KeyPath
from reworkkit.read.toml_lines import lines_of, nearest_line, syntax_problem

if TYPE_CHECKING:
    from pydantic import TypeAdapter

BOARD_FILE = "board.toml"
BENCH_FILE = "bench.toml"
KNOWN_FORMAT = 1
SENSIBLE = {
    "thickness": (0.1, 10.0),
    "outer_copper": (0.1, 20.0),
    "inner_copper": (0.1, 20.0),
    "dwell_lead": (0.2, 60.0),
    "dwell_tab": (0.2, 60.0),
    "dwell_hole": (0.2, 60.0),
    "preheat": (20.0, 400.0),
    "width": (0.1, 50.0),
    "power": (1.0, 2000.0),
}
"""Key -> what a bench or board can have, in the unit of the key (mm, oz, s, C, W); wide on purpose: common practice."""
NUMBER = re.compile(r"[-+]?\d+(?:\.\d+)?")

MOST_LAYERS = 64
LARGEST_FILE = 64 * 1024 * 1024
USED_SECTIONS = frozenset(
    {
        "format",
        "name",
        "revision",
        "files",
        "board",
        "supplies",
        "loads",
        "nets",
        "rails",
        "points",
        "parts",
        "hold_points",
        "fasten",
        "program",
        "order",
        "inputs",
        "outputs",
        "live",
        "sense",
        "bench",
    }
)
"""What some command uses; other sections are reported as not used yet. Add a section here with its first use."""


@dataclass(frozen=True, slots=True)
class FactsFile:
    """What the person knows, the files it stands in, and what was noticed while reading."""

    facts: BoardFacts
    input_files: tuple[InputFile, ...]
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class _Parsed:
    """One TOML file, with the line of each of its keys."""

    name: str
    text: str
    raw: dict[str, Any]
    lines: dict[KeyPath, int]
    input_file: InputFile


def read_board_facts(folder: Path) -> FactsFile:
    """Return the facts of a board folder: its board.toml, and the bench.toml there or in a folder above it.

    The home folder and what is above it are never looked into. A key of [bench] in board.toml beats the same key of
    bench.toml. Raises ReworkkitError for one problem, ProblemsError for several; each names its file and line.
    """
    problems: list[ReworkkitError] = []
    board = _parsed(folder / BOARD_FILE, BOARD_FILE, "facts", problems)
    bench = _bench_file(folder, problems)
    facts = _board_facts(board, problems) if board else BoardFacts()
    bench_facts = _bench_facts(bench, problems) if bench else BenchFacts()
    if problems:
        raise problems[0] if len(problems) == 1 else ProblemsError(tuple(problems))
    if bench:
        facts = replace(
            facts,
            bench=_laid_over(bench_facts, facts.bench),
            bench_lines=_bench_lines(bench.lines),
            bench_file=bench.name,
        )
    files = tuple(one.input_file for one in (board, bench) if one)
    return FactsFile(facts, files, _not_used(board, bench))


def _parsed(path: Path, name: str, role: str, problems: list[ReworkkitError]) -> _Parsed | None:
    """Return a file taken apart, or None where it is not there or no TOML (then a problem is noted)."""
    if not path.is_file():
        return None
    where = (Where(name),)
    if path.stat().st_size > LARGEST_FILE:
        problems.append(ReworkkitError("facts-too-large", where=where, file=name))
        return None
    content = path.read_bytes()
    try:
        text = content.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        problems.append(ReworkkitError("facts-not-utf8", where=(Where(name, line),), file=name))
        return None
    try:
        raw = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        problems.append(syntax_problem(error, text, name))
        return None
    except RecursionError:
        problems.append(ReworkkitError("not-toml", where=where, reason="nested too deeply", line=1, column=1))
        return None
    digest = hashlib.sha256(content).hexdigest()
    return _Parsed(name, text, raw, lines_of(text), InputFile(name, role, digest, len(content)))


def _bench_file(folder: Path, problems: list[ReworkkitError]) -> _Parsed | None:
    start = folder.resolve()
    home = _home()
    for here in (start, *start.parents):
        if here == home:
            return None
        if (here / BENCH_FILE).is_file():
            name = os.path.relpath(here / BENCH_FILE, start).replace(os.sep, "/")
            return _parsed(here / BENCH_FILE, name, "bench", problems)
    return None


def _home() -> Path | None:
    try:
        return Path.home().resolve()
    except RuntimeError:
        return None


def _board_facts(parsed: _Parsed, problems: list[ReworkkitError]) -> BoardFacts:
    facts = _validated(BoardFacts, as_tables(parsed.raw), parsed, problems)
    if not isinstance(facts, BoardFacts):
        return BoardFacts()
    where = (Where(BOARD_FILE, nearest_line(parsed.lines, ("format",))),)
    if facts.format != KNOWN_FORMAT:
        problems.append(ReworkkitError("facts-format-not-known", where=where, format=facts.format, known=KNOWN_FORMAT))
    problems.extend(_upside_down(facts.nets, parsed))
    parts, part_lines = _parts_by_ref(facts.parts, parsed, problems)
    problems.extend(_not_positive(facts, parsed))
    problems.extend(_out_of_range(facts, parsed))
    if facts.board.layers is not None and not 1 <= facts.board.layers <= MOST_LAYERS:
        at = (Where(BOARD_FILE, nearest_line(parsed.lines, ("board", "layers"))),)
        problems.append(ReworkkitError("facts-layers", where=at, layers=facts.board.layers, most=MOST_LAYERS))
    facts = replace(facts, loads=loads_in_amps(facts, parsed.lines, problems))
    facts = replace(_canonical(facts), parts=parts, lines={**_dotted(parsed.lines), **part_lines})
    problems.extend(hold_point_problems(facts, parsed.lines))
    problems.extend(ground_problems(facts, parsed.lines))
    return facts


def _bench_facts(parsed: _Parsed, problems: list[ReworkkitError]) -> BenchFacts:
    """Return bench.toml; its keys stand at the top, or under [bench] as in board.toml."""
    raw = dict(parsed.raw)
    nested = raw.pop("bench", None)
    if not isinstance(nested, Mapping) or raw:
        raw = parsed.raw
        lines = parsed.lines
    else:
        raw, lines = dict(nested), {path[1:]: line for path, line in parsed.lines.items() if len(path) > 1}
    facts = _validated(BenchFacts, bench_as_tables(raw), replace(parsed, lines=lines), problems)
    if not isinstance(facts, BenchFacts):
        return BenchFacts()
    problems.extend(_not_positive(facts, replace(parsed, lines=lines)))
    problems.extend(_out_of_range(facts, replace(parsed, lines=lines)))
    return facts


def _validated(
    record: type[Table], raw: dict[str, Any], parsed: _Parsed, problems: list[ReworkkitError]
) -> Table | None:
    """Return the record of a file; None after noting its problems. The validator loads only when a file is there."""
    from pydantic import ValidationError

    own = {key: value for key, value in raw.items() if key not in ADDED_BY_READER}
    strangers = [{"type": "unexpected_keyword_argument", "loc": (key,)} for key in raw if key not in own]
    told: list[Mapping[str, Any]] = [*strangers]
    made: Table | None = None
    try:
        made = _validator(record.__name__).validate_python(own)
    except ValidationError as error:
        told.extend(dict(one) for one in error.errors(include_url=False))
    problems.extend(FactsProblems(parsed.name, parsed.text, parsed.lines, record).all(told))
    return None if told else made


@cache
def _validator(record: str) -> "TypeAdapter[Table]":
    from pydantic import TypeAdapter

    return TypeAdapter({"BoardFacts": BoardFacts, "BenchFacts": BenchFacts}[record])


def _not_positive(facts: Table, parsed: _Parsed, path: KeyPath = ()) -> Iterator[ReworkkitError]:
    """Yield a problem for each length that is zero or negative: nothing on a board is."""
    for step, value in _inside(facts):
        here = (*path, step)
        if isinstance(value, Quantity):
            if value.unit == "mm" and value.value <= 0:
                where = (Where(parsed.name, nearest_line(parsed.lines, here)),)
                yield ReworkkitError("facts-length-not-positive", where=where, path=".".join(here), text=value.text)
        elif isinstance(value, Table | Mapping | tuple):
            yield from _not_positive(value, parsed, here)  # type: ignore[arg-type]


def _out_of_range(facts: Table, parsed: _Parsed, path: KeyPath = ()) -> Iterator[ReworkkitError]:
    """Yield a problem for each figure no bench or board has: it would make nonsense of every joint."""
    for step, value in _inside(facts):
        here = (*path, step)
        where = (Where(parsed.name, nearest_line(parsed.lines, here)),)
        low, high = SENSIBLE.get(step, (None, None))
        if isinstance(value, Quantity) and low is not None and high is not None:
            if value.value > 0 or value.unit != "mm":
                yield from _beyond(value, (low, high), ".".join(here), where)
        elif step == "relief" and isinstance(value, str) and any(float(n) <= 0 for n in NUMBER.findall(value)):
            yield ReworkkitError("facts-relief", where=where, path=".".join(here), text=value)
        elif isinstance(value, Table | Mapping) or (isinstance(value, tuple) and step == "size"):
            yield from _out_of_range(value, parsed, here)  # type: ignore[arg-type]


def _beyond(
    value: Quantity, span: tuple[float, float], path: str, where: tuple[Where, ...]
) -> Iterator[ReworkkitError]:
    low, high = span
    if not low <= float(value.value) <= high:
        told = {"path": path, "text": value.text, "low": f"{low:g}", "high": f"{high:g}", "unit": value.unit}
        yield ReworkkitError("facts-out-of-range", where=where, **told)


def _inside(value: Any) -> Iterable[tuple[str, Any]]:
    if isinstance(value, Mapping):
        return ((str(key), inner) for key, inner in value.items())
    if isinstance(value, Table):
        return ((one.name, getattr(value, one.name)) for one in fields(value))  # type: ignore[arg-type]
    return ((str(n), inner) for n, inner in enumerate(value))


def _upside_down(nets: Mapping[str, NetRange], parsed: _Parsed) -> list[ReworkkitError]:
    """Return a problem for each range whose low end is above its high end."""
    return [
        ReworkkitError(
            "range-upside-down",
            where=(Where(BOARD_FILE, nearest_line(parsed.lines, ("nets", net))),),
            net=net,
            low=span.low,
            high=span.high,
        )
        for net, span in nets.items()
        if span.low and span.high and span.low.value > span.high.value
    ]


def _parts_by_ref(
    written: Mapping[str, PartFacts], parsed: _Parsed, problems: list[ReworkkitError]
) -> tuple[dict[str, PartFacts], dict[str, int]]:
    """Return facts and lines by designator; a designator's own line beats, field by field, a range that holds it."""
    parts: dict[str, PartFacts] = {}
    lines: dict[str, int] = {}
    widths: dict[str, int] = {}
    for key, refs in expand_designators(written).items():
        line = nearest_line(parsed.lines, ("parts", key))
        for ref in refs:
            if widths.get(ref) == len(refs):
                first = lines[f"parts.{ref}"]
                problems.append(ReworkkitError("part-twice", where=(Where(BOARD_FILE, line),), ref=ref, first=first))
            parts[ref] = _laid_over(parts[ref], written[key]) if ref in parts else written[key]
            widths[ref] = len(refs)
            lines |= _lines_of_part(parsed.lines, key, ref)
    return parts, lines


def _lines_of_part(lines: Mapping[KeyPath, int], key: str, ref: str) -> dict[str, int]:
    return {".".join(("parts", ref, *path[2:])): line for path, line in lines.items() if path[:2] == ("parts", key)}


def _laid_over(below: Any, above: Any) -> Any:
    """Return a record with the keys of `above` where it has any, else of `below`; tables inside are laid over alike."""
    changed: dict[str, Any] = {}
    for one in fields(above):
        low, high = getattr(below, one.name), getattr(above, one.name)
        if isinstance(high, Table):
            changed[one.name] = _laid_over(low, high)
        elif isinstance(high, dict):
            changed[one.name] = {**low, **high}
        elif high is not None and high != ():
            changed[one.name] = high
    return replace(below, **changed)


def _canonical(facts: BoardFacts) -> BoardFacts:
    """Return the facts with every designator in canonical form and ranges in lists written out."""
    return replace(
        facts,
        rails={net: replace(one, made_by=_ref(one.made_by)) for net, one in facts.rails.items()},
        loads={net: replace(one, part=_ref(one.part)) for net, one in facts.loads.items()},
        hold_points=tuple(replace(one, needs=_refs(one.needs), before=_refs(one.before)) for one in facts.hold_points),
        fasten=tuple(replace(one, parts=_refs(one.parts)) for one in facts.fasten),
        program=tuple(replace(one, part=canonical(one.part)) for one in facts.program),
    )


def _ref(written: str | None) -> str | None:
    return canonical(written) if written else written


def _refs(written: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(ref for one in written for ref in expand_range(one)))


def _dotted(lines: Mapping[KeyPath, int]) -> dict[str, int]:
    return {".".join(path): line for path, line in lines.items()}


def _bench_lines(lines: Mapping[KeyPath, int]) -> dict[str, int]:
    """Return the lines of bench.toml under the paths its keys have in board.toml."""
    return _dotted({path if path[0] == "bench" else ("bench", *path): line for path, line in lines.items()})


def _not_used(board: _Parsed | None, bench: _Parsed | None) -> tuple[Finding, ...]:
    """Return one note that lists the sections no command uses yet."""
    idle: dict[str, Where] = {}
    for key in board.raw if board else ():
        if key not in USED_SECTIONS and board:
            idle[key] = Where(BOARD_FILE, nearest_line(board.lines, (key,)))
    if bench and "bench" not in USED_SECTIONS:
        idle.setdefault("bench", Where(bench.name))
    told = message("facts-not-used-yet", sections=", ".join(idle))
    return (Finding(told, Severity.NOTE, where=tuple(idle.values())),) if idle else ()
