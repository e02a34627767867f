"""A designator counts once: rows that name it again are alternatives, or a finding."""

from collections.abc import Sequence

from reworkkit.model.designator import natural_key
from reworkkit.model.messages import Finding, message
from reworkkit.model.part import PartLine
from reworkkit.model.vocabulary import Fit, Severity


def told_once(lines: Sequence[PartLine]) -> tuple[list[PartLine], tuple[Finding, ...]]:
    """Return the lines with alternatives marked, and a finding for each designator that two rows claim."""
    every = [ref for line in lines for ref in line.refs]
    if len(set(every)) == len(every):
        return list(lines), ()
    first: dict[str, int] = {}
    shared: dict[int, dict[int, list[str]]] = {}
    for n, line in enumerate(lines):
        for ref in line.refs:
            if (before := first.setdefault(ref, n)) != n:
                shared.setdefault(n, {}).setdefault(before, []).append(ref)
    if not shared:
        return list(lines), ()
    result: list[list[PartLine]] = [[line] for line in lines]
    findings: list[Finding] = []
    for later, befores in shared.items():
        for before, refs in befores.items():
            _settle(result, lines, before, later, refs, findings)
    return [line for group in result for line in group], tuple(findings)


def _settle(
    result: list[list[PartLine]],
    lines: Sequence[PartLine],
    before: int,
    later: int,
    refs: list[str],
    findings: list[Finding],
) -> None:
    """Decide which of two rows stands for the shared places: a row to be fitted before one that is not."""
    one, two = lines[before], lines[later]
    names = " ".join(sorted(refs, key=natural_key)[:8])
    where = (one.where, two.where)
    if two.fit is Fit.DO_NOT_FIT or two.quantity == 0:
        _alternative(result, later, refs, one)
        findings.append(Finding(message("list-alternative-row", refs=names), Severity.NOTE, tuple(refs), where))
    elif one.fit is Fit.DO_NOT_FIT:
        _alternative(result, before, refs, two)
        findings.append(Finding(message("list-alternative-row", refs=names), Severity.NOTE, tuple(refs), where))
    else:
        told = message("list-designator-twice", refs=names, first=one.where.line, second=two.where.line)
        findings.append(Finding(told, Severity.CHECK, tuple(refs), where))


def _alternative(result: list[list[PartLine]], n: int, refs: list[str], standing: PartLine) -> None:
    """Mark a row as alternative; a row that shares only some places with the other is split."""
    group = []
    for line in result[n]:
        lost = tuple(ref for ref in line.refs if ref in refs)
        kept = tuple(ref for ref in line.refs if ref not in refs)
        if line.alternative_of is not None or not lost:
            group.append(line)
            continue
        if kept:
            group.append(line._replace(refs=kept))
        group.append(line._replace(refs=lost, alternative_of=standing.where.line))
    result[n] = group
