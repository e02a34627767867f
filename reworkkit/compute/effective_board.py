"""The board with the parts really used: accepted substitutes in the places of the listed parts."""

from collections.abc import Mapping
from dataclasses import replace

from reworkkit.model.board import Board, Candidate
from reworkkit.model.facts import BoardFacts, PartFacts
from reworkkit.model.job import Situation, Substitution
from reworkkit.model.messages import Finding, message
from reworkkit.model.part import Part, PartIdentity
from reworkkit.model.values import Quantity
from reworkkit.model.vocabulary import Severity

_GONE = ("volts", "amps", "watts", "forward", "out", "dropout", "quiescent", "height", "body_limit", "moisture")
"""Keys of [parts] that describe the part and not its place: they do not hold for another part."""


def effective_board(board: Board, situation: Situation, identities: Mapping[str, PartIdentity]) -> Board:
    """Return the board with every accepted substitute in its place; `identities` are those of the candidates by number.

    Kind, value, package, polarity and pin order come from the candidate; what board.toml says of the place (role,
    which way it faces, joints) stays, what it says of the old part goes. A substitute of which only the name is known
    keeps the listed figures, and a finding says so.
    """
    accepted = [one for one in situation.substitutions if one.accepted and one.ref in board.parts]
    if not accepted:
        return board
    parts, facts = dict(board.parts), dict(board.facts.parts)
    findings = list(board.findings)
    for used in accepted:
        part, row = parts[used.ref], _row(board, used)
        if row is None or used.candidate not in identities:
            findings.append(_unknown(used, part))
            parts[used.ref] = part._replace(identity=replace(part.identity, part_number=used.candidate))
            continue
        parts[used.ref] = part._replace(identity=identities[used.candidate])
        if used.ref in facts:
            facts[used.ref] = _facts_of(facts[used.ref], row)
        findings.append(Finding(message("substitute-in-place", ref=used.ref, part=used.candidate, listed=_name(part)),
                                Severity.NOTE, (used.ref,), (row.where,)))  # fmt: skip
    kept: BoardFacts = replace(board.facts, parts=facts)
    return replace(board, parts=parts, facts=kept, findings=tuple(findings))


def candidate_row(board: Board, ref: str, part_number: str) -> Candidate | None:
    """Return the row of candidates.csv of a part number, that for this place first."""
    named = [row for row in board.candidates if row.part_number.casefold() == part_number.casefold()]
    return next((row for row in named if ref in row.fits), named[0] if named else None)


def _row(board: Board, used: Substitution) -> Candidate | None:
    return candidate_row(board, used.ref, used.candidate)


def _name(part: Part) -> str:
    return part.identity.part_number or part.identity.value.text


def _unknown(used: Substitution, part: Part) -> Finding:
    told = message("substitute-figures-not-known", ref=used.ref, part=used.candidate, listed=_name(part))
    return Finding(told, Severity.CHECK, (used.ref,))


def _facts_of(facts: PartFacts, row: Candidate) -> PartFacts:
    """Return what board.toml says of the place, with the figures of the part that is used."""
    told = {str(name): value for name, value in row.figures.items()}
    fresh: dict[str, object] = dict.fromkeys(_GONE)
    fresh["rare"] = fresh["dear"] = fresh["kind"] = fresh["package"] = fresh["heat_sensitive"] = None
    for key, heading, unit in (
        ("height", "height", "mm"),
        ("body_limit", "body_limit", "C"),
        ("out", "output_voltage", "V"),
    ):
        value = told.get(heading)
        if isinstance(value, Quantity) and value.unit == unit:
            fresh[key] = value
    if isinstance(order := told.get("pin_order") or told.get("pins") or told.get("pinout"), str):
        fresh["pins"] = {role.upper(): str(number) for number, role in enumerate(_roles(order), start=1)}
    return replace(facts, **fresh)  # type: ignore[arg-type]


def _roles(order: str) -> list[str]:
    """Return the words of a pin order; a word that comes again counts on: IP+, IP+2."""
    seen: dict[str, int] = {}
    roles = []
    for word in order.replace(",", " ").replace("/", " ").split():
        seen[word] = seen.get(word, 0) + 1
        roles.append(word if seen[word] == 1 else f"{word}{seen[word]}")
    return roles
