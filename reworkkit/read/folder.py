"""A board folder, or a lone parts list, becomes one Board: every file read, every row given its meaning."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

from reworkkit.errors import ReworkkitError
from reworkkit.model.board import Board, Candidate, FittedList, InputFile
from reworkkit.model.designator import natural_sorted
from reworkkit.model.facts import BoardFacts
from reworkkit.model.messages import Finding
from reworkkit.model.netlist import Placement
from reworkkit.model.part import Note, Part, PartIdentity, PartLine
from reworkkit.model.values import Where
from reworkkit.model.vocabulary import Fit
from reworkkit.read.board_facts import FactsFile, read_board_facts
from reworkkit.read.candidates import read_candidates
from reworkkit.read.facts_loads import loads_at_nets
from reworkkit.read.facts_names import names_not_there, nets_not_there
from reworkkit.read.fitted_list import read_fitted_list
from reworkkit.read.identity import fit_of, identify, identify_as
from reworkkit.read.netlist import NetlistFile, read_netlist
from reworkkit.read.parts_list import PartsList, read_parts_list
from reworkkit.read.placement import read_placement
from reworkkit.read.placement_values import against_list
from reworkkit.read.row_words import described
from reworkkit.read.supply_nets import supplies_at_plugs
from reworkkit.tables import own_tables

LIST_SUFFIXES = (".csv", ".tsv", ".txt", ".xlsx", ".xls", ".ods")
PLACEMENT_SUFFIXES = (".csv", ".tsv", ".txt", ".pos")
NETLIST_SUFFIXES = (".ipc", ".d356", ".356", ".csv", ".tsv", ".txt")
USUAL_STEMS: dict[str, tuple[str, ...]] = {
    "parts": ("bom", "parts", "parts list", "parts-list", "parts_list", "partslist"),
    "fitted": ("fitted", "installed"),
    "placement": ("placement",),
    "netlist": ("netlist",),
    "candidates": ("candidates",),
    "readings": ("readings",),
    "stock": ("stock",),
    "survey": ("survey", "survey-sheet", "survey sheet"),
}
SUFFIXES = {"placement": PLACEMENT_SUFFIXES, "netlist": NETLIST_SUFFIXES}


@dataclass(frozen=True, slots=True)
class Answers:
    """What the person said on the command line about reading: columns by role, encoding."""

    columns: Mapping[str, str] = field(default_factory=dict)
    encoding: str | None = None


def read_board(target: Path, answers: Answers | None = None) -> Board:
    """Return the board of a folder, or of a lone parts list whose neighbours are ignored.

    Raises ReworkkitError where the list is missing or cannot be read; everything smaller becomes a finding.
    """
    answers = answers or Answers()
    if not target.exists():
        raise ReworkkitError("no-such-file", file=target.name)
    folder = target if target.is_dir() else target.parent
    facts_file = read_board_facts(target) if target.is_dir() else FactsFile(BoardFacts(), (), ())
    facts = facts_file.facts
    list_path = find_parts_list(target, facts) if target.is_dir() else target
    listed = read_parts_list(
        list_path,
        _name(list_path, folder),
        columns={**facts.files.columns, **answers.columns},
        encoding=answers.encoding or facts.files.encoding,
        variant=facts.files.variant,
    )
    own_tables = folder if target.is_dir() else None
    board = _board_of_list(facts.name or _board_name(target), facts_file, listed, own_tables)
    return _with_neighbours(board, folder, answers) if target.is_dir() else board


def find_parts_list(folder: Path, facts: BoardFacts) -> Path:
    """Return the parts list of a folder: named by [files] parts, by a usual name, or the only list that is there."""
    if facts.files.parts:
        return _named(folder, facts.files.parts)
    if usual := _usual(folder, "parts", LIST_SUFFIXES):
        return usual
    taken = {stem for role, stems in USUAL_STEMS.items() if role != "parts" for stem in stems}
    lists = [
        path
        for path in sorted(folder.iterdir())
        if path.suffix.lower() in LIST_SUFFIXES and path.stem.lower() not in taken and not path.name.startswith(".")
    ]
    if len(lists) == 1:
        return lists[0]
    seen = ", ".join(path.name for path in lists) or "no .csv, .tsv, .txt or .xlsx file"
    slug = "several-parts-lists" if lists else "no-parts-list"
    raise ReworkkitError(
        slug, folder=folder.name or str(folder), seen=seen, example=lists[0].name if lists else "bom.csv"
    )


def _board_of_list(name: str, facts_file: FactsFile, listed: PartsList, folder: Path | None) -> Board:
    facts = facts_file.facts
    return Board(
        name=name,
        revision=facts.revision,
        files=(listed.input_file, *facts_file.input_files),
        lines=listed.lines,
        parts=_parts(listed.lines, facts, folder),
        facts=facts,
        own_tables=own_tables(folder),
        findings=(*listed.findings, *facts_file.findings),
        not_judged=listed.not_judged,
    )


def _parts(lines: Iterable[PartLine], facts: BoardFacts, folder: Path | None) -> dict[str, Part]:
    """Return one part per designator; the first row that names it counts, alternatives do not."""
    parts: dict[str, Part] = {}
    # Asked once for each distinct text and letters before the number: 100,000 rows rarely hold 1,000 of them.
    known: dict[tuple[str, ...], tuple[PartIdentity, Fit]] = {}
    for line in lines:
        refs, _, value, package, description, number, _, fit, other, extra, where = line
        if other is not None:
            continue
        notes = tuple(Note("list", text, where) for text in note_texts(line)) if extra else ()
        for ref in refs:
            if ref in parts:
                continue
            if ref in facts.parts:
                parts[ref] = _part_told(ref, line, notes, facts, folder)
                continue
            words = described(line) if extra else description
            texts = (ref.rstrip("0123456789"), value, package, words, number)
            meaning = known.get(texts) or known.setdefault(texts, _meaning(line, ref, folder))
            parts[ref] = Part(ref, meaning[0], meaning[1] if fit is Fit.FIT else fit, notes, where)
    return {ref: parts[ref] for ref in natural_sorted(parts)}


def _meaning(line: PartLine, ref: str, folder: Path | None) -> tuple[PartIdentity, Fit]:
    """Return what a row is, and whether such a thing is fitted at all."""
    identity = identify(line, ref, folder)
    return identity, fit_of(identity, Fit.FIT)


def _part_told(ref: str, line: PartLine, notes: tuple[Note, ...], facts: BoardFacts, folder: Path | None) -> Part:
    """Return a part of which board.toml says something: its kind, package or the way it faces."""
    said = facts.parts[ref]
    identity = identify_as(line, ref, said.kind, said.package, folder)
    if said.faces:
        notes = (*notes, Note("board_toml", said.faces, Where("board.toml", facts.lines.get(f"parts.{ref}", 0))))
    return Part(ref, identity, fit_of(identity, line.fit), notes, line.where)


def note_texts(line: PartLine) -> tuple[str, ...]:
    """Return the cells of a row that may say which way a part faces: columns headed as notes or orientation."""
    return tuple(text for heading, text in line.extra if text and _is_note_heading(heading))


def _is_note_heading(heading: str) -> bool:
    return any(word in heading.casefold() for word in NOTE_WORDS)


NOTE_WORDS = ("note", "remark", "orientation", "polarity", "comment", "bemerkung", "hinweis", "remarque", "nota")


def _with_neighbours(board: Board, folder: Path, answers: Answers) -> Board:
    """Return the board with placement, netlist, fitted list and candidates of its folder, where they are there."""
    known = tuple(board.parts)
    netlist = _netlist(folder, board.facts, known)
    if netlist:
        board = replace(board, facts=loads_at_nets(board.facts, netlist.pins.values()))
    placements, placement_files, placement_findings = _placements(folder, board, known, answers)
    fitted, fitted_files, fitted_findings = _fitted(folder, board)
    candidates, candidate_files, candidate_findings = _candidates(folder, board)
    more_files = (*placement_files, *fitted_files, *candidate_files)
    facts, plugged = supplies_at_plugs(
        board.facts, board.parts, netlist.pins if netlist else {}, netlist.nets if netlist else ()
    )
    return replace(
        board,
        facts=facts,
        files=(*board.files, *((netlist.input_file,) if netlist else ()), *more_files),
        placements=placements,
        pins=netlist.pins if netlist else {},
        nets=netlist.nets if netlist else {},
        outline=netlist.outline if netlist else (),
        fitted=fitted,
        parts=_with_fitted_notes(board.parts, fitted),
        candidates=candidates,
        findings=(
            *board.findings,
            *names_not_there(
                board.facts, {*known, *placements, *(ref for ref, _ in (netlist.pins if netlist else ()))}
            ),
            *plugged,
            *nets_not_there(facts, netlist.nets if netlist else ()),
            *(netlist.findings if netlist else ()),
            *placement_findings,
            *fitted_findings,
            *candidate_findings,
        ),
    )


def _netlist(folder: Path, facts: BoardFacts, known: tuple[str, ...]) -> NetlistFile | None:
    path = file_of_role(folder, "netlist", facts.files.netlist)
    return read_netlist(path, _name(path, folder), known) if path else None


def _placements(
    folder: Path, board: Board, known: tuple[str, ...], answers: Answers
) -> tuple[dict[str, Placement], tuple[InputFile, ...], tuple[Finding, ...]]:
    facts = board.facts
    named = facts.files.placement
    usual = _usual(folder, "placement", PLACEMENT_SUFFIXES)
    paths = [_named(folder, name) for name in named] if named else [usual] if usual else []
    columns = {**facts.files.columns, **answers.columns}
    read = [
        read_placement(path, _name(path, folder), known, columns=columns, units=facts.files.units) for path in paths
    ]
    places = {ref: place for one in read for ref, place in one.placements.items()}
    findings = tuple(finding for one in read for finding in one.findings)
    values = {ref: text for one in read for ref, text in one.values.items()}
    return places, tuple(one.input_file for one in read), (*findings, *against_list(board.parts, board.lines, values))


def _fitted(folder: Path, board: Board) -> tuple[FittedList | None, tuple[InputFile, ...], tuple[Finding, ...]]:
    path = file_of_role(folder, "fitted", board.facts.files.fitted)
    if path is None:
        return None, (), ()
    kinds = {ref: part.identity.kind for ref, part in board.parts.items()}
    read = read_fitted_list(path, _name(path, folder), kinds)
    return read.fitted, (read.input_file,), read.findings


def _candidates(folder: Path, board: Board) -> tuple[tuple[Candidate, ...], tuple[InputFile, ...], tuple[Finding, ...]]:
    path = file_of_role(folder, "candidates", board.facts.files.candidates)
    if path is None:
        return (), (), ()
    read = read_candidates(path, _name(path, folder))
    return read.candidates, (read.input_file,), read.findings


def _with_fitted_notes(parts: dict[str, Part], fitted: FittedList | None) -> dict[str, Part]:
    """Return the parts with the remarks of the fitted list that name a mark or a direction."""
    if fitted is None:
        return parts
    noted = dict(parts)
    for state in fitted.states:
        if state.note and state.ref in noted:
            part = noted[state.ref]
            noted[state.ref] = part._replace(notes=(*part.notes, Note("fitted", state.note, state.where)))
    return noted


def file_of_role(folder: Path, role: str, named: str | None) -> Path | None:
    """Return the file of a role by the name board.toml gives it, else by its usual names; None where there is none."""
    return _named(folder, named) if named else _usual(folder, role, SUFFIXES.get(role, LIST_SUFFIXES))


def _named(folder: Path, name: str) -> Path:
    path = folder / name
    if not path.is_file():
        raise ReworkkitError("named-file-missing", where=(Where("board.toml"),), file=name)
    return path


def _usual(folder: Path, role: str, suffixes: tuple[str, ...]) -> Path | None:
    stems = USUAL_STEMS[role]
    found = [p for p in folder.iterdir() if p.stem.lower() in stems and p.suffix.lower() in suffixes and p.is_file()]
    return min(found, key=lambda p: (stems.index(p.stem.lower()), suffixes.index(p.suffix.lower()))) if found else None


def _name(path: Path, folder: Path) -> str:
    return path.relative_to(folder).as_posix() if path.is_relative_to(folder) else path.name


def _board_name(target: Path) -> str:
    resolved = target.resolve()
    return resolved.name if target.is_dir() else resolved.stem
