"""Parts that look alike and are not: one outline, different insides. What is swapped here is found late."""

from collections.abc import Iterable

from reworkkit.compute.list_audit.common import in_order, listing, over
from reworkkit.model.board import Board
from reworkkit.model.messages import Finding, message
from reworkkit.model.part import Part, PartIdentity
from reworkkit.model.vocabulary import Fit, Mount, Severity, YesNo

_NO_DANGER = ("connector", "header", "switch", "button", "hardware", "socket", "terminal", "battery", "unknown")


def audit_look_alikes(board: Board) -> list[Finding]:
    """Return one note per outline shared by polarised parts that differ, and per size of unmarked capacitors."""
    fitted = [part for part in board.parts.values() if part.fit is Fit.FIT]
    polarised = [part for part in fitted if _is_dangerous(part.identity)]
    unmarked = [part for part in fitted if _is_unmarked(part.identity)]
    return [
        *(_note(outline, parts, polarised=True) for outline, parts in _shared(polarised)),
        *(_note(outline, parts, polarised=False) for outline, parts in _shared(unmarked)),
    ]


def _is_dangerous(identity: PartIdentity) -> bool:
    return identity.polarised is YesNo.YES and not any(word in identity.kind for word in _NO_DANGER)


def _is_unmarked(identity: PartIdentity) -> bool:
    """A ceramic chip carries no print: the strip it comes from is all that tells its value."""
    return (
        "capacitor" in identity.kind
        and identity.polarised is YesNo.NO
        and identity.value.main is not None
        and identity.package is not None
        and identity.package.mount is Mount.SMD
    )


def _outline(identity: PartIdentity) -> str:
    return identity.outline.strip()


def _shared(parts: Iterable[Part]) -> list[tuple[str, list[Part]]]:
    """Return the outlines that parts with different keys share, by outline name, with those parts."""
    groups: dict[str, list[Part]] = {}
    for part in parts:
        if outline := _outline(part.identity):
            groups.setdefault(outline, []).append(part)
    return [(name, group) for name, group in sorted(groups.items()) if len({p.identity.key for p in group}) > 1]


def _note(outline: str, parts: list[Part], *, polarised: bool) -> Finding:
    by_key: dict[str, list[Part]] = {}
    for part in parts:
        by_key.setdefault(part.identity.key, []).append(part)
    texts = (f"{_name(group[0].identity)}: {listing(in_order(p.ref for p in group))}" for group in by_key.values())
    text = "; ".join(texts)
    if polarised:
        said = message("look-alike-polarised", package=outline, parts=text)
    else:
        said = message("look-alike-unmarked", package=outline, parts=text)
    return over(said, Severity.NOTE, [part.ref for part in parts], parts=parts)


def _name(identity: PartIdentity) -> str:
    return " ".join(identity.value.text.split()) or identity.part_number or identity.description or identity.kind
